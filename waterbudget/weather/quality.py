"""Does the record look like weather? Each doubt one sentence; nothing is changed.

The limits are common practice without a source, except where a record is named beside one.
"""

from typing import TYPE_CHECKING

from waterbudget.variables import REGISTER

if TYPE_CHECKING:
    import pandas as pd

CLOUDBURST_MM = 150.0
FLAT_DAYS = {"rain_mm": 5, "tmin_c": 7, "tmax_c": 7, "tmean_c": 7}
WHOLE_YEAR_DAYS = 360
DRY_YEAR_SHARE = 0.5
HOTTEST_C = 57.0  # 56.7 °C, Furnace Creek 1913, is the highest on record (WMO archive of extremes, from memory)
HOTTEST_MEAN_C = 35.0  # above the warmest yearly mean known, 34.6 °C at Dallol (from memory)
INCHES_BELOW_MM = 1.0  # mean of the wet days; 3 to 10 mm is usual, which is 0.1 to 0.4 inches
INCHES_WET_DAYS = 30


def quality_notes(daily: "pd.DataFrame") -> list[str]:
    """One sentence for each thing in a daily record that weather seldom does; none where nothing is odd.

    daily: one row a day, index of dates, columns rain_mm [mm], tmin_c, tmax_c, tmean_c [°C] as available; NaN where
    nothing was read.
    """
    notes = []
    if "rain_mm" in daily:
        notes += [note for doubt in (_cloudbursts, _dry_years, _inches) for note in doubt(daily["rain_mm"])]
    for column, least_days in FLAT_DAYS.items():
        if column in daily:
            notes += _flat_lines(daily[column], least_days)
    return notes + _fahrenheit(daily)


def _cloudbursts(rain_mm: "pd.Series[float]") -> list[str]:
    return [
        f"Rain: {value:.1f} mm on {day:%Y-%m-%d} is more than {CLOUDBURST_MM:g} mm in a day: a rare cloudburst, or "
        "several days read as one, or a faulty gauge; compare it with another station."
        for day, value in rain_mm[rain_mm > CLOUDBURST_MM].items()
    ]


def _flat_lines(values: "pd.Series[float]", least_days: int) -> list[str]:
    column = str(values.name)
    run = (values != values.shift()).cumsum()  # a missing day differs from every other and ends the run
    lengths = values.groupby(run).transform("size")
    stuck = (lengths >= least_days) & ((values > 0.0) if column == "rain_mm" else values.notna())
    notes = []
    for _, days in values[stuck].groupby(run[stuck]):
        notes.append(
            f"{REGISTER[column].label}: {days.iloc[0]:g} on each of {len(days)} days running, "
            f"{days.index[0]:%Y-%m-%d} to {days.index[-1]:%Y-%m-%d}: a stuck instrument, or values filled in."
        )
    return notes


def _dry_years(rain_mm: "pd.Series[float]") -> list[str]:
    import pandas as pd

    years = rain_mm.groupby(pd.DatetimeIndex(rain_mm.index).year).agg(["sum", "count"])
    sums_mm = years.loc[years["count"] >= WHOLE_YEAR_DAYS, "sum"]
    notes = []
    for year, total_mm in sums_mm.items():
        others_mm = sums_mm.drop(year).mean()
        if total_mm <= DRY_YEAR_SHARE * others_mm:
            notes.append(
                f"Rain: {year} has {total_mm:.0f} mm, half or less of the {others_mm:.0f} mm that the "
                f"{len(sums_mm) - 1} other whole years have on average: a drought, or days lost in the record."
            )
    return notes


def _inches(rain_mm: "pd.Series[float]") -> list[str]:
    wet_mm = rain_mm[rain_mm > 0.0]
    if len(wet_mm) < INCHES_WET_DAYS or wet_mm.mean() >= INCHES_BELOW_MM:
        return []
    note = (
        f"Rain: looks like inches: the {len(wet_mm)} wet days have {wet_mm.mean():.2f} on average, where days in "
        f"millimetres have several; judged by an average below {INCHES_BELOW_MM:g}. An inch is 25.4 mm."
    )
    return [note]


def _fahrenheit(daily: "pd.DataFrame") -> list[str]:
    known = [column for column in ("tmin_c", "tmax_c", "tmean_c") if column in daily]
    if not known:
        return []
    highest = float(daily[known].max().max())
    mean = float(daily[known].mean().mean())
    if highest <= HOTTEST_C and mean <= HOTTEST_MEAN_C:
        return []
    note = (
        f"Temperatures look like Fahrenheit: the highest is {highest:.1f} and the mean {mean:.1f}; judged by a "
        f"value above {HOTTEST_C:g} °C, hotter than any on record, or a mean above {HOTTEST_MEAN_C:g} °C, which only "
        "the hottest months of a desert have. Take 32 off and divide by 1.8."
    )
    return [note]
