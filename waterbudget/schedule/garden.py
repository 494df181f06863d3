"""A site as arrays (scenario, item), the form in which thousands of gardens run at once."""

from dataclasses import dataclass
from functools import cached_property

import numpy as np

from waterbudget.schedule.hose import OverLevel, over_level
from waterbudget.site.model import WEEKDAYS, Draw, MonthDay, Site, Tank, Zone
from waterbudget.units import Array, BoolArray, IntArray

NEVER = np.inf  # a threshold that no day reaches


@dataclass(frozen=True)
class Roofs:
    """Arrays (scenario, roof); tank: the column of the tank that each roof feeds."""

    name: tuple[str, ...]
    tank: tuple[int, ...]
    area_m2: Array
    runoff_coefficient: Array
    loss_mm: Array
    first_flush_l: Array
    filter_efficiency: Array

    @cached_property
    def onto(self) -> dict[int, tuple[int, ...]]:
        """For each tank that a roof feeds the columns of its roofs."""
        return {tank: tuple(roof for roof, fed in enumerate(self.tank) if fed == tank) for tank in set(self.tank)}


@dataclass(frozen=True)
class Tanks:
    """Arrays (scenario, tank); overflow_to: the column that takes the spill, None for the drain."""

    name: tuple[str, ...]
    mains: tuple[str, ...]
    overflow_to: tuple[int | None, ...]
    capacity_l: Array
    dead_l: Array
    start_l: Array
    loss_l_per_day: Array
    float_below_l: Array
    float_to_l: Array

    @cached_property
    def downhill(self) -> tuple[int, ...]:
        """Columns in an order in which a tank comes before the one it overflows to."""
        ordered: list[int] = []
        while len(ordered) < len(self.name):
            waiting = [tank for tank in range(len(self.name)) if tank not in ordered]
            fed = {self.overflow_to[upper] for upper in waiting}
            ordered += [tank for tank in waiting if tank not in fed]
        return tuple(ordered)


@dataclass(frozen=True)
class Outlets:
    """Everything that takes water from a tank, zones first, then other draws; arrays (scenario, outlet).

    flow_l_min is infinite for a draw that has no valve, so that its minutes are 0; of a watering line it is that from a
    full store. follows: outlets whose flow follows the level; factor: their flow over that from a full store at
    even steps of the level, empty and full among them, (level, scenario, follower).
    run_l: litres of a day's full run; hot_run_l: the same on a day whose maximum reaches hot_above_c.
    month_day: month times 100 plus day. listed: (weekday, scenario, outlet), Monday first.
    every_from: day number (days since 1970-01-01), NaN for the first day of the run.
    """

    name: tuple[str, ...]
    zones: int
    tank: tuple[int, ...]
    priority: tuple[int, ...]
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
    skip_rain_days: tuple[int, ...]
    when_dry: BoolArray
    dry_at: Array
    refill: BoolArray
    leave_mm: Array
    efficiency: Array
    follows: tuple[int, ...]
    factor: Array

    @cached_property
    def takers(self) -> dict[int, tuple[int, ...]]:
        """For each tank the columns of its outlets, as they are served."""
        return {tank: tuple(taker for rank in ranks for taker in rank) for tank, ranks in self.ranks.items()}

    @cached_property
    def ranks(self) -> dict[int, tuple[tuple[int, ...], ...]]:
        """For each tank the columns of its outlets, by ascending priority."""
        ranked = {}
        for tank in set(self.tank):
            here = [outlet for outlet, source in enumerate(self.tank) if source == tank]
            levels = sorted({self.priority[outlet] for outlet in here})
            ranked[tank] = tuple(tuple(o for o in here if self.priority[o] == level) for level in levels)
        return ranked


