"""A site laid out as a garden: structure and sizes of one lane."""

import datetime as dt
from collections.abc import Iterable, Mapping, Sequence
from typing import Any

import numpy as np

from waterbudget.physics.surface import LEAVES_SHADE_DRIP
from waterbudget.schedule.garden import (
    Ban,
    Beds,
    Feeds,
    Garden,
    Names,
    Outlets,
    Roofs,
    Structure,
    Tanks,
    Transfers,
)
from waterbudget.schedule.hose import OverLevel, over_level
from waterbudget.site.model import WEEKDAYS, Draw, MonthDay, Site, Zone
from waterbudget.units import Array, BoolArray, IntArray

NEVER = np.inf  # a threshold that no day reaches
NEW_YEAR, NEW_YEARS_EVE = 101, 1231


def garden_of(site: Site) -> Garden:
    """The garden of a site, with one lane. Raises SiteError where a watering line gives nothing.

    Numbers of a site that were put in place of its own as arrays, (lane,), make a garden of so many lanes.
    """
    lines = {zone.name: over_level(site, zone) for zone in site.zone if zone.hose is not None}
    return Garden(
        structure=_structure(site, lines),
        names=Names(
            roofs=tuple(roof.name for roof in site.roof),
            tanks=tuple(tank.name for tank in site.tank),
            outlets=(*(zone.name for zone in site.zone), *(draw.name for draw in site.draw)),
            transfers=tuple(transfer.name for transfer in site.transfer),
            beds=tuple(bed.name for bed in site.bed),
        ),
        roofs=_roofs(site),
        tanks=_tanks(site),
        feeds=_feeds(site),
        outlets=_outlets(site, lines),
        transfers=_transfers(site),
        beds=_beds(site, lines),
    )


def _structure(site: Site, lines: Mapping[str, OverLevel]) -> Structure:
    tank = {tank.name: number for number, tank in enumerate(site.tank)}
    zone = {zone.name: number for number, zone in enumerate(site.zone)}
    takers: list[Zone | Draw] = [*site.zone, *site.draw]
    return Structure(
        mains=tuple(one.mains for one in site.tank),
        overflow_to=tuple(tank[one.overflow_to] if one.overflow_to else None for one in site.tank),
        roof_tank=tuple(tank[roof.tank] for roof in site.roof),
        feed_tank=tuple(tank[feed.tank] for feed in site.inflow),
        outlet_tank=tuple(tank[taker.tank] for taker in takers),
        moves=tuple((tank[one.from_tank], tank[one.to_tank]) for one in site.transfer),
        bans=tuple(_ban(one.first_day, one.last_day) for one in site.ban),
        zones=len(site.zone),
        priority=tuple(taker.priority for taker in takers),
        bed_zone=tuple(zone[bed.zone] if bed.zone else None for bed in site.bed),
        opens_when_dry=any(one.plan == "dry" for one in site.zone),
        refills=any(one.plan == "refill" for one in site.zone),
        follows=tuple(number for number, one in enumerate(site.zone) if one.flow_l_min is None),
        follows_beds=_follows_beds(site, lines),
        before_spill=site.model.release == "before_spill",
        dual=site.model.crop_coefficient == "dual",
        adjust_p=site.model.adjust_p,
    )


def _ban(first: MonthDay | dt.date, last: MonthDay | dt.date) -> Ban:
    if isinstance(first, MonthDay) and isinstance(last, MonthDay):
        return Ban(yearly=True, first=_month_day(first), last=_month_day(last))
    begun, over = (int(np.datetime64(str(day), "D").astype(np.int64)) for day in (first, last))
    return Ban(yearly=False, first=begun, last=over)


def _follows_beds(site: Site, lines: Mapping[str, OverLevel]) -> tuple[int, ...]:
    by_hand = {bed.zone for bed in site.bed if bed.share is not None}
    return tuple(number for number, bed in enumerate(site.bed) if bed.zone in lines and bed.zone not in by_hand)


