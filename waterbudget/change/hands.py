"""Somebody's minutes: what all the watering of a garden takes of a person's time, by the way each zone is watered."""

from dataclasses import replace

import numpy as np

from waterbudget.schedule.garden import Garden
from waterbudget.schedule.plan import Plan
from waterbudget.schedule.season import Season
from waterbudget.simulate.days import Day, Sky
from waterbudget.simulate.totals import SHORT_L
from waterbudget.site.model import Site
from waterbudget.units import Array


class Hands:
    """Minutes of a person on each day of a run, for every scenario at once, as [effort] of the site file says.

    A zone has one valve, opened once a run, unless it is named: by_hose something is moved at each of its beds in each
    run, by_can every started can is carried, by_battery a charge is shared out over the minutes it lasts. With the
    plans "dry" and "refill" somebody feels the soil on every day that is due. Draws take time in cans only.
    """

    def __init__(self, site: Site, garden: Garden, season: Season, sky: Sky) -> None:
        """site: one of those that run side by side; they share beds, runs a day and effort."""
        effort, names, outlets = site.effort, garden.outlets.name, garden.outlets
        runs = [float(zone.runs_per_day) for zone in site.zone] + [0.0] * len(site.draw)
        beds = [sum(bed.zone == name for bed in site.bed) for name in names]
        self._effort = effort
        self._is_can = np.array([name in effort.by_can for name in names], dtype=np.bool_)
        self._is_battery = np.array([name in effort.by_battery for name in names], dtype=np.bool_)
        is_hose = np.array([name in effort.by_hose for name in names], dtype=np.bool_)
        a_run = np.where(is_hose, effort.hose_minutes * np.array(beds), effort.valve_minutes)
        self._a_day = a_run * np.array(runs) * (~self._is_can & ~self._is_battery)
        self._flow_l_min = outlets.flow_l_min
        self._feels = outlets.when_dry | outlets.refill
        timed = replace(outlets, when_dry=np.zeros_like(outlets.when_dry), refill=np.zeros_like(outlets.refill))
        self._due = Plan(timed, garden.beds, season.dates, sky.rain_mm, sky.tmax_c)

    def minutes(self, number: int, day: Day) -> Array:
        """Minutes of a day of the run, counted from 0, for all that is asked for, (scenario,)."""
        effort, asked_l = self._effort, day.outlets.asked_l
        cans = np.ceil((asked_l - SHORT_L) / effort.can_l).clip(min=0.0)
        spent = (asked_l > SHORT_L) * self._a_day + self._is_can * cans * effort.can_minutes
        a_charge = effort.battery_minutes / effort.battery_run_minutes
        spent = spent + self._is_battery * asked_l / self._flow_l_min * a_charge
        if self._feels.any():
            beds = day.beds
            due = self._due.asked_l(number, beds.depletion_mm, beds.raw_mm, beds.planted) > SHORT_L
            spent = spent + (self._feels & due) * effort.look_minutes
        total: Array = spent.sum(axis=1)
        return total
