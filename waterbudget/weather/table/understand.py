"""Any table of weather that a gardener has: what its columns mean, which days it holds, and what had to be assumed.

`understand` is a function of the table's bytes alone: a command and a page ask it alike, and show what it gives.
"""

import datetime as dt
from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Literal, TypeAlias

import numpy as np

from waterbudget.errors import WeatherError
from waterbudget.rows.cells import quoted
from waterbudget.units import WEEK_DAYS, Array
from waterbudget.weather.files import COLUMNS, LOW_AND_HIGH, TEMPERATURES
from waterbudget.weather.table.columns import Layout, layout_of
from waterbudget.weather.table.days import Days, days_of, on_each
from waterbudget.weather.table.faults import TableError
from waterbudget.weather.table.grid import Grid, grids_of
from waterbudget.weather.table.headings import DATE
from waterbudget.weather.table.readings import OddCell, Readings, readings_of, rows_in_use

if TYPE_CHECKING:
    import pandas as pd

Rhythm: TypeAlias = Literal["day", "week", "hour"]  # of the rows

FIRST_ROWS = 5
WEEKLY = (6.5, 7.5)  # days from a row to the next, as a rule
HOURS_ENOUGH = 5.0 / 6.0  # of the rows of a usual day: 20 of 24 hours
ROWS_FOR_EXTREMES = 8  # a day, from which on its lowest and highest temperature are told
MOSTLY_CROSSED = 0.5
LISTED = 3
SUMMED = ("rain_mm", "et0_mm", "sun_hours", "solar_mj_m2")  # over the parts of a day, but for rates


@dataclass(frozen=True)
class Hints:
    """What somebody says of a table, so that it need not be guessed.

    columns: name by heading or number, as `columns.column_said` takes them apart; units: what they are in, by heading
    or number, too, each as `units.units_of` calls it. order: which number of a date comes first, one of
    rows.dates.ORDERS. decimals: the mark before them. dry_blanks: whether a day without any rain written down was dry.
    """

    columns: Mapping[str, str] = field(default_factory=dict)
    units: Mapping[str, str] = field(default_factory=dict)
    order: str | None = None
    decimals: str | None = None
    dry_blanks: bool = False


@dataclass(frozen=True, eq=False)
class Understood:
    """A table as it was understood; nothing of it is mended yet.

    readings: its columns. daily: their values a day in the units of the weather file, NaN where there is none; the
    index "date" has every day from the first to the last. rhythm: what a row is. first_rows: the first ones, cells of
    the date and of each reading. dateless: number and first cell of rows that have no date. odd: cells that were left
    out. crossed: days on which the lowest was above the highest, left out. repeated: rows that stand there twice.
    dry_between: days without a row that were taken for dry.
    """

    name: str
    layout: Layout
    days: Days
    readings: tuple[Readings, ...]
    daily: "pd.DataFrame"
    rhythm: Rhythm
    first_rows: tuple[tuple[str, ...], ...]
    dateless: tuple[tuple[int, str], ...]
    odd: tuple[OddCell, ...]
    crossed: tuple[dt.date, ...]
    repeated: int
    dry_between: int

    @property
    def first(self) -> dt.date:
        """The first day."""
        day: dt.date = self.daily.index[0].date()
        return day

    @property
    def last(self) -> dt.date:
        """The last day."""
        day: dt.date = self.daily.index[-1].date()
        return day

    @property
    def lacking(self) -> tuple[str, ...]:
        """The columns that a weather file needs and this table has not."""
        rain = [] if "rain_mm" in self.daily else ["rain_mm"]
        heat = [] if "et0_mm" in self.daily else [name for name in TEMPERATURES if name not in self.daily]
        return (*rain, *heat)

    @property
    def is_gauge(self) -> bool:
        """Whether it has rain but nothing to tell ET0 from, and so can only be a rain gauge's."""
        return "rain_mm" in self.daily and bool(self.lacking)

    @property
    def wind_height_m(self) -> float | None:
        """The height of the wind readings, where the heading tells it."""
        return next((one.column.meaning.height_m for one in self.readings if one.name == "wind_m_s"), None)


def understand(content: bytes, name: str, hints: Hints | None = None) -> Understood:
    """The weather in a table: CSV of any kind, or an .xlsx workbook; as `understand_grids`. content: of the file."""
    return understand_grids(grids_of(content, name), name, hints or Hints())


