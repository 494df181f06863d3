"""Weather of a garden that measures rain alone: its own gauge, and the temperatures that are usual there."""

from collections.abc import Sequence
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING, Protocol

import numpy as np

from waterbudget.units import Array
from waterbudget.weather.days import Weather
from waterbudget.weather.et0 import of_usual_temperatures
from waterbudget.weather.files import Place, weather_of
from waterbudget.weather.gaps import RAIN, read_gauge

if TYPE_CHECKING:
    import pandas as pd

MONTHS = 12
DAYS_ENOUGH = 25  # of each month, to tell its means


class Usual(Protocol):
    """Usual temperatures [°C], the highest and the lowest: of twelve months, or of January and July."""

    @property
    def highs_c(self) -> Sequence[float]:
        """Of the afternoon."""

    @property
    def lows_c(self) -> Sequence[float]:
        """Of the night."""


def usual_days(usual: Usual, dates: "pd.DatetimeIndex") -> "pd.DataFrame":
    """Usual tmin_c and tmax_c of each day; the means over every whole month are those given."""
    import pandas as pd

    low_c, high_c = (daily(monthly(values), dates) for values in (usual.lows_c, usual.highs_c))
    return pd.DataFrame({"tmin_c": np.minimum(low_c, high_c), "tmax_c": np.maximum(low_c, high_c)}, dates)


def monthly(values_c: Sequence[float]) -> Array:
    """Twelve monthly means [°C] from themselves, or from those of January and July as a cosine between them.

    Of the monthly means at Rechtenbach, Greensboro, Sand Point and Seattle the cosine misses 1.0 to 2.7 °C, root mean
    square; `tests/weather/test_usual.py` measures it.
    """
    if len(values_c) == MONTHS:
        return np.array(values_c)
    january_c, july_c = values_c
    return (january_c + july_c) / 2.0 + (january_c - july_c) / 2.0 * np.cos(2.0 * np.pi * np.arange(MONTHS) / MONTHS)


def daily(months_c: Array, dates: "pd.DatetimeIndex") -> Array:
    """A smooth year through monthly means [°C], day by day, that keeps them: slopes of a spline through their sums."""
    from scipy.interpolate import CubicSpline

    sums = np.concatenate([[0.0], np.cumsum(months_c - months_c.mean())])
    sums[-1] = 0.0  # but for rounding it is
    spline = CubicSpline(np.arange(MONTHS + 1), sums, bc_type="periodic")
    length = dates.days_in_month.to_numpy()
    begins = dates.month.to_numpy() - 1.0 + (dates.day.to_numpy() - 1.0) / length
    return np.asarray(months_c.mean() + (spline(begins + 1.0 / length) - spline(begins)) * length)


def gauge_weather(path: Path, usual: Usual, place: Place) -> tuple[Weather, int]:
    """Rain of a gauge's file from its first to its last reading, and usual temperatures; and days without a reading.

    These count as dry. Raises WeatherError naming the rows of the file that are at fault, or the site key that ET0
    needs.
    """
    import pandas as pd

    readings = read_gauge(path)
    rain_mm = pd.Series(list(readings.values()), index=pd.DatetimeIndex(list(readings), name="date"), dtype="float64")
    whole_mm = rain_mm.asfreq("D")
    days = usual_days(usual, pd.DatetimeIndex(whole_mm.index)).assign(**{RAIN: whole_mm.fillna(0.0)})
    weather = weather_of(days, place, path.name)
    source = f"{path.name}, with usual temperatures"
    return replace(weather, et0=of_usual_temperatures(weather.et0), source=source), int(whole_mm.isna().sum())


def usual_of(daily: "pd.DataFrame") -> tuple[tuple[float, ...], tuple[float, ...]] | None:
    """Monthly means of the lowest and of the highest [°C] of a record; None where a month has too few readings."""
    import pandas as pd

    if not {"tmin_c", "tmax_c"} <= set(daily):
        return None
    known = daily[["tmin_c", "tmax_c"]].dropna()
    by_month = known.groupby(pd.DatetimeIndex(known.index).month)
    means, counts = by_month.mean().round(1), by_month.size()
    if len(counts) < MONTHS or counts.min() < DAYS_ENOUGH:
        return None
    return tuple(means["tmin_c"].tolist()), tuple(means["tmax_c"].tolist())
