"""What a watering line of a garden gives: each jet, each bed, over the level of its store, and on a battery."""

import math
from dataclasses import dataclass
from functools import cached_property
from pathlib import Path
from typing import Literal, NamedTuple

import numpy as np

from waterbudget.errors import InputError, RangeError, SiteError
from waterbudget.line.design import Evened, JetsThatFit, jets_that_fit, minutes_for_depth, opening_that_evens
from waterbudget.line.uniformity import cu_pct, du_low_quarter_pct, emission_uniformity_pct
from waterbudget.physics.pipe import G_M_S2
from waterbudget.physics.power import (
    RHO_KG_M3,
    battery_power_w,
    energy_wh,
    measured_efficiency,
    runs_per_charge,
    usable_wh,
    water_power_w,
)
from waterbudget.schedule.hose import Hose, OverLevel, hose_of, minutes_to_fall, over_level, store_depth_m
from waterbudget.simulate.opened import Opened
from waterbudget.site.line import Line
from waterbudget.site.model import Bed, Site, Tank, Zone
from waterbudget.tables.read import named
from waterbudget.units import L_PER_MM_M2, MIN_PER_HOUR, S_PER_MIN, WEEK_DAYS, Array

DEPTHS_MM = (5.0, 10.0, 15.0)
MOST_JETS = 100
FOLLOWED_DAYS = 7  # over which a store follows the air: common practice, no source


class Jet(NamedTuple):
    """A jet of the line, counted from the tee along the pipe."""

    number: int
    bed: str
    along_m: float
    pressure_m: float
    flow_l_h: float
    is_open: bool


class Evenness(NamedTuple):
    """Emission and distribution uniformity and Christiansen's coefficient [%]."""

    eu_pct: float
    du_pct: float
    cu_pct: float


class Depth(NamedTuple):
    """What a bed gets: flow [L/min], litres and mm at the roots of a run, and minutes for DEPTHS_MM, None for never."""

    bed: str
    flow_l_min: float
    run_l: float
    run_mm: float
    minutes: tuple[float | None, ...]


class Warmest(NamedTuple):
    """The warmest water in the store [°C], None where nothing tells it; basis: who says so."""

    water_c: float | None
    basis: Literal["measured", "air", "unknown"]


class Reach(NamedTuple):
    """How far a battery's charge goes: minutes, whole runs, and runs and charges a week under the plan.

    efficiency: from battery to water, as given or as the measured minutes tell.
    """

    minutes: float
    runs: int
    runs_a_week: float
    charges_a_week: float
    efficiency: float


