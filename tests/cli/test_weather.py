import json
import re

import numpy as np
import pandas as pd
import pytest
from brackenfold import (
    FIRST,
    LAST,
    SUMMER,
    YEARS,
    stations,
    waterbudget_,
    write_site,
    year_of,
    years_asked,
)
from click.testing import CliRunner
from weather.loopback import year_path

from waterbudget.cli.main import main

WAYS_ON = """\
Without a network there are three ways on:
  1. Bring in a table that you have: waterbudget weather site.toml --import FILE
  2. Your own rain gauge, gauge = "gauge.csv" under [weather], in place of nearest or station, and usual temperatures: \
[usual] with july_high_c, july_low_c, january_high_c and january_low_c
  3. A file of your own, file = "weather.csv" under [weather], in place of nearest or station, with a row a day such as:
       date,rain_mm,tmin_c,tmax_c
       2031-05-01,0,8.5,19.2
       2031-05-02,3.5,9.1,16.8
"""
SPAN = f"{SUMMER[0]} to {SUMMER[1]}"
THIS = LAST.year
DAYS = (LAST - FIRST).days + 1


@pytest.fixture
def server(tmp_path, monkeypatch):
    with stations(monkeypatch, tmp_path) as running:
        yield running


def plain_csv(path, years):
    """The station's readings as a gardener would copy them, with the wind at 10 m."""
    frames = []
    for year in years:
        values = year_of(year)
        frames.append(
            pd.DataFrame(
                {
                    "date": pd.date_range(f"{year}-01-01", f"{year}-12-31").strftime("%Y-%m-%d"),
                    "rain_mm": values["prcp"],
                    "tmin_c": values["tmin"],
                    "tmax_c": values["tmax"],
                    "tmean_c": values["temp"],
                    "rh_mean_pct": values["rhum"],
                    "wind_m_s": np.asarray(values["wspd"]) / 3.6,  # km/h in a m/s
                    "sun_hours": np.asarray(values["tsun"]) / 60.0,
                }
            )
        )
    pd.concat(frames).to_csv(path, index=False)


def found_in(told):
    """What was found in a run, without the sentences on where its weather comes from."""
    return {key: value for key, value in told.items() if key != "assumptions"}


def to_nine_digits(value):
    if isinstance(value, dict):
        return {key: to_nine_digits(inner) for key, inner in value.items()}
    if isinstance(value, list):
        return [to_nine_digits(inner) for inner in value]
    return float(f"{value:.9g}") if isinstance(value, float) else value


# Two commands


def test_two_commands_give_a_new_user_a_summers_verdict(server):
    looked = waterbudget_("weather", "site.toml")
    assert looked.exit_code == 0
    assert looked.stdout.startswith(f"Brackenfold, weather of 1 January {FIRST.year} to 31 December {THIS}\n\nReady")
    assert "Station X0001 Lower Field, 2.6 km away" in " ".join(looked.stdout.split())
    assert looked.stdout.count("https://dev.meteostat.net/license") == 1
    assert "\nNext\n  waterbudget run site.toml\n" in looked.stdout
    assert looked.stderr.splitlines()[0] == "fetching the list of weather stations"
    assert len(looked.stderr.splitlines()) == 1 + len(YEARS)

    server.stop()
    ran = waterbudget_("run", "site.toml", "--full")
    assert ran.exit_code == 0
    assert ran.stdout.startswith(f"Brackenfold, 1 May to 30 September {THIS}\n\nThe stored rain lasts")
    assert "Weather: station X0001 Lower Field (2.6 km); data: Meteostat (https://" in " ".join(ran.stdout.split())
    assert f"Weather of station X0001 Lower Field (2.6 km), {SPAN}, the last whole summer" in ran.stderr


@pytest.mark.usefixtures("server")
def test_the_run_is_that_of_the_same_readings_in_a_file(tmp_path):
    waterbudget_("weather", "site.toml")
    from_station = json.loads(waterbudget_("run", "site.toml", "--json").stdout)
    assert 0 < from_station["days_lasted"] < from_station["days"] == 153
    plain_csv(tmp_path / "copied.csv", [THIS])
    write_site(tmp_path, 'file = "copied.csv"\nwind_height_m = 10')
    from_file = json.loads(waterbudget_("run", "site.toml", "--from", SUMMER[0], "--to", SUMMER[1], "--json").stdout)
    assert to_nine_digits(found_in(from_file)) == to_nine_digits(found_in(from_station))