def _column(values: Iterable[float]) -> Array:
    """A row of an item each, (item, lane): one lane, or those of the values that are arrays of many gardens."""
    rows: list[Any] = list(values)
    lanes = max((np.size(row) for row in rows), default=1)
    column = np.empty((len(rows), lanes))
    for row, value in zip(column, rows, strict=True):
        row[...] = value
    return column


def _roofs(site: Site) -> Roofs:
    return Roofs(
        area_m2=_column(roof.area_m2 for roof in site.roof),
        runoff_coefficient=_column(roof.runoff for roof in site.roof),
        loss_mm=_column(roof.wetting_loss_mm for roof in site.roof),
        first_flush_l=_column(roof.first_flush_l for roof in site.roof),
        filter_efficiency=_column(roof.filter_efficiency for roof in site.roof),
    )


def _tanks(site: Site) -> Tanks:
    return Tanks(
        capacity_l=_column(tank.joined * tank.capacity_l for tank in site.tank),
        dead_l=_column(tank.joined * tank.dead_l for tank in site.tank),
        start_l=_column(tank.joined * tank.start_l for tank in site.tank),
        loss_l_per_day=_column(tank.joined * tank.loss_l_per_day for tank in site.tank),
        float_below_l=_column(
            0.0 if tank.float_below_l is None else tank.joined * tank.float_below_l for tank in site.tank
        ),
        float_to_l=_column(0.0 if tank.float_to_l is None else tank.joined * tank.float_to_l for tank in site.tank),
    )


def _feeds(site: Site) -> Feeds:
    return Feeds(l_per_day=_column(feed.l_per_day for feed in site.inflow), **_on_days(site.inflow))


def _transfers(site: Site) -> Transfers:
    return Transfers(
        l_per_day=_column(one.l_per_day for one in site.transfer),
        keep_l=_column(one.keep_l for one in site.transfer),
        below_l=_column(NEVER if one.below_l is None else one.below_l for one in site.transfer),
        run_minutes=_column(site.effort.transfer_minutes for _ in site.transfer),
        **_on_days(site.transfer),
    )


def _outlets(site: Site, lines: Mapping[str, OverLevel]) -> Outlets:
    zones, draws, effort = site.zone, site.draw, site.effort
    names = [*(zone.name for zone in zones), *(draw.name for draw in draws)]
    flows = [float(lines[z.name].flow_l_min[-1]) if z.flow_l_min is None else z.flow_l_min for z in zones]
    run_l = [zone.minutes * zone.runs_per_day * flow for zone, flow in zip(zones, flows, strict=True)]
    hot_run_l = [
        (zone.minutes if zone.hot_minutes is None else zone.hot_minutes) * zone.runs_per_day * flow
        for zone, flow in zip(zones, flows, strict=True)
    ]
    draw_l = [draw.l_per_day for draw in draws]
    never, nought, one = [NEVER] * len(draws), [0.0] * len(draws), [1.0] * len(draws)
    no = [False] * len(draws)
    beds = {zone.name: sum(bed.zone == zone.name for bed in site.bed) for zone in zones}
    followed = [(zone, flow) for zone, flow in zip(zones, flows, strict=True) if zone.flow_l_min is None]
    by_hand = [zone.name not in (*effort.by_can, *effort.by_battery) for zone in zones]
    a_run = [
        effort.hose_minutes * beds[zone.name] if zone.name in effort.by_hose else effort.valve_minutes for zone in zones
    ]
    return Outlets(
        flow_l_min=_column([*flows, *never]),
        run_l=_column([*run_l, *draw_l]),
        hot_run_l=_column([*hot_run_l, *draw_l]),
        hot_above_c=_column([*(NEVER if zone.hot_above_c is None else zone.hot_above_c for zone in zones), *never]),
        **_on_days([*zones, *draws]),
        every_days=_column([*(zone.every_days for zone in zones), *one]).astype(np.int64),
        every_from=_column([*(_day_number(zone.every_from) for zone in zones), *nought]),
        skip_rain_mm=_column([*(zone.skip_rain_mm or NEVER for zone in zones), *never]),
        skip_rain_days=_column([*(zone.skip_rain_days or 0 for zone in zones), *nought]).astype(np.int64),
        when_dry=np.array([*(zone.plan == "dry" for zone in zones), *no], dtype=np.bool_)[:, None],
        dry_at=_column([*(zone.dry_at for zone in zones), *nought]),
        refill=np.array([*(zone.plan == "refill" for zone in zones), *no], dtype=np.bool_)[:, None],
        leave_mm=_column([*(zone.leave_mm for zone in zones), *nought]),
        efficiency=_column([*(zone.applied for zone in zones), *one]),
        factor=_over_level([lines[zone.name].flow_l_min / flow for zone, flow in followed]),
        run_minutes=_column(
            [*(hand * m * zone.runs_per_day for hand, m, zone in zip(by_hand, a_run, zones, strict=True)), *nought]
        ),
        look_minutes=_column([*(effort.look_minutes * (zone.plan != "timer") for zone in zones), *nought]),
        can_l=_column([effort.can_l for _ in names]),
        can_minutes=_column([effort.can_minutes * (name in effort.by_can) for name in names]),
        charge_minutes=_column(
            [effort.battery_minutes / effort.battery_run_minutes * (name in effort.by_battery) for name in names]
        ),
    )


