"""What is for sale: offers from a file, up to three of them side by side, and what each saves for its price."""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import combinations_with_replacement
from pathlib import Path

from waterbudget.errors import InputError, shown
from waterbudget.rows.cells import doubled_heads, missing_heads, number_in, ragged, unfit
from waterbudget.rows.sheet import read_sheet
from waterbudget.site.words import LONGEST_NAME
from waterbudget.units import L_PER_M3

NEEDED = ("name", "capacity_l", "price")
WANTED = {
    "capacity_l": "litres above 0, such as 300",
    "price": "the number alone, such as 85 or 84.50",
    "footprint_m2": "square metres above 0, such as 0.4, or leave the column out",
    "height_m": "metres above 0, such as 1.1, or leave the column out",
}
MOST_OFFERS = 20
MOST_PIECES = 3
LARGEST = 1e7
KG_PER_L = 1.0  # 0.998 at 20 °C (from memory)


@dataclass(frozen=True)
class Offer:
    """A butt or tank that is for sale; price in any money, footprint and height None where they are not given."""

    name: str
    capacity_l: float
    price: float
    footprint_m2: float | None = None
    height_m: float | None = None


@dataclass(frozen=True)
class Choice:
    """One to three pieces, joined so that they fill and empty together."""

    pieces: tuple[Offer, ...]

    @property
    def name(self) -> str:
        """The pieces in words: 2 x Slim butt + Round butt."""
        counts = {piece.name: sum(other.name == piece.name for other in self.pieces) for piece in self.pieces}
        return " + ".join(f"{number} × {name}" if number > 1 else name for name, number in counts.items())

    @property
    def capacity_l(self) -> float:
        """Litres of all pieces."""
        return sum(piece.capacity_l for piece in self.pieces)

    @property
    def price(self) -> float:
        """Money for all pieces."""
        return sum(piece.price for piece in self.pieces)

    @property
    def weight_kg(self) -> float:
        """Weight of the water when all are full."""
        return self.capacity_l * KG_PER_L

    @property
    def footprint_m2(self) -> float | None:
        """Ground that all pieces take, None where one does not tell."""
        known = [piece.footprint_m2 for piece in self.pieces if piece.footprint_m2 is not None]
        return sum(known) if len(known) == len(self.pieces) else None

    @property
    def height_m(self) -> float | None:
        """Height of the tallest piece, None where one does not tell."""
        known = [piece.height_m for piece in self.pieces if piece.height_m is not None]
        return max(known) if len(known) == len(self.pieces) else None

    def payback_years(self, saved_l: float, water_per_m3: float) -> float:
        """Years until the mains water that is saved, saved_l [L] a year, has cost the price; infinite for never."""
        saved = saved_l / L_PER_M3 * water_per_m3
        return self.price / saved if saved > 0.0 else math.inf


def choices(offers: list[Offer]) -> list[Choice]:
    """Every one, two and three of the offers, the same or different ones."""
    return [
        Choice(pieces)
        for number in range(1, MOST_PIECES + 1)
        for pieces in combinations_with_replacement(offers, number)
    ]


def read_offers(path: Path) -> list[Offer]:
    """The offers of a CSV file: name, capacity_l, price and, where known, footprint_m2 and height_m.

    Raises InputError with a line for each fault: file, row as an editor counts it, what is wrong, what would be right.
    """
    sheet = read_sheet(path, ",".join(NEEDED), "an offer")
    heads = sheet.heads
    if faults := [*missing_heads(heads, NEEDED), *doubled_heads(heads)]:
        raise InputError(f"{path}: row {sheet.header.number}: {fault}" for fault in faults)
    rows, offers = sheet.plain(numbers=WANTED).rows, []
    for number, cells in rows:
        offer, row_faults = _offer(cells, heads)
        faults += [f"{path}: row {number}: {fault}" for fault in row_faults]
        offers.append(offer)
    faults += [f"{path}: {shown(name)} stands there twice; give each offer its own name" for name in _doubled(offers)]
    if not rows:
        faults.append(f"{path}: holds no offers; write one a row under the header")
    if len(rows) > MOST_OFFERS:
        faults.append(f"{path}: holds {len(rows)} offers; keep the {MOST_OFFERS} that you would really buy")
    if faults:
        raise InputError(faults)
    return [offer for offer in offers if offer is not None]


def _offer(cells: Sequence[str], heads: Sequence[str]) -> tuple[Offer | None, list[str]]:
    """The offer of a row, or what is wrong with it."""
    if fault := ragged(cells, heads, "fill every column"):
        return None, [fault]
    cell = dict(zip(heads, cells, strict=True))
    numbers = {column: number_in(cell[column]) for column in WANTED if column in heads}
    faults = [] if cell["name"] else ["name is blank; write what the offer is called"]
    if len(cell["name"]) > LONGEST_NAME:
        faults.append(f"name is {shown(cell['name'])}, of {len(cell['name']):,} letters; write at most {LONGEST_NAME}")
    faults += [
        unfit(column, cell[column], WANTED[column])
        for column, number in numbers.items()
        if not 0.0 <= number <= LARGEST or (number == 0.0 and column != "price")
    ]
    return (None, faults) if faults else (Offer(cell["name"], **numbers), [])


def _doubled(offers: list[Offer | None]) -> list[str]:
    names = [offer.name for offer in offers if offer is not None]
    return [name for name in dict.fromkeys(names) if names.count(name) > 1]
