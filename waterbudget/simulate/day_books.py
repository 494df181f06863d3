"""What was booked of some days, beside their course: what the pages of all kinds are reckoned from."""

from collections.abc import Callable, Sequence
from typing import Any

import numpy as np

from waterbudget.schedule.course import Course
from waterbudget.schedule.garden import Garden
from waterbudget.simulate.books import Book
from waterbudget.units import NUMPY, Array, Namespace


class DayBooks:
    """Some days of a run: what was booked of each, beside their course."""

    def __init__(self, xp: Namespace, garden: Garden, course: Course, books: Sequence[Book]) -> None:
        """course: of the same days, (day, item, lane)."""
        self.xp, self.garden, self.structure = xp, garden, garden.structure
        self.course, self.books = course, books

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

    def __init__(self, days: DayBooks) -> None:
        """days: what is reckoned of."""
        self.days = days

    def _kinds(self, *kinds: str) -> Array:
        """1 for tanks with mains of these kinds, (tank, 1)."""
        return np.array([[float(kind in kinds)] for kind in self.days.structure.mains])
