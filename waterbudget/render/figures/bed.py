"""The picture of the beds: the water left in each bed's soil, in bands from plenty to thirsty."""

import math
import textwrap
from collections.abc import Sequence
from itertools import pairwise
from typing import TYPE_CHECKING, Any, Literal

import numpy as np

from waterbudget.answers.english import count, dated, shortened
from waterbudget.errors import InputError
from waterbudget.render.figures.panels import (
    INK,
    PALE_WATER,
    SMALL_PT,
    STYLE,
    TEXT_PT,
    WATER,
    WIDTH_IN,
    Given,
    Panels,
    Room,
    dates_in,
    draw_dates,
    draw_hatch,
    draw_head,
    head_in,
    midnights_of,
    panels,
)
from waterbudget.schedule.season import season_of
from waterbudget.simulate.result import Result
from waterbudget.units import Array, BoolArray, Values
from waterbudget.variables import REGISTER

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

KEY_LINE_IN, KEY_LINES, BED_IN = 0.3, 6, 1.75  # a line of the key above all beds; a bed with its head
ALONE_IN, ALONE_KEY_IN, KEY_COLUMNS = 3.75, 0.27, 2  # the picture of a bed by itself; a line of the key by itself
LEFT_IN, RIGHT_IN, FOOT_IN = 0.66, 0.25, 0.34  # beside a bed by itself; the dates under it
NAME_LETTERS, TOLD_LETTERS = 22, 34
MOST_DATES = 5
DRAWN = ("taw_mm", "raw_mm", "depletion_mm", "ks")
FULL_PCT = 100.0
TICKS_PCT = (0.0, 50.0, 100.0)
DRYING = 0.5  # share of the easy water that is used when a bed is getting dry; ours
BANDS = {"plenty": "#8fbbd6", "getting dry": "#f4e3b5", "thirsty": "#e8cfc1"}  # from the top
PAD_PT = 7.0  # so that the first date and the nought stay apart


def driest(result: Result, most: int) -> list[str]:
    """The names of so many beds at most: all as they stand in the site, or of more those whose need was least met.

    Beds that were never thirsty come after all that were.
    """
    rows = result.summary["beds"]
    if len(rows) > most:
        rows = sorted(rows, key=lambda row: (not row["stress_days"], row["eta_over_etc"] or 0.0))
    return [row["name"] for row in rows[:most]]


def bed(
    result: Result,
    ax: Given = None,
    *,
    names: Sequence[str] | None = None,
    columns: int = 2,
    width_in: float = WIDTH_IN,
) -> Panels:
    """Draw the water left in the root zone of each bed, from 0 to 100 % of what it can hold; returns the axes.

    ax: axes to draw in, one for each bed; without it a new figure is made, so many inches wide with so many beds side
    by side, and a key above them. names: of the beds to draw, in this order; all beds without it. While something grows
    the water stands in three bands: plenty; getting dry, once more than half of the easy water is used (ours); thirsty.
    Days on which a planted crop lacks water are hatched.
    Raises InputError where there are no beds or no daily tables, or the axes are too few or too many.
    Source: the water left is 1 - Dr / TAW and the easy water RAW, as in FAO-56, chapter 8.
    """
    if not result.each or not result.names.beds:
        raise InputError("there are no beds to draw, or no daily tables; run with daily=True")
    days = result.weather.days
    planted = season_of(result.site, result.weather.date_column).planted[:, :, 0]
    rows = {row["name"]: (number, row) for number, row in enumerate(result.summary["beds"])}
    drawn = [rows[name] for name in (rows if names is None else names)]
    heights_in, key_in = [BED_IN] * len(drawn), KEY_LINE_IN * math.ceil(KEY_LINES / columns)
    with panels(heights_in, ax, "one for each bed", head_in=key_in, columns=columns, width_in=width_in) as axes:
        for panel, (number, row) in zip(axes, drawn, strict=True):
            _draw_bed(panel, midnights_of(days), result, number, planted[:, number])
            draw_head(panel, _name(row["name"]), TEXT_PT, _told(row, result.summary))
            draw_dates(panel, days, labelled=True, pad_pt=PAD_PT)
            _thin_out(panel)
        if ax is None:
            _draw_key(axes[0].figure, axes[0], "outside upper left", columns)
    return axes


