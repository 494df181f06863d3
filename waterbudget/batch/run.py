"""A batch: very many sites, partition by partition, so that it can be stopped and gone on with."""

import hashlib
import re
from collections.abc import Callable, Iterable
from contextlib import ExitStack
from dataclasses import dataclass
from importlib.metadata import version
from itertools import groupby
from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np

from waterbudget.batch.cluster import check_address, each_done, local_workers, refuse_without_dask, workers_of
from waterbudget.batch.partition import Partition, digest, pieces, run_partition
from waterbudget.batch.parts import Parts, schema_of
from waterbudget.batch.places import placed
from waterbudget.batch.sites import Entry, Folder, Sheet, folder_sites, sheet_sites
from waterbudget.batch.town import Together, together
from waterbudget.errors import InputError, OutputError, shown
from waterbudget.output import alone, refuse_existing
from waterbudget.units import Array
from waterbudget.weather.files import read_daily
from waterbudget.weather.grid import Cells, open_cells

if TYPE_CHECKING:
    from contextlib import AbstractContextManager

    import pandas as pd
    from distributed import Client

PARTITION = 1000  # sites: some seconds of work, so that little is lost with a worker
SIZES = re.compile(r"([0-9]+(?:\.[0-9]+)?):([0-9]+(?:\.[0-9]+)?):([0-9]{1,4})")
LISTED = re.compile(r"[0-9]+(?:\.[0-9]+)?(?:,[0-9]+(?:\.[0-9]+)?)+")
LEAST_STEPS, MOST_STEPS = 2, 1000
RUNS_OF = 4  # a compiled engine pays where this many workers share the partitions
LARGEST_L = 1e7  # ten thousand cubic metres: beyond every garden
SUFFIXES = (".parquet", ".csv")


