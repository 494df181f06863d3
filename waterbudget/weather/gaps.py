"""Days without a reading: found, told and mended, never silently.

Temperature, humidity, wind and sun of up to three days are bridged by a straight line between the readings on either
side. Rain has no straight line: a missing day is taken whole from the next station that has it, never averaged. The
three days and the whole-day rule are common practice, no source.
"""

from collections.abc import Sequence
from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING, NamedTuple

from waterbudget.errors import InputError, WeatherError
from waterbudget.rows.cells import doubled_heads, missing_heads, number_in, ragged, unfit
from waterbudget.rows.dates import date_in
from waterbudget.rows.sheet import read_sheet

if TYPE_CHECKING:
    import pandas as pd

    from waterbudget.weather.shelf import Station

BRIDGED = "interpolated"  # source of a reading that stands between those of the days beside
BRIDGED_DAYS = 3
RAIN_MAX_MM = 2000.0  # as in the weather file
RAIN = "rain_mm"
GAUGE_COLUMNS = ("date", "rain_mm")
RAIN_WANTED = f"millimetres from 0 to {RAIN_MAX_MM:g}, 0 for a dry day, no row for a day not read"
LISTED = 12  # gaps, and faults, named in one message


def missing_days(daily: "pd.DataFrame") -> dict[str, list[tuple[date, date]]]:
    """First and last day of every gap, for each column that has one; a missing row is a gap in all of them."""
    whole = daily.asfreq("D")
    gaps = {str(column): _runs(whole[column].isna()) for column in _quantities(whole)}
    return {column: runs for column, runs in gaps.items() if runs}


def missing_lines(daily: "pd.DataFrame") -> list[str]:
    """One readable line for each column with a gap, such as `rain_mm: 3 of 365 days missing: 2031-01-05, ...`."""
    return [_missing(column, runs, len(daily.asfreq("D"))) for column, runs in missing_days(daily).items()]


def _missing(column: str, runs: "Sequence[tuple[date, date]]", days: int) -> str:
    missing = sum((last - first).days + 1 for first, last in runs)
    return f"{column}: {missing} of {days} days missing: {_listed(runs)}"


class WaysOut(NamedTuple):
    """What to do about days that cannot be mended: about rain, and about other readings."""

    rain: str
    others: str


OF_A_STATION = WaysOut(
    "No other station at hand has these days: give another period, another station with --station, "
    "or your own gauge readings of them",
    f"Only gaps of up to {BRIDGED_DAYS} days between two readings are bridged, tmin_c never above tmax_c: "
    "give another period, another station with --station, or a weather file",
)


class GapsError(WeatherError):
    """Days that cannot be mended. missing: first and last day of every gap, by quantity."""

    def __init__(self, missing: "dict[str, list[tuple[date, date]]]", days: int, ways_out: WaysOut) -> None:
        self.missing = missing
        super().__init__(
            f"{_missing(column, runs, days)}. {ways_out.rain if column == RAIN else ways_out.others}"
            for column, runs in missing.items()
        )


def mend(
    daily: "pd.DataFrame",
    neighbours: "Sequence[tuple[Station | str, pd.DataFrame]]",
    ways_out: WaysOut = OF_A_STATION,
) -> "tuple[pd.DataFrame, list[str]]":
    """The record with its gaps closed, and a note for each thing done; the record given stays as it is.

    neighbours: other stations, the next one first, each with its own daily record. A bridged value carries
    `interpolated` in `<column>_source`, a day of rain from elsewhere the id of that station. Raises GapsError, a
    line for each column, where a gap of rain is in no neighbour's record either, or another gap is longer than three
    days, lies at an end of the record or would put tmin_c above tmax_c.
    """
    mended = daily.asfreq("D")
    for column in _quantities(mended):
        source = f"{column}_source"
        mended[source] = mended[source].fillna("") if source in mended else ""
    notes = [*_rain_from(neighbours, mended), *_bridged(mended)]
    if left := missing_days(mended):
        raise GapsError(left, len(mended), ways_out)
    return mended, notes


def use_gauge(daily: "pd.DataFrame", gauge_path: Path) -> "tuple[pd.DataFrame, str]":
    """The record with the gardener's own rain readings in place of the station's, source `gauge`, and a note on it.

    gauge_path: CSV with the columns date, rain_mm, in order of date; not every day need be there, and days outside the
    record are left out. Raises WeatherError naming file, row and date of every fault, or where no day fits the record.
    """
    import pandas as pd

    readings = read_gauge(gauge_path)
    gauge_mm = pd.Series(list(readings.values()), index=pd.DatetimeIndex(list(readings)), dtype="float64")
    inside_mm = gauge_mm[gauge_mm.index.isin(daily.index)]
    first, last = (f"{day:%Y-%m-%d}" for day in (daily.index[0], daily.index[-1]))
    if inside_mm.empty:
        raise WeatherError(f"{gauge_path}: no reading between {first} and {last}; give readings of these days")
    station_mm = daily.loc[inside_mm.index, "rain_mm"]
    both = station_mm.notna()
    changed = daily.copy()
    changed.loc[inside_mm.index, "rain_mm"] = inside_mm
    if "rain_mm_source" not in changed:
        changed["rain_mm_source"] = ""
    changed.loc[inside_mm.index, "rain_mm_source"] = "gauge"
    outside = len(gauge_mm) - len(inside_mm)
    return changed, (
        f"rain_mm: {len(inside_mm)} of {len(daily)} days from the gauge {gauge_path}; on the {both.sum()} of them that "
        f"the station has too the gauge read {inside_mm[both].sum():.1f} mm, the station {station_mm.sum():.1f} mm"
        f"{f'; {outside} readings lie outside {first} to {last} and are not used' if outside else ''}."
    )


