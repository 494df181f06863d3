"""A garden as the day loop takes it: what hangs together how, and sizes, arrays (item, lane).

A lane is one garden of many that run side by side; an axis of length one stands for all of them. The structure is plain
Python, compared and hashed, and holds no names: gardens of one structure run side by side whatever they are called.
"""

from dataclasses import dataclass, fields, replace
from functools import cached_property
from typing import Any, NamedTuple

import numpy as np

from waterbudget.physics.soil import taw
from waterbudget.units import L_PER_MM_M2, Array, BoolArray, IntArray, may_count

NO_LIMIT_L = 1e300


class Ban(NamedTuple):
    """Days without mains water, both ends included: month times 100 plus day where yearly, else day numbers."""

    yearly: bool
    first: int
    last: int


@dataclass(frozen=True)
class Structure:
    """What hangs together how, by the number of each item.

    mains: of each tank. roof_tank, feed_tank, outlet_tank: the tank of each. overflow_to: the tank that takes a spill,
    None for the drain. moves: from which tank to which, in their order. zones: how many outlets are zones; they come
    first. priority: of each outlet. bed_zone: the zone that waters each bed, None for rain alone.
    opens_when_dry, refills: whether any zone does. follows: outlets, and follows_beds: beds, whose flow follows the
    level of their store. poured: whether people let mains water into the stores.
    """

    mains: tuple[str, ...]
    overflow_to: tuple[int | None, ...]
    roof_tank: tuple[int, ...]
    feed_tank: tuple[int, ...]
    outlet_tank: tuple[int, ...]
    moves: tuple[tuple[int, int], ...]
    bans: tuple[Ban, ...]
    zones: int
    priority: tuple[int, ...]
    bed_zone: tuple[int | None, ...]
    opens_when_dry: bool
    refills: bool
    follows: tuple[int, ...]
    follows_beds: tuple[int, ...]
    before_spill: bool
    dual: bool
    adjust_p: bool
    poured: bool = False

    @cached_property
    def downhill(self) -> tuple[int, ...]:
        """Tanks in an order in which each comes before the one it overflows to."""
        ordered: list[int] = []
        while len(ordered) < len(self.mains):
            waiting = [tank for tank in range(len(self.mains)) if tank not in ordered]
            fed = {self.overflow_to[upper] for upper in waiting}
            ordered += [tank for tank in waiting if tank not in fed]
        return tuple(ordered)

    @cached_property
    def spill_from(self) -> tuple[tuple[int, ...], ...]:
        """For each tank those that overflow into it."""
        tanks = range(len(self.mains))
        return tuple(tuple(upper for upper in tanks if self.overflow_to[upper] == tank) for tank in tanks)

    @cached_property
    def ranked(self) -> tuple[tuple[IntArray, ...], ...]:
        """For each tank the numbers of its outlets, by ascending priority."""
        of_tanks = []
        for tank in range(len(self.mains)):
            here = [outlet for outlet, source in enumerate(self.outlet_tank) if source == tank]
            levels = sorted({self.priority[outlet] for outlet in here})
            of_tanks.append(tuple(np.array([o for o in here if self.priority[o] == level]) for level in levels))
        return tuple(of_tanks)

    @cached_property
    def ranks(self) -> tuple[tuple[int | slice | IntArray, ...], ...]:
        """The same, a number for one alone, a slice where they stand together: rows are seen through these uncopied."""
        return tuple(tuple(map(_together, ranks)) for ranks in self.ranked)

    @cached_property
    def holds_mains(self) -> tuple[bool, ...]:
        """For each tank whether mains water may be in it: its own, or what another brings along."""
        holds = [self.poured or kind == "float" for kind in self.mains]
        ways = [*self.moves, *((upper, lower) for upper, lower in enumerate(self.overflow_to) if lower is not None)]
        for _ in holds:
            for giver, taker in ways:
                holds[taker] |= holds[giver]
        return tuple(holds)

    @cached_property
    def served_in_order(self) -> IntArray:
        """The place of each outlet among those served tank after tank, rank after rank."""
        served = [outlet for tank in self.downhill for rank in self.ranked[tank] for outlet in rank]
        return np.argsort(served)

    @cached_property
    def tank_of_outlet(self) -> IntArray:
        """The tank of each outlet."""
        return np.array(self.outlet_tank, dtype=np.int64)

    @cached_property
    def zone_of_bed(self) -> IntArray:
        """The zone of each bed; of those without one any, as none of its litres reaches them."""
        return np.array([zone or 0 for zone in self.bed_zone], dtype=np.int64)

    @cached_property
    def beds_in_turn(self) -> IntArray:
        """The first bed of each zone, the second, and so on, (turn, outlet); any bed where a zone has none left."""
        beds = [[bed for bed, zone in enumerate(self.bed_zone) if zone == z] for z in range(len(self.outlet_tank))]
        most = max(map(len, beds), default=0)
        turns = [[own[turn] if turn < len(own) else 0 for own in beds] for turn in range(most)]
        return np.array(turns, dtype=np.int64).reshape(most, len(beds))

    @cached_property
    def has_turn(self) -> BoolArray:
        """Whether each zone has a bed in that turn, (turn, outlet, 1)."""
        of_zones = np.array([self.bed_zone.count(zone) for zone in range(len(self.outlet_tank))], dtype=np.int64)
        has_turn: BoolArray = np.arange(len(self.beds_in_turn))[:, None, None] < of_zones[:, None]
        return has_turn


