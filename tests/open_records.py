"""Real weather that comes with open packages, as days with the columns of a weather file."""

from importlib.util import find_spec
from pathlib import Path

import pandas as pd
from vega_datasets import data

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
    """Hourly station data 2014-16 as days: Univ. Giessen, in the spotpy wheel, for any purpose with references."""
    hours = pd.read_csv(SPOTPY / "driver_data_site24.csv", comment="#", parse_dates=["time"], index_col="time")
    days = hours.groupby(hours.index.normalize())
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
    ).rename_axis("date")


def _named(frame, names):
    return frame.rename(columns=names)[list(names.values())].astype(float)
