"""Read a weather file: one row a day, every fault told with its row and date, and ET0 added."""

from __future__ import annotations

import codecs
import csv
import datetime as dt
import difflib
import io
import math
import re
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, NamedTuple, NoReturn, Protocol

from waterbudget.errors import WeatherError
from waterbudget.rows import read_content
from waterbudget.weather.et0 import Et0, reference_et0

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator, Mapping, Sequence

    import numpy as np
    import pandas as pd
    from numpy.typing import NDArray


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

FIRST_YEAR, LAST_YEAR = 1700, 2200  # pandas counts nanoseconds from 1970, which reach from 1677 to 2262
SHOWN_FAULTS = 10
SHOWN_LETTERS = 40
SEPARATORS = {";": "semicolons", "\t": "tabs", "|": "bars"}
DAY_FIRST = re.compile(r"([0-9]{1,2})[/.-]([0-9]{1,2})[/.-]([0-9]{4})(?:[ T].*)?")
YEAR_FIRST = re.compile(r"([0-9]{4})[/.-]?([0-9]{1,2})[/.-]?([0-9]{1,2})(?:[ T].*)?")
ISO_DATE = re.compile(r"[0-9]{4}-[0-9]{2}-[0-9]{2}")


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


@dataclass(frozen=True, eq=False)
class Weather:
    """Weather of consecutive days, complete and within the ranges of COLUMNS.

    daily: float64 columns rain_mm and et0_mm, and those of the others in COLUMNS that the source had; the index
    "date" is tz-naive with freq D. et0: how et0_mm was found. source: where the weather comes from, for the screen.
    """

    daily: pd.DataFrame
    et0: Et0
    source: str

    @property
    def dates(self) -> pd.DatetimeIndex:
        """The days, one after the other."""
        import pandas as pd

        return pd.DatetimeIndex(self.daily.index)

    @property
    def date_column(self) -> NDArray[np.datetime64]:
        """The days as a season takes them, (day, 1)."""
        return self.dates.to_numpy().astype("M8[D]")[:, None]

    def between(self, start: dt.date | None, end: dt.date | None) -> Weather:
        """The days from start to end, both included; None is the first or last day there is.

        Raises WeatherError naming the days there are, where some of the period lies outside them.
        """
        import pandas as pd

        first, last = self.daily.index[0].date(), self.daily.index[-1].date()
        start, end = start or first, end or last
        if start > end:
            raise WeatherError(
                f"{self.source}: the period starts on {start} and ends before it, on {end}; "
                f"choose days from {first} to {last}"
            )
        if start < first or end > last:
            raise WeatherError(
                f"{self.source}: has no weather for all of {start} to {end}; choose days from {first} to {last}"
            )
        return Weather(self.daily.loc[pd.Timestamp(start) : pd.Timestamp(end)], self.et0, self.source)


def read_weather(path: str | Path, place: Place) -> Weather:
    """The checked weather of a CSV file, with ET0. Raises WeatherError with every fault that was found."""
    return weather_of(read_daily(path), place, Path(path).name)


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
    try:
        et0_mm, et0 = reference_et0(daily, place.latitude_deg, place.elevation_m, place.wind_height_m)
    except WeatherError as error:
        raise WeatherError(f"{source}: {fault}" for fault in error.faults) from error
    daily["et0_mm"] = et0_mm
    return Weather(daily[[name for name in COLUMNS if name in daily]], et0, source)


def read_daily(path: str | Path) -> pd.DataFrame:
    """The checked columns of a weather CSV, without any ET0 that the file does not give.

    Index and columns as in `Weather`; columns other than those of COLUMNS are ignored. Raises WeatherError with one
    line a fault: file, row as an editor counts it (the header is row 1), date, what is wrong and what would be right.
    """
    import pandas as pd

    path = Path(path)
    header, *rows = _rows(path)
    if faults := _header_faults(header.cells):
        _refuse(path.name, [f"row {header.number}: {fault}" for fault in faults])
    if not rows:
        _refuse(path.name, ["holds no days; write one row a day under the header"])
    date_place = header.cells.index("date")
    places = {name: header.cells.index(name) for name in COLUMNS if name in header.cells}
    days = [_day(row, len(header.cells), date_place, places) for row in rows]
    if faults := [fault for day, order in zip(days, _order_faults(days), strict=True) for fault in day.told(order)]:
        _refuse(path.name, faults)
    index = pd.DatetimeIndex([day.date for day in days], freq="D", name="date")
    return pd.DataFrame({name: [day.readings[name] for day in days] for name in places}, index)


def credit_of(path: Path) -> str:
    """The credit in a weather file that `weather_csv` made; empty in any other. Only for files that could be read."""
    with path.open(encoding="utf-8-sig", newline="") as handle:
        first = next(csv.DictReader(handle, skipinitialspace=True), {})
    return (first.get("credit") or "").strip()


class _Row(NamedTuple):
    number: int
    cells: list[str]


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


def _shown(text: str) -> str:
    """As it stands in the file, in one short line."""
    return repr(text if len(text) <= SHOWN_LETTERS else text[:SHOWN_LETTERS] + "...")


def _text(path: Path) -> str:
    data = read_content(path, "CSV file", "check the name and the folder", WeatherError)
    if data.startswith((codecs.BOM_UTF16_LE, codecs.BOM_UTF16_BE)):
        raise WeatherError(f"{path.name}: is UTF-16 text; save it as CSV in UTF-8")
    if b"\0" in data:
        raise WeatherError(f"{path.name}: is not a text file; save the sheet as CSV in UTF-8")
    try:
        return data.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        row = len((data[: error.start] + b".").splitlines())
        raise WeatherError(
            f"{path.name}: row {row}: has letters that are not UTF-8; save it as CSV in UTF-8"
        ) from error


