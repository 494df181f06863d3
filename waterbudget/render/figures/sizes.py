"""The picture of sizes: what each meets, the mains water it leaves, how long it lasts, and roof areas beside them."""

import datetime as dt
import textwrap
from typing import TYPE_CHECKING

import numpy as np

from waterbudget.answers.english import as_given, litres
from waterbudget.answers.size_verdict import per, years_of
from waterbudget.render.figures.panels import (
    ALERT,
    DASHES,
    FAINT,
    INK,
    MARKED,
    SMALL_PT,
    TEXT_PT,
    TITLE_PT,
    USE,
    WATER,
    Given,
    Panels,
    draw_beside,
    draw_head,
    draw_legend,
    draw_plain,
    panels,
)
from waterbudget.sizing.sizes import DRY_YEAR

if TYPE_CHECKING:
    from matplotlib.axes import Axes

    from waterbudget.review.size import SizeFinding

PANEL_IN, MAP_IN = 2.6, 3.9  # a panel with its head
TITLE_LETTERS, FACT_LETTERS = 38, 64  # a line
MARK_PT = 9.0
MET_LEVELS = (0.25, 0.5, 0.75, 0.9)
NEAR = 0.06  # levels nearer than this to the target make room for it
SHADES = ("#ffffff", "#a9cbe0")  # from nothing met to all; ink stays readable on both
STEPS = (1, 2, 3)
MOST_TICKS = 6


def sizes(finding: "SizeFinding", ax: Given = None) -> Panels:
    """Share met, mains water and days lasted over the sizes; below them, where asked for, share met over roof areas.

    finding: of find_size. ax: axes to draw in, one for each of these three or four; without it a new figure is made.
    Returns these axes. Raises InputError where the axes are too few or too many.
    """
    is_mapped = finding.study.roofs is not None
    heights_in = [PANEL_IN + 0.7, PANEL_IN, PANEL_IN, *([MAP_IN] if is_mapped else [])]
    which = f"for the water met, the mains water, the days lasted{' and the roof areas' if is_mapped else ''}"
    with panels(heights_in, ax, which) as axes:
        met, mains, lasts, *maps = axes
        _draw_met(met, finding)
        _draw_mains(mains, finding)
        _draw_lasting(lasts, finding)
        for panel in (met, mains, lasts):
            _draw_sizes(panel, finding, labelled=panel is lasts)
        for panel in maps:
            _draw_roofs(panel, finding)
    return axes


def title(finding: "SizeFinding") -> str:
    """The verdict in a few words."""
    found = finding.study
    if found.enough is None:
        limit = "the roof limits" if found.limit == "roof" else "the tank limits"
        return (
            f"{found.tank.name}: no size to {litres(found.sweep.to_l)} L meets {as_given(found.sweep.target)}, {limit}"
        )
    return f"{found.tank.name}: {litres(found.sizes.capacity_l[found.enough])} L meets {as_given(found.sweep.target)}"


def _facts(finding: "SizeFinding") -> list[str]:
    found = finding.study
    facts = textwrap.wrap(f"{found.site.site.name}, {years_of(finding)}", FACT_LETTERS)
    if found.knee:
        facts.append(
            f"Above {litres(found.sizes.capacity_l[found.knee])} L, each extra 100 L saves under "
            f"{litres(found.sweep.worth_l)} L of mains {per(finding.study)}"
        )
    return facts


def _draw_met(panel: "Axes", finding: "SizeFinding") -> None:
    found, sizes = finding.study, finding.study.sizes
    panel.plot(sizes.capacity_l, 100.0 * sizes.met, color=WATER, linewidth=2.0, label="of the water")
    panel.plot(
        sizes.capacity_l, 100.0 * sizes.met_on_days, color=USE, linewidth=1.6, linestyle=DASHES, label="of the days"
    )
    tried = [one.outcome for one in found.rules if one.outcome is not None]
    tried = [one for one in tried if found.sweep.from_l <= one.capacity_l[0] <= found.sweep.to_l]
    panel.plot(
        [one.capacity_l[0] for one in tried],
        [100.0 * one.met[0] for one in tried],
        "D",
        ms=6.0,
        mfc="white",
        color=MARKED["mains_l"][0],
        label="rules of thumb",
    )
    panel.axhline(100.0 * found.sweep.target, color=INK, linewidth=1.0, linestyle=(0, (6, 3)))
    draw_beside(panel, f"target\n{as_given(found.sweep.target)}", 100.0 * found.sweep.target, "center")
    if found.enough is not None:
        at_l, met = sizes.capacity_l[found.enough], 100.0 * sizes.met[found.enough]
        panel.plot(at_l, met, "o", ms=MARK_PT, color=ALERT, label="enough")
    panel.set_ylim(0.0, 104.0)
    panel.set_yticks(range(0, 101, 25), [f"{tick} %" for tick in range(0, 101, 25)])
    panel.set_ylabel("Demand met", color=INK)
    draw_head(panel, textwrap.fill(title(finding), TITLE_LETTERS), TITLE_PT, [*_facts(finding), ""])
    draw_legend(panel)


