"""The picture of a comparison: the levels of all plans in each store, and the mains water they need so far."""

import textwrap
from typing import TYPE_CHECKING

import numpy as np

from waterbudget.answers.english import dated, litres, span
from waterbudget.change.variants import Comparison, Variant
from waterbudget.render.figures.panels import (
    CLEAR_PT,
    FAINT,
    HEADROOM,
    INK,
    LINE_PT,
    MARKED,
    NAME_LETTERS,
    TEXT_PT,
    TITLE_PT,
    USE,
    WATER,
    Given,
    Panels,
    draw_dates,
    draw_head,
    draw_legend,
    draw_level_ticks,
    draw_limit,
    midnights_of,
    panels,
)

if TYPE_CHECKING:
    import datetime as dt

    from matplotlib.axes import Axes
    from matplotlib.typing import LineStyleType

    from waterbudget.units import Array

MOST_STORES = 4
HEAD_IN, PANEL_IN, KEY_LINE_IN = 0.45, 2.1, 1.25 * LINE_PT / 72.0  # 72 points an inch
TITLE_LETTERS, KEY_LETTERS, FACT_LETTERS = 38, 52, 64  # a line
EDGE, BESIDE = 0.04, 0.07  # of the axis: room between a letter and its end, and between two letters
APART = 0.15  # of the axis: limits nearer than this share one label
TRACES: "tuple[tuple[str, LineStyleType, float], ...]" = (  # colour, dashes, width; apart without any colour
    (INK, "solid", 2.4),
    (WATER, (0, (5, 1.5)), 2.0),
    (MARKED["short_l"][0], (0, (1, 1)), 2.2),
    (MARKED["mains_l"][0], (0, (6, 1.5, 1, 1.5)), 1.8),
    (FAINT, "solid", 1.8),
    (USE, (0, (9, 3)), 1.4),
)


def compare(compared: Comparison, ax: Given = None) -> Panels:
    """The level of each store under every plan, up to four stores, over the mains water needed so far.

    Each plan keeps its colour, dashes and letter, which also stands at its line. ax: axes to draw in, one for the
    names of the plans, one for each store and one for the mains water; without it a new figure is made. Returns these
    axes. Raises InputError where they are too few or too many.
    """
    days = compared.opened.weather.days
    midnights = midnights_of(days)
    stores = _stores(compared)
    key_lines = sum(len(_key(one)) for one in compared.variants)
    heights_in = [HEAD_IN + KEY_LINE_IN * key_lines, *[PANEL_IN] * (len(stores[:MOST_STORES]) + 1)]
    with panels(heights_in, ax, "for the names, each store shown and the mains water") as axes:
        _draw_key(axes[0], compared, stores)
        for panel, store in zip(axes[1:], stores, strict=False):
            _draw_store(panel, midnights, compared, store)
        _draw_needed(axes[-1], midnights, compared)
        for panel in axes[1:]:
            draw_dates(panel, days, labelled=panel is axes[-1], pad_pt=CLEAR_PT)
    return axes


def title(compared: Comparison) -> str:
    """The verdict in a few words."""
    present, best = compared.variants[0], compared.best
    saved_l = present.outcome.needed_l - best.outcome.needed_l
    if best is present or round(saved_l) == 0:
        return "None saves mains water as well as A"
    return f"{best.letter} saves {litres(saved_l)} L of mains water"


def _ends(compared: Comparison) -> "tuple[dt.date, dt.date]":
    """The first and the last day."""
    dates = compared.variants[0].outcome.dates
    return dates[0], dates[-1]


def _stores(compared: Comparison) -> list[str]:
    """The stores of all plans, each name once, those of the present plan first."""
    return list(dict.fromkeys(tank.name for one in compared.variants for tank in one.site.tank))


def _key(one: Variant) -> list[str]:
    return textwrap.wrap(one.name, KEY_LETTERS)


def _draw_key(panel: "Axes", compared: Comparison, stores: list[str]) -> None:
    """The verdict, and under it what the letters stand for, a line's sample before each."""
    facts = textwrap.wrap(f"{compared.opened.site.site.name}, {span(*_ends(compared))}", FACT_LETTERS)
    if len(stores) > MOST_STORES:
        facts.append(f"Below: the first {MOST_STORES} of {len(stores)} stores")
    draw_head(panel, textwrap.fill(title(compared), TITLE_LETTERS), TITLE_PT, facts)
    handles = [
        panel.plot([], [], color=colour, linestyle=dashes, linewidth=width)[0]
        for colour, dashes, width in TRACES[: len(compared.variants)]
    ]
    names = [f"{one.letter}  " + "\n    ".join(_key(one)) for one in compared.variants]
    draw_legend(
        panel,
        handles,
        labels=names,
        loc="upper left",
        ncols=1,
        fontsize=TEXT_PT,
        borderpad=0.0,
        handlelength=2.8,
        labelspacing=0.3,
    )
    panel.axis("off")