@dataclass(frozen=True)
class Beds:
    """Arrays (scenario, bed); zone: the column of the zone that waters each bed, None for rain alone.

    zone_share: share of its zone's water that is aimed at the bed. follows: beds whose share follows the level of the
    store; share: theirs at even steps of it, empty and full among them, (level, scenario, follower).
    """

    name: tuple[str, ...]
    zone: tuple[int | None, ...]
    area_m2: Array
    zone_share: Array
    available_water_mm_m: Array
    rain_share: Array
    et_factor: Array
    start_depleted: Array
    follows: tuple[int, ...]
    share: Array

    def by_zone(self, values: Array) -> Array:
        """Of values (scenario, outlet) that of each bed's zone, (scenario, bed); 0 for a bed without one."""
        of_zone = np.zeros((len(values), len(self.zone)))
        for bed, zone in enumerate(self.zone):
            if zone is not None:
                of_zone[:, bed] = values[:, zone]
        return of_zone


@dataclass(frozen=True)
class Garden:
    """A site as arrays; a scenario axis of length 1 stands for all scenarios."""

    roofs: Roofs
    tanks: Tanks
    outlets: Outlets
    beds: Beds
    before_spill: bool
    adjust_p: bool


def garden_of(site: Site) -> Garden:
    """The garden of a site, with one scenario. Raises SiteError where a watering line gives nothing."""
    lines = {zone.name: over_level(site, zone) for zone in site.zone if zone.hose is not None}
    tank_column = {tank.name: column for column, tank in enumerate(site.tank)}
    return Garden(
        roofs=_roofs(site, tank_column),
        tanks=_tanks(site.tank, tank_column),
        outlets=_outlets(site.zone, site.draw, tank_column, lines),
        beds=_beds(site, lines),
        before_spill=site.model.release == "before_spill",
        adjust_p=site.model.adjust_p,
    )


def _row(values: list[float]) -> Array:
    return np.array([values], dtype=np.float64)


def _roofs(site: Site, tank_column: dict[str, int]) -> Roofs:
    return Roofs(
        name=tuple(roof.name for roof in site.roof),
        tank=tuple(tank_column[roof.tank] for roof in site.roof),
        area_m2=_row([roof.area_m2 for roof in site.roof]),
        runoff_coefficient=_row([roof.runoff for roof in site.roof]),
        loss_mm=_row([roof.wetting_loss_mm for roof in site.roof]),
        first_flush_l=_row([roof.first_flush_l for roof in site.roof]),
        filter_efficiency=_row([roof.filter_efficiency for roof in site.roof]),
    )


def _tanks(tanks: list[Tank], tank_column: dict[str, int]) -> Tanks:
    return Tanks(
        name=tuple(tank.name for tank in tanks),
        mains=tuple(tank.mains for tank in tanks),
        overflow_to=tuple(tank_column[tank.overflow_to] if tank.overflow_to else None for tank in tanks),
        capacity_l=_row([tank.capacity_l for tank in tanks]),
        dead_l=_row([tank.dead_l for tank in tanks]),
        start_l=_row([tank.start_l for tank in tanks]),
        loss_l_per_day=_row([tank.loss_l_per_day for tank in tanks]),
        float_below_l=_row([tank.float_below_l or 0.0 for tank in tanks]),
        float_to_l=_row([tank.float_to_l or 0.0 for tank in tanks]),
    )


