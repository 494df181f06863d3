"""The command end to end: two open records, files, and every refusal in a line of its own."""

import json

import click
import numpy as np
import pandas as pd
import pytest
from asking import REFUSED, Asker
from odds.records import FIRST_YEAR, steady, written
from open_records import fulda, seattle

from waterbudget.cli.odds import odds
from waterbudget.odds.summers import METHODS

ask = Asker(odds)


@pytest.fixture(scope="module")
def ten(tmp_path_factory):
    return written(tmp_path_factory.mktemp("fulda"), fulda())


@pytest.fixture(scope="module")
def four(tmp_path_factory):
    return written(tmp_path_factory.mktemp("seattle"), seattle())


def test_ten_summers_of_fulda(ten):
    result = ask(ten)
    assert result.exit_code == 0
    assert not result.stderr
    assert "10 recorded summers, 1979 to 1988" in result.stdout
    assert "The stored rain ran short in all 10 summers" in " ".join(result.stdout.split())


def test_four_summers_of_seattle_are_counted(four):
    result = ask(four)
    assert result.exit_code == 0
    assert "The stored rain ran short in all 4 summers" in result.stdout
    assert "2 of 4" in result.stdout
    assert "%" not in result.stdout.partition("It lasts")[2], "few summers are counted, not turned into chances"
    assert [told["years"] for told in json.loads(ask(four, "--json").stdout)["lasts"]][-1] == 0


@pytest.mark.parametrize("method", ["blocks", "chain"])
def test_drawn_summers(ten, method):
    first, again, other = (
        json.loads(ask(ten, "--method", method, "--years", 120, "--seed", seed, "--json").stdout) for seed in (7, 7, 8)
    )
    assert first == again
    assert first["half"]["needed_l"] != other["half"]["needed_l"]
    assert first["recorded"] == other["recorded"]
    assert (first["years"], first["years_behind"]) == (120, 10)


def test_warmer_and_drier_summers_take_more(ten):
    before, after = (json.loads(ask(ten, "--json", *words).stdout) for words in ((), ("--warmer", 2, "--rain", "0.85")))
    assert (after["warmer_c"], after["rain_factor"]) == (2.0, 0.85)
    assert after["half"]["needed_l"] > before["half"]["needed_l"]
    assert after["half"]["days_lasted"] < before["half"]["days_lasted"]


def test_another_season_and_start(ten):
    summary = json.loads(ask(ten, "--from", "06-01", "--to", "08-31", "--start-l", "Shed butt=350", "--json").stdout)
    assert (summary["season"], summary["days"]) == ({"from": "06-01", "to": "08-31"}, 92)
    assert summary["tanks"][1] == {"name": "Shed butt", "start_l": 350.0}


def test_a_table_and_a_picture_are_written(ten, tmp_path):
    out, plot = tmp_path / "new" / "years.csv", tmp_path / "fan.png"
    result = ask(ten, "--out", out, "--plot", plot)
    assert result.stderr.splitlines() == [f"Written: {out}", f"Written: {plot}"]
    table = pd.read_csv(out)
    assert list(table["year"]) == list(range(1979, 1989))
    assert list(table.columns) == [
        "year", "days_lasted", "first_short", "first_mains", "asked_l", "rain_l", "volume_reliability",
        "mains_l", "unmet_l", "needed_l",
        "work_minutes_per_week", "rain_mm", "et0_mm",
    ]  # fmt: skip
    summary = json.loads(ask(ten, "--json").stdout)
    assert summary["worst"]["needed_l"] == pytest.approx(table["needed_l"].max())
    assert summary["half"]["days_lasted"] == np.sort(table["days_lasted"])[4]
    assert plot.read_bytes().startswith(b"\x89PNG")
    assert not list(tmp_path.rglob(".*"))


def test_nothing_is_overwritten_unless_told(ten, tmp_path):
    out = tmp_path / "years.csv"
    out.write_text("mine")
    assert ask.told(ten, "--out", out) == f"{out}: is there already; choose another name or add --overwrite"
    assert out.read_text() == "mine"
    assert ask(ten, "--out", out, "--overwrite").exit_code == 0
    assert out.read_text().startswith("year,")