@dataclass(frozen=True, eq=False)
class LineFinding:
    """A zone's line at one level of its store, and what the screen, the picture and the file are made of.

    other: the same hose laid the other way, ring or dead end. evened: openings that give all beds the same depth, None
    where none do. reach: None without pump and battery.
    """

    opened: Opened
    zone: Zone
    hose: Hose
    level_l: float
    over: OverLevel
    other: Hose
    fit: JetsThatFit
    evened: Evened | None
    reach: Reach | None

    @property
    def site(self) -> Site:
        """The garden."""
        return self.opened.site

    @property
    def line(self) -> Line:
        """The line as the site file tells it."""
        return self.zone.line[0]

    @property
    def tank(self) -> Tank:
        """The store that it draws from."""
        return self.hose.tank

    @property
    def deep_m(self) -> float:
        """How deep the water stands in the store [m]."""
        return float(store_depth_m(self.tank, np.array(self.level_l / self.tank.capacity_l)))

    @property
    def flow_l_min(self) -> float:
        """Flow of the zone [L/min]."""
        return float(self.hose.total_l_min[0])

    @property
    def minutes_left(self) -> float | None:
        """Minutes of running until the store is down at its dead volume; None where the flow dies away before."""
        minutes = minutes_to_fall(self.over, self.tank.capacity_l, self.level_l, self.tank.dead_l)
        return minutes if math.isfinite(minutes) else None

    @property
    def jets_l_h(self) -> Array:
        """Flow of each jet [L/h], (jet,)."""
        jets: Array = self.hose.flow.jets_l_h[0]
        return jets

    @property
    def pressure_m(self) -> Array:
        """Pressure at each jet [m], (jet,)."""
        pressure: Array = self.hose.flow.pressure_m[0]
        return pressure

    @property
    def beds(self) -> list[Bed]:
        """The beds with jets, in the order of the pipe."""
        by_name = {bed.name: bed for bed in self.site.bed}
        return [by_name[name] for name in dict.fromkeys(jets.bed for jets in self.line.jets)]

    @cached_property
    def jets(self) -> list[Jet]:
        """All jets, in the order of the pipe."""
        hose = self.hose
        columns = zip(
            hose.bed_of_jet,
            hose.line.jet_m[0],
            hose.flow.pressure_m[0],
            hose.flow.jets_l_h[0],
            hose.line.is_open[0],
            strict=True,
        )
        return [
            Jet(number, hose.beds[bed], float(along_m), float(pressure_m), float(flow_l_h), bool(is_open))
            for number, (bed, along_m, pressure_m, flow_l_h, is_open) in enumerate(columns, 1)
        ]

    @property
    def driest(self) -> Jet:
        """The open jet that gives least."""
        return min((jet for jet in self.jets if jet.is_open), key=lambda jet: jet.flow_l_h)

    @property
    def wettest(self) -> Jet:
        """The open jet that gives most."""
        return max((jet for jet in self.jets if jet.is_open), key=lambda jet: jet.flow_l_h)

    @property
    def is_pumped(self) -> bool:
        """Whether a pump drives it."""
        return bool(self.hose.line.pump.shutoff_m[0] > 0.0)

    @property
    def throws_spray(self) -> bool:
        """Whether any of its jets does."""
        return any(jets.spray for jets in self.line.jets)

    @property
    def empty_below_l(self) -> float | None:
        """Litres in the store at which nothing comes out any more; None where something always does."""
        empty = np.flatnonzero(self.over.flow_l_min <= 0.0)
        return self.tank.capacity_l * float(empty[-1]) / (len(self.over.flow_l_min) - 1) if empty.size else None

    @cached_property
    def depths(self) -> list[Depth]:
        """What each bed with jets gets, in the order of the pipe."""
        hose, zone = self.hose, self.zone
        efficiency, depths_mm = np.array(zone.applied), np.array(DEPTHS_MM)
        rows = []
        for bed in self.beds:
            flow_l_min = float(hose.beds_l_min[0, hose.beds.index(bed.name)])
            run_l, minutes = flow_l_min * zone.minutes, tuple[float | None, ...]([None] * len(DEPTHS_MM))
            if flow_l_min > 0.0:
                area_m2, flow_l_h = np.array(bed.ground_m2), np.array(flow_l_min * MIN_PER_HOUR)
                minutes = tuple(minutes_for_depth(depths_mm, area_m2, flow_l_h, efficiency).tolist())
            run_mm = run_l * zone.applied / (bed.ground_m2 * L_PER_MM_M2)
            rows.append(Depth(bed.name, flow_l_min, run_l, run_mm, minutes))
        return rows

    @property
    def openings(self) -> dict[str, float] | None:
        """How far to open the jets of each bed so that all beds get the same depth; None where none do it."""
        if self.evened is None:
            return None
        columns = [self.hose.beds[column] for column in np.unique(self.hose.bed_of_jet)]
        opening = dict(zip(columns, self.evened.opening[0].tolist(), strict=True))
        return {bed.name: opening[bed.name] for bed in self.beds}

    @property
    def warmest(self) -> Warmest:
        """How warm the water in the store gets."""
        if self.line.water_c is not None:
            return Warmest(self.line.water_c, "measured")
        daily = self.opened.weather.daily
        if "tmean_c" in daily:
            air_c = daily["tmean_c"]
        elif "tmin_c" in daily and "tmax_c" in daily:
            air_c = (daily["tmin_c"] + daily["tmax_c"]) / 2.0
        else:
            return Warmest(None, "unknown")
        return Warmest(float(air_c.rolling(FOLLOWED_DAYS, min_periods=1).mean().max()), "air")


def evenness(hose: Hose, line: Line) -> Evenness:
    """How evenly the open jets of a line water; something has to flow."""
    flow, is_open = hose.flow.jets_l_h, hose.line.is_open
    one, cv = np.ones(1), np.array([line.maker_cv])
    found = emission_uniformity_pct(flow, one, cv, is_open), du_low_quarter_pct(flow, is_open), cu_pct(flow, is_open)
    return Evenness(*(float(each[0]) for each in found))


