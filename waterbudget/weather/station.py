"""Weather by place: the measured days of one station near it, fetched through meteostat.

Which station gives the rain: of the stations within 50 km the nearest that has rain on at least nine days in ten of the
period; where none has, the one with rain on most days, the nearer of two alike. Rain comes from that one station and is
never averaged over several, which would halve the downpours and double the wet days. Temperatures, humidity, wind and
sun come from the same station; a quantity that it lacks on every day comes from the next station that has it.

Years once fetched are kept on the shelf (`shelf.py`), so that asking again needs no network.
"""

from collections.abc import Callable, Iterable
from dataclasses import dataclass
from datetime import UTC, date, datetime
from pathlib import Path
from typing import TYPE_CHECKING

from waterbudget.errors import WeatherError
from waterbudget.weather.gaps import missing_lines
from waterbudget.weather.kept import PARAMETERS
from waterbudget.weather.shelf import (
    NEXT,
    WIND_HEIGHT_M,
    NetworkError,
    Record,
    Shelf,
    Spot,
    Station,
    joined,
    named,
    opened,
    seen_from,
    span,
)

if TYPE_CHECKING:
    import pandas as pd

__all__ = ["Fetched", "NetworkError", "Station", "fetch_station", "nearby_stations", "weather_of_place"]

WITHIN_KM = 50.0
CANDIDATES = 10
ENOUGH_RAIN = 0.9  # share of days with rain that makes a station good enough; common practice, no source
RAIN_NEIGHBOURS = 3  # stations asked for days of rain that the chosen one lacks
PARTLY_THERE = "only partly there"  # marks the note on gaps of rain
WIND_TAKEN = "wind_m_s: taken as measured"  # marks the note on its height
LICENCE = "https://dev.meteostat.net/license"
TEMPERATURES = ("tmin_c", "tmax_c", "tmean_c")
BESIDE_RAIN = (("tmin_c", "tmax_c"), ("rh_mean_pct",), ("wind_m_s",), ("sun_hours",))


@dataclass(frozen=True, eq=False)
class Fetched:
    """Daily weather of a place or station, and all that a reader must be told about it.

    daily: a row for every day of the period, index `date`, float64 columns rain_mm, tmin_c, tmax_c, tmean_c,
    rh_mean_pct, wind_m_s (10 m above ground), sun_hours, NaN where nothing was measured; a quantity never measured has
    no column, but rain_mm always has. Beside each a text column `<column>_source`: the data provider, the id of the
    other station it was taken from, or empty. station: the one that gives the rain. credit: print it wherever the
    data are used. candidates: the stations considered, nearest first. neighbours: other stations that were
    fetched, nearest first, ready for `gaps.mend`. notes: one sentence each.
    """

    daily: "pd.DataFrame"
    station: Station
    credit: str
    candidates: tuple[Station, ...] = ()
    neighbours: tuple[Record, ...] = ()
    notes: tuple[str, ...] = ()


def nearby_stations(
    latitude_deg: float,
    longitude_deg: float,
    elevation_m: float | None,
    start: date,
    end: date,
    cache: Path | None = None,
    within_km: float = WITHIN_KM,
    limit: int = CANDIDATES,
) -> list[Station]:
    """The stations around a place that are listed with rain in the period, nearest first; all where none is listed.

    Needs the list of stations only, no weather. Raises WeatherError where there is no station or the place or period
    is wrong, NetworkError where the list is neither in the cache nor to be had.
    """
    place = _place(latitude_deg, longitude_deg, elevation_m)
    days = _days(start, end)
    with opened(cache) as shelf:
        near = shelf.near(place, within_km)
        if not near:
            raise WeatherError(_nowhere(place, within_km))
        return _with_rain(shelf, near, days)[:limit]


def fetch_station(
    station_id: str | Station, start: date, end: date, cache: Path | None = None, *, refresh: bool = False
) -> Fetched:
    """What one station measured, start and end included; days without a reading are rows of NaN.

    cache: folder of fetched years, by default in the user's cache folder. refresh: fetch anew what the cache holds.
    Raises WeatherError for an unknown id, a wrong period or one without any reading, NetworkError where a year is
    neither in the cache nor to be had.
    """
    days = _days(start, end)
    with opened(cache, refresh=refresh) as shelf:
        station = station_id if isinstance(station_id, Station) else shelf.station(station_id, None)
        station, daily = shelf.record(station, days)
        if not _has(daily, PARAMETERS):
            raise WeatherError(shelf.nothing(station, days, "no data"))
        notes = [*shelf.notes, *_rain_notes(station, daily), *_wind_notes(daily)]
    return Fetched(_measured(daily), station, _credit([station]), (station,), notes=tuple(notes))


