"""Soils that a bed can name: what to write, and the water that they hold."""

from typing_extensions import TypedDict

from waterbudget.answers.lookup import also_called, exact, nothing, quoted, snippet
from waterbudget.blocks import Answer, Block, Column, Paragraph, Table
from waterbudget.tables.everyday import everyday_words
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
TOP_LAYER = (
    "REW and TEW: water that the top 0.10 m gives to the air freely, and in all; only the dual crop coefficient asks "
    "for them. Own figures: rew_mm = 9 and tew_mm = 19"
)
SOURCE = "Source: FAO-56 Table 19, p. 144, the middles of the printed ranges; everyday names: no source."


class SoilFacts(TypedDict):
    """A soil, with the printed range."""

    name: str
    available_water_mm_m: float
    low_mm_m: float
    high_mm_m: float
    rew_mm: float
    tew_mm: float
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
        names = [soil.name for soil in search_soils()]
        raise nothing("soil", word, [*names, *(one.word for one in everyday_words("soil"))], "soils")
    chosen = exact(find_soil, word or FOR_EXAMPLE) or soils[0]
    columns = (
        Column("name", "Soil"),
        Column("available_water_mm_m", "holds", "mm/m", write="{:g}".format),
        Column("range", "printed range", "mm/m"),
        Column("rew_mm", "REW", "mm", write="{:.1f}".format),
        Column("tew_mm", "TEW", "mm", write="{:.1f}".format),
    )
    rows = tuple(
        (soil.name, soil.available_water_mm_m, f"{soil.low_mm_m:g} to {soil.high_mm_m:g}", soil.rew_mm, soil.tew_mm)
        for soil in soils
    )
    blocks: tuple[Block, ...] = (
        snippet("under the bed", "[[bed]]", f"soil = {quoted(chosen.name.lower())}"),
        Table("Soils", columns, rows, (OWN_SOIL, TOP_LAYER, BY_HAND)),
        *also_called("soil", [soil.name for soil in soils]),
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
                "rew_mm": soil.rew_mm,
                "tew_mm": soil.tew_mm,
                "source": soil.source,
            }
            for soil in soils
        ]
    }
