"""The screens of the tables: what to write in a site file, and the numbers that it stands for."""

import json
import textwrap
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from waterbudget.errors import InputError
from waterbudget.report.words import table
from waterbudget.tables.coverings import search_coverings
from waterbudget.tables.crops import Crop, search_crops
from waterbudget.tables.read import nearest
from waterbudget.tables.soils import search_soils

WIDTH = 100
FEW = 6  # rows up to which everything that is known of each is told
NAMES_WIDTH = 56

OWN_DAYS = (
    'A crop marked "days" needs days = [initial, development, mid, late] besides: its days from sowing or planting out '
    "until it shades a tenth of the soil, until it is full grown, until it yellows or ripens, and until the last harvest."
)


@dataclass(frozen=True)
class CropRow:
    """Names that stand for the same numbers of one crop of the table."""

    crop: Crop
    names: tuple[str, ...]

    @property
    def label(self) -> str:
        """The names, the table's own in brackets where it is none of them."""
        names = "; ".join(self.names)
        if self.crop.name in self.names:
            return names
        return f"{names} ({self.crop.name}{' stands in' if self.crop.stand_in else ''})"

    @property
    def marks(self) -> str:
        """What a planting of it has to mind."""
        words = {"stays": self.crop.perennial, "days": not self.crop.stages, "stand-in": self.crop.stand_in}
        return " ".join(word for word, true in words.items() if true)


def crops_screen(word: str | None = None) -> str:
    """Crops whose names hold the word, in at most 100 columns. Raises InputError, naming the nearest, for none."""
    matches = {_key(crop): crop for crop in search_crops(word)}
    everything = search_crops()
    if not matches:
        raise _nothing("crop", word, [_written(crop) for crop in everything])
    rows = [row for row in _crop_rows(everything) if any(_key(row.crop) == key for key in matches)]
    ...
