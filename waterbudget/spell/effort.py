"""The person's minutes: what a day of watering takes, by the way in which each zone is watered."""

from dataclasses import replace

import numpy as np

from waterbudget.schedule.garden import Garden
from waterbudget.schedule.plan import Plan
from waterbudget.simulate.days import Day
from waterbudget.simulate.totals import SHORT_L
from waterbudget.site.model import Site
from waterbudget.spell.carry import Eve, sky_on
from waterbudget.units import Array


class Work:
    """Minutes of a person on the days of a spell, for every plan at once.

    A zone has one valve, opened once a run, unless `[effort]` names it: by_hose something is moved at each of its beds
    in each run, by_can every started can is carried, by_battery a charge is shared out over the minutes it lasts. With
    the plans "dry" and "refill" somebody feels the soil on every day that is due. Draws take time in cans only.
    """

    def __init__(self, site: Site, eve: Eve, garden: Garden) -> None:
        """garden: with the plans that are tried."""
        effort, names = site.effort, garden.outlets.name
        self._effort = effort
        runs = [float(zone.runs_per_day) for zone in site.zone] + [0.0] * len(site.draw)
        beds = [sum(bed.zone == name for bed in site.bed) for name in names]
        self._is_can = np.array([name in effort.by_can for name in names], dtype=np.bool_)
        self._is_battery = np.array([name in effort.by_battery for name in names], dtype=np.bool_)
        by_hand = ~self._is_can & ~self._is_battery
        is_hose = np.array([name in effort.by_hose for name in names], dtype=np.bool_)
        a_run = np.where(is_hose, effort.hose_minutes * np.array(beds, dtype=np.float64), effort.valve_minutes)
        self._a_day = a_run * np.array(runs, dtype=np.float64) * by_hand
        self._eve, self._garden = eve, garden
        outlets = garden.outlets
        self._feels = outlets.when_dry | outlets.refill
        self._timed = replace(
            outlets, when_dry=np.zeros_like(outlets.when_dry), refill=np.zeros_like(outlets.refill)
        )  # what would run if nobody felt the soil

    def minutes(self, number: int, day: Day) -> Array:
        """Minutes of a day of the spell, (plan,)."""
        effort, outlets = self._effort, day.outlets
        asked = outlets.asked_l > SHORT_L
        given_l = outlets.store_l + outlets.mains_l
        cans = np.ceil((given_l - SHORT_L) / effort.can_l).clip(min=0.0)
        spent = asked * self._a_day + self._is_can * cans * effort.can_minutes
        spent += self._is_battery * outlets.minutes_run / effort.battery_run_minutes * effort.battery_minutes
        total: Array = (spent + self._looks(number, day) * effort.look_minutes).sum(axis=1)
        return total

    def _looks(self, number: int, day: Day) -> Array:
        """Which zones somebody has to feel the soil of, (plan, outlet)."""
        if not self._feels.any():
            return np.zeros((1, 1))
        sky, beds = sky_on(self._eve, number), day.beds
        plan = Plan(
            self._timed, self._garden.beds, self._eve.season.dates[number : number + 1], sky.rain_mm, sky.tmax_c
        )
        due = plan.asked_l(0, beds.depletion_mm, beds.raw_mm, beds.planted) > SHORT_L
        felt: Array = np.asarray(self._feels & due & ~self._eve.wet[number], dtype=np.float64)
        return felt
