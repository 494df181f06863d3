"""The weather that is known on a day: a site's file, or its station fetched up to yesterday."""

import datetime as dt
from collections.abc import Callable
from dataclasses import dataclass, replace
from pathlib import Path

from waterbudget.errors import WeatherError
from waterbudget.simulate.fetched import spot_of, told_offline
from waterbudget.simulate.opened import open_site, unwatered
from waterbudget.site.model import Site
from waterbudget.site.read import load_site
from waterbudget.weather.files import Weather
from waterbudget.weather.place import close_gaps, measured_at, notes_of, station_weather

RUN_UP_DAYS = 150  # before today, to know how dry the beds are
BRIDGED_DAYS = 7  # of weather that is not known yet
DAY = dt.timedelta(days=1)


@dataclass(frozen=True, eq=False)
class Known:
    """A site, and its weather of the days before today. bridged: days between its last one and today.

    station: id of the station that the weather is of, None for a file.
    """

    path: Path
    site: Site
    weather: Weather
    today: dt.date
    station: str | None
    notes: tuple[str, ...]

    @property
    def last(self) -> dt.date:
        """The last day whose weather is known."""
        last: dt.date = self.weather.dates[-1].date()
        return last

    @property
    def bridged(self) -> int:
        """Days before today whose weather is not known yet."""
        return (self.today - self.last).days - 1


def known_on(
    path: Path | None, on: dt.date | None, now: dt.date, *, progress: Callable[[str], None] | None = None
) -> Known:
    """A site and its weather before a day.

    on: the day that is asked about, None for today (now) or, where a weather file does not reach it, for the day after
    its last. progress: told of each download. Raises InputError where there is no such weather.
    """
    site = None if path is None else load_site(path)
    if path is not None and site is not None and _is_of_station(site):
        return _of_station(path, site, on or now, now, progress)
    opened = open_site(path, every_year=True)
    first, last = opened.weather.dates[0].date(), opened.weather.dates[-1].date()
    notes = [*opened.notes]
    today = on or now
    if not first < today <= last + DAY * (1 + BRIDGED_DAYS):
        if on is not None:
            raise WeatherError(
                f"--on: {on} is out of reach of {opened.weather.source}, which has {first} to {last}; "
                f"choose a day from {first + DAY} to {last + DAY}, or add the days since"
            )
        today = last + DAY
        notes.append(f"The weather ends on {last}, so this is told for the day after (another: --on DATE).")
    known = opened.weather.between(None, min(last, today - DAY))
    return Known(opened.path, opened.site, known, today, None, tuple(notes))


def _is_of_station(site: Site) -> bool:
    return site.weather.file is None and (site.weather.station is not None or site.weather.nearest)


def _of_station(path: Path, site: Site, today: dt.date, now: dt.date, progress: Callable[[str], None] | None) -> Known:
    if today > now:
        raise WeatherError(f"--on: {today} lies in the future, today is {now}; choose a day of which weather is known")
    spot = spot_of(path, site)
    gauge = None if site.weather.gauge is None else path.parent / site.weather.gauge
    first, last = today - RUN_UP_DAYS * DAY, today - DAY
    with told_offline(path):
        measured = measured_at(spot, first, last, station=site.weather.station, gauge=gauge, progress=progress)
    neighbours = measured.fetched.neighbours
    for late in range(BRIDGED_DAYS + 1):  # the last readings come in late
        closed = close_gaps(
            measured.daily.iloc[: len(measured.daily) - late], neighbours, fill=late > 0 or site.weather.fill
        )
        if not closed.gaps:
            weather, more = station_weather(closed.daily, spot, measured.fetched)
            notes = (*unwatered(site), *notes_of(measured, closed, spot), *more)
            return Known(path, site, weather, today, measured.fetched.station.id, notes)
    raise WeatherError(f"{path}: {line}" for line in (*closed.gaps, "give a weather file, or add fill = true"))


def with_days(weather: Weather, ahead: Weather) -> Weather:
    """The weather with days that follow it; of the columns those that both have."""
    import pandas as pd

    shared = [name for name in weather.daily if name in ahead.daily]
    daily = pd.concat([weather.daily[shared], ahead.daily[shared]])
    daily.index = pd.DatetimeIndex(daily.index, freq="D", name="date")
    return replace(weather, daily=daily)
