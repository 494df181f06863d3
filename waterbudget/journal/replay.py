"""The days between the first logged level and the last, run again for many values of a garden's numbers at once."""

import datetime as dt
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from waterbudget.journal.diary import Diary, actions_of
from waterbudget.journal.quantities import Quantity, bounds, with_starts, with_values
from waterbudget.journal.readings import Readings
from waterbudget.schedule.actions import Actions
from waterbudget.schedule.built import garden_of
from waterbudget.schedule.garden import Garden
from waterbudget.schedule.season import Season, season_of
from waterbudget.schedule.sky import Sky
from waterbudget.simulate.drive import drive
from waterbudget.simulate.keep import Keep, Kept
from waterbudget.simulate.lanes import of_soil_triggered_beds
from waterbudget.simulate.run import sky_of
from waterbudget.simulate.state import State
from waterbudget.site.model import Site
from waterbudget.units import Array, IntArray
from waterbudget.weather.days import Weather

RUNS = 50  # that a search takes, about
RUN_UP_DAYS = 365  # before the first reading, to know how dry the beds are
STEP = 0.2  # of a notable change, either way
SHORT = 1e-3  # of a step: so near a bound there is none that way
JUMP = 3.0  # times the change the other way


@dataclass(frozen=True, eq=False)
class Replay:
    """The days after the first reading up to the last, and the evening of the first, the beds as dry as they were.

    Beds that no plan looks at are left out, as no level tells of them. actions: what was logged of these days, which
    goes before the plan; the run of a zone takes the flow of its lane. rows, tanks: day (0 is that of the first
    reading) and tank of each reading; measured_l and weight, the same length. A reading weighs by its share of the
    store, as a dip stick errs by depth.
    """

    garden: Garden
    season: Season
    sky: Sky
    eve: State
    actions: Actions
    rows: IntArray
    tanks: IntArray
    measured_l: Array
    weight: Array

    @classmethod
    def of(cls, site: Site, weather: Weather, readings: Readings, diary: Diary) -> "Replay":
        """The days of some readings; up to a year before them is run, with what was logged of it, to know the beds."""
        first, last = readings.first_day, readings.last_day
        weather = weather.between(max(weather.first_day, first - dt.timedelta(RUN_UP_DAYS)), last)
        garden, season = of_soil_triggered_beds(garden_of(site), season_of(site, weather.date_column))
        sky, actions = sky_of(site, weather), actions_of(site, diary, weather.first_day, last)
        begin = (first - weather.first_day).days + 1
        run_up, rest = slice(begin), slice(begin, None)
        eve, _ = drive(garden, season.of(run_up), sky.of(run_up), actions=actions.of(run_up))
        column = {tank.name: number for number, tank in enumerate(site.tank)}
        places = [
            ((day - first).days, column[tank], litres)
            for tank, levels in readings.level_l.items()
            for day, litres in levels.items()
        ]
        rows, tanks, measured_l = (np.array(part) for part in zip(*places, strict=True))
        return cls(
            garden=garden,
            season=season.of(rest),
            sky=sky.of(rest),
            eve=eve,
            actions=actions.of(rest),
            rows=rows,
            tanks=tanks,
            measured_l=measured_l.astype(np.float64),
            weight=1.0 / garden.tanks.capacity_l[tanks, 0],
        )

    def run(self, quantities: Sequence[Quantity], values: Array, keep: Keep, runs: int = 1) -> Kept:
        """What is to be kept of the days, with a lane for each row of values (lane, quantity); runs: as of a drive."""
        garden, eve = with_values(self.garden, quantities, values), with_starts(self.eve, quantities, values)
        _, kept = drive(garden, self.season, self.sky, eve, self.actions, keep, runs)
        return kept

    def levels(self, quantities: Sequence[Quantity], values: Array, runs: int = 1) -> Array:
        """Level of every evening [L], (day, tank, lane), that of the first reading's day before all others."""
        level_l = self.run(quantities, values, Keep(each=("tanks.level_l",)), runs).each["tanks.level_l"]
        return np.concatenate([with_starts(self.eve, quantities, values).level_l[None], level_l])

    def at_readings(self, quantities: Sequence[Quantity], values: Array, runs: int = 1) -> Array:
        """Level at each reading [L], (lane, reading)."""
        return self.levels(quantities, values, runs)[self.rows, self.tanks].T

    def closest(self, quantities: Sequence[Quantity], guesses: Sequence[Array]) -> list[Array]:
        """Of each of some lots of guesses (lane, quantity) the one whose levels come closest to the readings."""
        misses = (self.at_readings(quantities, np.concatenate(guesses)) - self.measured_l) * self.weight
        costs = np.split((misses**2).sum(axis=1), np.cumsum([len(lot) for lot in guesses])[:-1])
        return [lot[np.argmin(cost)] for lot, cost in zip(guesses, costs, strict=True)]

    def slopes(self, quantities: Sequence[Quantity], values: Array) -> tuple[Array, Array]:
        """Level at each reading [L], (lane, reading), and its change with each quantity (lane, reading, quantity).

        values: (lane, quantity). The steps are not small, as the model has kinks and jumps; where it has none it is as
        good as straight.
        """
        here, above, below, up, down = self._steps(quantities, values)
        return here, (above - below) / (up + down)[:, None]

    def gentle_slopes(self, quantities: Sequence[Quantity], values: Array) -> tuple[Array, Array]:
        """The same, but where a step one way changes levels far more: that of the other way, as a jump is no slope."""
        here, above, below, up, down = self._steps(quantities, values)
        rise = (above - here[..., None]) / np.where(up > 0.0, up, np.inf)[:, None]
        fall = (here[..., None] - below) / np.where(down > 0.0, down, np.inf)[:, None]
        size_up, size_down = (np.linalg.norm(one, axis=1, keepdims=True) for one in (rise, fall))
        slopes = np.where(size_up > JUMP * size_down, fall, (above - below) / (up + down)[:, None])
        slopes = np.where(size_down > JUMP * size_up, rise, slopes)
        return here, np.where(((up > 0.0) & (down > 0.0))[:, None], slopes, rise + fall)

    def _steps(self, quantities: Sequence[Quantity], values: Array) -> tuple[Array, Array, Array, Array, Array]:
        """Levels (lane, reading), those a step above and below (lane, reading, quantity), and the steps.

        They are shorter at a bound.
        """
        low, high = bounds(quantities)
        step = STEP * np.array([quantity.notable for quantity in quantities])
        up, down = (
            np.where(room < SHORT * step, 0.0, np.minimum(step, room)) for room in (high - values, values - low)
        )
        one = np.eye(len(step))[:, None]
        of_all = np.concatenate([values[None], values + one * up, values - one * down])
        at = self.at_readings(quantities, np.concatenate(of_all), RUNS).reshape(*of_all.shape[:2], -1)
        here, above, below = np.split(np.moveaxis(at, 0, -1), [1, 1 + len(step)], axis=-1)
        return here[..., 0], above, below, up, down
