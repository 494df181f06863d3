"""The journal keeps what it acknowledged, whatever happens to its writers and to its last line."""

import csv
import datetime as dt
import io
import json
import os
import stat
import subprocess
import sys
from pathlib import Path

import pandas as pd
import pytest
from journal.invented import HEADER, journal, row

from waterbudget import output
from waterbudget.errors import InputError, OutputError
from waterbudget.journal.book import COLUMNS, Entry, append, journal_path, read_journal

DAY = dt.date(2031, 6, 1)
HOUR, SECOND = dt.timedelta(hours=1), dt.timedelta(seconds=1)
DIP = Entry(DAY, "level", "Shed butt", 38.5, "cm", 'by Ash, "in the rain"; Küche')
RAIN = Entry(DAY, "gauge", "", 6.5, "mm")
KILLED = Path(__file__).with_name("killed.py")
FORKS = pytest.mark.skipif(not hasattr(os, "fork"), reason="this system does not fork")
KILLS = 200
ZONE = dt.timezone(dt.timedelta(hours=1))


def add(path, *entries):
    return append(path, lambda _: entries)


def entries_in(path):
    return [line.entry for line in read_journal(path).lines]


def test_what_is_written_is_read(tmp_path):
    path = journal_path(tmp_path / "site.toml")
    assert path == tmp_path / "journal.csv"
    assert read_journal(path).lines == ()
    before = dt.datetime.now(tz=dt.UTC).replace(microsecond=0)
    added = add(path, DIP, RAIN) + add(path, RAIN)
    assert [line.number for line in added] == [1, 2, 3]
    assert read_journal(path).lines == added
    assert [line.entry for line in added] == [DIP, RAIN, RAIN]
    for line in added:
        assert line.written_at.utcoffset() is not None
        assert before <= line.written_at <= dt.datetime.now(tz=dt.UTC)


def test_the_file_is_the_format_that_others_read(tmp_path):
    path = tmp_path / "journal.csv"
    add(path, DIP, RAIN)
    header, *rows = path.read_text("utf-8").splitlines()
    assert header == HEADER == ",".join(COLUMNS)
    assert rows[0].endswith(',2031-06-01,level,Shed butt,38.5,cm,"by Ash, ""in the rain""; Küche",,L000001')
    path.write_text(journal([DIP[:5], RAIN[:5]]), "utf-8")
    assert entries_in(path) == [DIP._replace(note=""), RAIN]


def test_a_file_that_a_spreadsheet_saved_is_read(tmp_path):
    path = tmp_path / "journal.csv"
    path.write_bytes(b"\xef\xbb\xbf" + journal([DIP[:5], RAIN[:5]]).replace("\n", "\r\n").encode())
    assert (len(read_journal(path).lines), read_journal(path).damaged) == (2, ())
    assert add(path, RAIN)[0].number == 3
    assert (len(read_journal(path).lines), read_journal(path).damaged) == (3, ())


# ---- Torn lines ----


def test_a_last_line_cut_anywhere_costs_no_other_line(tmp_path):
    path = tmp_path / "journal.csv"
    add(path, RAIN, DIP)
    whole = path.read_bytes()
    last = whole.rindex(b"\n", 0, -1) + 1
    for cut in range(last, len(whole)):
        path.write_bytes(whole[:cut])
        read = read_journal(path)
        is_whole = cut == len(whole) - 1  # only the line's end is missing
        assert [line.entry for line in read.lines] == [RAIN, DIP][: 2 if is_whole else 1]
        assert len(read.damaged) == (last < cut < len(whole) - 1)
        (line,) = add(path, DIP)
        assert line.number == (3 if is_whole else 2)
        read = read_journal(path)
        assert [one.entry for one in read.lines] == ([RAIN, DIP, DIP] if is_whole else [RAIN, DIP])
        assert path.read_bytes().endswith(b"\n")
        assert path.read_bytes().startswith(whole[:cut])  # nothing is ever taken away


