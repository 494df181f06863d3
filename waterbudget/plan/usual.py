"""The usual summers of a garden: its recorded years from the first to the last day on which a zone waters anything."""

import datetime as dt
from itertools import pairwise
from typing import NamedTuple

import numpy as np

from waterbudget.errors import SiteError, WeatherError
from waterbudget.schedule.calendar import Dates, Days, in_season
from waterbudget.schedule.season import Season, season_of
from waterbudget.schedule.sky import Sky
from waterbudget.simulate.run import sky_of_years
from waterbudget.site.dates import day_of_year
from waterbudget.site.model import Bed, MonthDay, Site, Zone
from waterbudget.units import WEEK_DAYS, Array
from waterbudget.weather.days import Weather
from waterbudget.weather.years import YEAR_DAYS, Years, recorded_years

NEW_YEAR, NEW_YEARS_EVE = MonthDay(1, 1), MonthDay(12, 31)
LEAP_DAY = (2, 29)
NOTHING = "no zone waters a bed in which anything grows; add zone = … and a planting to a bed, and look at the seasons"


class Part(NamedTuple):
    """A month of the season: its number and its days, counted from the first of all."""

    month: int
    days: slice


class Usual(NamedTuple):
    """A garden's season in each recorded year, as lanes.

    site: with every planting on the same days of every year. labels: the years. season, sky: of the days, (day, item,
    lane). parts: its months.
    """

    site: Site
    labels: tuple[str, ...]
    season: Season
    sky: Sky
    parts: tuple[Part, ...]

    @property
    def years(self) -> int:
        """How many there are."""
        return len(self.labels)


def usual_summers(site: Site, weather: Weather) -> Usual:
    """The season of a site in every year of its weather that has all of it; else in the days that there are.

    Raises SiteError where no zone waters anything that grows.
    """
    site = every_year(site)
    first, last = _watered(site, weather.date_column)
    years = _years(weather, first, last)
    season, sky = season_of(site, years.dates), sky_of_years(site, years)
    return Usual(site, years.label, season, sky, tuple(_parts(years.dates)))


def every_year(site: Site) -> Site:
    """The site with every planting on the same days of every year; of those that stand but once, the last year's."""
    once = [one.planted.year for bed in site.bed for one in bed.planting if isinstance(one.planted, dt.date)]
    return site.model_copy(update={"bed": [_every_year(bed, max(once, default=0)) for bed in site.bed]})


def _every_year(bed: Bed, year: int) -> Bed:
    plantings = []
    for one in bed.planting:
        if isinstance(one.planted, MonthDay):
            plantings.append(one)
        elif one.planted.year == year:
            is_leap_day = (one.planted.month, one.planted.day) == LEAP_DAY
            day = MonthDay(one.planted.month, one.planted.day - is_leap_day)
            plantings.append(one.model_copy(update={"planted": day}))
    return bed.model_copy(update={"planting": plantings})


def _watered(site: Site, dates: Dates) -> tuple[int, int]:
    """First and last day of a year, 0 for 1 January, between which a zone waters something that grows.

    They lie on both sides of the longest time without; dates: of the weather, (day, 1).
    """
    planted = season_of(site, dates).planted[:, :, 0]
    month_day = Days.of(dates).month_day[:, 0]
    waters = np.zeros(len(dates), dtype=np.bool_)
    for zone in site.zone:
        own = [column for column, bed in enumerate(site.bed) if bed.zone == zone.name]
        waters |= planted[:, own].any(axis=1) & in_season(month_day, *season_ends(zone))
    days = np.unique(day_of_year(dates[:, 0])[waters])
    if not len(days):
        raise SiteError(NOTHING)
    gaps = np.diff([*days, days[0] + YEAR_DAYS])
    before = int(np.argmax(gaps))
    return int(days[(before + 1) % len(days)]), int(days[before])


def season_ends(zone: Zone) -> tuple[int, int]:
    """First and last day of a zone's season, month times 100 plus day."""
    first, last = zone.season_from or NEW_YEAR, zone.season_to or NEW_YEARS_EVE
    return first.month * 100 + first.day, last.month * 100 + last.day


def _years(weather: Weather, first: int, last: int) -> Years:
    """Every year that has all of the season, else the days of it that there are."""
    try:
        return recorded_years(weather, _month_day(first), _month_day(last))
    except WeatherError:
        number = day_of_year(weather.date_column[:, 0])
        inside = (number - first) % YEAR_DAYS <= (last - first) % YEAR_DAYS
        held = weather.days[inside]
        until = int(np.argmax([*(np.diff(held) > np.timedelta64(1, "D")), True])) + 1  # where the first year ends
        season = {name: values[inside][:until, None] for name, values in weather.readings.items()}
        return Years(
            label=(str(held[0])[:4],),
            dates=held[:until, None],
            rain_mm=season["rain_mm"],
            tmin_c=None,
            tmax_c=season.get("tmax_c"),
            et0_mm=season["et0_mm"],
            method="recorded",
            years_behind=1,
            note="",
        )


def _month_day(number: int) -> str:
    return str(np.datetime64("2001-01-01") + number)[5:]


def _parts(dates: Dates) -> list[Part]:
    """The months of a season, by its first year."""
    months = dates[:, 0].astype("M8[M]").astype(np.int64)
    edges = [0, *(np.flatnonzero(np.diff(months)) + 1).tolist(), len(months)]
    return [Part(int(months[a]) % 12 + 1, slice(a, b)) for a, b in pairwise(edges)]


def hottest_week_mm(et0_mm: Array) -> float:
    """Mean ET0 of the week of each year that takes most, over the years [mm/day]; et0_mm: (day, lane)."""
    days = min(WEEK_DAYS, len(et0_mm))
    sums = np.cumsum(np.concatenate([np.zeros((1, et0_mm.shape[1])), et0_mm]), axis=0)
    return float(((sums[days:] - sums[:-days]) / days).max(axis=0).mean())
