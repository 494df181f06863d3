"""Gardens tried on the same weather: alike ones run side by side, and each is told by the same few figures."""

import datetime as dt
from collections.abc import Hashable, Iterator, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np

from waterbudget.schedule.garden import Garden, garden_of
from waterbudget.schedule.season import season_of
from waterbudget.simulate.days import Day, days
from waterbudget.simulate.hands import Hands
from waterbudget.simulate.lanes import build_of, hosed, season_key, side_by_side
from waterbudget.simulate.result import summary_of
from waterbudget.simulate.run import sky_of
from waterbudget.simulate.totals import add_up
from waterbudget.site.model import Site
from waterbudget.units import Array
from waterbudget.weather.files import Weather

BEDS = ("beds.etc_mm", "beds.eta_mm")
THIRSTIER = 0.005  # of the need met, from which plants are told to be worse off: ours


@dataclass(frozen=True, eq=False)
class Outcome:
    """What a garden did in the weather.

    summary: as of a run. need_met_if_given: share of their need that the watered beds would have had, had a hose given
    what a store without mains water could not, None where they need nothing. minutes: that the valves were open, or
    would have been for all the watering. week_minutes: of a person's time that all the watering takes, a week. dates:
    of the run. level_l (day, tank) and needed_l_by_day (day,) where they were kept.
    """

    site: Site
    summary: dict[str, Any]
    need_met_if_given: float | None
    minutes: float
    week_minutes: float
    dates: tuple[dt.date, ...]
    level_l: Array | None = None
    needed_l_by_day: Array | None = None

    @property
    def needed_l(self) -> float:
        """Mains water that all the watering takes [L]."""
        return float(self.summary["mains_l"] + self.summary["unmet_l"])

    @property
    def to_drain_l(self) -> float:
        """What spilled from stores that overflow into no other [L]."""
        tanks = zip(self.site.tank, self.summary["tanks"], strict=True)
        return float(sum(booked["spilled_l"] for tank, booked in tanks if tank.overflow_to is None))

    @property
    def end_l(self) -> float:
        """What is in all stores in the end [L]."""
        return float(sum(booked["end_l"] for booked in self.summary["tanks"]))

    @property
    def thirsty_days(self) -> int:
        """Days with too dry a soil, of all beds together."""
        return int(sum(bed["stress_days"] for bed in self.summary["beds"]))

    @property
    def need_met(self) -> float | None:
        """Share of their need that the watered beds had."""
        booked = self.summary["beds"]
        return _need_met(self.site, [bed["etc_mm"] for bed in booked], [bed["eta_mm"] for bed in booked])

    def is_thirstier_than(self, other: "Outcome") -> bool:
        """Whether its plants would be noticeably worse off with all their water given.

        So judged, for else not to water dry beds from an empty store would look like a saving.
        """
        if self.need_met_if_given is None or other.need_met_if_given is None:
            return False
        return self.need_met_if_given < other.need_met_if_given - THIRSTIER


def _need_met(site: Site, etc_mm: Sequence[float] | Array, eta_mm: Sequence[float] | Array) -> float | None:
    """Share of their need that the watered beds had, of what all beds needed and had; None where they need nothing."""
    watered_m2 = np.array([bed.ground_m2 * (bed.zone is not None) for bed in site.bed])
    need_l = float(watered_m2 @ np.asarray(etc_mm))
    return float(watered_m2 @ np.asarray(eta_mm)) / need_l if need_l > 0.0 else None


def try_all(sites: Sequence[Site], weather: Weather, *, keep_levels: bool = False) -> list[Outcome]:
    """Run every site through the weather. Raises WeatherError where hot days cannot be told."""
    gardens = [garden_of(site) for site in sites]
    alike: dict[Hashable, list[int]] = {}
    for number, (site, garden) in enumerate(zip(sites, gardens, strict=True)):
        runs = tuple(zone.runs_per_day for zone in site.zone)
        beds = tuple(bed.zone for bed in site.bed)
        kind = (build_of(garden), season_key(site), runs, beds, repr(site.effort))
        alike.setdefault(kind, []).append(number)
    outcomes: dict[int, Outcome] = {}
    for numbers in alike.values():
        some = [sites[number] for number in numbers]
        ran = _side_by_side(some, [gardens[number] for number in numbers], weather, keep_levels=keep_levels)
        outcomes |= zip(numbers, ran, strict=True)
    return [outcomes[number] for number in range(len(sites))]


def _side_by_side(
    sites: Sequence[Site], gardens: Sequence[Garden], weather: Weather, *, keep_levels: bool
) -> Iterator[Outcome]:
    skies = [sky_of(site, weather) for site in sites]  # one and the same, but hot days are looked for in each
    garden = side_by_side(gardens, 1)
    season = season_of(sites[0], weather.date_column)
    levels: list[Array] = []
    needed: list[Array] = []
    open_minutes, hands = np.zeros(len(sites)), Hands(sites[0], garden)

    def watched() -> Iterator[Day]:
        for day in hands.watch(days(garden, season, skies[0])):
            open_minutes[:] += (day.outlets.asked_l / day.outlets.flow_l_min).sum(axis=1)
            if keep_levels:
                levels.append(day.tanks.level_l)
                needed.append(day.tanks.mains_l.sum(axis=1) + day.outlets.unmet_l.sum(axis=1))
            yield day

    totals = add_up(garden, watched())
    if_given = add_up(hosed(garden), days(hosed(garden), season, skies[0]), BEDS)
    week_minutes = hands.week_minutes
    dates = tuple(weather.dates.date)
    for lane, site in enumerate(sites):
        yield Outcome(
            site,
            summary_of(garden, totals, weather.dates, lane),
            _need_met(site, *(if_given.sums[name][min(lane, len(if_given.sums[name]) - 1)] for name in BEDS)),
            float(open_minutes[lane]),
            float(week_minutes[lane]),
            dates,
            np.stack([level_l[lane] for level_l in levels]) if keep_levels else None,
            np.stack([needed_l[lane] for needed_l in needed]) if keep_levels else None,
        )
