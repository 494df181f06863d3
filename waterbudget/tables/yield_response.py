"""How strongly the yield of a crop answers to a lack of water: the response factor Ky of FAO-33."""

from dataclasses import dataclass
from typing import NamedTuple

from waterbudget.tables.read import find, read_rows

SEASON = "season"  # the rows that hold for a whole season
UNKNOWN = "none known"  # the row that says what is taken where no factor is known
KY_WHEN_UNKNOWN = 1.0  # as that row says


class StageFactors(NamedTuple):
    """The factors of a crop in its growth stages [-], each over the water use of that stage alone.

    Where a stage has no factor of its own flowering and yield formation stand in for each other; of a printed range the
    middle is taken (ours).
    """

    vegetative: float
    flowering: float
    yield_formation: float
    ripening: float


@dataclass(frozen=True, slots=True)
class YieldResponse:
    """The factor of a crop over its season.

    label: the crop that it was found for. ky: the factor [-]. kind: "same crop", "stand-in" or "none" (none known).
    note: what stands in for what. source: with the words "from memory" or "second hand" where it is.
    """

    label: str
    ky: float
    kind: str
    note: str
    source: str


def find_response(crop: str | None) -> YieldResponse:
    """The factor of a crop by its name in FAO-56 Table 12; 1.0, and said so, where none is known.

    crop: None for one that has no name there.
    """
    rows = [row for row in read_rows("yield_response") if row["stage"] == SEASON]
    for row in rows:
        if crop is not None and row["ky"] and crop in row["crops"].split("; "):
            return _response(row, float(row["ky"]))
    labels = [row["label"] for row in rows]
    return _response(rows[labels.index(find(UNKNOWN, labels, "row"))], KY_WHEN_UNKNOWN)


def find_stage_factors(crop: str | None) -> StageFactors | None:
    """The factors by growth stage of a crop by its name in FAO-56 Table 12; None where none are known."""
    printed = {
        row["stage"]: row
        for row in read_rows("yield_response")
        if crop is not None and row["stage"] != SEASON and crop in row["crops"].split("; ")
    }
    if not printed:
        return None
    known = {stage: _middle(row) for stage, row in printed.items()}
    flowering, formation = known.get("flowering"), known.get("yield formation")
    return StageFactors(
        vegetative=known["vegetative"],
        flowering=flowering if flowering is not None else known["yield formation"],
        yield_formation=formation if formation is not None else known["flowering"],
        ripening=known["ripening"],
    )


def _middle(row: dict[str, str]) -> float:
    return float(row["ky"]) if row["ky"] else (float(row["ky_lo"]) + float(row["ky_hi"])) / 2.0


def _response(row: dict[str, str], ky: float) -> YieldResponse:
    return YieldResponse(row["label"], ky, row["kind"], row["note"], row["source"])
