"""A partition: some sites run in one go, alike ones side by side. This is what the workers do."""

import hashlib
from collections.abc import Hashable, Iterator, Sequence
from dataclasses import dataclass, replace
from functools import lru_cache
from pathlib import Path
from typing import TYPE_CHECKING, Any, NamedTuple, TypeVar

import numpy as np

from waterbudget.batch.columns import fits, laid_out, layout_of, read_sizes, sized_columns
from waterbudget.batch.outcome import KEEP, DayKey, DaySums, add_days, columns_of
from waterbudget.batch.places import PLACE
from waterbudget.batch.sites import SIZE_TANK, Entry, Folder, Sheet
from waterbudget.errors import SiteError, WaterbudgetError
from waterbudget.schedule.built import garden_of
from waterbudget.schedule.garden import Garden
from waterbudget.schedule.season import season_of
from waterbudget.schedule.sky import Sky
from waterbudget.simulate.drive import drive
from waterbudget.simulate.lanes import (
    build_of,
    of_lanes,
    of_soil_triggered_beds,
    season_key,
    side_by_side,
    sized,
    skies_side_by_side,
)
from waterbudget.simulate.run import sky_of
from waterbudget.site.model import Site
from waterbudget.units import Array
from waterbudget.weather.days import Weather
from waterbudget.weather.files import read_daily, weather_of
from waterbudget.weather.gaps import use_gauge
from waterbudget.weather.grid import Cells, Spot

if TYPE_CHECKING:
    import pandas as pd

LANES_AT_ONCE = 1000  # beyond it hardly anything is gained in speed, and memory grows
LANE_DAYS_AT_ONCE = 1_000_000  # of the sums of every day: 8 MB for each of them
FILES_KEPT, WEATHERS_KEPT = 32, 256
LATITUDE = ("site", 0, "latitude_deg")

T = TypeVar("T")
OutRow = dict[str, Any]
Stamp = tuple[int, int]  # when a file was changed, and its size


class Partition(NamedTuple):
    """Sites that run together.

    capacity_l: sizes of one tank of each to be tried, None for the garden as it is. cells: where sites get their
    weather by place, None for their own files. runs: how many such partitions a worker is about to run.
    """

    source: Sheet | Folder
    entries: Sequence[Entry]
    capacity_l: Array | None
    cells: Cells | None = None
    runs: int = 1


class Ran(NamedTuple):
    """A row a site, or a site and size, in the order of the sites; sums of every day; and what weather was read.

    A row holds the quantities of a run's summary under their names, `name`, `error` ("" where all is well) and, with
    sizes, `tank` and `capacity_l`; of a site with an error nothing else. weather: the SHA-256 of each file; cells: of
    the readings of each cell, by its name.
    """

    rows: list[OutRow]
    weather: dict[str, str]
    cells: dict[str, str]
    daily: list[DaySums]


@dataclass(frozen=True, eq=False)
class Ready:
    """Sites of one layout that are free of faults, as the lanes of a garden.

    numbers: of the entries. site: the first of them. tank: the number of the one whose sizes are tried.
    """

    numbers: Sequence[int]
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

    def part(self, some: slice) -> "Ready":
        """Some of its sites."""
        return replace(self, numbers=self.numbers[some], garden=of_lanes(self.garden, some))


