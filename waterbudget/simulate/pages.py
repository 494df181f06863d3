"""Every quantity of a run, reckoned once: from what was booked of some days, and only where it is asked for.

Arrays (day, item, lane), those of the whole garden (day, lane); an axis of length one stands for all lanes. A name such
as "tanks.mains_l" is one of the register's. xp: numpy or jax.numpy.
"""

from collections.abc import Callable, Sequence
from functools import cached_property, reduce
from operator import add, attrgetter
from typing import Any
from weakref import proxy

import numpy as np

from waterbudget.schedule.course import Course, due_l
from waterbudget.schedule.garden import Garden, Outlets
from waterbudget.simulate.books import Book
from waterbudget.units import NUMPY, Array, BoolArray, Namespace

SHORT_L = 1e-6  # a demand, shortage, move or top-up up to this is rounding
THIRSTY_KS = 1.0 - 1e-9  # a planted bed below it is thirsty


class Pages:
    """Some days of a run: what was booked of each, beside their course."""

    def __init__(self, xp: Namespace, garden: Garden, course: Course, books: Sequence[Book]) -> None:
        """course: of the same days, (day, item, lane)."""
        self.xp, self.garden, self.structure = xp, garden, garden.structure
        self.course, self.books = course, books
        self.roofs, self.feeds, self.tanks = RoofPages(self), FeedPages(self), TankPages(self)
        self.outlets, self.transfers = OutletPages(self), TransferPages(self)
        self.beds, self.whole = BedPages(self), WholePages(self)

    def quantity(self, name: str) -> Array:
        """One quantity by its name."""
        found: Array = attrgetter(name)(self)
        return found

    def flag(self, name: str) -> BoolArray:
        """Something that is or is not, by its name."""
        found: BoolArray = attrgetter(name)(self)
        return found

    def stacked(self, of_day: Callable[[Book], Any]) -> Array:
        """What some rows or arrays of each day are, (day, item, lane)."""
        days = [of_day(book) for book in self.books]
        if not len(days[0]):
            return self.xp.zeros((len(days), 0, 1))
        if self.xp is not NUMPY:
            lanes = self.books[0].tanks.level_l.shape[-1]
            return self.xp.stack(
                [self.xp.stack([self.xp.broadcast_to(row, (lanes,)) for row in rows]) for rows in days]
            )
        if isinstance(days[0], np.ndarray):
            return np.concatenate(days).reshape(len(days), *days[0].shape)
        lanes = max(np.size(row) for row in days[0])
        found = np.empty((len(days), len(days[0]), lanes))
        for day, rows in zip(found, days, strict=True):
            for row, booked in zip(day, rows, strict=True):
                row[...] = booked
        return found


class Part:
    """One kind of item on the pages."""

    def __init__(self, pages: Pages) -> None:
        """pages: those that it is a part of."""
        self.pages: Pages = proxy(pages)  # a cycle would keep the arrays of many days until the collector comes

    def _kinds(self, *kinds: str) -> Array:
        """1 for tanks with mains of these kinds, (tank, 1)."""
        return np.array([[float(kind in kinds)] for kind in self.pages.structure.mains])


class RoofPages(Part):
    """Litres of the rain on the roofs; what falls on one is caught, flushed, lost at the filter or kept."""

    def __init__(self, pages: Pages) -> None:
        super().__init__(pages)
        self.on_roof_l, self.caught_l, self.flushed_l, self.filter_l, self.kept_l = pages.course.roofs


class FeedPages(Part):
    """Litres of springs and other feeds."""

    @property
    def fed_l(self) -> Array:
        """What came of each."""
        return self.pages.course.fed_l


