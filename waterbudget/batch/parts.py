"""The finished partitions of a batch: kept beside the output until all are there, then joined into it."""

import json
from collections.abc import Mapping, Sequence
from contextlib import suppress
from io import BytesIO
from pathlib import Path
from typing import TYPE_CHECKING, Any, NamedTuple

import numpy as np

from waterbudget.batch.outcome import DAILY, DATES, NUMBERS, DaySums
from waterbudget.batch.partition import Ran, digest, pieces
from waterbudget.errors import OutputError
from waterbudget.output import clear_scratch, write_files
from waterbudget.rows.table import csv_of

if TYPE_CHECKING:
    import pandas as pd
    import pyarrow as pa

CSV = ".csv"
SUMMED = {
    "date": "datetime64[ns]",
    "group": "object",
    **dict.fromkeys(("capacity_l", "gardens", *DAILY), "float64"),
}
WHOLE = ("days", "days_lasted", "mains_days")  # numbers without decimals
JOINED_AT_ONCE = 200
SHOWN_FAULTS = 3


class Joined(NamedTuple):
    """What the output holds: rows, sites with an error, the first errors, and rows that ran short on no day.

    daily: sums over all gardens of each day, group and size, in this order; columns of `SUMMED`.
    """

    rows: int
    faulty: int
    faults: tuple[str, ...]
    lasting: int
    daily: "pd.DataFrame"


class Parts:
    """The folder of finished partitions. made_of: what the results follow from, each with its digest or words."""

    def __init__(self, out: Path, made_of: Mapping[str, str], partitions: int) -> None:
        self.out = out
        self.folder = out.with_name(f"{out.name}.parts")
        self._made_of = dict(made_of)
        self._weather: dict[str, str] = {}
        self._cells: dict[str, str] = {}
        self._partitions = range(partitions)

    def look(self, *, overwrite: bool) -> bool:
        """Whether the folder holds finished partitions of this very batch. Raises OutputError where it holds others.

        overwrite: those of another batch may be thrown away.
        """
        if not self.folder.exists():
            return False
        try:
            kept = json.loads(self._book.read_text("utf-8"))
            made_of, weather, cells = dict(kept["made_of"]), dict(kept["weather"]), dict(kept["cells"])
        except (OSError, ValueError, KeyError, TypeError):
            raise OutputError(f"{self.folder}: is there already and is no batch's; choose another --out") from None
        others = [name for name in {**made_of, **self._made_of} if made_of.get(name) != self._made_of.get(name)]
        others += [path for path, was in weather.items() if digest(path) != was]
        if not others:
            self._weather, self._cells = weather, cells
        elif not overwrite:
            raise OutputError(
                f"{self.folder}: holds partitions of a batch that was begun with another {', '.join(others)}; "
                "go on with that as it was, or begin anew with --overwrite"
            )
        return not others

    def begin(self, *, anew: bool) -> None:
        """Make the folder, or take what is in it over; anew: without the partitions that it holds."""
        if anew:
            for path in self._finished():
                path.unlink()
        self._write_book()

    def missing(self, *, goes_on: bool = True) -> list[int]:
        """Numbers of the partitions that are not finished; all of them unless what is there is gone on with."""
        return [number for number in self._partitions if not (goes_on and self._path(number).exists())]

    def save(self, number: int, ran: Ran, schema: "pa.Schema") -> None:
        """Keep a finished partition. Raises OutputError where a weather file is not the one that others were run on."""
        import pyarrow as pa
        import pyarrow.parquet as pq

        changed = [path for path, now in ran.weather.items() if self._weather.get(path, now) != now]
        changed += [f"weather of cell {name}" for name, now in ran.cells.items() if self._cells.get(name, now) != now]
        if changed:
            raise OutputError(
                f"{changed[0]}: was changed during the batch; put it back as it was, or begin anew with --overwrite"
            )
        if ran.weather.keys() - self._weather.keys() or ran.cells.keys() - self._cells.keys():
            self._weather |= ran.weather
            self._cells |= ran.cells
            self._write_book()
        summed = BytesIO()
        _summed(ran.daily).to_parquet(summed, index=False)
        write_files({self._days(number): summed.getvalue()}, overwrite=True)
        sink = BytesIO()
        pq.write_table(pa.Table.from_pylist(ran.rows, schema), sink)
        write_files({self._path(number): sink.getvalue()}, overwrite=True)

    def join(self, *, overwrite: bool, series: Path | None = None) -> Joined:
        """Write the output, and the sums of every day where they are wanted, and throw the finished partitions away.

        Raises OutputError where something cannot be written.
        """
        import pandas as pd
        import pyarrow as pa
        import pyarrow.compute as pc
        import pyarrow.parquet as pq

        rows, faulty, lasting, faults, sink = 0, 0, 0, list[str](), BytesIO()
        daily = _summed([])
        as_csv = self.out.suffix == CSV
        with pq.ParquetWriter(BytesIO() if as_csv else sink, pq.read_schema(self._path(0))) as writer:
            for numbers in pieces(self._partitions, JOINED_AT_ONCE):
                table = pa.concat_tables([pq.read_table(self._path(number)) for number in numbers])
                more = [pd.read_parquet(self._days(number)) for number in numbers]
                daily = _added(pd.concat([part for part in (daily, *more) if len(part)] or [daily]))
                if as_csv:
                    sink.write(_lines_of(table, headed=rows == 0))
                else:
                    writer.write_table(table)
                errors = table["error"].filter(pc.not_equal(table["error"], ""))
                rows, faulty = rows + len(table), faulty + len(errors)
                faults += errors[:SHOWN_FAULTS].to_pylist()
                lasting += pc.sum(pc.equal(table["days_lasted"], table["days"])).as_py() or 0
        contents = {self.out: sink.getvalue()}
        if series is not None:
            contents[series] = content_of(daily.dropna(axis="columns", how="all"), series)
        write_files(contents, overwrite=overwrite)
        self._throw_away()
        return Joined(rows, faulty, tuple(faults[:SHOWN_FAULTS]), lasting, daily)

    @property
    def _book(self) -> Path:
        return self.folder / "batch.json"

    def _path(self, number: int) -> Path:
        return self.folder / f"part-{number:06d}.parquet"

    def _days(self, number: int) -> Path:
        return self.folder / f"days-{number:06d}.parquet"

    def _finished(self) -> list[Path]:
        return [*self.folder.glob("part-*.parquet"), *self.folder.glob("days-*.parquet")]

    def _write_book(self) -> None:
        book = {"made_of": self._made_of, "weather": self._weather, "cells": self._cells}
        kept = json.dumps(book, indent=2)
        write_files({self._book: kept.encode()}, overwrite=True)

    def _throw_away(self) -> None:
        clear_scratch(self.folder)
        for path in (*self._finished(), self._book):
            path.unlink(missing_ok=True)
        with suppress(OSError):  # somebody has put something else there
            self.folder.rmdir()


