"""Settings of a clock tried side by side in the model itself, and which of them is best."""

from collections.abc import Iterator, Sequence
from math import floor
from typing import Any, NamedTuple

import numpy as np

from waterbudget.plan.usual import Usual
from waterbudget.schedule.built import garden_of
from waterbudget.schedule.calendar import Days
from waterbudget.schedule.course import course_of
from waterbudget.schedule.garden import Garden
from waterbudget.schedule.pulse import Pulse, on_the_clock, pulses_of
from waterbudget.schedule.season import Season
from waterbudget.schedule.sky import Sky
from waterbudget.simulate.drive import drive
from waterbudget.simulate.keep import Keep, Kept
from waterbudget.simulate.lanes import hosed
from waterbudget.simulate.state import State
from waterbudget.site.model import Site, Zone
from waterbudget.units import Array, BoolArray

EVERY_DAYS = (1, 2, 3, 4, 5, 6, 7)
SHARES = (0.2, 0.35, 0.5, 0.65, 0.8, 0.95, 1.1, 1.3, 1.5)  # of what the beds use from one run to the next
LACKED_WEIGHT = 3.0  # litres sunk that count as much as a litre lacked: ours
NEARLY = 0.01  # of what the beds use: a setting that is worse by no more is as good, if it takes fewer runs
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


class Tries:
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


def search(tries: Tries, asks: BoolArray) -> tuple[dict[int, dict[int, Setting]], list[list[int]]]:
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


def once(tries: Tries, asks: BoolArray) -> list[tuple[Setting, Balance]]:
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


def _options(tries: Tries, days: slice, running: Sequence[int]) -> list[list[Setting]]:
    """The settings that are tried for each zone in some days, each zone as many; the others stay shut."""
    uses = uses_of(tries, days)
    listed = []
    for number, zone in enumerate(tries.site.zone):
        options = [Setting(0.0, hot_minutes=None if zone.hot_above_c is None else 0.0)]
        if number in running:
            heat = _heat(tries, days, zone)
            for every in EVERY_DAYS if zone.plan != "timer" else EVERY_DAYS[: uses.most_days[number]]:
                rhythm = every if zone.plan == "timer" else None
                for share in SHARES:
                    options += settings_of(uses.minutes[number] * every * share, rhythm, heat, tries.pulses[number])
        listed.append(list(dict.fromkeys(options)))
    most = max(map(len, listed), default=0)
    return [[*options, *[options[-1]] * (most - len(options))] for options in listed]


def settings_of(minutes: float, every_days: int | None, heat: float | None, pulse: Pulse) -> Iterator[Setting]:
    """A setting with so many minutes on a watering day, in pulses that the soil takes; none where a day has no room."""
    runs = pulse.parts(on_the_clock(minutes * (heat or 1.0)))
    each = on_the_clock(minutes / runs, round if runs == 1 else floor)
    hot = None if heat is None else on_the_clock(minutes * heat / runs, round if runs == 1 else floor)
    if runs <= pulse.most and each > 0.0:
        yield Setting(each, runs, every_days, hot)


class Uses(NamedTuple):
    """Of each zone: minutes a day for what its beds use, and the most days that none uses up what it readily has."""

    minutes: list[float]
    most_days: list[int]


def uses_of(tries: Tries, days: slice) -> Uses:
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
    return Uses(minutes, most_days)


def _heat(tries: Tries, days: slice, zone: Zone) -> float | None:
    """How much more a hot day of a zone takes than a mean day, 1 where there was none; None where it knows none."""
    sky = tries.usual.sky
    if zone.hot_above_c is None or sky.tmax_c is None:
        return None
    et0_mm, is_hot = sky.et0_mm[days], sky.tmax_c[days] >= zone.hot_above_c
    return max(1.0, float(et0_mm[is_hot].mean() / et0_mm.mean())) if is_hot.any() else 1.0
