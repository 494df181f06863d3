"""The day once more, compiled with numba: the limit that the benchmark holds the package against.

The physics of tanks and beds is the package's own, compiled as it stands. The order of the day is written again, and
only so far as the benchmark's garden needs it: one weather for all, no float valve, no leak, no rule but after spill,
no line whose flow follows the level.
"""

from dataclasses import replace
from typing import NamedTuple

import numpy as np
from numba import njit
from waterbudget.schedule.plan import Plan

from waterbudget.physics.roof import roof_day
from waterbudget.physics.soil import adjusted_p, ks, raw, soil_day, taw
from waterbudget.physics.tank import available, tank_day

PLAIN_RUN, HOT_RUN = 1.0, 2.0
NOBODY = -1
ASKED, MAINS, UNMET, SPILLED = range(SUMS := 4)
AFTER_SPILL = False  # numba takes an argument by name for one by place
AS_NUMPY = {"error_model": "numpy"}  # a division by 0 is no error there

_available, _tank_day = njit(available, **AS_NUMPY), njit(tank_day, **AS_NUMPY)
_ks, _soil_day = njit(ks, **AS_NUMPY), njit(soil_day, **AS_NUMPY)


class Course(NamedTuple):
    """What is alike for all gardens.

    runs: 0 closed, 1 open, 2 open on a hot day, (day, outlet). caught_l: (day, tank); etc_mm to changed: (day, bed);
    zone to start_depleted: (bed,). queue: the outlets of each tank by rank, NOBODY behind them. overflow_to: NOBODY for
    the drain. direct and the rest: (outlet,).
    """

    runs: np.ndarray
    caught_l: np.ndarray
    etc_mm: np.ndarray
    rain_mm: np.ndarray
    taw_mm: np.ndarray
    raw_mm: np.ndarray
    planted: np.ndarray
    changed: np.ndarray
    zone: np.ndarray
    area_m2: np.ndarray
    mm_per_l: np.ndarray
    start_depleted: np.ndarray
    downhill: np.ndarray
    overflow_to: np.ndarray
    direct: np.ndarray
    queue: np.ndarray
    rank: np.ndarray
    dry: np.ndarray
    dry_at: np.ndarray
    refill: np.ndarray
    leave_mm: np.ndarray
    efficiency: np.ndarray


class Lanes(NamedTuple):
    """What the gardens differ in, (item, scenario)."""

    capacity_l: np.ndarray
    dead_l: np.ndarray
    start_l: np.ndarray
    run_l: np.ndarray
    hot_run_l: np.ndarray


def compiled_run(garden, season, sky):
    """Litres asked for, given by the mains, unmet and spilled, (4, scenario); the first call of a process compiles."""
    return _run(_course(garden, season, sky), _lanes(garden))


def _lanes(garden):
    tanks, outlets = garden.tanks, garden.outlets
    many = [tanks.capacity_l, tanks.dead_l, tanks.start_l, outlets.run_l, outlets.hot_run_l]
    lanes = max(map(len, many))
    return Lanes(*(np.ascontiguousarray(np.broadcast_to(each, (lanes, each.shape[1])).T) for each in many))