def _draw_store(panel: "Axes", midnights: "Array", compared: Comparison, store: str) -> None:
    limits_l: list[float] = []
    drawn = []
    for number, one in enumerate(compared.variants):
        names = [tank.name for tank in one.site.tank]
        if store in names:
            column = names.index(store)
            tank, booked = one.site.tank[column], one.outcome.summary["tanks"][column]
            drawn.append((number, np.append(booked["start_l"], _levels(one)[:, column])))
            limits_l.append(tank.all_l)
    top_l = max(limits_l)
    _draw_lines(panel, midnights, compared, drawn)
    shown: list[float] = []
    for limit_l in dict.fromkeys([limits_l[0], *sorted(limits_l, reverse=True)]):
        if all(abs(limit_l - other) > APART * top_l for other in shown):
            draw_limit(panel, "capacity_l", limit_l, (6, 3), "bottom")
            shown.append(limit_l)
    panel.axhline(0.0, color=INK, linewidth=0.8)
    panel.set_ylim(0.0, HEADROOM * top_l)
    panel.set_ylabel("Level (L)", color=INK)
    draw_level_ticks(panel, top_l)
    draw_head(panel, textwrap.fill(store, NAME_LETTERS), TEXT_PT, [])


def _draw_needed(panel: "Axes", midnights: "Array", compared: Comparison) -> None:
    drawn = []
    for number, one in enumerate(compared.variants):
        needed_l = one.outcome.needed_l_by_day
        if needed_l is None:
            raise AssertionError("a comparison keeps what is needed on each day")
        drawn.append((number, np.append(0.0, np.cumsum(needed_l))))
    _draw_lines(panel, midnights, compared, drawn)
    top_l = max(*(float(line.max()) for _, line in drawn), 1.0)
    panel.set_ylim(0.0, HEADROOM * top_l)
    panel.locator_params(axis="y", nbins=5)
    panel.yaxis.set_major_formatter("{x:,.10g}")
    panel.set_ylabel("Litres", color=INK)
    firsts = [one.outcome.summary[name] for one in compared.variants for name in ("first_short", "first_mains")]
    first = min((day for day in firsts if day is not None), default=None)
    told = "none is needed" if first is None else f"the first on {dated(first, *_ends(compared))}"
    draw_head(panel, f"Mains water needed so far: {told}", TEXT_PT, [])


def _draw_lines(panel: "Axes", midnights: "Array", compared: Comparison, drawn: "list[tuple[int, Array]]") -> None:
    """A line for each plan with its letter on it, where it is furthest from the others."""
    taken: list[int] = []
    for number, line in drawn:
        colour, dashes, width = TRACES[number]
        letter = compared.variants[number].letter
        panel.plot(midnights, line, color=colour, linestyle=dashes, linewidth=width, label=letter)
        others = [other for place, other in drawn if place != number]
        at = _letter_day(line, others, taken, (number + 1) / (len(compared.variants) + 1))
        taken.append(at)
        panel.annotate(
            letter,
            (midnights[at], line[at]),
            ha="center",
            va="center",
            fontweight="bold",
            color=colour if colour != FAINT else INK,
            bbox={"boxstyle": "circle,pad=0.15", "facecolor": "white", "edgecolor": colour, "linewidth": 1.0},
            zorder=4.0,
        )


def _letter_day(line: "Array", others: "list[Array]", taken: list[int], usual: float) -> int:
    """The day on which a line is furthest from its neighbour and no letter is near; its usual share where it is not."""
    days = np.arange(len(line))
    clear = (days >= EDGE * len(line)) & (days <= (1.0 - EDGE) * len(line))
    for day in taken:
        clear &= np.abs(days - day) > BESIDE * len(line)
    apart = np.min([np.abs(line - other) for other in others], axis=0) if others else np.zeros(len(line))
    if not clear.any():
        return round(usual * (len(line) - 1))
    apart = np.where(clear, apart, -1.0)
    if apart.max() > 0.0:
        return int(np.argmax(apart))
    return int(days[clear][np.argmin(np.abs(days[clear] - usual * len(line)))])


def _levels(one: Variant) -> "Array":
    if one.outcome.level_l is None:
        raise AssertionError("a comparison keeps its levels")
    return one.outcome.level_l
