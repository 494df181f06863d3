"""What is known of some days before anybody waters: what beds will use, what stores will catch, what must be drawn."""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Any, NamedTuple

import numpy as np

from waterbudget.schedule.actions import Actions
from waterbudget.schedule.course import Course, course_of
from waterbudget.schedule.garden import Garden
from waterbudget.schedule.season import Season
from waterbudget.schedule.sky import Sky
from waterbudget.simulate.books import SHORT_L
from waterbudget.simulate.drive import drive
from waterbudget.simulate.keep import Keep, Kept
from waterbudget.simulate.state import State, start_of
from waterbudget.units import Array, BoolArray, IntArray

MM = 1e-9  # water use below this is none
DRY = Keep(sums=("tanks.short_l", "tanks.mains_l"), each=("beds.eta_mm", "outlets.asked_l"))
SURFACE = Keep(each=("beds.etc_mm", "beds.e_mm"))


class Ground(NamedTuple):
    """The watered beds that grow, arrays (day, bed) unless said otherwise.

    columns: their numbers in the garden, (bed,). etc_mm: what they would use; surface_mm: what the air takes of it from
    the bare surface, 0 with a single crop coefficient; roots_mm: the rest. handed_over: what the depletion is
    multiplied by in the morning. least_mm: what they use without a drop of watering, 0 where less water might let them
    use more. harm_per_mm: share of the garden's yield that a millimetre less puts at risk. depletion_mm: on the eve,
    (bed,). zone: that waters each, (bed,); mm_per_l: what a litre of it brings, aimed_mm_per_l: were all of it aimed
    there, (bed,).
    """

    columns: IntArray
    etc_mm: Array
    surface_mm: Array
    roots_mm: Array
    taw_mm: Array
    raw_mm: Array
    rain_mm: Array
    handed_over: Array
    least_mm: Array
    harm_per_mm: Array
    depletion_mm: Array
    zone: IntArray
    mm_per_l: Array
    aimed_mm_per_l: Array


class Stores(NamedTuple):
    """Arrays (tank,), caught_l and helped (day, tank): what runs in, and whether mains water makes up for a lack.

    overflow_to: None for the drain. level_l: on the eve.
    """

    capacity_l: Array
    dead_l: Array
    loss_l_per_day: Array
    level_l: Array
    overflow_to: tuple[int | None, ...]
    caught_l: Array
    helped: BoolArray
    before_spill: bool


class Takers(NamedTuple):
    """Zones by the store of each; other draws by store, and asked_l (day, draw).

    rations: whether each draw may get less, (draw,), and least_l what it must get in all days together then.
    """

    zone_tank: IntArray
    draw_tank: IntArray
    asked_l: Array
    rations: BoolArray
    least_l: Array


class Moves(NamedTuple):
    """Transfers in their order: from which store to which, most_l (day, move), and what stays behind, (move,)."""

    ways: tuple[tuple[int, int], ...]
    most_l: Array
    keep_l: Array


@dataclass(frozen=True)
class Prospect:
    """Some days as somebody would see them who knew the weather.

    drained: the stores that other draws alone empty, whose draws get less than they ask for. is_exact: whether water
    use is known before the watering, so with a single crop coefficient and shares that do not follow a store's level.
    """

    ground: Ground
    stores: Stores
    takers: Takers
    moves: Moves
    drained: tuple[int, ...]
    is_exact: bool

    @property
    def days(self) -> int:
        """How many there are."""
        return len(self.stores.caught_l)

    def changed(self, **parts: dict[str, Any]) -> "Prospect":
        """The prospect with other arrays in some of its parts, such as stores={"level_l": …}."""
        return replace(self, **{kind: getattr(self, kind)._replace(**arrays) for kind, arrays in parts.items()})


def prospects(
    garden: Garden,
    season: Season,
    sky: Sky,
    state: State | None,
    ky: Array,
    weight: Array,
    rations: Sequence[bool] = (),
) -> list[Prospect]:
    """A prospect of each lane of the weather, for a garden of one lane.

    state: the eve, None for the start of the site file. ky: the response of each bed's yield, (day, bed) or (day, bed,
    lane). weight: of each bed in the harm, (bed,); 0 leaves it out. rations: which draws may get less than they ask
    for; left out, none. Mains water helps the stores alone that other draws empty, as the site has it.
    """
    state = start_of(garden, season, sky) if state is None else state
    days, zones = len(sky.rain_mm), garden.structure.zones
    course = course_of(garden, season, sky, None, slice(0, days))
    dry = _without_watering(garden, season, sky, state, zones)
    surface = drive(garden, season, sky, state, keep=SURFACE)[1] if garden.structure.dual else None
    lanes = max(season.lanes, sky.lanes, state.level_l.shape[-1])
    ky = ky if ky.ndim > 2 else ky[..., None]  # noqa: PLR2004 - an axis for lanes
    may_ration = np.zeros(len(garden.structure.outlet_tank) - zones, dtype=bool)
    may_ration[: len(rations)] = rations
    return [
        _prospect(garden, season, course, dry, surface, state, ky, weight, may_ration, lane) for lane in range(lanes)
    ]


