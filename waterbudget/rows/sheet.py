"""The CSV files that people and their spreadsheets write, whatever they separate columns by, as rows of plain cells."""

import csv
import io
from collections import Counter
from collections.abc import Callable, Collection, Iterator, Sequence
from dataclasses import dataclass, replace
from itertools import dropwhile, islice
from pathlib import Path
from typing import NamedTuple

from waterbudget.errors import InputError
from waterbudget.rows.cells import Where, unguarded
from waterbudget.rows.dates import iso_dates
from waterbudget.rows.numbers import plain_numbers
from waterbudget.rows.text import read_content, text_of

SEPARATORS = "\t;|,"  # the first ones stand in cells less often
LOOKED_AT = 100  # lines, to tell the separator
MOST_ROWS = 1_000_000
REMARK = "#"


class Row(NamedTuple):
    """The number of a row's first line, as an editor counts, and its cells without the blanks around them."""

    number: int
    cells: tuple[str, ...]


@dataclass(frozen=True)
class CsvSheet:
    """A table with its header. told: how messages name the file. rows: those that are not blank."""

    told: str
    separator: str
    header: Row
    rows: tuple[Row, ...]

    @property
    def heads(self) -> tuple[str, ...]:
        """The names of the columns."""
        return self.header.cells

    def plain(self, *, numbers: Collection[str], dates: Collection[str] = ()) -> "CsvSheet":
        """The sheet with these columns as machines write them: numbers with a point, dates as YYYY-MM-DD.

        A cell that holds neither stays as it is. Raises InputError, naming row and column, where the file does not tell
        how its numbers or dates are meant.
        """
        return self.changed(numbers, self._plain_numbers).changed(dates, iso_dates)

    def changed(self, names: Collection[str], plain: Callable[[Sequence[str], Where], Sequence[str]]) -> "CsvSheet":
        """The sheet with the cells of these columns as a function gives them back, which is told where each stands."""
        columns = [column for column, head in enumerate(self.heads) if head in names]
        places = [(row, column) for row in self.rows for column in columns if column < len(row.cells)]
        cells = [row.cells[column] for row, column in places]
        try:
            new = plain(cells, lambda number: f"row {places[number][0].number}: {self.heads[places[number][1]]}")
        except ValueError as error:
            raise InputError(f"{self.told}: {error}") from None
        if new == cells:
            return self
        changed = [list(row.cells) for row in self.rows]
        row_of = {row.number: number for number, row in enumerate(self.rows)}
        for (row, column), cell in zip(places, new, strict=True):
            changed[row_of[row.number]][column] = cell
        rows = (Row(row.number, tuple(one)) for row, one in zip(self.rows, changed, strict=True))
        return replace(self, rows=tuple(rows))

    def _plain_numbers(self, cells: Sequence[str], where: Where) -> list[str]:
        return plain_numbers(cells, where, point_is_usual=self.separator == ",")


def read_sheet(
    path: Path, needed: str, each: str, told: str | None = None, *, most_rows: int | None = None
) -> CsvSheet:
    """The sheet of a file, or no more than its first rows.

    needed: the columns that have to be there, as a header would have them. each: what a row holds, such as: an offer.
    told: how messages about its content name the file, by default by its whole path.
    Raises InputError where the file is not there, is no text or no CSV, is too large, or is empty.
    """
    content = read_content(path, "CSV file", f"write one with the columns {needed}")
    told = str(path) if told is None else told
    try:
        text = text_of(content)
    except ValueError as error:
        raise InputError(f"{told}: {error}; save the sheet as CSV in UTF-8") from None
    separator = separator_of(text)
    filled = (row for row in rows_of(text, separator, told) if any(row.cells))
    rows = dropwhile(lambda row: row.cells[0].startswith(REMARK), filled)
    header = next(rows, None)
    if header is None:
        raise InputError(f"{told}: is empty; write the header {needed} and {each} a row")
    return CsvSheet(told, separator, header, tuple(_cut(row, len(header.cells)) for row in islice(rows, most_rows)))


def _cut(row: Row, width: int) -> Row:
    """A row without the blank cells that spreadsheets write past the last column."""
    return row if any(row.cells[width:]) else row._replace(cells=row.cells[:width])


def rows_of(text: str, separator: str, told: str) -> Iterator[Row]:
    """The rows of a text, blank ones too. Raises InputError where it is no CSV or has a row too many."""
    reader = csv.reader(io.StringIO(text, newline=""), delimiter=separator, strict=True, skipinitialspace=True)
    number = 1
    try:
        for count, cells in enumerate(reader):
            if count == MOST_ROWS:
                raise InputError(f"{told}: has more than {MOST_ROWS:,} rows; keep those that are needed")
            yield Row(number, tuple(unguarded(cell.strip()) for cell in cells))
            number = reader.line_num + 1
    except csv.Error as error:
        raise InputError(f"{told}: row {number}: is no CSV ({error}); check its quotation marks") from None


def separator_of(text: str) -> str:
    """What the columns of a text are separated by: what cuts most of its rows into equally many cells, two or more."""
    lines = list(islice(io.StringIO(text, newline=None), LOOKED_AT))
    alike = {separator: _alike(lines, separator) for separator in SEPARATORS}
    return max(alike, key=alike.__getitem__) if any(alike.values()) else SEPARATORS[-1]


def _alike(lines: Sequence[str], separator: str) -> int:
    """How many rows have the number of cells that is the most frequent."""
    try:
        widths = Counter(map(len, csv.reader(lines, delimiter=separator, skipinitialspace=True)))
    except csv.Error:  # a field of many thousand letters
        return 0
    return max((rows for width, rows in widths.items() if width > 1), default=0)
