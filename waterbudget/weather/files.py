"""Read a weather file: one row a day, every fault told with its row and date, and ET0 added."""

from __future__ import annotations

import datetime as dt
import difflib
import math
from contextlib import contextmanager
from pathlib import Path
from typing import TYPE_CHECKING, NamedTuple, NoReturn, Protocol

import numpy as np

from waterbudget.errors import InputError, WeatherError
from waterbudget.example import is_starter_weather
from waterbudget.rows.cells import doubled_heads, number_in, quoted, ragged
from waterbudget.rows.dates import date_in
from waterbudget.rows.sheet import CsvSheet, Row, read_sheet
from waterbudget.rows.text import read_content
from waterbudget.weather.days import Weather, frame_of
from waterbudget.weather.et0 import reference_et0

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator, Mapping, Sequence

    import pandas as pd

    from waterbudget.units import Array, DateArray


class Column(NamedTuple):
    """What a column may hold."""

    low: float
    high: float
    write: str  # what belongs there, with its unit


COLUMNS = {
    "rain_mm": Column(0.0, 2000.0, "a number of millimetres, 0 for none"),
    "et0_mm": Column(0.0, 20.0, "a number of millimetres"),
    "tmin_c": Column(-60.0, 60.0, "a number of degrees Celsius"),
    "tmax_c": Column(-60.0, 60.0, "a number of degrees Celsius"),
    "tmean_c": Column(-60.0, 60.0, "a number of degrees Celsius"),
    "rh_mean_pct": Column(0.0, 100.0, "a number of per cent"),
    "rh_min_pct": Column(0.0, 100.0, "a number of per cent"),
    "rh_max_pct": Column(0.0, 100.0, "a number of per cent"),
    "wind_m_s": Column(0.0, 60.0, "a number of metres per second (km/h divided by 3.6)"),
    "solar_mj_m2": Column(0.0, 50.0, "a number of MJ/m2 a day (mean W/m2 times 0.0864)"),
    "sun_hours": Column(0.0, 24.0, "a number of hours"),
}
LOW_AND_HIGH = (("tmin_c", "tmax_c"), ("rh_min_pct", "rh_max_pct"))
TEMPERATURES = ("tmin_c", "tmax_c")
NEEDED = ("date", "rain_mm", "et0_mm", *TEMPERATURES)  # the others may be left out

SHOWN_FAULTS = 10
SHOWN_LETTERS = 40
HEADER = "date,rain_mm,et0_mm"  # the shortest


class Place(Protocol):
    """Where the weather is measured; a key that is unknown is None."""

    @property
    def latitude_deg(self) -> float | None:
        """North positive, -90 to 90."""

    @property
    def longitude_deg(self) -> float | None:
        """East positive, -180 to 180."""

    @property
    def elevation_m(self) -> float | None:
        """Above the sea."""

    @property
    def wind_height_m(self) -> float:
        """Of the wind readings above the ground."""


def read_weather(path: str | Path, place: Place) -> Weather:
    """The checked weather of a CSV file, with ET0. Raises WeatherError with every fault that was found."""
    return weather_of_file(path, place, called(Path(path)))


def weather_of_file(path: str | Path, place: Place, source: str) -> Weather:
    """The same under another name; source: what opens the lines of faults of its ET0."""
    from waterbudget.weather.remembered import kept_et0

    read = days_of(weather_sheet(Path(path)))
    with _told_of(source):
        et0_mm, et0 = kept_et0(*read, place.latitude_deg, place.elevation_m, place.wind_height_m)
    readings = {**read.readings, "et0_mm": et0_mm}
    return Weather(read.days, {name: readings[name] for name in COLUMNS if name in readings}, et0, source)


def called(path: Path) -> str:
    """What a weather file is called on screens: its name, and that it is invented while it is a starter's."""
    return f"{path.name}, invented" if is_starter_weather(_content(path)) else path.name


def _content(path: Path) -> bytes:
    return read_content(path, "CSV file", f"write one with the columns {HEADER}", WeatherError)


def weather_of(daily: pd.DataFrame, place: Place, source: str) -> Weather:
    """Daily weather with its ET0: that of an et0_mm column, else from the other readings at the place.

    daily: a tz-naive date index without gaps, and columns of COLUMNS; others are left out. Raises WeatherError, its
    lines opening with the source, naming the day that is missing, unknown or out of range, or the site key that is.
    """
    import pandas as pd

    daily = daily[[name for name in COLUMNS if name in daily]].astype("float64")
    if fault := next(_unsound(daily), None):
        raise WeatherError(f"{source}: {fault}")
    daily.index = pd.DatetimeIndex(daily.index, freq="D", name="date")
    with _told_of(source):
        et0_mm, et0 = reference_et0(daily, place.latitude_deg, place.elevation_m, place.wind_height_m)
    daily["et0_mm"] = et0_mm
    return Weather.of(daily[[name for name in COLUMNS if name in daily]], et0, source)


