"""Gardens of one build, and weather, side by side: what they share stays, what differs becomes a lane each."""

from collections.abc import Callable, Hashable, Sequence
from dataclasses import replace
from typing import Any

import numpy as np

from waterbudget.schedule.garden import Garden, Roofs, Transfers
from waterbudget.schedule.season import Season
from waterbudget.schedule.sky import Sky
from waterbudget.simulate.state import with_row
from waterbudget.site.model import Site
from waterbudget.units import Array


def build_of(garden: Garden) -> Hashable:
    """What gardens must have in common to run side by side: how many levels their lines know, and their structure.

    Which zone waits for dry beds and which refills is told by arrays, so every lane may have a plan of its own.
    """
    structure = replace(garden.structure, opens_when_dry=False, refills=False)
    return structure, garden.outlets.factor.shape[:2], garden.beds.share.shape[:2]


def season_key(site: Site) -> Hashable:
    """What sites must have in common to share a season: half of the earth, climate, plantings, root depths, soil."""
    beds = tuple((bed.root_limit_m, bed.pots is None, bed.exposed, bed.width_m, repr(bed.planting)) for bed in site.bed)
    model, place = site.model, site.site
    climate = (place.mean_wind_m_s, place.mean_rh_min_pct) if model.crop_coefficient == "dual" else ()
    return site.is_south, model.crop_coefficient, model.kc_bare, model.root_start_m, climate, beds


def alike(gardens: Sequence[Garden]) -> list[list[int]]:
    """The numbers of gardens that can run side by side once they are `evened`."""
    groups: dict[Hashable, list[int]] = {}
    for number, garden in enumerate(gardens):
        groups.setdefault(build_of(garden.restructured(roof_tank=(), moves=())), []).append(number)
    return list(groups.values())


def evened(gardens: Sequence[Garden]) -> list[Garden]:
    """Gardens of one build but for roofs and transfers, each with those of all the others besides.

    A roof that a garden has not is one without area there, and such a transfer moves nothing; their names are empty.
    """
    roof_tank, roofs = _in_one_order([garden.structure.roof_tank for garden in gardens])
    moves, transfers = _in_one_order([garden.structure.moves for garden in gardens])
    return [
        replace(
            garden.restructured(roof_tank=roof_tank, moves=moves).named(
                roofs=_named(garden.names.roofs, of_roofs, len(roof_tank)),
                transfers=_named(garden.names.transfers, of_transfers, len(moves)),
            ),
            roofs=Roofs(**_spread(garden.roofs, of_roofs, len(roof_tank))),
            transfers=Transfers(**_spread(garden.transfers, of_transfers, len(moves))),
        )
        for garden, of_roofs, of_transfers in zip(gardens, roofs, transfers, strict=True)
    ]


def _in_one_order(lists: Sequence[tuple[Any, ...]]) -> tuple[tuple[Any, ...], list[list[int]]]:
    """A list that holds each of some lists in its order, and the places there of the items of each."""
    whole: list[Any] = []
    places: list[list[int]] = []
    for items in lists:
        own: list[int] = []
        for item in items:
            after = own[-1] + 1 if own else 0
            own.append(whole.index(item, after) if item in whole[after:] else len(whole))
            if own[-1] == len(whole):
                whole.append(item)
        places.append(own)
    return tuple(whole), places


def _named(names: Sequence[str], places: Sequence[int], many: int) -> tuple[str, ...]:
    """Names at their places, the others empty."""
    there = dict(zip(places, names, strict=True))
    return tuple(there.get(place, "") for place in range(many))


def _spread(part: Roofs | Transfers, places: Sequence[int], many: int) -> dict[str, Any]:
    """Arrays (…, item, lane) of so many items: those of a part at their places, noughts between them."""
    wide = {}
    for name, rows in vars(part).items():
        wide[name] = np.zeros((*rows.shape[:-2], many, rows.shape[-1]), dtype=rows.dtype)
        wide[name][..., list(places), :] = rows
    return wide


def season_of_all(sites: Sequence[Site], reckoned: Callable[[Site], Season]) -> Season:
    """The seasons of sites of one build as the lanes of one.

    reckoned: the season of a site, through the same days for all; reckoned once for those that share theirs.
    """
    keys = [season_key(site) for site in sites]
    seasons = {key: reckoned(site) for key, site in dict(zip(keys, sites, strict=True)).items()}
    return seasons_side_by_side([seasons[key] for key in keys], [1] * len(keys))


def seasons_side_by_side(seasons: Sequence[Season], lanes: Sequence[int]) -> Season:
    """Seasons of as many days, of one lane each, as the lanes of one; what is the same in all stays of length one.

    lanes: how many each takes.
    """

    def joined(parts: tuple[Any, ...]) -> Any:  # noqa: ANN401 - arrays of one kind
        if parts[0] is None or all(np.array_equal(parts[0], part) for part in parts[1:]):
            return parts[0]
        return np.repeat(np.concatenate(parts, axis=-1), lanes, axis=-1)

    return Season._make(map(joined, zip(*seasons, strict=True)))


def side_by_side(gardens: Sequence[Garden], lanes: int | Sequence[int]) -> Garden:
    """Gardens of one build as the lanes of one; lanes: how many each takes, or all of them alike."""
    lanes = [lanes] * len(gardens) if isinstance(lanes, int) else lanes
    parts = {
        kind: {
            name: _joined([getattr(getattr(garden, kind), name) for garden in gardens], lanes) for name in vars(part)
        }
        for kind, part in gardens[0].parts.items()
    }
    structures = [garden.structure for garden in gardens]
    return (
        gardens[0]
        .restructured(
            opens_when_dry=any(structure.opens_when_dry for structure in structures),
            refills=any(structure.refills for structure in structures),
        )
        .changed(**parts)
    )