def beds_alone(result: Result, names: Sequence[str]) -> tuple["Figure", list["Figure"]]:
    """The key to pictures of beds, and a picture of each bed by itself, so that a page may place them side by side."""
    import matplotlib as mpl
    from matplotlib.figure import Figure

    foot_in = dates_in(result.weather.days, FOOT_IN)
    lines = max(len(_told(row, result.summary)) for row in result.summary["beds"])
    room = Room([head_in(1, TEXT_PT, lines)], LEFT_IN, RIGHT_IN, foot_in)
    axes = []
    for _ in names:
        with panels([BED_IN - head_in(1, TEXT_PT, 1) - FOOT_IN], width_in=ALONE_IN, room=room) as placed:
            axes += list(placed)
    bed(result, axes, names=names)
    key = Figure(figsize=(ALONE_IN, ALONE_KEY_IN * KEY_LINES / KEY_COLUMNS))
    with mpl.rc_context(STYLE):
        _draw_key(key, axes[0], "center left", KEY_COLUMNS)
    return key, [panel.figure for panel in axes]


def _draw_bed(panel: "Axes", midnights: Array, result: Result, number: int, planted: BoolArray) -> None:
    taw_mm, raw_mm, missing_mm, ks = (result.each[f"beds.{name}"][:, number] for name in DRAWN)
    thirsty = planted & (ks < 1.0)
    easy_pct, left_pct = FULL_PCT * raw_mm / taw_mm, FULL_PCT * (1.0 - missing_mm / taw_mm)
    evenings = midnights[1:]
    edges_pct: tuple[Values, ...] = (FULL_PCT, FULL_PCT - DRYING * easy_pct, FULL_PCT - easy_pct, 0.0)
    for (name, colour), (head_pct, foot_pct) in zip(BANDS.items(), pairwise(edges_pct), strict=True):
        foot, head = np.minimum(foot_pct, left_pct), np.minimum(head_pct, left_pct)
        panel.fill_between(evenings, foot, head, where=_joined(planted), color=colour, linewidth=0, label=name)
    bare = _joined(~planted)
    panel.fill_between(evenings, left_pct, where=bare, color=PALE_WATER, linewidth=0, zorder=0.5, label="nothing grows")
    panel.plot(evenings, left_pct, color=WATER, linewidth=1.6, label=REGISTER["left_pct"].heading)
    draw_hatch(panel, midnights, thirsty, FULL_PCT, "short_l", "thirsty days")
    panel.set_ylim(0.0, FULL_PCT)
    panel.set_yticks(TICKS_PCT, [f"{tick:g} %" for tick in TICKS_PCT])


def _joined(days: BoolArray) -> BoolArray:
    """Days and the day before each spell of them, so that what is drawn from evening to evening leaves no gap."""
    return days | np.append(days[1:], days[-1:])


def _thin_out(panel: "Axes") -> None:
    """Fewer dates, as beds stand side by side."""
    ticks, labels = panel.get_xticks(), [label.get_text() for label in panel.get_xticklabels()]
    step = math.ceil(len(ticks) / MOST_DATES)
    panel.set_xticks(ticks[::step], labels[::step])


def _draw_key(
    figure: "Figure", panel: "Axes", where: Literal["outside upper left", "center left"], columns: int
) -> None:
    handles, labels = panel.get_legend_handles_labels()
    figure.legend(handles, labels, loc=where, ncols=columns, frameon=False, fontsize=SMALL_PT, labelcolor=INK)


def _name(name: str) -> str:
    return shortened(name, NAME_LETTERS)


def _told(row: dict[str, Any], summary: dict[str, Any]) -> list[str]:
    if not row["planted_days"]:
        return ["nothing grows"]
    if not row["stress_days"]:
        return ["never thirsty"]
    first = dated(row["first_stress"], summary["start"], summary["end"])
    return textwrap.wrap(f"thirsty {count(row['stress_days'], 'day')}, from {first}", TOLD_LETTERS)
