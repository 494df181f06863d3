"""The days that sizes are tried on, cut into years: a record as it was, or drawn years one after the other."""

from dataclasses import dataclass
from itertools import pairwise
from typing import TYPE_CHECKING

import numpy as np

from waterbudget.schedule.calendar import Dates
from waterbudget.schedule.season import Season, season_of
from waterbudget.schedule.sky import Sky
from waterbudget.simulate.run import sky_of, sky_of_years
from waterbudget.site.model import Site
from waterbudget.units import Array, IntArray
from waterbudget.weather.days import Weather
from waterbudget.weather.years import Years

if TYPE_CHECKING:
    from numpy.typing import NDArray

NOT_COUNTED = -1
STRING_YEARS = 10  # drawn years that follow each other before another string begins with the first day's level
MONTHS = 12
NEW_YEAR_MONTHS = {False: 0, True: 6}  # by whether it lies in the south, where the calendar year cuts a summer in two


@dataclass(frozen=True, eq=False)
class Stretch:
    """Days to try sizes on, in strings that run side by side; a year carries on from the one before in its string.

    sky: weather, (day, string). season: what grows, (day, bed, 1). year: the number of each day's year in its string,
    NOT_COUNTED for days that only carry the water into the first whole year or lie behind the last, (day,).
    strings: how many there are. names: of the counted years, string after string. whole: whether they are whole years.
    begins: first day of the first one.
    """

    sky: Sky
    season: Season
    year: IntArray
    strings: int
    names: tuple[str, ...]
    whole: bool
    begins: np.datetime64

    @property
    def in_a_row(self) -> list[tuple[int, slice]]:
        """The number and the days of each year of a string, in their order, with those that do not count."""
        turns = [0, *(np.flatnonzero(np.diff(self.year)) + 1).tolist(), len(self.year)]
        return [(int(self.year[first]), slice(first, last)) for first, last in pairwise(turns)]

    @property
    def year_days(self) -> IntArray:
        """Days of each year of a string, (year,)."""
        return np.bincount(self.year[self.year != NOT_COUNTED])

    @property
    def days_before(self) -> int:
        """Days that are run before the first one that counts."""
        return int(np.argmax(self.year != NOT_COUNTED))

    @property
    def rain_mm(self) -> float:
        """Mean rain of a counted year [mm]."""
        return float(self.of_years(self.sky.rain_mm).mean())

    def of_years(self, daily: Array) -> Array:
        """Sums of something daily, (day, string), over each counted year, (counted year,)."""
        counted = self.year != NOT_COUNTED
        summed = np.zeros((len(self.year_days), self.strings))
        np.add.at(summed, self.year[counted], daily[counted])
        return summed.T.ravel()[: len(self.names)]

    def of_strings(self, some: slice, lanes: int) -> Sky:
        """The weather of some strings, each repeated for its lanes, (day, string x lane); one string serves all."""
        if self.strings == 1:
            return self.sky

        return self.sky.each(lambda readings: np.repeat(readings[:, some], lanes, axis=1))


def recorded_stretch(site: Site, weather: Weather) -> Stretch:
    """The weather's days as they were, in one string.

    Whole calendar years count where there are any (in the south those from July to June), else the days that each
    year has. Raises WeatherError where a zone knows hot days and the weather no tmax_c.
    """
    sky = sky_of(site, weather)
    dates = weather.days
    number = _year_number(dates, site)
    first = int(number[0])
    turns = [_new_year(year, site) for year in range(first, int(number[-1]) + 2)]
    whole = [dates[0] <= begin and end <= dates[-1] + 1 for begin, end in pairwise(turns)]
    counted = [year for year, is_whole in enumerate(whole, first) if is_whole or not any(whole)]
    place = np.full(len(whole), NOT_COUNTED)
    place[np.array(counted) - first] = np.arange(len(counted))
    return Stretch(
        sky=sky,
        season=season_of(site, dates[:, None]),
        year=place[number - first],
        strings=1,
        names=tuple(_name(year, site) for year in counted),
        whole=any(whole),
        begins=max(dates[0], turns[counted[0] - first]),
    )


def drawn_stretch(site: Site, years: Years) -> Stretch:
    """Drawn years in strings of ten, one after the other and all of them whole.

    years: of 365 days. Raises WeatherError where the years lack the ET0 or, for hot days, the tmax_c.
    """
    sky = sky_of_years(site, years)
    days, count = years.rain_mm.shape
    in_string = min(STRING_YEARS, count)
    strings = -(-count // in_string)

    def in_strings(readings: Array) -> Array:
        # The last string is filled up with its neighbours' years, which do not count.
        order = np.arange(strings * in_string) % count
        return readings[:, order].T.reshape(strings, in_string * days).T

    dates = _dates_in_a_row(years.dates[0, 0], in_string, days)
    return Stretch(
        sky=sky.each(in_strings),
        season=season_of(site, dates[:, None]),
        year=np.repeat(np.arange(in_string), days),
        strings=strings,
        names=years.label,
        whole=True,
        begins=dates[0],
    )


def _year_number(dates: "NDArray[np.datetime64]", site: Site) -> IntArray:
    months: IntArray = dates.astype("M8[M]").astype(np.int64) - NEW_YEAR_MONTHS[site.is_south]
    return months // MONTHS


def _new_year(number: int, site: Site) -> np.datetime64:
    day: np.datetime64 = np.datetime64(number * MONTHS + NEW_YEAR_MONTHS[site.is_south], "M").astype("M8[D]")
    return day


def _name(number: int, site: Site) -> str:
    year = 1970 + number
    return f"{year}-{(year + 1) % 100:02d}" if site.is_south else str(year)


def _dates_in_a_row(first: np.datetime64, years: int, days: int) -> Dates:
    """Days of so many years, one after the other without their 29 Februaries."""
    dates: Dates = first + np.arange((days + 1) * years)
    leap = np.char.endswith(dates.astype(str), "-02-29")
    return dates[~leap][: days * years]