class TankPages(Part):
    """Litres of the tanks."""

    def _booked(self, name: str) -> Array:
        return self.pages.stacked(lambda book: [getattr(day, name) for day in book.tanks.each])

    @cached_property
    def let_in_l(self) -> Array:
        """Through the float valve in the morning."""
        return self._booked("let_in_l")

    @cached_property
    def inflow_l(self) -> Array:
        """From roofs, feeds, other tanks' spill, and what people let in."""
        return self._booked("inflow_l")

    @cached_property
    def asked_l(self) -> Array:
        """By zones and draws."""
        return self._booked("asked_l")

    @cached_property
    def wet_l(self) -> Array:
        """Drawn from what the store held."""
        return self._booked("wet_l")

    @cached_property
    def mains_share(self) -> Array:
        """Of mains water in the day's mixture."""
        return self._booked("mains_share")

    @cached_property
    def spilled_l(self) -> Array:
        """Over the top."""
        return self._booked("spilled_l")

    @cached_property
    def lost_l(self) -> Array:
        """Leaked or evaporated."""
        return self._booked("lost_l")

    @cached_property
    def level_l(self) -> Array:
        """In the evening."""
        return self.pages.stacked(lambda book: book.tanks.level_l)

    @cached_property
    def made_up_l(self) -> Array:
        """What the mains gave in place of what the store lacked."""
        makes_up = self.pages.course.makes_up
        lacking_l = self.asked_l - self.wet_l
        return lacking_l * (0.0 if makes_up is None else makes_up)

    @cached_property
    def late_l(self) -> Array:
        """What ran in through the float valve while it was drawn."""
        return self.made_up_l * self._kinds("float")

    @cached_property
    def drawn_l(self) -> Array:
        """What the store gave, its valve's water included."""
        return self.wet_l + self.late_l

    @cached_property
    def drawn_mains_l(self) -> Array:
        """Mains water in what the store gave."""
        return self.mains_share * self.wet_l + self.late_l

    @cached_property
    def mains_l(self) -> Array:
        """What valve or hose gave."""
        return self.let_in_l + self.made_up_l

    @cached_property
    def short_l(self) -> Array:
        """What was asked for and not drawn."""
        return self.asked_l - self.drawn_l

    @cached_property
    def moved_in_l(self) -> Array:
        """By transfers."""
        return self._moved(1)

    @cached_property
    def moved_out_l(self) -> Array:
        """By transfers."""
        return self._moved(0)

    def _moved(self, end: int) -> Array:
        moves = self.pages.structure.moves
        tanks = range(len(self.pages.structure.mains))
        there = np.array([[float(move[end] == tank) for move in moves] for tank in tanks]).reshape(len(tanks), -1)
        moved_l = self.pages.transfers.moved_l
        none_l = self.pages.xp.zeros((len(moved_l), len(tanks), 1))
        return reduce(add, (moved_l[:, [n]] * there[:, n][None, :, None] for n in range(len(moves))), none_l)

    @cached_property
    def is_short(self) -> BoolArray:
        """Whether a store could not give all that was asked of it."""
        return self.short_l > SHORT_L

    @cached_property
    def is_asked(self) -> BoolArray:
        """Whether a store was asked for water."""
        return self.asked_l > SHORT_L

    @cached_property
    def is_met(self) -> BoolArray:
        """Whether a store was asked for water and gave all of it without mains water."""
        return self.is_asked & ~self.fails

    @cached_property
    def fails(self) -> BoolArray:
        """Whether its own water was not enough: it was short, or its float valve opened."""
        return self.is_short | (self.mains_l > SHORT_L)


class OutletPages(Part):
    """Litres and minutes of zones and other draws."""

    @cached_property
    def asked_l(self) -> Array:
        """What was asked for."""
        return self.pages.stacked(lambda book: book.outlets.asked_l)

    @cached_property
    def wet_l(self) -> Array:
        """What the store held of it."""
        return self.pages.stacked(lambda book: book.outlets.wet_l)

    @cached_property
    def made_up_l(self) -> Array:
        """What the mains gave in place of what the store lacked."""
        if self.pages.course.makes_up is None:
            return self.asked_l * 0.0
        return self.pages.stacked(lambda book: book.outlets.made_up_l)

    @cached_property
    def store_l(self) -> Array:
        """From the store, its float valve's water included."""
        return self.wet_l + self.made_up_l * self._of_tanks(self._kinds("float"))

    @cached_property
    def rain_l(self) -> Array:
        """Part of store_l that is not mains water."""
        if not any(self.pages.structure.holds_mains):
            return self.wet_l
        return self.wet_l * (1.0 - self._of_tanks(self.pages.tanks.mains_share))

    @cached_property
    def mains_l(self) -> Array:
        """By hose."""
        return self.made_up_l * self._of_tanks(self._kinds("direct"))

    @cached_property
    def given_l(self) -> Array:
        """From store and hose."""
        return self.wet_l + self.made_up_l

    @cached_property
    def unmet_l(self) -> Array:
        """Asked for and not given."""
        return self.asked_l - self.given_l

    @cached_property
    def flow_l_min(self) -> Array:
        """With the stores as they stood, infinite where nothing flows."""
        if not self.pages.structure.follows:
            flow_l_min = self.pages.garden.outlets.flow_l_min
            return self.pages.xp.broadcast_to(flow_l_min, (len(self.pages.books), *flow_l_min.shape))
        return self._flow("l_min")

    @cached_property
    def due_l(self) -> Array:
        """What the clock alone would ask for at that flow."""
        by_clock_l = due_l(self.pages.xp, self.pages.garden, self.pages.course)
        return by_clock_l * self._flow("factor") if self.pages.structure.follows else by_clock_l

    @cached_property
    def is_asked(self) -> BoolArray:
        """Whether an outlet asked for water."""
        return self.asked_l > SHORT_L

    @cached_property
    def minutes_run(self) -> Array:
        """That the valve was open."""
        return self.given_l / self.flow_l_min

    @cached_property
    def minutes_asked(self) -> Array:
        """That the valve would be open for all that was asked for."""
        return self.asked_l / self.flow_l_min

    @cached_property
    def work_minutes(self) -> Array:
        """Of a person, for all that is asked for: by valve, can, battery and feeling the soil."""
        return labour_minutes(self.pages.xp, self.pages.garden.outlets, self.asked_l, self.due_l, self.minutes_asked)

    def _flow(self, name: str) -> Array:
        return self.pages.stacked(lambda book: getattr(book.outlets.flow, name))

    def _of_tanks(self, of_tank: Array) -> Array:
        return of_tank[..., self.pages.structure.tank_of_outlet, :]


