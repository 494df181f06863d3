"""Weather by place: the measured days of one station near it, fetched through meteostat.

Which station gives the rain: of the stations within 50 km the nearest that has rain on at least nine days in ten of the
period; where none has, the one with rain on most days, the nearer of two alike. Rain comes from that one station and is
never averaged over several, which would halve the downpours and double the wet days. Temperatures, humidity, wind and
sun come from the same station; a quantity that it lacks on every day comes from the next station that has it.

Years once fetched are kept, a compressed text file each, in a folder of our own, so that asking again needs no network.
The library's own cache stays off: it writes an empty file over a good one when a download fails, and deletes old files.
"""

import gzip
import io
import logging
import os
import re
import socket
import sqlite3
import tempfile
import zlib
from collections.abc import Callable, Iterable, Iterator, Mapping
from contextlib import closing, contextmanager, suppress
from dataclasses import dataclass, replace
from datetime import UTC, date, datetime, timedelta
from pathlib import Path
from typing import TYPE_CHECKING, Any, NamedTuple, TypeAlias
from urllib.error import HTTPError

from waterbudget.errors import WaterbudgetError, WeatherError
from waterbudget.weather.gaps import missing_lines

if TYPE_CHECKING:
    import pandas as pd

WITHIN_KM = 50.0
CANDIDATES = 10
ENOUGH_RAIN = 0.9  # share of days with rain that makes a station good enough; common practice, no source
RAIN_NEIGHBOURS = 3  # stations asked for days of rain that the chosen one lacks
WIND_HEIGHT_M = 10.0  # the usual height of station wind; the data do not state it
TIMEOUT_S = 20.0  # of one silent connection
RETRIES = 1
LIST_DAYS = 30  # life of the list of stations
LATE_READINGS = timedelta(days=31)  # a year fetched this long after its end is taken as settled
NEVER_S = 10**10
MANY = 1000  # stations within reach

BROKEN = "the weather server sent a broken file"
LICENCE = "https://dev.meteostat.net/license"
NEXT = "give another period, another station with --station, or a weather file"

COLUMNS = {
    "prcp": "rain_mm",
    "tmin": "tmin_c",
    "tmax": "tmax_c",
    "temp": "tmean_c",
    "rhum": "rh_mean_pct",
    "wspd": "wind_m_s",
    "tsun": "sun_hours",
}
PARAMETERS = {column: parameter for parameter, column in COLUMNS.items()}
PER_OUR_UNIT = {"wind_m_s": 3.6, "sun_hours": 60.0}  # km/h in a m/s, minutes in an hour
TEMPERATURES = ("tmin_c", "tmax_c", "tmean_c")
BESIDE_RAIN = (("tmin_c", "tmax_c"), ("rh_mean_pct",), ("wind_m_s",), ("sun_hours",))


class NetworkError(WaterbudgetError):
    """The weather server could not be reached, or sent something broken, and the cache does not help."""


@dataclass(frozen=True)
class Station:
    """A weather station, seen from a place.

    distance_km: None where no place was given. height_difference_m: station above place, None where one height is
    unknown. completeness: share of the days of the period with rain, 0-1, None until its data were fetched.
    credit: who is to be named for its data.
    """

    id: str
    name: str
    latitude_deg: float
    longitude_deg: float
    elevation_m: float | None
    distance_km: float | None
    height_difference_m: float | None
    completeness: float | None = None
    credit: str = "Meteostat"


Record: TypeAlias = "tuple[Station, pd.DataFrame]"


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
    with _opened(cache) as shelf:
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
    with _opened(cache, refresh=refresh) as shelf:
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
    progress: Callable[[str], None] | None = None,
) -> Fetched:
    """Daily weather for a place, start and end included, from the station chosen as told at the top of this file.

    station: an id, to choose it yourself. cache, refresh: as for fetch_station. progress: told of each download.
    Raises WeatherError where no station within 50 km has rain in the period, or place, period or id are wrong;
    NetworkError where the network fails before the rain is complete. Where it fails later, a note says what is missing.
    """
    place = _place(latitude_deg, longitude_deg, elevation_m)
    days = _days(start, end)
    with _opened(cache, refresh=refresh, progress=progress) as shelf:
        near = shelf.near(place, WITHIN_KM)
        around = _with_rain(shelf, near, days)[:CANDIDATES]
        if station is not None:
            chosen = _seen_from(place, station) if isinstance(station, Station) else shelf.station(station, place)
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


