"""Bars under each other, each with its words above it: for names too long to stand beside them."""

import textwrap
from collections.abc import Sequence
from typing import TYPE_CHECKING, NamedTuple

from waterbudget.render.figures.panels import INK, PALE_WATER, SMALL_PT, TEXT_PT, WATER, draw_plain

if TYPE_CHECKING:
    from matplotlib.axes import Axes

ROW_IN = 0.62  # height of a row
HEIGHT, THIN, TOP, BOTTOM = 0.38, 0.14, -0.62, 0.35  # of a row
LETTERS = 82  # of the words above a bar


class Bar(NamedTuple):
    """A bar: its words and length, what is written behind it, and a thin length within or beyond it."""

    words: str
    length: float
    behind: str = ""
    thin: float | None = None
    hatched: bool = False


def draw_bars(panel: "Axes", bars: Sequence[Bar], end: float, none: str, labels: tuple[str, str]) -> None:
    """Draw bars from 0 to an end of the axis; none: what stands where there are none.

    labels: for the legend, of the plain and of the hatched bars, or of the plain and of the thin ones.
    """
    panel.set_ylim(max(1, len(bars)) - 1 + BOTTOM, TOP)
    panel.set_yticks([])
    draw_plain(panel)
    if not bars:
        panel.text(0.0, 0.0, none, fontsize=TEXT_PT, color=INK)
        panel.axis("off")
        return
    plain, second = labels
    for hatched, label in ((False, plain), (True, second)):
        places = [place for place, bar in enumerate(bars) if bar.hatched is hatched]
        if places:
            drawn = panel.barh(
                places, [bars[place].length for place in places], height=HEIGHT, color=PALE_WATER, edgecolor=WATER
            )
            drawn.set_label(label)
            for patch in drawn if hatched else ():
                patch.set_hatch("////")
    thin = {place: bar.thin for place, bar in enumerate(bars) if bar.thin is not None}
    if thin:
        panel.barh([*thin], [*thin.values()], height=THIN, color=WATER, label=second)
    for place, bar in enumerate(bars):
        words = textwrap.shorten(bar.words, LETTERS, placeholder=" …")
        panel.annotate(
            words, (0.0, place - HEIGHT / 2), (2, 3), textcoords="offset points", fontsize=SMALL_PT, color=INK
        )
        panel.annotate(
            bar.behind,
            (bar.length, place),
            (4, 0),
            textcoords="offset points",
            va="center",
            fontsize=SMALL_PT,
            color=INK,
        )
    panel.set_xlim(0.0, end)
