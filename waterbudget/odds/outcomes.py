"""What becomes of a garden in each of many summers, all of them run side by side."""

from collections.abc import Mapping
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np

from waterbudget.odds.chances import FEW_YEARS, Chance, wilson
from waterbudget.schedule.built import garden_of
from waterbudget.schedule.season import season_of
from waterbudget.simulate.books import SHORT_L
from waterbudget.simulate.drive import drive
from waterbudget.simulate.keep import NEVER, Keep
from waterbudget.simulate.lanes import of_soil_triggered_beds
from waterbudget.simulate.run import et0_of, sky_of_years, started
from waterbudget.simulate.shares import met_by_rain
from waterbudget.site.model import Site
from waterbudget.units import WEEK_DAYS, Array, BoolArray, IntArray
from waterbudget.weather.years import Years

if TYPE_CHECKING:
    import pandas as pd

STEPS_DAYS = (1, 2, 5, 10, 15, 20, 30, 40)  # ten of the last are longer than a year
MOST_STEPS = 10
WORST_SHOWN = 3


KEEP = Keep(
    sums=("outlets.asked_l", "outlets.rain_l", "outlets.unmet_l", "tanks.mains_l", "whole.work_minutes"),
    firsts=("whole.fails", "whole.is_short", "whole.needs_mains"),
)


@dataclass(frozen=True, eq=False)
class Odds:
    """What became of a garden in many years, arrays (scenario,).

    years: their weather. start_l: litres in each store on the first day, by its name. days_lasted: whole days before
    the first on which a store could not give all it was asked for or a float valve opened, all days where none.
    first_short and first_mains: the first day short and the first with mains water, counted from 0, infinite where
    there was none. asked_l, rain_l (stored rain given), mains_l (given by the mains) and unmet_l: sums [L].
    week_minutes: of a person's time that all the watering takes, a week. level_l: stores at the start and at the end of
    each day (1 + day, tank, scenario), None unless it was to be kept.
    """

    years: Years
    start_l: Mapping[str, float]
    days_lasted: IntArray
    first_short: Array
    first_mains: Array
    asked_l: Array
    rain_l: Array
    mains_l: Array
    unmet_l: Array
    week_minutes: Array
    level_l: Array | None

    @property
    def days(self) -> int:
        """Days of a season."""
        return len(self.years.dates)

    @property
    def needed_l(self) -> Array:
        """Mains water that all the watering takes [L]: what the mains gave and what was left unmet."""
        return self.mains_l + self.unmet_l

    @property
    def runs_short(self) -> BoolArray:
        """Whether the stored rain ran short: a store could not give all it was asked for, or a float valve opened."""
        return self.first_out < NEVER

    @property
    def first_out(self) -> Array:
        """The first day on which the stored rain ran short, counted from 0, infinite where it lasted."""
        return np.minimum(self.first_short, self.first_mains)

    @property
    def met_by_rain(self) -> Array:
        """Share of the water asked for that stored rain gave, NaN where none was asked for."""
        return met_by_rain(self.rain_l, self.asked_l)

    @property
    def all_met_by_rain(self) -> float:
        """The same over all the years."""
        return float(met_by_rain(self.rain_l.sum(), self.asked_l.sum()))

    @property
    def is_few(self) -> bool:
        """Whether too few recorded years stand behind them to tell chances."""
        return self.years.years_behind < FEW_YEARS

    @property
    def needs_mains(self) -> BoolArray:
        """Whether mains water is needed."""
        return self.needed_l > SHORT_L

    def chance(self, happens: BoolArray) -> Chance:
        """Share of the years in which something happens, along the last axis, and its 95 % interval.

        The interval is that of the recorded years behind them: drawing more years from these adds no knowledge.
        """
        return wilson(happens.mean(axis=-1), self.years.years_behind)

    def chance_of_lasting(self, days: int | IntArray) -> Chance:
        """Chance that the stored rain lasts at least so many days; share, low and high have the shape of days."""
        return self.chance(self.days_lasted >= np.asarray(days)[..., np.newaxis])

    def worst_first(self) -> IntArray:
        """The scenarios that need mains water, the thirstiest first, then the one that ran short earlier."""
        order: IntArray = np.lexsort((self.days_lasted, -self.needed_l))
        return order[self.needs_mains[order]]

    def day(self, number: float, scenario: int) -> str | None:
        """The date of a day counted from 0 as YYYY-MM-DD, None for never."""
        return None if number == NEVER else str(self.years.dates[int(number), scenario])

    def steps(self) -> list[int]:
        """Days to tell the chance of lasting for: round steps until no year lasts longer, and the whole season."""
        longest = int(self.days_lasted.max())
        step = next(step for step in STEPS_DAYS if longest <= step * MOST_STEPS)
        return [*range(step, min(longest + step, self.days), step), self.days]

    def by_year(self) -> "pd.DataFrame":
        """A row a year; dates as YYYY-MM-DD, blank for never. Drawn years are dated in 2001."""
        import pandas as pd

        numbers = range(len(self.days_lasted))
        return pd.DataFrame(
            {
                "year": self.years.label,
                "days_lasted": self.days_lasted,
                "first_short": [self.day(self.first_short[number], number) for number in numbers],
                "first_mains": [self.day(self.first_mains[number], number) for number in numbers],
                "asked_l": self.asked_l,
                "rain_l": self.rain_l,
                "volume_reliability": self.met_by_rain,
                "mains_l": self.mains_l,
                "unmet_l": self.unmet_l,
                "needed_l": self.needed_l,
                "work_minutes_per_week": self.week_minutes,
                "rain_mm": self.years.rain_mm.sum(axis=0),
                "et0_mm": et0_of(self.years).sum(axis=0),
            }
        )


def odds_of(site: Site, years: Years, start_l: Mapping[str, float] | None = None, *, keep_levels: bool = False) -> Odds:
    """Run a garden through every year at once, each from the same start.

    start_l: litres in a tank on the first day, by the tank's name, instead of the site's. keep_levels: remember the
    level of every store on every day.
    Raises InputError where a tank is unknown or cannot hold its start, WeatherError where the years lack the ET0 or,
    for hot days, the tmax_c that the site needs.
    """
    garden = garden_of(site)
    if start_l:
        garden = started(garden, start_l)
    few, season = of_soil_triggered_beds(garden, season_of(site, years.dates))
    keep = replace(KEEP, each=("tanks.level_l",)) if keep_levels else KEEP
    state, kept = drive(few, season, sky_of_years(site, years), keep=keep)
    start = np.broadcast_to(garden.tanks.start_l, state.level_l.shape)
    return Odds(
        years=years,
        start_l=dict(zip(garden.names.tanks, garden.tanks.start_l[:, 0].tolist(), strict=True)),
        days_lasted=kept.days_lasted,
        first_short=kept.firsts["whole.is_short"],
        first_mains=kept.firsts["whole.needs_mains"],
        asked_l=kept.sums["outlets.asked_l"].sum(axis=0),
        rain_l=kept.sums["outlets.rain_l"].sum(axis=0),
        mains_l=kept.sums["tanks.mains_l"].sum(axis=0),
        unmet_l=kept.sums["outlets.unmet_l"].sum(axis=0),
        week_minutes=kept.sums["whole.work_minutes"] * (WEEK_DAYS / kept.days),
        level_l=np.concatenate([start[None], kept.each["tanks.level_l"]]) if keep_levels else None,
    )
