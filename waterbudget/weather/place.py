"""The weather of a garden's place, made ready for a run: what stations measured, the gardener's own gauge, gaps closed.

The cache also keeps, for each place, the period that was last fetched for it, so that a run finds the same days again.
"""

import re
from collections.abc import Callable
from dataclasses import dataclass, replace
from datetime import date, timedelta
from pathlib import Path
from typing import TYPE_CHECKING, NamedTuple

from waterbudget.errors import OutputError, WeatherError
from waterbudget.output import cache_folder, write_files
from waterbudget.rows.table import csv_of
from waterbudget.weather.days import Weather
from waterbudget.weather.et0 import wind_at_2m
from waterbudget.weather.files import COLUMNS, LOW_AND_HIGH, TEMPERATURES, weather_of
from waterbudget.weather.gaps import mend, missing_lines, use_gauge
from waterbudget.weather.shelf import LATE_READINGS, WIND_HEIGHT_M, Spot, named
from waterbudget.weather.station import PARTLY_THERE, WIND_TAKEN, Fetched, weather_of_place

if TYPE_CHECKING:
    import pandas as pd

    from waterbudget.weather.shelf import Record

YEARS = 10  # enough to tell a dry summer from a usual one; common practice, no source
MAY_BE_LEFT_OUT = ("tmean_c", "rh_mean_pct", "wind_m_s", "sun_hours")
SUMMER, SOUTHERN_SUMMER = ((5, 1), (9, 30)), ((11, 1), (3, 31))  # months and days
DAY = timedelta(days=1)
LISTED = 6  # days named in one note


# The period ----------------------------------------------------------------------------------------------------------


def period_of(first: date | None, last: date | None, today: date) -> tuple[date, date]:
    """The days to fetch: those asked for; else the last ten whole years of which late readings have come in."""
    newest_year = (today - LATE_READINGS).year - 1
    if last is None:
        last = date(newest_year, 12, 31) if first is None or first.year <= newest_year else today - DAY
    return first or date(last.year - YEARS + 1, 1, 1), last


def last_summer(first: date, last: date, *, south: bool) -> tuple[date, date]:
    """The last whole summer in a period, from 1 May or, south of the equator, 1 November; else the whole period."""
    (month, day), (end_month, end_day) = SOUTHERN_SUMMER if south else SUMMER
    for year in range(last.year, first.year - 1, -1):
        begins, ends = date(year, month, day), date(year + 1 if south else year, end_month, end_day)
        if first <= begins and ends <= last:
            return begins, ends
    return first, last


def remember_period(spot: Spot, station: str | None, first: date, last: date) -> bool:
    """Keep the period that was fetched for a place; whether the cache could be written."""
    try:
        write_files({_remembered(spot, station): f"{first} {last}\n".encode()}, overwrite=True)
    except OutputError:
        return False
    return True


def remembered_period(spot: Spot, station: str | None) -> tuple[date, date] | None:
    """The period that was last fetched for a place and a named or the nearest station, None where there is none."""
    try:
        first, last = _remembered(spot, station).read_text("utf-8").split()
        return date.fromisoformat(first), date.fromisoformat(last)
    except (OSError, ValueError):
        return None


def _remembered(spot: Spot, station: str | None) -> Path:
    which = re.sub("[^0-9A-Z]", "", station.upper()) if station else "nearest"
    return cache_folder() / "places" / f"{spot.latitude_deg}_{spot.longitude_deg}_{which}.txt"


# What was measured ---------------------------------------------------------------------------------------------------


@dataclass(frozen=True, eq=False)
class Measured:
    """What stations and the gauge measured at a place.

    fetched: all that the stations gave. daily: its days and columns without impossible readings, with the rain of the
    gauge. notes: what was done for that, one sentence each.
    """

    fetched: Fetched
    daily: "pd.DataFrame"
    notes: tuple[str, ...]


def measured_at(
    spot: Spot,
    first: date,
    last: date,
    *,
    station: str | None = None,
    gauge: Path | None = None,
    refresh: bool = False,
    offline: bool = False,
    progress: Callable[[str], None] | None = None,
) -> Measured:
    """The measured days of a place, first and last included; station: an id, by default the nearest with rain.

    gauge: CSV of the gardener's own rain readings, which go before the station's. refresh: fetch anew. offline: the
    cache only. progress: told of each download. Raises WeatherError and NetworkError as `weather_of_place`, and
    WeatherError naming the rows of the gauge file that are wrong.
    """
    where = (spot.latitude_deg, spot.longitude_deg, spot.elevation_m)
    fetched = weather_of_place(
        *where, first, last, station=station, refresh=refresh, offline=offline, progress=progress
    )
    daily, notes = _without_impossible(fetched.daily)
    if gauge is not None:
        daily, note = use_gauge(daily, gauge)
        notes.append(note)
    return Measured(fetched, daily, tuple(notes))


