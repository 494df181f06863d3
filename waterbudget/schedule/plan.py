"""The watering plan: which outlets ask for water today, and for how much."""

from dataclasses import dataclass
from functools import cached_property

import numpy as np

from waterbudget.schedule.garden import NEVER, Beds, Outlets
from waterbudget.schedule.season import Dates
from waterbudget.units import L_PER_MM_M2, Array, BoolArray, IntArray

THURSDAY = 3  # 1970-01-01, the day that day numbers count from


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

    def asked_l(self, day: int, depletion_mm: Array, raw_mm: Array, planted: BoolArray) -> Array:
        """What each outlet asks for [L], (scenario, outlet), on a day of the run counted from 0.

        depletion_mm and raw_mm of the beds at the start of the day, planted: (scenario, bed).
        """
        outlets = self.outlets
        asked_l = np.where(self._is_open(day), self._full_run_l(day), 0.0)
        if outlets.when_dry.any():
            asked_l = np.where(outlets.when_dry & ~self._any_dry(depletion_mm, raw_mm, planted), 0.0, asked_l)
        if outlets.refill.any():
            asked_l = np.where(
                outlets.refill, np.minimum(asked_l, self._to_refill_l(depletion_mm, planted)), asked_l
            )
        return asked_l

    @cached_property
    def _numbers(self) -> IntArray:
        return self.dates.astype(np.int64)[:, :, None]

    @cached_property
    def _month_days(self) -> IntArray:
        months = self.dates.astype("M8[M]")
        in_month = (self.dates - months.astype("M8[D]")).astype(np.int64) + 1
        return ((months.astype(np.int64) % 12 + 1) * 100 + in_month)[:, :, None]

    @cached_property
    def _every_from(self) -> IntArray:
        given = self.outlets.every_from
        return np.where(np.isnan(given), self._numbers[0], given).astype(np.int64)

    def _is_open(self, day: int) -> BoolArray:
        outlets = self.outlets
        now = self._month_days[day]
        begun, not_over = outlets.season_from <= now, now <= outlets.season_to
        in_season = np.where(outlets.season_from <= outlets.season_to, begun & not_over, begun | not_over)
        due = (self._numbers[day] - self._every_from) % outlets.every_days == 0
        return in_season & due & self._is_listed(day) & ~self._is_wet(day)

    def _is_listed(self, day: int) -> BoolArray:
        weekday = ((self._numbers[day] + THURSDAY) % 7)[None]
        return np.take_along_axis(self.outlets.listed, weekday, axis=0)[0]

    def _is_wet(self, day: int) -> BoolArray:
        """Whether the days before brought the rain that makes a run be skipped; days before the run count as dry."""
        outlets = self.outlets
        wet = np.zeros((self.rain_mm.shape[1], len(outlets.name)), dtype=np.bool_)
        for span in set(outlets.skip_rain_days) - {0}:
            fallen_mm = np.zeros(self.rain_mm.shape[1])
            for before_mm in self.rain_mm[max(day - span, 0) : day]:
                fallen_mm = fallen_mm + before_mm
            columns = [column for column, days in enumerate(outlets.skip_rain_days) if days == span]
            wet[:, columns] = (fallen_mm[:, None] >= outlets.skip_rain_mm)[:, columns]
        return wet

    def _full_run_l(self, day: int) -> Array:
        outlets = self.outlets
        if self.tmax_c is None or np.all(outlets.hot_above_c == NEVER):
            return outlets.run_l
        return np.where(self.tmax_c[day][:, None] >= outlets.hot_above_c, outlets.hot_run_l, outlets.run_l)

    def _any_dry(self, depletion_mm: Array, raw_mm: Array, planted: BoolArray) -> BoolArray:
        dry = np.zeros((depletion_mm.shape[0], len(self.outlets.name)), dtype=np.bool_)
        for bed, zone in enumerate(self.beds.zone):
            if zone is not None:
                gone = depletion_mm[:, bed] >= self.outlets.dry_at[:, zone] * raw_mm[:, bed]
                dry[:, zone] |= gone & planted[:, bed]
        return dry

    def _to_refill_l(self, depletion_mm: Array, planted: BoolArray) -> Array:
        outlets = self.outlets
        need_l = np.zeros((depletion_mm.shape[0], len(outlets.name)))
        for bed, zone in enumerate(self.beds.zone):
            if zone is not None:
                short_mm = np.maximum(depletion_mm[:, bed] - outlets.leave_mm[:, zone], 0.0) * planted[:, bed]
                need_l[:, zone] += short_mm * self.beds.area_m2[:, bed] * L_PER_MM_M2
        return need_l / outlets.efficiency
