"""What the variables of a netCDF or zarr store are, by the conventions for climate and forecast data (CF).

Standard names and units are those of the CF standard name table and UDUNITS, from memory. Grass reference ET0 has no
standard name, so it goes by the name of its variable, as does any variable without a standard name.
"""

import re
from collections.abc import Mapping
from typing import TYPE_CHECKING, Any, NamedTuple

import numpy as np

from waterbudget.errors import WeatherError, shown
from waterbudget.units import Array

if TYPE_CHECKING:
    import pandas as pd
    import xarray as xr

SHORT = {
    **dict.fromkeys(("rain", "rain_mm", "pr", "precipitation"), "rain_mm"),
    **dict.fromkeys(("et0", "et0_mm"), "et0_mm"),
    **dict.fromkeys(("tmin", "tmin_c", "tasmin"), "tmin_c"),
    **dict.fromkeys(("tmax", "tmax_c", "tasmax"), "tmax_c"),
}
RAIN = {
    "precipitation_amount",
    "rainfall_amount",
    "lwe_thickness_of_precipitation_amount",
    "thickness_of_rainfall_amount",
    "precipitation_flux",
    "rainfall_flux",
    "lwe_precipitation_rate",
    "rainfall_rate",
}
EXTREMES = {"minimum": "tmin_c", "maximum": "tmax_c"}  # by the cell method over time
DAY_S, MM_PER_M, MM_PER_CM, ZERO_C_K = 86400.0, 1000.0, 10.0, 273.15
DEPTHS = {  # of a day, and what makes millimetres of them
    **dict.fromkeys(("mm", "millimeter", "millimetre", "millimeters", "millimetres", "kg m-2"), 1.0),
    **dict.fromkeys(("mm d-1", "mm day-1", "kg m-2 d-1", "kg m-2 day-1"), 1.0),
    **dict.fromkeys(("cm", "cm d-1", "cm day-1"), MM_PER_CM),
    **dict.fromkeys(("m", "meter", "metre", "m d-1", "m day-1"), MM_PER_M),
    **dict.fromkeys(("mm s-1", "kg m-2 s-1"), DAY_S),
    **dict.fromkeys(("m s-1",), DAY_S * MM_PER_M),
}
DEGREES = {  # and what is added to make degrees Celsius of them
    **dict.fromkeys(("degc", "°c", "c", "celsius", "degree_celsius", "degrees_celsius", "deg_c", "degrees_c"), 0.0),
    **dict.fromkeys(("k", "kelvin", "degk"), -ZERO_C_K),
}
INCHES = {"in", "inch", "inches", "in d-1", "in day-1", "inch day-1", "inches day-1"}
REAL_CALENDARS = {"standard", "gregorian", "proleptic_gregorian"}
SINCE = re.compile(r"(second|minute|hour|day)s? since (\d{1,4}-\d{1,2}-\d{1,2})(?:[T ](\d{1,2}:\d{2}(?::\d{2})?))?.*")
STEP_S = {"second": 1, "minute": 60, "hour": 3600, "day": 86400}


class Reading(NamedTuple):
    """A variable that holds a quantity: value times factor, plus what is added, is the reading in our units.

    name: as in weather files. time: its dimension of days. over: its other dimensions, which make the cells.
    """

    name: str
    variable: str
    factor: float
    added: float
    time: str
    over: tuple[str, ...]

    def in_our_units(self, values: Any) -> Array:  # noqa: ANN401 - numbers of any type
        """The readings of one cell, (day,)."""
        return np.asarray(values, dtype=np.float64) * self.factor + self.added


