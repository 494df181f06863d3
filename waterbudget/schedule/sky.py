"""The weather of a run as arrays, with the rain of the days before it."""

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from waterbudget.units import Array


@dataclass(frozen=True, eq=False)
class Sky:
    """The weather of consecutive days, arrays (day, lane); one lane may stand for all.

    before_mm: rain of the days before the first, the last of them right before it; what came earlier counts as dry.
    """

    rain_mm: Array
    et0_mm: Array
    tmax_c: Array | None
    before_mm: Array | None = None

    @property
    def lanes(self) -> int:
        """The longest lane axis."""
        lanes: int = max(part.shape[1] for part in (self.rain_mm, self.et0_mm, self.tmax_c) if part is not None)
        return lanes

    def of(self, some: slice) -> "Sky":
        """The weather of some of its days, which remember the rain before them."""
        first = some.indices(len(self.rain_mm))[0]
        earlier = 0 if self.before_mm is None else len(self.before_mm)
        return Sky(
            self.rain_mm[some],
            self.et0_mm[some],
            None if self.tmax_c is None else self.tmax_c[some],
            self.rain_before(first, first + earlier),
        )

    def each(self, change: Callable[[Array], Array]) -> "Sky":
        """The weather with every reading changed alike, such as laid out for more lanes."""
        return Sky(
            change(self.rain_mm),
            change(self.et0_mm),
            None if self.tmax_c is None else change(self.tmax_c),
            None if self.before_mm is None else change(self.before_mm),
        )

    def rain_before(self, day: int, back: int) -> Array:
        """The rain of so many days before a day, dry where nothing is known [mm], (back, lane)."""
        passed_mm = self.rain_mm[max(day - back, 0) : day]
        missing = back - len(passed_mm)
        if not missing:
            return passed_mm
        known_mm = np.zeros((0, 1)) if self.before_mm is None else self.before_mm
        known_mm = known_mm[max(len(known_mm) - missing, 0) :]
        lanes = max(known_mm.shape[1], passed_mm.shape[1])
        rain_mm = np.zeros((back, lanes))
        rain_mm[back - len(passed_mm) - len(known_mm) : missing] = known_mm
        rain_mm[missing:] = passed_mm
        return rain_mm
