import datetime as dt
import json
from dataclasses import replace
from pathlib import Path

import jsonschema
import pytest
from brackenfold import FAR, LAST, NEAR, NO_RAIN, SITE, YEARS, stations, write_site, year_of

from waterbudget.answers.weather import answer, candidates, measured, next_steps, verdict
from waterbudget.render.json import schema_of, to_json
from waterbudget.render.text import WIDEST, block_lines, text
from waterbudget.simulate.fetched import fetch_weather
from waterbudget.site.read import load_site

HERE = Path("site.toml")
THIS = LAST.year
YEAR = (dt.date(THIS, 1, 1), dt.date(THIS, 12, 31))
SUMMER = (dt.date(THIS, 5, 1), dt.date(THIS, 9, 30))
LONG_GAP = [f"07-{day:02d}" for day in range(1, 15)]


@pytest.fixture
def server(tmp_path, monkeypatch):
    with stations(monkeypatch, tmp_path) as running:
        yield running


def looked_at(first=YEAR[0], last=YEAR[1], path=HERE, **wanted):
    return fetch_weather(path, load_site(path), first, last, **wanted)


def weather_screen(looked, written=None, width=100):
    return text(answer(looked, written), width, full=True)


def lines_of(table):
    return block_lines(table, 100)


def said(lines):
    return " ".join(" ".join(lines).split())


# The verdict


@pytest.mark.usefixtures("server")
def test_the_verdict_says_which_station_how_far_and_how_complete():
    days, yearly_mm = (YEAR[1] - YEAR[0]).days + 1, year_of(THIS)["prcp"].mean() * 365.25
    assert verdict(looked_at()) == (
        "Ready for a run: no day is missing. Station X0001 Lower Field, 2.6 km away, gives the rain: "
        f"read on all {days} days, {yearly_mm:,.0f} mm a year. It is the nearest with rain read on nine days in ten."
    )


@pytest.mark.usefixtures("server")
def test_part_of_a_year_is_not_told_by_the_year():
    begins = SUMMER[0].timetuple().tm_yday - 1
    rain_mm = year_of(THIS)["prcp"][begins : begins + 153].sum()
    assert f"read on all 153 days, {rain_mm:,.0f} mm. It is" in verdict(looked_at(*SUMMER))


def test_the_verdict_counts_the_days_with_rain(server):
    server.put("X0001", THIS, year_of(THIS), missing={"prcp": ["06-10"]})
    days = (YEAR[1] - YEAR[0]).days + 1
    assert verdict(looked_at()).startswith("Not ready for a run: days are missing. Station X0001")
    assert f"read on {days - 1} of {days} days" in verdict(looked_at())
    assert verdict(looked_at(fill=True)).startswith("Ready for a run, its gaps mended.")
    server.put("X0001", YEARS[0], year_of(YEARS[0]), missing={"prcp": ["02-10"]})
    other_days = looked_at(dt.date(YEARS[0], 1, 1), dt.date(YEARS[1], 12, 31))
    assert verdict(other_days).startswith(f"Ready for a run of 1 May to 30 September {YEARS[1]}; other days have gaps.")


def test_the_verdict_says_why_this_station(server):
    assert verdict(looked_at(station="X0003")).endswith("It is the station that you named.")
    half = [f"{month:02d}-{day:02d}" for month in range(1, 7) for day in range(1, 29)]
    server.put("X0001", THIS, year_of(THIS), missing={"prcp": half})
    assert verdict(looked_at()).endswith("It is the nearest with rain read on nine days in ten.")
    year = YEARS[0]
    server.put("X0001", year, year_of(year), missing={"prcp": half})
    server.put("X0003", year, year_of(year), missing={"prcp": half[:60]})
    poor = verdict(looked_at(dt.date(year, 1, 1), dt.date(year, 12, 31)))
    assert "Station X0003 Far Mill" in poor
    assert poor.endswith("None within 50 km has rain read on nine days in ten; this one has it on most.")


# The tables


