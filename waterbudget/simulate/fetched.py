"""A site's weather from stations: fetched for it, and found again in the cache when it is run."""

import datetime as dt
import shlex
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from functools import cached_property
from pathlib import Path
from typing import TYPE_CHECKING

from waterbudget.errors import Said, SiteError, WeatherError, plain
from waterbudget.output import cache_folder, write_files
from waterbudget.site.edit import Change
from waterbudget.site.model import Site
from waterbudget.site.write import write_changes
from waterbudget.weather.days import Weather
from waterbudget.weather.place import (
    Closed,
    Measured,
    close_gaps,
    last_summer,
    measured_at,
    notes_of,
    period_of,
    remember_period,
    remembered_period,
    station_weather,
    weather_csv,
)
from waterbudget.weather.shelf import NetworkError, Spot, named
from waterbudget.weather.usual import usual_of

if TYPE_CHECKING:
    import pandas as pd


NOT_FETCHED = "No weather has been fetched yet. Fetch it, or bring in weather from a file."


@dataclass(frozen=True, eq=False)
class Looked:
    """What was found out about the weather of a site's place.

    station: the id that was asked for, None for the nearest. first, last: the days fetched; is_usual_period: whether
    none were named. fill: whether gaps were to be mended. closed: the record with its gaps as they were left. is_kept:
    whether a run finds it in the cache.
    """

    path: Path
    site: Site
    spot: Spot
    station: str | None
    first: dt.date
    last: dt.date
    is_usual_period: bool
    fill: bool
    measured: Measured
    closed: Closed
    is_kept: bool

    @property
    def run_days(self) -> tuple[dt.date, dt.date]:
        """The days that a run takes by itself."""
        return last_summer(self.first, self.last, south=self.site.is_south)

    @property
    def runs_whole(self) -> bool:
        """Whether these are all the days that were fetched."""
        return self.run_days == (self.first, self.last)

    @cached_property
    def run_gaps(self) -> tuple[str, ...]:
        """The gaps that stop a run."""
        return self._closed(_days(self.measured.daily, *self.run_days)).gaps

    @cached_property
    def good_years(self) -> tuple[int, ...]:
        """The calendar years, whole or not, in which no gap is left."""
        daily, years = self.measured.daily, range(self.first.year, self.last.year + 1)
        return tuple(
            year for year in years if not self._closed(_days(daily, dt.date(year, 1, 1), dt.date(year, 12, 31))).gaps
        )

    def weather(self) -> tuple[Weather | None, list[str]]:
        """The weather of all days, None where it has gaps; and what to know about it."""
        notes = notes_of(self.measured, self.closed, self.spot)
        if self.closed.gaps:
            return None, notes
        weather, more = station_weather(self.closed.daily, self.spot, self.measured.fetched)
        return weather, [*notes, *more]

    def _closed(self, daily: "pd.DataFrame") -> Closed:
        return close_gaps(daily, self.measured.fetched.neighbours, fill=self.fill)


def fetch_weather(
    path: Path,
    site: Site,
    first: dt.date | None,
    last: dt.date | None,
    *,
    station: str | None = None,
    fill: bool = False,
    refresh: bool = False,
    progress: Callable[[str], None] | None = None,
) -> Looked:
    """Fetch the weather of a site's place, look at it, and keep it for runs.

    first, last: as for `period_of`. station: an id, by default the site's own, else the nearest. fill: mend gaps, as
    does fill = true in the site. Raises SiteError naming the key that is missing, WeatherError where there is no such
    weather, NetworkError where it cannot be had.
    """
    spot, fill = spot_of(path, site), fill or site.weather.fill
    station = station or site.weather.station
    start, end = period_of(first, last, dt.datetime.now(tz=dt.UTC).date())
    with told_offline(path):
        measured = measured_at(
            spot, start, end, station=station, gauge=_gauge(path, site), refresh=refresh, progress=progress
        )
    return Looked(
        path=path,
        site=site,
        spot=spot,
        station=station,
        first=start,
        last=end,
        is_usual_period=first is last is None,
        fill=fill,
        measured=measured,
        closed=close_gaps(measured.daily, measured.fetched.neighbours, fill=fill),
        is_kept=remember_period(spot, station, start, end),
    )


def write_weather(looked: Looked, out: Path, *, overwrite: bool) -> None:
    """Write the days as a weather file that this site can name.

    Raises WeatherError where gaps are left, OutputError where the file may not or cannot be written.
    """
    if gaps := looked.closed.gaps:
        mend = "add --fill to have gaps mended where that is sound"
        look = "without --out the stations near by are listed, and the years that can be mended"
        raise WeatherError(f"{out}: not written: {line}" for line in (*gaps, look if looked.fill else mend))
    content = weather_csv(looked.closed.daily, looked.spot, looked.measured.fetched, looked.site.wind_height_m)
    write_files({out: content}, overwrite=overwrite)


def write_usual(looked: Looked) -> tuple[Path, ...]:
    """Write the usual temperatures of the days into a site file that has none; it and its copy, if that was done.

    Nothing is written where a month has few readings. Raises SiteError, OutputError where the file cannot be changed.
    """
    months = usual_of(looked.closed.daily)
    if looked.site.usual is not None or months is None:
        return ()
    changes = [Change(("usual", key), values) for key, values in zip(("low_c", "high_c"), months, strict=True)]
    return looked.path, write_changes(looked.path, looked.site, changes)


