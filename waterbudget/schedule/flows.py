"""What the watering lines give and where it goes as the level of their store falls."""

from typing import NamedTuple

import numpy as np

from waterbudget.schedule.garden import Garden
from waterbudget.units import L_PER_MM_M2, Array


class Flowing(NamedTuple):
    """The flow of each outlet [L/min] and over that from a full store [-], (scenario, outlet).

    Where nothing flows flow_l_min is infinite, so that no litres take no minutes. mm_per_l: what a litre of its zone
    brings each bed [mm], (scenario, bed); 0 for a bed without a zone.
    """

    flow_l_min: Array
    factor: Array | float
    mm_per_l: Array


class Flows:
    """The flows of a garden over the levels of its stores; between the levels they were solved at they run straight."""

    def __init__(self, garden: Garden) -> None:
        """garden: its outlets and beds tell which of them follow a level."""
        outlets, beds = garden.outlets, garden.beds
        self._outlets, self._zone_share = outlets, beds.zone_share
        self._mm_per_aimed_l = _mm_per_aimed_l(garden)
        self._steady = Flowing(outlets.flow_l_min, 1.0, beds.zone_share * self._mm_per_aimed_l)
        self._zones, self._beds = list(outlets.follows), list(beds.follows)
        tanks = [outlets.tank[zone] for zone in outlets.follows]
        self._tanks = tanks + [outlets.tank[beds.zone[bed] or 0] for bed in beds.follows]
        capacity_l = garden.tanks.capacity_l[:, self._tanks]
        self._capacity_l = np.where(capacity_l > 0.0, capacity_l, 1.0)  # a store of no size is empty
        parts = [part for part in (outlets.factor, beds.share) if part.size] or [outlets.factor]
        lanes = max(part.shape[1] for part in parts)
        table = np.concatenate([np.broadcast_to(part, (len(part), lanes, part.shape[2])) for part in parts], axis=-1)
        self._steps, self._width = len(table) - 1, table[0].size
        self._table, self._column = np.ravel(table), np.arange(self._width).reshape(table.shape[1:])

    def at(self, level_l: Array) -> Flowing:
        """What flows with the stores at these levels [L], (scenario, tank)."""
        if not self._tanks:
            return self._steady
        found = self._between(level_l[:, self._tanks] / self._capacity_l)
        lanes = len(level_l)
        factor = np.ones((lanes, len(self._outlets.name)), order="F")
        factor[:, self._zones] = found[:, : len(self._zones)]
        share = np.array(np.broadcast_to(self._zone_share, (lanes, self._zone_share.shape[1])), order="F")
        share[:, self._beds] = found[:, len(self._zones) :]
        flow_l_min = np.where(factor > 0.0, self._outlets.flow_l_min * factor, np.inf)
        return Flowing(flow_l_min, factor, share * self._mm_per_aimed_l)

    def _between(self, filled: Array) -> Array:
        """The table at the share to which each follower's store is filled, (scenario, follower)."""
        place = filled * self._steps
        below = np.minimum(place.astype(np.intp), self._steps - 1)
        at = below * self._width + self._column
        low = self._table.take(at)
        straight: Array = low + (place - below) * (self._table.take(at + self._width) - low)
        return straight


def _mm_per_aimed_l(garden: Garden) -> Array:
    """What a litre that is aimed at a bed brings it [mm], (scenario, bed); 0 for a bed without a zone."""
    beds, efficiency = garden.beds, garden.outlets.efficiency
    arriving = np.zeros((len(efficiency), len(beds.zone)))
    for bed, zone in enumerate(beds.zone):
        if zone is not None:
            arriving[:, bed] = efficiency[:, zone]
    return arriving / (beds.area_m2 * L_PER_MM_M2)
