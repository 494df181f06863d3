"""What the outlets ask for and give, and what of it reaches the beds. xp: numpy or jax.numpy."""

from functools import reduce
from operator import add, ge

from waterbudget.schedule.course import Logged
from waterbudget.schedule.garden import Garden
from waterbudget.schedule.today import Today
from waterbudget.simulate.books import Flow, OutletBook
from waterbudget.units import Array, Namespace


def flow_at(xp: Namespace, garden: Garden, level_l: Array) -> Flow:
    """The flow with the stores at these levels [L], (tank, lane)."""
    structure, outlets, beds = garden.structure, garden.outlets, garden.beds
    if not structure.follows:
        return Flow(None, outlets.flow_l_min, garden.mm_per_l)
    capacity_l = garden.tanks.capacity_l
    filled = level_l / xp.where(capacity_l > 0.0, capacity_l, 1.0)
    tank_of_outlet, zone_of_bed = structure.tank_of_outlet, structure.zone_of_bed
    followers, follower_beds = list(structure.follows), list(structure.follows_beds)
    steady = xp.ones_like(level_l[tank_of_outlet])
    factor = among(xp, steady, structure.follows, between(xp, outlets.factor, filled[tank_of_outlet[followers]]))
    mm_per_l = garden.mm_per_l
    if follower_beds:
        share = between(xp, beds.share, filled[tank_of_outlet[zone_of_bed[follower_beds]]])
        mm_per_l = among(xp, mm_per_l, structure.follows_beds, share * garden.aimed_mm_per_l[follower_beds])
    l_min = xp.where(factor > 0.0, outlets.flow_l_min * factor, xp.inf)
    return Flow(factor, l_min, mm_per_l)


def between(xp: Namespace, steps: Array, place: Array) -> Array:
    """Values at even steps from empty to full (step, item, lane), on straight lines between, at a place, (item, lane).

    place: 0 to 1.
    """
    last = len(steps) - 1
    step = place * last
    below = xp.minimum(xp.floor(step), last - 1.0)
    row = below.astype("int64")[None]
    steps = xp.broadcast_to(steps, (len(steps), *step.shape))
    low, high = (xp.take_along_axis(steps, row + up, axis=0)[0] for up in (0, 1))
    value: Array = low + (step - below) * (high - low)
    return value


def among(xp: Namespace, rows: Array, some: tuple[int, ...], others: Array) -> Array:
    """The rows with others in the place of some."""
    lanes = max(rows.shape[-1], others.shape[-1])
    wide = xp.broadcast_to(rows, (len(rows), lanes))
    place = {number: turn for turn, number in enumerate(some)}
    return xp.stack([others[place[n]] if n in place else wide[n] for n in range(len(rows))])


def ask(xp: Namespace, garden: Garden, today: Today, flow: Flow, depletion_mm: Array) -> Array:
    """What each outlet asks for [L], (outlet, lane): what is due, as far as its beds want it, or what was logged."""
    asked_l = today.due_l
    if flow.factor is not None:
        asked_l = asked_l * flow.factor
    if today.opens_mm is not None or today.refill_l is not None:
        asked_l = as_beds_want(xp, garden, today, asked_l, depletion_mm)
    if today.logged is not None:
        asked_l = as_logged(xp, today.logged, flow, asked_l)
    return asked_l


def as_beds_want(xp: Namespace, garden: Garden, today: Today, due_l: Array, depletion_mm: Array) -> Array:
    """Of what is due that of zones with a dry bed, and no more than refills the beds of those that refill [L].

    The first bed of each zone has its say, then the second, and so on.
    """
    felt_mm, wanted_l = [depletion_mm.take(beds, axis=0) for beds in garden.structure.beds_in_turn], due_l
    if today.opens_mm is not None:
        dry = map(ge, felt_mm, today.opens_mm)
        wanted_l = wanted_l * reduce(xp.logical_or, dry, garden.opens_anyway)
    if today.refill_l is not None:
        lacking_l = (
            xp.maximum(mm - leave_mm, 0.0) * refill_l
            for mm, leave_mm, refill_l in zip(felt_mm, garden.leave_mm, today.refill_l, strict=True)
        )
        wanted_l = xp.minimum(wanted_l, reduce(add, lacking_l, garden.unless_refill_l))
    return wanted_l


def as_logged(xp: Namespace, logged: Logged, flow: Flow, planned_l: Array) -> Array:
    """What was logged in place of the plan; on the day that is not over no less than planned, unless kept shut."""
    ran_l = logged_l(xp, logged.minutes, flow.l_min)
    so_far_l = xp.where(logged.is_open & (logged.minutes > 0.0), xp.maximum(ran_l, planned_l), ran_l)
    return xp.where(xp.isnan(logged.minutes), planned_l, so_far_l)


def logged_l(xp: Namespace, minutes: Array, flow_l_min: Array) -> Array:
    """Litres of runs by their minutes, NaN where none was logged; minutes of a draw bring none, having no valve."""
    return minutes * xp.where(flow_l_min < xp.inf, flow_l_min, 0.0)


def pour(today: Today, flow: Flow, asked_l: Array, store_l: Array) -> OutletBook:
    """What each outlet gives; a hose, or a float valve while it is drawn, makes up for what a store is short of."""
    made_up_l = None
    if today.makes_up is not None:
        made_up_l = (asked_l - store_l) * today.makes_up
    return OutletBook(asked_l, store_l, made_up_l, None if flow.factor is None else flow)


def irrigate(garden: Garden, flow: Flow, outlets: OutletBook) -> Array:
    """What reaches each bed of the water of its zone [mm], (bed, lane)."""
    if not len(outlets.asked_l):
        return flow.mm_per_l * 0.0
    return outlets.given_l.take(garden.structure.zone_of_bed, axis=0) * flow.mm_per_l
