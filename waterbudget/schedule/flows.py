"""What the watering lines give and where it goes as the level of their store falls."""

from dataclasses import dataclass
from typing import NamedTuple

import numpy as np

from waterbudget.schedule.garden import Garden
from waterbudget.units import L_PER_MM_M2, Array, IntArray


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
        mm_per_aimed_l = beds.by_zone(outlets.efficiency) / (beds.area_m2 * L_PER_MM_M2)
        self._steady = Flowing(outlets.flow_l_min, 1.0, beds.zone_share * mm_per_aimed_l)
        fed_by = [outlets.tank[beds.zone[bed] or 0] for bed in beds.follows]
        self._fallers = []
        for tank in sorted({outlets.tank[zone] for zone in outlets.follows} | set(fed_by)):
            zones = [number for number, zone in enumerate(outlets.follows) if outlets.tank[zone] == tank]
            its_beds = [number for number, fed in enumerate(fed_by) if fed == tank]
            columns = [beds.follows[number] for number in its_beds]
            parts = outlets.factor[..., zones], beds.share[..., its_beds] * mm_per_aimed_l[:, columns]
            at_level = _at_level(garden.tanks.capacity_l[:, tank], parts)
            self._fallers.append(_Faller(tank, [outlets.follows[number] for number in zones], columns, at_level))

    def at(self, level_l: Array) -> Flowing:
        """What flows with the stores at these levels [L], (scenario, tank)."""
        if not self._fallers:
            return self._steady
        lanes = len(level_l)
        factor = np.ones((lanes, self._steady.flow_l_min.shape[1]), order="F")
        mm_per_l = _of_their_own(self._steady.mm_per_l, lanes)
        for faller in self._fallers:
            found = faller.at_level.of(level_l[:, faller.tank])
            factor[:, faller.zones] = found[:, : len(faller.zones)]
            mm_per_l[:, faller.beds] = found[:, len(faller.zones) :]
        flow_l_min = np.where(factor > 0.0, self._steady.flow_l_min * factor, np.inf)
        return Flowing(flow_l_min, factor, mm_per_l)


@dataclass(frozen=True, eq=False)
class _AtLevel:
    """Lines through values at even steps of a store's level; rows of values and rises: level after level of the lanes.

    steps_per_l: (scenario,). lane: of each scenario, in the rows of a level.
    """

    steps_per_l: Array
    steps: int
    lanes: int
    lane: IntArray | int
    values: Array
    rises: Array

    def of(self, level_l: Array) -> Array:
        """The values at the level of each scenario [L], (scenario, value)."""
        place = level_l * self.steps_per_l
        below: IntArray = np.minimum(place.astype(np.int64), self.steps - 1)
        row = below * self.lanes + self.lane
        value, rise = self.values.take(row, axis=0), self.rises.take(row, axis=0)
        beyond: Array = (place - below)[:, np.newaxis]
        return value + beyond * rise


class _Faller(NamedTuple):
    """A store whose level some lines follow: the columns of their zones and beds, and what these are at a level."""

    tank: int
    zones: list[int]
    beds: list[int]
    at_level: _AtLevel


def _at_level(capacity_l: Array, parts: tuple[Array, ...]) -> _AtLevel:
    """parts: values at even steps from empty to full, (level, scenario, value)."""
    lanes = max(part.shape[1] for part in parts if part.size)
    levels = max(len(part) for part in parts if part.size)
    values = np.concatenate([np.broadcast_to(part, (levels, lanes, part.shape[2])) for part in parts], axis=-1)
    held_l = np.where(capacity_l > 0.0, capacity_l, 1.0)  # a store of no size is empty
    return _AtLevel(
        steps_per_l=(levels - 1) / held_l,
        steps=levels - 1,
        lanes=lanes,
        lane=np.arange(lanes) if lanes > 1 else 0,
        values=values.reshape(levels * lanes, -1),
        rises=np.diff(values, axis=0).reshape((levels - 1) * lanes, -1),
    )


def _of_their_own(values: Array, lanes: int) -> Array:
    """A copy of values (scenario, item) with a row for every scenario."""
    return np.array(np.broadcast_to(values, (lanes, values.shape[1])), order="F")