def _rows(path: Path) -> list[_Row]:
    """Header and days, without the blank rows at the end; each row has the number of its first line."""
    reader = csv.reader(io.StringIO(_text(path), newline=""), strict=True, skipinitialspace=True)
    rows, number = [], 1
    try:
        for cells in reader:
            rows.append(_Row(number, [cell.strip() for cell in cells]))
            number = reader.line_num + 1
    except csv.Error as error:
        raise WeatherError(f"{path.name}: row {number}: is no CSV ({error}); check its quotation marks") from error
    while rows and not any(rows[-1].cells):
        rows.pop()
    if not rows:
        raise WeatherError(f"{path.name}: is empty; write a header (date,rain_mm,et0_mm) and one row a day")
    return rows


def _header_faults(names: list[str]) -> list[str]:
    if not any(names):
        return ["is blank; write the header there (date,rain_mm,et0_mm)"]
    for separator, words in SEPARATORS.items():
        if len(names) == 1 and separator in names[0]:
            return [f"the columns are separated by {words}; separate them by commas, and write decimals with a point"]
    doubled = [name for name in ("date", *COLUMNS) if names.count(name) > 1]
    faults = [f"the column {name} stands there {names.count(name)} times; keep one" for name in doubled]
    return faults + _missing_columns(names)


def _missing_columns(names: list[str]) -> list[str]:
    others = {name.lower(): name for name in names if name not in ("date", *COLUMNS) and len(name) < SHOWN_LETTERS}
    missing = [name for name in ("date", "rain_mm") if name not in names]
    if "et0_mm" not in names:
        lacking = [name for name in TEMPERATURES if name not in names]
        et0_misspelt = len(lacking) == len(TEMPERATURES) and _nearest("et0_mm", others)
        missing += ["et0_mm"] if et0_misspelt else lacking
    faults = []
    for name in missing:
        if near := _nearest(name, others):
            advice = f"if it is {_shown(others.pop(near))}, rename that to {name}"
        else:
            advice = f"add it to the header {_shown(','.join(names))}"
        in_place = ", or give et0_mm in place of tmin_c and tmax_c" if name in TEMPERATURES else ""
        faults.append(f"the column {name} is missing; {advice}{in_place}")
    return faults


def _nearest(name: str, others: Iterable[str]) -> str | None:
    return next(iter(difflib.get_close_matches(name, others, n=1, cutoff=0.5)), None)


def _day(row: _Row, width: int, date_place: int, places: Mapping[str, int]) -> _Day:
    if not any(row.cells):
        return _Day(row.number, None, {}, ["is blank; delete it"])
    date, faults = None, []
    readings: dict[str, float] = {}
    try:
        date = _date(row.cells[date_place] if date_place < len(row.cells) else "")
    except ValueError as fault:
        faults.append(f"date {fault}")
    if len(row.cells) != width:
        too_many = "write decimals with a point (1.5, not 1,5) and no comma at the end"
        advice = too_many if len(row.cells) > width else "give every column a value"
        faults.append(f"has {len(row.cells)} values under {width} column names; {advice}")
        return _Day(row.number, date, readings, faults)
    for name, place in places.items():
        try:
            readings[name] = _number(name, row.cells[place])
        except ValueError as fault:
            faults.append(f"{name} {fault}")
    for low, high in LOW_AND_HIGH:
        if readings.keys() >= {low, high} and readings[low] > readings[high]:
            faults.append(f"{low} {readings[low]:g} is above {high} {readings[high]:g}; swap or correct them")
    return _Day(row.number, date, readings, faults)


def _date(text: str) -> dt.date:
    """Raises ValueError saying what is wrong with the text and what would be right."""
    if not text:
        raise ValueError("is blank; write it as YYYY-MM-DD")
    day_first, year_first = DAY_FIRST.fullmatch(text), YEAR_FIRST.fullmatch(text)
    if day_first:
        day, month, year = (int(part) for part in day_first.groups())
        written = [(year, month, day), (year, day, month)]  # the day first, as in Britain; else it must be the month
    elif year_first:
        year, month, day = (int(part) for part in year_first.groups())
        written = [(year, month, day)]
    else:
        raise ValueError(f"is {_shown(text)}; write it as YYYY-MM-DD, such as 2031-05-01")
    for year, month, day in written:
        try:
            date = dt.date(year, month, day)
        except ValueError:
            continue
        if not FIRST_YEAR <= year <= LAST_YEAR:
            raise ValueError(f"is {_shown(text)}; write a year from {FIRST_YEAR} to {LAST_YEAR}")
        if not ISO_DATE.fullmatch(text):
            raise ValueError(f"is {_shown(text)}; write {date}")
        return date
    raise ValueError(f"is {_shown(text)}, a day that does not exist; correct it")


def _number(name: str, text: str) -> float:
    """Raises ValueError saying what is wrong with the text and what would be right."""
    column = COLUMNS[name]
    if not text:
        raise ValueError(f"is blank; write {column.write}{'' if name in NEEDED else ', or leave the column out'}")
    try:
        number = float(text if text.isascii() and "_" not in text else "nan")  # Python reads 1_0 and other digits too
    except ValueError:
        number = math.nan
    if column.low <= number <= column.high:
        return number
    if math.isfinite(number):
        raise ValueError(f"is {_shown(text)}, outside {column.low:g} to {column.high:g}; write {column.write}")
    if re.fullmatch(r"[-+]?[0-9]+,[0-9]+", text):
        raise ValueError(f"is {_shown(text)}; write {text.replace(',', '.')}, with a point")
    raise ValueError(f"is {_shown(text)}; write {column.write}")


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
