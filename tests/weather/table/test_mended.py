"""What an imported table is made into: gaps closed and told, or refused with what to do."""
# ruff: noqa: ISC004, E501 -- a case on a line

import datetime as dt

import pytest

from waterbudget.errors import WeatherError
from waterbudget.weather.files import read_daily
from waterbudget.weather.table.mended import mended, weather_bytes
from waterbudget.weather.table.understand import Hints, understand

HEAD = "Date,Rain (mm),Tmin (°C),Tmax (°C),RH (%)"


def ask(*lines, first=None, last=None, **hints):
    return mended(understand("\n".join(lines).encode(), "sheet.csv", Hints(**hints)), first, last)


def refused(*lines, **asked):
    with pytest.raises(WeatherError) as error:
        ask(*lines, **asked)
    return list(error.value.faults)


def rows(*cells):
    return (HEAD, *[f"2031-05-{number:02d},{one}" for number, one in enumerate(cells, 1)])


def test_short_gaps_are_bridged_and_told():
    ready = ask(*rows("0,5,15,80", "1,,,80", "0,7,17,80"))
    assert ready.daily["tmin_c"].tolist() == [5, 6, 7]
    assert ready.notes == (
        "tmin_c: 1 day bridged by a straight line between readings: 2031-05-02.",
        "tmax_c: 1 day bridged by a straight line between readings: 2031-05-02.",
    )


def test_a_quantity_with_long_gaps_that_a_run_can_do_without_is_left_out():
    ready = ask(*rows("0,5,15,80", *["1,6,16,"] * 5, "0,7,17,80"))
    assert "rh_mean_pct" not in ready.daily
    assert ready.notes == (
        "rh_mean_pct: 5 of 7 days missing: 2031-05-02 to 2031-05-06; too many in a row to bridge, so rh_mean_pct is left "
        "out altogether.",
    )


@pytest.mark.parametrize(
    ("cells", "said"),
    [
        (["0,5,15,80", ",6,16,80", "1,7,17,80"],
         "rain_mm: 1 of 3 days missing: 2031-05-02. Write the rain of these days into the table, 0 for a dry one, or add "
         "--dry-blanks if all of them were dry"),
        (["0,5,15,80", *["1,,16,80"] * 4, "1,7,17,80"],
         "tmin_c: 4 of 6 days missing: 2031-05-02 to 2031-05-05. Only gaps of up to 3 days between two readings are "
         "bridged: write what is missing into the table, or take other days with --from and --to"),
    ],
)  # fmt: skip
def test_gaps_that_cannot_be_closed_are_refused(cells, said):
    assert refused(*rows(*cells)) == [f"sheet.csv: {said}"]


def test_days_can_be_chosen():
    table = rows("0,5,15,80", ",6,16,80", "1,7,17,80", "2,8,18,80")
    assert ask(*table, first=dt.date(2031, 5, 3)).daily["rain_mm"].tolist() == [1, 2]
    assert ask(*table, last=dt.date(2031, 5, 1)).daily["rain_mm"].tolist() == [0]
    assert refused(*table, first=dt.date(2032, 5, 3)) == [
        "sheet.csv: has 2031-05-01 to 2031-05-04, none of the days asked for; change --from and --to"
    ]
    assert ask(*table, dry_blanks=True).daily["rain_mm"].tolist() == [0, 0, 1, 2]


def test_a_table_without_rain_is_refused_and_one_of_rain_alone_is_a_gauges():
    assert refused("Date,Tmin,Tmax", "2031-05-01,5,15") == [
        'sheet.csv: holds no rain_mm; add what is missing, or say which column it is, as in --columns "HEADING=rain_mm"'
    ]
    ready = ask("Date,Rain,Temp", "2031-05-01,0,9", "2031-05-03,4,9")
    assert (list(ready.daily["rain_mm"]), len(ready.daily), "tmean_c" in ready.daily) == ([0, 4], 2, False)


def test_et0_stands_in_for_temperatures():
    ready = ask("Date,Rain,ET0 (mm)", "2031-05-01,0,2.5", "2031-05-02,1,", "2031-05-03,1,3.5")
    assert ready.daily["et0_mm"].tolist() == [2.5, 3.0, 3.5]


def test_the_file_is_a_weather_file_that_names_its_sources(tmp_path):
    ready = ask(*rows("0,5,15,80", "1,,16,80", "0,7.25,17,80"))
    content = weather_bytes(ready, "sheet.csv").decode()
    assert content.splitlines() == [
        "date,rain_mm,tmin_c,tmax_c,rh_mean_pct,source",
        "2031-05-01,0.0,5.0,15.0,80.0,sheet.csv",
        '2031-05-02,1.0,6.125,16.0,80.0,"sheet.csv, tmin_c bridged"',
        "2031-05-03,0.0,7.25,17.0,80.0,sheet.csv",
    ]
    path = tmp_path / "weather.csv"
    path.write_text(content, "utf-8")
    assert read_daily(path)["tmin_c"].tolist() == [5, 6.125, 7.25]
