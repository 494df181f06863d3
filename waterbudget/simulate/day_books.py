"""What was booked of some days, beside their course: what the pages of all kinds are reckoned from."""

from collections.abc import Sequence
from typing import cast

import numpy as np

from waterbudget.schedule.course import Course
from waterbudget.schedule.garden import Garden
from waterbudget.simulate.books import Book
from waterbudget.units import NUMPY, Array, Namespace, Values


class DayBooks:
    """Some days of a run: what was booked of each, beside their course."""

    def __init__(self, xp: Namespace, garden: Garden, course: Course, books: Sequence[Book]) -> None:
        """course: of the same days, (day, item, lane)."""
        self.xp, self.garden, self.structure = xp, garden, garden.structure
        self.course, self.books = course, books

    def stacked(self, days: Sequence[Array]) -> Array:
        """Arrays (item, lane) of each day as one, (day, item, lane)."""
        if self.xp is NUMPY:
            return np.concatenate(days).reshape(len(days), *days[0].shape)
        lanes = self._lanes
        return self.xp.stack([self.xp.broadcast_to(rows, (len(rows), lanes)) for rows in days])

    def beside(self, items: Sequence[Sequence[Values]]) -> Array:
        """Rows (lane,) of every day, or numbers for all lanes, item by item, as one (day, item, lane)."""
        days = len(self.books)
        if not items:
            return self.xp.zeros((days, 0, 1))
        if self.xp is not NUMPY:
            rows = [self.xp.broadcast_to(row, (self._lanes,)) for of_day in zip(*items, strict=True) for row in of_day]
            return self.xp.stack(rows).reshape(days, len(items), -1)
        columns = [_column(rows) for rows in items]
        found = np.empty((days, len(items), max(column.shape[1] for column in columns)))
        for item, column in enumerate(columns):
            found[:, item] = column
        return found

    @property
    def _lanes(self) -> int:
        lanes: int = self.books[0].tanks.level_l.shape[-1]
        return lanes


def _column(rows: Sequence[Values]) -> Array:
    """Rows (lane,) of every day, or numbers for all lanes, as (day, lane)."""
    if isinstance(rows[0], np.ndarray):
        return np.concatenate(cast("Sequence[Array]", rows)).reshape(len(rows), -1)
    return np.array(rows)[:, None]


class Part:
    """One kind of item on the pages."""

    def __init__(self, days: DayBooks) -> None:
        """days: what is reckoned of."""
        self.days = days

    @property
    def _has_valves(self) -> bool:
        """Whether any tank has a float valve."""
        return "float" in self.days.structure.mains

    def _kinds(self, *kinds: str) -> Array:
        """1 for tanks with mains of these kinds, (tank, 1)."""
        return np.array([[float(kind in kinds)] for kind in self.days.structure.mains])