def _without_impossible(daily: "pd.DataFrame") -> "tuple[pd.DataFrame, list[str]]":
    """The record without readings that no weather file may hold, and a note for each kind."""
    import pandas as pd

    daily, notes = daily.copy(), []
    wrong: dict[tuple[str, ...], tuple[pd.Series[bool], str]] = {
        (name,): (daily[name].notna() & ~daily[name].between(limits.low, limits.high), "impossible")
        for name, limits in COLUMNS.items()
        if name in daily
    }
    wrong |= {
        (low, high): (daily[low] > daily[high], "the lowest above the highest")
        for low, high in LOW_AND_HIGH
        if low in daily and high in daily
    }
    for names, (days, what) in wrong.items():
        if days.any():
            daily.loc[days, list(names)] = float("nan")
            daily.loc[days, [f"{name}_source" for name in names]] = ""
            told = [f"{day:%Y-%m-%d}" for day in pd.DatetimeIndex(daily.index[days])]
            more = f" and {len(told) - LISTED} more" if len(told) > LISTED else ""
            notes.append(f"{' and '.join(names)}: {what} on {', '.join(told[:LISTED])}{more}; left out.")
    return daily, notes


# Gaps ----------------------------------------------------------------------------------------------------------------


class Closed(NamedTuple):
    """A record as far as its gaps could be closed.

    gaps: a line for each column with days that are still missing; a run needs this to be empty. notes: what was done.
    """

    daily: "pd.DataFrame"
    gaps: tuple[str, ...]
    notes: tuple[str, ...]


def close_gaps(daily: "pd.DataFrame", neighbours: "tuple[Record, ...]", *, fill: bool) -> Closed:
    """The record with its gaps found and, where fill is True, mended as `gaps.mend` does.

    A quantity that a run can do without is left out, with a note, where its gaps cannot be mended.
    """
    lacking = [
        f"{name}: not measured at any station within reach; name another station, or give a weather file"
        for name in TEMPERATURES
        if name not in daily
    ]
    if not fill:
        return Closed(daily, (*lacking, *missing_lines(daily)), ())
    kept, notes = _without_hopeless(daily)
    try:
        mended, done = mend(kept, neighbours)
    except WeatherError as error:
        return Closed(kept, (*lacking, *error.faults), tuple(notes))
    return Closed(mended, tuple(lacking), (*done, *notes))


def notes_of(measured: Measured, closed: Closed, spot: Spot) -> list[str]:
    """What to tell of a record, without what no longer holds once its gaps were closed."""
    outdated = [PARTLY_THERE]
    if "wind_m_s" not in closed.daily or spot.wind_height_m != WIND_HEIGHT_M:
        outdated.append(WIND_TAKEN)
    still_true = [note for note in measured.fetched.notes if not any(words in note for words in outdated)]
    return [*still_true, *measured.notes, *closed.notes]


def _without_hopeless(daily: "pd.DataFrame") -> "tuple[pd.DataFrame, list[str]]":
    notes = []
    for name in MAY_BE_LEFT_OUT:
        if name not in daily:
            continue
        try:
            mend(daily[[name]], ())
        except WeatherError:
            (line,) = missing_lines(daily[[name]])
            notes.append(f"{line}; too many in a row to bridge, so {name} is left out altogether.")
            daily = daily.drop(columns=[name, f"{name}_source"])
    return daily, notes


# Weather for a run, and as a file ------------------------------------------------------------------------------------


def station_weather(daily: "pd.DataFrame", spot: Spot, fetched: Fetched) -> tuple[Weather, tuple[str, ...]]:
    """The weather of a record without gaps, its source naming station and credit; and notes.

    The station's height stands in where that of the place is unknown. Raises WeatherError as `weather_of`.
    """
    notes = []
    height_m = fetched.station.elevation_m
    if spot.elevation_m is None and height_m is not None:
        spot = spot._replace(elevation_m=height_m)
        notes.append(f"site.elevation_m is not given: the {height_m:g} m of the station stand in for it.")
    source = f"station {named(fetched.station)}"
    weather = weather_of(daily, spot, source)
    return replace(weather, source=f"{source}; data: {fetched.credit}"), tuple(notes)


def weather_csv(daily: "pd.DataFrame", spot: Spot, fetched: Fetched, wind_height_m: float) -> bytes:
    """A record without gaps as a weather file, each quantity with its source, and the credit in every row.

    wind_height_m: height that the readers of the file will take its wind for: 2 m, unless the place's own.
    """
    names = [name for name in COLUMNS if name in daily]
    table = daily[[*names, *(f"{name}_source" for name in names)]].copy()
    if "wind_m_s" in table and spot.wind_height_m != wind_height_m:
        table["wind_m_s"], _ = wind_at_2m(daily, spot.wind_height_m)
    table["credit"] = f"station {named(fetched.station)}; data: {fetched.credit}"
    return csv_of(table, "date")
