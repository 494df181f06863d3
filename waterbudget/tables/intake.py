"""How fast soils take water in, once they are wet: the basic intake of FAO's training manual 5."""

from dataclasses import dataclass
from functools import lru_cache

from waterbudget.tables.read import WORDS_KEPT, read_rows
from waterbudget.tables.soils import find_soil


@dataclass(frozen=True, slots=True)
class Intake:
    """The basic intake of a soil [mm/h]: our middle of the printed range from low_mm_h to high_mm_h.

    soil: its name in FAO-56 Table 19. textured: the class that the range was printed for. high_mm_h: None where the
    range is open. source: with the words "from memory" where it is.
    """

    soil: str
    textured: str
    intake_mm_h: float
    low_mm_h: float
    high_mm_h: float | None
    source: str


@lru_cache(maxsize=WORDS_KEPT)
def find_intake(soil: str) -> Intake:
    """The intake of the soil that this word names as `find_soil` does.

    Raises UnknownKeyError, naming the nearest, where there is no such soil.
    """
    name = find_soil(soil).name
    row = next(row for row in read_rows("intake") if row["soil"] == name)
    return Intake(
        soil=name,
        textured=row["class"],
        intake_mm_h=float(row["intake_mm_h"]),
        low_mm_h=float(row["intake_lo_mm_h"]),
        high_mm_h=float(row["intake_hi_mm_h"]) if row["intake_hi_mm_h"] else None,
        source=f"{row['source']}; {row['note']}",
    )