def weather_of_place(
    latitude_deg: float,
    longitude_deg: float,
    elevation_m: float | None,
    start: date,
    end: date,
    *,
    station: str | Station | None = None,
    cache: Path | None = None,
    refresh: bool = False,
    offline: bool = False,
    progress: Callable[[str], None] | None = None,
) -> Fetched:
    """Daily weather for a place, start and end included, from the station chosen as told at the top of this file.

    station: an id, to choose it yourself. cache, refresh: as for fetch_station. offline: fetch nothing.
    progress: told of each download.
    Raises WeatherError where no station within 50 km has rain in the period, or place, period or id are wrong;
    NetworkError where the network fails before the rain is complete. Where it fails later, a note says what is missing.
    """
    place = _place(latitude_deg, longitude_deg, elevation_m)
    days = _days(start, end)
    with opened(cache, refresh=refresh, offline=offline, progress=progress) as shelf:
        near = shelf.near(place, WITHIN_KM)
        around = _with_rain(shelf, near, days)[:CANDIDATES]
        if station is not None:
            chosen = seen_from(place, station) if isinstance(station, Station) else shelf.station(station, place)
            around = sorted([chosen, *(each for each in around if each.id != chosen.id)], key=_distance_km)
            rain = shelf.record(chosen, days)
            if not rain[0].completeness:
                raise WeatherError(shelf.nothing(chosen, days, "no rain"))
        elif around:
            rain = _rain_record(shelf, around, days)
        else:
            raise WeatherError(_nowhere(place, WITHIN_KM))

        daily, borrowed = _beside_rain(shelf, rain, near, days)
        _ask_for_missing_rain(shelf, daily, [each for each in around if each.id != rain[0].id], days)
        candidates = tuple(shelf.records.get(each.id, (each,))[0] for each in around)
        others = [record for record in shelf.records.values() if record is not rain]
        neighbours = tuple(sorted(others, key=lambda record: _distance_km(record[0])))
        notes = [*_rain_notes(rain[0], daily), *borrowed, *_wind_notes(daily), *shelf.notes]
    credited = [rain[0], *(neighbour for neighbour, _ in neighbours)]
    return Fetched(_measured(daily), rain[0], _credit(credited), candidates, neighbours, tuple(notes))


# The rule ------------------------------------------------------------------------------------------------------------


def _with_rain(shelf: "Shelf", near: list[Station], days: "pd.DatetimeIndex") -> list[Station]:
    """The near stations listed with rain in the period; all of them where none is: the list may lag behind."""
    return shelf.listed(near, ["rain_mm"], days) or near


def _distance_km(station: Station) -> float:
    return station.distance_km or 0.0


def _rain_record(shelf: "Shelf", around: list[Station], days: "pd.DatetimeIndex") -> Record:
    """The record that gives the rain, by the rule at the top of this file."""
    best: Record | None = None
    for candidate in around:
        record = shelf.record(candidate, days)
        if best is None or _completeness(record) > _completeness(best):
            best = record
        if _completeness(record) >= ENOUGH_RAIN:
            return record
    if best is None or not _completeness(best):
        raise WeatherError(
            f"no weather station within {WITHIN_KM:g} km has rain for {span(days)}, {len(around)} asked; {NEXT}"
        )
    return best


def _beside_rain(
    shelf: "Shelf", rain: Record, near: list[Station], days: "pd.DatetimeIndex"
) -> "tuple[pd.DataFrame, list[str]]":
    """The rain record with what it lacks from other stations, and a note for each quantity lacking.

    Minimum and maximum temperature are taken together, so that no day has its minimum above its maximum; the mean
    goes with them and is not sought for itself.
    """
    daily, notes, thermometer = rain[1].copy(), [], rain[0]
    for columns in BESIDE_RAIN:
        if all(_has(daily, [column]) for column in columns):
            continue
        what = " and ".join(columns)
        lender = _lender(shelf, columns, [each for each in near if each.id != rain[0].id], days)
        if lender is None:
            notes.append(f"{what}: not measured at station {named(rain[0])}, nor at another one within reach.")
            continue
        station, measured = lender
        taken: tuple[str, ...] = columns
        if columns == BESIDE_RAIN[0]:
            taken, thermometer = TEMPERATURES, station
        for column in taken:
            daily[column] = measured[column]
            daily[f"{column}_source"] = measured[column].notna().map({True: station.id, False: ""})
        notes.append(f"{what}: not measured at station {named(rain[0])}; taken from station {named(station)}.")
    return daily, [*notes, *_height_notes(thermometer)]