def understand_grids(grids: Sequence[Grid], name: str, hints: Hints) -> Understood:
    """The weather in the tables of a file.

    name: what messages call it. Raises WeatherError, in lines that name row and column, where it is no table, or has no
    readings; TableError where it leaves open which columns hold dates and readings, which number of a date is the day,
    or what decimals it has.
    """
    layout = layout_of(grids, name, hints.columns, hints.units)
    if not layout.readings:
        heads = ", ".join(quoted(one.called) for one in layout.columns)
        raise TableError(
            "readings",
            name,
            f"none of the columns {heads} is known for rain, temperature or the like",
            f'; say what they are, as in --columns "{layout.columns[-1].called}=rain_mm"',
        )
    days = days_of(layout, name, hints.order)
    in_use = [used and date is not None for used, date in zip(rows_in_use(layout), days.dates, strict=True)]
    readings = readings_of(
        layout,
        in_use,
        name,
        by_the_hour=days.is_by_the_hour,
        dry_blanks=hints.dry_blanks,
        decimals=hints.decimals,
    )
    if not any(np.isfinite(one.in_ours[in_use]).any() for one in readings):
        raise WeatherError(f"{name}: holds no reading under {', '.join(quoted(one.column.called) for one in readings)}")
    rhythm = _rhythm(layout, days, readings, name)
    dates = [date if used else None for date, used in zip(days.dates, in_use, strict=True)]
    values = {one.name: one.in_ours for one in readings}
    repeated, dry_between = 0, 0
    if rhythm == "hour":
        daily = _by_hours(dates, readings)
    else:
        rows, repeated = _one_a_day(layout, dates, values, name)
        daily = _frame([dates[row] for row in rows], {column: one[rows] for column, one in values.items()})
        if rhythm == "week":
            daily = _spread(daily[["rain_mm"]], begins=_begins(layout))
        elif list(daily) == ["rain_mm"] and (hints.dry_blanks or not (daily["rain_mm"] == 0.0).any()):
            whole = daily.asfreq("D")  # only days with rain were written down
            dry_between = len(whole) - len(daily)
            daily = whole.fillna({"rain_mm": 0.0}) if dry_between else daily
    daily, crossed = _uncrossed(_trimmed(daily), layout, name)
    return Understood(
        name=name,
        layout=layout,
        days=days,
        readings=tuple(readings),
        daily=daily,
        rhythm=rhythm,
        first_rows=_first_rows(layout, days, readings),
        dateless=_dateless(layout, days),
        odd=tuple(sorted((odd for one in readings for odd in one.odd), key=lambda odd: odd.row)),
        crossed=crossed,
        repeated=repeated,
        dry_between=dry_between,
    )


# ---- Rows into days ------------------------------------------------------------------------------------------------


def _rhythm(layout: Layout, days: Days, readings: Sequence[Readings], name: str) -> Rhythm:
    if days.is_by_the_hour:
        return "hour"
    date = layout.column(DATE)
    if WEEKLY[0] <= days.step <= WEEKLY[1] or (date is not None and date.meaning.weekly):
        if [one.name for one in readings] != ["rain_mm"]:
            others = ", ".join(quoted(one.column.called) for one in readings if one.name != "rain_mm")
            raise TableError(
                "weekly",
                name,
                "has one row a week: only rain can be spread over its days",
                f'; give one row a day, or leave out {others}, as in --columns "{readings[-1].column.called}=none"',
            )
        return "week"
    return "day"


def _one_a_day(
    layout: Layout, dates: Sequence[dt.date | None], values: Mapping[str, Array], name: str
) -> tuple[list[int], int]:
    """The rows to take, one a day, and how many stand there twice. Raises WeatherError where two contradict."""
    table = np.column_stack(list(values.values()))

    def same(one: int, other: int) -> bool:
        return bool(np.array_equal(table[one], table[other], equal_nan=True))

    rows, apart = on_each(dates, same)
    if apart:
        more = f", and {len(apart) - LISTED} more days" if len(apart) > LISTED else ""
        raise WeatherError(
            f"{name}: row {layout.rows[other].number}: {dates[other]} stands in row {layout.rows[one].number} already, "
            f"with other readings{more}; keep one of them"
            for one, other in apart[:LISTED]
        )
    return rows, sum(date is not None for date in dates) - len(rows)


def _frame(dates: Sequence[dt.date | None], values: Mapping[str, Array]) -> "pd.DataFrame":
    import pandas as pd

    index = pd.DatetimeIndex(list(dates), name="date")
    return pd.DataFrame(dict(values), index=index, dtype="float64").sort_index()[[n for n in COLUMNS if n in values]]


