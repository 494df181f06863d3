"""The journal: a CSV file beside the site file, to which whole lines are added and from which none is ever taken.

A line that counts is complete: it ends with its number, written in a fixed width, so that a line cut short anywhere is
told from a whole one. Writers take turns by a lock, and a line is acknowledged only when it is on the disk.
"""

import codecs
import csv
import datetime as dt
import errno
import io
import os
import re
from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass
from functools import cached_property
from pathlib import Path
from typing import NamedTuple

from waterbudget.errors import InputError, OutputError
from waterbudget.journal.resaved import as_written
from waterbudget.rows.cells import quoted, unguarded
from waterbudget.rows.text import read_content

NAME = "journal.csv"
COLUMNS = ("written_at", "date", "kind", "name", "value", "unit", "note", "line")
HEADER = ",".join(COLUMNS)
LEVEL, GAUGE, RAN, MAINS, UNDO = KINDS = ("level", "gauge", "ran", "mains", "undo")
UNITS = {LEVEL: ("cm", "L"), GAUGE: ("mm",), RAN: ("min",), MAINS: ("L",), UNDO: ("line",)}
NUMBER = re.compile("L([0-9]{6})")  # the letter keeps a spreadsheet from dropping the noughts
LINE_END = re.compile('([,;\t])"?L[0-9]{6}"?$')
BLANK = b' \t\r,;"'
LAST_NUMBER = 999_999
CONTROL = re.compile("[\x00-\x1f\x7f-\x9f\u2028\u2029]")
WAIT_S = 10.0  # for another writer
PAGE = 4096  # bytes; the least that a system copies in one go
NO_LINES = ()


class Entry(NamedTuple):
    """What was seen or done on a day.

    kind: one of KINDS. name: the tank of a level, the zone of a run, the tank of mains water if it is known, else "".
    value, unit: a level in cm or L, the day's rain in the gauge in mm, a run in minutes, mains water in L, the number
    of a line that is undone.
    """

    date: dt.date
    kind: str
    name: str
    value: float
    unit: str
    note: str = ""


class Line(NamedTuple):
    """An entry as it stands in the journal; written_at with its time zone."""

    number: int
    written_at: dt.datetime
    entry: Entry


@dataclass(frozen=True, eq=False)
class Journal:
    """What a journal holds. lines: those that are whole, as they were written. damaged: a sentence for each other."""

    path: Path
    lines: tuple[Line, ...]
    damaged: tuple[str, ...]

    @cached_property
    def undone_by(self) -> dict[int, int]:
        """Number of each line that was taken back: number of the line that does it."""
        return {int(line.entry.value): line.number for line in self.lines if line.entry.kind == UNDO}

    @cached_property
    def counting(self) -> tuple[Line, ...]:
        """The lines that count, by their dates: all but those that undo and are undone."""
        counting = (line for line in self.lines if line.entry.kind != UNDO and line.number not in self.undone_by)
        return tuple(sorted(counting, key=lambda line: (line.entry.date, line.number)))


def journal_path(site_path: Path) -> Path:
    """Where the journal of a site lies: beside its file."""
    return site_path.with_name(NAME)


def read_journal(path: Path) -> Journal:
    """The journal of a file, an empty one where there is none. Damaged lines are left out and told, none is fatal.

    Raises InputError where the file cannot be read or is something else.
    """
    return _journal(path, _content(path))


def append(path: Path, entries_of: Callable[[Journal], Sequence[Entry]]) -> tuple[Line, ...]:
    """Add lines, all of them or none, and return them when they are on the disk.

    entries_of: makes the entries, and may refuse them, in the light of the journal as it is while nobody else writes.
    Raises what it raises, InputError where the file is no journal, OutputError where it cannot be written.
    """
    with _alone(path):
        content = _content(path)
        journal = _journal(path, content)
        now = dt.datetime.now().astimezone().replace(microsecond=0)
        next_number = max((line.number for line in journal.lines), default=0) + 1
        lines = tuple(Line(number, now, entry) for number, entry in enumerate(entries_of(journal), next_number))
        if next_number + len(lines) > LAST_NUMBER:
            raise OutputError(f"{path}: is full; rename it, and a new journal will be begun")
        opening = "" if content.endswith(b"\n") else "\n" if content else f"{HEADER}\n"
        _write(path, (opening + "".join(map(_row, lines))).encode())
    return lines


# ---- Reading -------------------------------------------------------------------------------------------------------


def _content(path: Path) -> bytes:
    if not os.path.lexists(path):
        return b""
    return read_content(path, "journal", "the journal is a CSV file there")


