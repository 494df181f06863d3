"""The best that anybody could have done: a bound from below on the yield at risk, whatever the plan.

The day of the model as a linear programme. What the model decides by a bend (stress, a leak, a store's outlet) stands
here as the straight line that leaves every plan's days allowed, so no plan does less harm, and none at all where those
lines touch. Somebody who knew the weather and set every valve to the litre would reach it.
"""

import math
from typing import Literal, NamedTuple

import numpy as np

from waterbudget.plan.programme import Programme, Solution, Terms
from waterbudget.plan.prospect import Prospect
from waterbudget.plan.spill import spill_lines
from waterbudget.units import Array, IntArray

ROUNDING = 1e-9  # relative and in mm: the beds' least use is known no better
LITRES = 1e-9  # a draw below this is none
BED_ROWS = 3  # of each bed on each day; they come before those of the stores
WORTH_PER_L = 1e-7  # share of the yield below which a litre is worth nothing


class Foresight(NamedTuple):
    """What perfect foresight could do.

    litres_l: of each zone, (day, zone); moved_l (day, move); level_l (1 + day, tank), in the morning before transfers;
    eta_mm: (day, bed of the prospect). worth_per_l: how much less of the yield is at risk for a litre more in each
    store on the eve, (tank,); draw_worth_per_l: for a litre less that a draw takes, (draw,). is_proven: False where
    time ran out; then yield_at_risk is the best bound so far, and all else nan. at_odds: "tank" or "bed" and its number
    in the garden, where the programme contradicts itself; then there is no bound, and yield_at_risk nan.
    """

    yield_at_risk: float
    litres_l: Array
    moved_l: Array
    level_l: Array
    eta_mm: Array
    worth_per_l: Array
    draw_worth_per_l: Array
    is_proven: bool
    at_odds: tuple[Literal["tank", "bed"], int] | None

    @property
    def zone_l(self) -> Array | None:
        """What it gives each zone in all [L], (zone,); None where that is not known."""
        litres: Array = self.litres_l.sum(axis=0)
        return litres if self.is_proven else None


class Places(NamedTuple):
    """The columns of the programme, by what they stand for; ends: by store the number of the row after its last."""

    zone_l: IntArray
    draw_l: IntArray
    moved_l: IntArray
    level_l: IntArray
    eta_mm: IntArray
    ends: list[int]


def foresight(prospect: Prospect, *, spills_at_brim: bool = False, seconds: float = math.inf) -> Foresight:
    """The least yield at risk that any plan can leave. See the head of this file.

    spills_at_brim: a store runs over into another only when it is full, by a yes or no for each wet day; left out,
    some may run down before (`spill.py`), which is quicker, bounds lower and alone tells what a litre is worth.
    seconds: time for the solver.
    """
    programme = Programme()
    zone_l, eta_mm = _beds(programme, prospect)
    places = _stores(programme, prospect, zone_l, eta_mm, spills_at_brim=spills_at_brim)
    return _read(prospect, places, programme.solve(seconds))


def _read(prospect: Prospect, places: Places, solution: Solution) -> Foresight:
    ground, asked_l = prospect.ground, prospect.takers.asked_l
    lost = float((ground.harm_per_mm * ground.etc_mm).sum()) + solution.least
    values, reduced = solution.values, solution.reduced
    draws_l = np.maximum(asked_l.sum(axis=0), LITRES)
    return Foresight(
        yield_at_risk=max(lost, 0.0),
        litres_l=values[places.zone_l],
        moved_l=values[places.moved_l],
        level_l=values[places.level_l],
        eta_mm=values[places.eta_mm],
        worth_per_l=0.0 - reduced[places.level_l[0]],  # and not -0.0
        draw_worth_per_l=(reduced[places.draw_l] * asked_l).sum(axis=0) / draws_l,
        is_proven=solution.is_proven,
        at_odds=_at_odds(prospect, places, solution.at_odds),
    )


def _at_odds(prospect: Prospect, places: Places, rows: IntArray) -> tuple[Literal["tank", "bed"], int] | None:
    """The bed, or else the store, whose rows contradict each other."""
    if not len(rows):
        return None
    columns = prospect.ground.columns
    if rows[0] < BED_ROWS * prospect.days * len(columns):  # those of a day side by side, bed by bed
        return "bed", int(columns[rows[0] % len(columns)])
    return "tank", int(np.searchsorted(places.ends, rows[0], side="right"))