def _draw_mains(panel: "Axes", finding: "SizeFinding") -> None:
    found, sizes = finding.study, finding.study.sizes
    needed_l = sizes.a_year("needed_l")
    panel.plot(sizes.capacity_l, needed_l, color=WATER, linewidth=2.0, label="mains water")
    if found.knee is not None:
        at_l, there_l = sizes.capacity_l[found.knee], needed_l[found.knee]
        panel.plot(at_l, there_l, "s", ms=MARK_PT, color=ALERT, label="worth it up to here")
    panel.set_ylim(0.0, max(1.04 * needed_l.max(), 1.0))
    panel.locator_params(axis="y", nbins=5)
    panel.yaxis.set_major_formatter("{x:,.10g}")
    panel.set_ylabel(f"Litres {per(finding.study)}", color=INK)
    draw_head(panel, "Mains water that all the watering takes", TEXT_PT, [""])
    draw_legend(panel)


def _draw_lasting(panel: "Axes", finding: "SizeFinding") -> None:
    sizes, stretch = finding.study.sizes, finding.study.stretch
    years = len(stretch.names)
    middle = "a middling year" if years > 1 else "the season"
    panel.plot(sizes.capacity_l, sizes.median_lasted, color=WATER, linewidth=2.0, label=middle)
    if years > 1:
        dry = "a 1-in-10 dry year" if years >= DRY_YEAR else "the driest year"
        panel.plot(sizes.capacity_l, sizes.dry_lasted, color=ALERT, linewidth=1.6, linestyle=DASHES, label=dry)
    most = int(stretch.year_days.max())
    panel.set_ylim(0.0, 1.04 * most)
    _draw_days(panel, stretch.begins, most)
    draw_head(panel, "The stored rain lasts to", TEXT_PT, [""])
    draw_legend(panel)


def _draw_days(panel: "Axes", begins: np.datetime64, days: int) -> None:
    """Days from the first one as dates: firsts of the month, few enough, or else a few days."""
    dates = [dt.date.fromisoformat(str(begins + np.timedelta64(day, "D"))) for day in range(days + 1)]
    firsts = [day for day, date in enumerate(dates) if date.day == 1]
    every = next(step for step in STEPS if len(firsts) <= step * MOST_TICKS)
    ticks = firsts[::every] if len(firsts) > 1 else list(range(0, days + 1, -(-days // MOST_TICKS)))
    panel.set_yticks(ticks, [f"{dates[tick].day} {dates[tick]:%b}" for tick in ticks])


def _draw_sizes(panel: "Axes", finding: "SizeFinding", *, labelled: bool) -> None:
    found = finding.study
    now_l = found.tank.all_l
    if found.sweep.from_l <= now_l <= found.sweep.to_l:
        panel.axvline(now_l, color=INK, linewidth=1.0, linestyle=(0, (1, 2)))
        if labelled:
            where = ((now_l, 0.0), (4, 4), panel.get_xaxis_transform())
            panel.annotate("now", *where, "offset points", fontsize=SMALL_PT, color=INK)
    panel.set_xlim(found.sweep.from_l, found.sweep.to_l)
    panel.xaxis.set_major_formatter("{x:,.10g}")
    if labelled:
        panel.set_xlabel("Size of the store (L)", color=INK)
    panel.grid(color=FAINT, alpha=0.35, linewidth=0.6)
    draw_plain(panel)


def _draw_roofs(panel: "Axes", finding: "SizeFinding") -> None:
    from matplotlib.colors import LinearSegmentedColormap

    found = finding.study
    if found.roofs is None:
        raise AssertionError("a map is drawn only where there is one")
    area_m2, capacity_l, met = found.roofs
    levels = sorted({found.sweep.target, *(level for level in MET_LEVELS if abs(level - found.sweep.target) > NEAR)})
    drawn = [level for level in levels if met.min() < level < met.max()]
    shades = LinearSegmentedColormap.from_list("met", SHADES)
    panel.contourf(capacity_l, area_m2, met, levels=[-1.0, *levels, 2.0], cmap=shades, vmin=0.0, vmax=1.0)
    if drawn:
        widths = [2.4 if level == found.sweep.target else 1.0 for level in drawn]
        lines = panel.contour(capacity_l, area_m2, met, levels=drawn, colors=INK, linewidths=widths)
        panel.clabel(lines, fmt=lambda level: f"{100.0 * level:g} %", fontsize=SMALL_PT, inline_spacing=3)
    if found.sweep.from_l <= found.tank.all_l <= found.sweep.to_l:
        panel.plot(found.tank.all_l, found.roof_m2, "X", ms=MARK_PT + 1.0, color=ALERT, mec="white", label="now")
        draw_legend(panel)
    panel.set_xlim(capacity_l[0], capacity_l[-1])
    panel.xaxis.set_major_formatter("{x:,.10g}")
    panel.set_xlabel("Size of the store (L)", color=INK)
    panel.set_ylabel("Roof that feeds it (m²)", color=INK)
    draw_head(panel, f"Litres or roof: water met (bold: {as_given(found.sweep.target)})", TEXT_PT, [""])
    draw_plain(panel)
