"""A garden that measures no more than rain runs on its gauge and on usual temperatures."""

import datetime as dt
import json
import tomllib

import pytest
from brackenfold import stations, write_site
from click.testing import CliRunner

from waterbudget.cli.main import main
from waterbudget.site.starter import Answers, write_starter

USUAL = "[usual]\njuly_high_c = 21\njuly_low_c = 12\njanuary_high_c = 7\njanuary_low_c = 1\n"
SCREEN = (
    "Weather: gauge.csv, with usual temperatures. Reference evapotranspiration ET0: Hargreaves (FAO-56 Eq. 52). "
    "Temperatures: those usual for the day of the year. Likely error of ET0: over a year 32 % too low to 80 % too "
    "high, as measured at three stations; other places may differ, and a single week be further off."
)


def waterbudget(*words):
    return CliRunner().invoke(main, words, catch_exceptions=False)


def rows(days=60, first=dt.date(2031, 5, 1)):
    return "date,rain_mm\n" + "".join(f"{first + dt.timedelta(days=n)},{3 * (n % 4 == 0)}\n" for n in range(days))


@pytest.fixture
def garden(tmp_path, monkeypatch):
    write_starter(tmp_path, Answers())
    path = tmp_path / "site.toml"
    text = path.read_text("utf-8").replace('file = "weather.csv"', 'gauge = "gauge.csv"')
    path.write_text(f"{text}\n{USUAL}", "utf-8")
    (tmp_path / "weather.csv").unlink()
    (tmp_path / "gauge.csv").write_text(rows(), "utf-8")
    monkeypatch.chdir(tmp_path)
    return tmp_path


@pytest.mark.usefixtures("garden")
def test_it_runs_and_says_how_far_off_it_may_be():
    ran = waterbudget("run", *(["--full"] if "--full" in waterbudget("run", "--help").stdout else []))
    assert ran.exit_code == 0, ran.stderr
    assert SCREEN in " ".join(ran.stdout.split())
    assert json.loads(waterbudget("run", "--json").stdout)["days"] == 60


@pytest.mark.usefixtures("garden")
def test_the_other_questions_are_answered_alike():
    for words in (["check"], ["today", "--on", "2031-06-20"], ["compare", "--with", "roof.Roof.area_m2=20"]):
        told = waterbudget(*words)
        assert told.exit_code == 0, told.stderr


def test_days_without_a_reading_are_told(garden):
    lines = rows().splitlines()
    (garden / "gauge.csv").write_text("\n".join([*lines[:10], *lines[12:]]), "utf-8")
    assert "gauge.csv: 2 days between its readings have none and count as dry." in waterbudget("run").stderr
    (garden / "gauge.csv").write_text("\n".join([*lines[:10], *lines[11:]]), "utf-8")
    assert "gauge.csv: 1 day between its readings has none and counts as dry." in waterbudget("run").stderr


@pytest.mark.parametrize(
    ("usual", "fault"),
    [
        (
            "",
            "weather.file: is missing; for a gauge alone add [usual] with july_high_c, july_low_c, january_high_c and",
        ),
        (
            "[usual]\njuly_high_c = 21\n",
            "usual: lacks july_low_c, january_high_c and january_low_c; give july_high_c, july",
        ),
        (USUAL.replace("21", "2"), "usual: has a low of 12 above a high of 2; swap or correct them"),
        (
            f"{USUAL}low_c = {[1] * 12}\n",
            "usual: gives july_high_c, july_low_c, january_high_c and january_low_c as well as",
        ),
        (f"[usual]\nhigh_c = {[9] * 12}\n", "usual: lacks low_c; give high_c and low_c"),
        (f"[usual]\nhigh_c = {[9] * 11}\n", "usual.high_c: has 11 values; write 12"),
        (USUAL.replace("21", "210"), "usual.july_high_c: is 210; write a number up to 60"),
        (USUAL.replace("july_high_c", "juli_high_c"), "usual.juli_high_c: unknown key; did you mean july_high_c?"),
    ],
)
def test_faults_of_usual_temperatures_are_told(garden, usual, fault):
    path = garden / "site.toml"
    path.write_text(path.read_text("utf-8").replace(USUAL, usual), "utf-8")
    refused = waterbudget("run")
    assert (refused.exit_code, refused.stdout) == (2, "")
    assert refused.stderr.startswith(f"site.toml: {fault}")


def test_usual_temperatures_without_a_gauge_say_what_is_missing(garden):
    path = garden / "site.toml"
    path.write_text(path.read_text("utf-8").replace('gauge = "gauge.csv"', ""), "utf-8")
    assert waterbudget("run").stderr == (
        'site.toml: weather.file: is missing; beside [usual] add [weather] with gauge = "gauge.csv", your own rain '
        "readings\n"
    )


def test_an_imported_gauge_is_enough(garden):
    (garden / "gauge.csv").unlink()
    (garden / "sheet.csv").write_text("Week ending,Rain mm\n08/05/2031,14\n15/05/2031,0\n22/05/2031,7\n", "utf-8")
    assert waterbudget("weather", "--import", "sheet.csv", "--yes").exit_code == 0
    assert json.loads(waterbudget("run", "--json").stdout)["days"] == 21


# ---- From a station's years ----


def test_fill_writes_the_usual_temperatures_of_the_years_into_a_site_that_has_none(tmp_path, monkeypatch):
    with stations(monkeypatch, tmp_path):
        before = (tmp_path / "site.toml").read_text("utf-8")
        filled = waterbudget("weather", "site.toml", "--fill")
        assert filled.exit_code == 0
        assert "Usual temperatures written into site.toml, [usual]; as it was: site.toml.bak." in filled.stderr
        after = (tmp_path / "site.toml").read_text("utf-8")
        assert after.startswith(before.rstrip("\n"))
        usual = tomllib.loads(after)["usual"]
        assert list(map(len, usual.values())) == [12, 12]
        assert all(low < high for low, high in zip(usual["low_c"], usual["high_c"], strict=True))
        assert (tmp_path / "site.toml.bak").read_text("utf-8") == before
        waterbudget("weather", "site.toml", "--fill")
        assert (tmp_path / "site.toml").read_text("utf-8") == after
        assert waterbudget("run", "site.toml").exit_code == 0


def test_part_of_a_year_is_no_usual_year(tmp_path, monkeypatch):
    with stations(monkeypatch, tmp_path):
        write_site(tmp_path)
        before = (tmp_path / "site.toml").read_bytes()
        days = ("--from", "2024-05-01", "--to", "2024-09-30")
        assert waterbudget("weather", "site.toml", "--fill", *days).exit_code == 0
        assert (tmp_path / "site.toml").read_bytes() == before
