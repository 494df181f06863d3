"""Numbers as people write them, with a decimal point or, where the file shows it, a decimal comma."""

import re
from collections.abc import Sequence

from waterbudget.rows.cells import Where

POINT, COMMA = ".", ","
MARKED = re.compile(r"[-+]?(?=[.,]*[0-9])[0-9.,]*[.,][0-9.,]*(?:[eE][-+]?[0-9]+)?")
ALIKE = {"\N{MINUS SIGN}": "-", "\N{EN DASH}": "-", "\N{NO-BREAK SPACE}": "", "\N{NARROW NO-BREAK SPACE}": ""}
PATTERNS = {  # by the mark for decimals; the other one may stand between thousands
    POINT: re.compile(r"[-+]?(?:[1-9][0-9]{0,2}(?:,[0-9]{3})+|[0-9]*)(?:\.[0-9]*)?(?:[eE][-+]?[0-9]+)?"),
    COMMA: re.compile(r"[-+]?(?:[1-9][0-9]{0,2}(?:\.[0-9]{3})+|[0-9]*)(?:,[0-9]*)?(?:[eE][-+]?[0-9]+)?"),
}
OTHER_LETTERS = str.maketrans(ALIKE)
DIGIT = re.compile("[0-9]")


class UnclearDecimalsError(ValueError):
    """A number whose decimals no other tells. said: why; way_out: what would be right."""

    def __init__(self, said: str, way_out: str) -> None:
        self.said, self.way_out = said, way_out
        super().__init__(f"{said}; {way_out}")


def plain_numbers(
    cells: Sequence[str],
    where: Where,
    *,
    point_is_usual: bool,
    may_be_thousands: bool = True,
    said: str | None = None,
) -> list[str]:
    """The cells with their numbers as machines write them: a point for decimals, nothing for thousands.

    1.25, 1,25 and 1.250,5 speak for themselves; what 1,250 and 1.250 mean, the others of the file tell. where: what
    each cell is called. point_is_usual: whether 1.250 is below 2 where no other tells; 1,250 then never is.
    may_be_thousands: whether numbers can be so large at all. said: the mark for decimals, where somebody tells it. A
    cell that holds no number stays as it is. Raises UnclearDecimalsError, which names the cell, where none tells.
    """
    if point_is_usual and said != COMMA and all(COMMA not in cell and cell.isascii() for cell in cells):
        return list(cells)
    cells = [cell.translate(OTHER_LETTERS) if DIGIT.search(cell) else cell for cell in cells]
    marks = [decimal_marks(cell) for cell in cells]
    shown = frozenset[str]().union(*(mark for mark in marks if len(mark) == 1))
    plain = []
    for number, (cell, mark) in enumerate(zip(cells, marks, strict=True)):
        likely = mark & shown if len(mark) > 1 and shown else mark
        if len(mark) > 1 and said is not None:
            likely = frozenset({said})
        if len(likely) > 1 and ((point_is_usual and COMMA not in cell) or not may_be_thousands):
            likely = frozenset(COMMA if COMMA in cell else POINT)
        if len(likely) > 1:
            whole, part = sorted((_plain(cell, one) for one in likely), key=len)
            raise UnclearDecimalsError(
                f"{where(number)} is {cell}, which may be {whole} or {part}, and no other number tells",
                f"write {whole} or {part}0",
            )
        plain.append(_plain(cell, *likely) if likely else cell)
    return plain


def decimal_marks(cell: str) -> frozenset[str]:
    """The marks that may stand for decimals in a number; none where it has no mark or is no number."""
    if not MARKED.fullmatch(cell):
        return frozenset()
    return frozenset(mark for mark, pattern in PATTERNS.items() if pattern.fullmatch(cell))


def _plain(cell: str, mark: str) -> str:
    return cell.replace(COMMA if mark == POINT else POINT, "").replace(mark, POINT)