def test_check_reads_the_weather_of_the_station(server):
    waterbudget_("weather", "site.toml")
    server.stop()
    checked = waterbudget_("check", "site.toml")
    assert checked.exit_code == 0
    assert f"1 May to 30 September {THIS}" in checked.stdout


def test_the_second_time_nothing_is_fetched(server):
    first = waterbudget_("weather", "site.toml")
    server.stop()
    again = waterbudget_("weather", "site.toml")
    assert (again.exit_code, again.stdout, again.stderr) == (0, first.stdout, "")


def test_refresh_fetches_again(server):
    waterbudget_("weather", "site.toml")
    server.log.clear()
    assert waterbudget_("weather", "site.toml", "--refresh").exit_code == 0
    assert years_asked(server) == [year_path("X0001", year) for year in YEARS]


def test_without_a_name_site_toml_of_this_folder_is_taken(server, tmp_path):
    assert waterbudget_("weather", "--from", FIRST, "--to", f"{FIRST.year}-12-31").exit_code == 0
    (tmp_path / "site.toml").unlink()
    server.log.clear()
    refused = waterbudget_("weather")
    assert (refused.exit_code, server.log) == (2, [])
    assert refused.stderr.startswith("site.toml: there is no such file")


@pytest.mark.usefixtures("server")
def test_a_station_may_be_named(tmp_path):
    looked = waterbudget_("weather", "site.toml", "--station", "x0003")
    assert "Station X0003 Far Mill, 21.4 km away" in looked.stdout
    assert 'write under [weather] in place of nearest = true:\n      station = "X0003"\n  Then:' in looked.stdout
    write_site(tmp_path, 'station = "X0003"')
    ran = waterbudget_("run", "site.toml")
    assert ran.exit_code == 0
    assert "Weather of station X0003 Far Mill (21.4 km)" in ran.stderr
    assert "\nNext\n  waterbudget run site.toml\n" in waterbudget_("weather", "site.toml").stdout


@pytest.mark.usefixtures("server")
def test_json_says_the_same_to_machines():
    looked = json.loads(waterbudget_("weather", "site.toml", "--json").stdout)
    assert (looked["station"]["id"], looked["station"]["completeness"]) == ("X0001", 1.0)
    assert (looked["period"], looked["days"]) == ({"from": str(FIRST), "to": str(LAST)}, DAYS)
    assert (looked["has_gaps"], looked["gaps"], looked["years_without_gaps"]) == (False, [], list(YEARS))
    assert looked["sources"]["rain_mm"] == {"station X0001 (ghcnd)": DAYS}
    assert [station["id"] for station in looked["candidates"]] == ["X0001", "X0003"]


def test_the_help_tells_of_the_cache_and_shows_an_example():
    helped = waterbudget_("weather", "--help")
    assert "WATERBUDGET_CACHE" in helped.stdout
    assert re.search(r"Example: waterbudget weather \S+", helped.stdout)


# The weather as a file


@pytest.mark.usefixtures("server")
def test_the_file_gives_the_run_that_the_cache_gives(tmp_path):
    looked = waterbudget_("weather", "site.toml", "--out", "copy.csv")
    assert looked.exit_code == 0
    assert looked.stderr.endswith("Written to copy.csv.\n")
    edit = 'Next\n  In site.toml write under [weather] in place of nearest = true:\n      file = "copy.csv"\n  Then:\n'
    assert edit in looked.stdout
    assert f"  waterbudget run site.toml --from {SUMMER[0]} --to {SUMMER[1]}\n" in looked.stdout
    from_cache = json.loads(waterbudget_("run", "site.toml", "--json").stdout)
    write_site(tmp_path, 'file = "copy.csv"')
    from_file = waterbudget_("run", "site.toml", "--from", SUMMER[0], "--to", SUMMER[1], "--json")
    assert found_in(json.loads(from_file.stdout)) == found_in(from_cache)
    shown = waterbudget_("run", "site.toml", "--full").stdout
    assert "Weather: copy.csv; station X0001 Lower Field (2.6 km); data: Meteostat" in " ".join(shown.split())


