"""The shelf: what was fetched from the weather server through meteostat, kept for the next time, and the way there.

Years once fetched are kept, a compressed text file each, in a folder of our own, so that asking again needs no network.
The library's own cache stays off: it writes an empty file over a good one when a download fails, and deletes old files.
"""

import gzip
import logging
import re
import socket
import tempfile
from collections.abc import Callable, Iterable, Iterator, Mapping
from contextlib import contextmanager
from dataclasses import dataclass, replace
from datetime import UTC, date, datetime, timedelta
from pathlib import Path
from typing import TYPE_CHECKING, Any, NamedTuple, TypeAlias
from urllib.error import HTTPError

from waterbudget.errors import OutputError, WaterbudgetError, WeatherError, shown
from waterbudget.output import cache_folder, scratch, write_files
from waterbudget.weather.kept import PARAMETERS, KeptYear, fetched_on, in_our_units, is_sound, read_year, values_of

if TYPE_CHECKING:
    import pandas as pd

WIND_HEIGHT_M = 10.0  # the usual height of station wind; the data do not state it
TIMEOUT_S, RETRIES = 20.0, 1  # of one silent connection, and how often it is tried again
LIST_DAYS = 30  # life of the list of stations
LATE_READINGS = timedelta(days=31)  # a year fetched this long after its end is taken as settled
NEVER_S = 10**10
MANY = 1000  # stations within reach

BROKEN = "the weather server sent a broken file"
NEXT = "give another period, another station with --station, or a weather file"


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


class Spot(NamedTuple):
    """A place as stations see it: degrees north and east, metres above the sea, and the height of their wind gauges."""

    latitude_deg: float
    longitude_deg: float
    elevation_m: float | None
    wind_height_m: float = WIND_HEIGHT_M


def named(station: Station) -> str:
    """The station in a message: id, name and, where it is known, how far it is."""
    far = "" if station.distance_km is None else f" ({station.distance_km:.1f} km)"
    return f"{station.id} {station.name}{far}"


def span(days: "pd.DatetimeIndex") -> str:
    """The first and the last day in a message."""
    return f"{days[0]:%Y-%m-%d} to {days[-1]:%Y-%m-%d}"


def joined(credits_: Iterable[str]) -> str:
    """One credit out of several, each name once."""
    names = {name for credit in credits_ for name in credit.split(", ")} - {"Meteostat"}
    return ", ".join(["Meteostat", *sorted(names)])


def seen_from(place: Spot | None, station: Station) -> Station:
    """The station with its distance and height difference from a place."""
    if place is None:
        return station
    from meteostat.utils.geo import get_distance

    metres = get_distance(place.latitude_deg, place.longitude_deg, station.latitude_deg, station.longitude_deg)
    here_m, there_m = place.elevation_m, station.elevation_m
    height_m = None if here_m is None or there_m is None else there_m - here_m
    return replace(station, distance_km=metres / 1000.0, height_difference_m=height_m)


class _Log(logging.Handler):
    """The library returns nothing and raises nothing when a download fails: only its log tells."""

    def __init__(self) -> None:
        super().__init__(logging.WARNING)
        self.records: list[logging.LogRecord] = []

    def emit(self, record: logging.LogRecord) -> None:
        self.records.append(record)


