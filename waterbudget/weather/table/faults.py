"""Why a table cannot be taken as it stands, where somebody could say what it leaves open."""

import datetime as dt
from collections.abc import Mapping, Sequence
from typing import Literal, TypeAlias

from waterbudget.errors import WeatherError

Open: TypeAlias = Literal["date", "readings", "double", "order", "decimals", "swapped", "weekly", "needed"]
Runs: TypeAlias = Sequence[tuple[dt.date, dt.date]]  # first and last day of each


class TableError(WeatherError):
    """What a table leaves open.

    kind: what it is. said: in words, without the file's name and what would be right. heads: of the columns that are
    meant; names: of columns of the weather file. The message is that of a command: way_out names its option.
    """

    def __init__(
        self, kind: Open, name: str, said: str, way_out: str, *, heads: Sequence[str] = (), names: Sequence[str] = ()
    ) -> None:
        self.kind, self.said, self.heads, self.names = kind, said, tuple(heads), tuple(names)
        super().__init__(f"{name}: {said}{way_out}")


class TableGapsError(WeatherError):
    """Days without a reading that cannot be told from those beside them. gaps: of each column of the weather file."""

    def __init__(self, name: str, faults: Sequence[str], gaps: Mapping[str, Runs]) -> None:
        self.gaps = gaps
        super().__init__(f"{name}: {fault}" for fault in faults)
