"""The same text of a day, compiled: jax runs it for many lanes and days at once on the processor.

Nothing needs it. It is used where it is installed, where all lanes share their weather, and where numpy would take
some time; WATERBUDGET_ENGINE=numpy or jax decides otherwise. Results are those of numpy to 1e-9: the compiler may join
a multiplication and an addition into one rounding.
"""

import os
import warnings
from collections.abc import Mapping
from concurrent.futures import ThreadPoolExecutor
from functools import cache, partial
from importlib.util import find_spec
from typing import Any

import numpy as np
from platformdirs import user_cache_path

from waterbudget.errors import InputError
from waterbudget.schedule.course import Course
from waterbudget.schedule.garden import Garden, Names, Structure
from waterbudget.schedule.today import today_of
from waterbudget.simulate.books import Book
from waterbudget.simulate.keep import NEVER, Folded, Keep, fold, joined
from waterbudget.simulate.order import one_day
from waterbudget.simulate.pages import Pages
from waterbudget.simulate.state import State
from waterbudget.units import Array

ENGINE = "WATERBUDGET_ENGINE"
BLOCK_LANES, BLOCK_DAYS = 1000, 32  # what is compiled has so many lanes at most, and days in steps of these
LEAST_LANES = 128  # fewer are not worth a thread of their own
MOST_DAYS = 512  # of one course: more would take memory and gain nothing
WORTH_S = 2.0  # compiling a layout takes half a second, importing jax another
DAY_S, LANE_DAY_S = 1.2e-4, 2.5e-8  # of numpy, for a day, and for each item and lane of it
NAMELESS = Names((), (), (), (), ())


def is_worth_it(garden: Garden, lanes: int, days: int, *, shares_weather: bool) -> bool:
    """Whether to run days compiled. Raises InputError where WATERBUDGET_ENGINE asks for what is not there."""
    wanted = os.environ.get(ENGINE, "")
    if wanted not in {"", "numpy", "jax"}:
        raise InputError(f'{ENGINE} is "{wanted}"; write numpy or jax, or leave it out')
    if wanted == "jax" and find_spec("jax") is None:
        raise InputError(f"{ENGINE} is jax, which is not installed; install it with: pip install 'waterbudget[fast]'")
    if wanted:
        return wanted == "jax" and shares_weather
    structure = garden.structure
    items = len(structure.mains) + len(structure.outlet_tank) + len(structure.bed_zone)
    numpy_s = days * (DAY_S + LANE_DAY_S * items * lanes)
    return shares_weather and numpy_s > WORTH_S and find_spec("jax") is not None