def _together(numbers: IntArray) -> int | slice | IntArray:
    """Numbers as a slice, where each is one more than that before; one alone as it is."""
    if len(numbers) == 1:
        return int(numbers[0])
    return slice(numbers[0], numbers[-1] + 1) if len(numbers) and np.all(np.diff(numbers) == 1) else numbers


@dataclass(frozen=True, eq=False)
class Roofs:
    """Arrays (roof, lane); area_m2 is the plan area."""

    area_m2: Array
    runoff_coefficient: Array
    loss_mm: Array
    first_flush_l: Array
    filter_efficiency: Array


@dataclass(frozen=True, eq=False)
class Tanks:
    """Arrays (tank, lane), litres of all joined stores."""

    capacity_l: Array
    dead_l: Array
    start_l: Array
    loss_l_per_day: Array
    float_below_l: Array
    float_to_l: Array


@dataclass(frozen=True, eq=False)
class Feeds:
    """What runs into the tanks whatever the weather, arrays (feed, lane); listed (weekday, feed, lane), Monday first.

    season_from, season_to: month times 100 plus day.
    """

    l_per_day: Array
    listed: BoolArray
    season_from: IntArray
    season_to: IntArray


@dataclass(frozen=True, eq=False)
class Outlets:
    """Everything that takes water from a tank, zones first, then other draws; arrays (outlet, lane).

    flow_l_min is infinite for a draw that has no valve, so that its minutes are 0; of a watering line it is that from a
    full store, and factor its flow over that at even steps of the level, empty and full among them (level, follower,
    lane). run_l: litres of a day's full run; hot_run_l: the same on a day whose maximum reaches hot_above_c.
    listed: (weekday, outlet, lane), Monday first. every_from: day number (days since 1970-01-01), NaN for the first day
    of the run. season_from, season_to: month times 100 plus day. skip_rain_days: how many days' rain may skip a run.
    A person's minutes: run_minutes for each day with a run, look_minutes for each that is due, can_minutes for each can
    of can_l, charge_minutes for each minute that a battery opens the valve.
    """

    flow_l_min: Array
    run_l: Array
    hot_run_l: Array
    hot_above_c: Array
    listed: BoolArray
    every_days: IntArray
    every_from: Array
    season_from: IntArray
    season_to: IntArray
    skip_rain_mm: Array
    skip_rain_days: IntArray
    when_dry: BoolArray
    dry_at: Array
    refill: BoolArray
    leave_mm: Array
    efficiency: Array
    factor: Array
    run_minutes: Array
    look_minutes: Array
    can_l: Array
    can_minutes: Array
    charge_minutes: Array


@dataclass(frozen=True, eq=False)
class Transfers:
    """What is moved from store to store, arrays (transfer, lane); listed (weekday, transfer, lane).

    run_minutes: a person's, on each day that it moves water.
    """

    l_per_day: Array
    keep_l: Array
    below_l: Array
    run_minutes: Array
    listed: BoolArray
    season_from: IntArray
    season_to: IntArray


