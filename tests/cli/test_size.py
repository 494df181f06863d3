"""The command end to end: screens, files, and every refusal in lines of its own with nothing written."""

import csv
import json
import shutil
from pathlib import Path

import click
import pytest
from asking import Asker

from waterbudget.cli.size import size

DATA_DEMO = Path(__file__).parent.parent.parent / "data_demo"
ask = Asker(size)


@pytest.fixture
def folder(tmp_path, monkeypatch):
    """The folder that the program runs in, with a site, its weather and prices."""
    for name in ("site.toml", "weather.csv", "prices.csv"):
        shutil.copy(DATA_DEMO / name, tmp_path)
    monkeypatch.chdir(tmp_path)
    return tmp_path


@pytest.mark.usefixtures("folder")
def test_the_screen_goes_to_stdout():
    result = ask("site.toml", "--tank", "Shed butt", "--options", "prices.csv", "--roofs")
    assert (result.exit_code, result.stderr) == (0, "")
    assert "1,510 L is the smallest size tried that meets 95 %" in result.stdout
    assert "Quickest to pay back (water at £3.40 a cubic metre): " in result.stdout
    assert "Litres or roof? " in result.stdout


@pytest.mark.usefixtures("folder")
def test_options_reach_the_question():
    words = ["--tank", "Shed butt", "--from-l", 500, "--to-l", 900, "--steps", 5, "--target", 0.6, "--worth-l", 50]
    asked = json.loads(ask("site.toml", *words, "--json").stdout)
    assert [row["capacity_l"] for row in asked["sizes"]] == [500, 600, 700, 800, 900]
    assert (asked["tank"], asked["target"], asked["worth_l"]) == ("Shed butt", 0.6, 50)
    assert asked["enough_l"] == 700
    selling = ["--options", "prices.csv", "--none-yet", "--water-price", 5]
    asked = json.loads(ask("site.toml", "--steps", 3, *selling, "--json").stdout)
    assert (asked["against_l"], asked["water_per_m3"], asked["tank"]) == (0, 5, "Shed butt")


def test_files_are_written_and_told(folder):
    words = ["site.toml", "--steps", 5, "--out", "sizes.csv", "--plot", "sizes.svg"]
    result = ask(*words)
    assert result.exit_code == 0
    assert result.stderr.splitlines() == ["Written: sizes.csv", "Written: sizes.svg"]
    with (folder / "sizes.csv").open(encoding="utf-8", newline="") as handle:
        rows = list(csv.DictReader(handle))
    found = json.loads(ask("site.toml", "--steps", 5, "--json").stdout)["sizes"]
    assert [{name: float(cell) for name, cell in row.items()} for row in rows] == [
        {name: row[name] for name in rows[0]} for row in found
    ]
    assert list(rows[0]) == [
        "capacity_l",
        "volume_reliability",
        "day_reliability",
        "days_lasted_median",
        "days_lasted_dry",
        "needed_l_per_year",
        "spilled_l_per_year",
        "turnovers_per_year",
        "work_minutes_per_week",
    ]
    assert b"<svg" in (folder / "sizes.svg").read_bytes()
    assert ask.told_all(*words) == [
        f"{name}: is there already; choose another name or add --overwrite" for name in ("sizes.csv", "sizes.svg")
    ]
    assert ask(*words, "--overwrite").exit_code == 0


def test_without_a_site_the_example_is_taken(tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    result = ask("--steps", 3)
    assert result.exit_code == 0
    assert "built-in example" in result.stderr


@pytest.mark.parametrize(
    ("words", "lines"),
    [
        (["--from-l", 900, "--to-l", 500], ["from-l is 900 and to-l is 500; write the smaller size at from-l"]),
        (["--steps", 1], ["steps is 1; write how many sizes to try, 2 to 1,000"]),
        (["--target", 95], ["target is 95; write a share above 0, up to 1, 0.95 for 95 %"]),
        (
            ["--steps", 1, "--target", 95],
            [
                "steps is 1; write how many sizes to try, 2 to 1,000",
                "target is 95; write a share above 0, up to 1, 0.95 for 95 %",
            ],
        ),
        (["--tank", "Shet butt"], ['"Shet butt" is no tank; did you mean "Shed butt"?']),
        (
            ["--options", "none.csv"],
            ["none.csv: there is no such file; write one with the columns name,capacity_l,price"],
        ),
        (["--none-yet"], ["none-yet goes with options; name a file of what is for sale"]),
        (
            ["--out", "same.svg", "--plot", "same.svg"],
            ["same.svg: is asked for as table and as picture; give them two names"],
        ),
        (["--plot", "sizes.bmp"], ["sizes.bmp: can't draw .bmp; use .png, .svg or .pdf"]),
    ],
)
def test_wrong_input_is_told_and_nothing_is_written(folder, words, lines):
    before = sorted(folder.iterdir())
    files = [] if "--plot" in words else ["--out", "new.csv", "--plot", "new.png"]
    assert ask.told_all("site.toml", *words, *files) == lines
    assert sorted(folder.iterdir()) == before


@pytest.mark.parametrize(
    ("text", "lines"),
    [
        (
            "name,capacity_l,price\nSlim,200,£48\nRound,300,\n",
            [
                'bad.csv: row 2: price is "£48"; write the number alone, such as 85 or 84.50',
                "bad.csv: row 3: price is blank; write the number alone, such as 85 or 84.50",
            ],
        ),
        (
            "name,price\nSlim,48\n",
            ["bad.csv: row 1: the column capacity_l is missing; write the header name,capacity_l,price"],
        ),
    ],
)
def test_offers_that_cannot_be_read_are_told_by_their_row(folder, text, lines):
    (folder / "bad.csv").write_text(text, "utf-8")
    assert ask.told_all("site.toml", "--options", "bad.csv", "--out", "new.csv") == lines
    assert not (folder / "new.csv").exists()


@pytest.mark.parametrize("method", ["blocks", "chain"])
@pytest.mark.usefixtures("folder")
def test_one_summer_is_too_little_to_draw_from(method):
    (line,) = ask.told_all("site.toml", "--method", method)
    assert line.startswith("weather.csv: holds 2031-05-01 to 2031-09-30")


@pytest.mark.usefixtures("folder")
def test_years_are_drawn_not_recorded():
    (line,) = ask.told_all("site.toml", "--years", 200)
    assert line.startswith("years is 200, and the method records takes every recorded summer as it was")


def test_drawn_years_are_told():
    result = ask("--full", "--method", "chain", "--steps", 3, "--seed", 7, DATA_DEMO / "years" / "site.toml")
    assert result.exit_code == 0
    assert "100 years drawn by a chain of wet and dry days" in result.stdout
    assert "12 recorded years stand behind the drawn ones, which add no knowledge." in result.stdout
    assert "strings of 10" in result.stdout


def test_the_help_is_complete():
    text = ask("--help").stdout
    assert "Example: waterbudget size data_demo/years/site.toml" in text
    assert all(option.help for option in size.params if isinstance(option, click.Option))
