"""Dates as the plan reads them: seasons, weekdays, rhythms, years with and without a leap day."""

from collections.abc import Sequence
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from waterbudget.schedule.garden import Ban
from waterbudget.units import Array, BoolArray, IntArray

Dates = NDArray[np.datetime64]  # days, (day, lane); one lane may stand for all
THURSDAY = 3  # 1970-01-01, the day that day numbers count from
LEAP_DAY = 229


class Days(NamedTuple):
    """Dates taken apart, (day, lane): year, month times 100 plus day, and the day's number since 1970-01-01."""

    year: IntArray
    month_day: IntArray
    number: IntArray

    @classmethod
    def of(cls, dates: Dates) -> "Days":
        """The parts of dates."""
        year, month = dates.astype("M8[Y]"), dates.astype("M8[M]")
        month_day = (month.astype(np.int64) % 12 + 1) * 100 + (dates - month).astype(np.int64) + 1
        return cls(year.astype(np.int64) + 1970, month_day, dates.astype("M8[D]").astype(np.int64))

    @property
    def weekday(self) -> IntArray:
        """Monday is 0."""
        weekday: IntArray = (self.number + THURSDAY) % 7
        return weekday

    def over(self) -> "Days":
        """The same with an axis for items, (day, 1, lane)."""
        return Days(*(part[:, None] for part in self))


def in_season(month_day: IntArray, first: IntArray | int, last: IntArray | int) -> BoolArray:
    """Whether days lie in a season with both its ends; it may pass New Year. Shapes broadcast."""
    begun, not_over = first <= month_day, month_day <= last
    inside: BoolArray = np.where(np.asarray(first) <= last, begun & not_over, begun | not_over)
    return inside


def on_listed_days(days: Days, listed: BoolArray, season_from: IntArray, season_to: IntArray) -> BoolArray:
    """Whether items are due, (day, item, lane). listed: (weekday, item, lane); seasons: (item, lane)."""
    due = in_season(days.month_day[:, None], season_from, season_to)
    if listed.all():
        return due
    _, items, lists = listed.shape
    return due & listed[days.weekday[:, None], np.arange(items)[:, None], np.arange(lists)]


def is_banned(days: Days, bans: Sequence[Ban]) -> BoolArray:
    """Whether mains water is banned, (day, lane)."""
    banned = np.zeros(days.number.shape, dtype=np.bool_)
    for ban in bans:
        days_of = days.month_day if ban.yearly else days.number
        banned |= in_season(days_of, ban.first, ban.last)
    return banned


def day_in_planting(days: Days, yearly: int | None, once: int | None) -> tuple[IntArray, Array]:
    """The day number on which the planting began that may stand on each day, and the day in it, 1 on that day.

    yearly: month times 100 plus day on which it begins anew every year, the years before the first too; 29 February
    then is not counted but has the number of 28 February. once: the day number on which it began.
    """
    if yearly is None:
        return np.full(days.number.shape, once, dtype=np.int64), (days.number - (once or 0) + 1).astype(np.float64)
    year = np.where(days.month_day >= yearly, days.year, days.year - 1)
    months = (year - 1970) * 12 + yearly // 100 - 1
    began: IntArray = months.astype("M8[M]").astype("M8[D]").astype(np.int64) + yearly % 100 - 1
    leap_days = _leap_days(days.year, days.month_day) - _leap_days(year, np.full(year.shape, yearly))
    day: Array = (days.number - began + 1 - leap_days).astype(np.float64)
    return began, day


def _leap_days(year: IntArray, month_day: IntArray) -> IntArray:
    """How many 29 Februaries there were up to a day, itself included."""
    past = year - 1
    in_past: IntArray = past // 4 - past // 100 + past // 400
    is_leap = (year % 4 == 0) & ((year % 100 != 0) | (year % 400 == 0))
    up_to_day: IntArray = in_past + (is_leap & (month_day >= LEAP_DAY))
    return up_to_day
