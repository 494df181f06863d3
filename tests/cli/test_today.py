"""waterbudget today from end to end."""

import datetime as dt
import json
from pathlib import Path

import pytest
from asking import Asker, at_brackenfold
from journal.invented import row

from waterbudget.cli.today import today

run = Asker(today).line


@pytest.fixture(autouse=True)
def _at_brackenfold(tmp_path, monkeypatch):
    at_brackenfold(tmp_path, monkeypatch)


def test_examples_of_the_help_run():
    examples = [line.split("waterbudget today ")[1] for line in today.help.splitlines() if "Example: " in line]
    assert len(examples) == 2
    for words in examples:
        result = run(words)
        assert result.exit_code == 0, result.stderr
        assert result.stdout.split("\n\n")[1].startswith(("Open ", "Nothing to water today."))
    assert Path("week.ics").read_bytes().startswith(b"BEGIN:VCALENDAR\r\n")


def test_a_forecast_file_and_json():
    rows = Path("data_demo/weather.csv").read_text("utf-8").splitlines()
    later = [row for row in rows[1:] if "2031-07-02" <= row[:10] <= "2031-07-08"]
    Path("forecast.csv").write_text("\n".join([rows[0], *later]), "utf-8")
    told = json.loads(run("data_demo/site.toml --on 2031-07-02 --forecast forecast.csv --json").stdout)
    assert told["forecast"] == {"from": "2031-07-02", "to": "2031-07-08"}
    assert told["forecast_source"] == "forecast.csv"


def test_what_was_logged_counts():
    """A centimetre of the class-room tank is 13.3 L, and its line gives 3.2 L/min by the site file."""
    ask, day = "data_demo/journal/site.toml --on 2031-07-02", dt.date(2031, 7, 2)
    before = json.loads(run(f"{ask} --json").stdout)
    with Path("data_demo/journal/journal.csv").open("a", encoding="utf-8") as file:
        file.write(row(901, day, "ran", "North line", 10, "min") + row(902, day, "ran", "East line", 10, "min"))
    after = json.loads(run(f"{ask} --json").stdout)
    (store,), (zone,) = after["stores"], after["zones"]
    assert store["level_l"] == pytest.approx(before["stores"][0]["level_l"] - 32)
    assert (before["zones"][0]["minutes"], zone["minutes_run"], zone["minutes"]) == (pytest.approx(10), 10.0, 0.0)
    told = run(ask)
    assert told.stdout.split("\n\n")[1].startswith("Nothing more to water today.")
    assert "East line: 1 logged run is left out, as the site has no such zone." in told.stderr.splitlines()


def test_where_all_weather_is_of_days_to_come_it_is_an_example(monkeypatch):
    monkeypatch.setattr("waterbudget.change.today.real_today", lambda: dt.date(2026, 11, 28))
    result = run("data_demo/allotment/site.toml")
    assert result.exit_code == 0
    assert "so it is invented: this is the day after it. Another day: --on DATE." in result.stderr
    assert "1 October 2033" in result.stdout.splitlines()[0]


@pytest.mark.parametrize(
    ("words", "told"),
    [
        ("data_demo/none.toml", "there is no such file"),
        (
            "data_demo/site.toml --on 2031-01-01",
            "neither weather nor a level is known up to 2031-01-01; dip a store first",
        ),
        ("data_demo/site.toml --on 2031-07-02 --forecast none.csv", "there is no such file"),
        (
            "data_demo/site.toml --on 2031-09-20 --forecast data_demo/allotment/weather.csv",
            "write a row a day from 2031-09-20 on",
        ),
        ("data_demo/site.toml --on 2031-07-02 --ics week.png", "week.png: can't write a calendar as .png; use .ics"),
    ],
)
def test_wrong_input_is_told_in_one_line(words, told):
    before = sorted(Path().rglob("*"))
    result = run(words)
    assert (result.exit_code, result.stdout) == (2, "")
    (line,) = result.stderr.splitlines()
    assert told in line
    assert sorted(Path().rglob("*")) == before


def test_a_picture_is_written_and_never_over_another():
    words = "data_demo/site.toml --on 2031-07-05 --plot today.png"
    assert run(words).exit_code == 0
    before = Path("today.png").read_bytes()
    assert before.startswith(b"\x89PNG")
    assert "today.png" in Asker(today).told(*words.split())
    assert "use .png, .svg or .pdf" in Asker(today).told(*words.replace(".png", ".gif").split())
    assert Path("today.png").read_bytes() == before