def test_a_torn_line_is_told_by_its_row(tmp_path):
    path = tmp_path / "journal.csv"
    path.write_text(journal([RAIN[:5], RAIN[:5]])[:-4], "utf-8")
    assert read_journal(path).damaged == (
        f"{path}: row 3 is torn or was changed and is left out; log it again if it is missing",
    )


@pytest.mark.parametrize("cut", range(len(HEADER) + 1))
def test_a_header_cut_anywhere_is_gone_on_from(tmp_path, cut):
    path = tmp_path / "journal.csv"
    path.write_text(HEADER[:cut])
    add(path, RAIN)
    assert entries_in(path) == [RAIN]


@pytest.mark.parametrize(
    "line",
    [
        b"\0" * 60,  # a file made longer but never filled, as after a power cut
        b"\xff\xfe",
        b"2031-06-01T19:30:00+01:00,2031-06-01,gauge,,6.5,mm,L000009",  # a cell too few
        b"2031-06-01T19:30:00+01:00,2031-06-01,gauge,,6.5,mm,,,,L000009",  # and one too many
        b"0001-01-01T00:00:00,2031-06-01,gauge,,6.5,mm,,,L000009",  # before all time
        b"2031-06-01T19:30:00+01:00,2031-06-01,gauge,,6.5,mm,,9",
        b"2031-06-01T19:30:00+01:00,2031-06-31,gauge,,6.5,mm,,L000009",
        b"2031-06-01T19:30:00+01:00,2031-06-01,gauge,,nan,mm,,L000009",
        b"2031-06-01T19:30:00+01:00,2031-06-01,gauge,,inf,mm,,L000009",
        b"2031-06-01T19:30:00+01:00,2031-06-01,gauge,,-1,mm,,L000009",
        b"2031-06-01T19:30:00+01:00,2031-06-01,gauge,,6.5,in,,L000009",
        b"2031-06-01T19:30:00+01:00,2031-06-01,frost,,6.5,mm,,L000009",
        b'2031-06-01T19:30:00+01:00,2031-06-01,gauge,,6.5,mm,"a,L000009',
        row(1, DAY, "gauge", "", 6.5, "mm").encode().rstrip(),  # the number of an earlier one
    ],
)
def test_a_damaged_line_is_left_out_and_told(tmp_path, line):
    path = tmp_path / "journal.csv"
    path.write_bytes(journal([DIP[:5]]).encode() + line + b"\n" + row(2, *RAIN[:5]).encode())
    read = read_journal(path)
    assert [one.number for one in read.lines] == [1, 2]
    (told,) = read.damaged
    assert "row 3" in told


# ---- Kills and races ----


def told_by(*words):
    """What the writers were told, by file."""
    words = [sys.executable, str(KILLED), *map(str, words)]
    done = subprocess.run(words, capture_output=True, check=True, text=True)
    assert not done.stderr
    return json.loads(done.stdout)


@FORKS
def test_no_kill_loses_tears_or_doubles_a_line(tmp_path):
    files = told_by("kill", tmp_path, KILLS)
    assert sum(map(len, files.values())) > KILLS  # the writers did live long enough to write
    for path, acknowledged in files.items():
        read = read_journal(Path(path))
        assert read.damaged == ()
        assert [line.number for line in read.lines] == list(range(1, len(read.lines) + 1))
        values = {}
        for line in read.lines:
            values.setdefault(int(line.entry.value), []).append(line.number)
        assert all(len(numbers) == 3 for numbers in values.values())  # written together or not at all
        assert [values[value] for value, _ in acknowledged] == [numbers for _, numbers in acknowledged]
        assert len(values) - len(acknowledged) <= 25  # each kill may leave one that was not told any more