def _course(garden, season, sky):
    roofs, tanks, outlets, beds = garden.roofs, garden.tanks, garden.outlets, garden.beds
    on_roofs = roof_day(
        sky.rain_mm,
        roofs.area_m2[0],
        roofs.runoff_coefficient[0],
        roofs.loss_mm[0],
        roofs.first_flush_l[0],
        roofs.filter_efficiency[0],
    )
    caught_l = np.zeros((len(sky.rain_mm), len(tanks.name)))
    for roof, tank in enumerate(roofs.tank):
        caught_l[:, tank] += on_roofs.caught_l[:, roof]
    etc_mm = season.kc[:, 0] * sky.et0_mm * beds.et_factor[0]
    taw_mm = taw(beds.available_water_mm_m[0], season.zr_m[:, 0])
    zone = np.array(beds.zone)
    queue = np.full((len(tanks.name), len(outlets.name)), NOBODY)
    for tank, ranks in outlets.ranks.items():
        takers = [taker for rank in ranks for taker in rank]
        queue[tank, : len(takers)] = takers
    return Course(
        runs=_runs(garden, season, sky),
        caught_l=caught_l,
        etc_mm=etc_mm,
        rain_mm=sky.rain_mm * beds.rain_share[0],
        taw_mm=taw_mm,
        raw_mm=raw(taw_mm, adjusted_p(season.p[:, 0], etc_mm)),
        planted=season.planted[:, 0],
        changed=season.changed[:, 0],
        zone=zone,
        area_m2=beds.area_m2[0],
        mm_per_l=beds.zone_share[0] * outlets.efficiency[0, zone] / beds.area_m2[0],
        start_depleted=beds.start_depleted[0],
        downhill=np.array(tanks.downhill),
        overflow_to=np.array([NOBODY if below is None else below for below in tanks.overflow_to]),
        direct=np.array([tanks.mains[tank] == "direct" for tank in outlets.tank]),
        queue=queue,
        rank=np.array(outlets.priority),
        dry=outlets.when_dry[0],
        dry_at=outlets.dry_at[0],
        refill=outlets.refill[0],
        leave_mm=outlets.leave_mm[0],
        efficiency=outlets.efficiency[0],
    )


def _runs(garden, season, sky):
    """What the plan asks for where every run is of one litre, on a hot day of two, and no bed has a say."""
    outlets = garden.outlets
    ones, never = np.ones((1, len(outlets.name))), np.zeros((1, len(outlets.name)), dtype=bool)
    simple = replace(outlets, run_l=ones * PLAIN_RUN, hot_run_l=ones * HOT_RUN, when_dry=never, refill=never)
    plan = Plan(simple, garden.beds, season.dates, sky.rain_mm, sky.tmax_c)
    none = np.zeros((1, len(garden.beds.name)))
    return np.concatenate([plan.asked_l(*due, none, none, none > 0.0) for due in plan.days_due()])


@njit(**AS_NUMPY)
def _run(course, lanes):
    days, beds = course.etc_mm.shape
    outlets, count = lanes.run_l.shape
    level_l, depletion_mm = lanes.start_l.copy(), np.zeros((beds, count))
    asked_l, store_l, given_l = np.zeros((outlets, count)), np.zeros((outlets, count)), np.zeros((outlets, count))
    sums = np.zeros((SUMS, count))
    for day in range(days):
        _hand_over(course, day, depletion_mm)
        for outlet in range(outlets):
            _ask(course, lanes, day, outlet, depletion_mm, asked_l[outlet])
        _draw(course, lanes, day, level_l, asked_l, store_l, sums[SPILLED])
        for outlet in range(outlets):
            given_l[outlet] = asked_l[outlet] if course.direct[outlet] else store_l[outlet]
            sums[ASKED] += asked_l[outlet]
            sums[MAINS] += given_l[outlet] - store_l[outlet]
            sums[UNMET] += asked_l[outlet] - given_l[outlet]
        for bed in range(beds):
            _water(course, day, bed, depletion_mm[bed], given_l[course.zone[bed]])
    return sums


@njit(**AS_NUMPY)
def _hand_over(course, day, depletion_mm):
    for bed in range(len(depletion_mm)):
        if day == 0:
            depletion_mm[bed] = course.start_depleted[bed] * course.taw_mm[day, bed]
        elif course.changed[day, bed]:
            depletion_mm[bed] *= course.taw_mm[day, bed] / course.taw_mm[day - 1, bed]


