"""The days ahead: a forecast where there is one, after it the season's normal, and no rain but what is forecast."""

import datetime as dt
from dataclasses import dataclass, replace
from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np

from waterbudget.change.known import DAY, Known
from waterbudget.errors import WeatherError
from waterbudget.units import WEEK_DAYS
from waterbudget.weather.et0 import Et0
from waterbudget.weather.files import Weather, read_daily, weather_of

if TYPE_CHECKING:
    import pandas as pd

AHEAD_DAYS = 120
NORMAL_DAYS = 7  # either side of a calendar day
LAST_DAYS = 14
YEAR_DAYS = 365.25


@dataclass(frozen=True, eq=False)
class Ahead:
    """Weather from the day after the known to AHEAD_DAYS after today.

    forecast: how many of these days, the first ones, are forecast; source: where the forecast comes from, "" for none.
    normal: what the other days' ET0 is, in words. usual_rain_mm: of a week at this time of the year, None where no
    other year is known.
    """

    weather: Weather
    forecast: int
    source: str
    normal: str
    usual_rain_mm: float | None


def read_forecast(path: Path, known: Known) -> Weather:
    """The forecast of a file, a weather file of later days, from the first unknown day on.

    Raises WeatherError where the file is at fault, or its days do not go on from the known ones.
    """
    forecast = weather_of(read_daily(path), known.site, path.name)
    first, last = forecast.dates[0].date(), forecast.dates[-1].date()
    if first > known.last + DAY or last < known.today:
        raise WeatherError(
            f"{path.name}: has {first} to {last}; write the days from {known.last + DAY} to {known.today} or later"
        )
    return forecast.between(known.last + DAY, None)


def days_ahead(known: Known, forecast: Weather | None) -> Ahead:
    """The days ahead. forecast: from the first unknown day on, None where there is none."""
    import pandas as pd

    days = pd.date_range(known.last + DAY, known.today + AHEAD_DAYS * DAY, freq="D", name="date")
    daily, normal, usual_rain_mm = _normal(known.weather.daily, days)
    count = 0
    if forecast is not None:
        count = min(len(forecast.daily), len(days))
        for name in daily:
            if name in forecast.daily:
                daily.loc[days[:count], name] = forecast.daily[name].to_numpy()[:count]
    source = "" if forecast is None else forecast.source
    return Ahead(Weather(daily, Et0(normal, (), ""), source), count, source, normal, usual_rain_mm)


def dry_from(ahead: Ahead, today: dt.date) -> Weather:
    """The same days without any rain from today on."""
    import pandas as pd

    rain_mm = ahead.weather.daily["rain_mm"].where(ahead.weather.dates < pd.Timestamp(today), 0.0)
    return replace(ahead.weather, daily=ahead.weather.daily.assign(rain_mm=rain_mm))


def _normal(known: "pd.DataFrame", days: "pd.DatetimeIndex") -> "tuple[pd.DataFrame, str, float | None]":
    """Dry days with the ET0 and the highest temperature that are usual, how these were found, and the usual rain.

    Usual is the mean of the same calendar days, a week either side, in all years before; without a year before, of the
    last two weeks.
    """
    import pandas as pd

    names = [name for name in ("et0_mm", "tmax_c") if name in known]
    apart = (days.to_numpy()[:, np.newaxis] - known.index.to_numpy()) / np.timedelta64(1, "D")
    round_the_year = apart % YEAR_DAYS
    near = (np.minimum(round_the_year, YEAR_DAYS - round_the_year) <= NORMAL_DAYS) & (apart > YEAR_DAYS / 2.0)
    if not near.any(axis=1).all():
        recent = known.iloc[-LAST_DAYS:]
        daily = pd.DataFrame({"rain_mm": 0.0} | {name: recent[name].mean() for name in names}, index=days)
        return daily, f"the mean of the last {len(recent)} known days, as no other year is known", None
    weight = near / near.sum(axis=1, keepdims=True)
    daily = pd.DataFrame({"rain_mm": 0.0} | {name: weight @ known[name].to_numpy() for name in names}, index=days)
    years = len(set(pd.DatetimeIndex(known.index[near[:WEEK_DAYS].any(axis=0)]).year))
    usual_mm = float((weight[:WEEK_DAYS] @ known["rain_mm"].to_numpy()).sum())
    return daily, f"the mean of these days in {years} year{'' if years == 1 else 's'} before", usual_mm
