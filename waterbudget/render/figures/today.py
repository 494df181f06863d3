"""The picture of today: for how many days each store lasts, and when each bed goes thirsty without water."""

import textwrap

from waterbudget.answers.english import count, in_words, litres
from waterbudget.change.now import Now, Store
from waterbudget.render.figures.bars import ROW_IN, Bar, draw_bars
from waterbudget.render.figures.panels import (
    INK,
    TEXT_PT,
    TITLE_PT,
    Given,
    Panels,
    draw_head,
    draw_legend,
    panels,
)
from waterbudget.units import WEEK_DAYS

HEAD_IN, FOOT_IN = 0.85, 0.55
TITLE_LETTERS = 38  # a line
DAYS = 21  # shown; a bar of more goes on past the edge
LABELS = "if it stays dry", "with the usual rain"


def today(found: Now, ax: Given = None) -> Panels:
    """A bar for each store, as long as it lasts if it stays dry, over one for each planted bed until it is thirsty.

    Where rain is usual a thin bar goes as far as that carries a store; the beds get no water at all. Bars of more than
    three weeks go on past the edge. ax: axes to draw in, one for the stores and, where something is planted, one for
    the beds; without it a new figure is made. Returns these axes. Raises InputError where they are too few or too many.
    """
    stores = [_store(one, found) for one in found.stores]
    beds = [
        Bar(f"{one.name}: {_days(one.unwatered_in_days, found, 'thirsty now')}", _length(one.unwatered_in_days, found))
        for one in sorted(found.beds, key=lambda one: _length(one.unwatered_in_days, found))
        if one.planted
    ]
    bars = [stores, *([beds] if beds else [])]
    with panels([HEAD_IN + FOOT_IN + ROW_IN * len(some) for some in bars], ax, "for the stores and the beds") as axes:
        when = f"{found.known.today:%A} {in_words(found.known.today, year=True)}"
        draw_head(axes[0], textwrap.fill(title(found), TITLE_LETTERS), TITLE_PT, [when, ""])
        for panel, some in zip(axes, bars, strict=True):
            draw_bars(panel, some, DAYS, "", LABELS)
            panel.set_xticks(range(0, DAYS + 1, int(WEEK_DAYS)))
            panel.set_xlabel("Days from today", color=INK)
        draw_legend(axes[0])
        if beds:
            draw_head(axes[1], "Without a drop of water beds go thirsty in", TEXT_PT, [])
    return axes


def title(found: Now) -> str:
    """How long the stores last, in a few words."""
    if found.lasts is None:
        return f"The stores last over {found.looked} dry days"
    return f"The stores last {count(found.lasts, 'dry day')}" if found.lasts else "A store runs short today"


def _store(one: Store, found: Now) -> Bar:
    lasts = f"{one.name}, {litres(one.level_l)} L: {_days(one.lasts, found, 'short today')}"
    if found.ahead.usual is None:
        return Bar(lasts, _length(one.lasts, found))
    rain = f"{lasts}, with rain {_days(one.usual, found, 'too')}"
    return Bar(rain, _length(one.lasts, found), thin=_length(one.usual, found))


def _length(days: int | None, found: Now) -> float:
    return float(found.looked if days is None else days)


def _days(days: int | None, found: Now, at_once: str) -> str:
    if days is None:
        return f"over {found.looked} days"
    return count(days, "day") if days else at_once
