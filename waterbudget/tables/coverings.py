"""Roof coverings: the share of the rain that runs off them, and whether the water suits vegetables."""

from dataclasses import dataclass

from waterbudget.tables.read import find, holds, read_rows


@dataclass(frozen=True, slots=True)
class Covering:
    """One roof covering.

    runoff_coefficient: share of the rain on the plan area that runs off [-], our pick between low and high, the
        spread of the sources named; figures for laying out drains, which are meant to be high, are left out of it.
    basis: what the pick rests on: "measured", "standard" or "from memory".
    edible_crop_caution: why not to water vegetables from it; empty where nothing is known against it.
    """

    name: str
    runoff_coefficient: float
    low: float
    high: float
    basis: str
    edible_crop_caution: str
    note: str
    source: str


def find_covering(key: str) -> Covering:
    """The covering that `key` names, whatever its case, outer blanks and plurals.

    Raises UnknownKeyError, naming the nearest, where there is none.
    """
    coverings = {row["covering"]: row for row in read_rows("coverings")}
    return _covering(coverings[find(key, coverings, "covering")])


def search_coverings(word: str | None = None) -> list[Covering]:
    """Coverings whose name holds `word`, in the order of the table; all of them without a word."""
    return [_covering(row) for row in read_rows("coverings") if holds(word, row["covering"])]


def _covering(row: dict[str, str]) -> Covering:
    return Covering(
        name=row["covering"],
        runoff_coefficient=float(row["runoff_coefficient"]),
        low=float(row["low"]),
        high=float(row["high"]),
        basis=row["basis"],
        edible_crop_caution=row["edible_crop_caution"],
        note=row["note"],
        source=row["source"],
    )