def test_what_is_written_together_lies_on_one_page(tmp_path):
    path = tmp_path / "journal.csv"
    for times in range(60):
        add(path, *[DIP._replace(note="x" * times)] * (1 + times % 4))
    content = path.read_bytes()
    assert len(content) > 3 * 4096
    rows = content.splitlines(keepends=True)
    ends = [sum(map(len, rows[: number + 1])) for number in range(len(rows))]
    for one, end in zip(rows, ends, strict=True):
        assert (end - len(one)) // 4096 == (end - 1) // 4096
    read = read_journal(path)
    assert read.damaged == ()
    assert [line.number for line in read.lines] == list(range(1, sum(1 + times % 4 for times in range(60)) + 1))
    assert len(pd.read_csv(path)) == len(read.lines)  # the blanks between pages are no rows


def test_many_lines_at_once_may_be_longer_than_a_page(tmp_path):
    path = tmp_path / "journal.csv"
    add(path, *[DIP._replace(note="x" * 200)] * 40)
    assert path.stat().st_size > 4096
    assert len(read_journal(path).lines) == 40


@FORKS
def test_writers_side_by_side_take_turns(tmp_path):
    ((path, acknowledged),) = told_by("race", tmp_path, 2, 40).items()
    read = read_journal(Path(path))
    assert read.damaged == ()
    assert [line.number for line in read.lines] == list(range(1, 2 * 40 * 3 + 1))
    by_number = {line.number: line.entry.value for line in read.lines}
    assert len(acknowledged) == 2 * 40
    for value, numbers in acknowledged:
        assert [by_number[number] for number in numbers] == [value] * 3


def test_a_writer_that_waits_in_vain_says_so(tmp_path, monkeypatch):
    path = tmp_path / "journal.csv"
    monkeypatch.setattr(output, "WAIT_S", 0.05)

    def meanwhile(_):
        with pytest.raises(OutputError, match="somebody else is writing to it"):
            add(path, RAIN)
        return [DIP]

    append(path, meanwhile)
    assert entries_in(path) == [DIP]


