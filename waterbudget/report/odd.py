"""What looks odd in a site that is free of faults: things that are allowed and yet seldom meant."""

from collections import defaultdict
from collections.abc import Iterator

from waterbudget.physics.shape import SHAPES
from waterbudget.report.words import listed, litres, percent
from waterbudget.simulate.opened import unwatered
from waterbudget.simulate.result import Result
from waterbudget.site.model import Site
from waterbudget.tables.coverings import find_covering
from waterbudget.weather.quality import quality_notes

LARGE_ROOF_M2 = 2000.0
MEAGRE_SHARE = 0.10  # of what a bed needs, given by its plan
SHAPE_SHARE = 0.10  # of the capacity, that a tank's shape may hold more or less
ONLY_DUAL = {"wetted_fraction", "rew_mm", "tew_mm", "mulch_cover", "kcb"}
TANK_SIZES = tuple(dict.fromkeys(size for kind in SHAPES.values() for size in kind._fields))


def oddities(result: Result) -> list[str]:
    """A sentence for each thing that looks odd, with what to look at."""
    return [
        *_roofs(result.site),
        *_stores(result),
        *_shapes(result.site),
        *unwatered(result.site),
        *_idle(result.site),
        *_rhythms(result),
        *_plans(result),
        *quality_notes(result.weather.daily),
    ]


def _roofs(site: Site) -> Iterator[str]:
    for roof in site.roof:
        if roof.area_m2 > LARGE_ROOF_M2:
            yield (
                f"{roof.name} has {roof.area_m2:,.0f} m²: larger than a sports hall. "
                "Is area_m2 the plan area in square metres?"
            )
        if roof.covering and (caution := find_covering(roof.covering).edible_crop_caution):
            yield f"{roof.name} ({roof.covering}): {caution}"


def _stores(result: Result) -> Iterator[str]:
    for tank, row in zip(result.site.tank, result.summary["tanks"], strict=True):
        caught_l, holds_l = row["inflow_l"], tank.joined * tank.capacity_l
        is_filled = tank.mains == "float" or any(transfer.to_tank == tank.name for transfer in result.site.transfer)
        if caught_l == 0 and not is_filled:
            yield f"{tank.name} catches nothing in this weather: no roof and no overflow brings it water."
        elif holds_l > caught_l > 0:
            yield (
                f"{tank.name} holds {litres(holds_l)} L, more than the {litres(caught_l)} L that run into it "
                "in all these days: a larger roof helps here, a larger store does not."
            )
        if tank.start_l == tank.capacity_l:
            yield f"{tank.name} starts full. Was it seen full? Nothing decides the first weeks more."
        if row["asked_l"] == 0:
            yield f"{tank.name} is never drawn from in these days."


def _shapes(site: Site) -> Iterator[str]:
    for tank in site.tank:
        sizes = [size for size in TANK_SIZES if getattr(tank, size) is not None]
        needed = SHAPES[tank.shape]._fields if tank.shape else ()
        if idle := [size for size in sizes if size not in needed]:
            why = f'beside shape = "{tank.shape}"' if tank.shape else "without shape"
            yield f"{tank.name} has {listed(idle)}, which {'has' if len(idle) == 1 else 'have'} no effect {why}."
        inside = tank.inside
        if inside is None:
            continue
        shape_l = float(inside.litres(inside.height_m))
        if abs(shape_l - tank.capacity_l) > SHAPE_SHARE * tank.capacity_l:
            yield (
                f"{tank.name} holds {litres(tank.capacity_l)} L by capacity_l and {litres(shape_l)} L by its shape: "
                "check the inner sizes, in metres, and the height up to the overflow."
            )


def _idle(site: Site) -> Iterator[str]:
    """Keys that are given and change nothing."""
    for roof in site.roof:
        if roof.covering and roof.runoff_coefficient is not None and roof.loss_mm is None:
            yield (
                f"{roof.name} has a covering and a runoff_coefficient: the second counts, and no wetting loss with it. "
                "Leave it out, or give loss_mm too."
            )
    for bed in site.bed:
        if bed.width_m is not None and not bed.exposed:
            yield f"{bed.name} has width_m, which has no effect without exposed = true."
    if site.model.crop_coefficient == "single":
        given = [(zone.name, zone.model_fields_set) for zone in site.zone]
        given += [(bed.name, table.model_fields_set) for bed in site.bed for table in (bed, *bed.planting)]
        for name, keys in given:
            for key in sorted(ONLY_DUAL & keys):
                yield f'{name} has {key}, which has no effect with crop_coefficient = "single".'


def _rhythms(result: Result) -> Iterator[str]:
    asked_l = {row["name"]: row["asked_l"] for row in result.summary["zones"]}
    for zone in result.site.zone:
        if zone.weekdays and zone.every_from:
            yield f"{zone.name} has every_from, which has no effect beside weekdays."
        if asked_l[zone.name] == 0:
            yield f"{zone.name} never asks for water in these days. Are its season (from, to) and minutes right?"


def _plans(result: Result) -> Iterator[str]:
    asked_l = {row["name"]: row["asked_l"] for row in result.summary["zones"]}
    zones = {zone.name: zone for zone in result.site.zone}
    aimed: dict[str | None, float] = defaultdict(float)
    for bed in result.site.bed:
        aimed[bed.zone] += bed.weight
    for bed, row in zip(result.site.bed, result.summary["beds"], strict=True):
        if bed.planting and row["planted_days"] == 0:
            yield f"{bed.name} has nothing growing in these days. Are the planted dates right?"
        if bed.zone is None or row["etc_mm"] == 0 or row["planted_days"] == 0:
            continue
        planned_mm = asked_l[bed.zone] * bed.weight / aimed[bed.zone] * zones[bed.zone].applied / bed.ground_m2
        answers_thirst = zones[bed.zone].plan != "timer" and row["stress_days"] == 0
        if planned_mm <= MEAGRE_SHARE * row["etc_mm"] and not answers_thirst:
            yield (
                f"{bed.name} needs {row['etc_mm']:.0f} mm and its plan gives {planned_mm:.0f} mm "
                f"({percent(planned_mm / row['etc_mm'])}): check flow_l_min, minutes and share of {bed.zone}."
            )
