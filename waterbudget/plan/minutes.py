"""How many minutes, how often and in how many pulses each zone is to run, month by month, in usual weather.

Settings of a clock are tried in the model itself, all side by side, a month after the other from the evening before,
over the recorded years, with all their water given: what the stores hold is another question. The best leaves beds
short of the least and lets the least sink past their roots, a litre lacked counting as three that sink; of those nearly
as good the one with the fewest runs is taken. A timer gets minutes and a rhythm, which lets no bed use up its readily
available water between two runs; where somebody feels the soil first, the rhythm follows from the minutes.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from math import floor
from typing import Any, NamedTuple

import numpy as np

from waterbudget.errors import InputError, shown
from waterbudget.plan.usual import Usual, hottest_week_mm, season_ends, usual_summers
from waterbudget.schedule.built import garden_of
from waterbudget.schedule.calendar import Days, in_season
from waterbudget.schedule.course import course_of
from waterbudget.schedule.garden import Garden
from waterbudget.schedule.pulse import Pulse, on_the_clock, pulses_of
from waterbudget.schedule.season import Season
from waterbudget.schedule.sky import Sky
from waterbudget.simulate.drive import drive
from waterbudget.simulate.keep import Keep, Kept
from waterbudget.simulate.lanes import hosed
from waterbudget.simulate.opened import Opened
from waterbudget.simulate.state import State
from waterbudget.site.model import Site, Zone
from waterbudget.tables.read import named
from waterbudget.units import WEEK_DAYS, Array, BoolArray

EVERY_DAYS = (1, 2, 3, 4, 5, 6, 7)
SHARES = (0.2, 0.35, 0.5, 0.65, 0.8, 0.95, 1.1, 1.3, 1.5)  # of what the beds use from one run to the next
SKIP_MM, SKIP_DAYS = 5.0, 2  # rain that stands in for a run, where the site file tells none: ours
LACKED_WEIGHT = 3.0  # litres sunk that count as much as a litre lacked: ours
NEARLY = 0.01  # of what the beds use: a setting that is worse by no more is as good, if it takes fewer runs
NOTABLE = 0.03  # of what the beds use, from which one plan is better than another
LEAST_L = LEAST_MM = 1e-6
KEEP = Keep(
    sums=(
        *("beds.planted_etc_mm", "beds.lack_mm", "beds.overwatered_mm"),
        *("outlets.asked_l", "outlets.is_asked", "whole.needed_l"),
    )
)


class Setting(NamedTuple):
    """What a clock is set to: minutes of a run, runs on a watering day, and every how many days; 0 minutes: not at all.

    every_days: None where somebody feels the soil on the days of the site file. hot_minutes: of a run on a hot day,
    None where the zone knows none.
    """

    minutes: float
    runs: int = 1
    every_days: int | None = 1
    hot_minutes: float | None = None


class Balance(NamedTuple):
    """What becomes of a zone's beds and water in a year [L].

    etc_l: what the beds use when they lack nothing. lacked_l: what they lacked of it. sunk_l: watering that sank past
    their roots. asked_l: what the zone took, on so many days.
    """

    etc_l: float
    lacked_l: float
    sunk_l: float
    asked_l: float
    days: float

    @property
    def wrong_l(self) -> float:
        """Too little and too much together, each litre lacked for three that sank."""
        return LACKED_WEIGHT * self.lacked_l + self.sunk_l

    def __add__(self, other: "Balance") -> "Balance":  # type: ignore[override]  # sums, in place of a longer tuple
        return Balance(*(one + more for one, more in zip(self, other, strict=True)))


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
    present, clocked = _Tries(usual, usual.site), _Tries(usual, _heeding_rain(usual.site))
    asks = _asks(usual)
    settings, of_months = _search(clocked, asks)
    now, now_needed_l = present.season({})
    advised, advised_needed_l = clocked.season(settings)
    once = _once(clocked, asks)
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
            once=once[number][0],
            once_balance=once[number][1],
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


# ---- Trying settings -------------------------------------------------------------------------------------------------


class _Tries:
    """A garden whose zones run to settings, in all years side by side."""

    def __init__(self, usual: Usual, site: Site) -> None:
        self.usual, self.site, garden = usual, site, garden_of(site)
        self.garden = garden.restructured(follows=(), follows_beds=())  # at the flow of a full store
        self.pulses = pulses_of(self.site, garden)
        self._area_m2 = self.garden.beds.area_m2[:, 0]
        self._zone_of_bed = np.array([-1 if zone is None else zone for zone in garden.structure.bed_zone])

    def month(
        self, days: slice, eve: State | None, of_zones: Sequence[Sequence[Setting]]
    ) -> tuple[State, list[list[Balance]], Array]:
        """Some days from an evening on with several settings of each zone, each as many, side by side.

        The evening after, (item, setting and year); of each setting the balances of the zones in a year; and the mains
        water of a year in all that is given, (setting,).
        """
        years, many = self.usual.years, max(map(len, of_zones), default=1)
        season, sky = _repeated(self.usual.season.of(days), many), _sky_repeated(self.usual.sky.of(days), many)
        garden = self._set(hosed(self.garden).restructured(bans=()), of_zones, season)
        state, kept = drive(garden, season, sky, None if eve is None else _state_repeated(eve, many, years), keep=KEEP)
        balances = [self._balances(kept, slice(n * years, (n + 1) * years)) for n in range(many)]
        return state, balances, kept.sums["whole.needed_l"].reshape(many, years).mean(axis=1)

    def season(self, settings: dict[int, dict[int, Setting]]) -> tuple[list[list[Balance]], float]:
        """The balances of the zones in each month of a year, and the mains water in all that is given.

        settings: of each zone, by month and zone; without any the plan of the site file.
        """
        told, needed_l = [], 0.0
        state: State | None = None
        for n, part in enumerate(self.usual.parts):
            of_zones = [[one] for one in settings[n].values()] if settings else []
            state, (balances,), more_l = self.month(part.days, state, of_zones)
            told.append(balances)
            needed_l += float(more_l[0])
        return told, needed_l

    def _set(self, garden: Garden, of_zones: Sequence[Sequence[Setting]], season: Season) -> Garden:
        """The garden with a lane for each setting and year; rhythms count from the first of these days."""
        if not of_zones:
            return garden
        outlets, years = garden.outlets, self.usual.years
        lanes = years * max(map(len, of_zones))
        first = np.broadcast_to(Days.of(season.dates[:1]).number[0], (lanes,))
        wide = {name: np.repeat(getattr(outlets, name), lanes, axis=-1) for name in ("run_l", "hot_run_l")}
        wide |= {name: np.repeat(getattr(outlets, name), lanes, axis=-1) for name in ("every_days", "every_from")}
        for number, settings in enumerate(of_zones):
            flow_l_min = outlets.flow_l_min[number, 0]
            run_l = [one.minutes * one.runs * flow_l_min for one in settings]
            hot_l = [
                (one.minutes if one.hot_minutes is None else one.hot_minutes) * one.runs * flow_l_min
                for one in settings
            ]
            wide["run_l"][number], wide["hot_run_l"][number] = np.repeat(run_l, years), np.repeat(hot_l, years)
            if self.site.zone[number].plan == "timer":
                wide["every_days"][number] = np.repeat([one.every_days or 1 for one in settings], years)
                wide["every_from"][number] = first
        return garden.changed(outlets=wide)

    def _balances(self, kept: Kept, lanes: slice) -> list[Balance]:
        def of_zone(name: str, zone: int) -> float:
            mm = kept.sums[name][:, lanes].mean(axis=1)
            return float((mm * self._area_m2)[self._zone_of_bed == zone].sum())

        asked_l, days = (kept.sums[f"outlets.{name}"][:, lanes].mean(axis=1) for name in ("asked_l", "is_asked"))
        return [
            Balance(
                of_zone("beds.planted_etc_mm", zone),
                of_zone("beds.lack_mm", zone),
                of_zone("beds.overwatered_mm", zone),
                float(asked_l[zone]),
                float(days[zone]),
            )
            for zone in range(len(self.site.zone))
        ]


def _repeated(season: Season, times: int) -> Season:
    """The season of some years, so many times one after the other."""

    def repeated(part: Any) -> Any:  # noqa: ANN401 - an array of any kind
        return part if part is None or part.shape[-1] == 1 else np.tile(part, times)

    return Season._make(map(repeated, season))


def _sky_repeated(sky: Sky, times: int) -> Sky:
    return sky.each(lambda part: part if part.shape[-1] == 1 else np.tile(part, times))


def _state_repeated(eve: State, times: int, years: int) -> State:
    return eve.each(lambda part: np.tile(np.broadcast_to(part, (len(part), years)), times))


# ---- The search ------------------------------------------------------------------------------------------------------


def _search(tries: _Tries, asks: BoolArray) -> tuple[dict[int, dict[int, Setting]], list[list[int]]]:
    """The best setting of each zone by month and zone, and the zones that may run in each month."""
    settings: dict[int, dict[int, Setting]] = {}
    of_months = []
    eve: State | None = None
    for n, part in enumerate(tries.usual.parts):
        running = [zone for zone in range(asks.shape[1]) if asks[part.days, zone].any()]
        options = _options(tries, part.days, running)
        _, balances, _ = tries.month(part.days, eve, options)
        settings[n] = {
            zone: options[zone][_best(options[zone], [one[zone] for one in balances])] for zone in range(asks.shape[1])
        }
        eve, _, _ = tries.month(part.days, eve, [[one] for one in settings[n].values()])
        of_months.append(running)
    return settings, of_months


def _once(tries: _Tries, asks: BoolArray) -> list[tuple[Setting, Balance]]:
    """The best setting of each zone for all days, and what becomes of it."""
    days = slice(0, len(asks))
    options = _options(tries, days, [zone for zone in range(asks.shape[1]) if asks[:, zone].any()])
    _, balances, _ = tries.month(days, None, options)
    best = [_best(listed, [one[zone] for one in balances]) for zone, listed in enumerate(options)]
    return [(options[zone][number], balances[number][zone]) for zone, number in enumerate(best)]


def _best(options: Sequence[Setting], balances: Sequence[Balance]) -> int:
    """The number of the setting with the fewest runs among those nearly as good as the best."""
    wrong_l = [one.wrong_l for one in balances]
    near_l = min(wrong_l) + NEARLY * balances[0].etc_l + LEAST_L
    near = [number for number, litres in enumerate(wrong_l) if litres <= near_l]
    return min(near, key=lambda number: (round(balances[number].days * options[number].runs, 6), wrong_l[number]))


def _options(tries: _Tries, days: slice, running: Sequence[int]) -> list[list[Setting]]:
    """The settings that are tried for each zone in some days, each zone as many; the others stay shut."""
    uses = _uses(tries, days)
    listed = []
    for number, zone in enumerate(tries.site.zone):
        options = [Setting(0.0, hot_minutes=None if zone.hot_above_c is None else 0.0)]
        if number in running:
            heat = _heat(tries, days, zone)
            for every in EVERY_DAYS if zone.plan != "timer" else EVERY_DAYS[: uses.most_days[number]]:
                rhythm = every if zone.plan == "timer" else None
                for share in SHARES:
                    options += _set(uses.minutes[number] * every * share, rhythm, heat, tries.pulses[number])
        listed.append(list(dict.fromkeys(options)))
    most = max(map(len, listed), default=0)
    return [[*options, *[options[-1]] * (most - len(options))] for options in listed]


def _set(minutes: float, every_days: int | None, heat: float | None, pulse: Pulse) -> Iterator[Setting]:
    """A setting with so many minutes on a watering day, in pulses that the soil takes; none where a day has no room."""
    runs = pulse.parts(on_the_clock(minutes * (heat or 1.0)))
    each = on_the_clock(minutes / runs, round if runs == 1 else floor)
    hot = None if heat is None else on_the_clock(minutes * heat / runs, round if runs == 1 else floor)
    if runs <= pulse.most and each > 0.0:
        yield Setting(each, runs, every_days, hot)


class _Uses(NamedTuple):
    """Of each zone: minutes a day for what its beds use, and the most days that none uses up what it readily has."""

    minutes: list[float]
    most_days: list[int]


def _uses(tries: _Tries, days: slice) -> _Uses:
    """On a mean day of these."""
    usual, garden = tries.usual, tries.garden
    course = course_of(garden, usual.season, usual.sky, None, days)
    etc_mm = course.demand_mm * course.planted
    daily_l = (etc_mm * garden.beds.area_m2).mean(axis=(0, 2))
    planted_days = np.maximum(course.planted.sum(axis=0), 1)
    raw_mm = ((course.raw_mm * course.planted).sum(axis=0) / planted_days).mean(axis=1)
    lasts = raw_mm / np.maximum((etc_mm.sum(axis=0) / planted_days).mean(axis=1), LEAST_MM)
    minutes, most_days = [], []
    for number in range(len(tries.site.zone)):
        beds = [bed for bed, zone in enumerate(garden.structure.bed_zone) if zone == number and daily_l[bed] > 0.0]
        flow_l_min = float(garden.outlets.flow_l_min[number, 0] * garden.outlets.efficiency[number, 0])
        minutes.append(float(daily_l[beds].sum()) / flow_l_min)
        most_days.append(max(1, int(min(lasts[beds], default=1.0))))
    return _Uses(minutes, most_days)


def _heat(tries: _Tries, days: slice, zone: Zone) -> float | None:
    """How much more a hot day of a zone takes than a mean day, 1 where there was none; None where it knows none."""
    sky = tries.usual.sky
    if zone.hot_above_c is None or sky.tmax_c is None:
        return None
    et0_mm, is_hot = sky.et0_mm[days], sky.tmax_c[days] >= zone.hot_above_c
    return max(1.0, float(et0_mm[is_hot].mean() / et0_mm.mean())) if is_hot.any() else 1.0


def _in_heat(
    tries: _Tries, number: int, settings: dict[int, dict[int, Setting]], of_months: Sequence[Sequence[int]]
) -> dict[str, Any]:
    """The setting for the hottest week: the rhythm of its month, and minutes for all that the beds then use.

    Where somebody feels the soil, the minutes are those of the month, and the rhythm follows.
    """
    usual, pulse = tries.usual, tries.pulses[number]
    uses = {
        n: _uses(tries, part.days).minutes[number] * _over_mean(usual.sky.et0_mm[part.days])
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
            way for days in range(setting.every_days or 1, 0, -1) for way in _set(minutes * days, days, None, pulse)
        ]
        found = ways[0] if ways else setting
        taken = found.minutes * found.runs / (found.every_days or 1)
    week_l = taken * WEEK_DAYS * float(tries.garden.outlets.flow_l_min[number, 0])
    return {"hot_week": found, "hot_week_l": week_l, "hot_month": usual.parts[hottest].month}


def _over_mean(et0_mm: Array) -> float:
    mean_mm = float(et0_mm.mean())
    return hottest_week_mm(et0_mm) / mean_mm if mean_mm > 0.0 else 1.0