def test_the_stations_stand_nearest_first_with_an_arrow_to_the_one_taken(server):
    server.put("X0001", THIS, year_of(THIS), missing={"prcp": ["06-10"]})
    assert lines_of(candidates(looked_at())) == [
        "Stations near by     distance  above you  rain read",
        "                           km          m  % of days",
        "> X0001 Lower Field       2.6        +10       99.7",
        "  X0003 Far Mill         21.4          –        100",
    ]
    assert lines_of(
        candidates(looked_at(station="X0003", first=dt.date(YEARS[0], 1, 1), last=dt.date(YEARS[0], 12, 31)))
    )[2:] == [
        "  X0001 Lower Field       2.6        +10  not asked",
        "> X0003 Far Mill         21.4          –        100",
    ]


def test_each_quantity_names_its_source(server, tmp_path):
    days = (YEAR[1] - YEAR[0]).days + 1
    without_sun = {name: value for name, value in year_of(THIS).items() if name not in {"rhum", "tsun"}}
    server.put("X0001", THIS, without_sun, missing={"prcp": ["06-10"], "tmax": ["07-01"], "wspd": LONG_GAP})
    server.put("X0003", THIS, {name: value for name, value in year_of(THIS).items() if name != "tsun"})
    server.put("X0002", THIS, {"wspd": 10.8})
    write_site(tmp_path, 'nearest = true\nfill = true\ngauge = "gauge.csv"')
    (tmp_path / "gauge.csv").write_text(f"date,rain_mm\n{THIS}-06-11,0\n{THIS}-06-12,2\n", "utf-8")
    assert [f"{row[0]} |{row[2]}" for row in measured(looked_at()).rows] == [
        f"Rain |station X0001 (ghcnd) {days - 3}, your gauge 2, station X0003 1",
        "Lowest temperature of the day |station X0001 (ghcnd)",
        f"Highest temperature of the day |station X0001 (ghcnd) {days - 1}, bridged 1",
        "Mean temperature of the day |station X0001 (ghcnd)",
        "Mean relative humidity |station X0003",
    ]


# What to know


@pytest.mark.usefixtures("server")
def test_what_the_days_and_the_record_are_good_for():
    usual = weather_screen(looked_at(None, None))
    assert f"these are the last {len(YEARS)} whole years" in said([usual])
    assert f"A run takes the last whole summer, 1 May to 30 September {THIS};" in said([usual])
    assert "Reference evapotranspiration ET0 comes from Penman-Monteith (FAO-56 Eq. 6)." in said([usual])
    assert "Credit\n  Meteostat (https://dev.meteostat.net/license); modified." in usual
    summer = weather_screen(looked_at(*SUMMER))
    assert "whole years" not in summer
    assert "A run takes" not in summer


@pytest.mark.usefixtures("server")
def test_a_far_station_calls_for_a_gauge(tmp_path):
    assert "rain gauge in the garden" not in said([weather_screen(looked_at())])
    assert "rain gauge in the garden" in said([weather_screen(looked_at(station="X0003"))])
    (tmp_path / "gauge.csv").write_text(f"date,rain_mm\n{THIS}-06-11,0\n", "utf-8")
    write_site(tmp_path, 'nearest = true\ngauge = "gauge.csv"')
    assert "rain gauge in the garden" not in said([weather_screen(looked_at(station="X0003"))])


@pytest.mark.usefixtures("server")
def test_a_wind_height_meant_for_a_file_is_questioned(tmp_path):
    write_site(tmp_path, "nearest = true\nwind_height_m = 2")
    shown = said([weather_screen(looked_at())])
    assert "wind_height_m = 2 is taken for the height of the station's wind gauge; most stand 10 m above" in shown
    assert "taken as measured 10 m" not in shown
    write_site(tmp_path, "nearest = true\nwind_height_m = 10")
    assert "wind_height_m" not in weather_screen(looked_at())


def test_what_looks_odd_is_told(server):
    cloudburst = year_of(THIS)
    cloudburst["prcp"][200] = 180.0
    server.put("X0001", THIS, cloudburst)
    assert "Looks odd ! Rain: 180.0 mm on " in said([weather_screen(looked_at())])


def test_the_height_of_the_station_is_told_where_it_counts(server):
    server.put_list([replace(NEAR, elevation_m=540), FAR, NO_RAIN])
    assert "lies 400 m above the place; its temperatures are not corrected" in said([weather_screen(looked_at())])


