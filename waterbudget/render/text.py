"""An answer as text: wrapped to a window, the verdict first, short or in full.

Widths are columns of a terminal: letters of East Asia and emoji take two each, combining marks none.
"""

import datetime as dt
import math
import shutil
from collections.abc import Iterable, Sequence
from functools import lru_cache
from itertools import pairwise

import numpy as np
import wcwidth

from waterbudget.answers.english import count, shortened
from waterbudget.blocks import (
    Answer,
    Block,
    Bullets,
    Kind,
    Lane,
    Marks,
    Paragraph,
    Strip,
    Table,
    is_full,
)

WIDEST, NARROWEST = 100, 44  # columns
GAP = "  "
LEADS: dict[Kind, str] = {"help": "  * ", "warn": "  ! "}
LEAD = "  "
INDENT = "  "  # of a folded cell's later lines
LEAST_TEXT = 16  # columns to which a cell of text may be folded
LONGEST_WORD = 24  # columns; a longer one is broken where its table is too wide, as are names without spaces
LEAST_PLACES = 40  # of a strip, before its names stand above its rows
LEVELS = " ▁▂▃▄▅▆▇█"
MOST_PLACES, MOST_THINGS = 60, 72  # of a strip along dates, and along things
LONGEST_NAME = 24
ROUNDING = 1e-9
MORE = "More with --full: {}."
CALLED: dict[Kind, str] = {"assume": "what is assumed", "caution": "cautions", "paste": "lines to paste"}
DETAILS = "details"


def window() -> int:
    """Columns of the window as COLUMNS or the terminal say, within what can be read; all of them where neither does."""
    return max(NARROWEST, min(WIDEST, shutil.get_terminal_size((WIDEST, 24)).columns))


def text(answer: Answer, width: int = WIDEST, *, full: bool = True) -> str:
    """An answer at so many columns; without full its last line says what is left out."""
    shown = [block for block in answer.blocks if full or not is_full(block)]
    left_out = [block for block in answer.blocks if block not in shown]
    parts = [
        wrapped(answer.title, width) if answer.title else [],
        [line for paragraph in answer.verdict for line in wrapped(paragraph, width)],
        *(block_lines(block, width, full=full) for block in shown),
    ]
    more = wrapped(MORE.format(_and(dict.fromkeys(map(_called, left_out)))), width) if left_out else []
    return "\n".join(["\n\n".join("\n".join(part) for part in parts if part), *more])


def _called(block: Block) -> str:
    return CALLED.get(block.kind, DETAILS) if isinstance(block, Bullets) else DETAILS


def _and(words: Iterable[str]) -> str:
    *most, last = words
    return f"{', '.join(most)} and {last}" if most else last


def block_lines(block: Block, width: int, *, full: bool = True) -> list[str]:
    """The lines of a block; none where it says nothing. Without full a table leaves out what has no room."""
    if isinstance(block, Paragraph):
        return wrapped(block.text, width)
    if isinstance(block, Bullets):
        return _bullets(block, width)
    if isinstance(block, Table):
        return _table(block, width, full=full)
    return strip(block.strip, width) if block.strip is not None else []


def wrapped(sentence: str, width: int, *, lead: str = "") -> list[str]:
    """A sentence broken at a width, its later lines indented under the first."""
    return wcwidth.wrap(
        sentence,
        width,
        initial_indent=lead,
        subsequent_indent=" " * len(lead),
        break_on_hyphens=False,
        break_long_words=False,
    )


def _bullets(block: Bullets, width: int) -> list[str]:
    if not block.lines:
        return []
    title = wrapped(block.title, width) if block.title else []
    if block.kind == "paste":  # a line that is broken can no longer be pasted
        return [*title, *(f"{LEAD}{line}".rstrip() for line in block.lines)]
    lead = LEADS.get(block.kind, LEAD)
    return [*title, *(line for sentence in block.lines for line in wrapped(sentence, width, lead=lead))]


# ---- Tables ----------------------------------------------------------------------------------------------------------


def _table(table: Table, width: int, *, full: bool) -> list[str]:
    """A table, its text folded and, where even that is too wide, its columns in groups below each other."""
    if not table.rows:
        return []
    lines: list[str] = []
    for group in _fitted(table, width, full=full):
        lines += [*([""] if lines else []), *_drawn(group, width)]
    return [*lines, *(line for sentence in table.below for line in _hanging(sentence, width))]


def _fitted(table: Table, width: int, *, full: bool) -> list[list["_Cells"]]:
    """The columns in groups that fit; without full those that can be spared are left out first."""
    cells = [_Cells(table, number) for number in range(len(table.columns))]
    spare = [] if full else [column for column in cells if column.is_spare]
    while spare and _width(cells) > width:
        cells.remove(spare.pop())
    _fold(cells, width)
    return _groups(cells, width)


