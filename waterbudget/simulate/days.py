"""The day loop: what happens in a garden on each day, for all scenarios at once."""

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, replace
from typing import Any, NamedTuple, TypeVar

import numpy as np

from waterbudget.physics.roof import RoofDay, roof_day
from waterbudget.physics.soil import adjusted_p, ks, raw, soil_day, taw
from waterbudget.physics.tank import available, float_valve, share_out, tank_day, total
from waterbudget.schedule.done import AS_PLANNED, AsPlanned, Done
from waterbudget.schedule.flows import Flowing, Flows
from waterbudget.schedule.garden import Beds, Garden, Outlets, Roofs, Tanks
from waterbudget.schedule.plan import Plan, pieces
from waterbudget.schedule.season import Dates, Season
from waterbudget.units import Array, BoolArray, IntArray

Part = TypeVar("Part", Roofs, Tanks, Outlets, Beds)
AnyArray = TypeVar("AnyArray", Array, BoolArray)


@dataclass(frozen=True)
class Sky:
    """The weather of a run, arrays (day, scenario); one scenario column may stand for all."""

    rain_mm: Array
    et0_mm: Array
    tmax_c: Array | None

    def of(self, some: slice) -> "Sky":
        """The weather of some of its days."""
        return self.each(lambda readings: readings[some])

    def each(self, change: Callable[[Array], Array]) -> "Sky":
        """The weather with every reading changed alike, such as laid out for more scenarios."""
        return Sky(change(self.rain_mm), change(self.et0_mm), None if self.tmax_c is None else change(self.tmax_c))


class TankBook(NamedTuple):
    """Litres of one day, arrays (scenario, tank); level_l at its end."""

    inflow_l: Array
    mains_l: Array
    asked_l: Array
    drawn_l: Array
    spilled_l: Array
    lost_l: Array
    level_l: Array

    @property
    def short_l(self) -> Array:
        """What was asked for and not drawn."""
        return self.asked_l - self.drawn_l


class OutletBook(NamedTuple):
    """Litres and minutes of one day, arrays (scenario, outlet).

    given_l: what the store and the mains gave. due_l: what the clock alone would ask for, whatever the soil says.
    flow_l_min: with the stores as they stood, infinite where nothing flows. Both with one row where it stands for all
    scenarios.
    """

    asked_l: Array
    store_l: Array
    mains_l: Array
    given_l: Array
    due_l: Array
    flow_l_min: Array

    @property
    def unmet_l(self) -> Array:
        """What was asked for and not given."""
        return self.asked_l - self.given_l

    @property
    def minutes_run(self) -> Array:
        """Minutes that the valves were open."""
        return self.given_l / self.flow_l_min


class BedBook(NamedTuple):
    """One day of the root zones, arrays (scenario, bed); rain as it reaches the bed, depletion at the day's end."""

    kc: Array
    etc_mm: Array
    ks: Array
    eta_mm: Array
    rain_mm: Array
    irrigation_mm: Array
    drained_mm: Array
    subsoil_mm: Array
    taw_mm: Array
    raw_mm: Array
    depletion_mm: Array
    planted: BoolArray


class Day(NamedTuple):
    """Everything that was booked on one day."""

    roofs: RoofDay
    tanks: TankBook
    outlets: OutletBook
    beds: BedBook


class Growth(NamedTuple):
    """What weather and season alone make of the beds on a day, arrays (scenario, bed).

    changed: as in the season; changes: whether that is so for any bed.
    """

    kc: Array
    etc_mm: Array
    rain_mm: Array
    taw_mm: Array
    raw_mm: Array
    planted: BoolArray
    changed: BoolArray
    changes: bool


class RootZone(NamedTuple):
    """The water in the beds at the start of a day, arrays (scenario, bed)."""

    subsoil_mm: Array
    depletion_mm: Array


def days(garden: Garden, season: Season, sky: Sky, done: AsPlanned | Done = AS_PLANNED) -> Iterator[Day]:
    """The days of a run, one after the other; nothing but yesterday and a few days of forecast is kept in memory.

    done: what somebody did in place of the plan; mains water let into a store is booked as inflow.
    """
    garden, lanes = _in_columns(garden), scenarios(garden, season, sky)
    plan = Plan(garden.outlets, garden.beds, season.dates, sky.rain_mm, sky.tmax_c)
    flows, zones = Flows(garden), _zones(garden)
    level_l, yesterday = _spread(garden.tanks.start_l, lanes), None
    forecast = zip(_catch(garden, sky), _grow(garden, season, sky), plan.days_due(), strict=True)
    for day, ((roofs, caught_l), growth, due) in enumerate(forecast):
        zone = _root_zones(garden, growth, yesterday, lanes)
        flowing = flows.at(level_l)
        due_l = due.litres * flowing.factor
        planned_l = plan.asked_l(due_l, due.asking, zone.depletion_mm, growth.raw_mm, growth.planted)
        asked_l, poured_l = done.on(day, planned_l, flowing.flow_l_min)
        tanks, outlets = _draw(garden, level_l, caught_l, poured_l, due_l, asked_l, flowing)
        beds = _water(zones, growth, zone, outlets, flowing)
        level_l, yesterday = tanks.level_l, beds
        yield Day(roofs, tanks, outlets, beds)


