"""Where the header of a table stands, and what each of its columns holds."""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from itertools import zip_longest

from waterbudget.errors import WeatherError
from waterbudget.rows.cells import number_in, quoted
from waterbudget.rows.dates import written_date
from waterbudget.rows.numbers import decimal_marks
from waterbudget.rows.sheet import Row
from waterbudget.weather.files import COLUMNS
from waterbudget.weather.table.faults import TableError
from waterbudget.weather.table.grid import Grid
from waterbudget.weather.table.headings import (
    CALENDAR,
    DATE,
    DAY,
    HOUR,
    MONTH,
    OF_UNIT,
    YEAR,
    YEARDAY,
    Meaning,
    folded,
    meaning,
)
from waterbudget.weather.table.shapes import shapes_of
from waterbudget.weather.table.units import Unit, kind_of, unit, unit_in, units_of

SEARCHED = 60  # rows, for a header
LOOKED_AT = 60  # rows, for what a column holds
MOSTLY, PARTLY = 0.8, 0.5  # of cells: without and with a heading that says what they are
LEAP_YEAR = 2000
LEFT_OUT = ("none", "-")  # what --columns may call a column that is to be ignored
SAID_UNITS = {  # endings of names that --columns may have beside those of the weather file
    "rain_in": ("rain_mm", "in"), "et0_in": ("et0_mm", "in"), "tmin_f": ("tmin_c", "°f"), "tmax_f": ("tmax_c", "°f"),
    "tmean_f": ("tmean_c", "°f"), "wind_km_h": ("wind_m_s", "km/h"), "wind_mph": ("wind_m_s", "mph"),
    "wind_kn": ("wind_m_s", "kn"), "sun_min": ("sun_hours", "min"), "solar_w_m2": ("solar_mj_m2", "w/m2"),
    "solar_kwh_m2": ("solar_mj_m2", "kwh/m2"), "solar_j_cm2": ("solar_mj_m2", "j/cm2"),
}  # fmt: skip


@dataclass(frozen=True)
class TableColumn:
    """A column of somebody's table.

    number: counted from 1. heading: as it stands there, "" for none. meaning: what it is taken for. is_said: whether
    somebody said so. is_assumed: whether its unit is a guess. first: the first values in it, as they stand there.
    """

    number: int
    heading: str
    meaning: Meaning
    is_said: bool = False
    is_assumed: bool = False
    first: tuple[str, ...] = field(default=())

    @property
    def called(self) -> str:
        """What to call it: its heading, or its number where it has none."""
        return self.heading or f"column {self.number}"


@dataclass(frozen=True)
class Layout:
    """A table taken apart: what stands above it, its columns and its rows of cells."""

    grid: Grid
    above: tuple[str, ...]
    header_row: int | None
    columns: tuple[TableColumn, ...]
    rows: tuple[Row, ...]

    def column(self, name: str) -> TableColumn | None:
        """The column of this name, None where there is none."""
        return next((one for one in self.columns if one.meaning.column == name), None)

    def cells(self, column: TableColumn) -> list[str]:
        """All cells of a column."""
        return [row.cells[column.number - 1] if column.number <= len(row.cells) else "" for row in self.rows]

    def columns_alike(self, other: "Layout") -> bool:
        """Whether the same headings stand over the same columns."""
        return [(one.number, one.heading) for one in self.columns if one.meaning.column] == [
            (one.number, one.heading) for one in other.columns if one.meaning.column
        ]

    @property
    def readings(self) -> list[TableColumn]:
        """The columns that belong in a weather file."""
        return [one for one in self.columns if one.meaning.column in COLUMNS]


