"""The forecast of a weather station through meteostat's forecast providers: hours made into days.

Both are asked. The first has some stations only, for ten days; the second any place, and hours of two or three days.
Where they have the same hour that of the first counts.
"""

import datetime as dt
import logging
from dataclasses import replace
from importlib.metadata import version
from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np

from waterbudget.change.ahead import days_ahead
from waterbudget.change.known import DAY, Known
from waterbudget.errors import WeatherError
from waterbudget.simulate.fetched import spot_of
from waterbudget.weather.days import Weather
from waterbudget.weather.files import weather_of
from waterbudget.weather.kept import PER_OUR_UNIT
from waterbudget.weather.shelf import NetworkError, opened

if TYPE_CHECKING:
    import pandas as pd

FORECAST_DAYS = 10
ENOUGH_HOURS = 20  # of a day, to tell its sums and extremes
AGENT = "waterbudget/{version} (garden watering)"  # a provider asks for a name


def station_forecast(known: Known, *, cache: Path | None = None) -> tuple[Weather | None, str]:
    """The forecast from the first unknown day on, None where the station has none; and what to tell of it.

    Days are those of UTC. A forecast begins with the hour in which it is asked for: of the days before its first whole
    one, today as a rule, it has at most the rain of the hours to come, and ET0 is the season's normal. A network that
    fails is told and is no error: the normal stands in for all.
    """
    if known.station is None:
        return None, ""
    first = known.last + DAY
    try:
        hours, credit = _hours(known.station, first, cache)
    except (NetworkError, WeatherError) as error:
        return None, f"No forecast: {error}. The season's normal stands in."
    daily, rain_mm = _days(hours, first, known.today + DAY)
    if daily is None:
        return None, f"No forecast: station {known.station} has none. The season's normal stands in."
    source = f"forecast for station {known.station}; data: {credit}"
    weather = weather_of(daily, spot_of(known.path, known.site), source)
    begins = weather.first_day
    if begins == first:
        return weather, ""
    normal = days_ahead(known, None).weather.between(first, begins - DAY)
    to_come = normal.with_readings(rain_mm=np.array(rain_mm.reindex(normal.dates, fill_value=0.0), np.float64))
    told = (
        f"The forecast's whole days begin on {begins}: of the days before them it has only the rain of the hours to "
        "come, and their ET0 is the season's normal."
    )
    return replace(to_come.then(weather), source=source), told


def _hours(station: str, first: dt.date, cache: Path | None) -> "tuple[pd.DataFrame | None, str]":
    import meteostat as ms

    agent_was = ms.config.metno_user_agent
    logging.getLogger("meteostat").addHandler(silence := logging.NullHandler())
    with opened(cache) as shelf:
        shelf.station(station, None)  # finds the list of stations, and refuses an unknown one
        ms.config.include_model_data = True
        ms.config.metno_user_agent = AGENT.format(version=version("waterbudget"))
        try:
            begin = dt.datetime(first.year, first.month, first.day)  # noqa: DTZ001 - the library takes UTC without a zone
            providers = [ms.Provider.DWD_MOSMIX, ms.Provider.METNO_FORECAST]
            series = ms.hourly(station, begin, begin + FORECAST_DAYS * DAY, providers=providers)
            return series.fetch(), series.attribution
        finally:
            ms.config.metno_user_agent = agent_was
            logging.getLogger("meteostat").removeHandler(silence)


def _days(
    hours: "pd.DataFrame | None", first: dt.date, begun_by: dt.date
) -> "tuple[pd.DataFrame | None, pd.Series[float]]":
    """Whole days in a row, in our names and units, and the rain [mm] of all days, whole or not.

    The row begins with the first whole day from a day on; None where there is none by the other.
    """
    import pandas as pd

    nothing = pd.Series(dtype="float64")
    if hours is None or hours.empty or not {"temp", "prcp"} <= set(hours):
        return None, nothing
    numbers = hours.apply(pd.to_numeric, errors="coerce").astype("float64")
    by_day = numbers.groupby(pd.DatetimeIndex(numbers.index).normalize())
    told = by_day.count()
    daily = pd.DataFrame(
        {"rain_mm": by_day["prcp"].sum(), "tmin_c": by_day["temp"].min(), "tmax_c": by_day["temp"].max()}
    )
    for name, column in (("rhum", "rh_mean_pct"), ("wspd", "wind_m_s")):
        if name in numbers:
            daily[column] = by_day[name].mean() / PER_OUR_UNIT.get(column, 1.0)
    whole = (told["prcp"] >= ENOUGH_HOURS) & (told["temp"] >= ENOUGH_HOURS)
    begins = whole[whole].loc[pd.Timestamp(first) : pd.Timestamp(begun_by)].index
    if begins.empty:
        return None, nothing
    days = pd.date_range(begins[0], periods=len(daily), freq="D", name="date")
    in_a_row = whole.reindex(days, fill_value=False).cummin()
    return daily.reindex(days)[in_a_row].dropna(axis="columns"), daily["rain_mm"]