def test_a_picture_of_another_kind_leaves_no_file(ten, tmp_path):
    picture = tmp_path / "fan.gif"
    line = ask.told(ten, "--plot", picture, "--out", tmp_path / "years.csv")
    assert line == f"{picture}: can't draw .gif; use .png, .svg or .pdf"
    assert not list(tmp_path.iterdir())


def test_table_and_picture_need_two_names(ten, tmp_path):
    line = ask.told(ten, "--plot", tmp_path / "a.png", "--out", tmp_path / "a.png")
    assert line.endswith("is asked for as table and as picture; give them two names")


@pytest.mark.parametrize(
    ("words", "line"),
    [
        (("--years", 0, "--method", "blocks"), "years is 0; write 100 to 2000"),
        (("--years", 10**12, "--method", "chain"), "years is 1000000000000; write 100 to 2000"),
        (("--years", 500), "years is 500, and the method records takes every recorded summer as it was"),
        (("--seed", 3), "seed is 3, and the method records takes every recorded summer as it was"),
        (("--seed", -3, "--method", "chain"), "seed is -3; write a whole number"),
        (("--rain", -1), "rain is -1; write a factor from 0 to 5"),
        (("--rain", "nan"), "rain is nan; write a factor"),
        (("--rain", "inf"), "rain is inf; write a factor"),
        (("--warmer", "nan"), "warmer is nan; write degrees Celsius from -10 to 10"),
        (("--warmer", 11), "warmer is 11; write degrees Celsius from -10 to 10"),
        (("--from", "31-05"), "season: '31-05' is no day of every year; write MM-DD, such as 05-01"),
        (("--to", "02-29"), "season: '02-29' is no day of every year"),
        (("--start-l", "Vat=3"), '"Vat" is no tank'),
        (("--start-l", "Shed butt=3000"), 'start level of "Shed butt" is 3000 L; write 0 to 350'),
    ],
)
def test_wrong_words_are_refused_in_one_line(ten, words, line):
    assert line in ask.told(ten, *words)


@pytest.mark.parametrize("words", [("--years", "many"), ("--rain", "0,85"), ("--method", "dice"), ("--start-l", "3")])
def test_words_that_cannot_be_read_are_usage_errors(ten, words):
    result = ask(ten, *words)
    assert result.exit_code == REFUSED
    assert words[1] in result.stderr


def test_one_summer_is_no_odds():
    result = ask()  # the built-in example
    assert result.exit_code == REFUSED
    assert "holds 2031-05-01 to 2031-09-30, of which only 2031 is complete from 05-01 to 09-30" in result.stderr


def test_a_record_without_the_season_is_refused(tmp_path):
    path = written(tmp_path, fulda().loc["1979-06-01":"1979-12-31"])
    assert "holds 1979-06-01 to 1979-12-31, of which no year is complete" in ask.told(path)


@pytest.mark.parametrize("method", ["blocks", "chain"])
def test_four_years_are_too_few_to_draw_from(four, method):
    assert "has 4 whole years, too few to draw others from" in ask.told(four, "--method", method)


def test_a_given_et0_cannot_be_made_warmer(tmp_path):
    path = written(tmp_path, fulda().assign(et0_mm=3.0))
    assert "its ET0 is given as et0_mm and cannot be made warmer" in ask.told(path, "--warmer", 1)
    assert ask(path, "--rain", 0.9).exit_code == 0


def test_hot_days_without_a_maximum_are_refused(tmp_path):
    path = written(tmp_path, steady().daily)
    assert ask.told(path) == "zone[1].hot_above_c needs a tmax_c column; add one to the weather"
    assert str(FIRST_YEAR) not in ask.told(path)


def test_the_choice_of_methods_is_that_of_the_library():
    (choice,) = (option.type for option in odds.params if option.name == "method")
    assert isinstance(choice, click.Choice)
    assert tuple(choice.choices) == METHODS