@njit(**AS_NUMPY)
def _ask(course, lanes, day, outlet, depletion_mm, asked_l):
    runs = course.runs[day, outlet]
    full_l = lanes.hot_run_l[outlet] if runs == HOT_RUN else lanes.run_l[outlet]
    asked_l[:] = full_l * min(runs, PLAIN_RUN)
    if not (course.dry[outlet] or course.refill[outlet]):
        return
    is_dry, need_l = np.zeros(len(asked_l)), np.zeros(len(asked_l))
    for bed in range(len(depletion_mm)):
        if course.zone[bed] == outlet and course.planted[day, bed]:
            opens_mm, leave_mm = course.dry_at[outlet] * course.raw_mm[day, bed], course.leave_mm[outlet]
            for lane in range(len(asked_l)):
                is_dry[lane] = 1.0 if depletion_mm[bed, lane] >= opens_mm else is_dry[lane]
                need_l[lane] += max(depletion_mm[bed, lane] - leave_mm, 0.0) * course.area_m2[bed]
    if course.dry[outlet]:
        asked_l *= is_dry
    if course.refill[outlet]:
        asked_l[:] = np.minimum(asked_l, need_l / course.efficiency[outlet])


@njit(**AS_NUMPY)
def _draw(course, lanes, day, level_l, asked_l, store_l, spilled_l):
    inflow_l = np.zeros(level_l.shape)
    for tank in range(len(level_l)):
        inflow_l[tank] = course.caught_l[day, tank]
    for tank in course.downhill:
        left_l = _within_reach(level_l[tank], inflow_l[tank], lanes.dead_l[tank])
        drawn_l = _share_out(course, tank, left_l, asked_l, store_l)
        over_l = _fill(level_l[tank], inflow_l[tank], drawn_l, lanes.capacity_l[tank])
        spilled_l += over_l
        if course.overflow_to[tank] != NOBODY:
            inflow_l[course.overflow_to[tank]] += over_l


@njit(**AS_NUMPY)
def _within_reach(level_l, inflow_l, dead_l):
    reach_l = np.empty(len(level_l))
    for lane in range(len(level_l)):
        reach_l[lane] = _available(level_l[lane], inflow_l[lane], dead_l[lane], AFTER_SPILL)
    return reach_l


@njit(**AS_NUMPY)
def _share_out(course, tank, left_l, asked_l, store_l):
    """What the outlets of a tank get of what is there, rank after rank, and the sum of it."""
    queue, place, drawn_l = course.queue[tank], 0, np.zeros(len(left_l))
    while place < len(queue) and queue[place] != NOBODY:
        end, wanted_l = place, np.zeros(len(left_l))
        while end < len(queue) and queue[end] != NOBODY and course.rank[queue[end]] == course.rank[queue[place]]:
            wanted_l += asked_l[queue[end]]
            end += 1
        part = np.empty(len(left_l))
        for lane in range(len(left_l)):
            served_l = min(wanted_l[lane], left_l[lane])
            left_l[lane] -= served_l
            drawn_l[lane] += served_l
            part[lane] = served_l / wanted_l[lane] if wanted_l[lane] > 0.0 else 0.0
        for taker in queue[place:end]:
            store_l[taker] = asked_l[taker] * part
        place = end
    return drawn_l


@njit(**AS_NUMPY)
def _fill(level_l, inflow_l, drawn_l, capacity_l):
    spilled_l = np.empty(len(level_l))
    for lane in range(len(level_l)):
        rest = _tank_day(level_l[lane], inflow_l[lane], drawn_l[lane], capacity_l[lane], 0.0, AFTER_SPILL)
        spilled_l[lane], level_l[lane] = rest.spilled_l, rest.level_l
    return spilled_l


@njit(**AS_NUMPY)
def _water(course, day, bed, depletion_mm, given_l):
    taw_mm, raw_mm, etc_mm = course.taw_mm[day, bed], course.raw_mm[day, bed], course.etc_mm[day, bed]
    rain_mm, mm_per_l = course.rain_mm[day, bed], course.mm_per_l[bed]
    for lane in range(len(depletion_mm)):
        ks_now = _ks(taw_mm, raw_mm, depletion_mm[lane])
        soil = _soil_day(depletion_mm[lane], taw_mm, ks_now, etc_mm, rain_mm + given_l[lane] * mm_per_l)
        depletion_mm[lane] = soil.depletion_mm
