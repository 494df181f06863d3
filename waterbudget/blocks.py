"""The form of an answer: blocks of words and numbers, and of what kind they are; not where a line breaks.

A question's file in this folder turns its findings into an Answer; render/ turns any Answer into text, HTML and JSON.
"""

import datetime as dt
import re
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any, Literal, TypeAlias

from waterbudget.units import Array, BoolArray

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

Kind: TypeAlias = Literal["help", "warn", "tell", "assume", "caution", "paste"]
Cell: TypeAlias = str | float | bool | dt.date | None

LONG: frozenset[Kind] = frozenset({"tell", "assume", "caution"})  # kinds for the full screen
NOUGHT = re.compile(r"^-(?=[0.]+(?:[^\d.]|$))")  # the sign before what rounds to nought
NONE = "–"  # stands for a number that there is not


@dataclass(frozen=True)
class Paragraph:
    """A sentence or more. full: for the full screen alone."""

    text: str
    full: bool = False


@dataclass(frozen=True)
class Bullets:
    """Sentences under a title; paste: lines to be copied as they stand.

    full: for the full screen alone, by default as the kind has it.
    """

    kind: Kind
    title: str
    lines: tuple[str, ...]
    full: bool | None = None

    @property
    def is_full(self) -> bool:
        """Whether they are for the full screen alone."""
        return self.kind in LONG if self.full is None else self.full


@dataclass(frozen=True)
class Column:
    """A column of a table: a quantity and how it is written.

    quantity: its name in the register, or a name alike, for frames. head, unit: as a reader sees them. write: a value
    in letters. none: what stands where there is no value. is_text: to the left, and folded where room is short; by
    default the first column is. most: letters of a text before it is folded in any case. spare: left out of the short
    screen of a window that is too narrow for all columns, the last such first.
    """

    quantity: str
    head: str
    unit: str = ""
    write: Callable[[Any], str] = str
    none: str = NONE
    is_text: bool | None = None
    most: int = 100
    spare: bool = False

    def cell(self, value: Cell) -> str:
        """A value of this column in letters."""
        if value is None:
            return self.none
        written = self.write(value)
        return NOUGHT.sub("", written) if isinstance(value, float) else written


@dataclass(frozen=True)
class Table:
    """Rows of values, a value a column; a row of one value is a heading of the rows after it.

    title: in words, for a reader who does not see it beside its columns. below: sentences that explain it.
    """

    title: str
    columns: tuple[Column, ...]
    rows: tuple[tuple[Cell, ...], ...]
    below: tuple[str, ...] = ()
    full: bool = False


@dataclass(frozen=True)
class Lane:
    """A row of a strip: a share from 0 to 1 for each place, NaN where there is none.

    on: where a few places are shown as one, the last of them that is on stands for them, else the first.
    """

    name: str
    share: Array
    on: BoolArray | None = None
    caption: str = ""


@dataclass(frozen=True)
class Marks:
    """A row of a strip: a mark at each place that is on."""

    on: BoolArray
    mark: str = "!"


@dataclass(frozen=True)
class Strip:
    """A picture of letters: shares as blocks, a place a day along dates, or a place a thing from a first to a last.

    legend: what the marks mean. last: what comes after the last place.
    """

    title: str
    legend: str
    rows: tuple[Lane | Marks, ...]
    dates: "NDArray[np.datetime64] | None" = None
    thing: str = "day"
    last: str = ""


@dataclass(frozen=True)
class Picture:
    """A picture by its name in render.figures, what it shows in words, and a strip for a screen of letters."""

    name: str
    words: str
    strip: Strip | None = None
    full: bool = False


Block: TypeAlias = Paragraph | Bullets | Table | Picture


@dataclass(frozen=True)
class Answer:
    """What a question is answered: a title, the verdict in paragraphs, blocks in the order of the reader, and facts.

    facts: the findings as plain values of the names of the register, for machines. notes: for the person beside it, not
    part of the answer.
    """

    question: str
    title: str
    verdict: tuple[str, ...]
    blocks: tuple[Block, ...]
    facts: Mapping[str, Any]
    notes: tuple[str, ...] = ()

    def of_kind(self, kind: Kind) -> list[str]:
        """All sentences of a kind."""
        return [
            line for block in self.blocks if isinstance(block, Bullets) and block.kind == kind for line in block.lines
        ]

    @property
    def tables(self) -> list[Table]:
        """Its tables, in order; the first is the main one."""
        return [block for block in self.blocks if isinstance(block, Table)]


def is_full(block: Block) -> bool:
    """Whether a block is for the full screen alone."""
    return block.is_full if isinstance(block, Bullets) else block.full
