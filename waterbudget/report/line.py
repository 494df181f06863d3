"""The screen of line: what a watering line gives, how evenly, how long to run it, and what to beware of."""

import json
import math
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import NamedTuple

import numpy as np

from waterbudget.errors import InputError, RangeError, SiteError
from waterbudget.line.design import Evened, JetsThatFit, jets_that_fit, minutes_for_depth, opening_that_evens
from waterbudget.line.solve import solve
from waterbudget.line.uniformity import cu_pct, du_low_quarter_pct, emission_uniformity_pct
from waterbudget.output import refuse_outputs, write_files
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
from waterbudget.report.answer import Answer
from waterbudget.report.text import LEVELS, ROUNDING
from waterbudget.report.words import count, listed, litres, percent, screen, section, table, wrapped
from waterbudget.schedule.hose import Hose, OverLevel, hose_of, minutes_to_fall, over_level, store_depth_m
from waterbudget.simulate.opened import Opened, open_site
from waterbudget.site.line import Line
from waterbudget.site.model import Bed, Site, Tank, Zone
from waterbudget.tables.cautions import cautions
from waterbudget.units import L_PER_MM_M2, MIN_PER_HOUR, S_PER_MIN, Array

DEPTHS_MM = (5.0, 10.0, 15.0)
MOST_JETS = 100
DAYS_PER_WEEK = 7
WARM_C = 20.0
WEEK = 7  # days over which a store follows the air: common practice, no source
EVEN_SHARE = 0.05  # beds whose depths differ by no more than this share of the largest are even
RESERVE = 0.2  # of a charge: common practice, no source
PICTURE_COLUMNS = 72


@dataclass(frozen=True, eq=False)
class Findings:
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
    reach: "Reach | None"

    def __str__(self) -> str:
        """The screen."""
        return line_screen(self)

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

    @property
    def layout(self) -> str:
        """Ring or dead end."""
        return laid(ring=self.line.ring)


class Reach(NamedTuple):
    """How far a battery's charge goes: minutes, whole runs, and runs and charges a week under the plan.

    efficiency: from battery to water, as given or as the measured minutes tell.
    """

    minutes: float
    runs: int
    runs_a_week: float
    charges_a_week: float
    efficiency: float


def answer_line(
    path: Path | None, zone: str | None, level_l: float | None, plot: Path | None, *, overwrite: bool, as_json: bool
) -> Answer:
    """What a zone's line gives; plot: picture file. Raises InputError for what the user can mend."""
    refuse_outputs(None, plot, overwrite=overwrite)
    findings = find_line(open_site(path), zone, level_l)
    contents = {}
    if plot is not None:
        from waterbudget.report.line_figure import line_picture

        contents[plot] = line_picture(findings, plot.suffix)
    write_files(contents, overwrite=overwrite)
    notes = (*findings.opened.notes, *(f"Written: {file}" for file in contents))
    return Answer(line_json(findings) if as_json else line_screen(findings), notes)


