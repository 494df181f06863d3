"""A partition: some sites run in one go, alike ones side by side. This is what the workers do."""

import datetime as dt
import hashlib
from collections.abc import Hashable, Iterator, Sequence
from dataclasses import dataclass
from functools import lru_cache
from pathlib import Path
from typing import TYPE_CHECKING, Any, NamedTuple, TypeVar

from waterbudget.batch.sites import Entry, Folder, Sheet
from waterbudget.errors import SiteError, WaterbudgetError
from waterbudget.schedule.built import garden_of
from waterbudget.schedule.garden import Garden
from waterbudget.schedule.season import season_of
from waterbudget.schedule.sky import Sky
from waterbudget.simulate.drive import drive
from waterbudget.simulate.lanes import build_of, season_key, side_by_side, sized, skies_side_by_side
from waterbudget.simulate.result import SUMMARY, summary_of
from waterbudget.simulate.run import sky_of
from waterbudget.site.model import Site
from waterbudget.units import Array
from waterbudget.weather.files import Weather, read_daily, weather_of
from waterbudget.weather.gaps import use_gauge

if TYPE_CHECKING:
    import pandas as pd

LANES_AT_ONCE = 1000  # beyond it hardly anything is gained in speed, and memory grows
FILES_KEPT, WEATHERS_KEPT = 32, 256
DATES = ("first_short", "first_mains")
NUMBERS = (
    "days",
    "days_lasted",
    "mains_l",
    "mains_days",
    "asked_l",
    "store_l",
    "rain_l",
    "unmet_l",
    "caught_l",
    "spilled_l",
    "volume_reliability",
    "day_reliability",
)

T = TypeVar("T")
OutRow = dict[str, Any]
Stamp = tuple[int, int]  # when a file was changed, and its size


class Partition(NamedTuple):
    """Sites that run together; capacity_l: sizes of one tank of each to be tried, None for the garden as it is."""

    source: Sheet | Folder
    entries: Sequence[Entry]
    capacity_l: Array | None


class Ran(NamedTuple):
    """A row a site, or a site and size, in the order of the sites; and the SHA-256 of each weather file that was read.

    A row holds the quantities of a run's summary under their names, `name`, `error` ("" where all is well) and, with
    sizes, `tank` and `capacity_l`; of a site with an error nothing else.
    """

    rows: list[OutRow]
    weather: dict[str, str]


class Place(NamedTuple):
    """What ET0 needs to know of where the weather is measured, so that sites which share it share their weather."""

    latitude_deg: float | None
    elevation_m: float | None
    wind_height_m: float
    longitude_deg: None = None  # ET0 does without


@dataclass(frozen=True, eq=False)
class Ready:
    """A site that is free of faults, as arrays; tank: the number of the one whose sizes are tried."""

    number: int
    entry: Entry
    site: Site
    weather: Weather
    garden: Garden
    sky: Sky
    tank: int | None

    @property
    def kind(self) -> Hashable:
        """What sites must have in common to run side by side."""
        dates = self.weather.dates
        return build_of(self.garden), season_key(self.site), dates[0], len(dates), self.sky.tmax_c is None