def test_a_file_is_not_overwritten_unless_told(server, tmp_path):
    (tmp_path / "copy.csv").write_text("mine", "utf-8")
    refused = waterbudget_("weather", "site.toml", "--out", "copy.csv")
    assert (refused.exit_code, server.log) == (2, [])
    assert refused.stderr == "copy.csv: is there already; choose another name or add --overwrite\n"
    assert (tmp_path / "copy.csv").read_text("utf-8") == "mine"
    days = ("--from", f"{THIS}-01-01", "--to", LAST)
    assert waterbudget_("weather", "site.toml", *days, "--out", "copy.csv", "--overwrite").exit_code == 0
    assert (
        len((tmp_path / "copy.csv").read_text("utf-8").splitlines()) == 1 + (LAST - SUMMER[0].replace(month=1)).days + 1
    )


# Gaps

RAIN_GAP = {"prcp": ["06-10", "06-11"]}


def test_gaps_stop_a_run_until_they_are_mended(server, tmp_path):
    server.put("X0001", THIS, year_of(THIS), missing=RAIN_GAP | {"tmax": ["07-01"]})
    looked = waterbudget_("weather", "site.toml")
    assert looked.exit_code == 0
    assert "Not ready for a run: days are missing." in looked.stdout
    assert f"rain_mm: 2 of {DAYS} days missing: {THIS}-06-10 to {THIS}-06-11\n" in looked.stdout
    assert f"tmax_c: 1 of {DAYS} days missing: {THIS}-07-01\n" in looked.stdout
    assert f"Years without a gap: {FIRST.year} to {THIS - 1}.\n" in looked.stdout
    assert (
        "Next\n  Let the gaps be mended where that is sound:\n  waterbudget weather site.toml --fill\n" in looked.stdout
    )

    refused = waterbudget_("run", "site.toml")
    assert (refused.exit_code, refused.stdout) == (2, "")
    assert refused.stderr.splitlines() == [
        f"site.toml: rain_mm: 2 of 153 days missing: {THIS}-06-10 to {THIS}-06-11",
        f"site.toml: tmax_c: 1 of 153 days missing: {THIS}-07-01",
        (
            "site.toml: add fill = true to [weather] to have gaps mended where that is sound; "
            "waterbudget weather site.toml --fill shows how"
        ),
    ]
    not_written = waterbudget_("weather", "site.toml", "--out", "copy.csv")
    assert not_written.exit_code == 2
    assert not_written.stderr.endswith("copy.csv: not written: add --fill to have gaps mended where that is sound\n")
    assert not (tmp_path / "copy.csv").exists()

    mended = waterbudget_("weather", "site.toml", "--fill")
    assert "Ready for a run, its gaps mended." in mended.stdout
    assert "Rain                            " in mended.stdout
    assert f"station X0001 (ghcnd) {DAYS - 2:,}, station X0003 2\n" in mended.stdout
    assert (
        "In site.toml write under [weather]:\n      fill = true\n  Then:\n  waterbudget run site.toml\n"
        in mended.stdout
    )
    write_site(tmp_path, "nearest = true\nfill = true")
    ran = waterbudget_("run", "site.toml")
    assert ran.exit_code == 0
    assert f"rain_mm: 2 days taken from station X0003 Far Mill (21.4 km): {THIS}-06-10 to {THIS}-06-11." in ran.stderr
    assert waterbudget_("weather", "site.toml", "--out", "copy.csv").exit_code == 0


def test_gaps_outside_the_summer_do_not_stop_a_run(server):
    server.put("X0001", YEARS[1], year_of(YEARS[1]), missing=RAIN_GAP)
    looked = waterbudget_("weather", "site.toml")
    assert f"Ready for a run of 1 May to 30 September {THIS}; other days have gaps." in looked.stdout
    assert f"Years without a gap: {YEARS[0]} and {THIS}." in looked.stdout
    assert waterbudget_("run", "site.toml").exit_code == 0


