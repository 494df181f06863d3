"""The forecast of a weather station through meteostat's forecast providers: hours made into days."""

import datetime as dt
import logging
from importlib.metadata import version
from pathlib import Path
from typing import TYPE_CHECKING

from waterbudget.change.known import DAY, Known
from waterbudget.errors import WeatherError
from waterbudget.simulate.fetched import spot_of
from waterbudget.weather.files import Weather, weather_of
from waterbudget.weather.shelf import PER_OUR_UNIT, NetworkError, opened

if TYPE_CHECKING:
    import pandas as pd

FORECAST_DAYS = 10
ENOUGH_HOURS = 20  # of a day, to tell its sums and extremes
AGENT = "waterbudget/{version} (garden watering; one request a day)"  # a provider asks for a name


def station_forecast(known: Known, *, cache: Path | None = None) -> tuple[Weather | None, str]:
    """The forecast from the first unknown day on, None where the station has none; and what to tell of it.

    Days are those of UTC. A network that fails is told and is no error: the season's normal stands in.
    """
    if known.station is None:
        return None, ""
    try:
        hours, credit = _hours(known.station, known.last + DAY, cache)
    except (NetworkError, WeatherError) as error:
        return None, f"No forecast: {error}. The season's normal stands in."
    daily = _days(hours, known.last + DAY)
    if daily is None:
        return None, f"No forecast: station {known.station} has none. The season's normal stands in."
    weather = weather_of(
        daily, spot_of(known.path, known.site), f"forecast for station {known.station}; data: {credit}"
    )
    return weather, ""


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


def _days(hours: "pd.DataFrame | None", first: dt.date) -> "pd.DataFrame | None":
    """Whole days in a row from the first on, in our names and units; None where not even that is whole."""
    import pandas as pd

    if hours is None or hours.empty or not {"temp", "prcp"} <= set(hours):
        return None
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
    days = pd.date_range(first, periods=len(daily), freq="D", name="date")
    in_a_row = whole.reindex(days, fill_value=False).cummin()
    daily = daily.reindex(days)[in_a_row].dropna(axis="columns")
    return daily if len(daily) else None
