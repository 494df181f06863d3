"""Many years of weather to try a garden on: as recorded, changed, and how dry they are.

`blocks.py` and `chain.py` beside this file make more years than were recorded. All of them count in years of 365 days:
29 February is left out, so that every year of a season has the same days.
"""

import re
from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from datetime import date
from typing import TYPE_CHECKING, overload

import numpy as np

from waterbudget.errors import RangeError, WeatherError
from waterbudget.units import Array, BoolArray, DateArray, IntArray
from waterbudget.weather.days import Weather

if TYPE_CHECKING:
    import pandas as pd

YEAR_DAYS = 365
COMMON_YEAR = 2001  # generated days are dated in it; neither it nor 2002 has a 29 February
NEEDED = ("rain_mm", "tmin_c", "tmax_c", "et0_mm")  # a year that lacks a value of one of these is incomplete
TEMPERATURES = ("tmin_c", "tmax_c", "tmean_c")
DRY_DAY_BELOW_MM = (
    1.0  # the dry day of the index of consecutive dry days (Zhang et al. 2011, WIREs 2: 851; from memory)
)
LONG_SPELLS_DAYS = (10, 15, 21, 28)
NOTHING_TO_WARM = "warmer weather: the record has no tmin_c and tmax_c, and ET0 alone cannot be made warmer"


@dataclass(frozen=True, eq=False)
class Years:
    """One season of many years, every array (day, scenario).

    label: the year the season starts in ("1997"), or "generated 1". rain_mm, et0_mm [mm]; tmin_c, tmax_c [°C]; None
    where the record has no such column. others: the record's other columns of numbers, kept with their day.
    years_behind: recorded years that stand behind it. note: what the method keeps, loses and leaves out.
    """

    label: tuple[str, ...]
    dates: DateArray
    rain_mm: Array
    tmin_c: Array | None
    tmax_c: Array | None
    et0_mm: Array | None
    method: str
    years_behind: int
    note: str
    others: Mapping[str, Array] = field(default_factory=dict)


@dataclass(frozen=True, eq=False)
class Record:
    """A daily record without its 29 Februaries; dates, columns and known (day,).

    known: the days on which rain_mm and, where there are such columns, tmin_c, tmax_c and et0_mm are numbers.
    """

    dates: DateArray
    columns: Mapping[str, Array]
    known: BoolArray
    leap_dates: DateArray
    leap_rain_mm: Array


def recorded_years(daily: "Weather | pd.DataFrame", start_md: str, end_md: str) -> Years:
    """Every complete recorded season, day for day; start_md and end_md are MM-DD, both included, and may pass New Year.

    daily: a weather, or one row a day, DatetimeIndex, float columns rain_mm [mm] and, as available, tmin_c, tmax_c
    [°C], et0_mm [mm]. Raises WeatherError where the record holds no complete season, a day is missing, twice or out of
    order, or start_md or end_md is no day of every year.
    """
    record = read_record(daily)
    firsts, left_out = complete_seasons(record, start_md, end_md)
    _, days = season(start_md, end_md)
    rows = firsts + np.arange(days)[:, np.newaxis]
    dates = record.dates[rows]
    leap = ((record.leap_dates[:, np.newaxis] > dates[0]) & (record.leap_dates[:, np.newaxis] < dates[-1])).any(axis=1)
    leap_years = ", ".join(str(day)[:4] for day in record.leap_dates[leap])
    note = "Keeps every recorded day as it was; shows nothing rarer than the record." + said(
        f"left out as incomplete: {', '.join(left_out)}" if left_out else "",
        f"29 February left out in {leap_years}, with {record.leap_rain_mm[leap].sum():.1f} mm of rain"
        if leap_years
        else "",
    )
    return take(record, rows, dates, tuple(str(day)[:4] for day in dates[0]), ("recorded", firsts.size, note))