def _on_days(items: Sequence[Any]) -> dict[str, Any]:
    """Weekdays and season of items that have them."""
    listed: BoolArray = np.array(
        [[[item.weekdays is None or day in item.weekdays] for item in items] for day in WEEKDAYS], dtype=np.bool_
    ).reshape(len(WEEKDAYS), len(items), 1)
    return {
        "listed": listed,
        "season_from": _month_days(item.season_from or NEW_YEAR for item in items),
        "season_to": _month_days(item.season_to or NEW_YEARS_EVE for item in items),
    }


def _month_days(days: Iterable[MonthDay | int]) -> IntArray:
    return np.array([_month_day(day) for day in days], dtype=np.int64).reshape(-1, 1)


def _month_day(day: MonthDay | int) -> int:
    return day if isinstance(day, int) else day.month * 100 + day.day


def _day_number(day: dt.date | None) -> float:
    return np.nan if day is None else float(np.datetime64(day, "D").astype(np.int64))


def _over_level(columns: list[Array]) -> Array:
    """(level, follower, 1)."""
    return np.stack(columns, axis=-1)[..., np.newaxis] if columns else np.zeros((1, 0, 1))


def _beds(site: Site, lines: Mapping[str, OverLevel]) -> Beds:
    zones = {zone.name: zone for zone in site.zone}
    aimed = {name: sum(bed.weight for bed in site.bed if bed.zone == name) for name in zones}
    follows = _follows_beds(site, lines)
    share = _over_level([lines[site.bed[number].zone or ""].shares[:, number] for number in follows])
    zone_share = _column(bed.weight / aimed[bed.zone] if bed.zone else 0.0 for bed in site.bed)
    zone_share[list(follows)] = share[-1]
    by = [zones.get(bed.zone or "") for bed in site.bed]
    drips = [
        zone is not None and zone.jets == "drip" and bed.pots is None for zone, bed in zip(by, site.bed, strict=True)
    ]
    return Beds(
        area_m2=_column(bed.ground_m2 for bed in site.bed),
        zone_share=zone_share,
        share=share,
        available_water_mm_m=_column(bed.available_mm_m for bed in site.bed),
        pots_taw_mm=_column(np.nan if bed.pots_taw_mm is None else bed.pots_taw_mm for bed in site.bed),
        rain_share=_column(bed.rain_part for bed in site.bed),
        opening=_column(bed.opening for bed in site.bed),
        et_factor=_column(bed.et_factor for bed in site.bed),
        start_depleted=_column(bed.start_depleted for bed in site.bed),
        rew_mm=_column(bed.rew for bed in site.bed),
        tew_mm=_column(bed.tew for bed in site.bed),
        wetted_fraction=_column(1.0 if zone is None else zone.wetted for zone in by),
        hidden=_column(LEAVES_SHADE_DRIP if drip else 0.0 for drip in drips),
        mulch_cover=_column(bed.mulch_cover for bed in site.bed),
    )
