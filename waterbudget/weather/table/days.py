"""The day of each row of a table, and what had to be taken for granted to tell it."""

import datetime as dt
import re
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from itertools import pairwise
from statistics import median

from waterbudget.errors import WeatherError
from waterbudget.rows.cells import number_in, quoted
from waterbudget.rows.dates import (
    DAY_FIRST,
    FIRST_YEAR,
    LAST_YEAR,
    MONTH_FIRST,
    AmbiguousDateError,
    dates_of,
    written_date,
)
from waterbudget.weather.table.columns import MOSTLY, Layout, TableColumn, with_year
from waterbudget.weather.table.faults import TableError
from waterbudget.weather.table.headings import DATE, DAY, HOUR, MONTH, YEAR, YEARDAY
from waterbudget.weather.table.shapes import only_year

FIRST_SERIAL, LAST_SERIAL = 20_000, 80_000  # 1954 to 2119, as spreadsheets count days
SERIAL_BEGINS = dt.date(1899, 12, 30)
ORDER_IN_WORDS = {  # how a heading may tell the order of its dates
    DAY_FIRST: re.compile(r"\b[dtj]{1,2}[-/. ]?m{1,2}[-/. ]?[yja]{2,4}\b", re.IGNORECASE),
    MONTH_FIRST: re.compile(r"\bm{1,2}[-/. ]?d{1,2}[-/. ]?y{2,4}\b", re.IGNORECASE),
}
CLOCK = re.compile(r"(?:^|[ T])([0-9]{1,2})[:h.]([0-9]{2})(?::[0-9.]+)?\s*([AaPp]?)")
WHOLE_HOUR = re.compile(r"([0-9]{1,2})(?:00|\.0)?\s*(?:h|hrs?|uhr|Uhr)?")
LISTED = 3
FEW = 5
WEEK, SHORTEST_MONTH = 7, 28


@dataclass(frozen=True)
class Days:
    """The day of each row, None for a row without one, and its time of day where there is any.

    year: the year that was taken from the title, as no date has one. is_counted: whether days were told by the numbers
    that spreadsheets count them with.
    """

    dates: tuple[dt.date | None, ...]
    times: tuple[str, ...]
    year: int | None = None
    is_counted: bool = False

    @property
    def known(self) -> list[dt.date]:
        """The days, one a row that has one."""
        return [date for date in self.dates if date is not None]

    @property
    def is_by_the_hour(self) -> bool:
        """Whether most days have several rows, each of another time."""
        at: dict[dt.date, list[str]] = {}
        for date, time in zip(self.dates, self.times, strict=True):
            if date is not None:
                at.setdefault(date, []).append(time)
        several = [times for times in at.values() if len(times) > 1]
        return len(several) * 2 > len(at) and all(len(set(times)) > 1 for times in several)

    @property
    def step(self) -> float:
        """Days from a row to the next, as a rule; 1 for a single row."""
        steps = [abs((later - day).days) for day, later in pairwise(sorted(set(self.known)))]
        return median(steps) if steps else 1.0


def days_of(layout: Layout, name: str, order: str | None) -> Days:
    """The days of a table. order: which number comes first, where somebody says it.

    Raises WeatherError where they cannot be told, too many rows have none, or the table has one row a month.
    """
    column = layout.column(DATE)
    days = _by_parts(layout) if column is None else _by_date(layout, column, name, order)
    _refuse_dateless(layout, days, column, name)
    if not days.is_by_the_hour and days.step >= SHORTEST_MONTH and len(set(days.known)) > 2:  # noqa: PLR2004 -- a series
        raise WeatherError(f"{name}: has one row a month; give one row a day, or one a week for a rain gauge")
    outside = [date for date in days.known if not FIRST_YEAR <= date.year <= LAST_YEAR]
    if outside:
        raise WeatherError(f"{name}: has days of {outside[0].year}; write years from {FIRST_YEAR} to {LAST_YEAR}")
    return days


