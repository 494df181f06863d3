"""The finished partitions of a batch: kept beside the output until all are there, then joined into it."""

import json
from collections.abc import Mapping
from contextlib import suppress
from io import BytesIO
from pathlib import Path
from typing import TYPE_CHECKING, Any, NamedTuple

from waterbudget.batch.partition import DATES, NUMBERS, Ran, digest, pieces
from waterbudget.errors import OutputError
from waterbudget.output import clear_scratch, write_files

if TYPE_CHECKING:
    import pyarrow as pa

WHOLE = ("days", "days_lasted", "mains_days")  # numbers without decimals
JOINED_AT_ONCE = 200
SHOWN_FAULTS = 3


class Joined(NamedTuple):
    """What the output holds: rows, sites with an error, the first errors, and rows that ran short on no day."""

    rows: int
    faulty: int
    faults: tuple[str, ...]
    lasting: int


class Parts:
    """The folder of finished partitions. made_of: what the results follow from, each with its digest or words."""

    def __init__(self, out: Path, made_of: Mapping[str, str], partitions: int) -> None:
        self.out = out
        self.folder = out.with_name(f"{out.name}.parts")
        self._made_of = dict(made_of)
        self._weather: dict[str, str] = {}
        self._partitions = range(partitions)

    def look(self, *, overwrite: bool) -> bool:
        """Whether the folder holds finished partitions of this very batch. Raises OutputError where it holds others.

        overwrite: those of another batch may be thrown away.
        """
        if not self.folder.exists():
            return False
        try:
            kept = json.loads(self._book.read_text("utf-8"))
            made_of, weather = dict(kept["made_of"]), dict(kept["weather"])
        except (OSError, ValueError, KeyError, TypeError):
            raise OutputError(f"{self.folder}: is there already and is no batch's; choose another --out") from None
        others = [name for name in {**made_of, **self._made_of} if made_of.get(name) != self._made_of.get(name)]
        others += [path for path, was in weather.items() if digest(path) != was]
        if not others:
            self._weather = weather
        elif not overwrite:
            raise OutputError(
                f"{self.folder}: holds partitions of a batch that was begun with another {', '.join(others)}; "
                "go on with that as it was, or begin anew with --overwrite"
            )
        return not others

    def begin(self, *, anew: bool) -> None:
        """Make the folder, or take what is in it over; anew: without the partitions that it holds."""
        if anew:
            for path in self.folder.glob("part-*.parquet"):
                path.unlink()
        self._write_book()

    def missing(self, *, goes_on: bool = True) -> list[int]:
        """Numbers of the partitions that are not finished; all of them unless what is there is gone on with."""
        return [number for number in self._partitions if not (goes_on and self._path(number).exists())]

    def save(self, number: int, ran: Ran, schema: "pa.Schema") -> None:
        """Keep a finished partition. Raises OutputError where a weather file is not the one that others were run on."""
        import pyarrow as pa
        import pyarrow.parquet as pq

        if changed := [path for path, now in ran.weather.items() if self._weather.get(path, now) != now]:
            raise OutputError(
                f"{changed[0]}: was changed during the batch; put it back as it was, or begin anew with --overwrite"
            )
        if ran.weather.keys() - self._weather.keys():
            self._weather |= ran.weather
            self._write_book()
        sink = BytesIO()
        pq.write_table(pa.Table.from_pylist(ran.rows, schema), sink)
        write_files({self._path(number): sink.getvalue()}, overwrite=True)

    def join(self, *, overwrite: bool) -> Joined:
        """Write the output and throw the finished partitions away. Raises OutputError where it cannot be written."""
        import pyarrow as pa
        import pyarrow.compute as pc
        import pyarrow.parquet as pq

        rows, faulty, lasting, faults, sink = 0, 0, 0, list[str](), BytesIO()
        with pq.ParquetWriter(sink, pq.read_schema(self._path(0))) as writer:
            for numbers in pieces(self._partitions, JOINED_AT_ONCE):
                table = pa.concat_tables([pq.read_table(self._path(number)) for number in numbers])
                writer.write_table(table)
                errors = table["error"].filter(pc.not_equal(table["error"], ""))
                rows, faulty = rows + len(table), faulty + len(errors)
                faults += errors[:SHOWN_FAULTS].to_pylist()
                lasting += pc.sum(pc.equal(table["days_lasted"], table["days"])).as_py() or 0
        write_files({self.out: sink.getvalue()}, overwrite=overwrite)
        self._throw_away()
        return Joined(rows, faulty, tuple(faults[:SHOWN_FAULTS]), lasting)

    @property
    def _book(self) -> Path:
        return self.folder / "batch.json"

    def _path(self, number: int) -> Path:
        return self.folder / f"part-{number:06d}.parquet"

    def _write_book(self) -> None:
        kept = json.dumps({"made_of": self._made_of, "weather": self._weather}, indent=2)
        write_files({self._book: kept.encode()}, overwrite=True)

    def _throw_away(self) -> None:
        clear_scratch(self.folder)
        for path in (*self.folder.glob("part-*.parquet"), self._book):
            path.unlink(missing_ok=True)
        with suppress(OSError):  # somebody has put something else there
            self.folder.rmdir()


def schema_of(*, sizes: bool) -> "pa.Schema":
    """The columns of the output; with sizes also which tank and its capacity."""
    import pyarrow as pa

    columns: list[tuple[str, Any]] = [("name", pa.string())]
    columns += [("tank", pa.string()), ("capacity_l", pa.float64())] if sizes else []
    numbers = [(name, pa.int64() if name in WHOLE else pa.float64()) for name in NUMBERS]
    dates = [(name, pa.date32()) for name in DATES]
    return pa.schema([*columns, *numbers[:2], *dates, *numbers[2:], ("error", pa.string())])