def _with_rain(shelf: "_Shelf", near: list[Station], days: "pd.DatetimeIndex") -> list[Station]:
    """The near stations listed with rain in the period; all of them where none is: the list may lag behind."""
    return shelf.listed(near, ["rain_mm"], days) or near


def _distance_km(station: Station) -> float:
    return station.distance_km or 0.0


def _rain_record(shelf: "_Shelf", around: list[Station], days: "pd.DatetimeIndex") -> Record:
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
            f"no weather station within {WITHIN_KM:g} km has rain for {_span(days)}, {len(around)} asked; {NEXT}"
        )
    return best


def _beside_rain(
    shelf: "_Shelf", rain: Record, near: list[Station], days: "pd.DatetimeIndex"
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
            notes.append(f"{what}: not measured at station {_named(rain[0])}, nor at another one within reach.")
            continue
        station, measured = lender
        taken: tuple[str, ...] = columns
        if columns == BESIDE_RAIN[0]:
            taken, thermometer = TEMPERATURES, station
        for column in taken:
            daily[column] = measured[column]
            daily[f"{column}_source"] = measured[column].notna().map({True: station.id, False: ""})
        notes.append(f"{what}: not measured at station {_named(rain[0])}; taken from station {_named(station)}.")
    return daily, [*notes, *_height_notes(thermometer)]


def _lender(
    shelf: "_Shelf", columns: tuple[str, ...], others: list[Station], days: "pd.DatetimeIndex"
) -> "Record | None":
    for other in shelf.listed(others, columns, days)[:CANDIDATES]:
        record = shelf.record_if_reached(other, days)
        if record and all(_has(record[1], [column]) for column in columns):
            return record
    return None


def _ask_for_missing_rain(
    shelf: "_Shelf", daily: "pd.DataFrame", others: list[Station], days: "pd.DatetimeIndex"
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
        return [f"station {_named(station)}: no rain in this period."]
    return [
        f"station {_named(station)}: only partly there: {line}; fill the gaps from other stations, or {NEXT}."
        for line in missing_lines(daily[["rain_mm"]])
    ]


def _wind_notes(daily: "pd.DataFrame") -> list[str]:
    said = f"wind_m_s: taken as measured {WIND_HEIGHT_M:g} m above ground, as is usual; the data do not state it."
    return [said] if _has(daily, ["wind_m_s"]) else []


def _height_notes(station: Station) -> list[str]:
    metres = station.height_difference_m
    if metres is None or abs(metres) < 100.0:  # noqa: PLR2004 - about 0.65 °C at the usual 6.5 °C a kilometre
        return []
    where = f"{abs(metres):.0f} m {'above' if metres > 0.0 else 'below'} the place"
    return [f"station {_named(station)}: lies {where}; its temperatures are not corrected for that."]


def _named(station: Station) -> str:
    far = "" if station.distance_km is None else f" ({station.distance_km:.1f} km)"
    return f"{station.id} {station.name}{far}"


def _span(days: "pd.DatetimeIndex") -> str:
    return f"{days[0]:%Y-%m-%d} to {days[-1]:%Y-%m-%d}"


def _nowhere(place: "_Place", within_km: float) -> str:
    return (
        f"place {place.latitude_deg:g}, {place.longitude_deg:g}: no weather station within {within_km:g} km; check the "
        "signs of latitude and longitude, name a station with --station, or give a weather file"
    )


def _credit(stations: Iterable[Station]) -> str:
    return f"{_joined(station.credit for station in stations)} ({LICENCE}); modified"


def _joined(credits_: Iterable[str]) -> str:
    names = {name for credit in credits_ for name in credit.split(", ")} - {"Meteostat"}
    return ", ".join(["Meteostat", *sorted(names)])


# Place and period ----------------------------------------------------------------------------------------------------


class _Place(NamedTuple):
    latitude_deg: float
    longitude_deg: float
    elevation_m: float | None


def _place(latitude_deg: float, longitude_deg: float, elevation_m: float | None) -> _Place:
    if not (-90.0 <= latitude_deg <= 90.0 and -180.0 <= longitude_deg <= 180.0):  # noqa: PLR2004
        raise WeatherError(
            f"place {latitude_deg:g}, {longitude_deg:g}: latitude runs from -90 to 90 and longitude from -180 to 180"
        )
    return _Place(latitude_deg, longitude_deg, elevation_m)


def _days(start: date, end: date) -> "pd.DatetimeIndex":
    import pandas as pd

    first, last = (date(day.year, day.month, day.day) for day in (start, end))  # a clock time would shift every row
    if first > last:
        raise WeatherError(f"period {first} to {last}: the last day comes before the first; swap them")
    if last > datetime.now(tz=UTC).date():
        raise WeatherError(f"period {first} to {last}: ends in the future; end it yesterday or before")
    return pd.date_range(first, last, freq="D", name="date")


def _seen_from(place: _Place | None, station: Station) -> Station:
    if place is None:
        return station
    from meteostat.utils.geo import get_distance

    metres = get_distance(place.latitude_deg, place.longitude_deg, station.latitude_deg, station.longitude_deg)
    here_m, there_m = place.elevation_m, station.elevation_m
    height_m = None if here_m is None or there_m is None else there_m - here_m
    return replace(station, distance_km=metres / 1000.0, height_difference_m=height_m)


# Fetching and keeping ------------------------------------------------------------------------------------------------


class _Log(logging.Handler):
    """The library returns nothing and raises nothing when a download fails: only its log tells."""

    def __init__(self) -> None:
        super().__init__(logging.WARNING)
        self.records: list[logging.LogRecord] = []

    def emit(self, record: logging.LogRecord) -> None:
        self.records.append(record)


@contextmanager
def _opened(
    cache: Path | None, *, refresh: bool = False, progress: Callable[[str], None] | None = None
) -> "Iterator[_Shelf]":
    """The shelf of fetched years, with the library's settings ours until it is closed."""
    import meteostat as ms
    import platformdirs

    folder = Path(platformdirs.user_cache_dir("waterbudget")) if cache is None else cache
    log, logger = _Log(), logging.getLogger("meteostat")
    logger_was, timeout_was = (logger.level, logger.propagate), socket.getdefaulttimeout()
    with tempfile.TemporaryDirectory(prefix="waterbudget-") as scratch:
        ours = {
            "cache_enable": False,
            "cache_directory": scratch,
            "cache_ttl": NEVER_S,
            "stations_db_file": str(Path(scratch, "stations.db")),
            "network_timeout": TIMEOUT_S,
            "network_max_retries": RETRIES,
            "include_model_data": False,
        }
        theirs = {name: getattr(ms.config, name) for name in ours}
        try:
            for name, value in ours.items():
                setattr(ms.config, name, value)
            logger.addHandler(log)
            logger.setLevel(logging.WARNING)
            logger.propagate = False
            socket.setdefaulttimeout(TIMEOUT_S)  # the yearly files are read without a timeout of their own
            yield _Shelf(folder, Path(scratch), log, refresh=refresh, progress=progress)
        finally:
            socket.setdefaulttimeout(timeout_was)
            logger.removeHandler(log)
            logger.setLevel(logger_was[0])
            logger.propagate = logger_was[1]
            for name, value in theirs.items():
                setattr(ms.config, name, value)


class _Year(NamedTuple):
    daily: "pd.DataFrame"
    credit: str


class _Shelf:
    """The folder of fetched years and the way to those not in it.

    records: what was read, by id of the station. notes: what to tell of it.
    """

    def __init__(
        self, folder: Path, scratch: Path, log: _Log, *, refresh: bool, progress: Callable[[str], None] | None
    ) -> None:
        import pandas as pd

        self.folder, self.scratch, self.log = folder, scratch, log
        self.refresh, self.progress = refresh, progress
        self.records: dict[str, Record] = {}
        self.notes: list[str] = []
        self.inventory = pd.DataFrame(columns=["station", "parameter", "start", "end"])
        self.has_list, self.can_keep = False, True
        self.unreachable = ""

    def note(self, text: str) -> None:
        if text not in self.notes:
            self.notes.append(text)

    # The list of stations

    def near(self, place: _Place, within_km: float) -> list[Station]:
        """All stations within reach, nearest first."""
        import meteostat as ms

        self._find_list()
        point = ms.Point(place.latitude_deg, place.longitude_deg)
        rows = ms.stations.nearby(point, radius=within_km * 1000.0, limit=MANY)
        self.inventory = self._inventory(list(rows.index))
        return [_station(str(station_id), row, place) for station_id, row in rows.to_dict("index").items()]

    def listed(self, stations: list[Station], columns: Iterable[str], days: "pd.DatetimeIndex") -> list[Station]:
        """Those of the near stations that are listed with the columns in the period, or of which nothing is listed."""
        import pandas as pd

        rows = self.inventory
        begun, ended = (pd.to_datetime(rows[name], errors="coerce") for name in ("start", "end"))
        rows_then = rows[(begun <= days[-1]) & (ended >= days[0])]
        having = [set(rows_then.loc[rows_then["parameter"] == PARAMETERS[column], "station"]) for column in columns]
        silent = {station.id for station in stations} - set(rows["station"])
        return [station for station in stations if station.id in silent | set.intersection(*having)]

    def station(self, text: str, place: _Place | None) -> Station:
        """The station of this id. Raises WeatherError where there is none."""
        import meteostat as ms

        self._find_list()
        station_id = text.strip().upper()
        # The library asks its list with LIKE, where a % would fit any station.
        listed = ms.stations.meta(station_id) if re.fullmatch("[0-9A-Z]+", station_id) else None
        if listed is None:
            raise WeatherError(
                f"station {text!r}: no weather station has this id; leave --station out for the nearest, "
                "or give a weather file"
            )
        return _station(station_id, vars(listed), place)

    def nothing(self, station: Station, days: "pd.DatetimeIndex", what: str) -> str:
        """What to say of a station that has nothing in the period."""
        rows = self._inventory([station.id]) if self.has_list else self.inventory
        rain = rows[rows["parameter"] == "prcp"].dropna(subset=["start", "end"])
        listed = "" if rain.empty else f" (its rain is listed from {rain['start'].min()} to {rain['end'].max()})"
        return f"station {_named(station)}: {what} for {_span(days)}{listed}; {NEXT}"

    def _inventory(self, ids: list[str]) -> "pd.DataFrame":
        import meteostat as ms

        rows = ms.stations.inventory(ids).df
        return self.inventory.iloc[:0] if rows is None else rows.reset_index()

    def _find_list(self) -> None:
        """Point the library at a sound list of stations: the kept one, or a new one if it is old or missing."""
        import meteostat as ms

        if self.has_list:
            return
        kept, fresh = self.folder / "stations.db", self.scratch / "stations.db"
        fetched = _fetched_on(kept) if _is_sound(kept) else None
        chosen = kept
        if fetched is None or self.refresh or fetched < datetime.now(tz=UTC) - timedelta(days=LIST_DAYS):
            fault = self._fetch_list(fresh)
            if not fault:
                chosen = kept if self._keep(kept, fresh.read_bytes()) else fresh
            elif fetched is None:
                raise NetworkError(
                    f"list of weather stations: {fault}, and the cache {self.folder} has none; "
                    "try again with a network, or give a weather file"
                )
            else:
                self.note(f"list of weather stations: {fault}; the copy of {fetched:%Y-%m-%d} is used.")
        ms.config.stations_db_file = str(chosen)
        self.has_list = True

    def _fetch_list(self, target: Path) -> str:
        """Download the list of stations; what went wrong, or an empty text."""
        import meteostat as ms

        self._tell("fetching the list of weather stations")
        try:
            ms.stations.connect().close()
        except Exception:  # noqa: BLE001 - the library raises the bare class when a download fails
            return "the weather server could not be reached"
        return "" if _is_sound(target) else BROKEN

    # Years

    def record(self, station: Station, days: "pd.DatetimeIndex") -> Record:
        """The station, with completeness and credit known, and its days, NaN where it has none; read once."""
        import pandas as pd

        if station.id not in self.records:
            years = [self._year(station, year) for year in range(days[0].year, days[-1].year + 1)]
            held = [year for year in years if not year.daily.empty]
            daily = pd.concat([year.daily for year in held]) if held else years[0].daily
            daily = daily.reindex(days)
            sources = [f"{column}_source" for column in PARAMETERS]
            daily[sources] = daily[sources].fillna("")
            credit = _joined(year.credit for year in held)
            share = float(daily["rain_mm"].notna().mean())
            self.records[station.id] = replace(station, completeness=share, credit=credit), daily
        return self.records[station.id]

    def record_if_reached(self, station: Station, days: "pd.DatetimeIndex") -> "Record | None":
        """The same, or a note and nothing where the network fails: the rain does without it."""
        try:
            return self.record(station, days)
        except NetworkError as error:
            self.note(f"{error}. Nothing was taken from this station.")
            return None

    def _year(self, station: Station, year: int) -> _Year:
        path = self.folder / "daily" / f"{station.id}-{year}.csv.gz"
        kept, fetched = _read_year(path), _fetched_on(path)
        now = datetime.now(tz=UTC)
        if kept is not None and fetched is not None and not self.refresh:
            settled = fetched > datetime(year + 1, 1, 1, tzinfo=UTC) + LATE_READINGS
            if settled or fetched > now - timedelta(days=1):
                return kept
        try:
            fresh = self._download(station, year)
        except NetworkError as error:
            if kept is None or fetched is None:
                way_out = (
                    "try again later, give years fetched before, another station with --station, or a weather file"
                )
                raise NetworkError(f"{error}; {way_out}") from error
            self.note(f"{error}; the copy of {fetched:%Y-%m-%d} is used.")
            return kept
        if kept is not None and _values(fresh) < _values(kept):
            self.note(
                f"station {station.id}, {year}: the server now has fewer readings than the copy of {fetched:%Y-%m-%d}, "
                f"which is used; delete {path} to take the new ones."
            )
            return kept
        self._keep(path, gzip.compress(f"# {fresh.credit}\n{fresh.daily.to_csv()}".encode()))
        return fresh

    def _download(self, station: Station, year: int) -> _Year:
        import meteostat as ms

        where = f"station {_named(station)}, {year}"
        if self.unreachable:  # one timeout is enough
            raise NetworkError(f"{where}: {self.unreachable}")
        self._tell(f"fetching {year} of weather station {_named(station)}")
        self.log.records.clear()
        asked = ms.Station(station.id, latitude=station.latitude_deg, longitude=station.longitude_deg)
        parameters = [ms.Parameter(parameter) for parameter in COLUMNS]
        series = ms.daily(asked, date(year, 1, 1), date(year, 12, 31), parameters)
        if self.log.records:
            cause = self.log.records[0].exc_info
            fault, is_reached = _fault(cause[1] if cause else None)
            self.log.records.clear()
            self.unreachable = "" if is_reached else fault
            raise NetworkError(f"{where}: {fault}")
        try:
            return _Year(_in_our_units(series.fetch(sources=True)), series.attribution)
        except (TypeError, ValueError) as error:  # words among the numbers
            raise NetworkError(f"{where}: {BROKEN}") from error

    def _keep(self, path: Path, content: bytes) -> bool:
        """Write beside, then rename, so that a good file is never half replaced; whether it could be kept."""
        if not self.can_keep:
            return False
        part = path.with_name(f"{path.name}.{os.getpid()}.part")
        try:
            path.parent.mkdir(parents=True, exist_ok=True)
            part.write_bytes(content)
            part.replace(path)
        except OSError as error:
            with suppress(OSError):
                part.unlink()
            self.note(f"cache {self.folder}: cannot be written ({error.strerror}); nothing more is kept.")
            self.can_keep = False
        return self.can_keep

    def _tell(self, text: str) -> None:
        if self.progress:
            self.progress(text)


def _fault(error: BaseException | None) -> tuple[str, bool]:
    """What went wrong with a download, and whether the server was reached at all."""
    if isinstance(error, HTTPError):
        error.close()
        return f"the weather server answered with error {error.code}", True
    if isinstance(error, OSError) and not isinstance(error, gzip.BadGzipFile):
        return f"no network, or the weather server is silent ({getattr(error, 'reason', error)})", False
    return BROKEN, True


def _station(station_id: str, listed: Mapping[Any, Any], place: _Place | None) -> Station:
    import pandas as pd

    height = listed["elevation"]
    return _seen_from(
        place,
        Station(
            station_id,
            str(listed["name"]) if pd.notna(listed["name"]) else "",
            float(listed["latitude"]),
            float(listed["longitude"]),
            float(height) if pd.notna(height) else None,
            None,
            None,
        ),
    )


def _in_our_units(table: "pd.DataFrame | None") -> "pd.DataFrame":
    """The library's table in our names and units, without what a model made up."""
    import pandas as pd
    from meteostat.core.providers import provider_service
    from meteostat.enumerations import Grade

    if table is None:
        table = pd.DataFrame(columns=[x for name in COLUMNS for x in (name, f"{name}_source")])
    modelled = {str(p.id) for p in provider_service.providers if p.grade in (Grade.FORECAST, Grade.ANALYSIS)}
    daily = pd.DataFrame(index=pd.DatetimeIndex(table.index, name="date"))
    for name, column in COLUMNS.items():
        source = table[f"{name}_source"].astype(object).fillna("").astype(str)
        # The library leaves out the days of models, but not those mixed of readings and a model.
        observed = ~source.isin([text for text in source.unique() if modelled & set(text.split())])
        value = table[name].astype("float64")  # its own whole-number types wrap round in arithmetic
        daily[column] = value.where(observed).to_numpy() / PER_OUR_UNIT.get(column, 1.0)
        daily[f"{column}_source"] = source.where(observed & value.notna(), "").to_numpy()
    return daily


def _values(year: _Year) -> int:
    return int(year.daily[list(PARAMETERS)].notna().to_numpy().sum())


def _read_year(path: Path) -> _Year | None:
    """A kept year, or None where there is none or it is damaged."""
    import pandas as pd

    try:
        head, _, text = gzip.decompress(path.read_bytes()).decode().partition("\n")
        numbers: dict[str, str] = dict.fromkeys(PARAMETERS, "float64")
        kinds = numbers | {f"{column}_source": "str" for column in PARAMETERS}
        daily = pd.read_csv(io.StringIO(text), index_col="date", dtype=kinds, float_precision="round_trip")
        daily.index = pd.to_datetime(daily.index, format="%Y-%m-%d")
        sources = [name for name in kinds if name not in numbers]
        daily[sources] = daily[sources].fillna("")
        return _Year(daily[[x for column in PARAMETERS for x in (column, f"{column}_source")]], head.removeprefix("# "))
    except (OSError, EOFError, zlib.error, ValueError, KeyError):
        return None


def _fetched_on(path: Path) -> datetime | None:
    try:
        return datetime.fromtimestamp(path.stat().st_mtime, tz=UTC)
    except OSError:
        return None


def _is_sound(path: Path) -> bool:
    """Whether the file is a whole list of stations."""
    try:
        with closing(sqlite3.connect(f"{path.absolute().as_uri()}?mode=ro", uri=True)) as db:
            answer = db.execute("PRAGMA quick_check").fetchone()
            db.execute("SELECT 1 FROM stations, names, inventory, identifiers LIMIT 1")
    except sqlite3.Error:
        return False
    return bool(answer == ("ok",))