def _by_hours(dates: Sequence[dt.date | None], readings: Sequence[Readings]) -> "pd.DataFrame":
    """Days of hours: sums of rain, sun and ET0, means of humidity, wind and radiation, extremes of temperature.

    A quantity of a day of which too many hours are missing has no value.
    """
    import pandas as pd

    rows = [row for row, date in enumerate(dates) if date is not None]
    hours = pd.DataFrame({one.name: one.in_ours[rows] for one in readings}, index=[dates[row] for row in rows])
    by_day = hours.groupby(level=0)
    usual = by_day.size().median()
    enough = by_day.count() >= HOURS_ENOUGH * usual
    sums, means = by_day.sum(), by_day.mean()
    a_day = {one.name for one in readings if one.unit.is_rate}
    daily = pd.DataFrame({name: (means if name in a_day else sums)[name] for name in SUMMED if name in sums})
    for mean, low, high in (("tmean_c", "tmin_c", "tmax_c"), ("rh_mean_pct", "rh_min_pct", "rh_max_pct")):
        for extreme, own in ((low, by_day.min()), (high, by_day.max())):
            if extreme in hours:
                daily[extreme] = own[extreme].where(enough[extreme])
            elif mean in hours and usual >= ROWS_FOR_EXTREMES:
                daily[extreme] = own[mean].where(enough[mean])
    for name in ("tmean_c", "rh_mean_pct", "wind_m_s"):
        if name in means:
            daily[name] = means[name]
    for name in [str(name) for name in enough if name in daily]:
        daily[name] = daily[name].where(enough[name])
    daily.index = pd.DatetimeIndex(daily.index, name="date")
    return daily[[name for name in COLUMNS if name in daily]].sort_index()


def _begins(layout: Layout) -> bool:
    date = layout.column(DATE)
    return date is not None and date.meaning.begins


def _spread(weekly: "pd.DataFrame", *, begins: bool) -> "pd.DataFrame":
    """Rain of weeks, the same on each day since the reading before; begins: a date is the first day of its week."""
    import pandas as pd

    known = weekly["rain_mm"].dropna()
    week = dt.timedelta(days=WEEK_DAYS)
    parts = []
    dates = [day.date() for day in pd.DatetimeIndex(known.index)]
    for number, (day, rain_mm) in enumerate(zip(dates, known.to_numpy(), strict=True)):
        if begins:
            first, last = day, day + week - dt.timedelta(days=1)
        else:
            before = dates[number - 1] if number else day - week
            first, last = max(before, day - 2 * week) + dt.timedelta(days=1), day
        index = pd.date_range(first, last, freq="D", name="date")
        parts.append(pd.Series(float(rain_mm) / len(index), index=index, name="rain_mm"))
    daily = pd.concat(parts).to_frame()
    return daily[~daily.index.duplicated(keep="last")]


def _trimmed(daily: "pd.DataFrame") -> "pd.DataFrame":
    """Every day from the first to the last with any reading; quantities without any are left out."""
    known = daily.dropna(how="all").dropna(axis="columns", how="all")
    return daily.loc[known.index[0] : known.index[-1], list(known)].asfreq("D")


def _uncrossed(daily: "pd.DataFrame", layout: Layout, name: str) -> tuple["pd.DataFrame", tuple[dt.date, ...]]:
    """The days without lowest readings above the highest, and when that was.

    Raises WeatherError where it is mostly so.
    """
    found: Counter[dt.date] = Counter()
    for low, high in LOW_AND_HIGH:
        if low not in daily or high not in daily:
            continue
        crossed = daily[low] > daily[high]
        both = (daily[low].notna() & daily[high].notna()).sum()
        if crossed.sum() > MOSTLY_CROSSED * both:
            heads = [one.called for one in (layout.column(low), layout.column(high)) if one is not None]
            raise TableError(
                "swapped",
                name,
                f"{quoted(heads[0])} is above {quoted(heads[-1])} on {crossed.sum()} of {both} days",
                f'; say which is which, as in --columns "{heads[0]}={high}" --columns "{heads[-1]}={low}"',
                heads=heads,
            )
        found.update(day.date() for day in daily.index[crossed])
        daily = daily.assign(**{one: daily[one].mask(crossed) for one in (low, high)})
    return daily, tuple(sorted(found))


# ---- What to show --------------------------------------------------------------------------------------------------


def _first_rows(layout: Layout, days: Days, readings: Sequence[Readings]) -> tuple[tuple[str, ...], ...]:
    dated = [row for row, date in enumerate(days.dates) if date is not None][:FIRST_ROWS]
    cells = [layout.cells(one.column) for one in readings]
    return tuple((str(days.dates[row]), *(column[row] for column in cells)) for row in dated)


def _dateless(layout: Layout, days: Days) -> tuple[tuple[int, str], ...]:
    without = [layout.rows[row] for row, date in enumerate(days.dates) if date is None]
    return tuple((row.number, next(cell for cell in row.cells if cell)) for row in without)
