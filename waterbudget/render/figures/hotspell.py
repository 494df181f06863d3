"""The picture of a hot spell: stores and soil under the present plan against the best ones."""

import math
import textwrap
from typing import TYPE_CHECKING

import numpy as np

from waterbudget.answers.english import count, in_words
from waterbudget.answers.spell_plans import PRESENT, Group, among, groups
from waterbudget.answers.spell_verdict import lasts_in_short
from waterbudget.render.figures.panels import (
    ALERT,
    CLEAR_PT,
    DASHES,
    FAINT,
    HEADROOM,
    INK,
    LINE_PT,
    MARKED,
    NAME_LETTERS,
    TEXT_PT,
    TITLE_PT,
    WATER,
    Given,
    Panels,
    draw_beside,
    draw_dates,
    draw_head,
    draw_legend,
    draw_tank,
    midnights_of,
    panels,
)

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.typing import LineStyleType

    from waterbudget.spell.study import Study
    from waterbudget.units import Array

MOST_STORES, MOST_BEDS = 3, 3
PANEL_IN, HEAD_IN = 1.8, 1.2  # a panel with its name; the title and the legend above the first
TITLE_LETTERS = 38  # a line
LEGEND_COLUMNS = 2
LOOKS: "dict[str, tuple[str, LineStyleType, float]]" = {  # colour, dashes, width: apart without any colour, too
    PRESENT: (INK, "solid", 2.4),
    "least work": (ALERT, DASHES, 1.9),
    "least water": (WATER, (0, (1, 1.2)), 2.4),
    "least harm": (MARKED["mains_l"][0], (0, (6, 2, 1, 2)), 1.7),
}
GAP_PT = 6.0  # between axes and what stands above them
PT_PER_IN = 72.0
WHOLE_PCT = 100.0


def hotspell(found: "Study", ax: Given = None) -> Panels:
    """The level of up to three stores, and the soil water of the worst bed of up to three zones, under each plan.

    found: of find_hotspell. ax: axes to draw in, one for each of these stores and then one for each of these beds;
    without it a new figure is made. Returns these axes. Raises InputError where the axes are too few or too many.
    """
    days = found.eve.season.dates[:, 0]
    midnights = midnights_of(days)
    stores, shown = range(min(MOST_STORES, len(found.site.tank))), worst_beds(found)
    names = [*(_store_name(found, store) for store in stores), *(_bed_name(found, bed) for bed in shown)]
    heights_in = [PANEL_IN + LINE_PT / PT_PER_IN * (len(name.splitlines()) - 1) for name in names]
    heights_in[0] += HEAD_IN
    with panels(heights_in, ax, "for each store and bed shown") as axes:
        for store, panel in zip(stores, axes, strict=False):
            _draw_store(panel, midnights, found, store)
        for bed, panel in zip(shown, axes[len(stores) :], strict=True):
            _draw_bed(panel, midnights, found, bed)
        for panel in axes:
            draw_dates(panel, days, labelled=panel is axes[-1], pad_pt=CLEAR_PT)
        _draw_title(axes[0], found)
    return axes


def worst_beds(found: "Study") -> list[int]:
    """The columns of the beds with the most at risk over the plans shown, one of each zone, the worst zone first."""
    at_risk = sum(found.found.trial.at_risk[group.named.number] for group in groups(found))
    worst: dict[str, int] = {}
    for column in np.argsort(-np.asarray(at_risk), kind="stable"):
        bed = found.site.bed[int(column)]
        if bed.zone is not None and found.sensitivity.responses[int(column)]:
            worst.setdefault(bed.zone, int(column))
    return list(worst.values())[:MOST_BEDS]


def _draw_title(panel: "Axes", found: "Study") -> None:
    """The verdict, the spell and the legend, above the name of the first store."""
    from matplotlib.transforms import ScaledTranslation

    spell, first = found.spell, in_words(str(found.eve.season.dates[0, 0]), year=True)
    name = panel.get_title(loc="left")
    name_pt = LINE_PT * len(name.splitlines())
    legend_pt = LINE_PT * math.ceil(len(groups(found)) / LEGEND_COLUMNS)
    best = f"; the best {among(found)}" if among(found) and len(groups(found)) > 1 else ""
    facts = f"{count(spell.days, 'day')} at {spell.high_c:zg}\N{NO-BREAK SPACE}°C from {first}{best}"
    title = textwrap.fill(lasts_in_short(found), TITLE_LETTERS)
    facts_pt = GAP_PT + name_pt + legend_pt + LINE_PT
    panel.set_title(title, loc="left", fontsize=TITLE_PT, fontweight="bold", color=INK, pad=facts_pt + 1.3 * LINE_PT)
    panel.annotate(facts, (0, 1), (0, facts_pt), "axes fraction", "offset points", color=INK)
    panel.annotate(name, (0, 1), (0, GAP_PT), "axes fraction", "offset points", color=INK, fontweight="bold")
    figure = panel.get_figure(root=True)
    if figure is None:
        raise AssertionError("a panel stands in a figure")
    above_name = ScaledTranslation(0.0, (GAP_PT + name_pt + LINE_PT / 3.0) / PT_PER_IN, figure.dpi_scale_trans)
    draw_legend(
        panel,
        [line for line in panel.get_lines() if line.get_label() in {group.label for group in groups(found)}],
        bbox_transform=panel.transAxes + above_name,
        ncols=LEGEND_COLUMNS,
        borderpad=0.1,
        labelspacing=0.2,
        handlelength=3.2,
    )


def _draw_store(panel: "Axes", midnights: "Array", found: "Study", store: int) -> None:
    tank = found.site.tank[store]
    _draw_plans(panel, midnights, [(group, group.named.course.level_l[:, store]) for group in groups(found)])
    draw_tank(panel, tank)
    draw_head(panel, _store_name(found, store), TEXT_PT, [])


def _draw_bed(panel: "Axes", midnights: "Array", found: "Study", column: int) -> None:
    limit = WHOLE_PCT * found.named[0].course.limit[:, column]
    panel.stairs(limit, midnights, fill=True, color=FAINT, alpha=0.3, linewidth=0)
    draw_beside(panel, "thirsty\nbelow", float(limit[-1]), "top")
    _draw_plans(panel, midnights, [(group, WHOLE_PCT * group.named.course.soil[:, column]) for group in groups(found)])
    panel.set_ylim(0.0, WHOLE_PCT * HEADROOM)
    panel.set_yticks([0, 50, 100], ["0 %", "50 %", "100 %"])
    panel.set_ylabel("Soil water left", color=INK)
    draw_head(panel, _bed_name(found, column), TEXT_PT, [])


def _store_name(found: "Study", store: int) -> str:
    return textwrap.fill(found.site.tank[store].name, NAME_LETTERS)


def _bed_name(found: "Study", column: int) -> str:
    bed = found.site.bed[column]
    return textwrap.fill(f"{bed.name}, {bed.zone}", NAME_LETTERS)


def _draw_plans(panel: "Axes", midnights: "Array", traces: "list[tuple[Group, Array]]") -> None:
    for group, values in traces:
        colour, dashes, width = LOOKS[group.names[0]]
        panel.plot(midnights, values, color=colour, linestyle=dashes, linewidth=width, label=group.label, clip_on=False)
