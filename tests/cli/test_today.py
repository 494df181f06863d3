"""waterbudget today from end to end."""

import json
import shlex
import shutil
from pathlib import Path

import pytest
from click.testing import CliRunner

from waterbudget.cli.main import Commands
from waterbudget.cli.today import today

DEMO = Path(__file__).parent.parent.parent / "data_demo"
PROGRAM = Commands(commands={"today": today})


@pytest.fixture(autouse=True)
def _at_brackenfold(tmp_path, monkeypatch):
    shutil.copytree(DEMO, tmp_path / "data_demo", ignore=shutil.ignore_patterns("years"))
    monkeypatch.chdir(tmp_path)


def run(words):
    return CliRunner().invoke(PROGRAM, ["today", *shlex.split(words)])


def test_examples_of_the_help_run():
    examples = [line.split("waterbudget today ")[1] for line in today.help.splitlines() if "Example: " in line]
    assert len(examples) == 2
    for words in examples:
        result = run(words)
        assert result.exit_code == 0, result.stderr
        assert result.stdout.split("\n\n")[1].startswith(("Open ", "Nothing is to be watered today."))
    assert Path("week.ics").read_bytes().startswith(b"BEGIN:VCALENDAR\r\n")


def test_a_forecast_file_and_json():
    rows = Path("data_demo/weather.csv").read_text("utf-8").splitlines()
    later = [row for row in rows[1:] if "2031-07-02" <= row[:10] <= "2031-07-08"]
    Path("forecast.csv").write_text("\n".join([rows[0], *later]), "utf-8")
    told = json.loads(run("data_demo/site.toml --on 2031-07-02 --forecast forecast.csv --json").stdout)
    assert (told["forecast_days"], told["forecast"]) == (7, "forecast.csv")


def test_without_a_day_the_weather_file_tells_which():
    result = run("data_demo/allotment/site.toml")
    assert result.exit_code == 0
    assert "told for the day after" in result.stderr


@pytest.mark.parametrize(
    ("words", "told"),
    [
        ("data_demo/none.toml", "there is no such file"),
        ("data_demo/site.toml --on 2031-01-01", "choose a day from 2031-05-02 to 2031-10-01"),
        ("data_demo/site.toml --on 2031-07-02 --forecast none.csv", "there is no such file"),
        (
            "data_demo/site.toml --on 2031-09-20 --forecast data_demo/allotment/weather.csv",
            "write the days from 2031-09-20",
        ),
        ("data_demo/site.toml --on 2031-07-02 --ics week.png", "is no calendar's name"),
    ],
)
def test_wrong_input_is_told_in_one_line(words, told):
    before = sorted(Path().rglob("*"))
    result = run(words)
    assert (result.exit_code, result.stdout) == (2, "")
    (line,) = result.stderr.splitlines()
    assert told in line
    assert sorted(Path().rglob("*")) == before
