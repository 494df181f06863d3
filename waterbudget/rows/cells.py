"""The cells of a sheet that somebody wrote, one by one, and their faults in words."""

import math
import re
from collections.abc import Callable, Iterator, Sequence
from typing import TypeAlias

Where: TypeAlias = Callable[[int], str]  # what a cell is called, by its number among those that are looked at

SHOWN_LETTERS = 40
FORMULA = re.compile(r"'*[=+\-@\t\r]")  # what a spreadsheet would work out, or had been kept from working out


def guarded(text: str) -> str:
    """A text as a cell that no spreadsheet takes for a formula: with an apostrophe before it, if it looks like one."""
    return f"'{text}" if FORMULA.match(text) else text


def unguarded(cell: str) -> str:
    """The text that `guarded` made a cell of."""
    return cell[1:] if cell.startswith("'") and FORMULA.match(cell) else cell


def missing_heads(heads: Sequence[str], needed: Sequence[str]) -> Iterator[str]:
    """A line for each column that is needed and does not stand in the header."""
    for name in needed:
        if name not in heads:
            yield f"the column {name} is missing; write the header {','.join(needed)}"


def doubled_heads(heads: Sequence[str]) -> Iterator[str]:
    """A line for each column that stands in the header more than once; columns without a name may."""
    for name in dict.fromkeys(heads):
        if name and heads.count(name) > 1:
            yield f"the column {name} stands there {heads.count(name)} times; keep one"


def ragged(cells: Sequence[str], heads: Sequence[str], few: str) -> str:
    """What is wrong with a row that has not one cell a column, else nothing; few: advice where some are missing."""
    if len(cells) == len(heads):
        return ""
    many = "write decimals with a point (1.5, not 1,5), thousands with nothing, and text with a comma in quotes"
    values = f"{len(cells)} value{'' if len(cells) == 1 else 's'}"
    return f"has {values} under {len(heads)} column names; {many if len(cells) > len(heads) else few}"


def number_in(cell: str) -> float:
    """The number that a cell holds; not a number where it holds none, so that it lies within no limits."""
    try:
        return float(cell if cell.isascii() and "_" not in cell else "nan")  # Python reads 1_0 and other digits too
    except ValueError:
        return math.nan


def quoted(cell: str) -> str:
    """What stands in a cell, in one short line, letters that do not show by their numbers."""
    shown = "".join(letter if letter.isprintable() else ascii(letter)[1:-1] for letter in cell[:SHOWN_LETTERS])
    return f'"{shown}{"..." if len(cell) > SHOWN_LETTERS else ""}"'


def unfit(column: str, cell: str, wanted: str) -> str:
    """What is wrong with a cell that is blank or holds something else than is wanted."""
    return f"{column} is {quoted(cell) if cell else 'blank'}; write {wanted}"