class TransferPages(Part):
    """Litres moved from store to store."""

    @cached_property
    def moved_l(self) -> Array:
        """By each transfer."""
        return self.pages.stacked(lambda book: book.moved_l)

    @cached_property
    def is_moved(self) -> BoolArray:
        """Whether a transfer moved something."""
        return self.moved_l > SHORT_L


class BedPages(Part):
    """Root zones [mm]."""

    def __init__(self, pages: Pages) -> None:
        super().__init__(pages)
        course = pages.course
        self.planted, self.kcb, self.rain_mm = course.planted, course.kc, course.rain_mm
        self.taw_mm, self.raw_mm = course.taw_mm, course.raw_mm

    def _booked(self, name: str) -> Array:
        return self.pages.stacked(lambda book: getattr(book.beds, name))

    @cached_property
    def ke(self) -> Array:
        """Evaporation coefficient; 0 with a single crop coefficient."""
        return self._booked("ke") if self.pages.structure.dual else self.kcb * 0.0

    @cached_property
    def kc(self) -> Array:
        """Crop coefficient, single or Kcb + Ke."""
        return self.kcb + self.ke

    @cached_property
    def etc_mm(self) -> Array:
        """Crop evapotranspiration without stress."""
        return self.kc * self.pages.course.e0_mm

    @cached_property
    def ks(self) -> Array:
        """Water stress coefficient."""
        return self._booked("ks")

    @cached_property
    def eta_mm(self) -> Array:
        """Evapotranspiration as it was."""
        return self._booked("eta_mm")

    @cached_property
    def planted_etc_mm(self) -> Array:
        """Crop evapotranspiration without stress while something is planted."""
        return self.etc_mm * self.planted

    @cached_property
    def lack_mm(self) -> Array:
        """What a planted bed lacked of it."""
        return (self.etc_mm - self.eta_mm) * self.planted

    @cached_property
    def e_mm(self) -> Array:
        """Part of it that evaporated from the surface; 0 with a single crop coefficient."""
        return self._booked("e_mm") if self.pages.structure.dual else self.kcb * 0.0

    @cached_property
    def de_mm(self) -> Array:
        """Depletion of the top layer in the evening; 0 with a single crop coefficient."""
        return self._booked("de_mm") if self.pages.structure.dual else self.kcb * 0.0

    @cached_property
    def irrigation_mm(self) -> Array:
        """What reached the bed of its zone's water."""
        return self._booked("irrigation_mm")

    @cached_property
    def drained_mm(self) -> Array:
        """Past the roots."""
        return self._booked("drained_mm")

    @cached_property
    def overwatered_mm(self) -> Array:
        """Drained on a day of watering, as far as that brought it."""
        return self.pages.xp.minimum(self.drained_mm, self.irrigation_mm)

    @cached_property
    def subsoil_mm(self) -> Array:
        """Taken over as plantings come and go."""
        return self._booked("subsoil_mm")

    @cached_property
    def depletion_mm(self) -> Array:
        """In the evening."""
        return self._booked("depletion_mm")

    @cached_property
    def is_thirsty(self) -> BoolArray:
        """Whether a planted bed was under stress."""
        return (self.ks < THIRSTY_KS) & self.planted


