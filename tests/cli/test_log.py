"""waterbudget log end to end: lines come into the journal, are shown, are taken back, and wrong ones are refused."""

import datetime as dt
import json
import shutil

import pytest
from asking import REFUSED, Asker
from journal.invented import DEMO

from waterbudget.cli.log import log
from waterbudget.journal.book import read_journal

ask = Asker(log)


@pytest.fixture
def garden(tmp_path, monkeypatch):
    """A folder with the class-room side's site file and no journal, which is the working folder."""
    shutil.copy(DEMO / "site.toml", tmp_path)
    monkeypatch.chdir(tmp_path)
    return tmp_path


def entries(folder):
    return [line.entry[1:] for line in read_journal(folder / "journal.csv").lines]


def today():
    return dt.datetime.now().astimezone().date()


def test_everything_in_one_command(garden):
    result = ask(
        *("--tank", "class-room tank=38cm", "--gauge", "6.5", "--ran", "North line=5", "--mains", "120"),
        *("--note", "hot, dry"),
    )
    assert result.exit_code == 0
    assert not result.stderr
    assert result.stdout.startswith("Logged in journal.csv:\n")
    assert "504 L  38.0 cm" in result.stdout
    assert entries(garden) == [
        ("level", "Class-room tank", 38.0, "cm", "hot, dry"),
        ("ran", "North line", 5.0, "min", "hot, dry"),
        ("mains", "", 120.0, "L", "hot, dry"),
        ("gauge", "", 6.5, "mm", "hot, dry"),
    ]
    assert {line.entry.date for line in read_journal(garden / "journal.csv").lines} <= {
        today(),
        today() - dt.timedelta(1),
    }


def test_a_named_site_and_day(garden, tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path.parent)
    assert ask(garden / "site.toml", "--gauge", 0, "--on", "2025-06-01").exit_code == 0
    (line,) = read_journal(garden / "journal.csv").lines
    assert line.entry.date == dt.date(2025, 6, 1)
    assert ask(garden / "site.toml", "--gauge", 3, "--on", "2025-06-01").exit_code == 0
    assert ask.told(garden / "site.toml", "--gauge", 3, "--on", "2025-05-31").startswith(
        "--on: 2025-05-31 lies before the last gauge, of 2025-06-01"
    )
    assert len(entries(garden)) == 2


@pytest.mark.usefixtures("garden")
def test_showing():
    ask("--tank", "Class-room tank=420L", "--on", "2025-06-01")
    shown = ask("--tank", "Class-room tank=400L", "--on", "2025-06-02", "--show").stdout
    assert shown.index("2025-06-01") < shown.index("2025-06-02")
    summary = json.loads(ask("--show", "--json").stdout)
    assert [(line["line"], line["date"], line["level_l"]) for line in summary["lines"]] == [
        (1, "2025-06-01", 420.0),
        (2, "2025-06-02", 400.0),
    ]
    assert summary["lines"][0]["depth_cm"] == pytest.approx(31.64, abs=0.005)  # 0.42 m3 / (pi/4 x 1.3 x 1.3 m2)
    assert summary["damaged"] == []


def test_undoing_adds_a_line_and_takes_none_away(garden):
    ask("--gauge", 1)
    ask("--gauge", 2)
    before = (garden / "journal.csv").read_bytes()
    assert "undoes line 2" in " ".join(ask("--undo").stdout.split())
    assert (garden / "journal.csv").read_bytes().startswith(before)
    assert json.loads(ask("--undo", "--json").stdout)["lines"][0]["value"] == 1.0
    assert ask.told("--undo") == "journal.csv: holds no line to undo"
    assert [line.number for line in read_journal(garden / "journal.csv").counting] == []


def test_a_line_by_its_number(garden):
    for rain in (1, 2, 3):
        ask("--gauge", rain)
    ask("--undo", "--line", 2)
    assert [line.number for line in read_journal(garden / "journal.csv").counting] == [1, 3]
    assert ask.told("--undo", "--line", 2) == "--line: 2 is undone already, by line 4"


def test_a_torn_line_is_told_beside_the_answer(garden):
    ask("--gauge", 1)
    ask("--gauge", 2)
    path = garden / "journal.csv"
    path.write_bytes(path.read_bytes()[:-5])
    result = ask("--show")
    assert result.exit_code == 0
    assert result.stderr == "journal.csv: row 3 is torn or was changed and is left out; log it again if it is missing\n"
    assert "1 line, 1 of them count" in result.stdout
    assert ask("--gauge", 3).exit_code == 0
    assert [value for _, _, value, *_ in entries(garden)] == [1.0, 3.0]


def test_without_an_option_it_says_what_to_log(garden):
    result = ask()
    assert result.exit_code == 0
    assert "--tank 'Class-room tank=38cm'" in result.stdout
    assert not (garden / "journal.csv").exists()


@pytest.mark.parametrize(
    ("words", "line"),
    [
        (("--tank", "Clas-room tank=38cm"), '"Clas-room tank" is no tank; did you mean "Class-room tank"?'),
        (("--tank", "Class-room tank=38in"), "write a depth or litres"),
        (("--ran", "South line=5"), '"South line" is no zone'),
        (("--gauge", "1", "--on", "2999-01-01"), "lies in the future"),
        (("--gauge", "nan"), "--gauge: nan: write 0 to 2_000 millimetres"),
        (("--note", "hello"), "--note and --on: go with a reading"),
    ],
)
def test_wrong_words_are_refused_in_one_line_and_nothing_is_written(garden, words, line):
    assert line in ask.told(*words)
    assert [path.name for path in garden.iterdir()] == ["site.toml"]


@pytest.mark.parametrize("words", [("--gauge", "much"), ("--on", "yesterday"), ("--line", "one")])
def test_words_that_cannot_be_read_are_usage_errors(words):
    result = ask(*words)
    assert result.exit_code == REFUSED
    assert words[1] in result.stderr


def test_a_folder_without_a_site_is_refused(tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    assert ask.told("--gauge", 1).startswith("site.toml: there is none here")
    assert "there is no such file" in ask.told("garden.toml", "--gauge", 1)
    assert not list(tmp_path.iterdir())


def test_an_evening_in_one_line(garden):
    assert ask("class", "38cm", "rain", "6,5", "n", 5).exit_code == 0
    assert entries(garden) == [
        ("level", "Class-room tank", 38.0, "cm", ""),
        ("ran", "North line", 5.0, "min", ""),
        ("gauge", "", 6.5, "mm", ""),
    ]
    assert ask.told(garden / "site.toml", "--gauge", "7mm", "gauge", 3).startswith("--gauge: is said twice")
    assert len(entries(garden)) == 3


@pytest.mark.usefixtures("garden")
def test_a_name_with_a_blank_and_no_quotes_is_told_how_to_quote():
    told = ask("--ran", "Top", "hose=10")
    assert told.exit_code == REFUSED
    assert told.stderr == '--ran Top: put quotes round it, as in --ran "Top hose=10"\n'
