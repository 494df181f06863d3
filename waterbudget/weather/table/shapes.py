"""Other shapes that a table of days may have, brought to the usual one: a heading over each column, a row a day."""

import datetime as dt
import re
from collections.abc import Callable, Iterator, Sequence
from itertools import zip_longest

from waterbudget.rows.cells import number_in
from waterbudget.rows.dates import month_number, written_date
from waterbudget.rows.sheet import Row
from waterbudget.weather.files import COLUMNS
from waterbudget.weather.table.grid import Grid
from waterbudget.weather.table.headings import folded, meaning

SEARCHED = 60  # rows, for a header
MOSTLY, PARTLY = 0.8, 0.3  # of cells; a day has readings of many kinds, few of which count here
LEAST_MONTHS, LEAST_DAYS = 3, 10
LONGEST_MONTH = 31
YEAR = re.compile(r"(?<![0-9.,])((?:19|20|21)[0-9]{2})(?![0-9]|[.,][0-9])")
MONTH_AND_YEAR = re.compile(r"([^\W\d_]{3,10})\.?[ _/-]*((?:19|20|21)[0-9]{2})(?![0-9])")


def shapes_of(grid: Grid, name: str) -> Iterator[Grid]:
    """The table as it stands, and as it would be if it had one of the other shapes; name: of its file."""
    yield grid
    for shape in (
        _turned(grid),
        _months_side_by_side(grid, name),
        _days_of_a_month(grid, name),
        _one_reading_a_row(grid),
    ):
        if shape.rows:
            yield shape


def only_year(texts: Sequence[str]) -> int | None:
    """The only year that is told in texts, None where there is none or more."""
    years = {int(year) for text in texts for year in YEAR.findall(text)}
    return years.pop() if len(years) == 1 else None


def _turned(grid: Grid) -> Grid:
    """Days side by side, a row a quantity."""
    if len(grid.rows) > SEARCHED:
        return grid._replace(rows=())
    columns = zip_longest(*(row.cells for row in grid.rows), fillvalue="")
    return grid._replace(rows=tuple(Row(number, cells) for number, cells in enumerate(columns, 1) if any(cells)))


def _months_side_by_side(grid: Grid, name: str) -> Grid:
    """A year of one quantity: a column a month, a row for each day of the months."""
    for place, head in enumerate(grid.rows[:SEARCHED]):
        months = {column: month for column, cell in enumerate(head.cells) if (month := _month(cell)) is not None}
        if len(months) < LEAST_MONTHS:
            continue
        above = [grid.title, *(cell for row in grid.rows[:place] for cell in row.cells if cell), *head.cells]
        year = only_year(above) or only_year([name])
        days = [(row, day) for row in grid.rows[place + 1 :] if (day := _day(row.cells[0])) is not None]
        if year is None or len(days) < LEAST_DAYS:
            continue
        what = next((text for text in [*above, name] if meaning(text).column in COLUMNS), "Rain")
        rows = [
            Row(row.number, (date.isoformat(), row.cells[column] if column < len(row.cells) else ""))
            for column, month in months.items()
            for row, day in days
            if (date := _date(year, month, day)) is not None
        ]
        return grid._replace(rows=(Row(head.number, ("Date", what)), *rows))
    return grid._replace(rows=())


def _days_of_a_month(grid: Grid, name: str) -> Grid:
    """A month whose rows have the number of the day alone; title or file name tell the month."""
    days = {place: day for place, row in enumerate(grid.rows) if (day := _day(row.cells[0])) is not None}
    if len(days) < LEAST_DAYS or sorted(set(days.values())) != list(days.values()):
        return grid._replace(rows=())
    above = [grid.title, *(cell for row in grid.rows[: min(days)] for cell in row.cells)]
    for texts in (above, [name]):
        found = {
            (int(year), month)
            for text in texts
            for word, year in MONTH_AND_YEAR.findall(text)
            if (month := month_number(word)) is not None
        }
        if len(found) == 1:
            year, month = found.pop()
            dates = {place: _date(year, month, day) for place, day in days.items()}
            return grid._replace(
                rows=tuple(
                    row._replace(cells=(str(dates[place] or ""), *row.cells[1:])) if place in days else row
                    for place, row in enumerate(grid.rows)
                )
            )
    return grid._replace(rows=())


def _one_reading_a_row(grid: Grid) -> Grid:
    """A day, what was read, and its value in each row."""
    sample = [row.cells for row in grid.rows[1 : SEARCHED + 1]]
    columns = range(min(map(len, sample), default=0))

    def first(holds: Callable[[str], bool], share: float = MOSTLY, after: int = -1) -> int | None:
        """The first column of which so many cells hold something."""
        for column in columns[after + 1 :]:
            if sum(holds(cells[column]) for cells in sample) >= share * len(sample):
                return column
        return None

    date, kind = first(lambda cell: written_date(cell) is not None), first(_is_reading, PARTLY)
    value = None if kind is None else first(_is_number, after=kind)
    if date is None or kind is None or value is None:
        return grid._replace(rows=())
    body = [row for row in grid.rows[1:] if len(row.cells) > max(date, value)]
    heads = list(dict.fromkeys(row.cells[kind] for row in body if _is_reading(row.cells[kind])))
    found: dict[str, tuple[int, dict[str, str]]] = {}
    for row in body:
        _, read = found.setdefault(row.cells[date], (row.number, {}))
        read.setdefault(row.cells[kind], row.cells[value])
    rows = (Row(number, (day, *(read.get(head, "") for head in heads))) for day, (number, read) in found.items())
    return grid._replace(rows=(Row(grid.rows[0].number, ("Date", *heads)), *rows))


def _month(cell: str) -> int | None:
    """The month that a cell names and nothing else but its year."""
    words = YEAR.sub("", cell).split()
    return month_number(words[0].strip(".-/")) if len(words) == 1 else None


def _day(cell: str) -> int | None:
    number = number_in(cell.strip().removesuffix("."))
    return int(number) if 1 <= number <= LONGEST_MONTH and number % 1 == 0 else None


def _date(year: int, month: int, day: int) -> dt.date | None:
    try:
        return dt.date(year, month, day)
    except ValueError:
        return None


def _is_reading(cell: str) -> bool:
    return bool(folded(cell)) and meaning(cell).column in COLUMNS


def _is_number(cell: str) -> bool:
    return number_in(cell.replace(",", ".")) == number_in(cell.replace(",", "."))