def find_line(opened: Opened, name: str | None = None, level_l: float | None = None) -> Findings:
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
    return Findings(
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
    known = listed([f'"{zone.name}"' for zone in lined], "or")
    if name is None:
        raise InputError(f"{path}: several zones have a line; name one: {known}")
    for zone in lined:
        if zone.name == name:
            return zone
    raise InputError(f'"{name}" is no zone with a [[zone.line]]; name {known}')


def level_of(tank: Tank, level_l: float | None) -> float:
    """Litres in a store: those given, else those of the first day. Raises InputError where they do not fit."""
    if level_l is None:
        return tank.start_l
    if not 0.0 <= level_l <= tank.capacity_l:
        raise InputError(f'"{tank.name}" cannot hold {level_l:g} L; write 0 to {tank.capacity_l:g}, its capacity')
    return level_l


def laid(*, ring: bool) -> str:
    """How a pipe is laid."""
    return "ring" if ring else "dead end"


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
    days = len(zone.weekdays) if zone.weekdays else DAYS_PER_WEEK / zone.every_days
    a_week, run_wh = zone.runs_per_day * days, minute_wh * zone.minutes
    return Reach(
        minutes=float(stored_wh[0] / minute_wh[0]),
        runs=int(runs_per_charge(stored_wh, run_wh)[0]) if zone.minutes > 0.0 else 0,
        runs_a_week=a_week,
        charges_a_week=float(a_week * run_wh[0] / stored_wh[0]),
        efficiency=float(efficiency[0]),
    )


def line_json(findings: Findings) -> str:
    """The findings as JSON, L/h and metres."""
    reach, evened = findings.reach, findings.evened
    summary = {
        "site": findings.site.site.name,
        "zone": findings.zone.name,
        "level_l": findings.level_l,
        "flow_l_min": findings.flow_l_min,
        "minutes_left": findings.minutes_left,
        "jets": [
            {"bed": jet.bed, "along_m": jet.along_m, "pressure_m": jet.pressure_m, "flow_l_h": jet.flow_l_h}
            for jet in jets_of(findings)
        ],
        "uniformity": None if findings.flow_l_min <= 0.0 else evenness(findings.hose, findings.line)._asdict(),
        "other_layout": {
            "ring": not findings.line.ring,
            "flow_l_min": float(findings.other.total_l_min[0]),
        },
        "jets_more": int(findings.fit.more[0]),
        "beds": [row._asdict() for row in depths(findings)],
        "opening_that_evens": None if evened is None else dict(openings(findings)),
        "battery": None if reach is None else reach._asdict(),
        "warnings": list(warnings(findings)),
    }
    return json.dumps(summary, indent=2, ensure_ascii=False)


def line_screen(findings: Findings) -> str:
    """Everything a gardener needs to know of a line, at most 100 columns wide."""
    return screen(
        [wrapped(heading(findings))],
        [wrapped(line) for line in verdict(findings)],
        section("Beware", warnings(findings), lead="  ! "),
        bed_table(findings),
        section("To even the beds out", evening(findings)),
        layouts(findings),
        section("More jets", [more_jets(findings)]),
        section("Battery", battery(findings)),
        level_table(findings),
        jet_table(findings),
        picture(findings),
        section("Assumed", assumptions(findings)),
        section("Take care", cautions_shown(findings)),
    )


# ---- The answer ----------------------------------------------------------------------------------------------------


def heading(findings: Findings) -> str:
    """The zone, its garden, and the level it was solved for."""
    deep_m = float(store_depth_m(findings.tank, np.array(findings.level_l / findings.tank.capacity_l)))
    return (
        f"{findings.zone.name} of {findings.site.site.name}, with {litres(findings.level_l)} L in {findings.tank.name} "
        f"({deep_m:.2f} m deep)"
    )


def verdict(findings: Findings) -> list[str]:
    """What the line gives, and how evenly."""
    zone, jets = findings.zone, int(findings.hose.line.is_open.sum())
    if findings.flow_l_min <= 0.0:
        return ["At this level nothing comes out: water and pump do not reach the lowest open jet."]
    dry, wet = extremes(findings)
    run_l = findings.flow_l_min * zone.minutes
    even = evenness(findings.hose, findings.line)
    run = f"a run of {zone.minutes:g} minutes takes {litres(run_l)} L"
    ends = f"Driest is {_jet(dry)}, wettest {_jet(wet)}"
    pct = f"EU {even.eu_pct:.0f} %, DU {even.du_pct:.0f} %, CU {even.cu_pct:.0f} %"
    return [
        f"The {findings.layout} with {count(jets, 'open jet')} gives {_flow(findings.flow_l_min)}: {run}.",
        f"{ends}. {pct}: {_grade(even.du_pct)}.",
    ]


def _jet(jet: "Jet") -> str:
    return f"jet {jet.number} on {jet.bed} ({jet.flow_l_h:.1f} L/h)"


def _flow(flow_l_min: float) -> str:
    return f"{flow_l_min:.2f} L/min ({flow_l_min * MIN_PER_HOUR:,.0f} L/h)"


def _grade(du_pct: float) -> str:
    """A word for DUlq: 90, 80 and 70 as limits, from memory."""
    limits = ((90.0, "very even"), (80.0, "good"), (70.0, "fair"))
    return next((word for limit, word in limits if du_pct >= limit), "poor: some beds or jets get far too little")


class Jet(NamedTuple):
    """A jet of the line, counted from the tee along the pipe."""

    number: int
    bed: str
    along_m: float
    pressure_m: float
    flow_l_h: float
    is_open: bool


def jets_of(findings: Findings) -> list[Jet]:
    """All jets, in the order of the pipe."""
    hose = findings.hose
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


def extremes(findings: Findings) -> tuple[Jet, Jet]:
    """The driest and the wettest of the open jets."""
    jets = [jet for jet in jets_of(findings) if jet.is_open]
    return min(jets, key=lambda jet: jet.flow_l_h), max(jets, key=lambda jet: jet.flow_l_h)


class Evenness(NamedTuple):
    """Emission and distribution uniformity and Christiansen's coefficient [%]."""

    eu_pct: float
    du_pct: float
    cu_pct: float


def evenness(hose: Hose, line: Line) -> Evenness:
    """How evenly the open jets of a line water; something has to flow."""
    flow, is_open = hose.flow.jets_l_h, hose.line.is_open
    one, cv = np.ones(1), np.array([line.maker_cv])
    found = emission_uniformity_pct(flow, one, cv, is_open), du_low_quarter_pct(flow, is_open), cu_pct(flow, is_open)
    return Evenness(*(float(each[0]) for each in found))


# ---- Beds ----------------------------------------------------------------------------------------------------------


class Depth(NamedTuple):
    """What one bed gets: flow [L/min], litres and mm at the roots of a run, and minutes for DEPTHS_MM."""

    bed: str
    flow_l_min: float
    run_l: float
    run_mm: float
    minutes: tuple[float | None, ...]


def depths(findings: Findings) -> list[Depth]:
    """A row for each bed with jets; minutes are None where it gets nothing."""
    hose, zone = findings.hose, findings.zone
    efficiency, depths_mm = np.array(zone.applied), np.array(DEPTHS_MM)
    rows = []
    for bed in findings.beds:
        flow_l_min = float(hose.beds_l_min[0, hose.beds.index(bed.name)])
        run_l, minutes = flow_l_min * zone.minutes, tuple[float | None, ...]([None] * len(DEPTHS_MM))
        if flow_l_min > 0.0:
            area_m2, flow_l_h = np.array(bed.ground_m2), np.array(flow_l_min * MIN_PER_HOUR)
            minutes = tuple(minutes_for_depth(depths_mm, area_m2, flow_l_h, efficiency).tolist())
        rows.append(Depth(bed.name, flow_l_min, run_l, run_l * zone.applied / (bed.ground_m2 * L_PER_MM_M2), minutes))
    return rows


def bed_table(findings: Findings) -> list[str]:
    """Litres and depth of a run on each bed, and the minutes for some depths."""
    rows = [
        (row.bed, f"{row.flow_l_min:.2f}", f"{row.run_l:.1f}", f"{row.run_mm:.1f}", *map(_minutes, row.minutes))
        for row in depths(findings)
    ]
    run = f"{findings.zone.minutes:g} minutes"
    head = ("Beds", "flow", run, "at the roots", *(f"for {depth:g} mm" for depth in DEPTHS_MM))
    return table(head, rows, units=("", "L/min", "L", "mm", *["minutes"] * len(DEPTHS_MM)))


def _minutes(minutes: float | None) -> str:
    return "never" if minutes is None else f"{minutes:.1f}"


def openings(findings: Findings) -> Iterator[tuple[str, float]]:
    """The opening of each bed's jets that evens the beds out."""
    if findings.evened is not None:
        ordered = [findings.hose.beds[column] for column in np.unique(findings.hose.bed_of_jet)]
        yield from zip(ordered, findings.evened.opening[0].tolist(), strict=True)


def evening(findings: Findings) -> Iterator[str]:
    """How far to open the jets of each bed so that all get the same depth."""
    evened, zone = findings.evened, findings.zone
    if evened is None:
        yield "No opening does it: the highest or farthest bed gets too little. Lower it, or give it a line of its own."
        return
    by_depth = [row.run_mm for row in depths(findings)]
    if max(by_depth) - min(by_depth) <= EVEN_SHARE * max(by_depth):
        yield "Nothing to do: all beds get nearly the same depth."
        return
    names = [bed.name for bed in findings.beds]
    by_bed = sorted(openings(findings), key=lambda one: names.index(one[0]))
    flow_l_min = float(evened.flow.total_l_h[0]) / MIN_PER_HOUR
    area_m2 = sum(bed.ground_m2 for bed in findings.beds)
    mm = flow_l_min * zone.minutes * zone.applied / area_m2
    shares = listed([f"{name} {percent(opening)}" for name, opening in by_bed])
    yield f"Open {shares}; then {_flow(flow_l_min)} come, and each bed gets {mm:.1f} mm in {zone.minutes:g} minutes."
    yield "An opening is a share of the jet's flow, not of its turns: set it by catching the water of a jet in a cup."


# ---- The hose ------------------------------------------------------------------------------------------------------


def layouts(findings: Findings) -> list[str]:
    """Ring against dead end for the same hose and jets."""
    rows = []
    for hose, ring in ((findings.hose, findings.line.ring), (findings.other, not findings.line.ring)):
        flow = hose.flow.jets_l_h[0][hose.line.is_open[0]]
        pressure_m = hose.flow.pressure_m[0][hose.line.is_open[0]]
        du = f"{evenness(hose, findings.line).du_pct:.0f}" if hose.total_l_min[0] > 0.0 else "–"
        name = f"{laid(ring=ring)}{' (as it is)' if hose is findings.hose else ''}"
        rows.append(
            (
                name,
                f"{hose.total_l_min[0]:.2f}",
                f"{flow.min():.1f}",
                f"{flow.max():.1f}",
                f"{pressure_m.min():.1f}",
                du,
            )
        )
    head = ("Laid as a", "flow", "driest jet", "wettest jet", "least pressure", "DU")
    return table(head, rows, units=("", "L/min", "L/h", "L/h", "m", "%"))


def more_jets(findings: Findings) -> str:
    """How many more jets fit before the last falls under its working pressure."""
    most, more = int(findings.fit.most[0]), int(findings.fit.more[0])
    working = f"{findings.line.working_m:g} m"
    least_m = float(findings.pressure_m[findings.hose.line.is_open[0]].min())
    spaced = f"on the same {findings.line.length_m:g} m, all like the first one and evenly spaced"
    if most >= MOST_JETS:
        return f"{MOST_JETS} jets and more keep their {working} of pressure {spaced}."
    if more > 0:
        more_fit = f"{count(more, 'more jet')} {'fits' if more == 1 else 'fit'}, {most} in all"
        return f"{more_fit}, before the last falls under {working} of pressure, {spaced}."
    if more == 0:
        return f"None fit: one more, and the last falls under {working} of pressure, {spaced}."
    if most == 0:
        return f"None fit, and not even one would get its {working} of pressure: the last has {least_m:.1f} m now."
    too_many = f"there {'is' if more == -1 else 'are'} {-more} too many now, the last has {least_m:.1f} m"
    return f"None fit: {too_many}. {count(most, 'jet')} would keep {working} of pressure, {spaced}."


def battery(findings: Findings) -> Iterator[str]:
    """Runs on a charge, and charges a week under the plan."""
    reach, given = findings.reach, findings.site.battery
    if reach is None or given is None:
        return
    told = "measured" if given.minutes_to_empty is not None else "reckoned"
    share = percent(reach.efficiency)
    of = f"{share} of its energy gets into the water"
    yield f"A charge drives the line for about {reach.minutes:.0f} minutes ({told}; {of})."
    run = f"a run of {findings.zone.minutes:g} minutes"
    if reach.runs == 0:
        yield f"That is less than {run}: recharge before the end, or take a larger battery."
        return
    reserve = math.floor(reach.minutes * (1.0 - RESERVE) / findings.zone.minutes)
    runs = f"{count(reach.runs, 'whole run')} of {findings.zone.minutes:g} minutes"
    yield f"{runs} on a charge, {reserve} with a fifth kept in reserve."
    yield f"The plan makes at most {reach.runs_a_week:.3g} runs a week: {reach.charges_a_week:.1f} charges."


def level_table(findings: Findings) -> list[str]:
    """The flow from a store that is full, half full and so on."""
    over, capacity_l = findings.over, findings.tank.capacity_l
    rows = []
    for share, name in (
        (1.0, "full"),
        (0.75, "three quarters"),
        (0.5, "half full"),
        (0.25, "a quarter"),
        (0.0, "empty"),
    ):
        flow_l_min = over.flow_l_min[round(share * (len(over.flow_l_min) - 1))]
        rows.append(
            (name, litres(share * capacity_l), f"{flow_l_min:.2f}", f"{litres(flow_l_min * findings.zone.minutes)}")
        )
    return table(
        ("With the store", "holding", "flow", f"{findings.zone.minutes:g} minutes"), rows, units=("", "L", "L/min", "L")
    )


def jet_table(findings: Findings) -> list[str]:
    """A line for each jet."""
    rows = [
        (
            f"{jet.number}",
            jet.bed,
            f"{jet.along_m:.2f}",
            f"{jet.pressure_m:.2f}",
            f"{jet.flow_l_h:.1f}" if jet.is_open else "shut",
        )
        for jet in jets_of(findings)
    ]
    return table(("Jet", "on", "along", "pressure", "flow"), rows, units=("", "", "m", "m", "L/h"))


def picture(findings: Findings) -> list[str]:
    """The flow along the hose as a row of blocks, one for each jet."""
    if findings.flow_l_min <= 0.0:
        return []
    share = findings.jets_l_h / findings.jets_l_h.max()
    blocks = "".join(LEVELS[math.ceil(part * (len(LEVELS) - 1) - ROUNDING)] for part in share)
    end = "back to the tee" if findings.line.ring else "dead end"
    rows = [blocks[start : start + PICTURE_COLUMNS] for start in range(0, len(blocks), PICTURE_COLUMNS)]
    rows = [f"  tee |{row}|" if number == 0 else f"      |{row}|" for number, row in enumerate(rows)]
    return ["Flow along the hose, one column a jet; █ the wettest", *rows[:-1], f"{rows[-1]} {end}"]


# ---- What to beware of ---------------------------------------------------------------------------------------------


def warnings(findings: Findings) -> Iterator[str]:
    """What is wrong or risky about the line."""
    yield from _pressure_warnings(findings)
    yield from _store_warnings(findings)
    yield from _mist(findings)
    yield from _overridden(findings)


def _pressure_warnings(findings: Findings) -> Iterator[str]:
    flow, hose, line = findings.hose.flow, findings.hose, findings.line
    flags, is_open = flow.flags, hose.line.is_open[0]
    dry = int((is_open & (flow.jets_m3_s[0] <= 0.0)).sum())
    weak = int((is_open & (findings.pressure_m < line.working_m)).sum()) - dry
    if flags.beyond_pump_curve[0]:
        yield (
            "The pump is off its curve: more flows than it is told to pump, so its head there is a guess. Shut some "
            "jets, or check the pump's figures."
        )
    if dry and not flags.no_flow[0]:
        yield f"{count(dry, 'open jet')} run{'s' if dry == 1 else ''} dry: the pressure does not reach them."
    if weak > 0:
        verb = "has" if weak == 1 else "have"
        yield f"{count(weak, 'jet')} {verb} less than the {line.working_m:g} m of pressure that they need to work well."
    if flags.negative_pressure[0]:
        yield "The pipe lies above the pressure line somewhere: a leak or an open jet there draws air in."
    if flags.out_of_range[0]:
        yield (
            "Bore, length, jets, heads or heights lie outside what this was tested on (bore 10-20 mm, pipe 10-60 m, "
            "60 jets, k 1-30 L/h, 40 m of head): take the figures as rough."
        )


def _store_warnings(findings: Findings) -> Iterator[str]:
    hose, tank, over = findings.hose, findings.tank, findings.over
    pumped = bool(hose.line.pump.shutoff_m[0] > 0.0)
    if hose.flow.flags.siphons_when_off[0]:
        idle_l_h = float(solve(hose.line.without_pump()).total_l_h[0])
        above_m = float(hose.line.source_m[0] - hose.line.lowest_m[0])
        yield (
            f"The water stands {above_m:.2f} m above the lowest open jet: with the pump off it siphons on at about "
            f"{idle_l_h:.0f} L/h until a valve is shut. Fit a valve, or a siphon break, at the pump."
        )
    if pumped:
        minutes = findings.minutes_left
        lasts = f", after about {count(round(minutes), 'minute')} of running" if minutes else ""
        yield (
            f"At {litres(tank.dead_l)} L, the dead volume, the pump runs dry{lasts}: "
            "fit a float switch, and set the intake above the sludge."
        )
        if tank.dead_l <= 0.0:
            yield f"{tank.name} has no dead_l, but no pump empties a store: write the litres below its intake."
    empty = np.flatnonzero(over.flow_l_min <= 0.0)
    if empty.size:
        none_l = tank.capacity_l * empty[-1] / (len(over.flow_l_min) - 1)
        yield (
            f"At about {litres(none_l)} L and less nothing comes out. The daily model then asks the store for nothing, "
            "and books no shortage: look at the thirsty days of its beds."
        )


def _mist(findings: Findings) -> Iterator[str]:
    if not any(jets.spray for jets in findings.line.jets):
        return
    water_c, source = water_temperature(findings)
    if water_c is None:
        yield f"These jets throw spray, and {source}: measure it, and send no water above {WARM_C:g} °C into the air."
    elif water_c > WARM_C:
        yield (
            f"The water gets to {water_c:.0f} °C ({source}), and these jets throw spray: Legionella multiply above "
            f"{WARM_C:g} °C. Take drippers, or do not run the line in such weeks."
        )


def water_temperature(findings: Findings) -> tuple[float | None, str]:
    """The warmest water in the store [°C], and who says so; None where nobody does."""
    if findings.line.water_c is not None:
        return findings.line.water_c, "measured: water_c in the site file"
    daily = findings.opened.weather.daily
    if "tmean_c" in daily:
        air_c = daily["tmean_c"]
    elif "tmin_c" in daily and "tmax_c" in daily:
        air_c = (daily["tmin_c"] + daily["tmax_c"]) / 2.0
    else:
        return None, "nothing tells how warm the store gets"
    warmest = float(air_c.rolling(WEEK, min_periods=1).mean().max())
    return warmest, "guessed: the warmest week's air in the weather, which a store follows; not measured"


def _overridden(findings: Findings) -> Iterator[str]:
    zone = findings.zone
    if zone.flow_l_min is not None:
        yield (
            f"The site file gives flow_l_min = {zone.flow_l_min:g}, and the daily model uses that, not the "
            f"{findings.flow_l_min:.2f} L/min of this line."
        )
    if any(bed.share is not None for bed in findings.site.bed if bed.zone == zone.name):
        yield "The site file gives shares of its beds, and the daily model uses those, not the ones of this line."


# ---- What it rests on ----------------------------------------------------------------------------------------------


def assumptions(findings: Findings) -> list[str]:
    """What the figures rest on."""
    line, site = findings.line, findings.site
    drive = "by gravity"
    if findings.hose.line.pump.shutoff_m[0] > 0.0:
        drive = f"by a pump of {findings.hose.line.pump.shutoff_m[0]:g} m at no flow"
    pipe = f"{line.length_m:g} m of smooth pipe, {line.bore_mm:g} mm inside, as a {findings.layout}"
    feed = f"{line.feed_length_m:g} m of {line.feed_bore_mm or line.bore_mm:g} mm hose"
    height = f"jets {line.rise_m:g} m above the floor of the store, evenly spaced, bed by bed"
    scatter = f"EU counts {percent(line.maker_cv)} scatter of new jets, DU is of the lowest quarter"
    lines = [
        f"{pipe}, fed {drive} through {feed}; {height}.",
        f"Water of 20 °C; loss by Darcy-Weisbach, jets by q = k h^x. {scatter}.",
        f"Depths are at the roots: {percent(findings.zone.applied)} of the water gets there, the rest drifts off.",
        "The daily model takes the flow at the level of each morning. A larger store is taken as wider, not higher.",
    ]
    if site.battery is not None and findings.reach is not None:
        given = site.battery
        lines.append(
            f"Battery: {given.volts:g} V x {given.amp_hours:g} Ah, of which {percent(given.usable_share)} can be used; "
            "skipped and hot days change the charges a week."
        )
    return lines


def cautions_shown(findings: Findings) -> list[str]:
    """The cautions where the hand acts: charging, sockets, spray, mains, frost, leaks."""
    told = {(one.topic, one.subject): f"{one.caution}" for one in cautions()}
    wanted = [("legionella", "temperature")] if any(jets.spray for jets in findings.line.jets) else []
    if findings.hose.line.pump.shutoff_m[0] > 0.0:
        wanted += [("electricity", "residual current"), ("dry running", "pump")]
        wanted += (
            [] if findings.site.battery is None else [("lithium batteries", "cold"), ("lithium batteries", "place")]
        )
    wanted += [("mains top-up", "type"), ("frost", "draining")]
    return [
        *(told[one] for one in wanted),
        "Before the season run the line once, look at every joint and jet for leaks, and mend them.",
        "Local codes and licensed electricians and plumbers come before all of this.",
    ]
