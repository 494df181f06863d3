"""The card for the shed wall: what to set the clock of each zone to, month by month."""

import textwrap
from collections.abc import Sequence
from typing import TYPE_CHECKING

from waterbudget.answers.care import NO_MIST
from waterbudget.answers.minutes import Line, few_years, is_pulsed, lines_of
from waterbudget.answers.pulse import apart
from waterbudget.render.figures.panels import (
    INK,
    NAME_LETTERS,
    PALE_WATER,
    SMALL_PT,
    TEXT_PT,
    TITLE_PT,
    USE,
    Given,
    Panels,
    panels,
)

if TYPE_CHECKING:
    from matplotlib.axes import Axes

    from waterbudget.plan.minutes import Minutes, ZoneMinutes

ROW_IN, MORE_IN, HEAD_IN, FOOT_IN = 0.40, 0.22, 0.55, 0.30  # a row, each further line of it, the name, a line below
WHEN_X, LONG_X, OFTEN_X = 0.01, 0.20, 0.61  # where the columns begin, as shares of the width
LONG_LETTERS, OFTEN_LETTERS, FOOT_LETTERS = 28, 26, 80  # of a line


def minutes(found: "Minutes", ax: Given = None) -> Panels:
    """A panel for each zone: a row for each month, and one for a hot week.

    ax: axes to draw in, one for each zone; without it a new figure is made. Returns these axes. Raises InputError where
    the axes are too few or too many.
    """
    feet = [_foot(one) for one in found.zones]
    for told in (*few_years(found), NO_MIST):
        feet[-1] += textwrap.wrap(told, FOOT_LETTERS)
    heights_in = [
        HEAD_IN + sum(map(_row_in, lines_of(one))) + FOOT_IN * len(foot)
        for one, foot in zip(found.zones, feet, strict=True)
    ]
    with panels(heights_in, ax, "for each zone") as axes:
        for panel, one, foot, height_in in zip(axes, found.zones, feet, heights_in, strict=True):
            _draw(panel, one, foot, height_in)
    return axes


def _draw(panel: "Axes", one: "ZoneMinutes", foot: Sequence[str], height_in: float) -> None:
    panel.set_axis_off()
    panel.set(xlim=(0.0, 1.0), ylim=(height_in - HEAD_IN, 0.0))
    name = textwrap.fill(one.zone.name, NAME_LETTERS)
    panel.set_title(name, loc="left", size=TITLE_PT, weight="bold", color=INK)
    top_in = 0.0
    for number, line in enumerate(lines_of(one)):
        below_in = top_in + _row_in(line)
        if number % 2 == 0:
            panel.axhspan(top_in, below_in, color=PALE_WATER, alpha=0.6, linewidth=0)
        middle_in = (top_in + below_in) / 2
        often = textwrap.fill(line.often, OFTEN_LETTERS)
        panel.text(WHEN_X, middle_in, line.when, size=TEXT_PT, va="center", color=INK)
        panel.text(LONG_X, middle_in, _long(line), size=TEXT_PT, va="center", weight="bold", color=INK)
        panel.text(OFTEN_X, middle_in, often, size=TEXT_PT, va="center", color=INK)
        top_in = below_in
    for told in foot:
        panel.text(WHEN_X, top_in + FOOT_IN / 2, told, size=SMALL_PT, va="center", color=USE)
        top_in += FOOT_IN


def _foot(one: "ZoneMinutes") -> list[str]:
    """What goes with the rows of a zone: how far runs stand apart, and after how much rain none is needed."""
    told = [f"Start runs {apart(one.pulse.pause_h)}."] if is_pulsed(one) else []
    if one.skip_rain_mm is not None and one.skip_rain_days is not None:
        days = "the day before" if one.skip_rain_days == 1 else f"the {one.skip_rain_days} days before"
        told.append(f"Not when {one.skip_rain_mm:g} mm of rain fell in {days}.")
    return told


def _long(line: Line) -> str:
    return textwrap.fill(line.long, LONG_LETTERS)


def _row_in(line: Line) -> float:
    """Height of a row."""
    further = max(_long(line).count("\n"), textwrap.fill(line.often, OFTEN_LETTERS).count("\n"))
    return ROW_IN + MORE_IN * further