@overload
def changed(weather: Years, *, warmer_c: float = ..., rain_factor: float = ...) -> Years: ...
@overload
def changed(weather: "pd.DataFrame", *, warmer_c: float = ..., rain_factor: float = ...) -> "pd.DataFrame": ...
def changed(
    weather: "Years | pd.DataFrame", *, warmer_c: float = 0.0, rain_factor: float = 1.0
) -> "Years | pd.DataFrame":
    """The same days, warmer_c [°C] added to every temperature and rain times rain_factor [-].

    Rain falls on the same days as before. Warming drops et0_mm, which no longer holds: compute it anew from the
    temperatures. Humidity, wind and sun stay as they are. Raises RangeError where a change is no number or
    rain_factor is negative, WeatherError where there are no temperatures to warm.
    """
    if not np.isfinite(warmer_c) or not 0.0 <= rain_factor < np.inf:
        raise RangeError(f"warmer_c {warmer_c}, rain_factor {rain_factor}: give numbers, rain_factor not below 0")
    if isinstance(weather, Years):
        return _changed_years(weather, warmer_c, rain_factor)
    frame = weather.assign(rain_mm=weather["rain_mm"] * rain_factor)
    if warmer_c == 0.0:
        return frame
    if not {"tmin_c", "tmax_c"} <= set(frame.columns):
        raise WeatherError(NOTHING_TO_WARM)
    warm = {name: frame[name] + warmer_c for name in TEMPERATURES if name in frame.columns}
    return frame.assign(**warm).drop(columns="et0_mm", errors="ignore")


def _changed_years(years: Years, warmer_c: float, rain_factor: float) -> Years:
    if rain_factor != 1.0:
        note = years.note + said(f"rain times {rain_factor:g}, on the same days")
        years = replace(years, rain_mm=years.rain_mm * rain_factor, note=note)
    if warmer_c == 0.0:
        return years
    if years.tmin_c is None or years.tmax_c is None:
        raise WeatherError(NOTHING_TO_WARM)
    return replace(
        years,
        tmin_c=years.tmin_c + warmer_c,
        tmax_c=years.tmax_c + warmer_c,
        et0_mm=None,
        others={name: x + warmer_c if name in TEMPERATURES else x for name, x in years.others.items()},
        note=years.note + said(f"{warmer_c:+g} °C on every day, with no ET0: compute it from the temperatures"),
    )


def dry_spells(rain_mm: Array, *, wet_mm: float = DRY_DAY_BELOW_MM) -> IntArray:
    """Lengths [days] of the runs of days with less than wet_mm of rain, scenario after scenario.

    rain_mm: (day,) or (day, scenario) [mm]. A spell that the first or last day cuts counts with the days inside.
    """
    return _spells(rain_mm, wet_mm)[0]


def _spells(rain_mm: Array, wet_mm: float) -> tuple[IntArray, IntArray]:
    """Length [days] and scenario of every dry spell."""
    dry = (rain_mm[:, np.newaxis] if rain_mm.ndim == 1 else rain_mm) < wet_mm
    edges = np.diff(np.pad(dry.astype(np.int8), ((1, 1), (0, 0))), axis=0).T
    scenario, begins = np.nonzero(edges == 1)
    return np.nonzero(edges == -1)[1] - begins, scenario


def spell_table(*years: Years, wet_mm: float = DRY_DAY_BELOW_MM) -> "pd.DataFrame":
    """The dry spells of each method beside each other: put the recorded years first and read the others against them.

    A row a method: years, years_behind, median_days of all spells, the longest of a year (mean and most), and the share
    of years with a spell of at least 10, 15, 21 and 28 days.
    """
    import pandas as pd

    rows = []
    for one in years:
        lengths, scenario = _spells(one.rain_mm, wet_mm)
        longest = np.zeros(one.rain_mm.shape[1], dtype=np.int64)
        np.maximum.at(longest, scenario, lengths)
        row = {
            "method": one.method,
            "years": longest.size,
            "years_behind": one.years_behind,
            "median_days": np.median(lengths) if lengths.size else 0.0,
            "longest_mean_days": longest.mean(),
            "longest_most_days": longest.max(),
        }
        rows.append(row | {f"share_{days}_days": (longest >= days).mean() for days in LONG_SPELLS_DAYS})
    return pd.DataFrame(rows).set_index("method")


def season(start_md: str, end_md: str) -> tuple[int, int]:
    """First day of the season, 0 for 1 January, and its number of days, 29 February not counted.

    Raises WeatherError where one is no MM-DD of every year.
    """
    first, last = (_day_of_year(md) for md in (start_md, end_md))
    return first, (last - first) % YEAR_DAYS + 1