def find_line(opened: Opened, name: str | None = None, level_l: float | None = None) -> LineFinding:
    """Solve a zone's line with so many litres in its store, by default those of the first day.

    Raises InputError where no zone or no level is meant, SiteError where its line gives nothing.
    """
    site = opened.site
    zone = lined_zone(opened.path, site, name)
    tank = next(tank for tank in site.tank if tank.name == zone.tank)
    level_l = level_of(tank, level_l)
    filled = level_l / tank.capacity_l
    hose = hose_of(site, zone, filled)
    line = zone.line[0]
    turned = zone.model_copy(update={"line": [line.model_copy(update={"ring": not line.ring})]})
    fit = jets_that_fit(hose.line, line.working_m, rule="respaced", most=MOST_JETS)
    return LineFinding(
        opened,
        zone,
        hose,
        level_l,
        over_level(site, zone),
        hose_of(site, turned, filled),
        fit,
        _evened(hose, site),
        _reach(opened.path, site, zone, hose),
    )


def lined_zone(path: Path, site: Site, name: str | None) -> Zone:
    """The zone of a name that has a line; without a name the only one that has. Raises InputError otherwise."""
    lined = [zone for zone in site.zone if zone.line]
    if name is None and len(lined) == 1:
        return lined[0]
    if not lined:
        raise InputError(
            f"{path}: no zone has a [[zone.line]]; add one with its pipe and jets: data_demo/hose/site.toml shows how"
        )
    known = " or ".join(f'"{zone.name}"' for zone in lined)
    if name is None:
        raise InputError(f"{path}: several zones have a line; name one: {known}")
    names = [zone.name for zone in lined]
    return lined[names.index(named(name, names, "zone with a [[zone.line]]"))]


def level_of(tank: Tank, level_l: float | None) -> float:
    """Litres in a store: those given, else those of the first day. Raises InputError where they do not fit."""
    if level_l is None:
        return tank.start_l
    if not 0.0 <= level_l <= tank.capacity_l:
        raise InputError(f'"{tank.name}" cannot hold {level_l:g} L; write 0 to {tank.capacity_l:g}, its capacity')
    return level_l


def _evened(hose: Hose, site: Site) -> Evened | None:
    columns = np.unique(hose.bed_of_jet)
    area_m2 = np.array([bed.ground_m2 for bed in site.bed])[columns]
    try:
        return opening_that_evens(hose.line, np.searchsorted(columns, hose.bed_of_jet), area_m2)
    except RangeError:
        return None


def _reach(path: Path, site: Site, zone: Zone, hose: Hose) -> Reach | None:
    battery, pump, flow = site.battery, site.pump, hose.flow
    pumps = zone.line[0].pumped and bool(flow.total_m3_s[0] > 0.0 and flow.pump_head_m[0] > 0.0)
    if battery is None or pump is None or not pumps:
        return None
    flow_m3_s, head_m, rho, g = flow.total_m3_s, flow.pump_head_m, np.array(RHO_KG_M3), np.array(G_M_S2)
    stored_wh = usable_wh(*(np.array([part]) for part in (battery.volts, battery.amp_hours, battery.usable_share)))
    key = "efficiency" if battery.minutes_to_empty is None else "minutes_to_empty"
    efficiency = np.array([battery.efficiency])
    if battery.minutes_to_empty is not None:
        seen_minutes = np.array([battery.minutes_to_empty])
        try:
            efficiency = measured_efficiency(stored_wh, seen_minutes, flow_m3_s, head_m, rho, g)
        except RangeError as error:
            most = float((stored_wh / energy_wh(flow_m3_s * S_PER_MIN, head_m, np.ones(1), rho, g))[0])
            raise SiteError(
                f"{path}: battery.minutes_to_empty: is {battery.minutes_to_empty:g}, but a charge holds no more than "
                f"{most:.0f} minutes of what this pump lifts; measure again, or correct pump, jets and volts"
            ) from error
    try:
        motor_w = np.array([pump.motor_w or np.inf])
        battery_power_w(water_power_w(flow_m3_s, head_m, rho, g), efficiency, motor_w)
    except RangeError as error:
        raise SiteError(f"{path}: battery.{key}: {error}; measure again, or correct pump and jets") from error
    minute_wh = energy_wh(flow_m3_s * S_PER_MIN, head_m, efficiency, rho, g)
    days = len(zone.weekdays) if zone.weekdays else WEEK_DAYS / zone.every_days
    a_week, run_wh = zone.runs_per_day * days, minute_wh * zone.minutes
    return Reach(
        minutes=float(stored_wh[0] / minute_wh[0]),
        runs=int(runs_per_charge(stored_wh, run_wh)[0]) if zone.minutes > 0.0 else 0,
        runs_a_week=a_week,
        charges_a_week=float(a_week * run_wh[0] / stored_wh[0]),
        efficiency=float(efficiency[0]),
    )