def test_a_quantity_with_too_many_gaps_is_left_out(server, tmp_path):
    server.put("X0001", THIS, year_of(THIS), missing={"wspd": [f"07-{day:02d}" for day in range(1, 15)]})
    write_site(tmp_path, "nearest = true\nfill = true")
    looked = waterbudget_("weather", "site.toml")
    assert "Ready for a run, its gaps mended." in looked.stdout
    assert "wind_m_s is left out altogether" in " ".join(looked.stdout.split())
    ran = waterbudget_("run", "site.toml", "--full")
    assert ran.exit_code == 0
    assert "Wind: 2 m/s on every day (FAO-56 Table 4)." in ran.stdout


def test_gaps_that_cannot_be_mended_leave_other_years_and_stations(server):
    server.put("X0001", THIS, year_of(THIS), missing={"tmax": [f"07-{day:02d}" for day in range(1, 15)]})
    looked = waterbudget_("weather", "site.toml", "--fill")
    assert "Not ready for a run: days are missing." in looked.stdout
    assert "Only gaps of up to 3 days between two readings are bridged" in " ".join(looked.stdout.split())
    assert f"Years that can be mended: {FIRST.year} to {THIS - 1}." in looked.stdout
    assert looked.stdout.partition("Next\n")[2].partition("\n\n")[0].splitlines() == [
        "  Take years that can be mended:",
        f"  waterbudget weather site.toml --from {FIRST} --to {THIS - 1}-12-31 --fill",
        "  Try another station:",
        "  waterbudget weather site.toml --station X0003 --fill",
        '  Or write a weather file of your own, and name it in the site file: file = "weather.csv"',
    ]
    refused = waterbudget_("weather", "site.toml", "--fill", "--out", "copy.csv")
    assert refused.exit_code == 2
    assert refused.stderr.splitlines()[-1] == (
        "copy.csv: not written: without --out the stations near by are listed, and the years that can be mended"
    )


# Wrong input


@pytest.mark.parametrize(
    ("words", "told"),
    [
        (["--station", "X9999"], 'station "X9999": no weather station has this id; leave --station out'),
        (["--from", "1850-01-01", "--to", "1850-12-31"], "no weather station within 50 km has rain for 1850-01-01 to"),
        (
            ["--from", "1990-01-01", "--to", "1990-12-31", "--station", "X0001"],
            "no rain for 1990-01-01 to 1990-12-31 (its rain is listed from 2000-01-01 to",
        ),
        (["--from", "2023-12-31", "--to", "2023-01-01"], "the last day comes before the first; swap them"),
        (["--to", "2200-01-01"], "ends in the future; end it yesterday or before"),
        (["--from", "2023-02-30"], '"2023-02-30" is no date; write YYYY-MM-DD'),
    ],
)
@pytest.mark.usefixtures("server")
def test_wrong_words_are_told(words, told):
    refused = waterbudget_("weather", "site.toml", *words)
    assert (refused.exit_code, refused.stdout) == (2, "")
    assert told in refused.stderr
    assert "Traceback" not in refused.stderr


@pytest.mark.usefixtures("server")
def test_a_garden_at_sea_has_no_station(tmp_path):
    text = (tmp_path / "site.toml").read_text("utf-8").replace("= 53.1", "= 0").replace("= -1.9", "= -30")
    (tmp_path / "site.toml").write_text(text, "utf-8")
    refused = waterbudget_("weather", "site.toml")
    assert refused.exit_code == 2
    assert "place 0, -30: no weather station within 50 km; check the signs of latitude and longitude" in refused.stderr


def test_a_site_without_its_place_names_the_keys(server, tmp_path):
    for key, example in (("latitude_deg", "53.1"), ("longitude_deg", "-1.9")):
        write_site(tmp_path, without=key)
        for command in ("weather", "run"):
            refused = waterbudget_(command, "site.toml")
            assert refused.exit_code == 2
            assert refused.stderr.startswith(f"site.toml: site.{key}: is missing; add {key} = {example} (degrees")
    assert server.log == []