def read_daily(path: str | Path) -> pd.DataFrame:
    """The checked columns of a weather CSV, without any ET0 that the file does not give.

    Index and columns as in `Weather`; columns other than those of COLUMNS are ignored. Raises WeatherError with one
    line a fault: file, row as an editor counts it (the header is row 1), date, what is wrong and what would be right.
    """
    return days_of(weather_sheet(Path(path))).frame


class Read(NamedTuple):
    """The days of a sheet, one after the other, and its readings, each (day,)."""

    days: DateArray
    readings: Mapping[str, Array]

    @property
    def frame(self) -> pd.DataFrame:
        """The same as a frame."""
        return frame_of(self.days, self.readings)


def days_of(sheet: CsvSheet, *, rain_alone: bool = False) -> Read:
    """The checked days of a sheet; rain_alone: neither temperatures nor ET0 have to be there. Errors: `read_daily`."""
    if faults := _header_faults(list(sheet.heads), rain_alone=rain_alone):
        _refuse(sheet.told, [f"row {sheet.header.number}: {fault}" for fault in faults])
    if not sheet.rows:
        _refuse(sheet.told, ["holds no days; write one row a day under the header"])
    sheet = plain(sheet)
    date_place = sheet.heads.index("date")
    places = {name: sheet.heads.index(name) for name in COLUMNS if name in sheet.heads}
    days = [_day(row, sheet.heads, date_place, places) for row in sheet.rows]
    if faults := [fault for day, order in zip(days, _order_faults(days), strict=True) for fault in day.told(order)]:
        _refuse(sheet.told, faults)
    readings = {name: np.array([day.readings[name] for day in days], np.float64) for name in places}
    return Read(np.array([day.date for day in days], "M8[D]"), readings)


@contextmanager
def _told_of(source: str) -> Iterator[None]:
    """Faults of ET0 open with where the weather comes from."""
    try:
        yield
    except WeatherError as error:
        raise WeatherError(f"{source}: {fault}" for fault in error.faults) from error


def weather_sheet(path: Path, most_rows: int | None = None) -> CsvSheet:
    """The cells of a weather file as they stand there. Raises WeatherError where it is no table."""
    try:
        return read_sheet(path, HEADER, "a day", path.name, most_rows=most_rows)
    except InputError as error:
        raise WeatherError(error.faults) from None


def plain(sheet: CsvSheet) -> CsvSheet:
    """The sheet with its dates and readings as machines write them. Raises WeatherError where it does not tell them."""
    try:
        return sheet.plain(numbers=COLUMNS, dates=["date"])
    except InputError as error:
        raise WeatherError(error.faults) from None


def credit_of(path: Path) -> str:
    """The credit in a weather file that `weather_csv` made; empty in any other. Only for files that could be read."""
    sheet = weather_sheet(path, most_rows=1)
    first = dict(zip(sheet.heads, sheet.rows[0].cells, strict=False)) if sheet.rows else {}
    return first.get("credit", "")


class _Day(NamedTuple):
    row: int
    date: dt.date | None
    readings: Mapping[str, float]
    faults: Sequence[str]

    def told(self, more: Iterable[str]) -> list[str]:
        where = f"row {self.row} ({self.date})" if self.date else f"row {self.row}"
        return [f"{where}: {fault}" for fault in (*self.faults, *more)]


def _refuse(name: str, faults: Sequence[str]) -> NoReturn:
    lines = [f"{name}: {fault}" for fault in faults[:SHOWN_FAULTS]]
    if len(faults) > SHOWN_FAULTS:
        lines.append(f"... and {len(faults) - SHOWN_FAULTS} more")
    raise WeatherError(lines)


def _header_faults(names: list[str], *, rain_alone: bool) -> list[str]:
    doubled = doubled_heads([name for name in names if name in ("date", *COLUMNS)])
    return [*doubled, *_missing_columns(names, rain_alone=rain_alone)]