def cached_weather(
    path: Path, site: Site, first: dt.date | None, last: dt.date | None, *, every_year: bool
) -> tuple[Weather, tuple[str, ...]]:
    """The weather that was fetched for a site, from the cache alone, and what to know about it.

    Where neither first nor last is given: the last whole summer there, or all of it where every_year is True. Raises
    SiteError naming the key that is missing, WeatherError where nothing was fetched, the days are not among those that
    were, or gaps are left in them.
    """
    spot, station = spot_of(path, site), site.weather.station
    key = "weather.station" if station else "weather.nearest"
    period = remembered_period(spot, station)
    command = f"waterbudget weather {shlex.quote(str(path))}"
    if period is None:
        nothing = f"{path}: {key}: nothing has been fetched for it yet; run first: {command}"
        raise WeatherError((Said(nothing, NOT_FETCHED), *offline_ways(path)))
    start, end = _run_days(period, first, last, south=site.is_south, every_year=every_year)
    if start > end:
        raise WeatherError(
            f"{path}: the period starts on {start} and ends before it, on {end}; "
            f"choose days from {period[0]} to {period[1]}"
        )
    if start < period[0] or end > period[1]:
        only = f"of {start} to {end} only {period[0]} to {period[1]} was fetched"
        fetching = f"{command} --from {min(start, period[0])} --to {max(end, period[1])}"
        typed = f"{path}: {key}: {only}; choose days of these, or run first: {fetching}"
        raise WeatherError(Said(typed, f"Weather: {only}."))
    try:
        measured = measured_at(spot, *period, station=station, gauge=_gauge(path, site), offline=True)
    except NetworkError as error:
        lost = f"{path}: {key}: the cache {cache_folder()} has lost some of this weather; run first: {command}"
        raise WeatherError((Said(lost, NOT_FETCHED), *offline_ways(path))) from error
    fetched = measured.fetched
    closed = close_gaps(_days(measured.daily, start, end), fetched.neighbours, fill=site.weather.fill)
    if closed.gaps:
        way_out = (
            f"{command} --fill lists the stations near by, and the years that can be mended"
            if site.weather.fill
            else f"add fill = true to [weather] to have gaps mended where that is sound; {command} --fill shows how"
        )
        filled = Said(way_out, "bring in weather from a file, or let gaps be filled")
        raise WeatherError(Said(f"{path}: {line}", f"{path.name}: {plain(line)}") for line in (*closed.gaps, filled))
    weather, notes = station_weather(closed.daily, spot, fetched)
    which = other = ""
    if (start, end) != period and first is last is None:
        which, other = f", the last whole summer of {period[0]} to {period[1]}", " (other days: --from and --to)"
    of = f"Weather of station {named(fetched.station)}, {start} to {end}{which}"
    told = Said(f"{of}{other}, from the cache.", f"{of}, from the cache.")
    return weather, (told, *notes_of(measured, closed, spot), *notes)


def offline_ways(path: Path) -> tuple[str, ...]:
    """What to do about weather where there is no network, a line each."""
    return (
        Said("Without a network there are three ways on:", "Without a network, bring in weather from a file."),
        *(Said(line, "") for line in _ways_on(path)),
    )


def _ways_on(path: Path) -> tuple[str, ...]:
    in_place = "under [weather], in place of nearest or station"
    usual = "july_high_c, july_low_c, january_high_c and january_low_c"
    return (
        f"  1. Bring in a table that you have: waterbudget weather {shlex.quote(str(path))} --import FILE",
        f'  2. Your own rain gauge, gauge = "gauge.csv" {in_place}, and usual temperatures: [usual] with {usual}',
        f'  3. A file of your own, file = "weather.csv" {in_place}, with a row a day such as:',
        "       date,rain_mm,tmin_c,tmax_c",
        "       2031-05-01,0,8.5,19.2",
        "       2031-05-02,3.5,9.1,16.8",
    )


@contextmanager
def told_offline(path: Path) -> Iterator[None]:
    """Tell what to do about weather where the network fails."""
    try:
        yield
    except NetworkError as error:
        raise NetworkError("\n".join((str(error), *offline_ways(path)))) from error


def spot_of(path: Path, site: Site) -> Spot:
    """Where the site lies, for stations. Raises SiteError naming each key that is missing."""
    example = {
        "latitude_deg": "53.1 (degrees north, south negative)",
        "longitude_deg": "-1.9 (degrees east, west negative)",
    }
    missing = [key for key in example if getattr(site, key) is None]
    if site.latitude_deg is None or site.longitude_deg is None:
        raise SiteError(
            Said(
                f"{path}: site.{key}: is missing; add {key} = {example[key]} to find weather stations",
                f"The garden's {key.removesuffix('_deg')} is missing, so no weather station can be found.",
            )
            for key in missing
        )
    spot = Spot(site.latitude_deg, site.longitude_deg, site.elevation_m)
    # The default height is that of readings in a file.
    given = "wind_height_m" in site.weather.model_fields_set
    return spot._replace(wind_height_m=site.wind_height_m) if given else spot


def _gauge(path: Path, site: Site) -> Path | None:
    return None if site.weather.gauge is None else path.parent / site.weather.gauge


def _days(daily: "pd.DataFrame", first: dt.date, last: dt.date) -> "pd.DataFrame":
    import pandas as pd

    return daily.loc[pd.Timestamp(first) : pd.Timestamp(last)]


def _run_days(
    period: tuple[dt.date, dt.date], first: dt.date | None, last: dt.date | None, *, south: bool, every_year: bool
) -> tuple[dt.date, dt.date]:
    if first is None and last is None and not every_year:
        return last_summer(*period, south=south)
    return first or period[0], last or period[1]
