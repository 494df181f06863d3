"""Tables that other people published, as they stand: what is understood of them against pandas."""

import numpy as np
import open_records
import pandas as pd
from vega_datasets import data

from waterbudget.weather.table.understand import understand


def ask(path):
    with open(path, "rb") as handle:  # noqa: PTH123 -- a path or its name
        return understand(handle.read(), str(path))


def test_seattle_2012_to_2015():
    """NOAA, in vega_datasets: year first with strokes, temp_max before temp_min."""
    understood = ask(data.seattle_weather.filepath)
    expected = pd.read_csv(data.seattle_weather.filepath)
    assert len(understood.daily) == len(expected) == 1461
    for column, theirs in {
        "rain_mm": "precipitation",
        "tmin_c": "temp_min",
        "tmax_c": "temp_max",
        "wind_m_s": "wind",
    }.items():
        np.testing.assert_array_equal(understood.daily[column], expected[theirs])


def test_fulda_1979_to_1988():
    """In spotpy: dates with dots, and a row of units."""
    path = open_records.SPOTPY / "fulda_climate.csv"
    understood = ask(path)
    expected = pd.read_csv(path, skiprows=[1])
    assert understood.lacking == ()
    assert not any(one.is_assumed for one in understood.readings)
    for column, theirs in {"rain_mm": "Prec", "tmin_c": "tmin", "tmax_c": "tmax", "tmean_c": "tmean"}.items():
        np.testing.assert_array_equal(understood.daily[column], expected[theirs])


def test_rechtenbach_2014_to_2016():
    """In spotpy: hours, with remarks between header and rows; day and month change places there (DEVELOPERS.md)."""
    path = open_records.SPOTPY / "driver_data_site24.csv"
    understood = ask(path)
    assert (understood.rhythm, understood.lacking) == ("hour", ())
    assert [one.unit.shown for one in understood.readings] == ["mm a day", "W/m²", "%", "°C", "m/s"]
    hours = pd.read_csv(path, comment="#")
    by_day = hours.groupby(hours["time"].str[:10])
    whole = by_day.size() == 24
    ours = understood.daily.loc[whole.index[whole]]
    theirs = by_day.agg(
        rain_mm=("rain_mmday", "mean"),
        tmin_c=("airtemp_degC", "min"),
        tmax_c=("airtemp_degC", "max"),
        rh_mean_pct=("relhum_perc", "mean"),
        solar_mj_m2=("solarrad_Wm2", lambda power_w_m2: 0.0864 * power_w_m2.mean()),
    )[whole]
    for column in theirs:
        known = ours[column].notna().to_numpy()
        assert known.mean() > 0.9
        np.testing.assert_allclose(ours[column][known], theirs[column][known], rtol=1e-9, atol=1e-9)


def test_a_model_input_with_semicolons():
    """In spotpy: rain and a discharge without temperatures, so it can only be a gauge's."""
    path = open_records.SPOTPY.parent / "hymod_python" / "hymod_input.csv"
    understood = ask(path)
    expected = pd.read_csv(path, sep=";")
    assert understood.is_gauge
    np.testing.assert_array_equal(understood.daily["rain_mm"], expected["rainfall[mm]"])
