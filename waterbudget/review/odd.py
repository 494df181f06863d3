"""What looks odd in a site that is free of faults: things that are allowed and yet seldom meant."""

from collections import defaultdict
from collections.abc import Iterator
from typing import NamedTuple, TypeAlias

from waterbudget.physics.shape import SHAPES
from waterbudget.review.run_off import RunsOff, runs_off
from waterbudget.simulate.opened import unwatered
from waterbudget.simulate.result import Result
from waterbudget.site.model import Site
from waterbudget.tables.coverings import find_covering
from waterbudget.weather.quality import odd_readings

LARGE_ROOF_M2 = 2000.0
MEAGRE_SHARE = 0.10  # of what a bed needs, given by its plan
SHAPE_SHARE = 0.10  # of the capacity, that a tank's shape may hold more or less
ONLY_DUAL = {"wetted_fraction", "rew_mm", "tew_mm", "mulch_cover", "kcb"}
TANK_SIZES = tuple(dict.fromkeys(size for kind in SHAPES.values() for size in kind._fields))


class LargeRoof(NamedTuple):
    """A roof larger than a sports hall."""

    name: str
    area_m2: float


class UnfitCovering(NamedTuple):
    """A covering whose water is doubtful for crops that are eaten."""

    name: str
    covering: str
    caution: str


class CatchesNothing(NamedTuple):
    """A store that no water runs into."""

    name: str


class LargerThanCatch(NamedTuple):
    """A store that holds more than what runs into it in all the days."""

    name: str
    holds_l: float
    inflow_l: float


class StartsFull(NamedTuple):
    """A store that is full on the first day."""

    name: str


class NeverDrawn(NamedTuple):
    """A store that is asked for nothing."""

    name: str


class NeverMoves(NamedTuple):
    """A transfer that is to leave as much in a store as that holds."""

    name: str
    keep_l: float
    tank: str
    holds_l: float


class SizesWithoutShape(NamedTuple):
    """Inner sizes of a store that its shape, or no shape, has no use for."""

    name: str
    keys: list[str]
    shape: str | None


class OtherVolume(NamedTuple):
    """A store whose shape holds another volume than its capacity."""

    name: str
    capacity_l: float
    shape_l: float


class WatersNothing(NamedTuple):
    """A zone without beds; told: what to do about it."""

    name: str
    told: str


class TwoCoefficients(NamedTuple):
    """A roof whose runoff coefficient stands beside a covering, without a loss."""

    name: str


class WithoutEffect(NamedTuple):
    """A key that changes nothing, unless another has a value."""

    name: str
    key: str
    unless: str


class NeverAsks(NamedTuple):
    """A zone that asks for no water in all the days."""

    name: str


class NothingGrows(NamedTuple):
    """A bed whose plantings all stand at other times."""

    name: str


class MeagrePlan(NamedTuple):
    """A bed whose plan gives little of what it needs."""

    name: str
    zone: str
    etc_mm: float
    planned_mm: float


class OddWeather(NamedTuple):
    """Weather that seldom happens; told: which, and what it may be."""

    name: str
    told: str


Oddity: TypeAlias = (
    LargeRoof
    | UnfitCovering
    | CatchesNothing
    | LargerThanCatch
    | StartsFull
    | NeverDrawn
    | NeverMoves
    | SizesWithoutShape
    | OtherVolume
    | WatersNothing
    | TwoCoefficients
    | WithoutEffect
    | NeverAsks
    | NothingGrows
    | MeagrePlan
    | RunsOff
    | OddWeather
)


def oddities(result: Result) -> list[Oddity]:
    """Each thing that looks odd, with the name of what it is about."""
    lonely = [zone.name for zone in result.site.zone if all(bed.zone != zone.name for bed in result.site.bed)]
    return [
        *_roofs(result.site),
        *_stores(result),
        *_transfers(result.site),
        *_shapes(result.site),
        *map(WatersNothing, lonely, unwatered(result.site)),
        *_idle(result.site),
        *_rhythms(result),
        *_plans(result),
        *runs_off(result),
        *(OddWeather("weather", told) for told in odd_readings(result.weather.days, result.weather.readings)),
    ]


