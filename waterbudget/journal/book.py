"""The journal: a CSV file beside the site file, to which whole lines are added and from which none is ever taken.

A line that counts is complete: it ends with its number, written in a fixed width, so that a line cut short anywhere is
told from a whole one. Writers take turns by a lock, and a line is acknowledged only when it is on the disk. Who cannot
be sure that it was, sends it again under the same key, and it is not doubled.
"""

import codecs
import csv
import datetime as dt
import errno
import io
import os
import re
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from functools import cached_property
from pathlib import Path
from typing import NamedTuple

from waterbudget.errors import InputError, OutputError, Said, shown
from waterbudget.journal.resaved import as_written
from waterbudget.output import alone, refuse_existing, sync_folder
from waterbudget.rows.cells import guarded, quoted, unguarded
from waterbudget.rows.text import read_content

NAME = "journal.csv"
COLUMNS = ("written_at", "date", "kind", "name", "value", "unit", "note", "key", "line")
HEADER = ",".join(COLUMNS)
OLD_COLUMNS = tuple(column for column in COLUMNS if column != "key")  # from before there were keys
LEVEL, GAUGE, RAN, MAINS, UNDO = KINDS = ("level", "gauge", "ran", "mains", "undo")
UNITS = {LEVEL: ("cm", "L"), GAUGE: ("mm",), RAN: ("min",), MAINS: ("L",), UNDO: ("line",)}
NUMBER = re.compile("L([0-9]{6})")  # the letter keeps a spreadsheet from dropping the noughts
LINE_END = re.compile('([,;\t])"?L[0-9]{6}"?$')
BLANK = b' \t\r,;"'
LAST_NUMBER = 999_999
KEY = re.compile("[0-9a-z_-]{1,64}")  # no L, so that no key cut short looks like a number
LONGEST_AGO_S = 90 * 86400.0
CONTROL = re.compile("[\x00-\x1f\x7f-\x9f\u2028\u2029]")
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
    """An entry as it stands in the journal.

    written_at: when it was said, with its time zone unless somebody edited it. key: that under which it was sent, a
    point and its number among those that were sent together; "" without one.
    """

    number: int
    written_at: dt.datetime
    entry: Entry
    key: str = ""

    @property
    def in_order(self) -> tuple[dt.date, float, int]:
        """What lines are sorted by: their days, and on each when they were said, which may be before they arrived."""
        return self.entry.date, self.written_at.timestamp(), self.number


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
        """The lines that count, in their order: all but those that undo and are undone."""
        counting = (line for line in self.lines if line.entry.kind != UNDO and line.number not in self.undone_by)
        return tuple(sorted(counting, key=lambda line: line.in_order))

    def sent_as(self, key: str) -> tuple[Line, ...]:
        """The lines that were sent under a key."""
        return tuple(line for line in self.lines if key and line.key.rpartition(".")[0] == key)


def journal_path(site_path: Path) -> Path:
    """Where the journal of a site lies: beside its file."""
    return site_path.with_name(NAME)


def read_journal(path: Path) -> Journal:
    """The journal of a file, an empty one where there is none. Damaged lines are left out and told, none is fatal.

    Raises InputError where the file cannot be read or is something else.
    """
    return _journal(path, _content(path))


def append(
    path: Path, entries_of: Callable[[Journal], Sequence[Entry]], *, key: str = "", ago_s: float = 0.0
) -> tuple[Line, ...]:
    """Add lines, all of them or none, and return them when they are on the disk.

    entries_of: makes the entries, and may refuse them, in the light of the journal as it is while nobody else writes.
    key: of what is sent, given once; where lines of it are there already they are returned, and nothing is added.
    ago_s: how long ago it was said [s].
    Raises what entries_of raises, InputError where the file is no journal or key or ago_s is none, OutputError where it
    cannot be written.
    """
    if key and not KEY.fullmatch(key):
        raise InputError(f"key: {shown(key)} is none; write up to 64 small letters and figures")
    if not 0.0 <= ago_s <= LONGEST_AGO_S:
        raise InputError(f"ago_s: is {ago_s:g}; write the seconds since it was said, 0 to {LONGEST_AGO_S:,.0f}")
    with alone(path):
        refuse_existing([path], overwrite=True)
        content = _content(path)
        journal = _journal(path, content)
        if there := journal.sent_as(key):
            return there
        said_at = (dt.datetime.now(dt.UTC) - dt.timedelta(seconds=ago_s)).astimezone().replace(microsecond=0)
        next_number = max((line.number for line in journal.lines), default=0) + 1
        lines = tuple(
            Line(next_number + more, said_at, entry, f"{key}.{more + 1}" if key else "")
            for more, entry in enumerate(entries_of(journal))
        )
        if next_number + len(lines) > LAST_NUMBER:
            raise OutputError(f"{path}: is full; rename it, and a new journal will be begun")
        opening = "" if content.endswith(b"\n") else "\n" if content else f"{HEADER}\n"
        data = (opening + "".join(map(_row, lines))).encode()
        if key and len(data) > PAGE:  # a kill could leave half of it, which would be taken for all
            raise InputError(f"key: stands for {len(lines)} lines, which are too many; send them in parts")
        _write(path, data)
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
    columns = tuple(re.split("[,;\t]", begins.replace('"', "")))
    if columns not in {COLUMNS, OLD_COLUMNS} and not any(
        ",".join(of).startswith(begins) for of in (COLUMNS, OLD_COLUMNS)
    ):
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
    if len(cells) == len(OLD_COLUMNS):
        cells.insert(COLUMNS.index("key"), "")
    return tuple(map(unguarded, cells)) if len(cells) == len(COLUMNS) else ()


def _line(cells: Sequence[str]) -> Line | None:
    """The line that cells hold, None where it is not whole."""
    written_at, date, kind, name, value, unit, note, key, number = cells
    digits = NUMBER.fullmatch(number)
    try:
        entry = Entry(dt.date.fromisoformat(date), kind, name, float(value), unit, note)
        line = Line(int(digits[1]) if digits else 0, dt.datetime.fromisoformat(written_at), entry, key)
        line.written_at.timestamp()
    except (ValueError, OverflowError, OSError):  # a time in the year 1 has no timestamp
        return None
    is_whole = digits and unit in UNITS.get(kind, NO_LINES) and line.entry.value >= 0.0
    return line if is_whole and line.entry.value < float("inf") else None


def _row(line: Line) -> str:
    number, written_at, entry, key = line
    cells = (
        written_at.isoformat(),
        entry.date.isoformat(),
        entry.kind,
        guarded(entry.name),
        f"{entry.value:.15g}",
        entry.unit,
        guarded(entry.note),
        key,
        f"L{number:06d}",
    )
    row = io.StringIO()
    csv.writer(row, lineterminator="\n").writerow(cells)
    return row.getvalue()


# ---- Writing -------------------------------------------------------------------------------------------------------


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
        sync_folder(path.parent)
    except OSError as error:
        unwritten = f"{path}: cannot be written: {error.strerror}; see"
        raise OutputError(
            Said(f"{unwritten} with --show what was logged", f"{unwritten} in the journal what was")
        ) from error