def run_partition(partition: Partition) -> Ran:
    """Run every site of a partition; one that has a fault becomes a row that tells it."""
    entries, rows = partition.entries, dict[int, list[OutRow]]()
    ran = Ran([], {}, {}, [])
    alike: dict[Hashable, list[Ready]] = {}
    for some in _layouts(partition):
        for one in _checked(some, partition, ran, rows):
            alike.setdefault(one.kind, []).append(one)
    capacity_l = partition.capacity_l
    sizes = 1 if capacity_l is None else len(capacity_l)
    daily: dict[DayKey, DaySums] = {}
    for kind in alike.values():
        most = max(1, min(LANES_AT_ONCE, LANE_DAYS_AT_ONCE // len(kind[0].weather.dates)) // sizes)
        for together in _packed(kind, most):
            rows |= _outcomes(together, partition, daily)
    return ran._replace(
        rows=[_carried(entries[number], partition.source) | row for number in sorted(rows) for row in rows[number]],
        daily=[daily[key] for key in sorted(daily, key=repr)],
    )


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


# ---- From rows to gardens --------------------------------------------------------------------------------------------


def _layouts(partition: Partition) -> list[list[int]]:
    """The numbers of the entries in lots of one layout; a site file is one of its own."""
    source, entries = partition.source, partition.entries
    if isinstance(source, Folder):
        return [[number] for number in range(len(entries))]
    columns = sized_columns(source.template, source.columns)
    heads = [column.head for column in source.columns]
    own = [n for n, column in enumerate(source.columns) if column.place is None and column.head != SIZE_TANK]
    lots: dict[Hashable, list[int]] = {}
    for number, entry in enumerate(entries):
        whole = not entry.fault and len(entry.cells) == len(heads)
        key = (entry.at, layout_of(entry.cells, columns, own)) if whole else number
        lots.setdefault(key, []).append(number)
    return list(lots.values())


def _checked(numbers: list[int], partition: Partition, ran: Ran, rows: dict[int, list[OutRow]]) -> Iterator[Ready]:
    """Entries of one layout as gardens; those with a fault become rows, and weather that was read is noted."""
    source, waiting, as_columns = partition.source, list(numbers), len(numbers) > 1
    while waiting:
        first, *waiting = waiting
        try:
            one = _ready(first, partition, ran)
        except WaterbudgetError as error:
            rows[first] = [{"error": _storable(" | ".join(str(error).splitlines()))}]
            continue
        if as_columns and isinstance(source, Sheet):
            many, waiting = _as_columns(source, one, waiting, partition, ran)
            yield from many
            as_columns = False  # those that are left go through the whole model one by one
        else:
            yield one


def _as_columns(
    source: Sheet, one: Ready, others: list[int], partition: Partition, ran: Ran
) -> tuple[list[Ready], list[int]]:
    """A checked site with those of its layout whose numbers pass, side by side; and the others, to be checked whole.

    Sites that share their weather are one; latitudes of their own may part them where ET0 hangs on it.
    """
    numbers = [*one.numbers, *others]
    cells = [partition.entries[number].cells for number in numbers]
    columns = sized_columns(source.template, source.columns)
    sizes, good = read_sizes(cells, columns)
    site = laid_out(one.site, sizes)
    good = good & fits(site)
    good[0] = True
    latitudes_deg = None if partition.cells is not None else sizes.get(LATITUDE)
    lots: dict[int, tuple[Weather, list[int]]] = {}
    for place in np.flatnonzero(good).tolist():
        weather = one.weather
        if latitudes_deg is not None and place:
            try:
                weather = _weather_of(numbers[place], one.site, float(latitudes_deg[place]), partition, ran)
            except WaterbudgetError:
                good[place] = False  # to be told by who checks it whole
                continue
        lots.setdefault(id(weather), (weather, []))[1].append(place)
    garden = garden_of(site)
    many = [
        Ready(
            [numbers[place] for place in places],
            one.site,
            weather,
            of_lanes(garden, places),
            sky_of(one.site, weather),
            one.tank,
        )
        for weather, places in lots.values()
    ]
    return many, [number for number, is_good in zip(numbers, good, strict=True) if not is_good]


def _ready(number: int, partition: Partition, ran: Ran) -> Ready:
    """A site with its weather, checked by the whole model. Raises WaterbudgetError for its faults."""
    source, entry = partition.source, partition.entries[number]
    site = source.site_of(entry)
    tank = None if partition.capacity_l is None else source.size_tank_of(entry, site)
    weather = _weather_of(number, site, site.latitude_deg, partition, ran)
    return Ready([number], site, weather, garden_of(site), sky_of(site, weather), tank)


# ---- Weather ---------------------------------------------------------------------------------------------------------


def _weather_of(number: int, site: Site, latitude_deg: float | None, partition: Partition, ran: Ran) -> Weather:
    """The weather of a site: of its cell, or of the files that it names; what was read is noted.

    latitude_deg: its own, in place of that of the site whose layout it has.
    """
    entry, source = partition.entries[number], partition.source
    spot = Spot(latitude_deg, site.elevation_m, site.wind_height_m)
    if partition.cells is not None and entry.at is not None:
        shared_deg = source.template["site"].get("latitude_deg") if isinstance(source, Sheet) else None
        spot = spot._replace(latitude_deg=shared_deg)  # a grid knows its own, files of a folder stand for the template
        weather, summed = _cell_weather(_Held(partition.cells), entry.at, spot)
        ran.cells[partition.cells.names[entry.at]] = summed
        return weather
    if site.weather.file is None:
        raise SiteError(
            f"{entry.where}: weather.file: is missing, and a batch takes its weather from files alone; "
            "waterbudget weather SITE --out FILE writes that of a station into one"
        )
    folder = source.folder_of(entry)
    file, gauge = folder / site.weather.file, None if site.weather.gauge is None else folder / site.weather.gauge
    stamps = _stamp(file), gauge and _stamp(gauge)
    if "et0_mm" in _daily(file, stamps[0]):
        spot = Spot(None, None, spot.wind_height_m)  # ET0 that is given is the same everywhere
    weather = _weather(file, stamps[0], gauge, stamps[1], spot)
    for one, stamp in zip((file, gauge), stamps, strict=True):
        if one is not None and str(one) not in ran.weather:
            ran.weather[str(one)] = _digest(one, stamp)
    return weather


class _Held:
    """Cells that are the same wherever they were sent from, so that a worker reads each once."""

    def __init__(self, cells: Cells) -> None:
        self.cells, self._key = cells, (cells.path, cells.digest)

    def __eq__(self, other: object) -> bool:
        return isinstance(other, _Held) and self._key == other._key

    def __hash__(self) -> int:
        return hash(self._key)


@lru_cache(WEATHERS_KEPT)
def _cell_weather(held: _Held, cell: int, spot: Spot) -> tuple[Weather, str]:
    weather = held.cells.weather(cell, spot)
    return weather, weather.digest


# ---- Running and what comes of it ------------------------------------------------------------------------------------


def _packed(kind: Sequence[Ready], most: int) -> Iterator[list[Ready]]:
    """Sites of one kind in lots of at most so many, those of one layout together as far as they go."""
    lot: list[Ready] = []
    held = 0
    for one in kind:
        for numbers in pieces(range(len(one.numbers)), most):
            part = one.part(slice(numbers[0], numbers[-1] + 1))
            if held + len(numbers) > most and lot:
                yield lot
                lot, held = [], 0
            lot.append(part)
            held += len(numbers)
    yield lot


def _outcomes(some: Sequence[Ready], partition: Partition, daily: dict[DayKey, DaySums]) -> dict[int, list[OutRow]]:
    """Run alike sites side by side: the rows of each, by its number; their days are added to the sums."""
    first, capacity_l = some[0], partition.capacity_l
    sizes = 1 if capacity_l is None else len(capacity_l)
    lanes = [len(one.numbers) * sizes for one in some]
    gardens = [one.garden if capacity_l is None else _in_sizes(one, capacity_l) for one in some]
    shares_sky = all(one.weather is first.weather for one in some)
    sky = first.sky if shares_sky else skies_side_by_side([one.sky for one in some], lanes)
    season = season_of(first.site, first.weather.date_column)
    garden, season = of_soil_triggered_beds(side_by_side(gardens, lanes), season)
    _, kept = drive(garden, season, sky, keep=KEEP, runs=partition.runs)
    numbers = [number for one in some for number in one.numbers]
    columns = columns_of(kept, first.weather.dates)
    values = list(zip(*(column for column in columns.values()), strict=True))
    rows: dict[int, list[OutRow]] = {}
    names = [one.site.tank[one.tank or 0].name for one in some for _ in one.numbers]
    for place, number in enumerate(numbers):
        for size in range(sizes):
            row: OutRow = {}
            if capacity_l is not None:
                row = {"tank": names[place], "capacity_l": float(capacity_l[size])}
            row |= zip(columns, values[place * sizes + size], strict=True)
            rows.setdefault(number, []).append(row | {"error": ""})
    add_days(kept, [partition.entries[number] for number in numbers], capacity_l, first.weather.dates, daily)
    return rows


def _in_sizes(one: Ready, capacity_l: Array) -> Garden:
    """The sites of a layout, each with so many capacities of one tank: a lane for each, site by site."""
    sites, sizes = len(one.numbers), len(capacity_l)
    each = of_lanes(one.garden, np.repeat(np.arange(sites), sizes))
    return sized(each, one.tank or 0, np.tile(capacity_l, sites))


def _carried(entry: Entry, source: Sheet | Folder) -> OutRow:
    """What a row of the results repeats of its site: name, weight, group, and where it lies."""
    row: OutRow = {"name": _storable(entry.name), "weight": entry.weight, "group": entry.group}
    if isinstance(source, Sheet):
        place = source.place_of(entry)
        row |= {key: place[key] for key in PLACE}
    return row


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
def _weather(file: Path, stamp: Stamp | None, gauge: Path | None, _gauge_stamp: Stamp | None, spot: Spot) -> Weather:
    daily = _daily(file, stamp)
    if gauge is not None:
        daily, _ = use_gauge(daily, gauge)
    return weather_of(daily, spot, file.name)
