"""The picture of a run's levels."""

import textwrap
from collections.abc import Mapping
from functools import partial
from typing import TYPE_CHECKING, Any, TypeAlias

import numpy as np

from waterbudget.answers.english import count, in_words, litres
from waterbudget.errors import InputError
from waterbudget.render.figures.panels import (
    DIGIT,
    HEADROOM,
    INK,
    LETTER,
    MARKED,
    NAME_LETTERS,
    PALE_WATER,
    PT_PER_IN,
    SMALL_PT,
    TEXT_PT,
    TITLE_PT,
    USE,
    WATER,
    WIDTH_IN,
    Given,
    Panels,
    Room,
    dates_in,
    draw_dates,
    draw_days,
    draw_dead,
    draw_hatch,
    draw_head,
    draw_level_ticks,
    draw_limit,
    draw_rain,
    head_in,
    level_ticks,
    midnights_of,
    panels,
)
from waterbudget.simulate.books import SHORT_L
from waterbudget.simulate.result import Result
from waterbudget.units import Array, BoolArray
from waterbudget.variables import REGISTER

if TYPE_CHECKING:
    from matplotlib.axes import Axes

RAIN_IN, FULL_IN, GAP_IN, FOOT_IN = 0.5, 0.9, 0.15, 0.3  # the rain; a full store; above a store's head; the dates
USUAL_ROWS = 3  # under a store
TICK_PT, LABEL_PT, EDGE_PT = 7.0, 19.0, 5.0  # between axes and numbers; the name of the axis; left free
SENTENCE, BOLD = 0.51, 1.12  # widths of a letter among many, in heights, and of a bold one in plain ones
ROW, ROW_STEP = 0.18, 0.26  # height of a row, and with the gap above it, in capacities
Book: TypeAlias = Mapping[str, Array]  # what was booked of a tank every day
BARRED = {"inflow_l": WATER, "drawn_l": USE}


def level(result: Result, ax: Given = None, *, width_in: float = WIDTH_IN) -> Panels:
    """The level of every store over the period, with rain, catch, draws and the days short or with mains water.

    ax: axes to draw in, one for the rain and one for each store; without it a new figure so wide is made. Returns these
    axes.
    A store's rows (water in, drawn and, where there are such days, short and mains) are child axes of its own.
    Raises InputError where the result has no daily tables, or the axes are too few or too many.
    """
    if not result.each:
        raise InputError("there are no daily tables to draw; run with daily=True")
    books = [_book(result, number) for number in range(len(result.names.tanks))]
    days = result.weather.days
    midnights = midnights_of(days)
    stores = list(zip(result.summary["tanks"], result.site.tank, books, strict=True))
    left_in, right_in = _left_in(result), _right_in(result)
    letters, beside = partial(_letters, width_in - left_in), partial(_letters, width_in - left_in - right_in)
    title = textwrap.fill(_verdict(result), letters(TITLE_PT * BOLD))
    facts = [line for fact in _facts(result) for line in textwrap.wrap(fact, letters(TEXT_PT))]
    told = [textwrap.wrap(_told(book), beside(TEXT_PT)) for book in books]
    heads_in = [head_in(title.count("\n") + 1, TITLE_PT, len(facts))]
    heads_in += [
        GAP_IN + head_in(_name(tank["name"]).count("\n") + 1, TEXT_PT, len(lines))
        for (tank, _, _), lines in zip(stores, told, strict=True)
    ]
    foot_in = dates_in(days, FOOT_IN)
    heights_in = [RAIN_IN, *(FULL_IN * (HEADROOM + ROW_STEP * len(_rows(book))) for book in books)]
    room = Room(heads_in, left_in, right_in, foot_in)
    with panels(heights_in, ax, "for the rain and each store", width_in=width_in, room=room) as axes:
        draw_rain(axes[0], midnights, result.weather.readings["rain_mm"])
        draw_head(axes[0], title, TITLE_PT, facts)
        for panel, (tank, site_tank, book), lines in zip(axes[1:], stores, told, strict=True):
            _draw_store(panel, midnights, tank, site_tank.all_dead_l, book)
            draw_head(panel, _name(tank["name"]), TEXT_PT, lines)
        for panel in axes:
            draw_dates(panel, days, labelled=panel is axes[-1])
    return axes


def _book(result: Result, tank: int) -> Book:
    return {name: result.each[f"tanks.{name}"][:, tank] for name in ("level_l", *BARRED, *MARKED)}


def _letters(wide_in: float, size_pt: float) -> int:
    """How many letters of a size stand side by side in so many inches."""
    return int(wide_in * PT_PER_IN / (SENTENCE * size_pt))


def usual_height_in(stores: int) -> float:
    """How high the picture of so many stores is as a rule, for who keeps a place for it before it is drawn [in]."""
    store_in = GAP_IN + head_in(1, TEXT_PT, 1) + FULL_IN * (HEADROOM + ROW_STEP * USUAL_ROWS)
    return head_in(1, TITLE_PT, len(MARKED)) + RAIN_IN + stores * store_in + FOOT_IN


def _left_in(result: Result) -> float:
    """What the words left of the panels take: the names of the rows, or the numbers of the axis and its name."""
    named_pt = LETTER * TEXT_PT * max(len(REGISTER[name].label) for name in (*BARRED, *MARKED))
    numbers = [tick for tank in result.summary["tanks"] for _, tick in level_ticks(tank["capacity_l"])]
    counted_pt = DIGIT * SMALL_PT * max(map(len, numbers)) + LABEL_PT
    return (max(named_pt, counted_pt) + TICK_PT + EDGE_PT) / PT_PER_IN


