"""What the outlets ask for and give, and what of it reaches the beds. xp: numpy or jax.numpy."""

from functools import reduce
from operator import add

from waterbudget.schedule.course import Course, Logged, due_l
from waterbudget.schedule.garden import Garden
from waterbudget.simulate.books import Flow, OutletBook
from waterbudget.units import Array, BoolArray, Namespace


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


def ask(xp: Namespace, garden: Garden, today: Course, flow: Flow, depletion_mm: Array) -> Array:
    """What each outlet asks for [L], (outlet, lane): what is due, as far as its beds want it, or what was logged."""
    asked_l = due_l(xp, garden, today)
    if flow.factor is not None:
        asked_l = asked_l * flow.factor
    if garden.structure.opens_when_dry:
        asked_l = asked_l * opens(xp, garden, today, depletion_mm)
    if garden.structure.refills:
        asked_l = xp.minimum(asked_l, lacking_l(xp, garden, today, depletion_mm))
    if today.logged is not None:
        asked_l = as_logged(xp, today.logged, flow, asked_l)
    return asked_l


def opens(xp: Namespace, garden: Garden, today: Course, depletion_mm: Array) -> BoolArray:
    """Whether an outlet opens: whatever its beds say, or as one that is planted has used up its share of RAW."""
    dry = (depletion_mm >= garden.dry_at * today.raw_mm) & today.planted
    each = [dry.take(beds, axis=0) & there for beds, there in garden.structure.beds_in_turn]
    return reduce(xp.logical_or, each, garden.opens_anyway)


def lacking_l(xp: Namespace, garden: Garden, today: Course, depletion_mm: Array) -> Array:
    """What refills the planted beds of each zone [L], (outlet, lane); infinite for outlets that do not refill."""
    lacking_mm = xp.maximum(depletion_mm - garden.leave_mm, 0.0)
    beds_l = lacking_mm * (garden.beds.area_m2 * today.planted)
    each = [beds_l.take(beds, axis=0) * there for beds, there in garden.structure.beds_in_turn]
    outlets = garden.outlets
    return xp.where(outlets.refill, reduce(add, each, 0.0) / outlets.efficiency, xp.inf)


def as_logged(xp: Namespace, logged: Logged, flow: Flow, planned_l: Array) -> Array:
    """What was logged in place of the plan; on the day that is not over no less than planned, unless kept shut."""
    ran_l = logged_l(xp, logged.minutes, flow.l_min)
    so_far_l = xp.where(logged.is_open & (logged.minutes > 0.0), xp.maximum(ran_l, planned_l), ran_l)
    return xp.where(xp.isnan(logged.minutes), planned_l, so_far_l)


def logged_l(xp: Namespace, minutes: Array, flow_l_min: Array) -> Array:
    """Litres of runs by their minutes, NaN where none was logged; minutes of a draw bring none, having no valve."""
    return minutes * xp.where(flow_l_min < xp.inf, flow_l_min, 0.0)


def pour(garden: Garden, today: Course, flow: Flow, asked_l: Array, store_l: Array) -> OutletBook:
    """What each outlet gives; a hose, or a float valve while it is drawn, makes up for what a store is short of."""
    made_up_l = None
    if today.makes_up is not None:
        made_up_l = (asked_l - store_l) * today.makes_up.take(garden.structure.tank_of_outlet, axis=0)
    return OutletBook(asked_l, store_l, made_up_l, None if flow.factor is None else flow)


def irrigate(garden: Garden, flow: Flow, outlets: OutletBook) -> Array:
    """What reaches each bed of the water of its zone [mm], (bed, lane)."""
    if not len(outlets.asked_l):
        return flow.mm_per_l * 0.0
    return outlets.given_l.take(garden.structure.zone_of_bed, axis=0) * flow.mm_per_l