def run_partition(partition: Partition) -> Ran:
    """Run every site of a partition; one that has a fault becomes a row that tells it."""
    rows: dict[int, list[OutRow]] = {}
    weather: dict[str, str] = {}
    alike: dict[Hashable, list[Ready]] = {}
    for number, entry in enumerate(partition.entries):
        try:
            one = _ready(number, entry, partition, weather)
        except WaterbudgetError as error:
            rows[number] = [{"name": _storable(entry.name), "error": _storable(" | ".join(str(error).splitlines()))}]
        else:
            alike.setdefault(one.kind, []).append(one)
    sizes = 1 if partition.capacity_l is None else len(partition.capacity_l)
    for kind in alike.values():
        for some in pieces(kind, max(1, LANES_AT_ONCE // sizes)):
            rows |= _outcomes(some, partition.capacity_l, sizes)
    return Ran([row for number in sorted(rows) for row in rows[number]], weather)


def pieces(of: Sequence[T], length: int) -> Iterator[Sequence[T]]:
    """A sequence in pieces of a length; the last may be shorter."""
    return (of[first : first + length] for first in range(0, len(of), length))


def digest(path: str | Path) -> str:
    """The SHA-256 of a file's content; "unreadable" where it cannot be read, or is a pipe or a device."""
    if not Path(path).is_file():
        return "unreadable"
    try:
        with Path(path).open("rb") as handle:
            return hashlib.file_digest(handle, "sha256").hexdigest()
    except OSError:
        return "unreadable"


def _ready(number: int, entry: Entry, partition: Partition, read: dict[str, str]) -> Ready:
    """A site with its weather, whose files are added to those read. Raises WaterbudgetError for its faults."""
    source = partition.source
    site, folder = source.site_of(entry), source.folder_of(entry)
    tank = None if partition.capacity_l is None else source.size_tank_of(entry, site)
    if site.weather.file is None:
        raise SiteError(
            f"{entry.where}: weather.file: is missing, and a batch takes its weather from files alone; "
            "waterbudget weather SITE --out FILE writes that of a station into one"
        )
    file, gauge = folder / site.weather.file, None if site.weather.gauge is None else folder / site.weather.gauge
    place = Place(site.latitude_deg, site.elevation_m, site.wind_height_m)
    weather = _weather(file, _stamp(file), gauge, gauge and _stamp(gauge), place)
    read |= {str(one): _digest(one, _stamp(one)) for one in (file, gauge) if one is not None}
    return Ready(number, entry, site, weather, garden_of(site), sky_of(site, weather), tank)


def _outcomes(some: Sequence[Ready], capacity_l: Array | None, sizes: int) -> dict[int, list[OutRow]]:
    """Run alike sites side by side: the rows of each, by its number."""
    first = some[0]
    gardens = [one.garden if capacity_l is None else sized(one.garden, one.tank or 0, capacity_l) for one in some]
    garden = side_by_side(gardens, sizes)
    one_sky = all(one.weather is first.weather for one in some)
    sky = first.sky if one_sky else skies_side_by_side([one.sky for one in some], sizes)
    dates = first.weather.dates
    season = season_of(first.site, first.weather.date_column)
    state, kept = drive(garden, season, sky, keep=SUMMARY)
    rows: dict[int, list[OutRow]] = {}
    for lane in range(len(some) * sizes):
        one, size = some[lane // sizes], lane % sizes
        summary = summary_of(garden, state, kept, dates, lane)
        row: OutRow = {"name": _storable(one.entry.name)}
        if capacity_l is not None:
            row |= {"tank": one.site.tank[one.tank or 0].name, "capacity_l": float(capacity_l[size])}
        row |= {name: summary[name] for name in NUMBERS}
        row |= {name: summary[name] and dt.date.fromisoformat(summary[name]) for name in DATES}
        rows.setdefault(one.number, []).append(row | {"error": ""})
    return rows


def _storable(text: str) -> str:
    """Text that UTF-8 can hold: the name of a file may have bytes that it cannot."""
    return text.encode(errors="replace").decode()


# Workers live on between batches, so what they keep of a file goes by its stamp.


def _stamp(path: Path) -> Stamp | None:
    try:
        state = path.stat()
    except OSError:
        return None  # told by whoever reads it
    return state.st_mtime_ns, state.st_size


@lru_cache(FILES_KEPT)
def _digest(path: Path, _stamp: Stamp | None) -> str:
    return digest(path)


@lru_cache(FILES_KEPT)
def _daily(path: Path, _stamp: Stamp | None) -> "pd.DataFrame":
    return read_daily(path)


@lru_cache(WEATHERS_KEPT)
def _weather(file: Path, stamp: Stamp | None, gauge: Path | None, _gauge_stamp: Stamp | None, place: Place) -> Weather:
    daily = _daily(file, stamp)
    if gauge is not None:
        daily, _ = use_gauge(daily, gauge)
    return weather_of(daily, place, file.name)
