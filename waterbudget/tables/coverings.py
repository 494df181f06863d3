"""Roof coverings: the share of the rain that runs off them, and whether the water suits vegetables."""

from dataclasses import dataclass
from functools import lru_cache

from waterbudget.tables.everyday import find_name, names_that_hold
from waterbudget.tables.read import WORDS_KEPT, holds, read_rows


@dataclass(frozen=True, slots=True)
class Covering:
    """One roof covering.

    runoff_coefficient, loss_mm: share of the rain on the plan area that runs off [-], once the loss has wetted the
        roof, on each day with rain [mm]; ours, so that under the daily rain of Rothamsted 1959-99 both together give
        the yearly coefficient, within 0.02.
    yearly_coefficient: share of a year's rain that runs off [-], our pick between low and high, the spread of the
        sources named; figures for laying out drains, which are meant to be high, are left out of it.
    basis: what the pick rests on: "measured", "standard" or "from memory".
    edible_crop_caution: why not to water vegetables from it; empty where nothing is known against it.
    """

    name: str
    runoff_coefficient: float
    loss_mm: float
    yearly_coefficient: float
    low: float
    high: float
    basis: str
    edible_crop_caution: str
    note: str
    source: str


@lru_cache(maxsize=WORDS_KEPT)
def find_covering(key: str) -> Covering:
    """The covering that `key` names, an everyday word or the table's, whatever its case, blanks and plural.

    Raises UnknownKeyError, naming the nearest, where there is none.
    """
    coverings = {row["covering"]: row for row in read_rows("coverings")}
    return _covering(coverings[find_name(key, list(coverings), "covering")])


def search_coverings(word: str | None = None) -> list[Covering]:
    """Coverings whose name or everyday word holds `word`, in the order of the table; all of them without a word."""
    called = names_that_hold(word, "covering")
    return [
        _covering(row) for row in read_rows("coverings") if holds(word, row["covering"]) or row["covering"] in called
    ]


def _covering(row: dict[str, str]) -> Covering:
    return Covering(
        name=row["covering"],
        runoff_coefficient=float(row["runoff_coefficient"]),
        loss_mm=float(row["loss_mm"]),
        yearly_coefficient=float(row["yearly_coefficient"]),
        low=float(row["low"]),
        high=float(row["high"]),
        basis=row["basis"],
        edible_crop_caution=row["edible_crop_caution"],
        note=row["note"],
        source=row["source"],
    )
