"""What weather, calendar and season alone decide, worked out for many days at once."""

from typing import Any, NamedTuple

import numpy as np

from waterbudget.physics.roof import RoofDay, roof_day
from waterbudget.physics.soil import adjusted_p, raw
from waterbudget.schedule.actions import Actions
from waterbudget.schedule.calendar import Days, is_banned, on_listed_days
from waterbudget.schedule.garden import Garden
from waterbudget.schedule.season import Season
from waterbudget.schedule.sky import Sky
from waterbudget.units import Array, BoolArray, Namespace

ROUNDING_MM = 1e-9  # a sum of decimals that comes so near reaches it


class Logged(NamedTuple):
    """What somebody did: minutes, (day, outlet, 1), mains_added_l, (day, tank, 1), and whether the day is not over.

    is_open: (day, 1, 1).
    """

    minutes: Array
    mains_added_l: Array
    is_open: BoolArray


class Ground(NamedTuple):
    """What the dual crop coefficient asks for, (day, bed, lane): rain on the ground about a bed, climate and cover."""

    falls_mm: Array
    climate: Array
    cover: Array


class Course(NamedTuple):
    """Some days, arrays (day, item, lane); None where the garden has no use for it.

    roofs: what they make of the rain, (day, roof, lane). fed_l: what each feed brings; caught_l: what both bring each
    tank. due: whether each outlet has its day, and hot: whether a hot one. moves: whether each
    transfer is due. makes_up: what share of what a store is short of the mains gives, by tank: all, or nothing.
    valve_open: 0 under a ban, (day, 1, lane). The beds': handed_over, planted, kc, e0_mm, demand_mm (kc times e0_mm),
    rain_mm, taw_mm, raw_mm.
    """

    roofs: RoofDay
    fed_l: Array
    caught_l: Array
    due: BoolArray
    hot: BoolArray | None
    moves: BoolArray
    makes_up: Array | None
    valve_open: Array | None
    handed_over: Array
    planted: BoolArray
    kc: Array
    e0_mm: Array
    demand_mm: Array
    rain_mm: Array
    taw_mm: Array
    raw_mm: Array
    ground: Ground | None
    logged: Logged | None


def course_of(garden: Garden, season: Season, sky: Sky, actions: Actions | None, some: slice) -> Course:
    """The course of some days of a run; arguments as of the whole run."""
    days = Days.of(season.dates[some])
    rain_mm, et0_mm = sky.rain_mm[some, None], sky.et0_mm[some, None]
    valve_open = None
    if garden.structure.bans:
        valve_open = np.where(is_banned(days, garden.structure.bans), 0.0, 1.0)[:, None]
    fed_l, roofs = _fed_l(garden, days), roofs_of(garden, rain_mm)
    return Course(
        roofs=roofs,
        fed_l=fed_l,
        caught_l=_caught_l(garden, roofs, fed_l),
        due=_due(garden, season, sky, days, some),
        hot=_hot(garden, sky, some),
        moves=_moves(garden, days),
        makes_up=_makes_up(garden, valve_open, len(days.number)),
        valve_open=valve_open,
        **_of_beds(garden, season, rain_mm, et0_mm, some),
        logged=None if actions is None else _logged(actions.of(some)),
    )


def roofs_of(garden: Garden, rain_mm: Array) -> RoofDay:
    """What the roofs make of the rain of some days, (day, 1, lane); arrays (day, roof, lane)."""
    roofs = garden.roofs
    return roof_day(
        rain_mm,
        roofs.area_m2,
        roofs.runoff_coefficient,
        roofs.loss_mm,
        roofs.first_flush_l,
        roofs.filter_efficiency,
    )


def _fed_l(garden: Garden, days: Days) -> Array:
    """What the feeds bring on some days [L], (day, feed, lane)."""
    feeds = garden.feeds
    return np.where(on_listed_days(days, feeds.listed, feeds.season_from, feeds.season_to), feeds.l_per_day, 0.0)


def _caught_l(garden: Garden, roofs: RoofDay, fed_l: Array) -> Array:
    """What roofs and feeds bring each tank [L], (day, tank, lane)."""
    structure = garden.structure
    brought = [
        *zip(structure.roof_tank, roofs.caught_l.swapaxes(0, 1), strict=True),
        *zip(structure.feed_tank, fed_l.swapaxes(0, 1), strict=True),
    ]
    lanes = max((litres.shape[-1] for _, litres in brought), default=1)
    caught_l = np.zeros((len(fed_l), len(structure.mains), lanes))
    for tank, litres in brought:
        caught_l[:, tank] += litres
    return caught_l