def _quantities(daily: "pd.DataFrame") -> list[str]:
    return [str(column) for column in daily.columns if not str(column).endswith("_source")]


def _runs(missing: "pd.Series[bool]") -> list[tuple[date, date]]:
    number = (missing != missing.shift()).cumsum()[missing]
    return [(days.index[0].date(), days.index[-1].date()) for _, days in number.groupby(number)]


def _listed(runs: Sequence[tuple[date, date]]) -> str:
    named = [f"{first}" if first == last else f"{first} to {last}" for first, last in runs[:LISTED]]
    more = f" and {len(runs) - LISTED} later gaps up to {runs[-1][1]}" if len(runs) > LISTED else ""
    return ", ".join(named) + more


def _rain_from(neighbours: "Sequence[tuple[Station | str, pd.DataFrame]]", mended: "pd.DataFrame") -> list[str]:
    notes = []
    for neighbour, record in neighbours:
        if "rain_mm" not in mended or "rain_mm" not in record:
            continue
        missing = mended.index[mended["rain_mm"].isna()]
        there_mm = record["rain_mm"].reindex(missing).dropna()
        if there_mm.empty:
            continue
        station_id, name = (neighbour, neighbour) if isinstance(neighbour, str) else _id_and_name(neighbour)
        mended.loc[there_mm.index, "rain_mm"] = there_mm
        mended.loc[there_mm.index, "rain_mm_source"] = station_id
        runs = _runs(mended.index.to_series().isin(there_mm.index))
        days = f"{len(there_mm)} {'days' if len(there_mm) > 1 else 'day'}"
        notes.append(f"rain_mm: {days} taken from station {name}: {_listed(runs)}.")
    return notes


def _id_and_name(station: "Station") -> tuple[str, str]:
    far = "" if station.distance_km is None else f" ({station.distance_km:.1f} km)"
    return station.id, f"{station.id} {station.name}{far}"


def _bridged(mended: "pd.DataFrame") -> list[str]:
    """Bridge the short gaps in place; a note for each column."""
    bridged = {}
    for column in _quantities(mended):
        if column == RAIN:
            continue
        missing = mended[column].isna()
        gap = (missing != missing.shift()).cumsum()
        line = mended[column].interpolate(method="time", limit_area="inside")
        bridged[column] = missing & line.notna() & (missing.groupby(gap).transform("size") <= BRIDGED_DAYS)
        mended[column] = line.where(bridged[column], mended[column])
    if {"tmin_c", "tmax_c"} <= set(bridged):
        crossed = mended["tmin_c"] > mended["tmax_c"]
        for column in ("tmin_c", "tmax_c"):
            mended[column] = mended[column].mask(crossed & bridged[column])
            bridged[column] &= ~crossed
    notes = []
    for column, days in bridged.items():
        mended.loc[days, f"{column}_source"] = BRIDGED
        if days.any():
            count = f"{days.sum()} {'days' if days.sum() > 1 else 'day'}"
            notes.append(f"{column}: {count} bridged by a straight line between readings: {_listed(_runs(days))}.")
    return notes


def read_gauge(path: Path) -> dict[date, float]:
    """The readings by day, in order. Raises WeatherError naming row and date of every fault."""
    try:
        sheet = read_sheet(path, ",".join(GAUGE_COLUMNS), "a reading")
        if faults := [*missing_heads(sheet.heads, GAUGE_COLUMNS), *doubled_heads(sheet.heads)]:
            raise WeatherError(f"{path}: row {sheet.header.number}: {fault}" for fault in faults)
        sheet = sheet.plain(numbers=["rain_mm"], dates=["date"])
    except InputError as error:
        raise WeatherError(error.faults) from None
    readings: dict[date, float] = {}
    faults = []
    for number, cells in sheet.rows:
        try:
            day, rain_mm = _reading(cells, sheet.heads, readings)
        except ValueError as fault:
            faults.append(f"{path}: row {number}: {fault}")
        else:
            readings[day] = rain_mm
    if len(faults) > LISTED:
        faults[LISTED:] = [f"{path}: and {len(faults) - LISTED} more rows with faults"]
    if faults:
        raise WeatherError(faults)
    return readings


def _reading(cells: Sequence[str], heads: Sequence[str], before: dict[date, float]) -> tuple[date, float]:
    """Day and rain of a row. Raises ValueError saying what is wrong with it and what would be right."""
    if fault := ragged(cells, heads, "fill every column"):
        raise ValueError(fault)
    written, rain = (cells[heads.index(name)] for name in GAUGE_COLUMNS)
    try:
        day = date_in(written)
    except ValueError as fault:
        raise ValueError(f"date {fault}") from None
    last = next(reversed(before), None)
    if last is not None and day <= last:
        twice = "is there twice" if day in before else f"comes after {last}"
        raise ValueError(f"{day}: {twice}; put the days in order, each once")
    rain_mm = number_in(rain)
    if not 0.0 <= rain_mm <= RAIN_MAX_MM:
        raise ValueError(f"{day}: {unfit('rain_mm', rain, RAIN_WANTED)}")
    return day, rain_mm