def scenarios(garden: Garden, season: Season, sky: Sky) -> int:
    """How many scenarios run side by side: the longest scenario axis among all that varies."""
    parts = (garden.roofs, garden.tanks, garden.outlets, garden.beds)
    return max(_widest(part, season.dates, sky.rain_mm, sky.et0_mm) for part in parts)


def _widest(part: Roofs | Tanks | Outlets | Beds, *daily: Dates | Array) -> int:
    """The longest scenario axis among the arrays of a part and what is given by day, (day, scenario)."""
    widths = [value.shape[-2] for value in vars(part).values() if isinstance(value, np.ndarray)]
    widest: int = max(*widths, *(values.shape[1] for values in daily))
    return widest


def _in_columns(garden: Garden) -> Garden:
    """The garden with the scenarios of an item side by side in memory, the way in which a day reads them."""

    def columns(part: Part) -> Part:
        arrays: dict[str, Any] = {
            name: _columns(value) for name, value in vars(part).items() if isinstance(value, np.ndarray)
        }
        return replace(part, **arrays)

    return replace(
        garden,
        roofs=columns(garden.roofs),
        tanks=columns(garden.tanks),
        outlets=columns(garden.outlets),
        beds=columns(garden.beds),
    )


def _columns(values: AnyArray) -> AnyArray:
    """Values (…, scenario, item) with the scenarios of an item side by side in memory."""
    columns: AnyArray = np.ascontiguousarray(values.swapaxes(-1, -2)).swapaxes(-1, -2)
    return columns


def _spread(values: Array, lanes: int) -> Array:
    """Values (scenario, item) with a row for every scenario."""
    return np.asfortranarray(np.broadcast_to(values, (lanes, values.shape[1])))


def _over(items: tuple[str, ...], weather: Array) -> Array:
    """Weather (day, scenario) on some items, (day, scenario, item), in columns like the garden."""
    return np.repeat(weather[:, None], len(items), axis=1).swapaxes(1, 2)


def _catch(garden: Garden, sky: Sky) -> Iterator[tuple[RoofDay, tuple[Array, ...]]]:
    """Each day's rain on the roofs, and what they bring each tank, (scenario,), worked out for some days at once."""
    for some in pieces(len(sky.rain_mm), _widest(garden.roofs, sky.rain_mm)):
        caught, onto_tanks = catch(garden, sky.rain_mm[some])
        yield from zip(map(RoofDay._make, zip(*caught, strict=True)), zip(*onto_tanks, strict=True), strict=True)


def catch(garden: Garden, rain_mm: Array) -> tuple[RoofDay, list[Array]]:
    """What roofs make of the rain of some days, (day, scenario), and what they bring each tank [L], (day, scenario)."""
    roofs = garden.roofs
    caught = roof_day(
        _over(roofs.name, rain_mm),
        roofs.area_m2,
        roofs.runoff_coefficient,
        roofs.loss_mm,
        roofs.first_flush_l,
        roofs.filter_efficiency,
    )
    return caught, [total(caught.caught_l, roofs.onto.get(tank, ())) for tank in range(len(garden.tanks.name))]


def _grow(garden: Garden, season: Season, sky: Sky) -> Iterator[Growth]:
    """Each day's crop demand, rain and soil limits, worked out for some days at once."""
    beds = garden.beds
    for some in pieces(len(season.dates), _widest(beds, season.dates, sky.rain_mm, sky.et0_mm)):
        kc, zr_m, p = (_columns(values[some]) for values in (season.kc, season.zr_m, season.p))
        planted, changed = (_columns(flags[some]) for flags in (season.planted, season.changed))
        etc_mm = kc * _over(beds.name, sky.et0_mm[some]) * beds.et_factor
        rain_mm = _over(beds.name, sky.rain_mm[some]) * beds.rain_share
        taw_mm = taw(beds.available_water_mm_m, zr_m)
        raw_mm = raw(taw_mm, adjusted_p(p, etc_mm) if garden.adjust_p else p)
        changes = np.any(changed, axis=(1, 2)).tolist()
        grown = zip(kc, etc_mm, rain_mm, taw_mm, raw_mm, planted, changed, changes, strict=True)
        yield from map(Growth._make, grown)