def _journal(path: Path, content: bytes) -> Journal:
    if content.startswith((codecs.BOM_UTF16_LE, codecs.BOM_UTF16_BE)):
        raise InputError(f"{path}: was saved in UTF-16; save it as CSV in UTF-8")
    first, *rows = content.removeprefix(codecs.BOM_UTF8).split(b"\n")
    begins = _text(first)
    if not HEADER.startswith(begins) and tuple(re.split("[,;\t]", begins.replace('"', ""))) != COLUMNS:
        raise InputError(
            f"{path}: is no journal, as it begins with {quoted(begins)}; rename it, and a journal will be begun"
        )
    found = {row: _cells(text) for row, text in enumerate(rows, 2) if text.strip(BLANK)}
    try:
        whole = as_written(
            {row: cells for row, cells in found.items() if cells},
            written_at=COLUMNS.index("written_at"),
            date=COLUMNS.index("date"),
            value=COLUMNS.index("value"),
        )
    except ValueError as error:
        raise InputError(f"{path}: {error}") from None
    lines: dict[int, Line] = {}
    damaged = []
    for row in found:
        line = _line(whole[row]) if row in whole else None
        if line is not None and line.number not in lines:
            lines[line.number] = line
        else:
            fault = "is torn or was changed" if line is None else f"has the number of an earlier one, {line.number}"
            damaged.append(f"{path}: row {row} {fault} and is left out; log it again if it is missing")
    if not lines and len(damaged) > 1:  # a kill tears but one
        raise InputError(
            f"{path}: none of its {len(damaged)} lines can be read; it was changed by another program, so put a copy "
            "in its place, or rename it, and a journal will be begun"
        )
    return Journal(path, tuple(lines.values()), tuple(damaged))


def _text(row: bytes) -> str:
    try:
        return row.decode("utf-8").removesuffix("\r")
    except UnicodeDecodeError:
        return row.decode("cp1252", "replace").removesuffix("\r")


def _cells(row: bytes) -> tuple[str, ...]:
    """The cells of a whole line, none of any other. What stands before its number separates them."""
    text = _text(row)
    end = LINE_END.search(text)
    if end is None or CONTROL.search(text.replace(end[1], "")):
        return ()
    try:
        (cells,) = csv.reader([text], delimiter=end[1], strict=True)
    except csv.Error:
        return ()
    return tuple(map(unguarded, cells)) if len(cells) == len(COLUMNS) else ()


def _line(cells: Sequence[str]) -> Line | None:
    """The line that cells hold, None where it is not whole."""
    written_at, date, kind, name, value, unit, note, number = cells
    digits = NUMBER.fullmatch(number)
    try:
        entry = Entry(dt.date.fromisoformat(date), kind, name, float(value), unit, note)
        line = Line(int(digits[1]) if digits else 0, dt.datetime.fromisoformat(written_at), entry)
    except ValueError:
        return None
    is_whole = digits and unit in UNITS.get(kind, NO_LINES) and line.entry.value >= 0.0
    return line if is_whole and line.entry.value < float("inf") else None


def _row(line: Line) -> str:
    number, written_at, entry = line
    cells = (
        written_at.isoformat(),
        entry.date.isoformat(),
        entry.kind,
        entry.name,
        f"{entry.value:.15g}",
        entry.unit,
        entry.note,
        f"L{number:06d}",
    )
    row = io.StringIO()
    csv.writer(row, lineterminator="\n").writerow(cells)
    return row.getvalue()


# ---- Writing -------------------------------------------------------------------------------------------------------


@contextmanager
def _alone(path: Path) -> Iterator[None]:
    """Hold the lock beside the journal, which the system lets go of when its holder dies."""
    from filelock import FileLock, Timeout

    lock = FileLock(path.with_name(f".{path.name}.lock"), timeout=WAIT_S)
    try:
        lock.acquire()
    except Timeout:
        raise OutputError(f"{path}: somebody else is writing to it; try again in a moment") from None
    except (OSError, NotImplementedError) as error:
        raise OutputError(f"{path}: cannot be written: {error}; keep the site in a folder of your own") from error
    try:
        yield
    finally:
        lock.release()


def _write(path: Path, data: bytes) -> None:
    """Add bytes at the end in one go, and see them on the disk.

    Blanks fill a page that they would not fit on, as a kill can come between two pages of one write.
    """
    try:
        handle = os.open(path, os.O_WRONLY | os.O_APPEND | os.O_CREAT | getattr(os, "O_BINARY", 0), 0o666)
        try:
            size = os.fstat(handle).st_size
            room = PAGE - size % PAGE
            blanks = b" " * (room - 1) + b"\n" if room < len(data) <= PAGE else b""
            if (blanks and os.write(handle, blanks) < len(blanks)) or os.write(handle, data) < len(data):
                os.ftruncate(handle, size)
                raise OSError(errno.ENOSPC, os.strerror(errno.ENOSPC))
            os.fsync(handle)
        finally:
            os.close(handle)
        if os.name != "nt":  # Windows opens no folders
            _sync_folder(path.parent)
    except OSError as error:
        raise OutputError(f"{path}: cannot be written: {error.strerror}; see with --show what was logged") from error


def _sync_folder(folder: Path) -> None:
    handle = os.open(folder, os.O_RDONLY)
    try:
        os.fsync(handle)
    finally:
        os.close(handle)
