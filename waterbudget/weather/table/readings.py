"""The cells of a column as numbers in the units of the weather file: marks, codes and words told from readings."""

import re
from collections import Counter
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from functools import cache, lru_cache
from typing import NamedTuple

import numpy as np

from waterbudget.rows.cells import number_in
from waterbudget.rows.numbers import OTHER_LETTERS, UnclearDecimalsError, plain_numbers
from waterbudget.tables.read import read_rows
from waterbudget.units import MIN_PER_HOUR, Array
from waterbudget.weather.files import COLUMNS, Column
from waterbudget.weather.table.columns import Layout, TableColumn
from waterbudget.weather.table.faults import TableError
from waterbudget.weather.table.units import KEPT, Unit, guessed, kind_of, unit

RAIN = "rain_mm"
LARGE = {"radiation", "sun"}  # kinds that some units count in thousands
TRACE, DRY, MISSING, CODE = "trace", "dry", "missing", "code"  # of tables/marks.csv
NUMBER, ODD = "number", "odd"  # kinds of cells beside these
TRACE_CODE = -1.0  # for rain too little to read, in tables of tenths of a millimetre
MOST_RAIN_MM = 600.0  # of a day, beyond which a number like 999.9 is a code
HOURS = 24
PARTS = re.compile(
    r"([-+\u2212\u2013]?\s*(?:[0-9]{1,3}(?:[ '\u00a0\u202f][0-9]{3})+(?:[.,][0-9]+)?|[.,]?[0-9][0-9.,]*)"
    r"(?:[eE][-+]?[0-9]+)?)\s*(.*)"
)
FLAG = re.compile(r"[*#†‡!~e°º˚]|\[[^\]]*\]|\([^)]*\)", re.IGNORECASE)
CLOCK = re.compile(r"([0-9]{1,2})[:h]([0-5][0-9])(?::[0-5][0-9])?")
FRACTION = re.compile(r"(?:([0-9]{1,2}) )?([0-9]{1,2})/(2|4|8|16|32)")  # of an inch


class OddCell(NamedTuple):
    """A cell that was left out: its row as an editor counts, its column of the weather file, what stands there."""

    row: int
    column: str
    cell: str


@dataclass(frozen=True, eq=False)
class Readings:
    """What a column was read as.

    unit: that of its cells. in_ours: a value a row in the unit of the weather file, NaN where there is none. traces:
    cells for rain too little to read, counted as 0. codes: cells with a number that stands for a missing reading.
    dry_blanks: blank cells that were taken for a dry day. odd: cells that are no reading, or none that any weather
    could give.
    """

    column: TableColumn
    unit: Unit
    is_assumed: bool
    in_ours: Array
    traces: int = 0
    codes: int = 0
    dry_blanks: int = 0
    odd: tuple[OddCell, ...] = ()

    @property
    def name(self) -> str:
        """The column of the weather file."""
        return self.column.meaning.column


class _Cells(NamedTuple):
    """The cells of a column taken apart: number or NaN, its own unit if it has one, and what kind of cell it is."""

    numbers: Array
    units: tuple[Unit | None, ...]
    kinds: tuple[str, ...]


def rows_in_use(layout: Layout) -> list[bool]:
    """For each row, whether it or one before and one after it hold any reading: not those that wait to be filled."""
    columns = [layout.cells(column) for column in layout.readings]
    used = [any(_cell(cell, RAIN)[2] != MISSING for cell in cells) for cells in zip(*columns, strict=True)]
    filled = [row for row, is_used in enumerate(used) if is_used]
    return [bool(filled) and filled[0] <= row <= filled[-1] for row in range(len(used))]


def readings_of(
    layout: Layout, has_day: Sequence[bool], name: str, *, by_the_hour: bool, dry_blanks: bool, decimals: str | None
) -> list[Readings]:
    """The readings of all columns.

    has_day: for each row. by_the_hour: whether they are of parts of days. dry_blanks: whether a day without rain
    written down was dry. decimals: the mark before them, where somebody says it.

    Raises TableError where the decimals of the table cannot be told.
    """
    columns = layout.readings
    cells = _taken_apart(layout, columns, name, decimals)
    named = {number: _unit_of(column, cells[number]) for number, column in enumerate(columns)}
    heat = [number for number, column in enumerate(columns) if kind_of(column.meaning.column) == "temperature"]
    bare = [cells[number].numbers for number in heat if named[number] is None]
    pooled = np.concatenate(bare) if bare else np.empty(0)
    pooled = pooled[np.isfinite(pooled) & ~np.isin(pooled, codes())]
    warm = guessed("temperature", pooled, is_imperial=False, is_tenths=False)
    used = [named[number] or warm for number in heat]
    imperial, tenths = (any(one.factor == factor for one in used) for factor in (5.0 / 9.0, 0.1))
    found = []
    for number, column in enumerate(columns):
        kind = kind_of(column.meaning.column)
        known = cells[number].numbers[np.isfinite(cells[number].numbers) & ~np.isin(cells[number].numbers, codes())]
        own = named[number] or (
            warm if kind == "temperature" else guessed(kind, known, is_imperial=imperial, is_tenths=tenths)
        )
        limits = COLUMNS[column.meaning.column]
        if by_the_hour and own.is_rate:  # an hour's may be that of a day many times over
            limits = limits._replace(high=HOURS * limits.high)
        is_assumed = named[number] is None
        found.append(
            _read(layout, column, cells[number], own, limits, has_day, is_assumed=is_assumed, dry_blanks=dry_blanks)
        )
    return found


