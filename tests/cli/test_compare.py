"""waterbudget compare from end to end."""

import json
from pathlib import Path

import pytest
from asking import Asker, at_brackenfold

from waterbudget.cli.compare import compare

run = Asker(compare).line


@pytest.fixture(autouse=True)
def _at_brackenfold(tmp_path, monkeypatch):
    at_brackenfold(tmp_path, monkeypatch)


def test_examples_of_the_help_run():
    examples = [line.split("waterbudget compare ")[1] for line in compare.help.splitlines() if "Example: " in line]
    assert len(examples) == 2
    for words in examples:
        result = run(words)
        assert result.exit_code == 0, result.stderr
        assert "Plan  rain lasts" in result.stdout
    assert Path("plans.png").is_file()
    assert Path("plans.ics").is_file()


def test_data_to_stdout_and_notes_to_stderr():
    result = run("data_demo/site.toml --with zone.north.minutes=3 --json --plot plans.svg")
    assert json.loads(result.stdout)["plans"][0]["name"] == "as it is"
    assert result.stderr == "Written: plans.svg\n"


def test_files_are_written_whole_or_refused():
    ask = "data_demo/site.toml --with tank.shed.capacity_l=900"
    result = run(f"{ask} --plot plans.svg --ics plans.ics")
    assert result.stderr.splitlines() == ["Written: plans.svg", "Written: plans.ics"]
    before = Path("plans.ics").read_bytes()
    assert before.startswith(b"BEGIN:VCALENDAR\r\n")
    result = run(f"{ask} --ics plans.ics")
    assert (result.exit_code, result.stdout) == (2, "")
    assert "is there already" in result.stderr
    assert Path("plans.ics").read_bytes() == before


@pytest.mark.parametrize(
    ("words", "told"),
    [
        ("data_demo/site.toml", "there is nothing to compare with; add --with"),
        ("data_demo/site.toml --with zone.nrth.minutes=3", '"nrth" is no zone; did you mean "North line"?'),
        ("data_demo/site.toml --with zone.north.minute=3", 'no key of zone.North line; did you mean "minutes"?'),
        ("data_demo/site.toml --with zone.north.minutes=abc", 'is "abc"; write a number'),
        ("data_demo/site.toml data_demo/none.toml", "data_demo/none.toml: there is no such file"),
        ("data_demo/site.toml --with model.kc_bare=0.2 --plot a.ics", "a.ics: can't draw .ics; use .png, .svg or .pdf"),
        ("data_demo/site.toml --with model.kc_bare=0.2 --ics a.png", "a.png: can't write a calendar as .png; use .ics"),
        ("data_demo/site.toml --with model.kc_bare=0.2 --from 2031-01-01", "choose days from 2031-05-01"),
    ],
)
def test_wrong_input_is_told_in_one_line(words, told):
    before = sorted(Path().rglob("*"))
    result = run(words)
    assert (result.exit_code, result.stdout) == (2, "")
    (line,) = result.stderr.splitlines()
    assert told in line
    assert sorted(Path().rglob("*")) == before