def _without_watering(garden: Garden, season: Season, sky: Sky, state: State, zones: int) -> Kept:
    """The days with every zone shut."""
    structure = garden.structure
    shape = (len(sky.rain_mm), len(structure.outlet_tank))
    shut = np.full(shape, np.nan)
    shut[:, :zones] = 0.0
    actions = Actions(shut, np.zeros((len(sky.rain_mm), len(structure.mains))))
    return drive(garden, season, sky, state, actions, keep=DRY)[1]


def _prospect(
    garden: Garden,
    season: Season,
    course: Course,
    dry: Kept,
    surface: Kept | None,
    state: State,
    ky: Array,
    weight: Array,
    rations: BoolArray,
    lane: int,
) -> Prospect:
    structure, transfers = garden.structure, garden.transfers
    zones = structure.zones
    is_short = _of(dry.sums["tanks.short_l"] + dry.sums["tanks.mains_l"], lane) > SHORT_L
    draw_tank = np.array(structure.outlet_tank[zones:], dtype=np.int64)
    has_mains = np.array([kind != "none" for kind in structure.mains])
    is_open = np.ones((len(season.dates), 1)) if course.valve_open is None else _of(course.valve_open, lane)
    return Prospect(
        ground=_ground(garden, course, dry, surface, state, _of(ky, lane), weight, lane),
        stores=Stores(
            _of(garden.tanks.capacity_l, lane),
            _of(garden.tanks.dead_l, lane),
            _of(garden.tanks.loss_l_per_day, lane),
            _of(state.level_l, lane),
            structure.overflow_to,
            _of(course.caught_l, lane),
            (is_open > 0.0) & has_mains & is_short,
            structure.before_spill,
        ),
        takers=Takers(
            np.array(structure.outlet_tank[:zones], dtype=np.int64),
            draw_tank,
            _of(dry.each["outlets.asked_l"], lane)[:, zones:],
            rations | is_short[draw_tank] if len(draw_tank) else rations,
            np.zeros(len(draw_tank)),
        ),
        moves=Moves(
            structure.moves,
            _of(course.moves, lane) * _of(transfers.l_per_day, lane),
            _of(transfers.keep_l, lane),
        ),
        drained=tuple(np.flatnonzero(is_short).tolist()),
        is_exact=not structure.dual and not structure.follows_beds,
    )


def _ground(
    garden: Garden,
    course: Course,
    dry: Kept,
    surface: Kept | None,
    state: State,
    ky: Array,
    weight: Array,
    lane: int,
) -> Ground:
    roots_mm, planted = _of(course.demand_mm, lane), _of(course.planted, lane)
    surface_mm, etc_mm = np.zeros_like(roots_mm), roots_mm
    if surface is not None:
        surface_mm, etc_mm = _of(surface.each["beds.e_mm"], lane), _of(surface.each["beds.etc_mm"], lane)
    bed_zone = garden.structure.bed_zone
    planted_mm = (etc_mm * planted).sum(axis=0)
    counts = (planted_mm > MM) & (weight > 0.0) & np.array([zone is not None for zone in bed_zone], dtype=bool)
    some = np.flatnonzero(counts)
    taw_mm, raw_mm, dry_mm = _of(course.taw_mm, lane), _of(course.raw_mm, lane), _of(dry.each["beds.eta_mm"], lane)
    more_is_more = np.all(roots_mm <= taw_mm - raw_mm, axis=0) & (surface is None)
    per_mm = ky * planted / np.maximum(planted_mm, MM)
    most = np.where(more_is_more, (per_mm * (etc_mm - dry_mm)).sum(axis=0), (per_mm * etc_mm).sum(axis=0))
    # nobody loses more than the harvest: the straight line from no loss to the greatest lies below the bend
    per_mm = per_mm / np.maximum(most, 1.0) * (weight / max(weight[some].sum(), MM))
    return Ground(
        columns=some,
        etc_mm=etc_mm[:, some],
        surface_mm=surface_mm[:, some],
        roots_mm=roots_mm[:, some],
        taw_mm=taw_mm[:, some],
        raw_mm=raw_mm[:, some],
        rain_mm=_of(course.rain_mm, lane)[:, some],
        handed_over=_of(course.handed_over, lane)[:, some],
        least_mm=(dry_mm * more_is_more)[:, some],
        harm_per_mm=per_mm[:, some],
        depletion_mm=_of(state.depletion_mm, lane)[some],
        zone=np.array([bed_zone[bed] for bed in some], dtype=np.int64),
        mm_per_l=_of(garden.mm_per_l, lane)[some],
        aimed_mm_per_l=_of(garden.aimed_mm_per_l, lane)[some],
    )


def _of(values: Any, lane: int) -> Any:  # noqa: ANN401 - the same without its last axis
    """One lane of values, which may have one that stands for all."""
    return values[..., lane if values.shape[-1] > 1 else 0]
