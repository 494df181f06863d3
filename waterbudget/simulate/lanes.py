"""Gardens of one build, and weather, side by side: what they share stays, what differs becomes a scenario each."""

from collections.abc import Hashable, Sequence
from dataclasses import replace
from typing import Any

import numpy as np

from waterbudget.schedule.garden import Beds, Garden, Outlets, Roofs, Tanks
from waterbudget.schedule.season import Season
from waterbudget.simulate.days import Sky
from waterbudget.site.model import Site
from waterbudget.units import Array

Part = Roofs | Tanks | Outlets | Beds


def build_of(garden: Garden) -> Hashable:
    """What gardens must have in common to run side by side: everything that is no array, and the arrays' shapes."""
    shared = [
        tuple(value.shape if isinstance(value, np.ndarray) else value for value in vars(part).values())
        for part in _parts(garden)
    ]
    return (*shared, garden.before_spill, garden.adjust_p)


def season_key(site: Site) -> Hashable:
    """What sites must have in common to share a season: half of the earth, plantings, root depths, bare soil."""
    beds = tuple((bed.root_limit_m, repr(bed.planting)) for bed in site.bed)
    return (site.is_south, site.model.kc_bare, site.model.root_start_m, beds)


def side_by_side(gardens: Sequence[Garden], lanes: int) -> Garden:
    """Gardens of one build as the scenarios of one, each with so many of them."""
    roofs, tanks, outlets, beds = (
        replace(parts[0], **_joined(parts, lanes)) for parts in zip(*map(_parts, gardens), strict=True)
    )
    return replace(gardens[0], roofs=roofs, tanks=tanks, outlets=outlets, beds=beds)


def skies_side_by_side(skies: Sequence[Sky], lanes: int) -> Sky:
    """Weather of the same days as the scenarios of one, each for so many of them."""

    def joined(of_each: Sequence[Array]) -> Array:
        return np.repeat(np.concatenate(of_each, axis=1), lanes, axis=1)

    tmax_c = [sky.tmax_c for sky in skies if sky.tmax_c is not None]
    return Sky(
        joined([sky.rain_mm for sky in skies]),
        joined([sky.et0_mm for sky in skies]),
        joined(tmax_c) if tmax_c else None,
    )


def _parts(garden: Garden) -> tuple[Roofs, Tanks, Outlets, Beds]:
    return garden.roofs, garden.tanks, garden.outlets, garden.beds


def _joined(parts: Sequence[Part], lanes: int) -> dict[str, Any]:
    """The arrays of parts one below the other; the scenarios stand on the last axis but one."""

    def widened(value: Array) -> Array:
        return np.broadcast_to(value, (*value.shape[:-2], lanes, value.shape[-1]))

    names = [name for name, value in vars(parts[0]).items() if isinstance(value, np.ndarray)]
    return {name: np.concatenate([widened(getattr(part, name)) for part in parts], axis=-2) for name in names}


def of_felt_beds(garden: Garden, season: Season) -> tuple[Garden, Season]:
    """The garden and its season without the beds that no plan looks at: what they lack or get moves no store."""
    beds = garden.beds
    looks = np.any(garden.outlets.when_dry | garden.outlets.refill, axis=0)
    felt = [bed for bed, zone in enumerate(beds.zone) if zone is not None and looks[zone]]
    following = [number for number, bed in enumerate(beds.follows) if bed in felt]
    arrays: dict[str, Any] = {
        name: value[..., felt]
        for name, value in vars(beds).items()
        if isinstance(value, np.ndarray) and name != "share"
    }
    few = replace(
        beds,
        **arrays
        | {
            "name": tuple(beds.name[bed] for bed in felt),
            "zone": tuple(beds.zone[bed] for bed in felt),
            "follows": tuple(felt.index(beds.follows[number]) for number in following),
            "share": beds.share[..., following],
        },
    )
    grows = {name: part[..., felt] for name, part in season._asdict().items() if name != "dates"}
    return replace(garden, beds=few), season._replace(**grows)


def hosed(garden: Garden) -> Garden:
    """The garden with a hose for every store that no mains water helps out: all that is asked for is given."""
    mains = tuple("direct" if kind == "none" else kind for kind in garden.tanks.mains)
    return replace(garden, tanks=replace(garden.tanks, mains=mains))


def sized(garden: Garden, tank: int, capacity_l: Array, roof_factor: Array | None = None) -> Garden:
    """The garden with a scenario for each capacity [L] of one tank, (scenario,); all else stays as it is.

    The tank starts filled to the same share. What lies below its outlet stays: a capacity that does not reach up to it
    gives nothing, nor does one of 0, which is no tank at all. The levels of a float valve that would stand above the
    brim come down in proportion. roof_factor: multiplies the area of the roofs that feed the tank, (scenario,).
    """
    tanks, lanes = garden.tanks, len(capacity_l)

    def columns(values: Array, changed: Array) -> Array:
        lane: Array = np.repeat(values, lanes, axis=0)
        lane[:, tank] = changed
        return lane

    now_l, float_to_l = tanks.capacity_l[0, tank], tanks.float_to_l[0, tank]
    lowered = np.minimum(1.0, capacity_l / float_to_l) if float_to_l > 0.0 else np.ones(lanes)
    dead_l = tanks.dead_l[0, tank]
    holds_any = (capacity_l > 0.0) & (capacity_l >= dead_l)
    tanks = replace(
        tanks,
        capacity_l=columns(tanks.capacity_l, capacity_l),
        dead_l=columns(tanks.dead_l, np.where(holds_any, dead_l, np.inf)),
        start_l=columns(tanks.start_l, np.minimum(tanks.start_l[0, tank] * (capacity_l / now_l), capacity_l)),
        float_below_l=columns(tanks.float_below_l, np.minimum(tanks.float_below_l[0, tank] * lowered, capacity_l)),
        float_to_l=columns(tanks.float_to_l, np.minimum(float_to_l * lowered, capacity_l)),
    )
    roofs = garden.roofs
    if roof_factor is not None:
        feeding = np.array([[below == tank for below in roofs.tank]])
        factor = np.where(feeding, roof_factor[:, None], 1.0)
        roofs = replace(roofs, area_m2=roofs.area_m2 * factor)
    return replace(garden, tanks=tanks, roofs=roofs)
