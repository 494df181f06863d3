"""Soils of FAO-56 Table 19 and the water they hold for plants."""

from dataclasses import dataclass
from functools import lru_cache

from waterbudget.tables.everyday import find_name, names_that_hold
from waterbudget.tables.read import WORDS_KEPT, holds, read_rows


@dataclass(frozen=True, slots=True)
class Soil:
    """One soil of FAO-56 Table 19.

    available_water_mm_m: water between field capacity and wilting point [mm per m of depth], our midpoint of the
        printed range low_mm_m to high_mm_m.
    rew_mm, tew_mm: readily evaporable and total evaporable water of the top 0.10 m, REW and TEW [mm], our midpoints of
        the printed ranges.
    """

    name: str
    available_water_mm_m: float
    low_mm_m: float
    high_mm_m: float
    rew_mm: float
    tew_mm: float
    source: str


@lru_cache(maxsize=WORDS_KEPT)
def find_soil(key: str) -> Soil:
    """The soil that `key` names, an everyday word or the table's, whatever its case, blanks and plural.

    Raises UnknownKeyError, naming the nearest, where there is none.
    """
    soils = {row["soil"].lower(): row for row in read_rows("soils")}
    return _soil(soils[find_name(key, list(soils), "soil").lower()])


def search_soils(word: str | None = None) -> list[Soil]:
    """Soils whose name, texture class or everyday word holds `word`, coarse to fine as printed; without a word all."""
    called = names_that_hold(word, "soil")
    return [
        _soil(row)
        for row in read_rows("soils")
        if holds(word, row["soil"], row["texture_class"]) or row["soil"] in called
    ]


def _soil(row: dict[str, str]) -> Soil:
    return Soil(
        name=row["soil"],
        available_water_mm_m=float(row["available_water_mm_m"]),
        low_mm_m=float(row["available_water_lo_mm_m"]),
        high_mm_m=float(row["available_water_hi_mm_m"]),
        rew_mm=_middle(row, "rew_lo_mm", "rew_hi_mm"),
        tew_mm=_middle(row, "tew_lo_mm", "tew_hi_mm"),
        source=f"{row['source']}, p. {row['page']}; {row['available_water_rule']}",
    )


def _middle(row: dict[str, str], low: str, high: str) -> float:
    return (float(row[low]) + float(row[high])) / 2.0
