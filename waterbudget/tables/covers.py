"""What lies over a bed, such as a net: how much less the crops use beneath it, and how much rain gets through."""

from typing import NamedTuple

from waterbudget.tables.read import find, read_rows


class Cover(NamedTuple):
    """One cover. et_factor: use of water against an open bed [-]. rain_share: share of the rain that gets through [-].

    Source: common practice, no source.
    """

    name: str
    et_factor: float
    rain_share: float
    note: str


def find_cover(key: str) -> Cover:
    """The cover that `key` names, whatever its case and plural. Raises UnknownKeyError, naming the nearest."""
    rows = {row["cover"]: row for row in read_rows("covers")}
    return _cover(rows[find(key, rows, "cover")])


def every_cover() -> list[Cover]:
    """All covers, in the order of the table."""
    return [_cover(row) for row in read_rows("covers")]


def _cover(row: dict[str, str]) -> Cover:
    return Cover(row["cover"], float(row["et_factor"]), float(row["rain_share"]), row["note"])
