"""The picture of what could be changed: the mains water and the time that each measure saves."""

from collections.abc import Callable, Sequence

from waterbudget.answers.english import litres
from waterbudget.answers.improve import in_order, per, words_of
from waterbudget.change.search import LEAST_L, LEAST_MINUTES, Improvement, Tried
from waterbudget.render.figures.bars import ROW_IN, Bar, draw_bars
from waterbudget.render.figures.panels import (
    TEXT_PT,
    TITLE_PT,
    Given,
    Panels,
    draw_head,
    draw_legend,
    panels,
)

MOST = 6  # measures in a panel
HEAD_IN, FOOT_IN = 0.75, 0.45
BEYOND = 1.12  # of the longest bar, for the number behind it
LABELS = "free", "costs money"
NONE = "Nothing that was tried saves any."


def improve(found: Improvement, ax: Given = None) -> Panels:
    """A bar for each of the measures that save most mains water, over one for each of those that save most time.

    Those that leave plants noticeably thirstier are left out; hatched ones cost money. ax: axes to draw in, one for the
    water and one for the time; without it a new figure is made. Returns these axes. Raises InputError where they are
    too few or too many.
    """
    sound = [one for one in found.singles if not one.is_thirstier]
    water = [one for one in in_order(sound) if one.saved_l / found.years >= LEAST_L][:MOST]
    quick = sorted(sound, key=lambda one: one.saved_week_minutes, reverse=True)
    quick = [one for one in quick if one.saved_week_minutes >= LEAST_MINUTES][:MOST]
    bars = (
        _bars(water, found, lambda one: one.saved_l / found.years, litres),
        _bars(quick, found, lambda one: one.saved_week_minutes, "{:,.0f}".format),
    )
    heights_in = [HEAD_IN + FOOT_IN + ROW_IN * max(1, len(some)) for some in bars]
    with panels(heights_in, ax, "for the water and the time") as axes:
        draw_head(axes[0], f"Mains water saved, L {per(found)}", TITLE_PT, [""] if water else [])
        draw_head(axes[1], "Your time saved, minutes a week", TEXT_PT, [""] if quick else [])
        for panel, some in zip(axes, bars, strict=True):
            draw_bars(panel, some, BEYOND * max((bar.length for bar in some), default=1.0), NONE, LABELS)
            if some:
                draw_legend(panel)
    return axes


def _bars(
    tried: Sequence[Tried], found: Improvement, saved: Callable[[Tried], float], write: Callable[[float], str]
) -> list[Bar]:
    return [Bar(words_of(one, found), saved(one), write(saved(one)), hatched=not one.is_free) for one in tried]
