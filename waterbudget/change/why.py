"""Why a zone is open or shut today, as facts."""

import datetime as dt
from typing import Literal, NamedTuple, TypeAlias

import numpy as np

from waterbudget.change.known import DAY, Known
from waterbudget.change.tonight import EXPECTED, Tonight
from waterbudget.schedule.calendar import Days, in_season, is_banned
from waterbudget.schedule.course import course_of
from waterbudget.schedule.sky import Sky
from waterbudget.units import BoolArray

Reason: TypeAlias = Literal[
    "due", "wait", "done", "kept shut", "season", "not its day", "rain", "moist", "no minutes", "empty", "ban"
]


class Why(NamedTuple):
    """Why a zone is to be opened, or shut.

    due: by its plan. wait: for rain. done: it ran. kept shut: somebody logged so. season: it is not; not its day: by
    its weekdays or rhythm. rain: so much fell on so many of the days that its plan looks back on, the first of them
    the day. moist: its plan asks the soil. no minutes: its plan has none today. empty: nothing is within reach in
    its store; ban: and mains water is banned. day: else of its next opening. bed: the driest of its planted ones, used:
    the share of its easy water.
    """

    reason: Reason
    day: dt.date | None = None
    rain_mm: float | None = None
    wet_days: int | None = None
    bed: str | None = None
    used: float | None = None

    def of_bed(self, bed: str | None, used: float | None) -> "Why":
        """The same with the driest bed."""
        return self._replace(bed=bed, used=used)


class Clock(NamedTuple):
    """What calendar and rain alone say of each outlet today, (outlet,): whether it is in season, due were it dry, due.

    is_banned: whether mains water is.
    """

    in_season: BoolArray
    due_if_dry: BoolArray
    due: BoolArray
    is_banned: bool


def clock_of(tonight: Tonight) -> Clock:
    """What the clock says today."""
    garden, season = tonight.garden, tonight.season
    _, sky = tonight.in_sky(EXPECTED)
    dry = Sky(sky.rain_mm, sky.et0_mm, sky.tmax_c)
    now, if_dry = (course_of(garden, season, one.of(slice(0, 1)), None, slice(0, 1)).due[0, :, 0] for one in (sky, dry))
    days = Days.of(season.dates[:1])
    outlets = garden.outlets
    in_it = in_season(days.month_day[:, None], outlets.season_from, outlets.season_to)[0, :, 0]
    return Clock(in_it, if_dry, now, bool(is_banned(days, garden.structure.bans).any()))


def why_shut(
    known: Known, tonight: Tonight, clock: Clock, number: int, ran: float | None, next_day: dt.date | None
) -> Why:
    """Why a zone of which no minutes are left today is shut. ran: minutes that were logged today, None for none."""
    zone = known.site.zone[number]
    if ran is not None:
        return Why("done" if ran > 0.0 else "kept shut", next_day)
    if not clock.in_season[number]:
        return Why("season", next_day)
    if not clock.due_if_dry[number]:
        return Why("not its day", next_day)
    if not clock.due[number]:
        before_mm = tonight.skies.rain_before(0, zone.skip_rain_days or 1)[:, EXPECTED]
        wet = np.flatnonzero(before_mm > 0.0)
        first = known.today - (len(before_mm) - int(wet[0])) * DAY
        return Why("rain", first, float(before_mm.sum()), len(wet))
    return Why("no minutes" if zone.plan == "timer" else "moist", next_day)