def _right_in(result: Result) -> float:
    """What the words right of the panels take, litres all of them."""
    most_l = [
        *(tank["capacity_l"] for tank in result.summary["tanks"]),
        *(result.each[f"tanks.{name}"].max() for name in BARRED),
    ]
    widest = max(len(_up_to(amount_l)) for amount_l in most_l)
    return (LETTER * SMALL_PT * widest + TICK_PT + EDGE_PT) / PT_PER_IN


def _up_to(most_l: float) -> str:
    return f"to {litres(most_l)} L"


def _name(name: str) -> str:
    return textwrap.fill(name, NAME_LETTERS)


def _draw_store(panel: "Axes", midnights: Array, tank: dict[str, Any], dead_l: float, book: Book) -> None:
    capacity_l = tank["capacity_l"]
    level_l = np.append(tank["start_l"], book["level_l"])  # every evening, after the level at the start
    short, mains = _marked(book, "short_l"), _marked(book, "mains_l")
    panel.fill_between(midnights, level_l, color=PALE_WATER, linewidth=0)
    draw_hatch(panel, midnights, short & ~mains, capacity_l, "short_l", REGISTER["short_l"].heading)
    draw_hatch(panel, midnights, mains, capacity_l, "mains_l", REGISTER["mains_l"].heading)
    panel.plot(midnights, level_l, color=WATER, linewidth=1.6, label=REGISTER["level_l"].heading)
    panel.axhline(0.0, color=INK, linewidth=0.8)
    draw_limit(panel, "capacity_l", capacity_l, (6, 3), "bottom")
    if dead_l > 0.0:
        draw_dead(panel, dead_l, "bottom" if dead_l < capacity_l / 2 else "top")

    rows = _rows(book)
    below = ROW_STEP * len(rows)  # the foot of the panel is theirs
    height = HEADROOM + below
    panel.set_ylim(-below * capacity_l, HEADROOM * capacity_l)
    panel.set_ylabel(REGISTER["level_l"].heading, y=(below + 0.5) / height, color=INK)
    draw_level_ticks(panel, capacity_l)
    for number, name in enumerate(rows, 1):
        row = panel.inset_axes((0.0, (below - ROW_STEP * number) / height, 1.0, ROW / height))
        _draw_row(row, midnights, name, book)


def _draw_row(row: "Axes", midnights: Array, name: str, book: Book) -> None:
    quantity = REGISTER[name]
    if name in BARRED:
        most_l = float(book[name].max())
        draw_days(row, midnights, book[name], BARRED[name], quantity.heading)
        top_l = most_l or 1.0
        row.set_ylim(0.0, top_l)
        row.set_yticks([top_l], [_up_to(most_l) if most_l else "none"], va="top")
        row.yaxis.tick_right()
    else:
        colour, _, mark = MARKED[name]
        middays = midnights[:-1][_marked(book, name)] + 0.5
        row.plot(middays, np.zeros_like(middays), mark, ms=5, mfc="none", color=colour, label=quantity.heading)
        row.set_yticks([])
        row.spines["bottom"].set_visible(False)
    row.set_xlim(midnights[0], midnights[-1])
    row.set_xticks([])
    row.patch.set_visible(False)
    row.tick_params(axis="y", labelsize=SMALL_PT, length=0, labelcolor=INK)
    row.spines[["left", "top", "right"]].set_visible(False)
    row.set_ylabel(quantity.label, rotation=0, ha="right", va="center", color=INK)


def _rows(book: Book) -> list[str]:
    return [*BARRED, *(name for name in MARKED if _marked(book, name).any())]


def _marked(book: Book, name: str) -> BoolArray:
    is_marked: BoolArray = book[name] > SHORT_L
    return is_marked


def _verdict(result: Result) -> str:
    summary = result.summary
    first, last = (summary[end][:4] for end in ("start", "end"))
    year = first if first == last else f"{first}\N{EN DASH}{last}"
    if summary["asked_l"] == 0.0:
        return f"{year}: no water was asked for"
    if summary["days_lasted"] == summary["days"]:
        return f"{year}: enough for {count(summary['days'], 'day')}"
    if summary["days_lasted"] == 0:
        return f"{year}: short from the first day"
    return f"{year}: the stored rain lasts {count(summary['days_lasted'], 'day')}"


def _facts(result: Result) -> list[str]:
    """How much and how often the stores were short, and what the mains gave; no line where there is nothing to tell."""
    summary = result.summary
    more_years = summary["start"][:4] != summary["end"][:4]
    facts = []
    for name, words in (("short_l", "Short of"), ("mains_l", "Mains gave")):
        amount_l = result.each[f"tanks.{name}"]
        days = result.weather.days[(amount_l > SHORT_L).any(axis=1)]
        if len(days):
            of_all = f"{len(days):,} of {count(summary['days'], 'day')}"
            first = in_words(days[0].item(), year=more_years)
            facts.append(f"{words} {litres(float(amount_l.sum()))} L on {of_all}, first on {first}")
    return facts


def _told(book: Book) -> str:
    short, mains = (int(_marked(book, name).sum()) for name in MARKED)
    told = f"Short of {litres(float(book['short_l'].sum()))} L on {count(short, 'day')}" if short else "Never short"
    return f"{told}, mains {litres(float(book['mains_l'].sum()))} L" if mains else told
