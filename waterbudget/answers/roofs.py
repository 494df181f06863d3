"""Coverings that a roof can name: what to write, how much runs off them, and whether the water suits vegetables."""

from typing_extensions import TypedDict

from waterbudget.answers.lookup import FEW, also_called, exact, nothing, quoted, snippet
from waterbudget.blocks import Answer, Block, Bullets, Column, Paragraph, Table
from waterbudget.tables.coverings import Covering, find_covering, search_coverings
from waterbudget.tables.everyday import everyday_words

FOR_EXAMPLE = "hard roof"  # where no word was given
OWN_RUNOFF = (
    "On each day with rain the loss wets the roof and dries again; of the rest the share runs off. Over a year both "
    "together give the third column (ours, under the daily rain of Rothamsted 1959-99), the figure of the sources; "
    "a summer of showers gives less. Basis of that figure: measured on roofs, of a standard or a drainage guide, or "
    "from memory and not checked. In doubt: hard roof. Figures of your own go before the word: "
    "runoff_coefficient = 0.95 and loss_mm = 0.5 (left out then, the loss is 0)."
)
ON_EATING = "Water the soil, not leaves that are eaten raw; stored rain is no drinking water. Local advice comes first."
SOURCES = "Sources: Farreny et al. 2011, Ragab et al. 2003, EN 16941-1, DIN 1986 and 1989-1, drainage guides."


class CoveringFacts(TypedDict):
    """A covering: share of each day's rain that runs off after the loss, share of a year's, and the sources' spread."""

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


class Facts(TypedDict):
    """The coverings for machines."""

    coverings: list[CoveringFacts]


def answer(word: str | None = None) -> Answer:
    """Coverings whose name holds the word: what to write, then what runs off; all of them without a word.

    Raises InputError, naming the nearest, where there is none.
    """
    coverings = search_coverings(word)
    if not coverings:
        names = [covering.name for covering in search_coverings()]
        raise nothing("covering", word, [*names, *(one.word for one in everyday_words("covering"))], "roofs")
    chosen = exact(find_covering, word or FOR_EXAMPLE) or coverings[0]
    told = [covering for covering in coverings if covering.edible_crop_caution]
    cautions = [f"{covering.name}: {covering.edible_crop_caution}." for covering in told]
    blocks: list[Block] = [
        snippet("under the roof", "[[roof]]", f"covering = {quoted(chosen.name)}"),
        covering_table(coverings),
        *also_called("covering", [covering.name for covering in coverings]),
        Bullets("caution", "Take care", (*cautions, ON_EATING), full=False),
    ]
    if len(coverings) <= FEW:
        notes = [f"Note on {covering.name}: {covering.note}." for covering in coverings if covering.note]
        blocks += [Paragraph(" ".join(notes))] if notes else []
    return Answer("roofs", "", (), (*blocks, Paragraph(SOURCES)), facts(coverings))


def covering_table(coverings: list[Covering]) -> Table:
    """A row a covering."""
    columns = (
        Column("name", "Covering"),
        Column("runoff_coefficient", "runs off", "share", write="{:.2f}".format),
        Column("loss_mm", "loss", "mm", write="{:.1f}".format),
        Column("yearly_coefficient", "in a year", "share", write="{:.2f}".format),
        Column("range", "sources say", "share"),
        Column("basis", "basis"),
        Column("edible_crop_caution", "vegetables", write=lambda caution: "caution" if caution else ""),
    )
    rows = tuple(
        (
            covering.name,
            covering.runoff_coefficient,
            covering.loss_mm,
            covering.yearly_coefficient,
            f"{covering.low:.2f} to {covering.high:.2f}",
            covering.basis,
            covering.edible_crop_caution,
        )
        for covering in coverings
    )
    return Table("Coverings", columns, rows, (OWN_RUNOFF,))


def facts(coverings: list[Covering]) -> Facts:
    """Coverings as plain values."""
    return {
        "coverings": [
            {
                "name": covering.name,
                "runoff_coefficient": covering.runoff_coefficient,
                "loss_mm": covering.loss_mm,
                "yearly_coefficient": covering.yearly_coefficient,
                "low": covering.low,
                "high": covering.high,
                "basis": covering.basis,
                "edible_crop_caution": covering.edible_crop_caution,
                "note": covering.note,
                "source": covering.source,
            }
            for covering in coverings
        ]
    }
