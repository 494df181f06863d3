"""How the beds stand today: thirsty, in how many days they will be, with the plan and without any watering."""

import datetime as dt
from collections.abc import Iterator
from dataclasses import replace
from typing import NamedTuple

import numpy as np

from waterbudget.change.eve import THIRST
from waterbudget.change.known import DAY, Known
from waterbudget.change.tonight import DRY, EXPECTED, USUAL, Tonight
from waterbudget.simulate.keep import NEVER, Keep, Kept
from waterbudget.units import Array

KEEP = Keep(firsts=(THIRST,))
WASTED_SHARE = 0.10  # of a zone's water past the roots, from which it is worth a line


class BedToday(NamedTuple):
    """A bed today; it is thirsty where more than its readily available water is used up at the start of a day.

    used: share of it today, None for a bare bed. thirsty_since: the day since which it is, None where it is not.
    thirsty_in_days: days from today until it is, when it stays dry and the plan goes on; 0 for today, None for not in
    the days ahead. unwatered_in_days: the same without any watering; usual_in_days: by the plan with the usual rain.
    """

    name: str
    zone: str | None
    planted: bool
    used: float | None
    thirsty_since: dt.date | None
    thirsty_in_days: int | None
    unwatered_in_days: int | None
    usual_in_days: int | None


class Sunk(NamedTuple):
    """What of a zone's water sinks past the roots in the week ahead if it stays dry.

    share: of what reaches its beds. enough: share of its minutes that leaves none of its beds with less than it keeps
    now.
    """

    zone: str
    share: float
    enough: float


def beds_of(known: Known, tonight: Tonight, kept: Kept, used: Array, planted: Array) -> Iterator[BedToday]:
    """The beds. kept: KEEP of the plan. used, planted: of today, (bed,)."""
    as_planned, without = kept.firsts[THIRST], _unwatered(tonight).firsts[THIRST]
    for number, bed in enumerate(known.site.bed):
        in_days = _days(as_planned[number, DRY])
        yield BedToday(
            bed.name,
            bed.zone,
            bool(planted[number]),
            float(used[number]) if planted[number] else None,
            _since(known.today, tonight, number) if as_planned[number, EXPECTED] == 0.0 else None,
            in_days,
            _days(without[number, DRY]),
            _days(as_planned[number, USUAL]),
        )


def _unwatered(tonight: Tonight) -> Kept:
    """The days ahead with every zone shut, but for what was run today."""
    minutes = tonight.actions.minutes
    return tonight.go_on(
        KEEP, actions=replace(tonight.actions, minutes=np.where(np.isnan(minutes), 0.0, minutes), open_day=None)
    )


def _since(today: dt.date, tonight: Tonight, bed: int) -> dt.date:
    """The day since which a bed that is thirsty today has been so on every day."""
    fine = np.flatnonzero(~tonight.thirsty[:, bed, EXPECTED])
    days = len(tonight.thirsty)
    return today - (days - 1 - int(fine[-1]) if len(fine) else days) * DAY


def _days(first: float) -> int | None:
    return None if first == NEVER else int(first)


def sunk_of(known: Known, kept: Kept, days: int) -> Iterator[Sunk]:
    """Zones of which much sinks on the days ahead; kept: irrigation_mm and overwatered_mm of the beds, each day."""
    given_mm, sunk_mm = (
        kept.each[f"beds.{name}"][:days, :, DRY].sum(axis=0) for name in ("irrigation_mm", "overwatered_mm")
    )
    ground_m2 = np.array([bed.ground_m2 for bed in known.site.bed])
    for zone in known.site.zone:
        beds = [number for number, bed in enumerate(known.site.bed) if bed.zone == zone.name]
        given_l, sunk_l = (float((mm * ground_m2)[beds].sum()) for mm in (given_mm, sunk_mm))
        if given_l > 0.0 and sunk_l / given_l >= WASTED_SHARE:
            least = min(sunk_mm[bed] / given_mm[bed] for bed in beds if given_mm[bed] > 0.0)
            yield Sunk(zone.name, sunk_l / given_l, float(1.0 - least))
