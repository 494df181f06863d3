"""The cells of a table as somebody saved it: any text with columns, or the sheets of a workbook."""

import csv
import io
import re
from collections import Counter
from collections.abc import Iterable, Iterator
from itertools import islice
from typing import NamedTuple

from waterbudget.errors import InputError, WeatherError
from waterbudget.rows.sheet import Row, rows_of
from waterbudget.rows.text import text_of
from waterbudget.weather.table.workbook import is_workbook, sheets_of

SEPARATORS = "\t;|,^~"  # the first ones stand in cells less often
WIDE_GAP, GAP = re.compile(r"\s{2,}|\t"), re.compile(r"\s+")
WHOLE_LINE = re.compile(r'\s*"(?:[^"]|"")*[,;\t](?:[^"]|"")*"\s*')  # one cell that holds a separator
LOOKED_AT = 200  # lines, to tell the separator
MOST_ROWS = 500_000  # hours of half a century
OTHERS = {"<": "a web page", "{": "no table, but JSON", "[": "no table, but JSON"}  # by how they begin
SAVE = "copy its table into a spreadsheet, and save that as CSV or .xlsx"


class Grid(NamedTuple):
    """A table of cells without its blank rows.

    title: of the sheet in a workbook, "" of a text. point_is_usual: whether 1.250 is below 2 where no cell tells.
    """

    title: str
    rows: tuple[Row, ...]
    point_is_usual: bool


def grids_of(content: bytes, name: str) -> list[Grid]:
    """The table of a text, or those of a workbook. Raises WeatherError, in a line, where it is neither or too large."""
    if is_workbook(content):
        sheets = sheets_of(content, name, MOST_ROWS)
        return [Grid(title, _filled(rows, name), point_is_usual=True) for title, rows in sheets]
    try:
        text = text_of(content)
    except ValueError as error:
        raise WeatherError(f"{name}: {error}; {SAVE}") from None
    if other := OTHERS.get(text.lstrip("\ufeff \t\r\n")[:1]):
        raise WeatherError(f"{name}: is {other}; {SAVE}")
    text = _unwrapped(text)
    lines = _first_lines(text)
    alike = {separator: _alike(_cut(lines, separator)) for separator in SEPARATORS}
    separator = max(alike, key=alike.__getitem__)
    gap = max((WIDE_GAP, GAP), key=lambda gap: _alike([gap.split(line.strip()) for line in lines]))
    try:
        if alike[separator] > 1 or not any(map(gap.search, lines)):
            return [Grid("", _filled(rows_of(text, separator, name), name), point_is_usual=separator == ",")]
        return [Grid("", _filled(_spaced(text, gap), name), point_is_usual=True)]
    except InputError as error:
        raise WeatherError(error.faults) from None


def _unwrapped(text: str) -> str:
    """The text without quotation marks around whole lines, as some spreadsheets save what they took for one column."""
    if all(map(WHOLE_LINE.fullmatch, _first_lines(text))):
        return "\n".join(line.strip()[1:-1].replace('""', '"') for line in text.splitlines())
    return text


def _first_lines(text: str) -> list[str]:
    """Some lines that are not blank, to tell by how the others are written."""
    lines = (line.rstrip("\r\n") for line in io.StringIO(text, newline=None))
    return list(islice((line for line in lines if line.strip()), LOOKED_AT))


def _filled(rows: Iterable[Row], name: str) -> tuple[Row, ...]:
    filled = tuple(islice((row for row in rows if any(row.cells)), MOST_ROWS + 1))
    if len(filled) > MOST_ROWS:
        raise WeatherError(f"{name}: has more than {MOST_ROWS:,} rows; keep those of the days that are needed")
    return filled


def _spaced(text: str, gap: re.Pattern[str]) -> Iterator[Row]:
    for number, line in enumerate(text.splitlines(), 1):
        yield Row(number, tuple(gap.split(line.strip())))


def _cut(lines: list[str], separator: str) -> list[list[str]]:
    try:
        return list(csv.reader(lines, delimiter=separator, skipinitialspace=True))
    except csv.Error:  # a cell of many thousand letters
        return []


def _alike(rows: Iterable[list[str]]) -> int:
    """How many rows have the number of cells that is the most frequent, where that is two or more."""
    return max((rows for width, rows in Counter(map(len, rows)).items() if width > 1), default=0)
