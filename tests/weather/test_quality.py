from pathlib import Path

import numpy as np
import open_records
import pandas as pd
import pytest
import spotpy
from vega_datasets import data

from waterbudget.variables import REGISTER
from waterbudget.weather.quality import quality_notes

SPOTPY = Path(spotpy.__file__).parent / "examples" / "cmf_data"


@pytest.fixture(scope="module")
def seattle():
    """Seattle 2012-15, 1461 days, NOAA (vega_datasets): daily rain and temperatures, wholly in metric units."""
    daily = pd.read_csv(data.seattle_weather.filepath, index_col="date", parse_dates=["date"], date_format="%Y/%m/%d")
    names = {"precipitation": "rain_mm", "temp_min": "tmin_c", "temp_max": "tmax_c"}
    return daily.rename(columns=names)[list(names.values())].astype("float64")


@pytest.fixture(scope="module")
def rechtenbach():
    return open_records.rechtenbach()[["rain_mm", "tmin_c", "tmax_c"]]


@pytest.fixture(scope="module")
def fulda():
    """Fulda 1979-88, daily, in spotpy."""
    daily = pd.read_csv(SPOTPY / "fulda_climate.csv", skiprows=[1], index_col="date")
    daily.index = pd.to_datetime(daily.index, format="%d.%m.%Y")
    return daily.rename(columns={"Prec": "rain_mm", "tmin": "tmin_c", "tmax": "tmax_c", "tmean": "tmean_c"}).drop(
        columns="Q"
    )


def test_recorded_weather_raises_no_doubt(seattle, fulda):
    assert len(seattle) == 1461
    assert quality_notes(seattle) == []
    assert len(fulda) == 3653
    assert quality_notes(fulda) == []


def test_the_cloudburst_of_rechtenbach_is_named(rechtenbach):
    (note,) = quality_notes(rechtenbach)
    assert note.startswith("Rain: 158.8 mm on 2014-07-24 is more than 150 mm in a day")


def test_just_150_mm_pass(seattle):
    assert quality_notes(seattle.assign(rain_mm=seattle["rain_mm"].where(seattle.index != "2015-03-15", 150.0))) == []


@pytest.mark.parametrize(("column", "value", "days"), [("tmin_c", 5.0, 7), ("tmax_c", 12.5, 7), ("rain_mm", 4.2, 5)])
def test_a_flat_line_is_named_from_its_first_to_its_last_day(seattle, column, value, days):
    flat = seattle.copy()
    flat.loc[flat.index[100 : 100 + days - 1], column] = value
    assert quality_notes(flat) == []
    flat.loc[flat.index[100 + days - 1], column] = value
    (note,) = quality_notes(flat)
    first, last = (f"{flat.index[day]:%Y-%m-%d}" for day in (100, 100 + days - 1))
    assert note == (
        f"{REGISTER[column].label}: {value:g} on each of {days} days running, {first} to {last}: "
        "a stuck instrument, or values filled in."
    )


def test_dry_spells_and_gaps_are_no_flat_line(seattle):
    dry = seattle.copy()
    dry.loc["2013-07", "rain_mm"] = 0.0
    dry.loc["2013-08", ["rain_mm", "tmin_c"]] = np.nan
    dry.loc["2013-09-01":"2013-09-06", "tmin_c"] = 9.0
    dry.loc["2013-09-04", "tmin_c"] = np.nan
    assert quality_notes(dry) == []


def test_a_year_with_half_the_rain_of_the_others_is_named(seattle):
    # yearly totals 1226.0, 828.0, 1232.8 and 1139.2 mm: the others of 2014 have 1064.4 mm on average, half is 532.2 mm
    def with_2014(share):
        return seattle.assign(rain_mm=seattle["rain_mm"].where(seattle.index.year != 2014, seattle["rain_mm"] * share))

    assert quality_notes(with_2014(0.44)) == []
    (note,) = quality_notes(with_2014(0.43))
    assert note.startswith("Rain: 2014 has 530 mm, half or less of the 1064 mm that the 3 other whole years")


def test_a_part_of_a_year_is_not_compared(seattle):
    assert quality_notes(seattle.loc[:"2015-02-28"]) == []
    assert quality_notes(seattle.assign(rain_mm=seattle["rain_mm"].mask(seattle.index.dayofyear < 7))) == []
    assert quality_notes(seattle.loc["2013"]) == []


def test_inches_are_recognised(seattle):
    inches = seattle.assign(rain_mm=(seattle["rain_mm"] / 25.4).round(2))
    (note,) = quality_notes(inches)
    assert note.startswith("Rain: looks like inches: the 623 wet days have 0.28 on average")


def test_a_few_days_of_drizzle_are_no_inches(seattle):
    drizzle = seattle[["rain_mm"]] / 25.4
    number = drizzle["rain_mm"].gt(0.0).cumsum()
    assert quality_notes(drizzle[number < 30]) == []
    assert len(quality_notes(drizzle[number < 31])) == 1


@pytest.mark.parametrize("period", [slice(None), slice("2013-01", "2013-02"), slice("2013-07", "2013-08")])
def test_fahrenheit_is_recognised_in_every_season(seattle, period):
    hot = seattle.loc[period, ["tmin_c", "tmax_c"]] * 1.8 + 32.0
    (note,) = quality_notes(hot)
    assert note.startswith(f"Temperatures look like Fahrenheit: the highest is {hot['tmax_c'].max():.1f}")


def test_a_heat_wave_is_no_fahrenheit(seattle):
    assert quality_notes(seattle.loc["2015-06":"2015-08", ["tmin_c", "tmax_c"]] + 12.0) == []


def test_a_record_without_temperatures_or_rain_is_judged_by_what_it_has(seattle):
    assert quality_notes(seattle[["rain_mm"]]) == []
    assert quality_notes(seattle[["tmax_c"]]) == []