def _taken_apart(layout: Layout, columns: Sequence[TableColumn], name: str, decimals: str | None) -> list[_Cells]:
    """All columns at once, as one tells the decimals of the other."""
    found = [[_cell(cell, column.meaning.column) for cell in layout.cells(column)] for column in columns]
    places = [(number, row) for number, cells in enumerate(found) for row, cell in enumerate(cells) if cell[0]]
    try:
        plain = plain_numbers(
            [found[number][row][0] for number, row in places],
            lambda place: f"row {layout.rows[places[place][1]].number}: {columns[places[place][0]].called}",
            point_is_usual=layout.grid.point_is_usual,
            may_be_thousands=any(kind_of(column.meaning.column) in LARGE for column in columns),
            said=decimals,
        )
    except UnclearDecimalsError as error:
        raise TableError("decimals", name, error.said, f"; {error.way_out}") from None
    numbers = [np.full(len(cells), np.nan) for cells in found]
    for (number, row), cell in zip(places, plain, strict=True):
        numbers[number][row] = number_in(cell)
    return [
        _Cells(values, tuple(unit_ for _, unit_, _ in cells), tuple(kind for _, _, kind in cells))
        for values, cells in zip(numbers, found, strict=True)
    ]


@lru_cache(maxsize=KEPT)
def _cell(cell: str, column: str) -> tuple[str, Unit | None, str]:
    """The number that a cell holds, as it stands there, its unit, and what kind of cell it is."""
    text, kind = cell.strip().casefold(), kind_of(column)
    mark = _marks().get(text, "") if text else MISSING
    if mark == MISSING or (mark and column == RAIN):
        return "0" if mark == DRY else "", None, mark
    if kind == "sun" and (clock := CLOCK.fullmatch(text)):
        return f"{int(clock[1]) + int(clock[2]) / MIN_PER_HOUR:.6f}", unit("h", kind), NUMBER
    if kind == "rain" and (parts := FRACTION.fullmatch(text)):
        return f"{int(parts[1] or 0) + int(parts[2]) / int(parts[3]):.6f}", None, NUMBER
    match = PARTS.fullmatch(cell.strip())
    if match is None:
        return "", None, ODD
    number, rest = match[1].translate(OTHER_LETTERS).replace(" ", "").replace("'", "").rstrip(",."), match[2].strip()
    is_trace = column == RAIN and _marks().get(rest.casefold()) == TRACE
    own = None if is_trace else unit(rest, kind)
    if rest and not (is_trace or own or FLAG.fullmatch(rest)):
        return "", None, ODD
    return number, own, TRACE if is_trace else NUMBER


@cache
def _marks() -> dict[str, str]:
    """What stands in place of a reading, and what it means."""
    return {row["written"]: row["means"] for row in read_rows("marks") if row["means"] != CODE}


@cache
def codes() -> Array:
    """Numbers that stand for a missing reading, where no weather could give them."""
    return np.array([float(row["written"]) for row in read_rows("marks") if row["means"] == CODE])


def _unit_of(column: TableColumn, cells: _Cells) -> Unit | None:
    """The unit that the heading names, else most cells."""
    if column.meaning.unit is not None:
        return column.meaning.unit
    own = Counter(one for one in cells.units if one is not None)
    return own.most_common(1)[0][0] if own else None


def _read(
    layout: Layout,
    column: TableColumn,
    cells: _Cells,
    own: Unit,
    limits: Column,
    has_day: Sequence[bool],
    *,
    is_assumed: bool,
    dry_blanks: bool,
) -> Readings:
    name = column.meaning.column
    values = own.in_ours(cells.numbers)
    for row, other in enumerate(cells.units):
        if other is not None and other != own:
            values[row : row + 1] = other.in_ours(cells.numbers[row : row + 1])
    kinds = np.array(cells.kinds)
    high = MOST_RAIN_MM if name == RAIN else limits.high
    outside = np.isfinite(values) & ~((values >= limits.low) & (values <= limits.high))
    coded = np.isin(cells.numbers, codes()) & (outside | (values > high))
    traces = (kinds == TRACE) | ((name == RAIN) & (cells.numbers == TRACE_CODE) & outside)
    values = np.where(coded | (outside & ~traces), np.nan, np.where(traces, 0.0, values))
    blank = (kinds == MISSING) & np.array(has_day)
    is_dry = name == RAIN and (dry_blanks or not np.any(values == 0.0)) and np.any(values > 0.0)
    values = np.where(blank & is_dry, 0.0, values)
    return Readings(
        column,
        own,
        is_assumed,
        values,
        int(traces.sum()),
        int(coded.sum()),
        int(blank.sum()) if is_dry else 0,
        tuple(_odd(layout, column, np.flatnonzero(((kinds == ODD) | (outside & ~coded & ~traces)) & has_day))),
    )


def _odd(layout: Layout, column: TableColumn, rows: Iterable[int]) -> Iterable[OddCell]:
    cells = layout.cells(column)
    for row in rows:
        yield OddCell(layout.rows[row].number, column.meaning.column, cells[row])
