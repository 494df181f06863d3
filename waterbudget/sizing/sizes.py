"""What sizes of a tank would have done: all of them run side by side through the same days."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from waterbudget.errors import InputError
from waterbudget.physics.tank import total
from waterbudget.schedule.built import garden_of
from waterbudget.schedule.garden import Garden
from waterbudget.simulate.compiled import is_worth_it
from waterbudget.simulate.keep import Keep, Kept
from waterbudget.simulate.lanes import of_soil_triggered_beds, sized
from waterbudget.simulate.shares import met_by_rain
from waterbudget.site.model import Site
from waterbudget.sizing.stretch import NOT_COUNTED, Stretch
from waterbudget.sizing.years import LANES_AT_ONCE, Days, in_a_row, side_by_side
from waterbudget.units import WEEK_DAYS, Array, IntArray

if TYPE_CHECKING:
    import pandas as pd

DRY_YEAR = 10  # one in so many
LEAST_STEPS, MOST_STEPS = 2, 1000
ROOMY = 4  # times as far apart as the rounding: then the steps still look even
LARGEST_L = 1e7  # ten thousand cubic metres: beyond every garden
PER_CENT = 100.0
BOOKED = (
    "asked_l",
    "rain_l",
    "inflow_l",
    "needed_l",
    "spilled_l",
    "asking_days",
    "met_days",
    "days_lasted",
    "work_minutes",
)
KEEP = Keep(
    sums=(
        *(f"tanks.{name}" for name in ("asked_l", "drawn_l", "drawn_mains_l", "inflow_l", "spilled_l")),
        "tanks.is_asked",
        "tanks.is_met",
        "whole.needed_l",
        "whole.work_minutes",
    ),
    firsts=("tanks.fails",),
)


@dataclass(frozen=True)
class Sweep:
    """Which sizes are tried and what is asked of them. Raises InputError with a line for each part that cannot be.

    from_l, to_l: smallest and largest [L]; steps: how many in all. target: share of the water asked for that is to
    come from the store. worth_l: mains water a year [L] that another 100 L have to save to be worth it.
    """

    from_l: float = 100.0
    to_l: float = 5000.0
    steps: int = 60
    target: float = 0.95
    worth_l: float = 100.0

    def __post_init__(self) -> None:
        if faults := self._faults():
            raise InputError(faults)

    def _faults(self) -> list[str]:
        faults = []
        ends = (("from-l", self.from_l), ("to-l", self.to_l))
        faults += [
            f"{name} is {end:g}; write litres above 0, up to {LARGEST_L:,.0f}"
            for name, end in ends
            if not 0.0 < end <= LARGEST_L
        ]
        if not faults and self.from_l >= self.to_l:
            faults.append(f"from-l is {self.from_l:g} and to-l is {self.to_l:g}; write the smaller size at from-l")
        if not LEAST_STEPS <= self.steps <= MOST_STEPS:
            faults.append(f"steps is {self.steps}; write how many sizes to try, {LEAST_STEPS} to {MOST_STEPS:,}")
        if not 0.0 < self.target <= 1.0:
            meant = 1.0 < self.target <= PER_CENT
            like = f"{self.target / PER_CENT:g} for {self.target:g} %" if meant else "such as 0.95 for 95 %"
            faults.append(f"target is {self.target:g}; write a share above 0, up to 1, {like}")
        if not 0.0 < self.worth_l < np.inf:
            faults.append(f"worth-l is {self.worth_l:g}; write litres a year above 0, such as 100")
        return faults

    @property
    def capacity_l(self) -> Array:
        """The sizes, evenly spaced, in tens of litres or in whole ones where there is room for them, (size,)."""
        even = np.linspace(self.from_l, self.to_l, self.steps)
        for round_l in (10.0, 1.0):
            rounded = np.round(even / round_l) * round_l
            ends_stay = rounded[0] == self.from_l and rounded[-1] == self.to_l
            if ends_stay and self.to_l - self.from_l >= ROOMY * round_l * self.steps:
                return rounded
        return even


@dataclass(frozen=True, eq=False)
class Outcomes:
    """What each size did in each counted year, arrays (year, size).

    capacity_l: (size,). days: of each year, (year,). asked_l: of the tank; rain_l: what it gave of that in stored rain;
    inflow_l: what ran into it. needed_l: mains water that all the watering of the garden takes, given and unmet;
    spilled_l: what the garden sends down the drain. asking_days: days on which the tank was asked; met_days: those of
    them on which it gave all of it without mains water. days_lasted: whole days before the first of a year on which it
    did not. work_minutes: of a person's time that all the watering of the garden takes.
    """

    capacity_l: Array
    days: IntArray
    asked_l: Array
    rain_l: Array
    inflow_l: Array
    needed_l: Array
    spilled_l: Array
    asking_days: Array
    met_days: Array
    days_lasted: Array
    work_minutes: Array

    @property
    def met(self) -> Array:
        """Share of the water asked for that the stored rain gave, (size,)."""
        return met_by_rain(self.rain_l.sum(axis=0), self.asked_l.sum(axis=0))

    @property
    def met_on_days(self) -> Array:
        """Share of the days with a demand on which the stored rain gave all of it, (size,)."""
        share: Array = self.met_days.sum(axis=0) / self.asking_days.sum(axis=0)
        return share

    @property
    def median_lasted(self) -> Array:
        """Days that half of the years do not exceed, (size,)."""
        return self._lasted(2)

    @property
    def dry_lasted(self) -> Array:
        """Days that one year in ten does not exceed, (size,); of fewer than ten years that of the worst."""
        return self._lasted(DRY_YEAR)

    @property
    def turnovers(self) -> Array:
        """How often a year the store's capacity is given out in rain, (size,)."""
        return self.a_year("rain_l") / self.capacity_l

    @property
    def week_minutes(self) -> Array:
        """Minutes of a person's time a week, on the mean of the days, (size,)."""
        week: Array = self.work_minutes.sum(axis=0) / self.days.sum() * WEEK_DAYS
        return week

    def a_year(self, name: str) -> Array:
        """Mean of a quantity over the years, (size,)."""
        mean: Array = getattr(self, name).mean(axis=0)
        return mean

    def take(self, sizes: IntArray | slice) -> "Outcomes":
        """The outcomes of some of the sizes."""
        taken = {name: getattr(self, name)[..., sizes] for name in ("capacity_l", *BOOKED)}
        return Outcomes(days=self.days, **taken)

    def by_size(self) -> "pd.DataFrame":
        """A row a size; litres and turnovers are means of a counted year, days lasted of a middle and a dry one."""
        import pandas as pd

        return pd.DataFrame(
            {
                "capacity_l": self.capacity_l,
                "volume_reliability": self.met,
                "day_reliability": self.met_on_days,
                "days_lasted_median": self.median_lasted.astype(np.int64),
                "days_lasted_dry": self.dry_lasted.astype(np.int64),
                "needed_l_per_year": self.a_year("needed_l"),
                "spilled_l_per_year": self.a_year("spilled_l"),
                "turnovers_per_year": self.turnovers,
                "work_minutes_per_week": self.week_minutes,
            }
        )

    def _lasted(self, one_in: int) -> Array:
        in_order: Array = np.sort(self.days_lasted, axis=0)
        lasted: Array = in_order[(len(in_order) - 1) // one_in]
        return lasted


def try_sizes(site: Site, tank: int, capacity_l: Array, stretch: Stretch, roof_factor: Array | None = None) -> Outcomes:
    """Run every capacity [L] of one tank, its number in the site, through the days; arguments as for `sized`."""
    garden, season = of_soil_triggered_beds(garden_of(site), stretch.season)
    sizes = len(capacity_l)
    books = []
    at_once = max(1, LANES_AT_ONCE // sizes)
    for first in range(0, stretch.strings, at_once):
        some = slice(first, min(first + at_once, stretch.strings))
        strings = some.stop - some.start
        factor = None if roof_factor is None else np.tile(roof_factor, strings)
        lanes = sized(garden, tank, np.tile(capacity_l, strings), factor)
        days = Days(lanes, season, stretch.of_strings(some, sizes))
        years = [_booked(lanes, tank, kept) for kept in _of_years(days, stretch)]
        books.append({name: _by_string([year[name] for year in years], strings) for name in BOOKED})
    counted = slice(len(stretch.names))  # the last string may be longer than what was drawn
    return Outcomes(
        capacity_l=capacity_l,
        days=np.tile(stretch.year_days, stretch.strings)[counted],
        **{name: np.concatenate([book[name] for book in books])[counted] for name in BOOKED},
    )


def _of_years(days: Days, stretch: Stretch) -> list[Kept]:
    """What is kept of each counted year."""
    counted = [number != NOT_COUNTED for number, _ in stretch.in_a_row]
    last = len(counted) - counted[::-1].index(True)
    years = [some for _, some in stretch.in_a_row[:last]]
    remembers = any(days.garden.structure.holds_mains)  # a mixture with mains water outlasts a year
    at_once = 1 if remembers or stretch.strings > 1 else max(1, LANES_AT_ONCE // days.lanes)
    lanes, run_days = days.lanes * at_once, len(stretch.year) // at_once
    compiles = is_worth_it(days.garden, lanes, run_days, shares_weather=stretch.strings == 1)
    found = (in_a_row if compiles or at_once == 1 else side_by_side)(days, years, KEEP)
    return [kept for kept, is_counted in zip(found, counted, strict=False) if is_counted]


def _booked(garden: Garden, tank: int, kept: Kept) -> dict[str, Array]:
    """What is booked of a year, (lane,)."""
    to_drain = [number for number, lower in enumerate(garden.structure.overflow_to) if lower is None]
    sums = kept.sums
    return {
        "asked_l": sums["tanks.asked_l"][tank],
        "rain_l": sums["tanks.drawn_l"][tank] - sums["tanks.drawn_mains_l"][tank],
        "inflow_l": sums["tanks.inflow_l"][tank],
        "needed_l": sums["whole.needed_l"],
        "spilled_l": total(sums["tanks.spilled_l"][to_drain]),
        "asking_days": sums["tanks.is_asked"][tank],
        "met_days": sums["tanks.is_met"][tank],
        "days_lasted": np.minimum(kept.firsts["tanks.fails"][tank], kept.days),
        "work_minutes": sums["whole.work_minutes"],
    }


def _by_string(years: Sequence[Array], strings: int) -> Array:
    """From a row of (string x size) a year to (string x year, size), string after string."""
    by_year = np.stack(years).reshape(len(years), strings, -1)
    return by_year.swapaxes(0, 1).reshape(len(years) * strings, -1)
