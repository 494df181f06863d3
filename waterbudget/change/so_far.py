"""What was logged of a day that is not over: what came into the stores, and what was drawn from them."""

from collections.abc import Sequence
from typing import NamedTuple

import numpy as np

from waterbudget.physics.tank import within_reach
from waterbudget.schedule.actions import Actions
from waterbudget.schedule.course import roofs_of
from waterbudget.schedule.garden import Garden
from waterbudget.simulate.watering import flow_at, logged_l
from waterbudget.units import NUMPY, Array


class SoFar(NamedTuple):
    """Litres of a day up to now by tank, (tank, 1).

    came_l: rain from the roofs, and mains water that was let in. asked_l: what logged runs take while there is any.
    """

    came_l: Array
    asked_l: Array

    def level_l(self, garden: Garden, eve_l: Array) -> Array:
        """The level now, from that of the evening before [L], (tank, 1)."""
        tanks = garden.tanks
        drawn_l = np.minimum(self.asked_l, within_reach(NUMPY, eve_l, tanks.dead_l))
        level_l: Array = np.minimum(eve_l + self.came_l - drawn_l, tanks.capacity_l)
        return level_l

    def eve_l(self, garden: Garden, level_l: Array) -> Array:
        """The level of the evening before [L], (tank, 1), from that of now."""
        eve_l: Array = np.clip(level_l - self.came_l + self.asked_l, 0.0, garden.tanks.capacity_l)
        return eve_l


def so_far_of(garden: Garden, eve_l: Array, actions: Actions, rain_mm: float) -> SoFar:
    """What was logged of a day. eve_l: levels of the evening before [L], (tank, 1). actions: from this day on."""
    structure = garden.structure
    caught_l = roofs_of(garden, np.full((1, 1, 1), rain_mm)).caught_l[0]
    ran_l = np.nan_to_num(logged_l(NUMPY, actions.minutes[0, :, None], flow_at(NUMPY, garden, eve_l).l_min))
    return SoFar(
        came_l=_by_tank(structure.roof_tank, caught_l, eve_l) + actions.mains_added_l[0, :, None],
        asked_l=_by_tank(structure.outlet_tank, ran_l, eve_l),
    )


def _by_tank(tank: Sequence[int], litres: Array, like: Array) -> Array:
    """Sums by tank of what items bring or take [L], (item, 1); tank: of each."""
    whole_l = np.zeros_like(like)
    np.add.at(whole_l, np.array(tank, dtype=np.int64), litres)
    return whole_l