def _root_zones(garden: Garden, growth: Growth, yesterday: BedBook | None, lanes: int) -> RootZone:
    """The water that the day finds; a planting that comes or goes hands its depletion over in proportion."""
    if yesterday is None:
        before_mm = depletion_mm = _spread(garden.beds.start_depleted * growth.taw_mm, lanes)
    else:
        before_mm = depletion_mm = yesterday.depletion_mm
        if growth.changes:
            handed_over_mm = before_mm * growth.taw_mm / yesterday.taw_mm
            depletion_mm = np.where(growth.changed, handed_over_mm, before_mm)
    return RootZone(before_mm - depletion_mm, depletion_mm)


def _draw(
    garden: Garden,
    stored_l: Array,
    caught_l: Sequence[Array],
    poured_l: Array | None,
    due_l: Array,
    asked_l: Array,
    flowing: Flowing,
) -> tuple[TankBook, OutletBook]:
    """Each tank in turn, upstream first: float valve, inflow, what is handed out, spill and leak."""
    tanks, outlets, before_spill = garden.tanks, garden.outlets, garden.before_spill
    store_l, hose_l = np.zeros((2, *asked_l.shape[::-1])).swapaxes(1, 2)
    book = TankBook(*np.zeros((len(TankBook._fields), *stored_l.shape[::-1])).swapaxes(1, 2))
    flows_in_l = list(caught_l) if poured_l is None else [*map(np.add, caught_l, poured_l)]
    for tank in tanks.downhill:
        held_l, inflow_l = stored_l[:, tank], flows_in_l[tank]
        if tanks.mains[tank] == "float":
            valve = float_valve(held_l, tanks.float_below_l[:, tank], tanks.float_to_l[:, tank])
            book.mains_l[:, tank], held_l = valve
        ranks, takers = outlets.ranks.get(tank, ()), outlets.takers.get(tank, ())
        within_reach_l = available(held_l, inflow_l, tanks.dead_l[:, tank], before_spill=before_spill)
        for taker, given_l in share_out(asked_l, within_reach_l, ranks).items():
            store_l[:, taker] = given_l
        wanted_l = total(asked_l, takers)
        drawn_l = np.minimum(wanted_l, within_reach_l)
        rest = tank_day(
            held_l,
            inflow_l,
            drawn_l,
            tanks.capacity_l[:, tank],
            tanks.loss_l_per_day[:, tank],
            before_spill=before_spill,
        )
        below = tanks.overflow_to[tank]
        if below is not None:
            flows_in_l[below] = flows_in_l[below] + rest.spilled_l
        book.inflow_l[:, tank], book.asked_l[:, tank], book.drawn_l[:, tank] = inflow_l, wanted_l, drawn_l
        book.spilled_l[:, tank], book.lost_l[:, tank], book.level_l[:, tank] = rest
        if tanks.mains[tank] == "direct":
            book.mains_l[:, tank] = wanted_l - drawn_l
            for taker in takers:
                hose_l[:, taker] = asked_l[:, taker] - store_l[:, taker]
    return book, OutletBook(asked_l, store_l, hose_l, store_l + hose_l, due_l, flowing.flow_l_min)


def _water(zones: IntArray, growth: Growth, zone: RootZone, outlets: OutletBook, flowing: Flowing) -> BedBook:
    irrigation_mm = _irrigation_mm(zones, outlets.given_l, flowing.mm_per_l)
    ks_now = ks(growth.taw_mm, growth.raw_mm, zone.depletion_mm)
    water_mm = growth.rain_mm + irrigation_mm
    soil = soil_day(zone.depletion_mm, growth.taw_mm, ks_now, growth.etc_mm, water_mm)
    return BedBook(
        growth.kc,
        growth.etc_mm,
        ks_now,
        soil.eta_mm,
        growth.rain_mm,
        irrigation_mm,
        soil.drained_mm,
        zone.subsoil_mm,
        growth.taw_mm,
        growth.raw_mm,
        soil.depletion_mm,
        growth.planted,
    )


def _irrigation_mm(zones: IntArray, given_l: Array, mm_per_l: Array) -> Array:
    """What reaches each bed of the water of its zone, (scenario, bed)."""
    if not given_l.shape[1]:
        return np.zeros((len(zones), len(given_l))).T
    return given_l.T[zones].T * mm_per_l


def _zones(garden: Garden) -> IntArray:
    """The zone of each bed; of those without one any, as none of its litres reaches them."""
    return np.array([zone or 0 for zone in garden.beds.zone], dtype=np.int64)
