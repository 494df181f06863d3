"""The day once more, compiled with numba: the limit that the benchmark holds the package against.

What weather and calendar decide is the package's own `course_of`. The order of the day and its few formulas are written
again, a number at a time, and only so far as the benchmark's garden needs them: one weather for all, no float valve, no
leak, no rule but after spill, a single crop coefficient, no line whose flow follows the level.
"""

from typing import NamedTuple

import numpy as np
from numba import njit

from waterbudget.schedule.course import course_of, due_l
from waterbudget.simulate.state import start_of

PLAIN_RUN, HOT_RUN = 1.0, 2.0
NOBODY = -1
ASKED, MAINS, UNMET, SPILLED = range(SUMS := 4)
AS_NUMPY = {"error_model": "numpy"}  # a division by 0 is no error there


class Shared(NamedTuple):
    """What is alike for all gardens.

    runs: 0 closed, 1 open, 2 open on a hot day, (day, outlet). caught_l: (day, tank); demand_mm to handed_over: (day,
    bed); zone, area_m2, mm_per_l: (bed,). queue: the outlets of each tank by rank, NOBODY behind them. overflow_to:
    NOBODY for the drain. direct and the rest: (outlet,).
    """

    runs: np.ndarray
    caught_l: np.ndarray
    demand_mm: np.ndarray
    rain_mm: np.ndarray
    taw_mm: np.ndarray
    raw_mm: np.ndarray
    planted: np.ndarray
    handed_over: np.ndarray
    zone: np.ndarray
    area_m2: np.ndarray
    mm_per_l: np.ndarray
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
    """What the gardens differ in, (item, lane)."""

    capacity_l: np.ndarray
    dead_l: np.ndarray
    run_l: np.ndarray
    hot_run_l: np.ndarray
    level_l: np.ndarray
    depletion_mm: np.ndarray


def compiled_run(garden, season, sky):
    """Litres asked for, given by the mains, unmet and spilled, (4, lane); the first call of a process compiles."""
    return _run(_shared(garden, season, sky), _lanes(garden, season, sky))


def _lanes(garden, season, sky):
    tanks, outlets, start = garden.tanks, garden.outlets, start_of(garden, season, sky)
    sizes = (tanks.capacity_l, tanks.dead_l, outlets.run_l, outlets.hot_run_l, start.level_l, start.depletion_mm)
    lanes = start.level_l.shape[-1]
    return Lanes(*(np.ascontiguousarray(np.broadcast_to(each, (len(each), lanes))) for each in sizes))


def _shared(garden, season, sky):
    structure, outlets = garden.structure, garden.outlets
    ones = np.ones((len(structure.outlet_tank), 1))
    coded = garden.changed(outlets={"run_l": ones * PLAIN_RUN, "hot_run_l": ones * HOT_RUN})
    course = course_of(coded, season, sky, None, slice(0, len(sky.rain_mm)))
    queue = np.full((len(structure.mains), len(ones)), NOBODY)
    for tank, ranks in enumerate(structure.ranked):
        takers = [taker for rank in ranks for taker in rank]
        queue[tank, : len(takers)] = takers

    def first(part):
        return np.ascontiguousarray(part[..., 0])

    return Shared(
        runs=first(due_l(np, coded, course)),
        caught_l=first(course.caught_l),
        demand_mm=first(course.demand_mm),
        rain_mm=first(course.rain_mm),
        taw_mm=first(course.taw_mm),
        raw_mm=first(course.raw_mm),
        planted=first(course.planted),
        handed_over=first(course.handed_over),
        zone=structure.zone_of_bed,
        area_m2=first(garden.beds.area_m2),
        mm_per_l=first(garden.mm_per_l),
        downhill=np.array(structure.downhill),
        overflow_to=np.array([NOBODY if below is None else below for below in structure.overflow_to]),
        direct=np.array([structure.mains[tank] == "direct" for tank in structure.outlet_tank]),
        queue=queue,
        rank=np.array(structure.priority),
        dry=first(outlets.when_dry),
        dry_at=first(outlets.dry_at),
        refill=first(outlets.refill),
        leave_mm=first(outlets.leave_mm),
        efficiency=first(outlets.efficiency),
    )


