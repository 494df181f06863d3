"""waterbudget improve from end to end."""

import json
from pathlib import Path

import pytest
from asking import Asker, at_brackenfold

from waterbudget.cli.improve import improve

run = Asker(improve).line


@pytest.fixture(autouse=True)
def _at_brackenfold(tmp_path, monkeypatch):
    at_brackenfold(tmp_path, monkeypatch)


def test_examples_of_the_help_run():
    examples = [line.split("waterbudget improve ")[1] for line in improve.help.splitlines() if "Example: " in line]
    assert len(examples) == 2
    for words in examples:
        result = run(words)
        assert (result.exit_code, result.stderr) == (0, "")
        verdict = result.stdout.split("\n\n")[1]
        assert verdict.startswith(("The best free change: ", "No free change saves any of "))


def test_json():
    told = json.loads(run("data_demo/allotment/site.toml --json --price mulch=0").stdout)
    assert [row["kinds"] for row in told["measures"] if row["free"] and "mulch" in row["kinds"]] == [["mulch"]]
    assert len(told["best"]) == 3


@pytest.mark.parametrize(
    ("words", "told"),
    [
        ("data_demo/none.toml", "there is no such file"),
        ("data_demo/site.toml --price mulsh=3", 'did you mean "mulch"?'),
        ("data_demo/site.toml --options data_demo/none.csv", "there is no such file"),
        ("data_demo/site.toml --water-price -1", "write what a cubic metre costs"),
    ],
)
def test_wrong_input_is_told_in_one_line(words, told):
    result = run(words)
    assert (result.exit_code, result.stdout) == (2, "")
    (line,) = result.stderr.splitlines()
    assert told in line


def test_a_picture_is_written_and_never_over_another():
    words = "data_demo/allotment/site.toml --plot improve.svg"
    assert run(words).exit_code == 0
    before = Path("improve.svg").read_bytes()
    assert b"<svg" in before
    assert "improve.svg" in Asker(improve).told(*words.split())
    assert Path("improve.svg").read_bytes() == before
