"""The only way to run days: a garden from an evening through its season and sky."""

from collections.abc import Iterator
from functools import cache

import numpy as np

from waterbudget.schedule.actions import Actions
from waterbudget.schedule.course import Course, course_of
from waterbudget.schedule.garden import Garden
from waterbudget.schedule.season import Season
from waterbudget.schedule.sky import Sky
from waterbudget.schedule.today import today_of
from waterbudget.simulate.compiled import MOST_DAYS, is_worth_it, run_compiled
from waterbudget.simulate.keep import NOTHING, Folded, Keep, Kept, fold, joined
from waterbudget.simulate.order import one_day
from waterbudget.simulate.pages import Pages
from waterbudget.simulate.state import State, lanes_of, start_of
from waterbudget.units import NUMPY, Array

MOST_DAYS_AT_ONCE = 256  # more is hardly faster
LANE_DAYS_AT_ONCE = 32_000  # lanes times days: more is hardly faster and holds more memory
LARGE_BYTES = 31 << 20  # of 32 MB that glibc learns from at most


def drive(
    garden: Garden,
    season: Season,
    sky: Sky,
    state: State | None = None,
    actions: Actions | None = None,
    keep: Keep = NOTHING,
    runs: int = 1,
) -> tuple[State, Kept]:
    """Run all days of a sky; the evening they end with, and what was to be kept of them.

    season, sky: of the same days. state: the evening before, None for the start of the site file; one lane of it stands
    for all. actions: what was done in place of the plan, None for nothing. runs: how many of this kind there are to
    come, which may make it worth while to compile them.
    """
    _keep_freed_memory()
    state = start_of(garden, season, sky) if state is None else state
    lanes = max(lanes_of(garden, season, sky), state.level_l.shape[-1])
    if state.level_l.shape[-1] < lanes:
        state = state.wide(lanes)
    if (actions is not None and actions.adds_mains) or holds_added_mains(garden, state):
        garden = garden.restructured(poured=True)
    days = len(sky.rain_mm)
    compiles = is_worth_it(garden, lanes, days * runs, shares_weather=sky.lanes == season.lanes == 1)
    run, at_once = (run_compiled, MOST_DAYS) if compiles else (run_day_by_day, days_at_once(lanes))
    folded: Folded | None = None
    each: dict[str, list[Array]] = {name: [] for name in keep.each}
    for some in pieces(days, at_once):
        course = course_of(garden, season, sky, actions, some)
        state, now, rows = run(garden, course, state, keep, some.start)
        folded = now if folded is None else joined(NUMPY, folded, now)
        for name, found in each.items():
            found.append(rows[name])
    return state, kept_of(days, folded or ({}, {}, {}), each, lanes)


@cache
def _keep_freed_memory() -> None:
    """Have the arrays of one piece of days lie where those of the piece before lay.

    glibc gives what is freed back to the system, which fetches it anew, until it has seen a larger block freed than
    these are; no byte of this one is ever touched. Other C libraries do not mind.
    """
    np.empty(LARGE_BYTES, dtype=np.uint8)


def run_day_by_day(
    garden: Garden, course: Course, state: State, keep: Keep, first_day: int
) -> tuple[State, Folded, dict[str, Array]]:
    """All days of a course under numpy: the evening, what is folded, and what is kept of each day.

    first_day: the number of the first.
    """
    books = []
    for today in today_of(NUMPY, garden, course).by_day():
        state, book = one_day(NUMPY, garden, today, state)
        books.append(book)
    pages = Pages(NUMPY, garden, course, books)
    return state, fold(NUMPY, keep, pages, first_day), {name: pages.quantity(name) for name in keep.each}


def holds_added_mains(garden: Garden, state: State) -> bool:
    """Whether mains water that people let in on earlier days is in a store that has none otherwise."""
    without = [not holds_mains for holds_mains in garden.structure.holds_mains]
    return bool(np.any(state.mains_l[without] > 0.0))


def days_at_once(lanes: int) -> int:
    """How many days are worked out at once of what neither stores nor root zones have a say in."""
    return max(1, min(MOST_DAYS_AT_ONCE, LANE_DAYS_AT_ONCE // lanes))


def pieces(days: int, at_once: int) -> Iterator[slice]:
    """A run in pieces of so many days."""
    yield from (slice(first, min(first + at_once, days)) for first in range(0, days, at_once))


def kept_of(days: int, folded: Folded, each: dict[str, list[Array]], lanes: int) -> Kept:
    """What was kept, with a number for each lane."""

    def wide(values: Array) -> Array:
        return np.broadcast_to(values, (*values.shape[:-1], lanes))

    sums, firsts, lows = ({name: wide(values) for name, values in part.items()} for part in folded)
    return Kept(
        days, sums, firsts, lows, {name: np.concatenate(list(map(wide, found))) for name, found in each.items()}
    )
