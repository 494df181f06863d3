"""What a run's own books say would help, most useful first: facts, each of them booked."""

import datetime as dt
from collections.abc import Iterator
from typing import Any, NamedTuple, TypeAlias

import numpy as np

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
    needed_l = (result.each["outlets.mains_l"] + result.each["outlets.unmet_l"]).sum(axis=1)
    needed = np.flatnonzero(needed_l > SHORT_L)
    if len(needed):
        weekly_l = np.convolve(needed_l, np.ones(WEEK_DAYS))[: len(needed_l)]
        week_end = int(np.argmax(weekly_l))
        days = result.weather.days
        yield TopUp(days[needed[0]].item(), float(weekly_l[week_end]), days[week_end].item())


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
    if result.summary["first_short"] is None:
        return
    first_short = dt.date.fromisoformat(result.summary["first_short"])
    is_before = result.weather.days < np.datetime64(first_short)
    is_drained = [tank.overflow_to is None for tank in result.site.tank]
    spilled_l = float(result.each["tanks.spilled_l"][is_before][:, is_drained].sum())
    if spilled_l > SHORT_L:
        yield Overflowed(spilled_l, first_short)


def _dry_beds(result: Result) -> Iterator[DryBed]:
    """Beds that go thirsty although their zone got all it asked for: the plan is too small, not the store."""
    is_unmet = result.each["outlets.unmet_l"] > SHORT_L
    is_dry = result.each["beds.ks"] < 1.0
    for number, (bed, row) in enumerate(_beds(result)):
        least = max(DRY_SHARE * row["planted_days"], 1)
        if bed.zone is None or row["stress_days"] < least:
            continue
        was_unmet = np.maximum.accumulate(is_unmet[:, result.names.outlets.index(bed.zone)])
        fed = int((is_dry[:, number] & ~was_unmet).sum())
        if fed >= least:
            yield DryBed(bed.name, bed.zone, fed)


def _beds(result: Result) -> list[tuple[Bed, dict[str, Any]]]:
    return list(zip(result.site.bed, result.summary["beds"], strict=True))
