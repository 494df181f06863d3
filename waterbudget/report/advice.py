"""What a run's own books say would help, most useful first; every figure is a booked one."""

import datetime as dt
from typing import Any

from waterbudget.report.words import count, dated, litres, percent
from waterbudget.simulate.pages import SHORT_L
from waterbudget.simulate.result import Result
from waterbudget.site.model import Bed
from waterbudget.units import WEEK_DAYS

WASTED_SHARE = 0.10  # of a zone's water past the roots, from which it is worth a line
DRY_SHARE = 0.05  # of the planted days with stress, from which it is worth a line


def advice(result: Result) -> list[str]:
    """Sentences of what to do, at most four."""
    lines = [*_be_ready(result), *_sunk(result), *_overflowed(result), *_dry_beds(result)]
    return lines[:4]


def _be_ready(result: Result) -> list[str]:
    """The top-up to be ready for, as litres a week over the stretch that needs it."""
    zones = result.zones
    needed_l = (zones["mains_l"] + zones["unmet_l"]).groupby(zones["date"]).sum()
    days = needed_l.index[needed_l > SHORT_L]
    if not len(days):
        return []
    weekly_l = needed_l.rolling(WEEK_DAYS, min_periods=1).sum()
    week_end = weekly_l.index[int(weekly_l.argmax())]
    return [
        (
            f"Be ready to top up from {_day(result, days[0].date())}: "
            f"the thirstiest week takes {litres(weekly_l.max())} L, up to {_day(result, week_end.date())}."
        )
    ]


def _sunk(result: Result) -> list[str]:
    """Zones of which much sinks past the roots: the cheapest water is the water not given."""
    lines = []
    drained_l = {bed.name: row["overwatered_mm"] * bed.ground_m2 for bed, row in _beds(result)}
    given_l = {bed.name: row["irrigation_mm"] * bed.ground_m2 for bed, row in _beds(result)}
    for zone in result.site.zone:
        names = [bed.name for bed in result.site.bed if bed.zone == zone.name]
        sunk_l, reached_l = sum(drained_l[name] for name in names), sum(given_l[name] for name in names)
        if zone.plan != "refill" and reached_l > 0 and sunk_l / reached_l >= WASTED_SHARE:
            worst = max(names, key=lambda name: drained_l[name])
            lines.append(
                f"{percent(sunk_l / reached_l)} of what {zone.name} gave its beds ({litres(sunk_l)} L) sank past the "
                f'roots, most under {worst}: run it for fewer minutes or less often, or set plan = "refill".'
            )
    return lines


def _overflowed(result: Result) -> list[str]:
    """Rain that went down the drain before a store ran short."""
    drains = [tank.name for tank in result.site.tank if tank.overflow_to is None]
    first_short = result.summary["first_short"]
    if first_short is None:
        return []
    before = result.tanks[result.tanks["tank"].isin(drains) & (result.tanks["date"] < first_short)]
    spilled_l = before["spilled_l"].sum()
    if spilled_l <= SHORT_L:
        return []
    return [
        (
            f"{litres(spilled_l)} L of rain went down the drain before {_day(result, first_short)}: "
            "a larger store, or a butt on the overflow, would have kept some of it."
        )
    ]


def _dry_beds(result: Result) -> list[str]:
    """Beds that go thirsty although their zone got all it asked for: the plan is too small, not the store."""
    zones, beds = result.zones, result.beds
    lines = []
    for bed, row in _beds(result):
        if bed.zone is None or row["stress_days"] < max(DRY_SHARE * row["planted_days"], 1):
            continue
        unmet = zones.loc[(zones["zone"] == bed.zone) & (zones["unmet_l"] > SHORT_L), "date"]
        first_unmet = unmet.min() if len(unmet) else None
        dry = beds.loc[(beds["bed"] == bed.name) & (beds["ks"] < 1.0), "date"]
        fed = dry[dry < first_unmet] if first_unmet is not None else dry
        if len(fed) >= max(DRY_SHARE * row["planted_days"], 1):
            lines.append(
                f"{bed.name} goes thirsty on {count(len(fed), 'day')} while {bed.zone} gets all it asks for: "
                "give it longer or more frequent runs, or a larger share."
            )
    return lines[:2]


def _day(result: Result, day: dt.date | str) -> str:
    return dated(day, result.summary["start"], result.summary["end"])


def _beds(result: Result) -> list[tuple[Bed, dict[str, Any]]]:
    return list(zip(result.site.bed, result.summary["beds"], strict=True))