def _day_of_year(md: str) -> int:
    try:
        if re.fullmatch("[0-9]{2}-[0-9]{2}", md):  # W18-3 is a day in ISO's other way of writing
            return date.fromisoformat(f"{COMMON_YEAR}-{md}").timetuple().tm_yday - 1
    except ValueError:
        pass
    raise WeatherError(f"season: {md!r} is no day of every year; write MM-DD, such as 05-01")


def season_dates(start_md: str, end_md: str, scenarios: int) -> DateArray:
    """Dates of generated years, all beginning in 2001; (day, scenario)."""
    first, days = season(start_md, end_md)
    dates = np.datetime64(f"{COMMON_YEAR}-01-01") + first + np.arange(days)
    return np.repeat(dates[:, np.newaxis], scenarios, axis=1)


def read_record(daily: "Weather | pd.DataFrame") -> Record:
    """The record as arrays. Raises WeatherError where rain_mm is lacking or the days are not one after the other."""
    if isinstance(daily, Weather):
        return _record(daily.days, daily.readings)
    if "rain_mm" not in daily.columns:
        raise WeatherError("record: no column rain_mm; one row a day with rain_mm is wanted")
    columns = {str(name): x.to_numpy(dtype=np.float64) for name, x in daily.select_dtypes("number").items()}
    return _record(daily.index.to_numpy().astype("datetime64[D]"), columns)


def _record(dates: DateArray, columns: Mapping[str, Array]) -> Record:
    uneven = np.flatnonzero(np.diff(dates) != np.timedelta64(1, "D"))
    if uneven.size:
        raise WeatherError(f"record: {dates[uneven[0] + 1]} follows {dates[uneven[0]]}; one row a day is wanted")
    months = dates.astype("M8[M]")
    leap = (months.astype(np.int64) % 12 == 1) & (dates - months == np.timedelta64(28, "D"))
    known = np.logical_and.reduce([np.isfinite(columns[name]) for name in NEEDED if name in columns])
    kept = {name: x[~leap] for name, x in columns.items()}
    return Record(dates[~leap], kept, known[~leap], dates[leap], columns["rain_mm"][leap])


def complete_seasons(record: Record, start_md: str, end_md: str) -> tuple[IntArray, tuple[str, ...]]:
    """Row of the first day of every complete season, and the years that are left out; rows (season,).

    Raises WeatherError where no season is complete.
    """
    first_day, days = season(start_md, end_md)
    rows = record.dates.size
    begins = _day_of_year(str(record.dates[0])[5:]) if rows else 0
    firsts = np.arange((first_day - begins) % YEAR_DAYS - YEAR_DAYS, rows, YEAR_DAYS)
    firsts = firsts[firsts + days > 0]
    unknown = np.concatenate([[0], np.cumsum(~record.known)])
    inside = (firsts >= 0) & (firsts + days <= rows)
    complete = inside.copy()
    complete[inside] = unknown[firsts[inside] + days] == unknown[firsts[inside]]
    if not complete.any():
        held = f"{record.dates[0]} to {record.dates[-1]}" if rows else "no day"
        raise WeatherError(f"record: {held} holds no complete season {start_md} to {end_md} of the columns it has")
    labels = int(str(record.dates[0])[:4]) + (firsts + begins) // YEAR_DAYS
    return firsts[complete], tuple(str(year) for year in labels[~complete])


def take(record: Record, rows: IntArray, dates: DateArray, label: tuple[str, ...], told: tuple[str, int, str]) -> Years:
    """The record's rows (day, scenario) as years; told: method, years_behind, note."""
    x = {name: column[rows] for name, column in record.columns.items()}
    method, years_behind, note = told
    return Years(
        label=label,
        dates=dates,
        rain_mm=x.pop("rain_mm"),
        tmin_c=x.pop("tmin_c", None),
        tmax_c=x.pop("tmax_c", None),
        et0_mm=x.pop("et0_mm", None),
        method=method,
        years_behind=years_behind,
        note=note,
        others=x,
    )


def said(*remarks: str) -> str:
    """Further sentences of a note."""
    return "".join(f" {remark[0].upper()}{remark[1:]}." for remark in remarks if remark)
