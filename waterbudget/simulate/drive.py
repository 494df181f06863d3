"""The only way to run days: a garden from an evening through its season and sky."""

from collections.abc import Iterator

import numpy as np

from waterbudget.schedule.actions import Actions
from waterbudget.schedule.course import course_of
from waterbudget.schedule.garden import Garden
from waterbudget.schedule.season import Season
from waterbudget.schedule.sky import Sky
from waterbudget.simulate.keep import NOTHING, Folded, Keep, Kept, fold
from waterbudget.simulate.order import one_day
from waterbudget.simulate.pages import Pages
from waterbudget.simulate.state import State, lanes_of, start_of
from waterbudget.units import NUMPY, Array

MOST_DAYS_AT_ONCE = 64  # more would not be faster
LANE_DAYS_AT_ONCE = 8000  # lanes times days: more would not stay in the processor's cache


def drive(
    garden: Garden,
    season: Season,
    sky: Sky,
    state: State | None = None,
    actions: Actions | None = None,
    keep: Keep = NOTHING,
) -> tuple[State, Kept]:
    """Run all days of a sky; the evening they end with, and what was to be kept of them.

    season, sky: of the same days. state: the evening before, None for the start of the site file; one lane of it stands
    for all. actions: what was done in place of the plan, None for nothing.
    """
    state = start_of(garden, season, sky) if state is None else state
    lanes = max(lanes_of(garden, season, sky), state.level_l.shape[-1])
    if state.level_l.shape[-1] < lanes:
        state = state.wide(lanes)
    if (actions is not None and actions.adds_mains) or holds_added_mains(garden, state):
        garden = garden.restructured(poured=True)
    folded: Folded | None = None
    each: dict[str, list[Array]] = {name: [] for name in keep.each}
    for some in pieces(len(sky.rain_mm), lanes):
        course, books = course_of(garden, season, sky, actions, some), []
        for day in range(some.stop - some.start):
            state, book = one_day(NUMPY, garden, course.on(day), state)
            books.append(book)
        pages = Pages(NUMPY, garden, course, books)
        folded = fold(NUMPY, keep, folded, pages, some.start)
        for name, found in each.items():
            found.append(pages.quantity(name))
    return state, kept_of(len(sky.rain_mm), folded, each, lanes)


def holds_added_mains(garden: Garden, state: State) -> bool:
    """Whether mains water that people let in on earlier days is in a store that has none otherwise."""
    without = [not holds_mains for holds_mains in garden.structure.holds_mains]
    return bool(np.any(state.mains_l[without] > 0.0))


def pieces(days: int, lanes: int) -> Iterator[slice]:
    """A run in pieces of as many days as are worked out at once."""
    at_once = max(1, min(MOST_DAYS_AT_ONCE, LANE_DAYS_AT_ONCE // lanes))
    yield from (slice(first, min(first + at_once, days)) for first in range(0, days, at_once))


def kept_of(days: int, folded: Folded | None, each: dict[str, list[Array]], lanes: int) -> Kept:
    """What was kept, with a number for each lane."""

    def wide(values: Array) -> Array:
        return np.broadcast_to(values, (*values.shape[:-1], lanes))

    sums, firsts, lows = folded or ({}, {}, {})
    sums, firsts, lows = ({name: wide(values) for name, values in part.items()} for part in (sums, firsts, lows))
    return Kept(
        days,
        sums,
        firsts,
        lows,
        {name: np.concatenate([wide(some) for some in found]) for name, found in each.items()},
    )