@pytest.mark.parametrize(
    ("text", "told"),
    [
        (None, "gauge.csv: there is no such file; write one with the columns date,rain_mm"),
        ("day,mm\n", "gauge.csv: row 1: the column date is missing; write the header date,rain_mm"),
        (
            f"date,rain_mm\n{THIS}-06-01,wet\n",
            f'gauge.csv: row 2: {THIS}-06-01: rain_mm is "wet"; write millimetres',
        ),
        ("date,rain_mm\n1999-06-01,3\n", f"gauge.csv: no reading between {FIRST} and {LAST}; give readings"),
    ],
)
@pytest.mark.usefixtures("server")
def test_faults_of_the_gauge_file_are_told(tmp_path, text, told):
    waterbudget_("weather", "site.toml")
    write_site(tmp_path, 'nearest = true\ngauge = "gauge.csv"')
    if text is not None:
        (tmp_path / "gauge.csv").write_text(text, "utf-8")
    for command in ("weather", "run"):
        refused = waterbudget_(command, "site.toml")
        assert (refused.exit_code, refused.stdout) == (2, "")
        assert told in refused.stderr


# No network, no cache


def test_offline_with_an_empty_cache_is_no_fault_of_the_user(server, tmp_path):
    server.stop()
    failed = waterbudget_("weather", "site.toml")
    assert (failed.exit_code, failed.stdout) == (1, "")
    assert "list of weather stations: the weather server could not be reached" in failed.stderr
    assert failed.stderr.endswith(WAYS_ON)
    assert not list((tmp_path / "cache").rglob("*.txt"))
    refused = waterbudget_("run", "site.toml")
    assert refused.exit_code == 2
    nothing = (
        "site.toml: weather.nearest: nothing has been fetched for it yet; run first: waterbudget weather site.toml\n"
    )
    assert refused.stderr == nothing + WAYS_ON
    today = CliRunner().invoke(main, ["today", "site.toml"])
    assert (today.exit_code, today.stdout) == (1, "")
    assert today.stderr.endswith(WAYS_ON)


@pytest.mark.usefixtures("server")
def test_the_file_that_is_shown_as_a_way_on_can_be_run(tmp_path):
    *_, head, one, two = (line.strip() for line in WAYS_ON.splitlines())
    (tmp_path / "weather.csv").write_text(f"{head}\n{one}\n{two}\n", "utf-8")
    write_site(tmp_path, 'file = "weather.csv"')
    assert waterbudget_("run", "site.toml").exit_code == 0


def test_a_broken_download_writes_nothing(server, tmp_path):
    path = year_path("X0001", THIS)
    server.files[path] = server.files[path][: len(server.files[path]) // 2]
    failed = waterbudget_("weather", "site.toml", "--out", "copy.csv")
    assert failed.exit_code == 1
    assert (
        f"station X0001 Lower Field (2.6 km), {THIS}: the weather server sent a broken file; try again" in failed.stderr
    )
    assert not (tmp_path / "copy.csv").exists()
    assert waterbudget_("run", "site.toml").exit_code == 2


@pytest.mark.usefixtures("server")
def test_a_cache_that_cannot_be_written_leaves_the_way_through_a_file(tmp_path, monkeypatch):
    (tmp_path / "shut").write_text("in the way", "utf-8")
    monkeypatch.setenv("WATERBUDGET_CACHE", str(tmp_path / "shut"))
    looked = waterbudget_("weather", "site.toml")
    assert looked.exit_code == 0
    said = " ".join(looked.stdout.split())
    assert "is no folder; choose another place. Nothing more is kept." in said.replace("* ", "")
    assert (
        "a run would not find this weather. Write it to a file: waterbudget weather site.toml --out weather.csv" in said
    )
    assert waterbudget_("run", "site.toml").exit_code == 2
    written = waterbudget_("weather", "site.toml", "--out", "weather.csv")
    assert 'file = "weather.csv"' in written.stdout
    write_site(tmp_path, 'file = "weather.csv"')
    assert waterbudget_("run", "site.toml").exit_code == 0


@pytest.mark.usefixtures("server")
def test_a_file_that_cannot_be_written_is_told(tmp_path):
    (tmp_path / "shut").write_text("in the way", "utf-8")
    refused = waterbudget_("weather", "site.toml", "--out", "shut/copy.csv")
    assert refused.exit_code == 2
    assert refused.stderr.splitlines()[-1].startswith("shut/copy.csv: cannot be written: ")
