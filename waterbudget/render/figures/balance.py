"""The picture of a balance: where the water came from and where it went, each part a step in litres."""

import textwrap
from collections.abc import Iterator
from typing import TYPE_CHECKING, NamedTuple

import numpy as np

from waterbudget.answers.english import in_words, litres
from waterbudget.errors import InputError, shown
from waterbudget.render.figures.panels import (
    FAINT,
    INK,
    MARKED,
    PALE_WATER,
    SMALL_PT,
    STYLE,
    TEXT_PT,
    USE,
    WATER,
    WIDTH_IN,
    Given,
    taken,
)
from waterbudget.simulate.books import SHORT_L
from waterbudget.simulate.result import Result
from waterbudget.site.model import Tank

if TYPE_CHECKING:
    from matplotlib.axes import Axes

HEAD_IN, LINE_IN, ROW_IN = 0.36, 0.22, 0.36  # the title, each more line of it; a part with the gap above it
BAR = 0.74  # height of a bar, in rows
PT_PER_IN = 72.0
NAME_LETTERS, NAME_LINES, TITLE_LETTERS = 20, 2, 30
LEFT_IN, RIGHT_IN = 1.9, 0.95  # beside the bars: names to the left of them, litres to the right
LEAST_WIDTH = 0.004  # of the axis, for a part too small to be seen
RAIN, STOCK, MAINS, USED, LOST = "rain", "stock", "mains", "used", "lost"
MAINS_COLOUR, MAINS_HATCH, _ = MARKED["mains_l"]
DRAWN = {  # kind of water: face, edge, hatch
    RAIN: (WATER, WATER, None),
    STOCK: (PALE_WATER, WATER, None),
    MAINS: ("#ffffff", MAINS_COLOUR, MAINS_HATCH),
    USED: (USE, USE, None),
    LOST: ("#ffffff", FAINT, "\\\\\\\\"),
}


class Part(NamedTuple):
    """Some of the water: its name, litres and kind, one of DRAWN."""

    name: str
    amount_l: float
    kind: str


class Balance(NamedTuple):
    """The same litres twice: by where they came from, and by where they went."""

    came: list[Part]
    went: list[Part]

    @property
    def total_l(self) -> float:
        """All the water there is to tell of."""
        return sum(part.amount_l for part in self.came)


def balance_of(result: Result, store: str | None = None) -> Balance:
    """Where the water of all stores came from and went, or that of one by its name; parts of nothing are left out.

    Water that runs from one store into another counts in each of the two, and not at all for all of them together.
    What a mains hose gives in place of a store is in both. Raises InputError where the result has no daily tables, or
    there is no such store.
    """
    if not result.each:
        raise InputError("there are no daily tables to draw; run with daily=True")
    tanks = [tank for tank in result.site.tank if store in {None, tank.name}]
    if not tanks:
        known = ", ".join(f'"{tank.name}"' for tank in result.site.tank)
        raise InputError(f"{shown(store)} is no store; there is {known}")
    came, went = _came(result, tanks), _went(result, tanks)
    return Balance(
        [part for part in came if part.amount_l > SHORT_L], [part for part in went if part.amount_l > SHORT_L]
    )


def _came(result: Result, tanks: list[Tank]) -> Iterator[Part]:
    names, summary = {tank.name for tank in tanks}, result.summary
    rows = {row["name"]: row for row in summary["tanks"]}
    caught_l = _caught_l(result)
    for roof in result.site.roof:
        if roof.tank in names:
            yield Part(roof.name, caught_l[roof.name], RAIN)
    for tank in result.site.tank:
        if tank.overflow_to in names and tank.name not in names:
            yield Part(f"Overflow of {tank.name}", rows[tank.name]["spilled_l"], RAIN)
    yield Part("Springs and other inflows", _fed_l(result, names), RAIN)
    if len(tanks) < len(result.site.tank):
        yield Part("Moved in", sum(rows[name]["moved_in_l"] for name in names), STOCK)
    there = "In the store" if len(tanks) == 1 else "In the stores"
    yield Part(f"{there}, {_day(result, 'start')}", sum(rows[name]["start_l"] for name in names), STOCK)
    yield Part("Mains", sum(rows[name]["mains_l"] for name in names), MAINS)


def _caught_l(result: Result) -> dict[str, float]:
    """What each roof caught [L]."""
    return dict(zip(result.names.roofs, result.each["roofs.caught_l"].sum(axis=0).tolist(), strict=True))


def _fed_l(result: Result, names: set[str]) -> float:
    """What ran into some stores and came neither from a roof nor over the top of another [L]."""
    site, rows = result.site, {row["name"]: row for row in result.summary["tanks"]}
    caught_l = _caught_l(result)
    from_roofs_l = sum(caught_l[roof.name] for roof in site.roof if roof.tank in names)
    spilled_in_l = sum(rows[tank.name]["spilled_l"] for tank in site.tank if tank.overflow_to in names)
    fed_l = sum(rows[name]["inflow_l"] for name in names) - from_roofs_l - spilled_in_l
    return fed_l if site.inflow else 0.0