def _outlets(zones: list[Zone], draws: list[Draw], tank_column: dict[str, int], lines: dict[str, OverLevel]) -> Outlets:
    takers: list[Zone | Draw] = [*zones, *draws]
    resting = [0.0] * len(draws)
    flow_l_min = [float(lines[z.name].flow_l_min[-1]) if z.flow_l_min is None else z.flow_l_min for z in zones]
    full_l = [zone.minutes * zone.runs_per_day * flow for zone, flow in zip(zones, flow_l_min, strict=True)]
    hot_l = [
        (zone.minutes if zone.hot_minutes is None else zone.hot_minutes) * zone.runs_per_day * flow
        for zone, flow in zip(zones, flow_l_min, strict=True)
    ]
    follows = tuple(column for column, zone in enumerate(zones) if zone.flow_l_min is None)
    never = [NEVER] * len(draws)
    draw_l = [draw.l_per_day for draw in draws]
    return Outlets(
        name=tuple(taker.name for taker in takers),
        zones=len(zones),
        tank=tuple(tank_column[taker.tank] for taker in takers),
        priority=tuple(taker.priority for taker in takers),
        flow_l_min=_row([*flow_l_min, *([np.inf] * len(draws))]),
        run_l=_row([*full_l, *draw_l]),
        hot_run_l=_row([*hot_l, *draw_l]),
        hot_above_c=_row([*(NEVER if zone.hot_above_c is None else zone.hot_above_c for zone in zones), *never]),
        listed=np.array([[[_listed(taker, day) for taker in takers]] for day in WEEKDAYS], dtype=np.bool_),
        every_days=np.array([[*(zone.every_days for zone in zones), *([1] * len(draws))]], dtype=np.int64),
        every_from=_row([*(_day_number(zone) for zone in zones), *resting]),
        season_from=np.array([[_month_day(taker.season_from, 101) for taker in takers]], dtype=np.int64),
        season_to=np.array([[_month_day(taker.season_to, 1231) for taker in takers]], dtype=np.int64),
        skip_rain_mm=_row([*(zone.skip_rain_mm or NEVER for zone in zones), *never]),
        skip_rain_days=(*(zone.skip_rain_days or 0 for zone in zones), *([0] * len(draws))),
        when_dry=np.array([[*(zone.plan == "dry" for zone in zones), *([False] * len(draws))]], dtype=np.bool_),
        dry_at=_row([*(zone.dry_at for zone in zones), *resting]),
        refill=np.array([[*(zone.plan == "refill" for zone in zones), *([False] * len(draws))]], dtype=np.bool_),
        leave_mm=_row([*(zone.leave_mm for zone in zones), *resting]),
        efficiency=_row([*(zone.applied for zone in zones), *([1.0] * len(draws))]),
        follows=follows,
        factor=_over_level([lines[zones[z].name].flow_l_min / flow_l_min[z] for z in follows]),
    )


def _listed(taker: Zone | Draw, weekday: str) -> bool:
    return taker.weekdays is None or weekday in taker.weekdays


def _day_number(zone: Zone) -> float:
    return np.nan if zone.every_from is None else float(np.datetime64(zone.every_from, "D").astype(np.int64))


def _month_day(day: MonthDay | None, default: int) -> int:
    return default if day is None else day.month * 100 + day.day


def _over_level(columns: list[Array]) -> Array:
    return np.stack(columns, axis=-1)[:, np.newaxis] if columns else np.zeros((1, 1, 0))


def _beds(site: Site, lines: dict[str, OverLevel]) -> Beds:
    zone_column = {zone.name: column for column, zone in enumerate(site.zone)}
    aimed = {zone.name: sum(bed.weight for bed in site.bed if bed.zone == zone.name) for zone in site.zone}
    by_hand = {bed.zone for bed in site.bed if bed.share is not None}
    follows = tuple(column for column, bed in enumerate(site.bed) if bed.zone in lines and bed.zone not in by_hand)
    share = _over_level([lines[site.bed[column].zone or ""].shares[:, column] for column in follows])
    zone_share = _row([bed.weight / aimed[bed.zone] if bed.zone else 0.0 for bed in site.bed])
    zone_share[:, list(follows)] = share[-1]
    return Beds(
        name=tuple(bed.name for bed in site.bed),
        zone=tuple(zone_column[bed.zone] if bed.zone else None for bed in site.bed),
        area_m2=_row([bed.ground_m2 for bed in site.bed]),
        zone_share=zone_share,
        available_water_mm_m=_row([bed.available_mm_m for bed in site.bed]),
        rain_share=_row([bed.rain_part for bed in site.bed]),
        et_factor=_row([bed.et_factor for bed in site.bed]),
        start_depleted=_row([bed.start_depleted for bed in site.bed]),
        follows=follows,
        share=share,
    )
