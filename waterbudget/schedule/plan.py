"""The watering plan: which outlets ask for water today, and for how much."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from functools import cached_property, reduce
from typing import NamedTuple

import numpy as np

from waterbudget.schedule.garden import NEVER, Beds, Outlets
from waterbudget.schedule.season import Dates
from waterbudget.units import L_PER_MM_M2, Array, BoolArray, IntArray

THURSDAY = 3  # 1970-01-01, the day that day numbers count from
MOST_DAYS_AHEAD = 64  # more would not be faster
LANE_DAYS_AHEAD = 4000  # scenarios times days: more would not stay in the processor's cache


def days_ahead(scenarios: int) -> int:
    """How many days to work out at once of what neither stores nor root zones have a say in."""
    return max(1, min(MOST_DAYS_AHEAD, LANE_DAYS_AHEAD // scenarios))


def pieces(days: int, scenarios: int) -> Iterator[slice]:
    """A run in pieces of as many days as are worked out at once."""
    some = days_ahead(scenarios)
    yield from (slice(first, first + some) for first in range(0, days, some))


class Due(NamedTuple):
    """What each outlet would ask for on a day if no bed had a say [L], (scenario, outlet).

    At the flow that run_l and hot_run_l are reckoned with. asking: whether it asks in any scenario.
    """

    litres: Array
    asking: list[bool]


@dataclass(frozen=True)
class Plan:
    """The plan of a garden over the days of a run.

    dates: (day, scenario). rain_mm and tmax_c: (day, scenario); tmax_c may be None where no zone knows hot days.
    """

    outlets: Outlets
    beds: Beds
    dates: Dates
    rain_mm: Array
    tmax_c: Array | None

    def days_due(self) -> Iterator[Due]:
        """What is due on each day of the run, worked out for some days at once."""
        scenarios = max(self.dates.shape[1], self.rain_mm.shape[1], len(self.outlets.run_l))
        for some in pieces(len(self.dates), scenarios):
            due_l = self._due_l(some)
            yield from map(Due, due_l.swapaxes(1, 2), np.any(due_l, axis=2).tolist())

    def asked_l(
        self, due_l: Array, asking: Sequence[bool], depletion_mm: Array, raw_mm: Array, planted: BoolArray
    ) -> Array:
        """What each outlet asks for [L], (scenario, outlet).

        due_l: what it would ask for if no bed had a say, at today's flow; asking: as in Due. depletion_mm and raw_mm of
        the beds at the start of the day, planted: (scenario, bed), depletion_mm with a row for every scenario.
        """
        asked_l: Array = np.empty((len(depletion_mm), len(asking)), dtype=np.float64, order="F")
        asked_l[:] = due_l
        if any(asking[zone] for zone in self._opened_when_dry):
            dry_beds = (depletion_mm >= self._dry_at * raw_mm) & planted
            for zone, beds in self._opened_when_dry.items():
                asked_l[:, zone] *= reduce(
                    np.logical_or, [dry_beds[:, bed] for bed in beds], ~self.outlets.when_dry[:, zone]
                )
        if any(asking[zone] for zone in self._refilled):
            lacking_l = np.maximum(depletion_mm - self._leave_mm, 0.0) * (planted * self._l_per_mm)
            for zone, beds in self._refilled.items():
                needed_l = reduce(np.add, [lacking_l[:, bed] for bed in beds], self._unless_refilled_l[:, zone])
                asked_l[:, zone] = np.minimum(asked_l[:, zone], needed_l / self.outlets.efficiency[:, zone])
        return asked_l

    def _due_l(self, days: slice) -> Array:
        """What is due on some days, (day, outlet, scenario): scenarios side by side in memory."""
        return np.where(self._is_open(days), self._full_run_l(days), 0.0)

    def _is_open(self, days: slice) -> BoolArray:
        outlets = self.outlets
        number, now = self._number(days), self._month_day(days)
        season_from, season_to = outlets.season_from.T, outlets.season_to.T
        begun, not_over = season_from <= now, now <= season_to
        in_season = np.where(season_from <= season_to, begun & not_over, begun | not_over)
        due: BoolArray = (number - self._every_from) % outlets.every_days.T == 0
        return in_season & due & self._is_listed(number) & ~self._is_wet(days)

    def _is_listed(self, number: IntArray) -> BoolArray:
        _, lists, outlets = self.outlets.listed.shape
        return self.outlets.listed[(number + THURSDAY) % 7, np.arange(lists), np.arange(outlets)[:, None]]

    def _number(self, days: slice) -> IntArray:
        today: Dates = self.dates[days, None]
        return today.astype(np.int64)

    def _month_day(self, days: slice) -> IntArray:
        today: Dates = self.dates[days, None]
        begun = today.astype("M8[M]")
        month: IntArray = begun.astype(np.int64) % 12 + 1
        in_month: IntArray = (today - begun).astype(np.int64) + 1
        return month * 100 + in_month

    @cached_property
    def _every_from(self) -> IntArray:
        given = self.outlets.every_from.T
        return np.where(np.isnan(given), self.dates[0].astype(np.int64), given).astype(np.int64)

    def _is_wet(self, days: slice) -> BoolArray:
        """Whether the days before brought the rain that makes a run be skipped; days before the run count as dry."""
        outlets, today_mm = self.outlets, self.rain_mm[days]
        fallen_mm = np.zeros((len(today_mm), len(outlets.name), today_mm.shape[1]))
        for outlet, span in enumerate(outlets.skip_rain_days):
            for back in range(span, 0, -1):
                before_mm = self.rain_mm[max(days.start - back, 0) : max(days.start - back + len(today_mm), 0)]
                fallen_mm[len(today_mm) - len(before_mm) :, outlet] += before_mm
        return fallen_mm >= outlets.skip_rain_mm.T

    def _full_run_l(self, days: slice) -> Array:
        outlets = self.outlets
        if self.tmax_c is None or np.all(outlets.hot_above_c == NEVER):
            return outlets.run_l.T
        hot = self.tmax_c[days, None] >= outlets.hot_above_c.T
        return np.where(hot, outlets.hot_run_l.T, outlets.run_l.T)

    @cached_property
    def _dry_at(self) -> Array:
        return self.beds.by_zone(self.outlets.dry_at)

    @cached_property
    def _leave_mm(self) -> Array:
        return self.beds.by_zone(self.outlets.leave_mm)

    @cached_property
    def _unless_refilled_l(self) -> Array:
        return np.where(self.outlets.refill, 0.0, np.inf)

    @cached_property
    def _l_per_mm(self) -> Array:
        return self.beds.area_m2 * L_PER_MM_M2

    @cached_property
    def _opened_when_dry(self) -> dict[int, list[int]]:
        return self._beds_with(self.outlets.when_dry)

    @cached_property
    def _refilled(self) -> dict[int, list[int]]:
        return self._beds_with(self.outlets.refill)

    def _beds_with(self, plan: BoolArray) -> dict[int, list[int]]:
        """The zones that have this plan in any scenario, each with its beds."""
        return {
            zone: [bed for bed, its_zone in enumerate(self.beds.zone) if its_zone == zone]
            for zone in np.flatnonzero(plan.any(axis=0)).tolist()
        }
