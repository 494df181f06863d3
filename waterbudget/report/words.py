"""How tables and paragraphs are laid out on the screens that are not yet blocks."""

from collections.abc import Iterable, Sequence

import wcwidth

from waterbudget.answers.english import (
    as_given,
    capital,
    count,
    dated,
    in_words,
    listed,
    litres,
    percent,
    percent_below,
    shortened,
    span,
    weekdays,
    weekly_work,
    when,
    yearly,
)

__all__ = [
    "WIDTH",
    "as_given",
    "capital",
    "count",
    "dated",
    "in_words",
    "listed",
    "litres",
    "percent",
    "percent_below",
    "screen",
    "section",
    "shortened",
    "span",
    "table",
    "weekdays",
    "weekly_work",
    "when",
    "wrapped",
    "yearly",
]

WIDTH = 100  # columns of a screen


def wrapped(text: str, *, lead: str = "") -> str:
    """A sentence broken at the screen's width, its later lines indented under the first."""
    indent = " " * wcwidth.width(lead)
    return "\n".join(wcwidth.wrap(text, WIDTH, initial_indent=lead, subsequent_indent=indent, break_on_hyphens=False))


def section(title: str, lines: Iterable[str], *, lead: str = "  ") -> list[str]:
    """A titled block of sentences, empty where there are none."""
    body = [wrapped(line, lead=lead) for line in lines]
    return [title, *body] if body else []


def screen(*parts: Sequence[str]) -> str:
    """Parts of a screen with a blank line between them; empty parts are left out."""
    return "\n\n".join("\n".join(part) for part in parts if part)


def table(
    head: Sequence[str],
    rows: Iterable[Sequence[str]],
    *,
    units: Sequence[str] = (),
    over: Sequence[tuple[str, int]] = (),
) -> list[str]:
    """Aligned lines: the first column to the left, the others to the right, units below their heads.

    over: what stands above the heads, words and the number of columns that they span.
    """
    lines = [list(head), *([list(units)] if units else []), *(list(row) for row in rows)]
    widths = [max(wcwidth.width(line[column]) for line in lines) for column in range(len(head))]
    above = [_spanning(over, widths)] if over else []
    return [*above, *(_aligned(line, widths) for line in lines)]


def _spanning(over: Sequence[tuple[str, int]], widths: Sequence[int]) -> str:
    spans, column = [], 0
    for words, columns in over:
        width = sum(widths[column : column + columns]) + 2 * (columns - 1)
        spans.append(f"{f' {words} ':─^{width}}" if words else " " * width)
        column += columns
    return "  ".join(spans)


def _aligned(line: Sequence[str], widths: Sequence[int]) -> str:
    first, *others = zip(line, widths, strict=True)
    return "  ".join([wcwidth.ljust(*first), *(wcwidth.rjust(cell, width) for cell, width in others)]).rstrip()
