"""How many minutes, how often and in how many pulses each zone is to run, month by month, in usual weather.

Settings of a clock are tried in the model itself, all side by side, a month after the other from the evening before,
over the recorded years, with all their water given: what the stores hold is another question. The best leaves beds
short of the least and lets the least sink past their roots, a litre lacked counting as three that sink; of those nearly
as good the one with the fewest runs is taken. A timer gets minutes and a rhythm, which lets no bed use up its readily
available water between two runs; where somebody feels the soil first, the rhythm follows from the minutes.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Any, NamedTuple

import numpy as np

from waterbudget.errors import InputError, shown
from waterbudget.plan.settings import Balance, Setting, Tries, once, search, settings_of, uses_of
from waterbudget.plan.usual import Usual, hottest_week_mm, season_ends, usual_summers
from waterbudget.schedule.built import garden_of
from waterbudget.schedule.calendar import Days, in_season
from waterbudget.schedule.pulse import Pulse
from waterbudget.simulate.opened import Opened
from waterbudget.site.model import Site, Zone
from waterbudget.tables.read import named
from waterbudget.units import WEEK_DAYS, Array, BoolArray

SKIP_MM, SKIP_DAYS = 5.0, 2  # rain that stands in for a run, where the site file tells none: ours
NOTABLE = 0.03  # of what the beds use, from which one plan is better than another


class Month(NamedTuple):
    """A month of a zone: what to set, and what becomes of that and of the present plan in the month of a usual year.

    days: on which the zone may run and something grows.
    """

    month: int
    days: int
    setting: Setting
    advised: Balance
    present: Balance


@dataclass(frozen=True)
class ZoneMinutes:
    """What is advised for a zone.

    months: those in which it may run and something grows. once: one setting for all of its season. hot_week: for the
    week of a usual year that takes most water, its litres, and the number of its month. flow_l_min: from a full store.
    skip_rain_mm, skip_rain_days: the rain that stands in for a run of a timer.
    """

    zone: Zone
    beds: tuple[str, ...]
    pulse: Pulse
    flow_l_min: float
    months: tuple[Month, ...]
    once: Setting
    once_balance: Balance
    hot_week: Setting
    hot_week_l: float
    hot_month: int
    skip_rain_mm: float | None
    skip_rain_days: int | None

    @property
    def advised(self) -> Balance:
        """Of all months."""
        return _added(month.advised for month in self.months)

    @property
    def present(self) -> Balance:
        """Of all months, as the site file has it."""
        return _added(month.present for month in self.months)

    @property
    def is_better(self) -> bool:
        """Whether the advice is noticeably better than the present plan."""
        return self.present.wrong_l - self.advised.wrong_l > NOTABLE * self.present.etc_l


@dataclass(frozen=True, eq=False)
class Minutes:
    """What is advised for a garden, or for one bed of it.

    bed: the one that was asked for, None for all. usual: the years that it was tried in. present_needed_l,
    advised_needed_l: mains water in all that the garden takes in a year, with the present plan and as advised.
    """

    opened: Opened
    bed: str | None
    usual: Usual
    zones: tuple[ZoneMinutes, ...]
    present_needed_l: float
    advised_needed_l: float


def find_minutes(opened: Opened, bed: str | None = None) -> Minutes:
    """What to set the clocks of a garden to. bed: for one bed alone, as if it had a valve of its own.

    Raises InputError where there is no such bed or no zone waters it, SiteError where no zone waters anything that
    grows, WeatherError where the weather cannot tell hot days.
    """
    site = opened.site if bed is None else _with_one_bed(opened.site, bed)
    usual = usual_summers(site, opened.weather)
    present, clocked = Tries(usual, usual.site), Tries(usual, _heeding_rain(usual.site))
    asks = _asks(usual)
    settings, of_months = search(clocked, asks)
    now, now_needed_l = present.season({})
    advised, advised_needed_l = clocked.season(settings)
    found_once = once(clocked, asks)
    zones = [
        ZoneMinutes(
            zone=zone,
            beds=tuple(one.name for one in usual.site.bed if one.zone == zone.name),
            pulse=clocked.pulses[number],
            flow_l_min=float(clocked.garden.outlets.flow_l_min[number, 0]),
            months=tuple(
                Month(
                    part.month,
                    int(asks[part.days, number].sum()),
                    settings[n][number],
                    advised[n][number],
                    now[n][number],
                )
                for n, part in enumerate(usual.parts)
                if number in of_months[n]
            ),
            once=found_once[number][0],
            once_balance=found_once[number][1],
            **_in_heat(clocked, number, settings, of_months),
            skip_rain_mm=clocked.site.zone[number].skip_rain_mm,
            skip_rain_days=clocked.site.zone[number].skip_rain_days,
        )
        for number, zone in enumerate(usual.site.zone)
        if any(number in found for found in of_months)
    ]
    return Minutes(
        opened, None if bed is None else site.bed[0].name, usual, tuple(zones), now_needed_l, advised_needed_l
    )


def _added(balances: Iterator[Balance]) -> Balance:
    return sum(balances, start=Balance(0.0, 0.0, 0.0, 0.0, 0.0))


def _with_one_bed(site: Site, name: str) -> Site:
    """The site with one bed alone, and its zone giving what that bed gets of its water."""
    names = [bed.name for bed in site.bed]
    bed = site.bed[names.index(named(name, names, "bed"))]
    number = next((number for number, zone in enumerate(site.zone) if zone.name == bed.zone), None)
    if number is None:
        raise InputError(f'bed: {shown(name)} has no zone; it lives on rain. Add zone = "…" to it in the site file')
    garden, zone = garden_of(site), site.zone[number]
    share = float(garden.beds.zone_share[site.bed.index(bed), 0])
    flow_l_min = float(garden.outlets.flow_l_min[number, 0])
    in_turn = zone.name in site.effort.by_hose  # then it has all of the flow for its share of the minutes
    alone = zone.model_copy(
        update={
            "flow_l_min": flow_l_min * (1.0 if in_turn else share),
            "line": [],
            "minutes": zone.minutes * (share if in_turn else 1.0),
            "hot_minutes": None if zone.hot_minutes is None else zone.hot_minutes * (share if in_turn else 1.0),
        }
    )
    return site.model_copy(update={"bed": [bed], "zone": [alone]})


def _heeding_rain(site: Site) -> Site:
    """The site with every timer free of weekdays and heeding rain."""
    zones = [
        zone.model_copy(
            update={
                "weekdays": None,
                "skip_rain_mm": zone.skip_rain_mm or SKIP_MM,
                "skip_rain_days": zone.skip_rain_days or SKIP_DAYS,
            }
        )
        if zone.plan == "timer"
        else zone
        for zone in site.zone
    ]
    return site.model_copy(update={"zone": zones})


def _asks(usual: Usual) -> BoolArray:
    """Whether each zone may run and something grows in one of its beds, (day, zone), in the first of the years."""
    month_day = Days.of(usual.season.dates).month_day[:, 0]
    planted = usual.season.planted[:, :, 0]
    return np.stack(
        [
            in_season(month_day, *season_ends(zone))
            & planted[:, [n for n, bed in enumerate(usual.site.bed) if bed.zone == zone.name]].any(axis=1)
            for zone in usual.site.zone
        ],
        axis=1,
    )


def _in_heat(
    tries: Tries, number: int, settings: dict[int, dict[int, Setting]], of_months: Sequence[Sequence[int]]
) -> dict[str, Any]:
    """The setting for the hottest week: the rhythm of its month, and minutes for all that the beds then use.

    Where somebody feels the soil, the minutes are those of the month, and the rhythm follows.
    """
    usual, pulse = tries.usual, tries.pulses[number]
    uses = {
        n: uses_of(tries, part.days).minutes[number] * _over_mean(usual.sky.et0_mm[part.days])
        for n, part in enumerate(usual.parts)
        if number in of_months[n]
    }
    hottest = max(uses, key=lambda n: uses[n])
    setting, minutes = settings[hottest][number], uses[hottest]
    if setting.every_days is None and setting.minutes > 0.0:
        found = setting._replace(every_days=max(1, round(setting.minutes * setting.runs / minutes)), hot_minutes=None)
        taken = min(minutes, setting.minutes * setting.runs)
    else:
        ways = [
            way
            for days in range(setting.every_days or 1, 0, -1)
            for way in settings_of(minutes * days, days, None, pulse)
        ]
        found = ways[0] if ways else setting
        taken = found.minutes * found.runs / (found.every_days or 1)
    week_l = taken * WEEK_DAYS * float(tries.garden.outlets.flow_l_min[number, 0])
    return {"hot_week": found, "hot_week_l": week_l, "hot_month": usual.parts[hottest].month}


def _over_mean(et0_mm: Array) -> float:
    mean_mm = float(et0_mm.mean())
    return hottest_week_mm(et0_mm) / mean_mm if mean_mm > 0.0 else 1.0