@contextmanager
def opened(
    cache: Path | None,
    *,
    refresh: bool = False,
    offline: bool = False,
    progress: Callable[[str], None] | None = None,
) -> "Iterator[Shelf]":
    """The shelf of fetched years, with the library's settings ours until it is closed; offline: nothing is fetched."""
    import meteostat as ms

    folder = cache_folder() if cache is None else cache
    log, logger = _Log(), logging.getLogger("meteostat")
    logger_was, timeout_was = (logger.level, logger.propagate), socket.getdefaulttimeout()
    with scratch(Path(tempfile.gettempdir())) as downloads:
        ours = {
            "cache_enable": False,
            "cache_directory": str(downloads),
            "cache_ttl": NEVER_S,
            "stations_db_file": str(downloads / "stations.db"),
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
            yield Shelf(folder, downloads, log, refresh=refresh, offline=offline, progress=progress)
        finally:
            socket.setdefaulttimeout(timeout_was)
            logger.removeHandler(log)
            logger.setLevel(logger_was[0])
            logger.propagate = logger_was[1]
            for name, value in theirs.items():
                setattr(ms.config, name, value)


class Shelf:
    """The folder of fetched years and the way to those not in it.

    records: what was read, by id of the station. notes: what to tell of it.
    """

    def __init__(
        self,
        folder: Path,
        scratch: Path,
        log: _Log,
        *,
        refresh: bool,
        offline: bool,
        progress: Callable[[str], None] | None,
    ) -> None:
        import pandas as pd

        self.folder, self.scratch, self.log = folder, scratch, log
        self.refresh, self.offline, self.progress = refresh, offline, progress
        self.records: dict[str, Record] = {}
        self.notes: list[str] = []
        self.inventory = pd.DataFrame(columns=["station", "parameter", "start", "end"])
        self.has_list, self.can_keep = False, True
        self.unreachable = "it is not in the cache" if offline else ""

    def note(self, text: str) -> None:
        """Tell a thing once."""
        if text not in self.notes:
            self.notes.append(text)

    # The list of stations

    def near(self, place: Spot, within_km: float) -> list[Station]:
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

    def station(self, text: str, place: Spot | None) -> Station:
        """The station of this id. Raises WeatherError where there is none."""
        import meteostat as ms

        self._find_list()
        station_id = text.strip().upper()
        # The library asks its list with LIKE, where a % would fit any station.
        listed = ms.stations.meta(station_id) if re.fullmatch("[0-9A-Z]+", station_id) else None
        if listed is None:
            raise WeatherError(
                f"station {shown(text)}: no weather station has this id; leave --station out for the nearest, "
                "or give a weather file"
            )
        return _station(station_id, vars(listed), place)

    def nothing(self, station: Station, days: "pd.DatetimeIndex", what: str) -> str:
        """What to say of a station that has nothing in the period."""
        rows = self._inventory([station.id]) if self.has_list else self.inventory
        rain = rows[rows["parameter"] == "prcp"].dropna(subset=["start", "end"])
        listed = "" if rain.empty else f" (its rain is listed from {rain['start'].min()} to {rain['end'].max()})"
        return f"station {named(station)}: {what} for {span(days)}{listed}; {NEXT}"

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
        fetched = fetched_on(kept) if is_sound(kept) else None
        chosen = kept
        is_old = fetched is not None and fetched < datetime.now(tz=UTC) - timedelta(days=LIST_DAYS)
        if fetched is None or self.refresh or (is_old and not self.offline):
            fault = self.unreachable or self._fetch_list(fresh)
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
        return "" if is_sound(target) else BROKEN

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
            credit = joined(year.credit for year in held)
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

    def _year(self, station: Station, year: int) -> KeptYear:
        path = self.folder / "daily" / f"{station.id}-{year}.csv.gz"
        kept, fetched = read_year(path), fetched_on(path)
        now = datetime.now(tz=UTC)
        if kept is not None and fetched is not None and not self.refresh:
            settled = fetched > datetime(year + 1, 1, 1, tzinfo=UTC) + LATE_READINGS
            if settled or self.offline or fetched > now - timedelta(days=1):
                return kept
        try:
            fresh = self._download(station, year)
        except NetworkError as error:
            if kept is None or fetched is None:
                way_out = (
                    "waterbudget weather fetches it"
                    if self.offline
                    else "try again later, give years fetched before, another station with --station, or a weather file"
                )
                raise NetworkError(f"{error}; {way_out}") from error
            self.note(f"{error}; the copy of {fetched:%Y-%m-%d} is used.")
            return kept
        if kept is not None and values_of(fresh) < values_of(kept):
            self.note(
                f"station {station.id}, {year}: the server now has fewer readings than the copy of {fetched:%Y-%m-%d}, "
                f"which is used; delete {path} to take the new ones."
            )
            return kept
        self._keep(path, gzip.compress(f"# {fresh.credit}\n{fresh.daily.to_csv()}".encode()))
        return fresh

    def _download(self, station: Station, year: int) -> KeptYear:
        import meteostat as ms

        where = f"station {named(station)}, {year}"
        if self.unreachable:  # one timeout is enough
            raise NetworkError(f"{where}: {self.unreachable}")
        self._tell(f"fetching {year} of weather station {named(station)}")
        self.log.records.clear()
        asked = ms.Station(station.id, latitude=station.latitude_deg, longitude=station.longitude_deg)
        parameters = [ms.Parameter(parameter) for parameter in PARAMETERS.values()]
        series = ms.daily(asked, date(year, 1, 1), date(year, 12, 31), parameters)
        if self.log.records:
            cause = self.log.records[0].exc_info
            fault, is_reached = _fault(cause[1] if cause else None)
            self.log.records.clear()
            self.unreachable = "" if is_reached else fault
            raise NetworkError(f"{where}: {fault}")
        try:
            return KeptYear(in_our_units(series.fetch(sources=True)), series.attribution)
        except (TypeError, ValueError) as error:  # words among the numbers
            raise NetworkError(f"{where}: {BROKEN}") from error

    def _keep(self, path: Path, content: bytes) -> bool:
        """Write a file of the cache; whether it could be kept."""
        if not self.can_keep:
            return False
        try:
            write_files({path: content}, overwrite=True)
        except OutputError as error:
            self.note(f"cache: {error}. Nothing more is kept.")
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


def _station(station_id: str, listed: Mapping[Any, Any], place: Spot | None) -> Station:
    import pandas as pd

    height = listed["elevation"]
    return seen_from(
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