@njit(**AS_NUMPY)
def _run(shared, lanes):
    days, beds = shared.demand_mm.shape
    outlets, count = lanes.run_l.shape
    level_l, depletion_mm = lanes.level_l.copy(), lanes.depletion_mm.copy()
    asked_l, store_l, given_l = np.zeros((outlets, count)), np.zeros((outlets, count)), np.zeros((outlets, count))
    sums = np.zeros((SUMS, count))
    for day in range(days):
        for bed in range(beds):
            if shared.handed_over[day, bed] != 1.0:
                depletion_mm[bed] *= shared.handed_over[day, bed]
        for outlet in range(outlets):
            _ask(shared, lanes, day, outlet, depletion_mm, asked_l[outlet])
        _draw(shared, lanes, day, level_l, asked_l, store_l, sums[SPILLED])
        for outlet in range(outlets):
            given_l[outlet] = asked_l[outlet] if shared.direct[outlet] else store_l[outlet]
            sums[ASKED] += asked_l[outlet]
            sums[MAINS] += given_l[outlet] - store_l[outlet]
            sums[UNMET] += asked_l[outlet] - given_l[outlet]
        for bed in range(beds):
            _water(shared, day, bed, depletion_mm[bed], given_l[shared.zone[bed]])
    return sums


@njit(**AS_NUMPY)
def _ask(shared, lanes, day, outlet, depletion_mm, asked_l):
    runs = shared.runs[day, outlet]
    full_l = lanes.hot_run_l[outlet] if runs == HOT_RUN else lanes.run_l[outlet]
    asked_l[:] = full_l * min(runs, PLAIN_RUN)
    if not (shared.dry[outlet] or shared.refill[outlet]):
        return
    is_dry, need_l = np.zeros(len(asked_l)), np.zeros(len(asked_l))
    for bed in range(len(depletion_mm)):
        if shared.zone[bed] == outlet and shared.planted[day, bed]:
            opens_mm, leave_mm = shared.dry_at[outlet] * shared.raw_mm[day, bed], shared.leave_mm[outlet]
            for lane in range(len(asked_l)):
                is_dry[lane] = 1.0 if depletion_mm[bed, lane] >= opens_mm else is_dry[lane]
                need_l[lane] += max(depletion_mm[bed, lane] - leave_mm, 0.0) * shared.area_m2[bed]
    if shared.dry[outlet]:
        asked_l *= is_dry
    if shared.refill[outlet]:
        asked_l[:] = np.minimum(asked_l, need_l / shared.efficiency[outlet])


@njit(**AS_NUMPY)
def _draw(shared, lanes, day, level_l, asked_l, store_l, spilled_l):
    inflow_l = np.zeros(level_l.shape)
    for tank in range(len(level_l)):
        inflow_l[tank] = shared.caught_l[day, tank]
    for tank in shared.downhill:
        left_l = np.maximum(level_l[tank] - lanes.dead_l[tank], 0.0)
        drawn_l = _share_out(shared, tank, left_l, asked_l, store_l)
        over_l = _fill(level_l[tank], inflow_l[tank], drawn_l, lanes.capacity_l[tank])
        spilled_l += over_l
        if shared.overflow_to[tank] != NOBODY:
            inflow_l[shared.overflow_to[tank]] += over_l


@njit(**AS_NUMPY)
def _share_out(shared, tank, left_l, asked_l, store_l):
    """What the outlets of a tank get of what is there, rank after rank, and the sum of it."""
    queue, place, drawn_l = shared.queue[tank], 0, np.zeros(len(left_l))
    while place < len(queue) and queue[place] != NOBODY:
        end, wanted_l = place, np.zeros(len(left_l))
        while end < len(queue) and queue[end] != NOBODY and shared.rank[queue[end]] == shared.rank[queue[place]]:
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
    """The level in the evening, written over the morning's; the spill."""
    spilled_l = np.empty(len(level_l))
    for lane in range(len(level_l)):
        offered_l = level_l[lane] + inflow_l[lane]
        full_l = min(offered_l, capacity_l[lane])
        spilled_l[lane], level_l[lane] = offered_l - full_l, full_l - drawn_l[lane]
    return spilled_l


@njit(**AS_NUMPY)
def _water(shared, day, bed, depletion_mm, given_l):
    taw_mm, raw_mm, demand_mm = shared.taw_mm[day, bed], shared.raw_mm[day, bed], shared.demand_mm[day, bed]
    rain_mm, mm_per_l = shared.rain_mm[day, bed], shared.mm_per_l[bed]
    for lane in range(len(depletion_mm)):
        water_mm = rain_mm + given_l[lane] * mm_per_l
        ks = min(max((taw_mm - depletion_mm[lane]) / (taw_mm - raw_mm), 0.0), 1.0)
        eta_mm = min(ks * demand_mm, max(taw_mm - depletion_mm[lane] + water_mm, 0.0))
        depletion_mm[lane] = max(depletion_mm[lane] - water_mm + eta_mm, 0.0)
