"""Run one garden through its weather."""

from collections.abc import Mapping
from dataclasses import replace
from pathlib import Path

from waterbudget.errors import InputError, WeatherError, shown
from waterbudget.schedule.built import garden_of
from waterbudget.schedule.garden import Garden
from waterbudget.schedule.season import season_of
from waterbudget.schedule.sky import Sky
from waterbudget.simulate.drive import drive
from waterbudget.simulate.opened import Opened, open_site
from waterbudget.simulate.result import DAILY, SUMMARY, Result, summary_of
from waterbudget.site.model import Site
from waterbudget.tables.read import named
from waterbudget.units import Array
from waterbudget.weather.days import Weather
from waterbudget.weather.years import Years


def run(
    garden: Site | Opened | str | Path,
    weather: Weather | None = None,
    *,
    start_l: Mapping[str, float] | None = None,
    daily: bool = True,
) -> Result:
    """Run a garden through every day of the weather.

    garden: a site, or a site file that was opened or is to be. weather: by default what the site file names. start_l:
    litres in a tank on the first day, by the tank's name, instead of the site's. daily: keep a table of every day;
    without it the memory used does not grow with the days.
    Raises InputError where a tank is unknown or cannot hold its start, or a site comes without weather; WeatherError
    where hot days cannot be told.
    """
    site, weather = _with_weather(garden, weather)
    built = garden_of(site)
    if start_l:
        built = started(built, start_l)
    keep = replace(SUMMARY, each=DAILY) if daily else SUMMARY
    state, kept = drive(built, season_of(site, weather.date_column), sky_of(site, weather), keep=keep)
    each = {name: pages[..., 0] for name, pages in kept.each.items()}
    return Result(site, weather, built.names, each, summary_of(built, state, kept, weather.days))


def _with_weather(garden: Site | Opened | str | Path, weather: Weather | None) -> tuple[Site, Weather]:
    if isinstance(garden, Site):
        if weather is None:
            raise InputError("weather is missing; give it after the site, or the path of the site file in their place")
        return garden, weather
    opened = garden if isinstance(garden, Opened) else open_site(garden)
    return opened.site, weather or opened.weather


def sky_of(site: Site, weather: Weather) -> Sky:
    """The weather as arrays (day, 1). Raises WeatherError where a zone knows hot days and the weather no tmax_c."""
    readings = weather.readings
    _refuse_unknown_heat(site, f"{weather.source}: ", is_known="tmax_c" in readings)
    return Sky(
        readings["rain_mm"][:, None],
        readings["et0_mm"][:, None],
        readings["tmax_c"][:, None] if "tmax_c" in readings else None,
        None if weather.rain_before_mm is None else weather.rain_before_mm[:, None],
    )


def sky_of_years(site: Site, years: Years) -> Sky:
    """The weather of many years as arrays (day, year).

    Raises WeatherError where they lack the ET0 or, for hot days, the tmax_c.
    """
    _refuse_unknown_heat(site, "", is_known=years.tmax_c is not None)
    return Sky(years.rain_mm, et0_of(years), years.tmax_c)


def et0_of(years: Years) -> Array:
    """ET0 of many years [mm], (day, year). Raises WeatherError where they have none."""
    if years.et0_mm is None:
        raise WeatherError("the years have no et0_mm; take them from recorded_summers or drawn_summers")
    return years.et0_mm


def _refuse_unknown_heat(site: Site, source: str, *, is_known: bool) -> None:
    for number, zone in enumerate(site.zone, 1):
        if zone.hot_above_c is not None and not is_known:
            raise WeatherError(f"{source}zone[{number}].hot_above_c needs a tmax_c column; add one to the weather")


def started(garden: Garden, start_l: Mapping[str, float]) -> Garden:
    """The garden with other litres in some tanks on the first day.

    start_l: by the tank's name, or a beginning of it that no other has. Raises InputError where a tank is unknown or
    cannot hold them.
    """
    levels = garden.tanks.start_l.copy()
    tanks = garden.names.tanks
    for word, litres in start_l.items():
        name = named(word, tanks, "tank")
        tank = tanks.index(name)
        capacity_l = garden.tanks.capacity_l[tank, 0]
        if not 0.0 <= litres <= capacity_l:
            raise InputError(f"start level of {shown(name)} is {litres:g} L; write 0 to {capacity_l:g}, its capacity")
        levels[tank, 0] = litres
    return garden.changed(tanks={"start_l": levels})