def _by_date(layout: Layout, column: TableColumn, name: str, order: str | None) -> Days:
    cells = layout.cells(column)
    hours = layout.column(HOUR)
    if hours is not None:
        cells = _filled_down(cells)  # one cell for all hours of a day
    times = [_clock(cell) for cell in cells] if hours is None else _clocks(layout.cells(hours))
    numbers = [number_in(cell) for cell in cells]
    filled = sum(map(bool, cells))
    if filled and sum(FIRST_SERIAL <= number <= LAST_SERIAL for number in numbers) >= MOSTLY * filled:
        dates = [
            SERIAL_BEGINS + dt.timedelta(days=int(number)) if FIRST_SERIAL <= number <= LAST_SERIAL else None
            for number in numbers
        ]
        parts = [f"{number % 1:.5f}" if number % 1 else "" for number in numbers]
        return Days(tuple(dates), tuple(parts if hours is None else times), is_counted=True)
    year = None
    if sum(written_date(cell) is not None for cell in cells) < filled / 2:
        year = _year_above(layout, name, column)
        cells = [cell if year is None else with_year(cell, year) for cell in cells]
    order = order or next((one for one, told in ORDER_IN_WORDS.items() if told.search(column.heading)), None)
    try:
        found = dates_of(cells, lambda number: f"row {layout.rows[number].number}: {column.called}", order)
    except AmbiguousDateError as error:
        raise TableError("order", name, error.said, "; add --day-first or --month-first") from None
    return Days(tuple(found), tuple(times), year)


def _by_parts(layout: Layout) -> Days:
    """Days by a column for the year and others for month and day, or the day of the year."""
    years, months, days, yeardays = (_parts(layout, part) for part in (YEAR, MONTH, DAY, YEARDAY))
    dates: list[dt.date | None] = []
    for number in range(len(layout.rows)):
        if days and months:
            cell = "-".join((_whole(years[number]), _whole(months[number]), _whole(days[number])))
            found = written_date(cell if _whole(months[number]).isdecimal() else " ".join(reversed(cell.split("-"))))
            dates.append(found.year_first or found.day_first if found else None)
        else:
            year, day = number_in(years[number]), number_in(yeardays[number])
            known = dt.MINYEAR <= year <= dt.MAXYEAR and 1 <= day <= 366  # noqa: PLR2004 -- days of a leap year
            dates.append(dt.date(int(year), 1, 1) + dt.timedelta(days=int(day) - 1) if known else None)
    hours = layout.column(HOUR)
    times = [""] * len(layout.rows) if hours is None else _clocks(layout.cells(hours))
    return Days(tuple(dates), tuple(times))


def _parts(layout: Layout, part: str) -> list[str]:
    column = layout.column(part)
    cells = [] if column is None else layout.cells(column)
    return cells if part in {DAY, YEARDAY} else _filled_down(cells)


def _whole(cell: str) -> str:
    """A number as people count: 5 for 5.0."""
    return cell.removesuffix(".0")


def _filled_down(cells: Sequence[str]) -> list[str]:
    filled: list[str] = []
    for cell in cells:
        filled.append(cell or (filled[-1] if filled else ""))
    return filled


def _clocks(cells: Sequence[str]) -> list[str]:
    """The times of a column of their own, in words if need be: am, pm."""
    return [_clock(cell) or cell.casefold() for cell in cells]


def _clock(cell: str) -> str:
    if clock := CLOCK.search(cell):
        return f"{int(clock[1]):02d}:{clock[2]}{clock[3].lower()}"
    whole = WHOLE_HOUR.fullmatch(cell.strip())
    return f"{int(whole[1]):02d}:00" if whole else ""


def _year_above(layout: Layout, name: str, column: TableColumn) -> int | None:
    """The only year that title, heading or file name tell."""
    return only_year((*layout.above, column.heading)) or only_year((name,))


def _refuse_dateless(layout: Layout, days: Days, column: TableColumn | None, name: str) -> None:
    cells = [""] * len(layout.rows) if column is None else layout.cells(column)
    without = [number for number, date in enumerate(days.dates) if date is None]
    some = [number for number in without if cells[number]]
    if not days.known or (len(some) > FEW and len(some) > (1.0 - MOSTLY) * len(days.dates)):
        first = (some or without)[0]
        told = quoted(cells[first]) if cells[first] else "nothing"
        many = f", and so on in {len(some) - 1:,} more rows" if len(some) > 1 else ""
        raise WeatherError(
            f"{name}: row {layout.rows[first].number}: {told} is no date{many}; write dates with their year, such as "
            "2031-05-01"
        )


def on_each(
    dates: Sequence[dt.date | None], same: Callable[[int, int], bool]
) -> tuple[list[int], list[tuple[int, int]]]:
    """The rows to keep, one a day, the first; and pairs of rows of one day that are not the same."""
    kept: dict[dt.date, int] = {}
    apart = []
    for number, date in enumerate(dates):
        if date is None:
            continue
        first = kept.setdefault(date, number)
        if first != number and not same(first, number):
            apart.append((first, number))
    return list(kept.values()), apart