def content_of(table: "pd.DataFrame", path: Path) -> bytes:
    """A table as the content of a file, by its ending."""
    if path.suffix == CSV:
        return csv_of(table)
    sink = BytesIO()
    table.to_parquet(sink, index=False)
    return sink.getvalue()


def _lines_of(table: "pa.Table", *, headed: bool) -> bytes:
    """Rows of the output as lines of a CSV file; numbers without decimals stay so where some are missing."""
    written = csv_of(table.to_pandas(integer_object_nulls=True))
    return written if headed else written.partition(b"\n")[2]


def _summed(daily: Sequence[DaySums]) -> "pd.DataFrame":
    """Sums of days as a table, a row a day, group and size."""
    import pandas as pd

    parts = [
        pd.DataFrame(
            {
                "date": pd.date_range(one.first, periods=len(one.sums[DAILY[0]]), freq="D"),
                "group": one.group,
                "capacity_l": np.nan if one.capacity_l is None else one.capacity_l,
                "gardens": one.gardens,
                **one.sums,
            }
        )
        for one in daily
    ]
    if parts:
        return pd.concat(parts, ignore_index=True)
    return pd.DataFrame({name: pd.Series(dtype=kind) for name, kind in SUMMED.items()})


def _added(daily: "pd.DataFrame") -> "pd.DataFrame":
    """The table with the rows of the same day, group and size added up."""
    return daily.groupby(["date", "group", "capacity_l"], as_index=False, dropna=False, sort=True).sum()


def schema_of(*, sizes: bool, placed: bool = False, grouped: bool = False) -> "pa.Schema":
    """The columns of the output; with sizes also which tank and its capacity, placed: where the sites lie."""
    import pyarrow as pa

    columns: list[tuple[str, Any]] = [("name", pa.string()), ("weight", pa.float64())]
    columns += [("group", pa.string())] if grouped else []
    columns += [("latitude_deg", pa.float64()), ("longitude_deg", pa.float64())] if placed else []
    columns += [("tank", pa.string()), ("capacity_l", pa.float64())] if sizes else []
    numbers = [(name, pa.int64() if name in WHOLE else pa.float64()) for name in NUMBERS]
    dates = [(name, pa.date32()) for name in DATES]
    return pa.schema([*columns, *numbers[:2], *dates, *numbers[2:], ("error", pa.string())])
