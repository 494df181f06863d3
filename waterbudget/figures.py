"""The pictures of the package, each a function that draws and returns the axes, for notebooks and pages of your own.

from waterbudget import figures

axes = figures.level(result)
axes[0].figure.savefig("level.png")

level, balance and bed draw a run. odds, sizes, hotspell and line draw the findings of find_odds, find_size,
find_hotspell and find_line (waterbudget.report.odds, .size, .hotspell, .line) in a figure of their own.
"""

from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from waterbudget.report.balance_figure import balance
from waterbudget.report.bed_figure import bed
from waterbudget.report.figures import figure_bytes, level

if TYPE_CHECKING:
    from waterbudget.report import hotspell as hotspell_
    from waterbudget.report import line as line_
    from waterbudget.report import odds as odds_
    from waterbudget.report import size as size_

__all__ = ["balance", "bed", "figure_bytes", "hotspell", "level", "line", "odds", "sizes"]

Axes = NDArray[np.object_]


def odds(findings: "odds_.Findings") -> Axes:
    """The chance that the stored rain lasts, then the level of up to four stores over all the years.

    findings: with levels kept. Raises InputError where they are not.
    """
    from waterbudget.report.fan import fan

    return np.array(fan(findings).axes, dtype=np.object_)


def sizes(findings: "size_.Findings") -> Axes:
    """What each size of a store meets, the mains water it leaves and how long it lasts; then roof areas, if asked."""
    from waterbudget.report.size_figures import size_figure

    return np.array(size_figure(findings).axes, dtype=np.object_)


def hotspell(findings: "hotspell_.Findings") -> Axes:
    """The level of up to three stores in a hot spell, then the soil of up to three beds, under each plan."""
    from waterbudget.report.hotspell_figure import hotspell_figure

    return np.array(hotspell_figure(findings).axes, dtype=np.object_)


def line(findings: "line_.Findings") -> Axes:
    """The flow of each jet of a watering line, then the pressure along it."""
    from waterbudget.report.line_figure import line_figure

    return np.array(line_figure(findings).axes, dtype=np.object_)
