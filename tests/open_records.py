"""Real weather that comes with open packages, as days with the columns of a weather file."""

from importlib.util import find_spec
from pathlib import Path

import pandas as pd
from vega_datasets import data

PVLIB = Path(find_spec("pvlib").origin).parent / "data"
SPOTPY = Path(find_spec("spotpy").origin).parent / "examples/cmf_data"


def fulda():
    """Ten whole years, 1979-88, without gaps; comes with the spotpy package."""
    frame = pd.read_csv(SPOTPY / "fulda_climate.csv", skiprows=[1])  # the row of units
    frame.index = pd.DatetimeIndex(pd.to_datetime(frame["date"], format="%d.%m.%Y"), name="date")
    return _named(frame, {"Prec": "rain_mm", "tmin": "tmin_c", "tmax": "tmax_c", "tmean": "tmean_c"})


def seattle():
    """Four whole years, 2012-15: NOAA, in the public domain; comes with the vega_datasets package."""
    path = data.seattle_weather.filepath
    frame = pd.read_csv(path, parse_dates=["date"], date_format="%Y/%m/%d", index_col="date")
    return _named(frame, {"precipitation": "rain_mm", "temp_min": "tmin_c", "temp_max": "tmax_c"})


def rechtenbach():
    """Hourly station data 2014-16 as days: Univ. Giessen, in the spotpy wheel, for any purpose with references.

    The file writes the first twelve days of a month as year-day-month, but its hours stand in their order.
    """
    hours = pd.read_csv(SPOTPY / "driver_data_site24.csv", comment="#")
    days = hours.groupby(pd.date_range("2014-01-01", periods=len(hours) // 24, freq="D", name="date").repeat(24))
    return pd.DataFrame(
        {
            "rain_mm": days["rain_mmday"].mean(),  # a rate in mm a day
            "tmin_c": days["airtemp_degC"].min(),
            "tmax_c": days["airtemp_degC"].max(),
            "rh_min_pct": days["relhum_perc"].min(),
            "rh_max_pct": days["relhum_perc"].max(),
            "rh_mean_pct": days["relhum_perc"].mean(),
            "wind_m_s": days["windspeed_ms"].mean(),
            "solar_mj_m2": days["solarrad_Wm2"].mean() * 0.0864,  # W/m2 through 86400 s
        }
    )


def greensboro():
    """A typical year of Greensboro NC, put together of months of several years: TMY3, in the pvlib package."""
    return _tmy3("723170TYA.CSV")


def sand_point():
    """The same of Sand Point AK, on the sea."""
    return _tmy3("703165TY.csv")


def _tmy3(name):
    """A typical year as days, numbered from 1 January of a year without a leap day; it tells no rain.

    sun_hours: hours with 120 W/m2 and more of direct sun, the limit of the WMO (from memory).
    """
    hours = pd.read_csv(PVLIB / name, skiprows=1)  # the row of the place
    hours["sun"] = hours["DNI (W/m^2)"] >= 120
    days = hours.groupby(pd.date_range("2014-01-01", periods=len(hours) // 24, freq="D", name="date").repeat(24))
    return pd.DataFrame(
        {
            "tmin_c": days["Dry-bulb (C)"].min(),
            "tmax_c": days["Dry-bulb (C)"].max(),
            "rh_min_pct": days["RHum (%)"].min(),
            "rh_max_pct": days["RHum (%)"].max(),
            "rh_mean_pct": days["RHum (%)"].mean(),
            "wind_m_s": days["Wspd (m/s)"].mean(),
            "solar_mj_m2": days["GHI (W/m^2)"].mean() * 0.0864,
            "sun_hours": days["sun"].sum(),
        }
    ).astype(float)


def _named(frame, names):
    return frame.rename(columns=names)[list(names.values())].astype(float)
