"""The watering plan: which outlets ask for water today, and for how much."""

from dataclasses import dataclass
from functools import cached_property

import numpy as np

from waterbudget.schedule.garden import NEVER, Beds, Outlets
from waterbudget.schedule.season import Dates
from waterbudget.units import L_PER_MM_M2, Array, BoolArray, IntArray

Columns = tuple[list[int], list[int]]

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
            asked_l = np.where(outlets.refill, np.minimum(asked_l, self._to_refill_l(depletion_mm, planted)), asked_l)
        return asked_l

    def _is_open(self, day: int) -> BoolArray:
        outlets = self.outlets
        number, now = self._number(day)[:, None], self._month_day(day)[:, None]
        begun, not_over = outlets.season_from <= now, now <= outlets.season_to
        in_season = np.where(outlets.season_from <= outlets.season_to, begun & not_over, begun | not_over)
        due: BoolArray = (number - self._every_from) % outlets.every_days == 0
        return in_season & due & self._is_listed(day) & ~self._is_wet(day)

    def _is_listed(self, day: int) -> BoolArray:
        listed = self.outlets.listed
        return listed[(self._number(day) + THURSDAY) % 7, np.arange(listed.shape[1])]

    def _number(self, day: int) -> IntArray:
        today: Dates = self.dates[day]
        return today.astype(np.int64)

    def _month_day(self, day: int) -> IntArray:
        today: Dates = self.dates[day]
        begun = today.astype("M8[M]")
        month: IntArray = begun.astype(np.int64) % 12 + 1
        in_month: IntArray = (today - begun).astype(np.int64) + 1
        return month * 100 + in_month

    @cached_property
    def _every_from(self) -> IntArray:
        given = self.outlets.every_from
        return np.where(np.isnan(given), self._number(0)[:, None], given).astype(np.int64)

    def _is_wet(self, day: int) -> BoolArray:
        """Whether the days before brought the rain that makes a run be skipped; days before the run count as dry."""
        outlets = self.outlets
        fallen_mm = np.zeros((self.rain_mm.shape[1], len(outlets.name)), order="F")
        for outlet, span in enumerate(outlets.skip_rain_days):
            for before_mm in self.rain_mm[max(day - span, 0) : day]:
                fallen_mm[:, outlet] += before_mm
        return fallen_mm >= outlets.skip_rain_mm

    def _full_run_l(self, day: int) -> Array:
        outlets = self.outlets
        if self.tmax_c is None or np.all(outlets.hot_above_c == NEVER):
            return outlets.run_l
        hot = np.greater_equal(self.tmax_c[day][:, None], outlets.hot_above_c, order="F")
        return np.where(hot, outlets.hot_run_l, outlets.run_l)

    def _any_dry(self, depletion_mm: Array, raw_mm: Array, planted: BoolArray) -> BoolArray:
        beds, zones = self._felt
        gone = depletion_mm[:, beds] >= self.outlets.dry_at[:, zones] * raw_mm[:, beds]
        thirsty = gone & planted[:, beds]
        dry = np.zeros((len(thirsty), len(self.outlets.name)), dtype=np.bool_, order="F")
        for column, zone in enumerate(zones):
            dry[:, zone] |= thirsty[:, column]
        return dry

    def _to_refill_l(self, depletion_mm: Array, planted: BoolArray) -> Array:
        beds, zones = self._refilled
        short_mm = np.maximum(depletion_mm[:, beds] - self.outlets.leave_mm[:, zones], 0.0) * planted[:, beds]
        lacking_l = short_mm * self.beds.area_m2[:, beds] * L_PER_MM_M2
        need_l = np.zeros((len(lacking_l), len(self.outlets.name)), order="F")
        for column, zone in enumerate(zones):
            need_l[:, zone] += lacking_l[:, column]
        return need_l / self.outlets.efficiency

    @cached_property
    def _felt(self) -> Columns:
        return self._beds_with(self.outlets.when_dry)

    @cached_property
    def _refilled(self) -> Columns:
        return self._beds_with(self.outlets.refill)

    def _beds_with(self, plan: BoolArray) -> Columns:
        """The columns of the beds whose zone has this plan in any scenario, and of their zones."""
        pairs = [(bed, zone) for bed, zone in enumerate(self.beds.zone) if zone is not None and plan[:, zone].any()]
        return [bed for bed, _ in pairs], [zone for _, zone in pairs]