def _beds(programme: Programme, prospect: Prospect) -> tuple[IntArray, IntArray]:
    """Litres of each zone and what the beds use, with the rows of the root zones (FAO-56 Eq. 84, 85)."""
    ground, days = prospect.ground, prospect.days
    beds = len(ground.columns)
    zones = len(prospect.takers.zone_tank)
    fill_l = (ground.taw_mm + ground.etc_mm) / np.where(ground.mm_per_l > 0.0, ground.mm_per_l, np.inf)
    most_l = np.zeros((days, zones))
    for zone in range(zones):
        most_l[:, zone] = fill_l[:, ground.zone == zone].max(axis=1, initial=0.0)
    zone_l = programme.columns((days, zones), most=most_l)
    eta_mm = programme.columns(
        (days, beds),
        low=np.maximum(ground.least_mm * (1.0 - ROUNDING) - ROUNDING, 0.0),
        high=ground.surface_mm + ground.roots_mm,
        cost=-ground.harm_per_mm,
    )
    deepest_mm = np.vstack([ground.depletion_mm, ground.taw_mm])
    depletion_mm = programme.columns((days + 1, beds), *_given(ground.depletion_mm, days, math.inf), most=deepest_mm)
    before_mm, evening_mm, carried = depletion_mm[:-1], depletion_mm[1:], ground.handed_over
    brought, steep = zone_l[:, ground.zone], ground.roots_mm / (ground.taw_mm - ground.raw_mm)
    programme.add([(eta_mm, 1.0), (before_mm, steep * carried)], high=ground.surface_mm + steep * ground.taw_mm)
    programme.add(
        [(eta_mm, 1.0), (before_mm, carried), (brought, -ground.mm_per_l)], high=ground.taw_mm + ground.rain_mm
    )
    programme.add(
        [(evening_mm, 1.0), (before_mm, -carried), (eta_mm, -1.0), (brought, ground.mm_per_l)], low=-ground.rain_mm
    )
    return zone_l, eta_mm


def _stores(
    programme: Programme, prospect: Prospect, zone_l: IntArray, eta_mm: IntArray, *, spills_at_brim: bool
) -> Places:
    """Levels, draws and transfers, with the rows of the stores."""
    stores, takers, days = prospect.stores, prospect.takers, prospect.days
    tanks = len(stores.capacity_l)
    full_l = np.vstack([stores.level_l, np.tile(stores.capacity_l, (days, 1))])
    level_l = programme.columns((days + 1, tanks), *_given(stores.level_l, days, math.inf), most=full_l)
    draw_l = programme.columns(takers.asked_l.shape, np.where(takers.rations, 0.0, takers.asked_l), takers.asked_l)
    for draw in np.flatnonzero(takers.rations & (takers.least_l > 0.0)):
        programme.add([(draw_l[day : day + 1, draw], 1.0) for day in range(days)], low=takers.least_l[draw])
    comes_l = np.array([_may_come_l(prospect, tank) for tank in range(tanks)]).reshape(tanks, days).T
    spilled_l = programme.columns((days, tanks), most=comes_l)
    moved_l, morning = _moves(programme, prospect, level_l)
    ends = []
    for tank in range(tanks):
        asked: Terms = [
            *((zone_l[:, zone], 1.0) for zone in np.flatnonzero(takers.zone_tank == tank)),
            *((draw_l[:, draw], 1.0) for draw in np.flatnonzero(takers.draw_tank == tank)),
        ]
        spills: Terms = [(spilled_l[:, upper], 1.0) for upper, lower in enumerate(stores.overflow_to) if lower == tank]
        store = _Store(tank, morning[tank], spills, asked, spilled_l[:, tank], level_l[1:, tank])
        _store(programme, prospect, store, spills_at_brim=spills_at_brim)
        ends.append(programme.height)
    return Places(zone_l, draw_l, moved_l, level_l, eta_mm, ends)


def _moves(programme: Programme, prospect: Prospect, level_l: IntArray) -> tuple[IntArray, list[Terms]]:
    """What is moved, and by store what makes up its level after that; the rows of each transfer, in their order.

    What may leave is what stands above keep_l, from a full store; below that the model moves nothing, and a straight
    line from there to the empty store allows a little.
    """
    stores, moves = prospect.stores, prospect.moves
    moved_l = programme.columns(moves.most_l.shape, high=moves.most_l)
    morning: list[Terms] = [[(level_l[:-1, tank], 1.0)] for tank in range(len(stores.capacity_l))]
    for move, (giver, taker) in enumerate(moves.ways):
        stays_l = max(float(moves.keep_l[move]), float(stores.dead_l[giver]))
        here, share = moved_l[:, move], _above(stays_l, float(stores.capacity_l[giver]))
        programme.add([(here, 1.0), *_less(morning[giver], share)], high=0.0)
        morning[giver] = [*morning[giver], (here, -1.0)]
        morning[taker] = [*morning[taker], (here, 1.0)]
        programme.add(morning[taker], high=float(stores.capacity_l[taker]))
    return moved_l, morning