def layout_of(grids: Sequence[Grid], name: str, said: Mapping[str, str], units: Mapping[str, str]) -> Layout:
    """The table with the most columns that are understood, its header found and each column told, a quantity once.

    said: what somebody calls columns, by heading or number; units: what they are in. Raises WeatherError where there is
    no table, no date, no column that is said, or two columns of the same quantity.
    """
    layout = table_in(grids, name, said, units)
    for key in said:
        if not any(one.is_said and _is_called(one, key) for one in layout.columns):
            heads = ", ".join(quoted(one.called) for one in layout.columns)
            raise WeatherError(f"--columns: {name} has no column {quoted(key)}; it has {heads}")
    if not _has_days(layout):
        heads = ", ".join(quoted(one.called) for one in layout.columns)
        raise TableError(
            "date",
            name,
            f"no column of dates among {heads}",
            f'; if one is, say so, as in --columns "{layout.columns[0].called}=date"',
        )
    _refuse_doubles(layout, name)
    return layout


def table_in(grids: Sequence[Grid], name: str, said: Mapping[str, str], units: Mapping[str, str]) -> Layout:
    """As `layout_of`, but whatever may be missing or stand there twice. Raises WeatherError where there is no table."""
    layouts = [
        layout for grid in grids for shape in shapes_of(grid, name) if (layout := _laid_out(shape, said)) is not None
    ]
    if not layouts:
        raise WeatherError(f"{name}: holds no table; a table has a heading over each column and a row a day")
    layout = max(layouts, key=lambda one: (_has_days(one), len(one.readings), len(one.rows)))
    alike = [one for one in layouts if one.columns_alike(layout) and one.grid.title != layout.grid.title]
    if alike:  # a sheet a month
        layout = replace(layout, rows=tuple(row for one in (layout, *alike) for row in one.rows))
    columns = tuple(_in_unit(one, units) for one in _without_doubles(layout.columns))
    return replace(layout, columns=columns)


def column_said(words: str) -> tuple[str, str]:
    """Heading and name of a column from HEADING=NAME. Raises WeatherError saying what would be right."""
    heading, equals, name = (part.strip() for part in words.rpartition("="))
    known = [*COLUMNS, *SAID_UNITS, *CALENDAR, LEFT_OUT[0]]
    if not equals or not heading or name not in {*known, *LEFT_OUT}:
        raise WeatherError(f"--columns {quoted(words)}: write HEADING=NAME, with a name of: {', '.join(known)}")
    return heading, name


# ---- The header ----------------------------------------------------------------------------------------------------


def _laid_out(grid: Grid, said: Mapping[str, str]) -> Layout | None:
    best: tuple[int, Layout] | None = None
    for place in range(min(len(grid.rows), SEARCHED)):
        for depth in (1, 2):
            layout = _with_header(grid, place, depth, said)
            score = _score(layout, depth) if layout else 0
            if layout and (best is None or score > best[0]):
                best = (score, layout)
    begins_with_values = bool(grid.rows) and any(map(_is_value, grid.rows[0].cells))
    bare = _with_header(grid, 0, 0, said) if begins_with_values else None
    return bare if best is None or (bare and _score(bare, 0) > best[0]) else best[1]


def _score(layout: Layout, depth: int) -> int:
    """How much of a header is understood; the fewer rows it takes the better."""
    known = len({one.meaning.column for one in layout.columns if one.meaning.column})
    return 10 * (known + 3 * _has_days(layout)) - depth


def _with_header(grid: Grid, place: int, depth: int, said: Mapping[str, str]) -> Layout | None:
    """The table whose header begins at a row; depth: rows of it, without any row of units."""
    rows = grid.rows[place + depth :]
    if not rows:
        return None
    head = [row.cells for row in grid.rows[place : place + depth]]
    if any(_is_value(cell) for row in head for cell in row) or not all(any(row) for row in head):
        return None
    headings = list(_joined(head)) if head else [""] * max(len(row.cells) for row in rows[:LOOKED_AT])
    units: list[Unit | None] = [None] * len(headings)
    if depth and len(rows) > 1 and _is_of_units(rows[0].cells):
        units = [_unit_alone(cell) for cell in rows[0].cells]
        rows = rows[1:]
    width = max(len(headings), max((len(row.cells) for row in rows[:LOOKED_AT]), default=0))
    columns = []
    for number in range(1, width + 1):
        heading = headings[number - 1] if number <= len(headings) else ""
        below = units[number - 1] if number <= len(units) else None
        first = [row.cells[number - 1] for row in rows[:LOOKED_AT] if number <= len(row.cells)]
        if heading or any(first):
            columns.append(_column(number, heading, below, first, said))
    above = (grid.title, *(cell for row in grid.rows[:place] for cell in row.cells if cell))
    header_row = grid.rows[place].number if depth else None
    return Layout(grid, above, header_row, tuple(_calendar_settled(columns)), rows)