def _went(result: Result, tanks: list[Tank]) -> Iterator[Part]:
    names, summary = {tank.name for tank in tanks}, result.summary
    rows = {row["name"]: row for row in summary["tanks"]}
    drawn_from = [*(zone.tank for zone in result.site.zone), *(draw.tank for draw in result.site.draw)]
    for tank_name, row in zip(drawn_from, summary["zones"], strict=True):
        if tank_name in names:
            yield Part(row["name"], row["store_l"] + row["mains_l"], USED)
    if len(tanks) < len(result.site.tank):
        yield Part("Moved out", sum(rows[name]["moved_out_l"] for name in names), STOCK)
    left = "Left in the store" if len(tanks) == 1 else "Left in the stores"
    yield Part(f"{left}, {_day(result, 'end')}", sum(rows[name]["end_l"] for name in names), STOCK)
    for tank in tanks:
        if tank.overflow_to is not None and tank.overflow_to not in names:
            yield Part(f"Overflow to {tank.overflow_to}", rows[tank.name]["spilled_l"], LOST)
    drained_l = sum(rows[tank.name]["spilled_l"] for tank in tanks if tank.overflow_to is None)
    yield Part("Overflow to the drain", drained_l, LOST)
    yield Part("Leaks and evaporation", sum(rows[name]["lost_l"] for name in names), LOST)


def _day(result: Result, end: str) -> str:
    """The first or last day, on one line; with its year where there are several."""
    day, summary = result.summary[end], result.summary
    year = summary["start"][:4] != summary["end"][:4]
    return in_words(day, year=year).replace(" ", "\N{NO-BREAK SPACE}")


def balance(result: Result, ax: Given = None, store: str | None = None, *, width_in: float = WIDTH_IN) -> "Axes":
    """Draw where the water came from and went, for all stores or for one by its name; returns the axes.

    Each part is a bar as long as its litres, begun where the one above it ends: up to all the water, and back to
    nothing. ax: axes to draw in, with room for words on both sides; without it a new figure is made, so many inches
    wide. Raises InputError as balance_of does, and where the axes are several.
    """
    import matplotlib as mpl

    told = balance_of(result, store)
    with mpl.rc_context(STYLE):
        title = textwrap.fill(title_of(store), TITLE_LETTERS)
        parts, lines = len(told.came) + len(told.went), title.count("\n") + 1
        panel: Axes = _new_axes(parts, lines, width_in) if ax is None else taken(ax, 1, "for all the bars")[0]
        top_l = told.total_l or 1.0
        row = _draw_side(panel, "It came from", told.came, 0, 0.0, top_l)
        row = _draw_side(panel, "It went to", told.went, row, told.total_l, top_l)
        panel.set_xlim(0.0, top_l)
        panel.set_ylim(row - 0.5, -0.6)
        panel.set_yticks([])
        panel.set_xticks([])
        panel.spines[:].set_visible(False)
        left, _ = _edges(panel)
        panel.set_title(title, x=left, loc="left", fontsize=TEXT_PT, fontweight="bold", color=INK)
    return panel


def title_of(store: str | None) -> str:
    """What the picture is of."""
    return "All stores together" if store is None else store


def _new_axes(parts: int, lines: int, width_in: float) -> "Axes":
    from matplotlib.figure import Figure

    rows = parts + 2  # and a heading for each side
    head_in = HEAD_IN + LINE_IN * (lines - 1)
    height_in = head_in + ROW_IN * (rows + 0.5)
    figure = Figure(figsize=(width_in, height_in))
    wide = (width_in - LEFT_IN - RIGHT_IN) / width_in
    return figure.add_axes((LEFT_IN / width_in, 0.0, wide, 1.0 - head_in / height_in))


def _edges(panel: "Axes") -> tuple[float, float]:
    """Where the words beside the bars begin and end, in widths of the axes."""
    wide_in = panel.bbox.width / panel.figure.dpi
    return -LEFT_IN / wide_in, 1.0 + RIGHT_IN / wide_in


def _draw_side(panel: "Axes", heading: str, parts: list[Part], row: int, begin_l: float, top_l: float) -> int:
    """One side from a row on, its steps up from nothing or down from begin_l; returns the row after it."""
    _say(panel, "left", row, heading, weight="bold")
    _say(panel, "right", row, f"{litres(sum(part.amount_l for part in parts))} L", weight="bold")
    panel.axhline(row + 0.44, *_edges(panel), color=FAINT, linewidth=0.8, clip_on=False)
    amounts_l = np.array([part.amount_l for part in parts])
    ends_l = np.cumsum(amounts_l)
    starts_l = begin_l - ends_l if begin_l else ends_l - amounts_l
    for number, (part, start_l) in enumerate(zip(parts, starts_l, strict=True), row + 1):
        face, edge, hatch = DRAWN[part.kind]
        width_l = max(part.amount_l, LEAST_WIDTH * top_l)
        panel.barh(
            number, width_l, BAR, start_l, facecolor=face, edgecolor=edge, hatch=hatch, linewidth=1.0, label=part.name
        )
        _say(panel, "left", number, _name(part.name), size=SMALL_PT)
        _say(panel, "right", number, f"{litres(part.amount_l)} L")
        if number < row + len(parts):
            turn_l = start_l if begin_l else start_l + part.amount_l
            panel.plot([turn_l, turn_l], [number, number + 1], color=FAINT, linewidth=0.8, zorder=0)
    return row + len(parts) + 1


def _say(panel: "Axes", side: str, row: int, words: str, *, weight: str = "normal", size: float = TEXT_PT) -> None:
    """Words at the left or the right edge, as far from the bars as the constants say."""
    x, away_in = (0.0, -LEFT_IN) if side == "left" else (1.0, RIGHT_IN)
    panel.annotate(
        words,
        (x, row),
        (PT_PER_IN * away_in, 0.0),
        panel.get_yaxis_transform(),
        "offset points",
        ha=side,
        va="center",
        weight=weight,
        size=size,
        color=INK,
        linespacing=0.95,
    )


def _name(name: str) -> str:
    """A name in two lines at most."""
    lines = textwrap.wrap(name, NAME_LETTERS)
    if len(lines) > NAME_LINES:
        lines = [*lines[: NAME_LINES - 1], f"{lines[NAME_LINES - 1][: NAME_LETTERS - 1]}…"]
    return "\n".join(lines)
