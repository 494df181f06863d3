"""Soils that a bed can name: what to write, and the water that they hold."""

from typing_extensions import TypedDict

from waterbudget.answers.blocks import Answer, Column, Paragraph, Table
from waterbudget.answers.lookup import exact, nothing, quoted, snippet
from waterbudget.tables.soils import Soil, find_soil, search_soils

FOR_EXAMPLE = "loam"  # where no word was given
OWN_SOIL = (
    "Water that it holds for plants, in millimetres for each metre of depth (1 mm is 1 L on a square metre). "
    "A figure of your own goes before the word: available_water_mm_m = 150"
)
BY_HAND = (
    "By hand (common practice, no source): wet a pinch and roll it. Gritty and falls apart: sand or loamy sand. "
    "Gritty, a ball that crumbles: sandy loam. A ball that holds: loam. Floury or soapy: silt loam or silt. "
    "Sticky, rolls out to a worm: silt clay loam, silty clay or clay. In doubt: loam."
)
SOURCE = "Source: FAO-56 Table 19, p. 144; taken is the middle of the printed range."


class SoilFacts(TypedDict):
    """A soil, with the printed range."""

    name: str
    available_water_mm_m: float
    low_mm_m: float
    high_mm_m: float
    source: str


class Facts(TypedDict):
    """The soils for machines."""

    soils: list[SoilFacts]


def answer(word: str | None = None) -> Answer:
    """Soils whose name holds the word: what to write, then the water they hold; all of them without a word.

    Raises InputError, naming the nearest, where there is none.
    """
    soils = search_soils(word)
    if not soils:
        raise nothing("soil", word, (soil.name for soil in search_soils()), "soils")
    chosen = exact(find_soil, word or FOR_EXAMPLE) or soils[0]
    columns = (
        Column("name", "Soil"),
        Column("available_water_mm_m", "holds", "mm/m", write="{:g}".format),
        Column("range", "printed range", "mm/m"),
    )
    rows = tuple((soil.name, soil.available_water_mm_m, f"{soil.low_mm_m:g} to {soil.high_mm_m:g}") for soil in soils)
    blocks = (
        snippet("under the bed", "[[bed]]", f"soil = {quoted(chosen.name.lower())}"),
        Table("Soils", columns, rows, (OWN_SOIL, BY_HAND)),
        Paragraph(SOURCE),
    )
    return Answer("soils", "", (), blocks, facts(soils))


def facts(soils: list[Soil]) -> Facts:
    """Soils as plain values."""
    return {
        "soils": [
            {
                "name": soil.name,
                "available_water_mm_m": soil.available_water_mm_m,
                "low_mm_m": soil.low_mm_m,
                "high_mm_m": soil.high_mm_m,
                "source": soil.source,
            }
            for soil in soils
        ]
    }
