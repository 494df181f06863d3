"""What is for sale: offers from a file, up to three of them side by side, and what each saves for its price."""

import csv
import io
import math
import re
from collections.abc import Iterator
from dataclasses import dataclass
from itertools import combinations_with_replacement
from pathlib import Path

from waterbudget.errors import InputError
from waterbudget.units import L_PER_M3

NEEDED, OPTIONAL = ("name", "capacity_l", "price"), ("footprint_m2", "height_m")
WANTED = {
    "capacity_l": "litres above 0, such as 300",
    "price": "the number alone, such as 85 or 84.50",
    "footprint_m2": "square metres above 0, such as 0.4, or leave the column out",
    "height_m": "metres above 0, such as 1.1, or leave the column out",
}
NUMBER = re.compile(r"[0-9]+(\.[0-9]+)?")
MOST_OFFERS = 20
MOST_PIECES = 3
LARGEST = 1e7
SHOWN_LETTERS = 40
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
    header, *rows = _rows(path)
    if faults := [f"{path}: row {header[0]}: {fault}" for fault in _header_faults(header[1])]:
        raise InputError(faults)
    columns = {name: header[1].index(name) for name in (*NEEDED, *OPTIONAL) if name in header[1]}
    read = [_offer(cells, len(header[1]), columns) for _, cells in rows]
    told = zip((number for number, _ in rows), (faults for _, faults in read), strict=True)
    faults = [f"{path}: row {number}: {fault}" for number, row_faults in told for fault in row_faults]
    names = [one.name for one, _ in read if one is not None]
    faults += [f'{path}: "{name}" stands there twice; give each offer its own name' for name in _doubled(names)]
    if not rows:
        faults.append(f"{path}: holds no offers; write one a row under the header")
    if len(rows) > MOST_OFFERS:
        faults.append(f"{path}: holds {len(rows)} offers; keep the {MOST_OFFERS} that you would really buy")
    if faults:
        raise InputError(faults)
    return [one for one, _ in read if one is not None]


def _rows(path: Path) -> list[tuple[int, list[str]]]:
    """Rows that are not blank, each with its number, the header first."""
    try:
        text = path.read_bytes().decode("utf-8-sig")
    except FileNotFoundError:
        raise InputError(f"{path}: there is no such file; write one with the columns {','.join(NEEDED)}") from None
    except IsADirectoryError:
        raise InputError(f"{path}: is a folder; name the CSV file in it") from None
    except UnicodeDecodeError:
        raise InputError(f"{path}: is not UTF-8 text; save the sheet as CSV in UTF-8") from None
    except OSError as error:
        raise InputError(f"{path}: cannot be read: {error.strerror}; name a CSV file that can") from None
    reader, rows, number = csv.reader(io.StringIO(text, newline=""), strict=True, skipinitialspace=True), [], 1
    try:
        for cells in reader:
            rows.append((number, [cell.strip() for cell in cells]))
            number = reader.line_num + 1
    except csv.Error as error:
        raise InputError(f"{path}: row {number}: is no CSV ({error}); check its quotation marks") from None
    rows = [row for row in rows if any(row[1])]
    if not rows:
        raise InputError(f"{path}: is empty; write the header {','.join(NEEDED)} and an offer a row")
    return rows


def _header_faults(names: list[str]) -> Iterator[str]:
    if len(names) == 1 and ";" in names[0]:
        yield "the columns are separated by semicolons; separate them by commas, and write decimals with a point"
        return
    for name in NEEDED:
        if name not in names:
            yield f"the column {name} is missing; write the header {','.join(NEEDED)}"
    for name in (*NEEDED, *OPTIONAL):
        if names.count(name) > 1:
            yield f"the column {name} stands there {names.count(name)} times; keep one"


def _offer(cells: list[str], width: int, columns: dict[str, int]) -> tuple[Offer | None, list[str]]:
    """The offer of a row, or what is wrong with it."""
    if len(cells) != width:
        advice = "write decimals with a point and thousands with nothing" if len(cells) > width else "fill every column"
        return None, [f"has {len(cells)} values under {width} column names; {advice}"]
    name = cells[columns["name"]]
    faults = [] if name else ["name is blank; write what the offer is called"]
    numbers = {}
    for column in (column for column in columns if column != "name"):
        cell = cells[columns[column]]
        numbers[column] = float(cell) if NUMBER.fullmatch(cell) else math.nan
        if not cell:
            faults.append(f"{column} is blank; write {WANTED[column]}")
        elif not numbers[column] <= LARGEST or (numbers[column] == 0.0 and column != "price"):
            faults.append(f'{column} is "{cell[:SHOWN_LETTERS]}"; write {WANTED[column]}')
    return (None, faults) if faults else (Offer(name, **numbers), [])


def _doubled(names: list[str]) -> list[str]:
    return [name for name in dict.fromkeys(names) if names.count(name) > 1]