@dataclass(frozen=True, eq=False)
class Batch:
    """Sites to run, and in which partitions.

    made_of: what the results follow from, each by its digest or in words. cells: weather by place, by which the
    partitions go; None where each site names its own files. by: the column of groups. name: of sheet or folder.
    """

    source: Sheet | Folder
    entries: list[Entry]
    capacity_l: Array | None
    partition: int
    made_of: dict[str, str]
    cells: Cells | None = None
    by: str | None = None
    name: str = ""

    @property
    def partitions(self) -> list[Partition]:
        """The sites in the pieces that run in one go, cell after cell."""
        in_order = sorted(self.entries, key=lambda entry: -1 if entry.at is None else entry.at)
        lots = [list(lot) for _, lot in groupby(in_order, key=lambda entry: entry.at)]
        some = [piece for lot in lots for piece in pieces(lot, self.partition)]
        runs = max(1, len(some) // RUNS_OF)
        return [Partition(self.source, piece, self.capacity_l, self.cells, runs) for piece in some]


@dataclass(frozen=True)
class Done:
    """What came of a batch.

    name: of the sheet or folder. sites: how many there are; kept: how many of them had been run when it was gone on
    with; sizes: how many were tried, 0 for none. Of the output: how many rows it has, how many sites have an error
    (faulty) and what the first of these say (faults), and how many rows without one ran short on no day (lasting).
    daily: sums over all gardens of each day, group and size; together: what they come to, of all gardens first. by: the
    column of groups.
    """

    name: str
    out: Path
    sites: int
    kept: int
    sizes: int
    rows: int
    faulty: int
    faults: tuple[str, ...]
    lasting: int
    daily: "pd.DataFrame"
    together: tuple[Together, ...]
    by: str | None = None


def open_batch(
    sites: Path,
    *,
    template: Path | None = None,
    sizes: str | None = None,
    partition: int = PARTITION,
    weather: str | None = None,
    by: str | None = None,
) -> Batch:
    """What a batch is to run; nothing has run yet.

    sites: a CSV file of sites or a folder of site files. template: site file that the rows of the CSV file change, by
    default site.toml beside it. sizes: capacities [L] of one tank that are tried, as FROM:TO:STEPS or listed, as
    0,200,350. partition: sites that run in one go. weather: a netCDF file, a zarr store or a folder of weather files,
    of which each site takes the nearest cell, or that of its column cell. by: the column that sites are summed by.
    Raises InputError where one of these is at fault; a site with a fault is told when it has run.
    """
    capacity_l = None if sizes is None else sizes_of(sizes)
    if partition < 1:
        raise InputError(f"partition is {partition}; write how many sites run in one go, 1 or more")
    made_of = {
        "--sizes": str(sizes),
        "--partition": str(partition),
        "--by": str(by),
        "version of waterbudget": version("waterbudget"),
    }
    if not sites.is_dir():
        sheet, entries = sheet_sites(sites, template, by)
        cells = None if weather is None else open_cells(weather)
        if cells is None:
            _refuse_without_weather(sheet)
        else:
            entries = placed(sheet, entries, cells)
            made_of |= {"--weather": cells.digest}
        made_of |= {"SITES": _digest(entries), "--template": _digest([sheet.folder, sheet.template, sheet.columns])}
        return Batch(sheet, entries, capacity_l, partition, made_of, cells, by, sites.name)
    if template is not None:
        raise InputError(f"{template}: a template goes with a CSV file, and {sites} is a folder; leave one of them out")
    for option, given in (("weather", weather), ("by", by)):
        if given is not None:
            raise InputError(
                f"--{option}: goes with a CSV file of sites, and {sites} is a folder; leave one of them out"
            )
    folder, entries = folder_sites(sites)
    made_of |= {"SITES": _digest((entry, digest(entry.where)) for entry in entries)}
    return Batch(folder, entries, capacity_l, partition, made_of, name=sites.name)


def sizes_of(words: str) -> Array:
    """Capacities [L] that FROM:TO:STEPS stands for, evenly spaced, or those of a list, (size,).

    Raises InputError where it is neither.
    """
    if LISTED.fullmatch(words):
        listed_l = [float(word) for word in words.split(",")]
        if sorted(set(listed_l)) != listed_l or listed_l[-1] > LARGEST_L or len(listed_l) > MOST_STEPS:
            raise InputError(
                f"sizes is {shown(words)}; write each size once, the smallest first, up to {LARGEST_L:,.0f} L, "
                f"at most {MOST_STEPS:,} of them"
            )
        return np.array(listed_l)
    match = SIZES.fullmatch(words)
    form = "write FROM:TO:STEPS, such as 500:5000:10 for ten sizes from 500 to 5000 L, or a list, such as 0,200,1000"
    if not match:
        raise InputError(f"sizes is {shown(words)}; {form}")
    from_l, to_l, steps = float(match[1]), float(match[2]), int(match[3])
    if not 0.0 < from_l < to_l <= LARGEST_L or not LEAST_STEPS <= steps <= MOST_STEPS:
        raise InputError(
            f"sizes is {words}; write the smaller size first, both above 0 and up to {LARGEST_L:,.0f} L, "
            f"and {LEAST_STEPS} to {MOST_STEPS:,} steps: {form}"
        )
    return np.linspace(from_l, to_l, steps)


def run_batch(
    batch: Batch,
    out: Path,
    *,
    workers: int | None = None,
    scheduler: str | None = None,
    series: Path | None = None,
    overwrite: bool = False,
    progress: Callable[[int], object] = lambda _: None,
) -> Done:
    """Run the partitions that are not finished yet, then write all results to a Parquet or CSV file, by its ending.

    series: file of the sums of every day, group and size, Parquet or CSV.

    workers: processes on this machine, by default one a processor; or scheduler: address of one that has been started,
    whose workers find site and weather files under the same paths. progress: told each time how many more sites are
    done. Until the end finished partitions stand in a folder beside `out`, from which the same call goes on.
    Raises InputError for what the user can mend, also where another batch runs into the same file, WaterbudgetError
    where the scheduler or its workers fail.
    """
    refuse_without_dask()
    if workers is not None and scheduler is not None:
        raise InputError("workers and scheduler are both given; leave workers out, as a scheduler has its own")
    if scheduler is not None:
        check_address(scheduler)
    outputs = [out] if series is None else [out, series]
    for path in outputs:
        if path.suffix not in SUFFIXES:
            raise OutputError(f"{path}: is no name for a table; write one that ends in {' or '.join(SUFFIXES)}")
    if series is not None and series.resolve() == out.resolve():
        raise OutputError(f"{out}: is the name of two files; give --series another")
    refuse_existing(outputs, overwrite=overwrite)
    partitions = batch.partitions
    parts = Parts(out, batch.made_of, len(partitions))
    with ExitStack() as stack:
        client = None
        if missing := parts.missing(goes_on=parts.look(overwrite=overwrite)):
            client = stack.enter_context(_workers(workers, scheduler, len(missing)))
        stack.enter_context(alone(out))
        goes_on = parts.look(overwrite=overwrite)  # anew, as another batch may have run until now
        missing = parts.missing(goes_on=goes_on)
        kept = len(batch.entries) - sum(len(partitions[number].entries) for number in missing)
        progress(kept)
        if client is not None:
            parts.begin(anew=not goes_on)
            schema = schema_of(
                sizes=batch.capacity_l is not None, placed=isinstance(batch.source, Sheet), grouped=batch.by is not None
            )
            tasks = ((number, partitions[number]) for number in missing)
            for number, ran in each_done(client, run_partition, tasks):
                parts.save(number, ran, schema)
                progress(len(partitions[number].entries))
        joined = parts.join(overwrite=overwrite, series=series)
    sizes = 0 if batch.capacity_l is None else len(batch.capacity_l)
    return Done(batch.name, out, len(batch.entries), kept, sizes, *joined, tuple(together(joined.daily)), batch.by)


def _workers(workers: int | None, scheduler: str | None, most: int) -> "AbstractContextManager[Client]":
    if scheduler is not None:
        return workers_of(scheduler)
    from dask.system import CPU_COUNT

    return local_workers(min(workers or CPU_COUNT, most))


def _refuse_without_weather(sheet: Sheet) -> None:
    """Raises InputError where every row has the template's weather and that cannot be read: no row would run."""
    source = sheet.template.get("weather", {})
    if any(column.head == "weather.file" for column in sheet.columns):
        return
    if "file" not in source:
        raise InputError(
            "weather.file: is in neither the template nor a column, and a batch takes its weather from files alone; "
            "waterbudget weather SITE --out FILE writes that of a station into one"
        )
    read_daily(sheet.folder / source["file"])


def _digest(things: Iterable[object]) -> str:
    summed = hashlib.sha256()
    for thing in things:
        summed.update(repr(thing).encode())
    return summed.hexdigest()