def _missing_columns(names: list[str], *, rain_alone: bool) -> list[str]:
    others = {name.lower(): name for name in names if name not in ("date", *COLUMNS) and len(name) < SHOWN_LETTERS}
    missing = [name for name in ("date", "rain_mm") if name not in names]
    if "et0_mm" not in names and not rain_alone:
        lacking = [name for name in TEMPERATURES if name not in names]
        et0_misspelt = len(lacking) == len(TEMPERATURES) and _nearest("et0_mm", others)
        missing += ["et0_mm"] if et0_misspelt else lacking
    faults = []
    for name in missing:
        if near := _nearest(name, others):
            advice = f"if it is {quoted(others.pop(near))}, rename that to {name}"
        else:
            advice = f"add it to the header {quoted(','.join(names))}"
        in_place = ", or give et0_mm in place of tmin_c and tmax_c" if name in TEMPERATURES else ""
        faults.append(f"the column {name} is missing; {advice}{in_place}")
    return faults


def _nearest(name: str, others: Iterable[str]) -> str | None:
    return next(iter(difflib.get_close_matches(name, others, n=1, cutoff=0.5)), None)


def _day(row: Row, heads: Sequence[str], date_place: int, places: Mapping[str, int]) -> _Day:
    date, faults = None, []
    readings: dict[str, float] = {}
    try:
        date = date_in(row.cells[date_place] if date_place < len(row.cells) else "")
    except ValueError as fault:
        faults.append(f"date {fault}")
    if uneven := ragged(row.cells, heads, "give every column a value"):
        return _Day(row.number, date, readings, [*faults, uneven])
    for name, place in places.items():
        try:
            readings[name] = reading_in(name, row.cells[place])
        except ValueError as fault:
            faults.append(f"{name} {fault}")
    for low, high in LOW_AND_HIGH:
        if readings.keys() >= {low, high} and readings[low] > readings[high]:
            faults.append(f"{low} {readings[low]:g} is above {high} {readings[high]:g}; swap or correct them")
    return _Day(row.number, date, readings, faults)


def reading_in(name: str, cell: str) -> float:
    """The reading of a cell. Raises ValueError saying what is wrong with it and what would be right."""
    column = COLUMNS[name]
    if not cell:
        raise ValueError(f"is blank; write {column.write}{'' if name in NEEDED else ', or leave the column out'}")
    number = number_in(cell)
    if column.low <= number <= column.high:
        return number
    outside = f", outside {column.low:g} to {column.high:g}" if math.isfinite(number) else ""
    raise ValueError(f"is {quoted(cell)}{outside}; write {column.write}")


def _order_faults(days: Sequence[_Day]) -> list[list[str]]:
    """For each day, whether days are missing before it, it stands there already, or it comes too late."""
    rows: dict[dt.date, int] = {}
    for day in days:
        if day.date:
            rows.setdefault(day.date, day.row)
    complete = all(day.date for day in days)  # a date that cannot be read may be the one that seems to be missing
    faults: list[list[str]] = []
    last: dt.date | None = None
    for day in days:
        faults.append([])
        if day.date is None:
            continue
        if rows[day.date] != day.row:
            faults[-1].append(f"this day stands in row {rows[day.date]} already; keep one of them")
        elif last and day.date < last:
            faults[-1].append(f"comes after {last}; sort the rows by date")
        elif last and complete:
            between = [last + dt.timedelta(days=n) for n in range(1, (day.date - last).days)]
            if missing := [date for date in between if date not in rows]:
                faults[-1].append(f"{_in_words(missing)} missing before it; add a row for every day")
        last = max(last or day.date, day.date)
    return faults


def _in_words(missing: Sequence[dt.date]) -> str:
    if len(missing) == 1:
        return f"{missing[0]} is"
    return f"{len(missing)} days from {missing[0]} to {missing[-1]} are"


def _unsound(daily: pd.DataFrame) -> Iterator[str]:
    """What makes days that need not come from a file unfit, in words; each presumes that those before are absent."""
    import pandas as pd

    if "rain_mm" not in daily or daily.empty:
        yield "holds no days with rain_mm; give one row a day"
    for name in TEMPERATURES:
        if name not in daily and "et0_mm" not in daily:
            yield f"has no {name}; give tmin_c and tmax_c, or et0_mm"
    index = pd.DatetimeIndex(daily.index)
    whole = pd.date_range(index[0], index[-1], freq="D")
    if missing := [day.date() for day in whole.difference(index)]:
        yield f"{_in_words(missing)} missing; give every day"
    if not index.equals(whole):
        yield "days stand twice or out of order; give each once, sorted by date"
    for name, column in COLUMNS.items():
        if name in daily and not (fits := daily[name].between(column.low, column.high)).all():
            day = index[~fits][0]
            yield f"{day:%Y-%m-%d}: {name} is {daily[name][day]:g}; give {column.low:g} to {column.high:g}"
    for low, high in LOW_AND_HIGH:
        if low in daily and high in daily and (crossed := daily[low] > daily[high]).any():
            yield f"{index[crossed][0]:%Y-%m-%d}: {low} is above {high}; swap or correct them"