class WholePages(Part):
    """The whole garden, (day, lane)."""

    @cached_property
    def needed_l(self) -> Array:
        """Mains water that all the watering takes, given or not."""
        needed_l: Array = self.pages.tanks.mains_l.sum(axis=1) + self.pages.outlets.unmet_l.sum(axis=1)
        return needed_l

    @cached_property
    def asked_l(self) -> Array:
        """Asked of all stores."""
        asked_l: Array = self.pages.outlets.asked_l.sum(axis=1)
        return asked_l

    @cached_property
    def rain_l(self) -> Array:
        """Stored rain in what was given."""
        rain_l: Array = self.pages.outlets.rain_l.sum(axis=1)
        return rain_l

    @cached_property
    def caught_l(self) -> Array:
        """Caught from all roofs."""
        caught_l: Array = self.pages.roofs.caught_l.sum(axis=1)
        return caught_l

    @cached_property
    def to_drain_l(self) -> Array:
        """Spilled from stores that no other store takes the overflow of."""
        ends = [below is None for below in self.pages.structure.overflow_to]
        to_drain_l: Array = self.pages.tanks.spilled_l[:, np.array(ends, dtype=np.bool_)].sum(axis=1)
        return to_drain_l

    @cached_property
    def level_l(self) -> Array:
        """In all stores in the evening."""
        level_l: Array = self.pages.tanks.level_l.sum(axis=1)
        return level_l

    @cached_property
    def work_minutes(self) -> Array:
        """Of a person, for all the watering and for what is moved between stores."""
        minutes: Array = self.pages.outlets.work_minutes.sum(axis=1)
        if not self.pages.structure.moves:
            return minutes
        moving: Array = (self.pages.transfers.is_moved * self.pages.garden.transfers.run_minutes).sum(axis=1)
        return minutes + moving

    @cached_property
    def is_short(self) -> BoolArray:
        """Whether any store was short."""
        return any_of(self.pages.tanks.is_short)

    @cached_property
    def fails(self) -> BoolArray:
        """Whether any store was short or its float valve opened."""
        return any_of(self.pages.tanks.fails)

    @cached_property
    def is_topped_up(self) -> BoolArray:
        """Whether any store got mains water."""
        return any_of(self.pages.tanks.mains_l > SHORT_L)

    @cached_property
    def needs_mains(self) -> BoolArray:
        """Whether a store got mains water, or was short and could not get any: without mains, or under a ban."""
        without = self._kinds("none")
        if self.pages.course.valve_open is not None:
            without = self.pages.xp.maximum(without, 1.0 - self.pages.course.valve_open)
        return self.is_topped_up | any_of(self.pages.tanks.is_short & (without > 0.0))

    @cached_property
    def is_asked(self) -> BoolArray:
        """Whether any store was asked for water."""
        return any_of(self.pages.tanks.is_asked)

    @cached_property
    def is_served(self) -> BoolArray:
        """Whether stores were asked for water and none was short."""
        return self.is_asked & ~self.is_short

    @cached_property
    def is_banned(self) -> BoolArray:
        """Whether mains water is banned."""
        valve_open = self.pages.course.valve_open
        if valve_open is None:
            return np.zeros((len(self.pages.books), 1), dtype=np.bool_)
        return valve_open[:, 0] < 1.0


def any_of(happens: BoolArray) -> BoolArray:
    """Whether something is so for any item, (day, lane)."""
    found: Any = happens.any(axis=1)  # an array: never of a single flag
    anywhere: BoolArray = found
    return anywhere


def labour_minutes(xp: Namespace, outlets: Outlets, asked_l: Array, due_l: Array, minutes_asked: Array) -> Array:
    """Minutes of a person for all that outlets ask for on some days, (day, outlet, lane).

    A day with a run takes those of its valves or hoses, every started can and every minute of a battery its own, and
    somebody feels the soil on each day that is due. due_l: what the clock alone would ask for. Water that a store lacks
    is counted too: somebody fetches it from the mains.
    """
    minutes = (asked_l > SHORT_L) * outlets.run_minutes + (due_l > SHORT_L) * outlets.look_minutes
    if may_count(outlets.can_minutes):
        cans = xp.maximum(xp.ceil((asked_l - SHORT_L) / outlets.can_l), 0.0)
        minutes = minutes + cans * outlets.can_minutes
    if may_count(outlets.charge_minutes):
        minutes = minutes + minutes_asked * outlets.charge_minutes
    return minutes


def may_count(values: Array) -> bool:
    """Whether any of the values is other than 0; while a layout is compiled nobody knows."""
    known: Any = values
    return bool(known.any()) if isinstance(known, np.ndarray) else True