def _lender(
    shelf: "Shelf", columns: tuple[str, ...], others: list[Station], days: "pd.DatetimeIndex"
) -> "Record | None":
    for other in shelf.listed(others, columns, days)[:CANDIDATES]:
        record = shelf.record_if_reached(other, days)
        if record and all(_has(record[1], [column]) for column in columns):
            return record
    return None


def _ask_for_missing_rain(
    shelf: "Shelf", daily: "pd.DataFrame", others: list[Station], days: "pd.DatetimeIndex"
) -> None:
    """Fetch the next stations until each missing day of rain is on one of them."""
    missing = days[daily["rain_mm"].isna()]
    for other in others[:RAIN_NEIGHBOURS]:
        if missing.empty:
            return
        record = shelf.record_if_reached(other, days)
        if record:
            missing = missing.difference(days[record[1]["rain_mm"].notna()])


def _completeness(record: Record) -> float:
    return record[0].completeness or 0.0


def _has(daily: "pd.DataFrame", columns: Iterable[str]) -> bool:
    """Whether any of the columns has a value."""
    return bool(daily[list(columns)].notna().any(axis=None))


def _measured(daily: "pd.DataFrame") -> "pd.DataFrame":
    """Without the quantities that were never measured; rain stays."""
    never = [column for column in PARAMETERS if column != "rain_mm" and not _has(daily, [column])]
    return daily.drop(columns=[*never, *(f"{column}_source" for column in never)])


# What to tell --------------------------------------------------------------------------------------------------------


def _rain_notes(station: Station, daily: "pd.DataFrame") -> list[str]:
    if not _has(daily, ["rain_mm"]):
        return [f"station {named(station)}: no rain in this period."]
    return [
        f"station {named(station)}: {PARTLY_THERE}: {line}; fill the gaps from other stations, or {NEXT}."
        for line in missing_lines(daily[["rain_mm"]])
    ]


def _wind_notes(daily: "pd.DataFrame") -> list[str]:
    said = f"{WIND_TAKEN} {WIND_HEIGHT_M:g} m above ground, as is usual; the data do not state it."
    return [said] if _has(daily, ["wind_m_s"]) else []


def _height_notes(station: Station) -> list[str]:
    metres = station.height_difference_m
    if metres is None or abs(metres) < 100.0:  # noqa: PLR2004 - about 0.65 °C at the usual 6.5 °C a kilometre
        return []
    where = f"{abs(metres):.0f} m {'above' if metres > 0.0 else 'below'} the place"
    return [f"station {named(station)}: lies {where}; its temperatures are not corrected for that."]


def _nowhere(place: "Spot", within_km: float) -> str:
    return (
        f"place {place.latitude_deg:g}, {place.longitude_deg:g}: no weather station within {within_km:g} km; check the "
        "signs of latitude and longitude, name a station with --station, or give a weather file"
    )


def _credit(stations: Iterable[Station]) -> str:
    return f"{joined(station.credit for station in stations)} ({LICENCE}); modified"


# Place and period ----------------------------------------------------------------------------------------------------


def _place(latitude_deg: float, longitude_deg: float, elevation_m: float | None) -> Spot:
    if not (-90.0 <= latitude_deg <= 90.0 and -180.0 <= longitude_deg <= 180.0):  # noqa: PLR2004
        raise WeatherError(
            f"place {latitude_deg:g}, {longitude_deg:g}: latitude runs from -90 to 90 and longitude from -180 to 180"
        )
    return Spot(latitude_deg, longitude_deg, elevation_m)


def _days(start: date, end: date) -> "pd.DatetimeIndex":
    import pandas as pd

    first, last = (date(day.year, day.month, day.day) for day in (start, end))  # a clock time would shift every row
    if first > last:
        raise WeatherError(f"period {first} to {last}: the last day comes before the first; swap them")
    if last > datetime.now(tz=UTC).date():
        raise WeatherError(f"period {first} to {last}: ends in the future; end it yesterday or before")
    return pd.date_range(first, last, freq="D", name="date")