def readings_of(store: "xr.Dataset", path: str) -> tuple[Reading, ...]:
    """Rain, and temperatures or ET0, of a store. Raises WeatherError where one lacks, or its units do not serve."""
    time = _time(store, path)
    found: dict[str, Reading] = {}
    for variable, held in store.data_vars.items():
        name = _quantity(str(variable), held.attrs)
        if name is None or time not in held.dims:
            continue
        if name in found:
            raise WeatherError(f"{path}: {variable} and {found[name].variable} both hold {name}; leave one of them out")
        factor, added = _to_our_units(name, held.attrs, f"{path}: {variable}")
        over = tuple(str(dim) for dim in held.dims if dim != time)
        found[name] = Reading(name, str(variable), factor, added, time, over)
    if "rain_mm" not in found:
        raise WeatherError(
            f"{path}: has no rain; give it a variable with the standard_name precipitation_amount, or the name rain"
        )
    if "et0_mm" not in found and not {"tmin_c", "tmax_c"} <= found.keys():
        raise WeatherError(
            f"{path}: has neither et0 nor tmin and tmax; give it air_temperature with the cell_methods time: minimum "
            "and time: maximum, or a variable et0"
        )
    first = found["rain_mm"]
    for reading in found.values():
        if set(reading.over) != set(first.over):
            raise WeatherError(
                f"{path}: {reading.variable} has the dimensions {', '.join(reading.over)}, and {first.variable} "
                f"{', '.join(first.over)}; give both the same"
            )
    return first, *(reading for reading in found.values() if reading is not first)


def days_of(store: "xr.Dataset", time: str, path: str) -> "pd.DatetimeIndex":
    """The days of a store. Raises WeatherError where they are not every day of the real calendar, in order."""
    import pandas as pd

    attributes = store.variables[time].attrs
    calendar = str(attributes.get("calendar", "standard"))
    if calendar not in REAL_CALENDARS:
        raise WeatherError(
            f'{path}: {time}: calendar is {shown(calendar)}, which leaves real days out; bring it to "standard"'
        )
    match = SINCE.fullmatch(str(attributes.get("units", "")))
    if match is None:
        raise WeatherError(
            f'{path}: {time}: units are {shown(str(attributes.get("units", "")))}; write "days since 2031-01-01"'
        )
    steps = np.asarray(store.variables[time].to_numpy(), dtype=np.float64)
    year, month, day = map(int, match[2].split("-"))
    since = np.datetime64(f"{year:04d}-{month:02d}-{day:02d}T{match[3] or '00:00'}", "s")
    length_s = STEP_S[match[1]]
    dates = (since + np.round(steps * length_s).astype("m8[s]")).astype("M8[D]")
    between = np.diff(dates).astype(np.int64)
    if len(wrong := np.flatnonzero(between != 1)):
        before, after = dates[wrong[0]], dates[wrong[0] + 1]
        raise WeatherError(f"{path}: {time}: {after} comes after {before}; give every day once, in order")
    return pd.DatetimeIndex(dates.astype("M8[ns]"), freq="D", name="date")


def _time(store: "xr.Dataset", path: str) -> str:
    for name, variable in store.variables.items():
        attributes = variable.attrs
        is_time = attributes.get("standard_name") == "time" or " since " in str(attributes.get("units", ""))
        if variable.ndim == 1 and is_time and variable.dims == (name,):
            return str(name)
    raise WeatherError(f'{path}: has no time; give it a coordinate time with the units "days since 2031-01-01"')


def _quantity(name: str, attributes: Mapping[str, Any]) -> str | None:
    """Which of our quantities a variable holds, None for another."""
    standard = attributes.get("standard_name")
    if standard in RAIN:
        return "rain_mm"
    if standard == "air_temperature":
        methods = str(attributes.get("cell_methods", ""))
        return next((ours for method, ours in EXTREMES.items() if method in methods), SHORT.get(name.lower()))
    return SHORT.get(name.lower()) if standard is None else None


def _to_our_units(name: str, attributes: Mapping[str, Any], where: str) -> tuple[float, float]:
    is_depth = name.endswith("_mm")
    wanted = "mm (a day's depth) or kg m-2 s-1" if is_depth else "degC or K"
    units = attributes.get("units")
    if units is None or not str(units).strip():
        raise WeatherError(f"{where}: units are missing; set the attribute units to {wanted}")
    plain = re.sub(r"\^|\*\*", "", " ".join(str(units).replace("/day", " day-1").replace("/d", " d-1").split())).lower()
    plain = plain.replace("kg/m2", "kg m-2").replace("/s", " s-1")
    if is_depth and plain in INCHES:
        raise WeatherError(f"{where}: units are {shown(str(units))}; multiply by 25.4 and set them to mm")
    if is_depth and plain in DEPTHS:
        return DEPTHS[plain], 0.0
    if not is_depth and plain in DEGREES:
        return 1.0, DEGREES[plain]
    raise WeatherError(f"{where}: units are {shown(str(units))}; bring them to {wanted}")
