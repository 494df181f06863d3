"""The day loop: what happens in a garden on each day, for all scenarios at once."""

from collections.abc import Iterator
from dataclasses import dataclass, replace
from typing import Any, NamedTuple, TypeVar

import numpy as np

from waterbudget.physics.roof import RoofDay, roof_day
from waterbudget.physics.soil import adjusted_p, ks, raw, soil_day, taw
from waterbudget.physics.tank import available, float_valve, share_out, tank_day, total
from waterbudget.schedule.garden import Beds, Garden, Outlets, Roofs, Tanks
from waterbudget.schedule.plan import Plan
from waterbudget.schedule.season import Season
from waterbudget.units import L_PER_MM_M2, Array, BoolArray

Part = TypeVar("Part", Roofs, Tanks, Outlets, Beds)


@dataclass(frozen=True)
class Sky:
    """The weather of a run, arrays (day, scenario); one scenario column may stand for all."""

    rain_mm: Array
    et0_mm: Array
    tmax_c: Array | None


class TankBook(NamedTuple):
    """Litres of one day, arrays (scenario, tank); level_l at its end."""

    inflow_l: Array
    mains_l: Array
    asked_l: Array
    drawn_l: Array
    short_l: Array
    spilled_l: Array
    lost_l: Array
    level_l: Array


class OutletBook(NamedTuple):
    """Litres and minutes of one day, arrays (scenario, outlet)."""

    asked_l: Array
    store_l: Array
    mains_l: Array
    unmet_l: Array
    minutes_run: Array


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


class RootZone(NamedTuple):
    """The beds at the start of a day, arrays (scenario, bed)."""

    kc: Array
    etc_mm: Array
    taw_mm: Array
    raw_mm: Array
    subsoil_mm: Array
    depletion_mm: Array
    planted: BoolArray


def days(garden: Garden, season: Season, sky: Sky) -> Iterator[Day]:
    """The days of a run, one after the other; nothing but yesterday's levels and root zones is kept in memory."""
    garden, level_l = _in_columns(garden), _first_levels(garden, season, sky)
    plan = Plan(garden.outlets, garden.beds, season.dates, sky.rain_mm, sky.tmax_c)
    yesterday: BedBook | None = None
    for day in range(len(season.dates)):
        roofs = _catch(garden, sky, day)
        zone = _root_zones(garden, season, sky, day, yesterday)
        asked_l = plan.asked_l(day, zone.depletion_mm, zone.raw_mm, zone.planted)
        tanks, outlets = _draw(garden, level_l, roofs.caught_l, asked_l)
        beds = _water(garden, sky, day, zone, outlets)
        level_l, yesterday = tanks.level_l, beds
        yield Day(roofs, tanks, outlets, beds)


def scenarios(garden: Garden, season: Season, sky: Sky) -> int:
    """How many scenarios run side by side: the longest scenario axis among all that varies."""
    parts = (garden.roofs, garden.tanks, garden.outlets, garden.beds)
    varying = [value.shape[-2] for part in parts for value in vars(part).values() if isinstance(value, np.ndarray)]
    most: int = max(*varying, season.dates.shape[1], sky.rain_mm.shape[1], sky.et0_mm.shape[1])
    return most


def _in_columns(garden: Garden) -> Garden:
    """The garden with the scenarios of an item side by side in memory, the way in which a day reads them."""

    def columns(part: Part) -> Part:
        arrays: dict[str, Any] = {
            name: np.asfortranarray(value) for name, value in vars(part).items() if isinstance(value, np.ndarray)
        }
        return replace(part, **arrays)

    return replace(
        garden,
        roofs=columns(garden.roofs),
        tanks=columns(garden.tanks),
        outlets=columns(garden.outlets),
        beds=columns(garden.beds),
    )


def _over(items: tuple[str, ...], today: Array) -> Array:
    """A day's weather (scenario,) on some items, (scenario, item), in columns like the garden."""
    return np.repeat(today[None], len(items), axis=0).T


def _first_levels(garden: Garden, season: Season, sky: Sky) -> Array:
    start_l = garden.tanks.start_l
    return np.asfortranarray(np.broadcast_to(start_l, (scenarios(garden, season, sky), start_l.shape[1])))


def _catch(garden: Garden, sky: Sky, day: int) -> RoofDay:
    roofs = garden.roofs
    return roof_day(
        _over(roofs.name, sky.rain_mm[day]),
        roofs.area_m2,
        roofs.runoff_coefficient,
        roofs.loss_mm,
        roofs.first_flush_l,
        roofs.filter_efficiency,
    )


