"""Gardens tried on the same weather: alike ones run side by side, and each is told by the same few figures."""

import datetime as dt
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from typing import Any

import numpy as np

from waterbudget.schedule.built import garden_of
from waterbudget.schedule.garden import Garden
from waterbudget.schedule.season import season_of
from waterbudget.simulate.drive import drive
from waterbudget.simulate.keep import Keep
from waterbudget.simulate.lanes import alike, evened, hosed, season_of_all, side_by_side
from waterbudget.simulate.result import SUMMARY, summary_of
from waterbudget.simulate.run import sky_of
from waterbudget.site.model import Site
from waterbudget.units import WEEK_DAYS, Array
from waterbudget.weather.days import Weather

BEDS = ("beds.etc_mm", "beds.eta_mm")
THIRSTIER = 0.005  # of the need met, from which plants are told to be worse off: ours
KEEP = replace(SUMMARY, sums=(*SUMMARY.sums, "outlets.minutes_asked"))
LEVELS = ("tanks.level_l", "whole.needed_l")


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
        """Whether its plants would be noticeably worse off, as it is or with all their water given.

        So judged, for else not to water dry beds from an empty store would look like a saving, and so would water that
        is moved away from beds that nobody can help out.
        """
        pairs = ((self.need_met, other.need_met), (self.need_met_if_given, other.need_met_if_given))
        return any(own is not None and its is not None and own < its - THIRSTIER for own, its in pairs)


def _need_met(site: Site, etc_mm: Sequence[float] | Array, eta_mm: Sequence[float] | Array) -> float | None:
    """Share of their need that the watered beds had, of what all beds needed and had; None where they need nothing."""
    watered_m2 = np.array([bed.ground_m2 * (bed.zone is not None) for bed in site.bed])
    need_l = float(watered_m2 @ np.asarray(etc_mm))
    return float(watered_m2 @ np.asarray(eta_mm)) / need_l if need_l > 0.0 else None


def try_all(sites: Sequence[Site], weather: Weather, *, keep_levels: bool = False) -> list[Outcome]:
    """Run every site through the weather. Raises WeatherError where hot days cannot be told."""
    gardens = [garden_of(site) for site in sites]
    outcomes: dict[int, Outcome] = {}
    for numbers in alike(gardens):
        some = [sites[number] for number in numbers]
        ran = _side_by_side(some, evened([gardens[number] for number in numbers]), weather, keep_levels=keep_levels)
        outcomes |= zip(numbers, ran, strict=True)
    return [outcomes[number] for number in range(len(sites))]


def _side_by_side(
    sites: Sequence[Site], gardens: Sequence[Garden], weather: Weather, *, keep_levels: bool
) -> Iterator[Outcome]:
    skies = [sky_of(site, weather) for site in sites]  # one and the same, but hot days are looked for in each
    garden = side_by_side(gardens, 1)
    keep = replace(KEEP, each=LEVELS) if keep_levels else KEEP
    season = season_of_all(sites, lambda site: season_of(site, weather.date_column))
    state, kept = drive(garden, season, skies[0], keep=keep)
    _, if_given = drive(hosed(garden), season, skies[0], keep=Keep(sums=BEDS))
    open_minutes = kept.sums["outlets.minutes_asked"].sum(axis=0)
    week_minutes = kept.sums["whole.work_minutes"] * (WEEK_DAYS / kept.days)
    dates = tuple(weather.days.tolist())
    for lane, (site, own) in enumerate(zip(sites, gardens, strict=True)):
        summary = summary_of(own, state, kept, weather.days, lane)
        summary["transfers"] = [row for row in summary["transfers"] if row["name"]]  # without those of others
        yield Outcome(
            site,
            summary,
            _need_met(site, *(if_given.sums[name][:, lane] for name in BEDS)),
            float(open_minutes[lane]),
            float(week_minutes[lane]),
            dates,
            kept.each["tanks.level_l"][..., lane] if keep_levels else None,
            kept.each["whole.needed_l"][..., lane] if keep_levels else None,
        )