def _hanging(sentence: str, width: int) -> list[str]:
    """A sentence whose later lines are indented, so that those after each other are told apart."""
    first, *more = wrapped(sentence, width - len(INDENT))
    return [first, *(f"{INDENT}{line}" for line in more)]


class _Cells:
    """A column's head, unit and cells in letters, and how wide it is at a fold."""

    def __init__(self, table: Table, number: int) -> None:
        column = table.columns[number]
        self.is_text = number == 0 if column.is_text is None else column.is_text
        self.is_spare = column.spare
        self.head, self.unit = column.head, column.unit
        self.fold = column.most
        self.headings = {
            at: table.columns[0].cell(row[0]) for at, row in enumerate(table.rows) if len(row) < len(table.columns)
        }
        first_heading = min(self.headings, default=len(table.rows))
        self.cells: list[str] = []
        for at, row in enumerate(table.rows):
            cell = column.cell(row[number]) if number < len(row) and at not in self.headings else ""
            self.cells.append(f"{INDENT}{cell}" if number == 0 and at > first_heading and cell else cell)

    @property
    def least(self) -> int:
        """The narrowest fold that breaks no word but the longest, and is worth reading."""
        words = [word for cell in [self.head, *self.cells] for word in cell.split()]
        return max([LEAST_TEXT, *(min(wcwidth.width(word), LONGEST_WORD) + 2 * len(INDENT) for word in words)])

    def lines(self, cell: str) -> Sequence[str]:
        """A cell in as many lines as its fold takes."""
        return _folded(cell, self.fold) if self.is_text and wcwidth.width(cell) > self.fold else (cell,)

    @property
    def width(self) -> int:
        """Columns of its widest line."""
        return max(wcwidth.width(line) for cell in [self.head, self.unit, *self.cells] for line in self.lines(cell))


@lru_cache(maxsize=4096)  # a table is folded at one width after the other until it fits
def _folded(cell: str, columns: int) -> tuple[str, ...]:
    indent = 2 * INDENT if cell.startswith(INDENT) else INDENT
    return tuple(wcwidth.wrap(cell, columns, subsequent_indent=indent, break_on_hyphens=False))


def _fold(columns: Sequence[_Cells], width: int) -> None:
    """Fold the widest texts until the table fits; where it cannot, the names of its rows for the fewest groups."""
    while (over := _width(columns) - width) > 0:
        foldable = [column for column in columns if column.is_text and column.width > column.least]
        if not foldable:
            columns[0].fold = max(_folds(columns[0], width), key=lambda fold: (-_groups_at(columns, fold, width), fold))
            return
        widest = max(foldable, key=lambda column: column.width)
        widest.fold = max(widest.least, widest.width - over)