class _Store(NamedTuple):
    """Of one store its number, and columns (day,): level after transfers, spills that come in, what is asked of it."""

    tank: int
    morning: Terms
    spills: Terms
    asked: Terms
    spilled_l: IntArray
    evening_l: IntArray


def _store(programme: Programme, prospect: Prospect, store: _Store, *, spills_at_brim: bool) -> None:
    """The rows of a store: outlet, brim, leak and balance."""
    stores, days = prospect.stores, prospect.days
    capacity_l, dead_l, leak_l = (
        float(part[store.tank]) for part in (stores.capacity_l, stores.dead_l, stores.loss_l_per_day)
    )
    caught_l = stores.caught_l[:, store.tank]
    helped = stores.helped[:, store.tank]
    drawn_l = sum(programme.most_of(columns) for columns, _ in store.asked) if helped.any() else 0.0
    mains_l = programme.columns((days,), high=np.where(helped, math.inf, 0.0), most=drawn_l)
    lost_l = programme.columns((days,), high=leak_l)
    drawn = [*store.asked, (mains_l, -1.0)]
    came = [*store.morning, *store.spills]
    reach, reach_l = (came, caught_l) if stores.before_spill else (store.morning, np.zeros(days))
    if leak_l == 0.0 and float(stores.level_l[store.tank]) >= dead_l:  # it never stands below its outlet
        programme.add([*drawn, *_less(reach)], high=reach_l - dead_l)
    else:
        share = 1.0 if stores.before_spill else _above(dead_l, capacity_l)
        programme.add([*drawn, *_less(reach, share)], high=share * reach_l)
    if leak_l > 0.0:
        share = min(1.0, leak_l / capacity_l) if capacity_l > 0.0 else 1.0
        programme.add([(lost_l, 1.0 - share), (store.evening_l, -share)], low=0.0)
    programme.add(
        [(store.evening_l, 1.0), *_less(came), *drawn, (store.spilled_l, 1.0), (lost_l, 1.0)], caught_l, caught_l
    )
    kept: Terms = [(store.evening_l, 1.0), (lost_l, 1.0)]
    held_l = np.zeros(days)
    if not stores.before_spill:
        kept, held_l = [*came, (store.spilled_l, -1.0)], caught_l
    if stores.overflow_to[store.tank] is not None:
        programme.add([(store.spilled_l, 1.0), *_less(store.spills)], high=caught_l)
        if not store.spills:
            held: Terms = [*store.morning, *_less(drawn)] if stores.before_spill else store.morning
            for lines in spill_lines(prospect, store.tank):
                first: Terms = [(columns[lines.days[:, 0]], factor) for columns, factor in held]
                some: Terms = [(store.spilled_l[days], 1.0) for days in lines.days.T]
                programme.add([*some, *_less(first, lines.per_l)], high=lines.base_l)
        if spills_at_brim:
            comes_l = _may_come_l(prospect, store.tank)
            is_full = programme.columns((days,), high=np.where(comes_l > 0.0, 1.0, 0.0), is_whole=True)
            programme.add([(store.spilled_l, 1.0), (is_full, -comes_l)], high=0.0)
            programme.add([*kept, (mains_l, 1.0), (is_full, -capacity_l)], low=-held_l)
    programme.add(kept, high=capacity_l - held_l)


def _may_come_l(prospect: Prospect, tank: int) -> Array:
    """All that can run into a store on each day [L], were all above it full."""
    stores = prospect.stores
    uppers = [upper for upper, lower in enumerate(stores.overflow_to) if lower == tank]
    comes_l: Array = stores.caught_l[:, tank] + sum(_may_come_l(prospect, upper) for upper in uppers)
    return comes_l


def _above(stays_l: float, capacity_l: float) -> float:
    """Share of a full store that stands above what stays in it."""
    return max(capacity_l - stays_l, 0.0) / capacity_l if capacity_l > 0.0 else 0.0


def _less(terms: Terms, share: Array | float = 1.0) -> Terms:
    """The terms on the other side of a row."""
    return [(columns, -share * factor) for columns, factor in terms]


def _given(first: Array, days: int, high: float) -> tuple[Array, Array]:
    """Bounds of (1 + day, item): on the eve as they are, then from 0 to a highest."""
    free = np.zeros((days, len(first)))
    return np.vstack([first, free]), np.vstack([first, free + high])
