"""Weather as all that is reckoned takes it: some days in a row, and what was read on them."""

from __future__ import annotations

import hashlib
from dataclasses import dataclass, replace
from functools import cached_property
from typing import TYPE_CHECKING

import numpy as np

from waterbudget.errors import WeatherError

if TYPE_CHECKING:
    import datetime as dt
    from collections.abc import Mapping

    import pandas as pd

    from waterbudget.units import Array, DateArray
    from waterbudget.weather.et0 import Et0


@dataclass(frozen=True, eq=False)
class Weather:
    """Weather of consecutive days, complete and within the ranges of `files.py: COLUMNS`.

    days: datetime64[D], (day,). readings: float64 rain_mm and et0_mm, and those of the others in COLUMNS that the
    source had, each (day,); not to be written into. et0: how et0_mm was found. source: where the weather comes from,
    for the screen. rain_before_mm: rain of the days before the first that are known, the last of them right before it.
    """

    days: DateArray
    readings: Mapping[str, Array]
    et0: Et0
    source: str
    rain_before_mm: Array | None = None

    @classmethod
    def of(cls, daily: pd.DataFrame, et0: Et0, source: str) -> Weather:
        """The same from a frame: one row a day, a date index without gaps, the readings as columns."""
        readings = {str(name): column.to_numpy("float64") for name, column in daily.items()}
        return cls(daily.index.to_numpy().astype("M8[D]"), readings, et0, source)

    @property
    def first_day(self) -> dt.date:
        """The first of its days."""
        day: dt.date = self.days[0].item()
        return day

    @property
    def last_day(self) -> dt.date:
        """The last of its days."""
        day: dt.date = self.days[-1].item()
        return day

    @cached_property
    def daily(self) -> pd.DataFrame:
        """The readings as a frame, its index "date" tz-naive with freq D."""
        return frame_of(self.days, self.readings)

    @cached_property
    def dates(self) -> pd.DatetimeIndex:
        """The days as pandas has them."""
        return dates_of(self.days)

    @property
    def date_column(self) -> DateArray:
        """The days as a season takes them, (day, 1)."""
        return self.days[:, None]

    @property
    def digest(self) -> str:
        """Of its days and readings."""
        summed = hashlib.sha256(self.days.tobytes())
        for name, values in self.readings.items():
            summed.update(name.encode() + values.tobytes())
        return summed.hexdigest()

    def with_readings(self, **readings: Array) -> Weather:
        """The same days with other readings [in their units], each (day,)."""
        return replace(self, readings={**self.readings, **readings})

    def between(self, start: dt.date | None, end: dt.date | None) -> Weather:
        """The days from start to end, both included; None is the first or last day there is.

        Raises WeatherError naming the days there are, where some of the period lies outside them.
        """
        first, last = self.first_day, self.last_day
        start, end = start or first, end or last
        if start > end:
            raise WeatherError(
                f"{self.source}: the period starts on {start} and ends before it, on {end}; "
                f"choose days from {first} to {last}"
            )
        if start < first or end > last:
            raise WeatherError(
                f"{self.source}: has no weather for all of {start} to {end}; choose days from {first} to {last}"
            )
        some = slice((start - first).days, (end - first).days + 1)
        before_mm = self.readings["rain_mm"][: some.start]
        if self.rain_before_mm is not None:
            before_mm = np.concatenate([self.rain_before_mm, before_mm])
        readings = {name: values[some] for name, values in self.readings.items()}
        return Weather(self.days[some], readings, self.et0, self.source, before_mm)

    def then(self, later: Weather) -> Weather:
        """These days and those of another weather that follow them; of the readings those that both have."""
        readings = {
            name: np.concatenate([values, later.readings[name]])
            for name, values in self.readings.items()
            if name in later.readings
        }
        return replace(self, days=np.concatenate([self.days, later.days]), readings=readings)


def frame_of(days: DateArray, readings: Mapping[str, Array]) -> pd.DataFrame:
    """Readings of days, one after the other, each (day,), as a frame whose index is `dates_of`."""
    import pandas as pd

    return pd.DataFrame(dict(readings), dates_of(days))


def dates_of(days: DateArray) -> pd.DatetimeIndex:
    """Days, one after the other, as pandas has them: tz-naive, with freq D, called "date"."""
    import pandas as pd

    return pd.DatetimeIndex(days.astype("M8[ns]"), freq="D", name="date")
