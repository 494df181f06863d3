"""The answer of log: what was written, what stands in the journal, and what can be logged."""

import datetime as dt

import pytest
from journal.invented import DEMO, journal

from waterbudget.answers.log import answer
from waterbudget.errors import InputError
from waterbudget.example import site_path
from waterbudget.journal.entries import LogRequest
from waterbudget.journal.log import LogOptions, find_log
from waterbudget.render.text import WIDEST, text

NOTHING = LogRequest()


@pytest.fixture
def garden(tmp_path):
    """The class-room side and its journal of four lines, in a folder of its own."""
    (tmp_path / "site.toml").write_bytes((DEMO / "site.toml").read_bytes())
    lines = [
        (dt.date(2031, 6, 5), "level", "Class-room tank", 38, "cm", "by Ash"),
        (dt.date(2031, 6, 7), "level", "Class-room tank", 750, "L"),
        (dt.date(2031, 6, 1), "gauge", "", 6.5, "mm"),
        (dt.date(2031, 6, 8), "undo", "", 2, "line"),
    ]
    (tmp_path / "journal.csv").write_text(journal(lines), "utf-8")
    return tmp_path


def asked(folder, **options):
    return text(answer(find_log(folder / "site.toml", NOTHING, LogOptions(**options))))


def screen_of(folder):
    return asked(folder, show=True).splitlines()


def parted(lines):
    """The title, which goes on in the next line where the path is long, and the lines of the table."""
    end = lines.index("")
    return " ".join(lines[:end]), lines[end + 1 :]


def test_the_journal_is_shown_newest_last_with_depths_and_litres(garden):
    """38 cm of a cylinder of 1.3 m is pi/4 x 1.3 x 1.3 x 380 = 504.4 L, and 750 L of it are 56.5 cm deep."""
    head, (columns, *rows) = parted(screen_of(garden))
    assert head.endswith("journal.csv: 4 lines, 2 of them count")
    assert columns.split() == ["Line", "day", "what", "of", "amount", "depth", "remark"]
    assert [" ".join(row.split()) for row in rows] == [
        "3 2031-06-01 rain in the gauge 6.5 mm",
        "1 2031-06-05 level Class-room tank 504 L 38.0 cm by Ash",
        "2 2031-06-07 level Class-room tank 750 L 56.5 cm undone by line 4",
        "4 2031-06-08 undoes line 2",
    ]


def test_a_level_of_a_tank_that_is_gone_is_shown_without_litres(garden):
    path = garden / "site.toml"
    path.write_text(path.read_text("utf-8").replace("Class-room tank", "Cistern"), "utf-8")
    assert [" ".join(row.split()) for row in parted(screen_of(garden))[1][2:4]] == [
        "1 2031-06-05 level Class-room tank – by Ash",
        "2 2031-06-07 level Class-room tank – undone by line 4",
    ]


def test_long_remarks_go_on_in_the_next_line(garden):
    long = (dt.date(2031, 6, 9), "gauge", "", 1, "mm", "hot " * 50)
    (garden / "journal.csv").write_text(journal([long]))
    shown = asked(garden, show=True)
    assert max(map(len, shown.splitlines()[1:])) <= WIDEST
    assert shown.count("hot") == 50


def test_an_empty_journal_says_how_to_begin(garden):
    (garden / "journal.csv").unlink()
    shown = " ".join(screen_of(garden))
    assert shown == f"{garden / 'journal.csv'} holds no line yet. What to log: waterbudget log"


def test_what_is_written_is_shown_with_what_it_takes_back(garden):
    _, _, _, *rows = asked(garden, undo=True).splitlines()
    undo, undone = (" ".join(row.split()) for row in rows)
    assert undo.startswith("5 ")
    assert undo.endswith("undoes line 3")
    assert undone == "3 2031-06-01 rain in the gauge 6.5 mm undone by line 5"


@pytest.mark.parametrize(
    ("request_", "options", "line"),
    [
        (LogRequest(gauge_mm=1.0), LogOptions(undo=True), "--undo: stands alone"),
        (LogRequest(), LogOptions(show=True, number=3), "--line: goes with --undo"),
        (LogRequest(note="a"), LogOptions(), "--note and --on: go with a reading"),
        (LogRequest(day=dt.date(2031, 6, 1)), LogOptions(show=True), "--note and --on: go with a reading"),
    ],
)
def test_what_does_not_go_together_is_refused(garden, request_, options, line):
    with pytest.raises(InputError, match=line):
        find_log(garden / "site.toml", request_, options)


def test_without_anything_it_says_what_to_log_in_the_garden_s_own_words(garden):
    told = answer(find_log(garden / "site.toml", NOTHING, LogOptions()))
    shown = text(told)
    assert "--tank 'Class-room tank=38cm'" in shown
    assert "--ran 'North line=10'" in shown
    assert told.notes == ()
    shown = text(answer(find_log(site_path(), NOTHING, LogOptions())))  # its tanks have no shape
    assert "--tank 'Class-room tank=750L'" in shown
    assert all(len(line) <= WIDEST or line.startswith("  waterbudget") for line in shown.splitlines())


def test_without_a_site_it_speaks_of_the_example(tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    told = answer(find_log(None, NOTHING, LogOptions()))
    assert "waterbudget log --gauge 6.5" in text(told)
    assert "built-in example" in told.notes[0]
    with pytest.raises(InputError, match=r"site\.toml: there is none here; name your site file, or start one"):
        find_log(None, NOTHING, LogOptions(show=True))
    assert not list(tmp_path.iterdir())