@dataclass(frozen=True, eq=False)
class Beds:
    """Arrays (bed, lane).

    zone_share: of its zone's water that is aimed at the bed; of beds whose share follows the level of the store that
    from a full one, and share at even steps of the level, empty and full among them (level, follower, lane).
    pots_taw_mm: TAW of a bed of pots, NaN of others. opening: of pots over the bed's area, 1 of others. rew_mm, tew_mm,
    wetted_fraction, hidden (share of what the leaves cover that keeps drip from the sun) and mulch_cover are asked for
    by the dual crop coefficient alone.
    """

    area_m2: Array
    zone_share: Array
    share: Array
    available_water_mm_m: Array
    pots_taw_mm: Array
    rain_share: Array
    opening: Array
    et_factor: Array
    start_depleted: Array
    rew_mm: Array
    tew_mm: Array
    wetted_fraction: Array
    hidden: Array
    mulch_cover: Array

    def taw_mm(self, zr_m: Array) -> Array:
        """Total available water of the beds with roots so deep [m], of pots that of their compost [mm]."""
        of_ground_mm, is_ground = taw(self.available_water_mm_m, zr_m), np.isnan(self.pots_taw_mm)
        return of_ground_mm if np.all(is_ground) else np.where(is_ground, of_ground_mm, self.pots_taw_mm)


class Names(NamedTuple):
    """What the items of a garden are called."""

    roofs: tuple[str, ...]
    tanks: tuple[str, ...]
    outlets: tuple[str, ...]
    transfers: tuple[str, ...]
    beds: tuple[str, ...]


@dataclass(frozen=True, eq=False)
class Garden:
    """A site as structure and sizes."""

    structure: Structure
    names: Names
    roofs: Roofs
    tanks: Tanks
    feeds: Feeds
    outlets: Outlets
    transfers: Transfers
    beds: Beds

    @cached_property
    def leaks(self) -> tuple[bool, ...]:
        """For each tank whether it loses water in any lane."""
        return tuple(map(may_count, self.tanks.loss_l_per_day))

    @cached_property
    def aimed_mm_per_l(self) -> Array:
        """Water that a litre brings each bed, were all of it aimed there [mm], (bed, lane)."""
        per_l: Array = self.of_zones(self.outlets.efficiency) / (self.beds.area_m2 * L_PER_MM_M2)
        return per_l

    @cached_property
    def mm_per_l(self) -> Array:
        """What a litre of its zone brings each bed [mm], (bed, lane); 0 without a zone."""
        return self.beds.zone_share * self.aimed_mm_per_l

    @cached_property
    def opens_anyway(self) -> BoolArray:
        """Outlets that open whatever the beds say, (outlet, lane)."""
        return ~self.outlets.when_dry

    @cached_property
    def leave_mm(self) -> Array:
        """Depletion that is left for rain in the beds of each zone in turn, (turn, outlet, lane)."""
        return self.outlets.leave_mm * np.ones(self.structure.has_turn.shape)

    @cached_property
    def unless_refill_l(self) -> Array:
        """What outlets may give that do not refill beds: no less for all that these lack, (outlet, lane)."""
        return (~self.outlets.refill).astype(np.float64) * NO_LIMIT_L

    def of_zones(self, values: Array) -> Array:
        """Of values (outlet, lane) that of each bed's zone, (bed, lane)."""
        zone_of_bed = self.structure.zone_of_bed
        return values[zone_of_bed] if len(values) else np.zeros((len(zone_of_bed), 1))

    @property
    def lanes(self) -> int:
        """The longest lane axis among its sizes."""
        lanes: int = max(
            value.shape[-1] for part in self.parts.values() for value in vars(part).values() if value.ndim > 1
        )
        return lanes

    @property
    def parts(self) -> dict[str, Any]:
        """Its sizes, by kind."""
        return {field.name: getattr(self, field.name) for field in fields(self)[2:]}

    def changed(self, **parts: dict[str, Any]) -> "Garden":
        """The garden with other arrays in some of its parts, such as tanks={"start_l": …}."""
        return replace(self, **{kind: replace(getattr(self, kind), **arrays) for kind, arrays in parts.items()})

    def restructured(self, **changes: Any) -> "Garden":  # noqa: ANN401 - fields of a structure
        """The garden with another structure."""
        return replace(self, structure=replace(self.structure, **changes))

    def named(self, **names: tuple[str, ...]) -> "Garden":
        """The garden with other names for its items."""
        return replace(self, names=self.names._replace(**names))
