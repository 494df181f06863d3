"""The days between the first logged level and the last, run again for many values of a garden's numbers at once."""

import datetime as dt
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace

import numpy as np

from waterbudget.journal.diary import Diary, done_of
from waterbudget.journal.quantities import Quantity, bounds, with_values
from waterbudget.journal.readings import Readings
from waterbudget.schedule.done import Done
from waterbudget.schedule.garden import Garden, garden_of
from waterbudget.schedule.season import Season, season_of
from waterbudget.simulate.days import Day, Sky, days
from waterbudget.simulate.onward import counted_from, depleted_on
from waterbudget.simulate.run import sky_of
from waterbudget.site.model import Site
from waterbudget.units import Array, IntArray
from waterbudget.weather.files import Weather

RUN_UP_DAYS = 365  # before the first reading, to know how dry the beds are
STEP = 0.2  # of a notable change, either way
SHORT = 1e-3  # of a step: so near a bound there is none that way
JUMP = 3.0  # times the change the other way


@dataclass(frozen=True)
class Replay:
    """The days after the first reading up to the last, with the beds as dry as they were by then.

    done: what was logged of these days, which goes before the plan; the run of a zone takes the flow of its scenario.
    rows, tanks: day (0 is that of the first reading) and tank of each reading; measured_l and weight, the same length.
    A reading weighs by its share of the store, as a dip stick errs by depth.
    """

    garden: Garden
    season: Season
    sky: Sky
    done: Done
    rows: IntArray
    tanks: IntArray
    measured_l: Array
    weight: Array

    @classmethod
    def of(cls, site: Site, weather: Weather, readings: Readings, diary: Diary) -> "Replay":
        """The days of some readings; up to a year before them is run, with what was logged of it, to know the beds."""
        first, last = readings.first_day, readings.last_day
        weather = weather.between(max(weather.dates[0].date(), first - dt.timedelta(RUN_UP_DAYS)), last)
        dates = weather.date_column
        season, sky, garden = season_of(site, dates), sky_of(site, weather), counted_from(garden_of(site), dates[0, 0])
        done = done_of(site, diary, weather.dates[0].date(), last)
        begin = int((np.datetime64(first) - dates[0, 0]).astype(int)) + 1
        *_, eve = days(garden, season.of(slice(begin)), sky.of(slice(begin)), done)
        column = {tank.name: number for number, tank in enumerate(site.tank)}
        places = [
            ((day - first).days, column[tank], litres)
            for tank, levels in readings.level_l.items()
            for day, litres in levels.items()
        ]
        rows, tanks, measured_l = (np.array(part) for part in zip(*places, strict=True))
        rest = slice(begin, None)
        return cls(
            garden=_going_on(garden, season, begin, eve) if begin < len(dates) else garden,
            season=season.of(rest),
            sky=sky.of(rest),
            done=Done(done.minutes[rest], done.poured_l[rest]),
            rows=rows,
            tanks=tanks,
            measured_l=measured_l.astype(np.float64),
            weight=1.0 / garden.tanks.capacity_l[0, tanks],
        )

    def days(self, quantities: Sequence[Quantity], values: Array) -> Iterator[Day]:
        """The days with a scenario for each row of values (scenario, quantity)."""
        return days(with_values(self.garden, quantities, values), self.season, self.sky, self.done)

    def levels(self, quantities: Sequence[Quantity], values: Array) -> Array:
        """Level of every evening [L], (day, scenario, tank), that of the first reading's day before all others."""
        start_l = with_values(self.garden, quantities, values).tanks.start_l
        return np.stack([start_l, *(day.tanks.level_l for day in self.days(quantities, values))])

    def at_readings(self, quantities: Sequence[Quantity], values: Array) -> Array:
        """Level at each reading [L], (reading, scenario)."""
        return self.levels(quantities, values)[self.rows, :, self.tanks]

    def closest(self, quantities: Sequence[Quantity], guesses: Array) -> Array:
        """The guess (scenario, quantity) whose levels come closest to the readings."""
        misses = (self.at_readings(quantities, guesses) - self.measured_l[:, None]) * self.weight[:, None]
        best: Array = guesses[np.argmin((misses**2).sum(axis=0))]
        return best

    def slopes(self, quantities: Sequence[Quantity], values: Array) -> tuple[Array, Array]:
        """Level at each reading [L], and its change with each quantity (reading, quantity), of one run.

        The steps are not small, as the model has kinks and jumps; where it has none it is as good as straight.
        """
        here, above, below, up, down = self._steps(quantities, values)
        return here, (above - below) / (up + down)

    def gentle_slopes(self, quantities: Sequence[Quantity], values: Array) -> tuple[Array, Array]:
        """The same, but where a step one way changes levels far more: that of the other way, as a jump is no slope."""
        here, above, below, up, down = self._steps(quantities, values)
        rise = (above - here[:, None]) / np.where(up > 0.0, up, np.inf)
        fall = (here[:, None] - below) / np.where(down > 0.0, down, np.inf)
        size_up, size_down = np.linalg.norm(rise, axis=0), np.linalg.norm(fall, axis=0)
        slopes = np.where(size_up > JUMP * size_down, fall, (above - below) / (up + down))
        slopes = np.where(size_down > JUMP * size_up, rise, slopes)
        return here, np.where((up > 0.0) & (down > 0.0), slopes, rise + fall)

    def _steps(self, quantities: Sequence[Quantity], values: Array) -> tuple[Array, Array, Array, Array, Array]:
        """Levels (reading,), those a step above and below (reading, quantity), and the steps, shorter at a bound."""
        low, high = bounds(quantities)
        step = STEP * np.array([quantity.notable for quantity in quantities])
        up, down = (
            np.where(room < SHORT * step, 0.0, np.minimum(step, room)) for room in (high - values, values - low)
        )
        at = self.at_readings(quantities, np.concatenate([values[None], values + np.diag(up), values - np.diag(down)]))
        here, above, below = np.split(at, [1, 1 + len(values)], axis=1)
        return here[:, 0], above, below, up, down


def _going_on(garden: Garden, season: Season, begin: int, eve: Day) -> Garden:
    """The garden on the morning after: levels and beds as the evening left them; roots and crop may be new."""
    return replace(
        garden,
        tanks=replace(garden.tanks, start_l=eve.tanks.level_l),
        beds=replace(garden.beds, start_depleted=depleted_on(garden, season, begin, eve.beds)),
    )
