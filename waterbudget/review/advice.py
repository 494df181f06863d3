"""What a run's own books say would help, most useful first: facts, each of them booked."""

import datetime as dt
from collections.abc import Iterator
from typing import Any, NamedTuple, TypeAlias

from waterbudget.review.run_off import RunsOff, runs_off
from waterbudget.simulate.books import SHORT_L
from waterbudget.simulate.result import Result
from waterbudget.site.model import Bed
from waterbudget.units import WEEK_DAYS

WASTED_SHARE = 0.10  # of a zone's water past the roots, from which it is worth a line
DRY_SHARE = 0.05  # of the planted days with stress, from which it is worth a line
MOST, MOST_DRY_BEDS = 4, 2


class TopUp(NamedTuple):
    """Mains water is needed from a day on, most in the seven days up to week_end."""

    first_day: dt.date
    week_l: float
    week_end: dt.date


class SunkPastRoots(NamedTuple):
    """Water of a zone that sank past the roots, as litres and as a share of what reached its beds; bed: where most."""

    zone: str
    sunk_l: float
    share: float
    bed: str


class Overflowed(NamedTuple):
    """Rain that went down the drain before the first day on which a store was short."""

    spilled_l: float
    first_short: dt.date


class DryBed(NamedTuple):
    """A bed that was thirsty on so many days while its zone got all that it asked for."""

    bed: str
    zone: str
    days: int


Advice: TypeAlias = TopUp | RunsOff | SunkPastRoots | Overflowed | DryBed


def advice(result: Result) -> list[Advice]:
    """What would help, at most four."""
    found: list[Advice] = [*_top_up(result), *runs_off(result), *_sunk(result), *_overflowed(result)]
    return [*found, *list(_dry_beds(result))[:MOST_DRY_BEDS]][:MOST]


def _top_up(result: Result) -> Iterator[TopUp]:
    """The top-up to be ready for, as litres a week over the stretch that needs it."""
    zones = result.zones
    needed_l = (zones["mains_l"] + zones["unmet_l"]).groupby(zones["date"]).sum()
    days = needed_l.index[needed_l > SHORT_L]
    if len(days):
        weekly_l = needed_l.rolling(WEEK_DAYS, min_periods=1).sum()
        week_end = weekly_l.index[int(weekly_l.argmax())]
        yield TopUp(days[0].date(), float(weekly_l.max()), week_end.date())


def _sunk(result: Result) -> Iterator[SunkPastRoots]:
    """Zones of which much sinks past the roots: the cheapest water is the water not given."""
    drained_l = {bed.name: row["overwatered_mm"] * bed.ground_m2 for bed, row in _beds(result)}
    given_l = {bed.name: row["irrigation_mm"] * bed.ground_m2 for bed, row in _beds(result)}
    for zone in result.site.zone:
        names = [bed.name for bed in result.site.bed if bed.zone == zone.name]
        sunk_l, reached_l = sum(drained_l[name] for name in names), sum(given_l[name] for name in names)
        if zone.plan != "refill" and reached_l > 0 and sunk_l / reached_l >= WASTED_SHARE:
            worst = max(names, key=lambda name: drained_l[name])
            yield SunkPastRoots(zone.name, sunk_l, sunk_l / reached_l, worst)


def _overflowed(result: Result) -> Iterator[Overflowed]:
    """Rain that went down the drain before a store ran short."""
    drains = [tank.name for tank in result.site.tank if tank.overflow_to is None]
    first_short = result.summary["first_short"]
    if first_short is None:
        return
    before = result.tanks[result.tanks["tank"].isin(drains) & (result.tanks["date"] < first_short)]
    spilled_l = float(before["spilled_l"].sum())
    if spilled_l > SHORT_L:
        yield Overflowed(spilled_l, dt.date.fromisoformat(first_short))


def _dry_beds(result: Result) -> Iterator[DryBed]:
    """Beds that go thirsty although their zone got all it asked for: the plan is too small, not the store."""
    zones, beds = result.zones, result.beds
    for bed, row in _beds(result):
        least = max(DRY_SHARE * row["planted_days"], 1)
        if bed.zone is None or row["stress_days"] < least:
            continue
        unmet = zones.loc[(zones["zone"] == bed.zone) & (zones["unmet_l"] > SHORT_L), "date"]
        dry = beds.loc[(beds["bed"] == bed.name) & (beds["ks"] < 1.0), "date"]
        fed = dry[dry < unmet.min()] if len(unmet) else dry
        if len(fed) >= least:
            yield DryBed(bed.name, bed.zone, len(fed))


def _beds(result: Result) -> list[tuple[Bed, dict[str, Any]]]:
    return list(zip(result.site.bed, result.summary["beds"], strict=True))