def _joined(head: Sequence[Sequence[str]]) -> Iterator[str]:
    """One heading a column from one or two rows; a wide heading above several columns counts for each."""
    if len(head) == 1:
        yield from head[0]
        return
    wide = ""
    for upper, lower in zip_longest(*head, fillvalue=""):
        wide = upper or (wide if lower else "")
        yield f"{wide} {lower}".strip()


def _is_of_units(cells: Sequence[str]) -> bool:
    """Whether a row holds units and no values."""
    filled = [cell for cell in cells if cell]
    found = [_unit_alone(cell) for cell in filled]
    return sum(map(bool, found)) * 2 >= len(filled) > 0 and not any(_is_value(cell) for cell in filled)


def _unit_alone(cell: str) -> Unit | None:
    """The unit that a cell holds and nothing else: mm, (mm) or in mm."""
    return unit(cell.strip("()[] ").removeprefix("in "))


def _is_value(cell: str) -> bool:
    return bool(cell) and (number_in(cell) == number_in(cell) or bool(decimal_marks(cell)) or bool(written_date(cell)))


# ---- The columns ---------------------------------------------------------------------------------------------------


def _column(
    number: int, heading: str, below: Unit | None, first: Sequence[str], said: Mapping[str, str]
) -> TableColumn:
    found = TableColumn(number, heading, meaning(heading), first=tuple(first))
    name = next((name for key, name in said.items() if _is_called(found, key)), None)
    if name is not None:
        return replace(found, meaning=_said_meaning(name, heading, below), is_said=True)
    known = found.meaning
    if known.column in COLUMNS and known.unit is None and below is not None and below.kind == kind_of(known.column):
        return replace(found, meaning=known._replace(unit=below))
    if not known.column and not known.unit and below is not None and not folded(heading):
        return replace(found, meaning=Meaning(OF_UNIT.get(below.kind, ""), below, is_tentative=True))
    return found


def _said_meaning(name: str, heading: str, below: Unit | None) -> Meaning:
    if name in LEFT_OUT:
        return Meaning()
    if name in SAID_UNITS:
        column, written = SAID_UNITS[name]
        return Meaning(column, unit(written, kind_of(column)))
    if name in CALENDAR:
        return meaning(heading)._replace(column=name, unit=None, is_tentative=False)
    kind = kind_of(name)
    return Meaning(name, unit_in(heading, kind) or (below if below and below.kind == kind else None))


def _is_called(column: TableColumn, key: str) -> bool:
    return (
        key == str(column.number)
        or (bool(column.heading) and folded(column.heading) == folded(key) != "")
        or (key == column.heading != "")
    )


def _calendar_settled(columns: Sequence[TableColumn]) -> Iterator[TableColumn]:
    """The columns, those of the calendar told by what stands in them."""
    dated = [one for one in columns if one.meaning.column == DATE and one.is_said]
    dated = dated or [one for one in columns if one.meaning.column == DATE and _holds_dates(one.first, PARTLY)]
    dated = dated or [one for one in columns if one.meaning.column in {DAY, HOUR, MONTH} and _holds_dates(one.first)]
    dated = dated or [one for one in columns if one.meaning.column in {DATE, DAY} and _holds_days_of_a_year(one.first)]
    dated = dated or [one for one in columns[:1] if not one.heading and _holds_days_of_a_year(one.first)]
    named = [one for one in columns if one.meaning.column == DATE and not dated]
    plain = [one for one in columns if not one.meaning.column and not one.is_said and _holds_dates(one.first)]
    parts = {one.meaning.column for one in columns}
    in_parts = not dated and YEAR in parts and ({MONTH, DAY} <= parts or YEARDAY in parts)
    date = next(iter(dated or ([] if in_parts else named or plain)), None)
    for one in columns:
        if date is not None and one.number == date.number:
            yield replace(one, meaning=one.meaning._replace(column=DATE, is_tentative=False))
        elif one.meaning.column in CALENDAR and not one.is_said and _is_idle(one, date, in_parts=in_parts):
            yield replace(one, meaning=_instead(one.heading))
        else:
            yield one