def skies_side_by_side(skies: Sequence[Sky], lanes: int | Sequence[int]) -> Sky:
    """Weather of the same days as the lanes of one; lanes: as for `side_by_side`. Heat that nobody knows is NaN."""

    def joined(of_each: Sequence[Array]) -> Array:
        return np.repeat(np.concatenate(of_each, axis=1), lanes, axis=1)

    tmax_c = [np.full_like(sky.rain_mm, np.nan) if sky.tmax_c is None else sky.tmax_c for sky in skies]
    back = max(0 if sky.before_mm is None else len(sky.before_mm) for sky in skies)
    return Sky(
        joined([sky.rain_mm for sky in skies]),
        joined([sky.et0_mm for sky in skies]),
        joined(tmax_c) if any(sky.tmax_c is not None for sky in skies) else None,
        joined([sky.rain_before(0, back) for sky in skies]) if back else None,
    )


def _joined(arrays: Sequence[Any], lanes: Sequence[int]) -> Any:  # noqa: ANN401 - arrays of one kind
    """Arrays (…, lane) one after the other."""
    if len(arrays) == 1 and arrays[0].shape[-1] == lanes[0]:
        return arrays[0]
    wide = [np.broadcast_to(array, (*array.shape[:-1], many)) for array, many in zip(arrays, lanes, strict=True)]
    return np.concatenate(wide, axis=-1)


def of_lanes(garden: Garden, some: Any) -> Garden:  # noqa: ANN401 - a slice, or numbers of lanes
    """The garden with some of its lanes; what stands for all of them stays as it is."""

    def taken(rows: Array) -> Array:
        return rows if rows.shape[-1] == 1 else rows[..., some]

    return garden.changed(
        **{kind: {name: taken(rows) for name, rows in vars(part).items()} for kind, part in garden.parts.items()}
    )


def of_soil_triggered_beds(garden: Garden, season: Season) -> tuple[Garden, Season]:
    """The garden and its season without the beds that no plan looks at: what they lack or get moves no store."""
    structure, beds = garden.structure, garden.beds
    looks = np.any(garden.outlets.when_dry | garden.outlets.refill, axis=1)
    few = [bed for bed, zone in enumerate(structure.bed_zone) if zone is not None and looks[zone]]
    following = [number for number, bed in enumerate(structure.follows_beds) if bed in few]
    arrays = {name: values[few] for name, values in vars(beds).items() if name != "share"}
    return (
        garden.restructured(
            bed_zone=tuple(structure.bed_zone[bed] for bed in few),
            follows_beds=tuple(few.index(structure.follows_beds[number]) for number in following),
        )
        .named(beds=tuple(garden.names.beds[bed] for bed in few))
        .changed(beds=arrays | {"share": beds.share[:, following]}),
        season.of_beds(few),
    )


def hosed(garden: Garden) -> Garden:
    """The garden with a hose for every store that no mains water helps out: all that is asked for is given."""
    return garden.restructured(mains=tuple("direct" if kind == "none" else kind for kind in garden.structure.mains))


def sized(garden: Garden, tank: int, capacity_l: Array, roof_factor: Array | None = None) -> Garden:
    """The garden with a lane for each capacity [L] of one tank, (lane,); all else stays as it is.

    The tank starts filled to the same share. What lies below its outlet stays: a capacity that does not reach up to it
    gives nothing, nor does one of 0, which is no tank at all. The levels of a float valve that would stand above the
    brim come down in proportion. roof_factor: multiplies the area of the roofs that feed the tank, (lane,). A garden of
    many lanes has as many already.
    """
    tanks, lanes = garden.tanks, len(capacity_l)

    def changed(rows: Array, row: Array) -> Array:
        return with_row(np.broadcast_to(rows, (len(rows), lanes)), tank, row)

    now_l, float_to_l = tanks.capacity_l[tank], tanks.float_to_l[tank]
    lowered = np.minimum(1.0, capacity_l / np.where(float_to_l > 0.0, float_to_l, np.inf))
    lowered = np.where(float_to_l > 0.0, lowered, 1.0)
    dead_l = tanks.dead_l[tank]
    holds_any = (capacity_l > 0.0) & (capacity_l >= dead_l)
    changes: dict[str, dict[str, Array]] = {
        "tanks": {
            "capacity_l": changed(tanks.capacity_l, capacity_l),
            "dead_l": changed(tanks.dead_l, np.where(holds_any, dead_l, np.inf)),
            "start_l": changed(tanks.start_l, np.minimum(tanks.start_l[tank] * (capacity_l / now_l), capacity_l)),
            "float_below_l": changed(tanks.float_below_l, np.minimum(tanks.float_below_l[tank] * lowered, capacity_l)),
            "float_to_l": changed(tanks.float_to_l, np.minimum(float_to_l * lowered, capacity_l)),
        }
    }
    if roof_factor is not None:
        feeding = np.array([[below == tank] for below in garden.structure.roof_tank])
        changes["roofs"] = {"area_m2": garden.roofs.area_m2 * np.where(feeding, roof_factor, 1.0)}
    return garden.changed(**changes)