def _folds(column: _Cells, width: int) -> range:
    return range(column.least, max(column.least, width // 2) + 1)


def _groups_at(columns: Sequence[_Cells], fold: int, width: int) -> int:
    columns[0].fold = fold
    return len(_groups(columns, width))


def _width(columns: Sequence[_Cells]) -> int:
    return sum(column.width for column in columns) + len(GAP) * (len(columns) - 1)


def _groups(columns: Sequence[_Cells], width: int) -> list[list[_Cells]]:
    """Columns that fit side by side; each group begins with the first column, so that its rows have their names."""
    first, *others = columns
    groups = [[first]]
    for column in others:
        if len(groups[-1]) > 1 and _width([*groups[-1], column]) > width:
            groups.append([first])
        groups[-1].append(column)
    return groups


def _drawn(columns: Sequence[_Cells], width: int) -> list[str]:
    widths = [column.width for column in columns]
    heads = [column.lines(column.head) for column in columns]
    lines = _side_by_side(columns, heads, widths)
    if any(column.unit for column in columns):
        lines += _side_by_side(columns, [[column.unit] for column in columns], widths)
    for number in range(len(columns[0].cells)):
        if number in columns[0].headings:  # it has the whole width
            lines += _hanging(columns[0].headings[number], width)
            continue
        lines += _side_by_side(columns, [column.lines(column.cells[number]) for column in columns], widths)
    return lines


def _side_by_side(columns: Sequence[_Cells], cells: Sequence[Sequence[str]], widths: Sequence[int]) -> list[str]:
    lines = []
    for number in range(max(map(len, cells))):
        parts = [cell[number] if number < len(cell) else "" for cell in cells]
        aligned = [
            wcwidth.ljust(part, width) if column.is_text else wcwidth.rjust(part, width)
            for column, part, width in zip(columns, parts, widths, strict=True)
        ]
        lines.append(GAP.join(aligned).rstrip())
    return lines


# ---- Strips ----------------------------------------------------------------------------------------------------------


def strip(picture: Strip, width: int) -> list[str]:
    """A strip with a row of blocks for each lane, and a row below it for its marks."""
    return _along_dates(picture, width) if picture.dates is not None else _along_things(picture, width)


def _along_dates(picture: Strip, width: int) -> list[str]:
    lanes = [row for row in picture.rows if isinstance(row, Lane)]
    captions = max(wcwidth.width(lane.caption) + bool(lane.caption) for lane in lanes)
    names = max(wcwidth.width(shortened(lane.name, LONGEST_NAME)) for lane in lanes)
    is_beside = width - names - len(GAP) - captions - 2 >= LEAST_PLACES
    left = (names if is_beside else 0) + len(GAP) + captions
    dates = np.asarray(picture.dates, "M8[D]")
    step = math.ceil(len(dates) / min(MOST_PLACES, width - left - 2))
    starts = range(0, len(dates), step)
    every = f"one column a {picture.thing}" if step == 1 else f"one column for {count(step, picture.thing)}"
    lines = wrapped(f"{picture.title}, {every}; {picture.legend}", width)
    for row in picture.rows:
        if isinstance(row, Marks):
            label, places = "", "".join(row.mark if row.on[start : start + step].any() else " " for start in starts)
        else:
            name = wcwidth.ljust(shortened(row.name, LONGEST_NAME), names) if is_beside else ""
            label, places = (
                f"{name}{GAP}{row.caption}",
                "".join(block(row.share[_shown(row, start, step)]) for start in starts),
            )
            lines += [row.name] if row.name and not is_beside else []
        lines.append(f"{wcwidth.ljust(label, left)}|{places}|")
    return [*lines, f"{'':<{left + 1}}{date_row([dates[start].item() for start in starts])}"]


def _shown(lane: Lane, start: int, step: int) -> int:
    """The place that stands for those of a column."""
    on = [] if lane.on is None else np.flatnonzero(lane.on[start : start + step]).tolist()
    return start + (on[-1] if on else 0)


def date_row(dates: Sequence[dt.date]) -> str:
    """The months, and the years where there are more than one, over the columns that begin on these dates.

    Each is written out over its first column, a space from the next; a year goes before a month, and what has no room
    is left out.
    """
    columns = range(len(dates))
    more_years = dates[0].year != dates[-1].year
    years = [(at, str(dates[at].year)) for at in columns if more_years and _turns(dates, at, "%Y")]
    months = [(at, f"{dates[at]:%b}") for at in columns if _turns(dates, at, "%b %Y")]
    row, taken = [" "] * len(dates), [False] * (len(dates) + 1)
    for at, words in (*_dated_months(years, months, len(dates)), *years, *months):
        end = at + len(words)
        if end <= len(dates) and not any(taken[at : end + 1]):
            row[at:end] = words
            taken[max(at - 1, 0) : end + 1] = [True] * (end + 1 - max(at - 1, 0))
    return "".join(row).rstrip()


def _turns(dates: Sequence[dt.date], at: int, form: str) -> bool:
    return at == 0 or f"{dates[at]:{form}}" != f"{dates[at - 1]:{form}}"


def _dated_months(
    years: Sequence[tuple[int, str]], months: Sequence[tuple[int, str]], columns: int
) -> list[tuple[int, str]]:
    """The first months of the years with their years, such as Jan 2032, where all the months have room for one."""
    if not years:
        return []
    turns = [at for at, _ in months]
    widths = [after - at for at, after in pairwise([*turns, columns])]
    named = dict(months)
    dated = [(at, f"{named[at]} {year}") for at, year in years if at in named]
    return dated if min(widths[1:-1], default=0) > max(len(words) for _, words in dated) else []


def _along_things(picture: Strip, width: int) -> list[str]:
    lines = wrapped(f"{picture.title}, one column a {picture.thing}; {picture.legend}", width)
    for lane in (row for row in picture.rows if isinstance(row, Lane)):
        left = f"{LEAD}{shortened(lane.name, LONGEST_NAME)} "
        blocks, room = "".join(map(block, lane.share)), min(MOST_THINGS, width - wcwidth.width(left) - 2)
        rows = [blocks[start : start + room] for start in range(0, len(blocks), room)]
        lines += [f"{left if number == 0 else ' ' * wcwidth.width(left)}|{row}|" for number, row in enumerate(rows)]
        fits = wcwidth.width(lines[-1]) + 1 + wcwidth.width(picture.last) <= width
        lines = [*lines[:-1], f"{lines[-1]} {picture.last}".rstrip()] if fits else [*lines, f"{LEAD}{picture.last}"]
    return lines


def block(share: float) -> str:
    """A block as high as a share of full; a dot where there is none."""
    if math.isnan(share):
        return "·"
    return LEVELS[math.ceil(min(max(share, 0.0), 1.0) * (len(LEVELS) - 1) - ROUNDING)]
