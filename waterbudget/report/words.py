"""How quantities, days and tables are written on every screen."""

import datetime as dt
from collections.abc import Iterable, Sequence

FINE_BELOW_L = 1000  # below this every litre shows, above it tens of litres do


def litres(amount_l: float) -> str:
    """Litres with no more precision than the model has: 87, 940, 12,340."""
    return f"{round(amount_l) if abs(amount_l) < FINE_BELOW_L else round(amount_l, -1):,.0f}"


def in_words(day: dt.date | str, *, year: bool = False) -> str:
    """A day as people say it: 1 July, or 1 July 2031."""
    day = dt.date.fromisoformat(day) if isinstance(day, str) else day
    return f"{day.day} {day:%B}{f' {day.year}' if year else ''}"


def span(first: dt.date | str, last: dt.date | str) -> str:
    """A period: 1 May to 30 September 2031."""
    first, last = (dt.date.fromisoformat(day) if isinstance(day, str) else day for day in (first, last))
    return f"{in_words(first, year=first.year != last.year)} to {in_words(last, year=True)}"


def count(number: int, thing: str) -> str:
    """A number of things: 1 day, 2 days, 1,234 days."""
    return f"{number:,} {thing}{'' if number == 1 else 's'}"


def listed(words: Sequence[str], last: str = "and") -> str:
    """Words in a row: a, b and c."""
    return f" {last} ".join(part for part in (", ".join(words[:-1]), *words[-1:]) if part)


def percent(share: float | None) -> str:
    """A share as whole per cent; a dash where there is none."""
    return "–" if share is None else f"{100 * share:.0f} %"


def table(head: Sequence[str], rows: Iterable[Sequence[str]], *, units: Sequence[str] = ()) -> list[str]:
    """Aligned lines: the first column to the left, the others to the right, units below their heads."""
    lines = [list(head), *([list(units)] if units else []), *(list(row) for row in rows)]
    widths = [max(len(line[column]) for line in lines) for column in range(len(head))]
    return [
        "  ".join(cell.ljust(width) if n == 0 else cell.rjust(width) for n, (cell, width) in enumerate(zip(line, widths, strict=True))).rstrip()
        for line in lines
    ]
