"""The picture of watering rules: in every recorded summer what the present plan, the best rule and foresight lose."""

import textwrap
from typing import TYPE_CHECKING

import numpy as np

from waterbudget.answers.english import finely
from waterbudget.errors import InputError
from waterbudget.render.figures.panels import (
    ALERT,
    INK,
    PALE_WATER,
    TITLE_PT,
    WATER,
    Given,
    Panels,
    draw_head,
    draw_legend,
    panels,
)

if TYPE_CHECKING:
    from waterbudget.odds.study import OddsFinding

HEIGHT_IN = 4.6
TITLE_LETTERS = 38
MOST_YEARS = 15  # labels side by side
HEADROOM = 1.15


def rules(found: "OddsFinding", ax: Given = None) -> Panels:
    """Yield at risk in every summer: a bar for what nobody could have saved, marks for the present plan and the rule.

    found: of find_odds with with_rules=True. ax: axes to draw in, one; without it a new figure is made. Returns these
    axes. Raises InputError where no rules were tried, or the axes are too many.
    """
    tried = found.rules
    if tried is None:
        raise InputError("no rules were tried; call find_odds with with_rules=True")
    chosen, years = tried.of_each_year(tried.chosen), np.arange(len(tried.bound))
    with panels([HEIGHT_IN], ax, "for the summers") as axes:
        panel = axes[0]
        least = panel.bar(years, 100.0 * tried.moved_bound, color=PALE_WATER, label="lost even with foresight")
        (best,) = panel.plot(years, 100.0 * chosen, "o", color=WATER, clip_on=False, label="best simple rule")
        (now,) = panel.plot(
            years, 100.0 * tried.harm[0], "x", color=ALERT, markersize=9, clip_on=False, label="present plan"
        )
        step = -(-len(years) // MOST_YEARS)
        panel.set_xticks(years[::step], [str(year) for year in tried.years.label[::step]], rotation=45)
        most = 100.0 * max(float(tried.harm[0].max()), float(chosen.max()), 0.01)
        panel.set_ylim(0.0, most * HEADROOM)
        panel.set_ylabel("Yield at risk (%)", color=INK)
        means = f"In a mean summer {finely(float(tried.harm[0].mean()))} now, {finely(float(chosen.mean()))} by rule"
        draw_head(panel, textwrap.fill("What simple rules would save", TITLE_LETTERS), TITLE_PT, [means, ""])
        draw_legend(panel, [now, best, least])
    return axes
