"""Does the record look like weather? Each doubt one sentence; nothing is changed.

The limits are common practice without a source, except where a record is named beside one.
"""

from collections.abc import Iterator, Mapping, Sequence
from typing import TYPE_CHECKING

import numpy as np

from waterbudget.units import Array, DateArray
from waterbudget.variables import REGISTER

if TYPE_CHECKING:
    import pandas as pd

CLOUDBURST_MM = 150.0
TEMPERATURES = ("tmin_c", "tmax_c", "tmean_c")
READINGS = ("rain_mm", *TEMPERATURES)
FLAT_DAYS = {"rain_mm": 5, **dict.fromkeys(TEMPERATURES, 7)}
WHOLE_YEAR_DAYS = 360
DRY_YEAR_SHARE = 0.5
HOTTEST_C = 57.0  # 56.7 °C, Furnace Creek 1913, is the highest on record (WMO archive of extremes, from memory)
HOTTEST_MEAN_C = 35.0  # above the warmest yearly mean known, 34.6 °C at Dallol (from memory)
INCHES_BELOW_MM = 1.0  # mean of the wet days; 3 to 10 mm is usual, which is 0.1 to 0.4 inches
INCHES_WET_DAYS = 30


def quality_notes(daily: "pd.DataFrame") -> list[str]:
    """The same of a frame: one row a day, index of dates, the readings as columns."""
    readings = {name: daily[name].to_numpy("float64") for name in READINGS if name in daily}
    return odd_readings(daily.index.to_numpy().astype("M8[D]"), readings)


def odd_readings(days: DateArray, readings: Mapping[str, Array]) -> list[str]:
    """One sentence for each thing in a daily record that weather seldom does; none where nothing is odd.

    days: one after the other, (day,). readings: rain_mm [mm], tmin_c, tmax_c, tmean_c [°C] as available, (day,); NaN
    where nothing was read.
    """
    notes: list[str] = []
    if "rain_mm" in readings:
        notes += [note for doubt in (_cloudbursts, _dry_years) for note in doubt(days, readings["rain_mm"])]
        notes += _inches(readings["rain_mm"])
    for name, least_days in FLAT_DAYS.items():
        if name in readings:
            notes += _flat_lines(name, days, readings[name], least_days)
    return notes + _fahrenheit([readings[name] for name in TEMPERATURES if name in readings])


def _cloudbursts(days: DateArray, rain_mm: Array) -> Iterator[str]:
    for place in np.flatnonzero(rain_mm > CLOUDBURST_MM):
        yield (
            f"Rain: {rain_mm[place]:.1f} mm on {days[place]} is more than {CLOUDBURST_MM:g} mm in a day: a rare "
            "cloudburst, or several days read as one, or a faulty gauge; compare it with another station."
        )


def _flat_lines(name: str, days: DateArray, values: Array, least_days: int) -> Iterator[str]:
    """A missing day differs from every other and ends the run."""
    begins = np.flatnonzero(np.r_[True, values[1:] != values[:-1]]) if values.size else np.zeros(0, np.int64)
    ends = np.r_[begins[1:], values.size]
    for begin, end in zip(begins.tolist(), ends.tolist(), strict=False):
        is_reading = values[begin] > 0.0 if name == "rain_mm" else not np.isnan(values[begin])
        if end - begin >= least_days and is_reading:
            yield (
                f"{REGISTER[name].label}: {values[begin]:g} on each of {end - begin} days running, "
                f"{days[begin]} to {days[end - 1]}: a stuck instrument, or values filled in."
            )


def _dry_years(days: DateArray, rain_mm: Array) -> Iterator[str]:
    is_read = ~np.isnan(rain_mm)
    years, number = np.unique(days.astype("M8[Y]"), return_inverse=True)
    sums_mm = np.bincount(number, np.where(is_read, rain_mm, 0.0), len(years))
    is_whole = np.bincount(number, is_read, len(years)) >= WHOLE_YEAR_DAYS
    others = int(is_whole.sum()) - 1
    for place in np.flatnonzero(is_whole) if others else ():
        others_mm = (sums_mm[is_whole].sum() - sums_mm[place]) / others
        if sums_mm[place] <= DRY_YEAR_SHARE * others_mm:
            yield (
                f"Rain: {years[place]} has {sums_mm[place]:.0f} mm, half or less of the {others_mm:.0f} mm that the "
                f"{others} other whole years have on average: a drought, or days lost in the record."
            )


def _inches(rain_mm: Array) -> Iterator[str]:
    wet_mm = rain_mm[rain_mm > 0.0]
    if len(wet_mm) >= INCHES_WET_DAYS and wet_mm.mean() < INCHES_BELOW_MM:
        yield (
            f"Rain: looks like inches: the {len(wet_mm)} wet days have {wet_mm.mean():.2f} on average, where days in "
            f"millimetres have several; judged by an average below {INCHES_BELOW_MM:g}. An inch is 25.4 mm."
        )


def _fahrenheit(temperatures: Sequence[Array]) -> list[str]:
    read = [known for values in temperatures if (known := values[~np.isnan(values)]).size]
    if not read:
        return []
    highest = max(float(known.max()) for known in read)
    mean = float(np.mean([known.mean() for known in read]))
    if highest <= HOTTEST_C and mean <= HOTTEST_MEAN_C:
        return []
    note = (
        f"Temperatures look like Fahrenheit: the highest is {highest:.1f} and the mean {mean:.1f}; judged by a "
        f"value above {HOTTEST_C:g} °C, hotter than any on record, or a mean above {HOTTEST_MEAN_C:g} °C, which only "
        "the hottest months of a desert have. Take 32 off and divide by 1.8."
    )
    return [note]
