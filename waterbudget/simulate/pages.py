"""Every quantity of a run, reckoned once: from what was booked of some days, and only where it is asked for.

Arrays (day, item, lane), those of the whole garden (day, lane); an axis of length one stands for all lanes. A name such
as "tanks.mains_l" is one of the register's. xp: numpy or jax.numpy.
"""

from collections.abc import Sequence
from functools import cached_property
from operator import attrgetter
from typing import Any

import numpy as np

from waterbudget.schedule.course import Course
from waterbudget.schedule.garden import Garden
from waterbudget.simulate.bed_pages import BedPages
from waterbudget.simulate.books import SHORT_L, Book
from waterbudget.simulate.day_books import DayBooks, Part
from waterbudget.simulate.outlet_pages import OutletPages
from waterbudget.simulate.store_pages import FeedPages, RoofPages, TankPages, TransferPages
from waterbudget.units import Array, BoolArray, Namespace


class Pages:
    """Some days of a run, kind by kind."""

    def __init__(self, xp: Namespace, garden: Garden, course: Course, books: Sequence[Book]) -> None:
        """course: of the same days, (day, item, lane)."""
        days = DayBooks(xp, garden, course, books)
        self.roofs, self.feeds, self.transfers, self.beds = (
            RoofPages(days),
            FeedPages(days),
            TransferPages(days),
            BedPages(days),
        )
        self.tanks = TankPages(days, self.transfers)
        self.outlets = OutletPages(days, self.tanks)
        self.whole = WholePages(days, self.roofs, self.tanks, self.outlets, self.transfers)

    def quantity(self, name: str) -> Array:
        """One quantity by its name."""
        found: Array = attrgetter(name)(self)
        return found

    def flag(self, name: str) -> BoolArray:
        """Something that is or is not, by its name."""
        found: BoolArray = attrgetter(name)(self)
        return found


class WholePages(Part):
    """The whole garden, (day, lane)."""

    def __init__(
        self, days: DayBooks, roofs: RoofPages, tanks: TankPages, outlets: OutletPages, transfers: TransferPages
    ) -> None:
        """The pages of what it is the sum of, of the same days."""
        super().__init__(days)
        self.roofs, self.tanks, self.outlets, self.transfers = roofs, tanks, outlets, transfers

    @cached_property
    def needed_l(self) -> Array:
        """Mains water that all the watering takes, given or not."""
        needed_l: Array = self.tanks.mains_l.sum(axis=1) + self.outlets.unmet_l.sum(axis=1)
        return needed_l

    @cached_property
    def asked_l(self) -> Array:
        """Asked of all stores."""
        asked_l: Array = self.outlets.asked_l.sum(axis=1)
        return asked_l

    @cached_property
    def rain_l(self) -> Array:
        """Stored rain in what was given."""
        rain_l: Array = self.outlets.rain_l.sum(axis=1)
        return rain_l

    @cached_property
    def caught_l(self) -> Array:
        """Caught from all roofs."""
        caught_l: Array = self.roofs.caught_l.sum(axis=1)
        return caught_l

    @cached_property
    def to_drain_l(self) -> Array:
        """Spilled from stores that no other store takes the overflow of."""
        ends = [below is None for below in self.days.structure.overflow_to]
        to_drain_l: Array = self.tanks.spilled_l[:, np.array(ends, dtype=np.bool_)].sum(axis=1)
        return to_drain_l

    @cached_property
    def level_l(self) -> Array:
        """In all stores in the evening."""
        level_l: Array = self.tanks.level_l.sum(axis=1)
        return level_l

    @cached_property
    def work_minutes(self) -> Array:
        """Of a person, for all the watering and for what is moved between stores."""
        minutes: Array = self.outlets.work_minutes.sum(axis=1)
        if not self.days.structure.moves:
            return minutes
        moving: Array = (self.transfers.is_moved * self.days.garden.transfers.run_minutes).sum(axis=1)
        return minutes + moving

    @cached_property
    def is_short(self) -> BoolArray:
        """Whether any store was short."""
        return any_of(self.tanks.is_short)

    @cached_property
    def fails(self) -> BoolArray:
        """Whether any store was short or its float valve opened."""
        return any_of(self.tanks.fails)

    @cached_property
    def is_topped_up(self) -> BoolArray:
        """Whether any store got mains water."""
        return any_of(self.tanks.mains_l > SHORT_L)

    @cached_property
    def needs_mains(self) -> BoolArray:
        """Whether a store got mains water, or was short and could not get any: without mains, or under a ban."""
        without = self._kinds("none")
        if self.days.course.valve_open is not None:
            without = self.days.xp.maximum(without, 1.0 - self.days.course.valve_open)
        return self.is_topped_up | any_of(self.tanks.is_short & (without > 0.0))

    @cached_property
    def is_asked(self) -> BoolArray:
        """Whether any store was asked for water."""
        return any_of(self.tanks.is_asked)

    @cached_property
    def is_served(self) -> BoolArray:
        """Whether stores were asked for water and none was short."""
        return self.is_asked & ~self.is_short

    @cached_property
    def is_banned(self) -> BoolArray:
        """Whether mains water is banned."""
        valve_open = self.days.course.valve_open
        if valve_open is None:
            return np.zeros((len(self.days.books), 1), dtype=np.bool_)
        return valve_open[:, 0] < 1.0


def any_of(happens: BoolArray) -> BoolArray:
    """Whether something is so for any item, (day, lane)."""
    found: Any = happens.any(axis=1)  # an array: never of a single flag
    anywhere: BoolArray = found
    return anywhere
