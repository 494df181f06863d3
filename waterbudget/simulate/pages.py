"""Every quantity of a run, reckoned once: from what was booked of some days, and only where it is asked for.

Arrays (day, item, lane), those of the whole garden (day, lane); an axis of length one stands for all lanes. A name such
as "tanks.mains_l" is one of the register's. xp: numpy or jax.numpy.
"""

from collections.abc import Callable, Sequence
from functools import cached_property
from operator import attrgetter
from typing import Any

import numpy as np

from waterbudget.schedule.course import Course
from waterbudget.schedule.garden import Garden
from waterbudget.simulate.bed_pages import BedPages
from waterbudget.simulate.books import SHORT_L, Book
from waterbudget.simulate.outlet_pages import OutletPages
from waterbudget.simulate.part import Part
from waterbudget.simulate.store_pages import FeedPages, RoofPages, TankPages, TransferPages
from waterbudget.units import NUMPY, Array, BoolArray, Namespace


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
