"""What is settled of a day before any store or root zone has a say, as the day takes it. xp: numpy or jax.numpy."""

from collections.abc import Iterator
from itertools import repeat
from typing import Any, NamedTuple

import numpy as np

from waterbudget.schedule.course import Course, Ground, Logged, due_l
from waterbudget.schedule.garden import Garden
from waterbudget.units import Array, BoolArray, Namespace


class Today(NamedTuple):
    """A day, arrays (item, lane), or many, (day, item, lane); None where the garden has no use for it.

    due_l: what each outlet asks for if no bed has a say. opens_mm: the depletion at which a bed opens the valve of its
    zone, and refill_l: what it asks for by the millimetre that it lacks, (turn, outlet, lane), the first bed of each
    zone, the second, and so on. makes_up: what share of what the store of each outlet is short of the mains gives. The
    others are those of a course.
    """

    caught_l: Array
    moves: BoolArray
    valve_open: Array | None
    due_l: Array
    opens_mm: Array | None
    refill_l: Array | None
    makes_up: Array | None
    handed_over: Array
    rain_mm: Array
    taw_mm: Array
    raw_mm: Array
    demand_mm: Array
    kc: Array
    e0_mm: Array
    ground: Ground | None
    logged: Logged | None

    def by_day(self) -> Iterator["Today"]:
        """The days one after the other."""
        return map(Today._make, zip(*map(_by_day, self), strict=False))


def _by_day(part: Array | BoolArray | Ground | Logged | None) -> Iterator[Any]:
    if part is None:
        return repeat(None)
    return iter(part) if isinstance(part, np.ndarray) else map(type(part)._make, zip(*part, strict=True))


def today_of(xp: Namespace, garden: Garden, course: Course) -> Today:
    """What is settled of the days of a course, or of one of them."""
    structure, outlets = garden.structure, garden.outlets
    beds, opens_mm, refill_l, makes_up = structure.beds_in_turn, None, None, None
    if structure.opens_when_dry or structure.refills:
        grows = course.planted.take(beds, axis=-2) & structure.has_turn
        if structure.opens_when_dry:
            opens_mm = xp.where(grows, outlets.dry_at * course.raw_mm.take(beds, axis=-2), xp.inf)
        if structure.refills:
            refill_l = xp.where(grows, garden.beds.area_m2.take(beds, axis=0) / outlets.efficiency, 0.0)
    if course.makes_up is not None:
        makes_up = course.makes_up.take(structure.tank_of_outlet, axis=-2)
    return Today(
        caught_l=course.caught_l,
        moves=course.moves,
        valve_open=course.valve_open,
        due_l=due_l(xp, garden, course),
        opens_mm=opens_mm,
        refill_l=refill_l,
        makes_up=makes_up,
        handed_over=course.handed_over,
        rain_mm=course.rain_mm,
        taw_mm=course.taw_mm,
        raw_mm=course.raw_mm,
        demand_mm=course.demand_mm,
        kc=course.kc,
        e0_mm=course.e0_mm,
        ground=course.ground,
        logged=course.logged,
    )