def _is_idle(column: TableColumn, date: TableColumn | None, *, in_parts: bool) -> bool:
    """Whether a calendar column is not needed to tell the day."""
    return column.meaning.column == DATE or (column.meaning.column != HOUR and (date is not None or not in_parts))


def _instead(heading: str) -> Meaning:
    """What a heading that is no date means: "mm" is rain."""
    found = unit(heading)
    return Meaning(OF_UNIT.get(found.kind, ""), found, is_tentative=True) if found else Meaning()


def _holds_dates(cells: Sequence[str], share: float = MOSTLY) -> bool:
    """Whether so many of the cells are dates."""
    filled = [cell for cell in cells if cell]
    return bool(filled) and sum(written_date(cell) is not None for cell in filled) >= share * len(filled)


def _holds_days_of_a_year(cells: Sequence[str]) -> bool:
    """Whether they are dates without their year, such as 1 May."""
    return _holds_dates([with_year(cell, LEAP_YEAR) for cell in cells], PARTLY)


def with_year(cell: str, year: int) -> str:
    """A date without its year, such as 1 May, with a year."""
    text = cell.strip().rstrip(".")
    between = next((mark for mark in "/.-" if mark in text), " ")
    return f"{text}{between}{year}" if text else ""


def _has_days(layout: Layout) -> bool:
    parts = {one.meaning.column for one in layout.columns}
    return DATE in parts or (YEAR in parts and ({MONTH, DAY} <= parts or YEARDAY in parts))


def _without_doubles(columns: Sequence[TableColumn]) -> Iterator[TableColumn]:
    """The columns, of each quantity those that were said, else those that are surest; several where they are alike."""
    best: dict[str, tuple[bool, ...]] = {}
    for one in columns:
        best[one.meaning.column] = max(_rank(one), best.get(one.meaning.column, ()))
    for one in columns:
        is_kept = one.meaning.column in {"", HOUR} or _rank(one) == best[one.meaning.column]
        yield one if is_kept else replace(one, meaning=Meaning())


def _refuse_doubles(layout: Layout, name: str) -> None:
    kept: dict[str, TableColumn] = {}
    for one in layout.columns:
        column = one.meaning.column
        if not column or column == HOUR:
            continue
        other = kept.setdefault(column, one)
        if other is not one:
            keys = [str(each.number) if other.called == one.called else each.called for each in (other, one)]
            raise TableError(
                "double",
                name,
                f"{quoted(other.called)} and {quoted(one.called)} may both be {column}",
                f'; say which, as in --columns "{keys[0]}={column}" --columns "{keys[1]}=none"',
                heads=(other.called, one.called),
                names=(column,),
            )


def _in_unit(column: TableColumn, units: Mapping[str, str]) -> TableColumn:
    """A reading in the unit that somebody says it is in, if that is one of its kind."""
    written = next((written for key, written in units.items() if _is_called(column, key)), None)
    if written is None or column.meaning.column not in COLUMNS:
        return column
    said = units_of(kind_of(column.meaning.column)).get(written)
    return column if said is None else replace(column, meaning=column.meaning._replace(unit=said))


def _rank(column: TableColumn) -> tuple[bool, bool, bool, bool]:
    known = column.meaning
    return (
        column.is_said,
        any(column.first),
        not known.is_tentative,
        known.unit is not None and known.unit.factor == 1.0,
    )
