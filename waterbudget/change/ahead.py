"""The days ahead: a forecast where there is one, after it the season's normal dry days, as no rain is counted with."""

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
DRY_BELOW_MM = 0.2  # a gauge's first mark, at which British records begin to count a day of rain (from memory)
SUNNIER = ("et0_mm", "tmax_c")  # what a dry day has more of than a wet one


@dataclass(frozen=True, eq=False)
class Ahead:
    """Weather from the day after the known to AHEAD_DAYS after today.

    dry: the same days as they usually are without rain. forecast: how many of the days, the first ones, are forecast;
    source: where the forecast comes from, "" for none. normal: what the other days' ET0 is, in words. usual_rain_mm: of
    a week at this time of the year, None where no other year is known.
    """

    weather: Weather
    dry: "pd.DataFrame"
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
    dry, normal, usual_rain_mm = _normal(known.weather.daily, days)
    daily, count = dry.copy(), 0
    if forecast is not None:
        count = min(len(forecast.daily), len(days))
        for name in daily:
            if name in forecast.daily:
                daily.loc[days[:count], name] = forecast.daily[name].to_numpy()[:count]
    source = "" if forecast is None else forecast.source
    return Ahead(Weather(daily, Et0(normal, (), ""), source), dry, count, source, normal, usual_rain_mm)


def dry_from(ahead: Ahead, today: dt.date) -> Weather:
    """The same days without any rain from today on; one of which it is taken uses no less than dry days usually do."""
    import pandas as pd

    daily = ahead.weather.daily.copy()
    later = daily.index >= pd.Timestamp(today)
    taken = later & (daily["rain_mm"] >= DRY_BELOW_MM)
    for name in SUNNIER:
        if name in daily:
            daily.loc[taken, name] = np.maximum(daily[name], ahead.dry[name])[taken]
    daily.loc[later, "rain_mm"] = 0.0
    return replace(ahead.weather, daily=daily)


def _normal(known: "pd.DataFrame", days: "pd.DatetimeIndex") -> "tuple[pd.DataFrame, str, float | None]":
    """Dry days with the ET0 and the highest temperature that are usual, how these were found, and the usual rain.

    Usual is the mean of the same calendar days, a week either side, in all years before; without a year before, of the
    last two weeks. Rain is the mean of all these days, the rest of the dry ones: wet days are dull and cool, and say
    little of what days without rain will use. Where none was dry the nearest dry day counts.
    """
    import pandas as pd

    names = [name for name in SUNNIER if name in known]
    is_dry = known["rain_mm"] < DRY_BELOW_MM
    apart = (days.to_numpy()[:, np.newaxis] - known.index.to_numpy()) / np.timedelta64(1, "D")
    round_the_year = apart % YEAR_DAYS
    off = np.where(apart > YEAR_DAYS / 2.0, np.minimum(round_the_year, YEAR_DAYS - round_the_year), np.inf)
    near = off <= NORMAL_DAYS
    if not near.any(axis=1).all():
        usual, words = _recent(known[names], is_dry)
        return pd.DataFrame({"rain_mm": 0.0, **usual}, index=days), f"{words}, as no other year is known", None
    off += np.where(is_dry.to_numpy(), 0.0, YEAR_DAYS)  # farther than any dry day
    like = off <= np.maximum(off.min(axis=1, keepdims=True), NORMAL_DAYS)
    weight = like / like.sum(axis=1, keepdims=True)
    daily = pd.DataFrame({"rain_mm": 0.0} | {name: weight @ known[name].to_numpy() for name in names}, index=days)
    soon = near[:WEEK_DAYS]
    years = len(set(pd.DatetimeIndex(known.index[np.flatnonzero(soon.any(axis=0))]).year))
    rain_mm = soon / soon.sum(axis=1, keepdims=True) @ known["rain_mm"].to_numpy()
    words = f"the mean of the dry days at this time of the year in {years} year{'' if years == 1 else 's'} before"
    return daily, words, float(rain_mm.sum())


def _recent(known: "pd.DataFrame", is_dry: "pd.Series[bool]") -> "tuple[pd.Series[float], str]":
    """The mean of the last dry days, and which these are."""
    lately, dry = known.iloc[-LAST_DAYS:], known.loc[is_dry]
    dry_lately = dry.loc[lately.index[0] :]
    if len(dry_lately):
        return dry_lately.mean(), f"the mean of the dry ones among the last {len(lately)} known days"
    if len(dry):
        return dry.iloc[-1], f"that of {dry.index[-1]:%Y-%m-%d}, the last dry day known"
    return lately.mean(), f"the mean of the last {len(lately)} known days, none of which was dry"
