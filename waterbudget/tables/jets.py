"""Kinds of jets: how much of their water reaches the roots, and how much of the ground they wet."""

from dataclasses import dataclass
from functools import lru_cache

from waterbudget.tables.read import WORDS_KEPT, find, read_rows


@dataclass(frozen=True, slots=True)
class Jets:
    """One kind of jets.

    efficiency: share of what leaves the jets that reaches the root zone. wetted_fraction: share of the beds' surface
    that a run wets, fw, our midpoint of the printed range wetted_low to wetted_high.
    """

    name: str
    efficiency: float
    wetted_fraction: float
    wetted_low: float
    wetted_high: float
    note: str
    source: str


@lru_cache(maxsize=WORDS_KEPT)
def find_jets(key: str) -> Jets:
    """The kind of jets that `key` names, whatever its case and plural. Raises UnknownKeyError, naming the nearest."""
    kinds = {row["jets"]: row for row in read_rows("jets")}
    return _jets(kinds[find(key, kinds, "kind of jets")])


def every_jets() -> list[Jets]:
    """All kinds, in the order of the table."""
    return [_jets(row) for row in read_rows("jets")]


def _jets(row: dict[str, str]) -> Jets:
    event = next(event for event in read_rows("wetting") if event["wetting_event"] == row["wetting_event"])
    low, high = float(event["fw_lo"]), float(event["fw_hi"])
    return Jets(
        name=row["jets"],
        efficiency=float(row["efficiency"]),
        wetted_fraction=round((low + high) / 2.0, 3),
        wetted_low=low,
        wetted_high=high,
        note=row["note"],
        source=f"{row['source']}; wetted fraction: {event['source']}, p. {event['page']}, {event['wetting_event']}",
    )