def test_a_full_disk_leaves_the_journal_as_it_was(tmp_path, monkeypatch):
    path = tmp_path / "journal.csv"
    add(path, DIP)
    before, write = path.read_bytes(), os.write
    with monkeypatch.context() as patched:
        patched.setattr(os, "write", lambda handle, data: write(handle, data[: len(data) // 2]))
        with pytest.raises(OutputError, match=r"journal\.csv: cannot be written: No space left"):
            add(path, RAIN)
    assert path.read_bytes() == before


def test_lines_and_their_folder_are_on_the_disk_before_they_are_acknowledged(tmp_path, monkeypatch):
    synced, fsync = [], os.fsync

    def watched(handle):
        synced.append(stat.S_ISDIR(os.fstat(handle).st_mode))
        fsync(handle)

    monkeypatch.setattr(os, "fsync", watched)
    add(tmp_path / "journal.csv", RAIN, DIP)
    assert synced == [False, *([True] if os.name != "nt" else [])]


def test_a_journal_that_is_read_only_stays(tmp_path):
    path = tmp_path / "journal.csv"
    add(path, DIP)
    before = path.read_bytes()
    path.chmod(0o444)
    with pytest.raises(OutputError, match=r"journal\.csv: is read-only; choose another name, or let it be written to"):
        add(path, RAIN)
    assert path.read_bytes() == before


def test_refused_entries_leave_no_file(tmp_path):
    def refuse(_):
        raise InputError("no")

    with pytest.raises(InputError):
        append(tmp_path / "journal.csv", refuse)
    assert not (tmp_path / "journal.csv").exists()


@pytest.mark.parametrize("content", ["date,rain_mm\n2031-06-01,3\n", "hello"])
def test_another_file_of_this_name_is_not_written_to(tmp_path, content):
    path = tmp_path / "journal.csv"
    path.write_text(content)
    for use in (read_journal, lambda path: add(path, RAIN)):
        with pytest.raises(InputError, match=r"journal\.csv: is no journal, as it begins with"):
            use(path)
    assert path.read_text() == content


def test_a_folder_of_this_name_is_no_journal(tmp_path):
    (tmp_path / "journal.csv").mkdir()
    with pytest.raises(InputError, match=r"journal\.csv: is a folder; name the journal in it"):
        read_journal(tmp_path / "journal.csv")


# ---- What counts ----


def test_undone_lines_and_those_that_undo_do_not_count(tmp_path):
    path = tmp_path / "journal.csv"
    add(path, RAIN, DIP, Entry(DAY, "undo", "", 1, "line"))
    read = read_journal(path)
    assert [line.number for line in read.counting] == [2]
    assert read.undone_by == {1: 3}


# ---- Saved anew by a spreadsheet ----

LOGGED = [
    Entry(dt.date(2026, 11, 27), "level", "Shed butt, north", 82.5, "cm", "after rain"),
    Entry(dt.date(2026, 12, 1), "gauge", "", 6.5, "mm", "n\u00e4chtlich"),
    Entry(dt.date(2026, 12, 3), "ran", "North line", 1200.0, "min"),
]


def resaved(separator=";", decimal=",", date="%d/%m/%Y", quote='"', moment=None):
    """A journal as a spreadsheet writes it; moment: strftime of written_at, which most leave as it is."""
    written = [dt.datetime(2026, *entry.date.timetuple()[1:3], 19, 30, tzinfo=ZONE) for entry in LOGGED]
    rows = [HEADER.split(",")] + [
        [
            at.isoformat() if moment is None else at.strftime(moment),
            entry.date.strftime(date),
            entry.kind,
            entry.name,
            f"{entry.value:.15g}".replace(".", decimal),
            entry.unit,
            entry.note,
            "",
            f"L{number:06d}",
        ]
        for number, (at, entry) in enumerate(zip(written, LOGGED, strict=True), 1)
    ]
    text = io.StringIO()
    csv.writer(text, delimiter=separator, quotechar=quote).writerows(rows)
    return text.getvalue()


@pytest.mark.parametrize(
    ("saved", "encoding"),
    [
        (resaved(), "cp1252"),
        (resaved("\t", ".", "%m/%d/%Y"), "utf-8"),
        (resaved(",", ",", "%d.%m.%Y"), "utf-8-sig"),
        (resaved(",", ".", "%d-%b-%y"), "utf-8"),
        (resaved(moment="%d/%m/%Y %H:%M"), "utf-8"),
        (resaved(date="%d/%m/%y", moment="%d/%m/%y %I:%M %p") + ";;;;;;;\r\n", "utf-8"),
    ],
)
def test_what_a_spreadsheet_saved_is_read_and_gone_on_from(tmp_path, saved, encoding):
    path = tmp_path / "journal.csv"
    path.write_bytes(saved.encode(encoding))
    read = read_journal(path)
    assert ([line.entry for line in read.lines], read.damaged) == (LOGGED, ())
    assert {(line.written_at.hour, line.written_at.minute) for line in read.lines} == {(19, 30)}
    assert all(line.written_at.tzinfo for line in read.lines)
    (line,) = add(path, RAIN)
    assert line.number == 4
    assert entries_in(path) == [*LOGGED, RAIN]


def test_the_day_of_writing_tells_day_and_month(tmp_path):
    path = tmp_path / "journal.csv"
    path.write_text(f"{HEADER}\n2026-04-05T19:30:00+01:00,05/04/2026,gauge,,6.5,mm,,L000001\n", "utf-8")
    assert entries_in(path) == [Entry(dt.date(2026, 4, 5), "gauge", "", 6.5, "mm")]


@pytest.mark.parametrize(
    ("content", "said"),
    [
        (
            f"{HEADER}\n05/04/2026 19:30,05/04/2026,gauge,,6.5,mm,,L000001\n",
            'row 2: date is "05/04/2026", which may be 2026-04-05 or 2026-05-04, and no other date tells; write YYYY',
        ),
        (
            f"{HEADER}\n2026-04-05,6.5,1\n2026-04-06,0,2\n",
            "none of its 2 lines can be read; it was changed by another program, so put a copy in its place, or rename",
        ),
        (resaved().encode("utf-16"), "was saved in UTF-16; save it as CSV in UTF-8"),
        (resaved().replace("kind;", ""), 'is no journal, as it begins with "written_at;date;name;value;unit;note;ke'),
    ],
)
def test_what_cannot_be_told_is_refused_as_a_whole(tmp_path, content, said):
    path = tmp_path / "journal.csv"
    path.write_bytes(content if isinstance(content, bytes) else content.encode())
    before = path.read_bytes()
    for use in (read_journal, lambda path: add(path, RAIN)):
        with pytest.raises(InputError) as error:
            use(path)
        assert str(error.value).startswith(f"{path}: {said}")
    assert path.read_bytes() == before


def test_a_guarded_name_or_note_is_read_without_its_guard(tmp_path):
    path = tmp_path / "journal.csv"
    path.write_text(f"{HEADER}\n2031-06-01T19:30:00+01:00,2031-06-01,ran,'=Line,5,min,'-wet,L000001\n", "utf-8")
    assert entries_in(path)[0][2:] == ("=Line", 5.0, "min", "-wet")


def test_neither_a_pipe_nor_a_device_is_waited_for(tmp_path):
    (tmp_path / "journal.csv").symlink_to("/dev/zero")
    with pytest.raises(InputError, match="is a pipe or a device"):
        read_journal(tmp_path / "journal.csv")


def test_lines_of_a_day_count_in_the_order_in_which_they_were_said(tmp_path):
    """What waited on a phone in a far bed arrives last, and does not beat what was seen after it."""
    path = tmp_path / "journal.csv"
    (evening,) = add(path, DIP)
    (morning,) = append(path, lambda _: [DIP._replace(value=30.0)], ago_s=11 * 3600.0)
    assert (morning.number, evening.written_at - morning.written_at) == (2, pytest.approx(11 * HOUR, abs=2 * SECOND))
    assert read_journal(path).counting == (morning, evening)
    (yesterday,) = add(path, DIP._replace(date=DAY - dt.timedelta(1)))
    assert read_journal(path).counting == (yesterday, morning, evening)


def test_times_with_and_without_a_zone_are_put_in_order(tmp_path):
    path = tmp_path / "journal.csv"
    times = ["2031-06-01T20:00:00+02:00", "2031-06-01T12:00:00", "2031-05-28T07:00:00-03:00"]
    rows = [row(number, *DIP[:5]).replace("2031-06-01T19:30:00+01:00", time) for number, time in enumerate(times, 1)]
    path.write_text("\n".join([HEADER, *rows]))
    read = read_journal(path)
    assert read.damaged == ()
    assert [line.number for line in read.counting] == [3, 2, 1]


@pytest.mark.parametrize("ago_s", [-1.0, float("nan"), float("inf"), 1e9])
def test_what_was_said_too_long_ago_or_tomorrow_is_refused(tmp_path, ago_s):
    with pytest.raises(InputError, match=r"ago_s: is .*; write the seconds since it was said, 0 to 7,776,000"):
        append(tmp_path / "journal.csv", lambda _: [RAIN], ago_s=ago_s)
    assert not (tmp_path / "journal.csv").exists()


# ---- What is sent again ----


def test_what_is_sent_again_is_not_doubled(tmp_path):
    path = tmp_path / "journal.csv"
    first = append(path, lambda _: [RAIN, DIP], key="5f0c")
    assert [line.key for line in first] == ["5f0c.1", "5f0c.2"]
    other = append(path, lambda _: [RAIN], key="5f0")
    before = path.read_bytes()
    assert append(path, lambda _: [RAIN, DIP], key="5f0c") == first
    assert append(path, lambda _: [RAIN], key="5f0") == other
    assert path.read_bytes() == before
    assert read_journal(path).lines == (*first, *other)
    assert len({line.key for line in add(path, RAIN, RAIN)}) == 1  # without a key each is new


def test_what_is_sent_again_is_not_asked_for_again(tmp_path):
    """An undo of a line that is undone by then would be refused."""
    path = tmp_path / "journal.csv"
    add(path, RAIN)
    sent = append(path, lambda _: [Entry(DAY, "undo", "", 1, "line")], key="ab")

    def refuse(_):
        raise InputError("undone already")

    assert append(path, refuse, key="ab") == sent


@FORKS
def test_phones_that_send_again_lose_and_double_nothing(tmp_path):
    ((path, acknowledged),) = told_by("again", tmp_path, 3, 20).items()
    read = read_journal(Path(path))
    assert read.damaged == ()
    assert [line.number for line in read.lines] == list(range(1, 20 * 3 + 1))
    numbers = dict(acknowledged)
    assert len(acknowledged) == 3 * 20
    assert acknowledged == [[value, numbers[value]] for value, _ in acknowledged]


@pytest.mark.parametrize("key", ["L000001", "a.1", "a,b", "a b", "x" * 65, "\n"])
def test_a_key_that_is_none_is_refused(tmp_path, key):
    with pytest.raises(InputError, match=r"^key: .* is none; write up to 64 small letters and figures$"):
        append(tmp_path / "journal.csv", lambda _: [RAIN], key=key)


def test_more_than_a_page_under_one_key_is_refused(tmp_path):
    with pytest.raises(InputError, match=r"^key: stands for 40 lines, which are too many; send them in parts$"):
        append(tmp_path / "journal.csv", lambda _: [DIP._replace(note="x" * 200)] * 40, key="a")
    assert not (tmp_path / "journal.csv").exists()


def test_a_last_line_with_a_key_cut_anywhere_costs_no_other_line(tmp_path):
    path = tmp_path / "journal.csv"
    for key in ("000001", "l000001", "0"):
        path.unlink(missing_ok=True)
        append(path, lambda _: [RAIN, DIP], key=key)
        whole = path.read_bytes()
        for cut in range(whole.rindex(b"\n", 0, -1) + 1, len(whole) - 1):
            path.write_bytes(whole[:cut])
            assert entries_in(path) == [RAIN]


# ---- Journals from before there were keys ----

OLD = """\
written_at,date,kind,name,value,unit,note,line
2031-06-01T19:30:00+01:00,2031-06-01,gauge,,6.5,mm,,L000001
2031-06-01T19:30:00+01:00,2031-06-01,level,Shed butt,38.5,cm,"by Ash, ""in the rain""; Küche",L000002
"""


@pytest.mark.parametrize("header", [HEADER, HEADER.replace("key,", ""), "written_at,da", ""])
def test_old_lines_are_read_and_gone_on_from_under_either_header(tmp_path, header):
    path = tmp_path / "journal.csv"
    path.write_text("\n".join([header, *OLD.splitlines()[1:], row(3, *RAIN[:5])]), "utf-8")
    assert entries_in(path) == [RAIN, DIP, RAIN]
    sent = append(path, lambda _: [DIP], key="ab")
    assert [line.number for line in sent] == [4]
    read = read_journal(path)
    assert (read.damaged, [line.entry for line in read.lines]) == ((), [RAIN, DIP, RAIN, DIP])
    assert append(path, lambda _: [DIP], key="ab") == sent


# ---- What a spreadsheet would run ----


@pytest.mark.parametrize("text", ["=1+1", "+44 20", "-3.2", "@home", "'=1", "'tis", '=HYPERLINK("x";"y")'])
def test_names_and_notes_come_back_and_no_cell_is_a_formula(tmp_path, text):
    path = tmp_path / "journal.csv"
    add(path, DIP._replace(name=text, note=text))
    assert entries_in(path) == [DIP._replace(name=text, note=text)]
    _, cells = csv.reader(path.read_text("utf-8").splitlines())
    assert all(cell[:1] not in "=+@" or cell == "" for cell in cells)
