"""Somebody's minutes: what all the watering of a garden takes of a person's time, by the way each zone is watered."""

from collections.abc import Iterable, Iterator

import numpy as np

from waterbudget.schedule.garden import Garden
from waterbudget.simulate.days import Day
from waterbudget.simulate.totals import SHORT_L
from waterbudget.site.model import Site
from waterbudget.units import WEEK_DAYS, Array


class Hands:
    """Minutes of a person for all that is asked for, for every scenario at once, as [effort] of the site file says.

    A zone has one valve, opened once a run, unless it is named: by_hose something is moved at each of its beds in each
    run, by_can every started can is carried, by_battery a charge is shared out over the minutes it lasts. With the
    plans "dry" and "refill" somebody feels the soil on every day that is due. Draws take time in cans only. Water that
    a store lacks is counted too: somebody fetches it from the mains.
    """

    def __init__(self, site: Site, garden: Garden) -> None:
        """site: any of those whose gardens run side by side; they share beds, runs a day and effort."""
        effort, outlets = site.effort, garden.outlets
        self._effort, self._days, self._spent = effort, 0, np.zeros(1)
        by_hand = {}
        for zone in site.zone:
            beds = sum(bed.zone == zone.name for bed in site.bed)
            a_run = effort.hose_minutes * beds if zone.name in effort.by_hose else effort.valve_minutes
            by_hand[zone.name] = a_run * zone.runs_per_day
        others = (*effort.by_can, *effort.by_battery)
        self._by_hand = [(outlets.name.index(name), a_day) for name, a_day in by_hand.items() if name not in others]
        self._by_can = [outlets.name.index(name) for name in effort.by_can]
        self._by_battery = [outlets.name.index(name) for name in effort.by_battery]
        feels = outlets.when_dry | outlets.refill
        self._look_minutes = feels * effort.look_minutes
        self._by_feel = np.flatnonzero(feels.any(axis=0)).tolist()

    @property
    def week_minutes(self) -> Array:
        """Minutes a week on the mean of the days watched, (scenario,)."""
        return self._spent * (WEEK_DAYS / self._days)

    def watch(self, passing: Iterable[Day]) -> Iterator[Day]:
        """Pass the days on, adding up the minutes of each."""
        for day in passing:
            self._spent = self._spent + self.minutes(day)
            self._days += 1
            yield day

    def minutes(self, day: Day) -> Array:
        """Minutes of a day, (scenario,)."""
        outlets = day.outlets
        return self.minutes_of(outlets.asked_l, outlets.due_l, outlets.flow_l_min)

    def minutes_of(self, asked_l: Array, due_l: Array, flow_l_min: Array) -> Array:
        """The same for one day or more, (..., scenario), from what the outlets book, (..., scenario, outlet)."""
        effort = self._effort
        spent: Array = np.zeros(asked_l.shape[:-1])
        for zone, a_day in self._by_hand:
            spent += (asked_l[..., zone] > SHORT_L) * a_day
        for can in self._by_can:
            cans = np.ceil((asked_l[..., can] - SHORT_L) / effort.can_l)
            spent += np.maximum(cans, 0.0) * effort.can_minutes
        for zone in self._by_battery:
            charges = asked_l[..., zone] / flow_l_min[..., zone] / effort.battery_run_minutes
            spent += charges * effort.battery_minutes
        for zone in self._by_feel:
            spent += (due_l[..., zone] > SHORT_L) * self._look_minutes[:, zone]
        return spent