def run_compiled(
    garden: Garden, course: Course, state: State, keep: Keep, first_day: int
) -> tuple[State, Folded, dict[str, Array]]:
    """All days of a course for every lane of a state: the evening, what is folded, and what is kept of each day.

    first_day: the number of the first. Lanes run in blocks of one width, the last filled up with its last lane, in as
    many threads as there are cores.
    """
    jax, run = _started()
    lanes, days = state.level_l.shape[-1], len(course.taw_mm)
    threads = len(os.sched_getaffinity(0)) if hasattr(os, "sched_getaffinity") else os.cpu_count() or 1
    of_each = max(-(-lanes // threads), LEAST_LANES)
    width = min(BLOCK_LANES, 1 << (of_each - 1).bit_length())
    course = _filled_up(course, -days % BLOCK_DAYS)
    sizes = {kind: vars(part) for kind, part in garden.parts.items()}

    def block(first: int) -> Any:  # noqa: ANN401 - a tree of arrays
        held = min(width, lanes - first)

        def cut(rows: Array) -> Array:
            some = rows[..., first : first + held]
            return np.concatenate([some, np.repeat(some[..., -1:], width - held, axis=-1)], axis=-1)

        def wide(rows: Array) -> Array:
            return cut(np.broadcast_to(rows, (*rows.shape[:-1], lanes)))

        def own(rows: Array) -> Array:
            return rows if rows.shape[-1] == 1 else cut(rows)

        own_sizes, own_course, own_state = (
            jax.tree.map(change, tree) for change, tree in ((wide, sizes), (own, course), (cut, state))
        )
        found = run(garden.structure, keep, own_sizes, own_course, own_state, first_day, days)
        return jax.tree.map(lambda rows: np.asarray(rows)[..., :held], found)

    with ThreadPoolExecutor(threads) as pool:
        blocks = list(pool.map(block, range(0, lanes, width)))
    state, folded, each = jax.tree.map(lambda *parts: np.concatenate(parts, axis=-1), *blocks)
    return state, folded, {name: rows[:days] for name, rows in each.items()}


def _filled_up(course: Course, more: int) -> Course:
    """The course with its last day again, so many times; nobody looks at them."""

    def longer(rows: Array) -> Array:
        return np.concatenate([rows, np.repeat(rows[-1:], more, axis=0)])

    def filled(part: Any) -> Any:  # noqa: ANN401 - an array or a tuple of arrays
        if part is None:
            return None
        return longer(part) if isinstance(part, np.ndarray) else type(part)._make(map(longer, part))

    return Course._make(map(filled, course))


@cache  # an array type may be set up only once in a process
def _started() -> tuple[Any, Any]:
    """Jax on the processor, in 64 bits, with a cache of our own for what it compiles; and the compiled loop."""
    os.environ.setdefault("JAX_PLATFORMS", "cpu")
    import jax

    configure: Any = jax.config.update
    configure("jax_enable_x64", True)  # noqa: FBT003 - as jax takes it
    configure("jax_compilation_cache_dir", str(user_cache_path("waterbudget") / "compiled"))
    configure("jax_persistent_cache_min_compile_time_secs", 0)
    configure("jax_persistent_cache_min_entry_size_bytes", -1)
    warnings.filterwarnings("ignore", message=".*persistent compilation cache.*")
    return jax, jax.jit(partial(_days, jax), static_argnums=(0, 1))


def _days(
    jax: Any,  # noqa: ANN401 - a module
    structure: Structure,
    keep: Keep,
    sizes: Mapping[str, Mapping[str, Array]],
    course: Course,
    state: State,
    first_day: Any,  # noqa: ANN401 - a number, as data
    days: Any,  # noqa: ANN401 - the same: one compiled loop for every length
) -> Any:  # noqa: ANN401 - a tree of arrays
    """One loop over the days; those behind the last are run and left aside, so that their number is data."""
    xp, lax = jax.numpy, jax.lax
    lanes = state.level_l.shape[-1]

    def wide(values: Array) -> Array:
        rows: Array = xp.broadcast_to(values, (*values.shape[:-1], lanes)).astype(float)
        return rows

    def pages_of(today: Course, book: Book) -> Pages:
        return Pages(xp, _garden(structure, sizes), jax.tree.map(lambda rows: rows[None], today), [book])

    def booked(day: Any, today: Course, state: State) -> tuple[State, Folded, Book]:  # noqa: ANN401 - a number
        garden = _garden(structure, sizes)
        evening, book = one_day(xp, garden, today_of(xp, garden, today), state)
        folded = fold(xp, keep, pages_of(today, book), xp.asarray(first_day + day, dtype=float))
        return evening, jax.tree.map(wide, folded), book

    def step(carry: Any, now: Any) -> Any:  # noqa: ANN401 - trees of arrays
        (day, today), (state, folded) = now, carry
        evening, found, book = booked(day, today, state)
        after = evening, joined(xp, folded, found)
        return jax.tree.map(lambda new, old: xp.where(day < days, new, old), after, carry), book if keep.each else None

    def rows_of(today: Course, book: Book) -> dict[str, Array]:
        pages = pages_of(today, book)
        return {name: wide(pages.quantity(name)[0]) for name in keep.each}

    first = jax.tree.map(lambda rows: rows[0], course)
    _, (sums, firsts, lows), _ = jax.eval_shape(booked, 0, first, state)
    nothing: Folded = (
        {name: xp.zeros(part.shape) for name, part in sums.items()},
        {name: xp.full(part.shape, NEVER) for name, part in firsts.items()},
        {name: xp.full(part.shape, NEVER) for name, part in lows.items()},
    )
    (evening, folded), books = lax.scan(step, (state, nothing), (xp.arange(len(course.taw_mm)), course))
    return evening, folded, jax.vmap(rows_of)(course, books) if keep.each else {}


def _garden(structure: Structure, sizes: Mapping[str, Mapping[str, Array]]) -> Garden:
    from waterbudget.schedule import garden as kinds

    parts = {kind: getattr(kinds, kind.capitalize())(**arrays) for kind, arrays in sizes.items()}
    return Garden(structure=structure, names=NAMELESS, **parts)
