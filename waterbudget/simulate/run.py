"""Run one garden through its weather."""

from collections.abc import Mapping
from dataclasses import replace

import numpy as np

from waterbudget.errors import InputError, WeatherError, shown
from waterbudget.schedule.garden import Garden, garden_of
from waterbudget.schedule.season import season_of
from waterbudget.simulate.days import Sky, days
from waterbudget.simulate.hands import Hands
from waterbudget.simulate.result import COLUMNS, Result, Tables, summary_of
from waterbudget.simulate.totals import add_up
from waterbudget.site.model import Site
from waterbudget.units import Array
from waterbudget.weather.files import Weather
from waterbudget.weather.years import Years


def run(site: Site, weather: Weather, *, start_l: Mapping[str, float] | None = None, daily: bool = True) -> Result:
    """Run a garden through every day of the weather.

    start_l: litres in a tank on the first day, by the tank's name, instead of the site's. daily: keep a table of
    every day; without it the memory used does not grow with the days.
    Raises InputError where a tank is unknown or cannot hold its start, WeatherError where hot days cannot be told.
    """
    garden = garden_of(site)
    if start_l:
        garden = started(garden, start_l)
    dates = weather.date_column
    hands, tables = Hands(site, garden), Tables()
    passing = hands.watch(days(garden, season_of(site, dates), sky_of(site, weather)))
    totals = add_up(garden, tables.watch(passing) if daily else passing)
    frames = {kind: tables.frame(kind, garden, weather.dates) for kind in COLUMNS}
    return Result(
        site=site,
        weather=weather,
        roofs=frames["roofs"],
        tanks=frames["tanks"],
        zones=frames["outlets"],
        beds=frames["beds"],
        summary=summary_of(garden, totals, weather.dates) | {"work_minutes_per_week": float(hands.week_minutes[0])},
    )


def sky_of(site: Site, weather: Weather) -> Sky:
    """The weather as arrays (day, 1). Raises WeatherError where a zone knows hot days and the weather no tmax_c."""
    daily = weather.daily
    _refuse_unknown_heat(site, f"{weather.source}: ", is_known="tmax_c" in daily)
    return Sky(
        daily["rain_mm"].to_numpy(np.float64)[:, None],
        daily["et0_mm"].to_numpy(np.float64)[:, None],
        daily["tmax_c"].to_numpy(np.float64)[:, None] if "tmax_c" in daily else None,
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

    Raises InputError where a tank is unknown or cannot hold them.
    """
    tanks = garden.tanks
    levels = tanks.start_l.copy()
    for name, litres in start_l.items():
        if name not in tanks.name:
            known = ", ".join(f'"{tank}"' for tank in tanks.name)
            raise InputError(f"start level: {shown(name)} is no tank; there is {known}")
        column = tanks.name.index(name)
        capacity_l = tanks.capacity_l[0, column]
        if not 0.0 <= litres <= capacity_l:
            raise InputError(f"start level of {shown(name)} is {litres:g} L; write 0 to {capacity_l:g}, its capacity")
        levels[0, column] = litres
    return replace(garden, tanks=replace(tanks, start_l=levels))