@pytest.mark.parametrize("fill", [True, False])
def test_no_line_but_those_to_paste_is_wider_than_the_screen(server, fill):
    server.put("X0001", THIS, year_of(THIS), missing={"prcp": LONG_GAP, "tmax": LONG_GAP[:2] + LONG_GAP[5:7]})
    for width in (44, 80, WIDEST):
        shown = weather_screen(looked_at(None, None, fill=fill), width=width)
        to_paste, credit = shown.partition("\nNext\n")[2].split("\n\n", 1)
        assert "waterbudget weather site.toml" in to_paste or "waterbudget run site.toml" in to_paste
        for line in f"{shown.partition('Next')[0]}{credit}".splitlines():
            assert len(line) <= width


# What next


@pytest.mark.parametrize(
    ("lines", "wanted", "edit"),
    [
        ("nearest = true", {}, []),
        ("nearest = true\nfill = true", {}, []),
        ("nearest = true", {"fill": True}, ["In site.toml write under [weather]:", "    fill = true", "Then:"]),
        ('station = "x0001"', {}, []),
        (
            'station = "X0001"',
            {"station": "X0003"},
            ["In site.toml write under [weather]:", '    station = "X0003"', "Then:"],
        ),
        (
            'file = "weather.csv"',
            {},
            [
                'In site.toml write under [weather] in place of file = "weather.csv":',
                "    nearest = true",
                "Then:",
            ],
        ),
        ("", {}, ["In site.toml write under [weather]:", "    nearest = true", "Then:"]),
    ],
)
@pytest.mark.usefixtures("server")
def test_the_next_step_names_the_keys_that_are_still_to_be_written(tmp_path, lines, wanted, edit):
    write_site(tmp_path, lines)
    assert next_steps(looked_at(**wanted), None) == [*edit, "waterbudget run site.toml"]


@pytest.mark.usefixtures("server")
def test_the_file_is_named_from_where_the_site_lies(tmp_path):
    garden = tmp_path / "my garden"
    garden.mkdir()
    (garden / "site.toml").write_text(SITE, "utf-8")
    path = Path("my garden/site.toml")
    steps = next_steps(looked_at(*SUMMER, path=path), Path("data/copy.csv"))
    assert steps == [
        "In my garden/site.toml write under [weather] in place of nearest = true:",
        '    file = "../data/copy.csv"',
        "Then:",
        "waterbudget run 'my garden/site.toml'",
    ]
    assert next_steps(looked_at(path=path), Path("my garden/copy.csv"))[1:] == [
        '    file = "copy.csv"',
        "Then:",
        f"waterbudget run 'my garden/site.toml' --from {SUMMER[0]} --to {SUMMER[1]}",
    ]


def test_gaps_come_before_anything_else(server):
    server.put("X0001", THIS, year_of(THIS), missing={"tmax": LONG_GAP})
    assert next_steps(looked_at(station="X0001"), None) == [
        "Let the gaps be mended where that is sound:",
        f"waterbudget weather site.toml --from {YEAR[0]} --to {YEAR[1]} --station X0001 --fill",
    ]
    first = dt.date(YEARS[1], 4, 1)
    assert next_steps(looked_at(first, YEAR[1], fill=True), None) == [
        "Take years that can be mended:",
        f"waterbudget weather site.toml --from {first} --to {THIS - 1}-12-31 --fill",
        "Try another station:",
        f"waterbudget weather site.toml --from {first} --to {YEAR[1]} --station X0003 --fill",
        'Or write a weather file of your own, and name it in the site file: file = "weather.csv"',
    ]


@pytest.mark.usefixtures("server")
def test_an_answer_brings_what_was_written_and_follows_its_schema():
    found = answer(looked_at(*SUMMER), Path("copy.csv"), (Path("site.toml"), Path("site.toml.bak")))
    assert found.notes == (
        "Written to copy.csv.",
        "Usual temperatures written into site.toml, [usual]; as it was: site.toml.bak.",
    )
    told = json.loads(to_json(found))
    jsonschema.Draft202012Validator(schema_of("weather")).validate(told)
    assert told["station"]["id"] == "X0001"
    assert told["period"] == {"from": str(SUMMER[0]), "to": str(SUMMER[1])}