def _roofs(site: Site) -> Iterator[Oddity]:
    for roof in site.roof:
        if roof.area_m2 > LARGE_ROOF_M2:
            yield LargeRoof(roof.name, roof.area_m2)
        if roof.covering and (caution := find_covering(roof.covering).edible_crop_caution):
            yield UnfitCovering(roof.name, roof.covering, caution)


def _stores(result: Result) -> Iterator[Oddity]:
    for tank, row in zip(result.site.tank, result.summary["tanks"], strict=True):
        caught_l, holds_l = row["inflow_l"], tank.joined * tank.capacity_l
        is_filled = tank.mains == "float" or any(transfer.to_tank == tank.name for transfer in result.site.transfer)
        if caught_l == 0 and not is_filled:
            yield CatchesNothing(tank.name)
        elif holds_l > caught_l > 0:
            yield LargerThanCatch(tank.name, holds_l, caught_l)
        if tank.start_l == tank.capacity_l:
            yield StartsFull(tank.name)
        if row["asked_l"] == 0:
            yield NeverDrawn(tank.name)


def _transfers(site: Site) -> Iterator[Oddity]:
    holds_l = {tank.name: tank.all_l for tank in site.tank}
    for transfer in site.transfer:
        if transfer.keep_l >= holds_l[transfer.from_tank]:
            yield NeverMoves(transfer.name, transfer.keep_l, transfer.from_tank, holds_l[transfer.from_tank])


def _shapes(site: Site) -> Iterator[Oddity]:
    for tank in site.tank:
        sizes = [size for size in TANK_SIZES if getattr(tank, size) is not None]
        needed = SHAPES[tank.shape]._fields if tank.shape else ()
        if idle := [size for size in sizes if size not in needed]:
            yield SizesWithoutShape(tank.name, idle, tank.shape)
        inside = tank.inside
        if inside is None:
            continue
        shape_l = float(inside.litres(inside.height_m))
        if abs(shape_l - tank.capacity_l) > SHAPE_SHARE * tank.capacity_l:
            yield OtherVolume(tank.name, tank.capacity_l, shape_l)


def _idle(site: Site) -> Iterator[Oddity]:
    """Keys that are given and change nothing."""
    for roof in site.roof:
        if roof.covering and roof.runoff_coefficient is not None and roof.loss_mm is None:
            yield TwoCoefficients(roof.name)
    for bed in site.bed:
        if bed.width_m is not None and not bed.exposed:
            yield WithoutEffect(bed.name, "width_m", "exposed = true")
    if site.model.crop_coefficient == "single":
        given = [(zone.name, zone.model_fields_set) for zone in site.zone]
        given += [(bed.name, table.model_fields_set) for bed in site.bed for table in (bed, *bed.planting)]
        for name, keys in given:
            for key in sorted(ONLY_DUAL & keys):
                yield WithoutEffect(name, key, 'crop_coefficient = "dual"')


def _rhythms(result: Result) -> Iterator[Oddity]:
    asked_l = {row["name"]: row["asked_l"] for row in result.summary["zones"]}
    for zone in result.site.zone:
        if zone.weekdays and zone.every_from:
            yield WithoutEffect(zone.name, "every_from", "every_days in place of weekdays")
        if asked_l[zone.name] == 0:
            yield NeverAsks(zone.name)


def _plans(result: Result) -> Iterator[Oddity]:
    asked_l = {row["name"]: row["asked_l"] for row in result.summary["zones"]}
    zones = {zone.name: zone for zone in result.site.zone}
    aimed: dict[str | None, float] = defaultdict(float)
    for bed in result.site.bed:
        aimed[bed.zone] += bed.weight
    for bed, row in zip(result.site.bed, result.summary["beds"], strict=True):
        if bed.planting and row["planted_days"] == 0:
            yield NothingGrows(bed.name)
        if bed.zone is None or row["etc_mm"] == 0 or row["planted_days"] == 0:
            continue
        planned_mm = asked_l[bed.zone] * bed.weight / aimed[bed.zone] * zones[bed.zone].applied / bed.ground_m2
        answers_thirst = zones[bed.zone].plan != "timer" and row["stress_days"] == 0
        if planned_mm <= MEAGRE_SHARE * row["etc_mm"] and not answers_thirst:
            yield MeagrePlan(bed.name, bed.zone, row["etc_mm"], planned_mm)