def _root_zones(garden: Garden, season: Season, sky: Sky, day: int, yesterday: BedBook | None) -> RootZone:
    """The day's crop demand and soil limits; a planting that comes or goes hands its depletion over in proportion."""
    beds = garden.beds
    etc_mm = season.kc[day] * _over(beds.name, sky.et0_mm[day]) * beds.et_factor
    taw_mm = taw(beds.available_water_mm_m, season.zr_m[day])
    p = adjusted_p(season.p[day], etc_mm) if garden.adjust_p else season.p[day]
    if yesterday is None:
        before_mm = depletion_mm = beds.start_depleted * taw_mm
    else:
        before_mm = depletion_mm = yesterday.depletion_mm
        if season.changed[day].any():
            depletion_mm = np.where(season.changed[day], before_mm * taw_mm / yesterday.taw_mm, before_mm)
    return RootZone(
        season.kc[day],
        etc_mm,
        taw_mm,
        raw(taw_mm, p),
        before_mm - depletion_mm,
        depletion_mm,
        season.planted[day],
    )


def _draw(garden: Garden, stored_l: Array, caught_l: Array, asked_l: Array) -> tuple[TankBook, OutletBook]:
    """Each tank in turn, upstream first: float valve, inflow, what is handed out, spill and leak."""
    tanks, outlets, before_spill = garden.tanks, garden.outlets, garden.before_spill
    asked_l = np.broadcast_to(asked_l, (len(stored_l), asked_l.shape[1]))
    store_l, hose_l = np.zeros(asked_l.shape, order="F"), np.zeros(asked_l.shape, order="F")
    book = TankBook(*(np.zeros(stored_l.shape, order="F") for _ in TankBook._fields))
    for roof, tank in enumerate(garden.roofs.tank):
        book.inflow_l[:, tank] += caught_l[:, roof]
    for tank in tanks.downhill:
        held_l, inflow_l = stored_l[:, tank], book.inflow_l[:, tank]
        if tanks.mains[tank] == "float":
            valve = float_valve(held_l, tanks.float_below_l[:, tank], tanks.float_to_l[:, tank])
            book.mains_l[:, tank], held_l = valve
        ranks = outlets.ranks.get(tank, ())
        takers = [taker for rank in ranks for taker in rank]
        within_reach_l = available(held_l, inflow_l, tanks.dead_l[:, tank], before_spill=before_spill)
        given_l = share_out(asked_l, within_reach_l, ranks)
        book.asked_l[:, tank] = total(asked_l, takers)
        drawn_l = np.minimum(book.asked_l[:, tank], within_reach_l)
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
            book.inflow_l[:, below] += rest.spilled_l
        store_l += given_l
        book.drawn_l[:, tank] = drawn_l
        book.short_l[:, tank] = book.asked_l[:, tank] - drawn_l
        book.spilled_l[:, tank], book.lost_l[:, tank], book.level_l[:, tank] = rest
        if tanks.mains[tank] == "direct":
            book.mains_l[:, tank] = book.short_l[:, tank]
            hose_l[:, takers] = asked_l[:, takers] - given_l[:, takers]
    given_l = store_l + hose_l
    return book, OutletBook(asked_l, store_l, hose_l, asked_l - given_l, given_l / outlets.flow_l_min)


def _water(garden: Garden, sky: Sky, day: int, zone: RootZone, outlets: OutletBook) -> BedBook:
    beds = garden.beds
    rain_mm = _over(beds.name, sky.rain_mm[day]) * beds.rain_share
    irrigation_mm = _irrigation_mm(garden, outlets)
    ks_now = ks(zone.taw_mm, zone.raw_mm, zone.depletion_mm)
    soil = soil_day(zone.depletion_mm, zone.taw_mm, ks_now, zone.etc_mm, rain_mm + irrigation_mm)
    return BedBook(
        zone.kc,
        zone.etc_mm,
        ks_now,
        soil.eta_mm,
        rain_mm,
        irrigation_mm,
        soil.drained_mm,
        zone.subsoil_mm,
        zone.taw_mm,
        zone.raw_mm,
        soil.depletion_mm,
        zone.planted,
    )


def _irrigation_mm(garden: Garden, outlets: OutletBook) -> Array:
    beds = garden.beds
    watered = [bed for bed, zone in enumerate(beds.zone) if zone is not None]
    zones = [zone for zone in beds.zone if zone is not None]
    irrigation_mm = np.zeros((len(outlets.store_l), len(beds.name)))
    given_l = outlets.store_l + outlets.mains_l
    share, efficiency = beds.zone_share[:, watered], garden.outlets.efficiency[:, zones]
    irrigation_mm[:, watered] = given_l[:, zones] * share * efficiency / (beds.area_m2[:, watered] * L_PER_MM_M2)
    return irrigation_mm
