"""An evening: all that tomorrow needs to know of today and the days before."""

from collections.abc import Callable, Sequence
from typing import NamedTuple

import numpy as np

from waterbudget.physics.surface import KC_TOP, LONG_AGO_DAYS, Wetting
from waterbudget.schedule.garden import Garden
from waterbudget.schedule.season import Season
from waterbudget.schedule.sky import Sky
from waterbudget.units import Array, BoolArray, IntArray


class Surface(NamedTuple):
    """The top layer of the beds, arrays (bed, lane): its depletion, and how it was wetted."""

    depletion_mm: Array
    wetting: Wetting


class State(NamedTuple):
    """Arrays (item, lane). Nobody writes into one; `state._replace(level_l=…)` is another evening.

    level_l: of each tank; mains_l: mains water in it. depletion_mm: of each bed's root zone. surface: with the dual
    crop coefficient only.
    """

    level_l: Array
    mains_l: Array
    depletion_mm: Array
    surface: Surface | None = None

    def dipped(self, tank: int, level_l: float | Array) -> "State":
        """The evening with another level in a tank [L], (lane,) or one for all; its mixture with mains water stays."""
        share = self.mains_l[tank] / np.where(self.level_l[tank] > 0.0, self.level_l[tank], 1.0)
        return self._replace(
            level_l=with_row(self.level_l, tank, level_l), mains_l=with_row(self.mains_l, tank, share * level_l)
        )

    def wide(self, lanes: int) -> "State":
        """The evening with a column for each of so many lanes."""
        return self.each(lambda rows: np.array(np.broadcast_to(rows, (len(rows), lanes))))

    def each(self, change: Callable[..., Array], *others: "State") -> "State":
        """The evening with every array changed alike, by those of other evenings where there are any."""
        level_l, mains_l, depletion_mm, *of_surface = map(change, self.parts, *(other.parts for other in others))
        surface = Surface(of_surface[0], Wetting(*of_surface[1:])) if of_surface else None
        return State(level_l, mains_l, depletion_mm, surface)

    @property
    def parts(self) -> tuple[Array, ...]:
        """All its arrays."""
        of_surface = () if self.surface is None else (self.surface.depletion_mm, *self.surface.wetting)
        return (self.level_l, self.mains_l, self.depletion_mm, *of_surface)

    def of_lanes(self, some: IntArray | slice) -> "State":
        """The evening of some lanes."""
        return self.each(lambda rows: rows[:, some])

    def with_lanes(self, some: IntArray, others: "State") -> "State":
        """The evening with those of others in the place of some lanes."""
        return self.each(lambda rows, new: with_columns(rows, some, new), others)

    def differs_from(self, other: "State") -> BoolArray:
        """Whether anything in it is not just as in another evening, (lane,)."""
        pairs = zip(self.parts, other.parts, strict=True)
        differs: BoolArray = np.any(np.concatenate([ours != theirs for ours, theirs in pairs]), axis=0)
        return differs


def joined(states: Sequence[State]) -> State:
    """Evenings as the lanes of one."""
    first, *others = states
    return first.each(lambda *rows: np.concatenate(rows, axis=1), *others)


def with_columns(rows: Array, some: IntArray, columns: Array) -> Array:
    """The rows (…, lane) with others in the place of some lanes."""
    changed = np.array(rows)
    changed[..., some] = columns
    return changed


def with_row(rows: Array, number: int, row: Array | float) -> Array:
    """The rows (item, lane) with another in one's place."""
    changed = rows.copy()
    changed[number] = row
    return changed


def with_last(rows: Array, row: Array) -> Array:
    """The rows (item, 1), one for all lanes, with another (lane,) in place of the last one."""
    return with_row(np.repeat(rows, len(row), axis=-1), -1, row)


def lanes_of(garden: Garden, season: Season, sky: Sky) -> int:
    """How many gardens run side by side: the longest lane axis among all that varies."""
    return max(garden.lanes, season.lanes, sky.lanes)


def start_of(garden: Garden, season: Season, sky: Sky) -> State:
    """The eve of the first day, as the site file tells it."""
    lanes, beds = lanes_of(garden, season, sky), garden.beds

    def wide(rows: Array) -> Array:
        return np.array(np.broadcast_to(rows, (len(rows), lanes)), dtype=np.float64)

    level_l, depleted = wide(garden.tanks.start_l), wide(beds.start_depleted)
    surface = None
    if garden.structure.dual:
        ones = np.ones_like(depleted)
        surface = Surface(depleted * beds.tew_mm, Wetting(ones, KC_TOP * ones, LONG_AGO_DAYS * ones))
    return State(level_l, np.zeros_like(level_l), depleted * beds.taw_mm(season.zr_m[0]), surface)