def due_l(xp: Namespace, garden: Garden, days: Course) -> Array:
    """What each outlet would ask for at the flow from a full store if no bed had a say [L], (outlet, lane) by day.

    days: one of them, or many.
    """
    outlets = garden.outlets
    run_l = outlets.run_l if days.hot is None else xp.where(days.hot, outlets.hot_run_l, outlets.run_l)
    return xp.where(days.due, run_l, 0.0)


def _due(garden: Garden, season: Season, sky: Sky, days: Days, some: slice) -> BoolArray:
    """Whether each outlet has its day, (day, outlet, lane)."""
    outlets = garden.outlets
    due = on_listed_days(days, outlets.listed, outlets.season_from, outlets.season_to)
    if np.any(outlets.every_days > 1):
        every_from = np.where(np.isnan(outlets.every_from), season.begun, outlets.every_from).astype(np.int64)
        due = due & ((days.number[:, None] - every_from) % outlets.every_days == 0)
    return due & ~_is_wet(garden, sky, some) if np.any(garden.outlets.skip_rain_days) else due


def _hot(garden: Garden, sky: Sky, some: slice) -> BoolArray | None:
    """Whether days are hot for each outlet, (day, outlet, lane), where one minds."""
    outlets = garden.outlets
    if sky.tmax_c is None or np.all(np.isinf(outlets.hot_above_c)):
        return None
    return sky.tmax_c[some, None] >= outlets.hot_above_c


def _is_wet(garden: Garden, sky: Sky, some: slice) -> BoolArray:
    """Whether the days before brought the rain that makes a run be skipped, (day, outlet, lane)."""
    spans = garden.outlets.skip_rain_days
    first, last, _ = some.indices(len(sky.rain_mm))
    longest = int(spans.max())
    before_mm, now_mm = sky.rain_before(first, longest), sky.rain_mm[some]
    lanes = max(before_mm.shape[1], now_mm.shape[1])
    rain_mm = np.concatenate([np.broadcast_to(mm, (len(mm), lanes)) for mm in (before_mm, now_mm)])
    count = last - first
    fallen_mm = np.zeros((count, 1, 1))
    for span in set(spans[spans > 0].tolist()):
        days_before = (rain_mm[longest - back : longest - back + count] for back in range(span, 0, -1))
        of_span_mm = sum(days_before, start=np.zeros((count, lanes)))
        fallen_mm = np.where(spans == span, of_span_mm[:, None], fallen_mm)
    return fallen_mm >= garden.outlets.skip_rain_mm - ROUNDING_MM


def _moves(garden: Garden, days: Days) -> BoolArray:
    """Whether each transfer is due, (day, transfer, lane)."""
    transfers = garden.transfers
    return on_listed_days(days, transfers.listed, transfers.season_from, transfers.season_to)


def _makes_up(garden: Garden, valve_open: Array | None, days: int) -> Array | None:
    """What share of what a store is short of the mains gives, (day, tank, lane).

    A hose gives all of it, a float valve what runs in while it is drawn, unless the outlet lies above the valve.
    """
    mains, tanks = garden.structure.mains, garden.tanks
    if set(mains) <= {"none"}:
        return None
    by_hose = np.array([[kind == "direct"] for kind in mains])
    by_valve = np.array([[kind == "float"] for kind in mains]) & (tanks.dead_l < tanks.float_below_l)
    share = (by_hose | by_valve).astype(np.float64)
    return np.broadcast_to(share, (days, *share.shape)) if valve_open is None else share * valve_open


def _of_beds(garden: Garden, season: Season, rain_mm: Array, et0_mm: Array, some: slice) -> dict[str, Any]:
    """The fields of a course that are the beds'; rain and ET0 (day, 1, lane)."""
    beds = garden.beds
    kc, e0_mm, falls_mm = season.kc[some], et0_mm * beds.et_factor, rain_mm * beds.rain_share
    demand_mm = kc * e0_mm
    taw_mm, p = beds.taw_mm(season.zr_m[some]), season.p[some]
    ground = None
    if season.climate is not None and season.cover is not None:
        ground = Ground(falls_mm, season.climate[some], season.cover[some])
    return {
        "handed_over": season.handed_over[some],
        "planted": season.planted[some],
        "kc": kc,
        "e0_mm": e0_mm,
        "demand_mm": demand_mm,
        "rain_mm": falls_mm * beds.opening,
        "taw_mm": taw_mm,
        "raw_mm": raw(taw_mm, adjusted_p(p, demand_mm) if garden.structure.adjust_p else p),
        "ground": ground,
    }


def _logged(actions: Actions) -> Logged:
    open_day = -1 if actions.open_day is None else actions.open_day
    return Logged(
        actions.minutes[..., None],
        actions.mains_added_l[..., None],
        (np.arange(len(actions.minutes)) == open_day)[:, None, None],
    )
