"""Reference evapotranspiration ET0 from whatever the weather has: the ladder of FAO-56 chapter 3.

The one file that calls pyet. pyet takes radians, per cent, MJ/m2 a day and wind at 2 m, and notices few mistakes:
what it is given here is complete, has dates and is in those units.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, NamedTuple

from waterbudget.errors import WeatherError

if TYPE_CHECKING:
    from collections.abc import Collection

    import pandas as pd

    from waterbudget.units import Array

KRS_INLAND = 0.16  # FAO-56 p. 60; 0.19 near the coast
WIND_WHEN_UNKNOWN_M_S = 2.0  # FAO-56 p. 63
WIND_HEIGHT_M = 2.0  # at which Eq. 6 wants the wind
LOWEST_ELEVATION_M, HIGHEST_ELEVATION_M = -450.0, 9000.0  # from the shore of the Dead Sea to the highest summits
LOWEST_WIND_HEIGHT_M = 0.2  # Eq. 47 is for wind above grass 0.12 m tall; nearer to it the profile has no meaning

GIVEN = "as given"  # the method of an et0_mm column

GROUPS = {
    "sun": ("solar_mj_m2", "sun_hours"),
    "humidity": ("rh_max_pct", "rh_min_pct", "rh_mean_pct"),
    "wind": ("wind_m_s",),
}
RUNGS = {  # what Eq. 6 is given besides the temperatures
    "full": frozenset({"sun", "humidity", "wind"}),
    "without sun": frozenset({"humidity", "wind"}),
    "without humidity": frozenset({"sun", "wind"}),
    "without wind": frozenset({"sun", "humidity"}),
    "temperatures only with Eq. 6": frozenset[str](),
}


class Basis(NamedTuple):
    """What Eq. 6 goes by besides the temperatures: a reading of the quantity itself, or what stands in for it."""

    sun: str
    humidity: str
    wind: str


READ = "read"
SUNSHINE, RANGE = "Eq. 35", "Eq. 50"
HIGH_AND_LOW, MEAN, HIGH, NIGHT = "Eq. 17", "Eq. 19", "Eq. 18", "Eq. 48"
TABLE_4 = "2 m/s"
ALL_READ, NOTHING_READ = Basis(READ, HIGH_AND_LOW, READ), Basis(RANGE, NIGHT, TABLE_4)

# Yearly ET0 [%] against ALL_READ at Rechtenbach DE 2014-16 (spotpy), Greensboro NC and Sand Point AK (TMY3 files of
# pvlib 0.16.1), the lowest rounded down and the highest up; Rechtenbach has no hours of sun. Its radiation looks
# low, on the clearest of 1096 days 0.73 of Eq. 37, so that what is estimated without it looks high.
YEARLY_ERROR_PCT = {
    Basis(READ, HIGH_AND_LOW, TABLE_4): (-13, 17),
    Basis(READ, MEAN, READ): (-10, -3),
    Basis(READ, MEAN, TABLE_4): (-16, -2),
    Basis(READ, HIGH, READ): (-5, 10),
    Basis(READ, HIGH, TABLE_4): (-16, 37),
    Basis(READ, NIGHT, READ): (-33, 9),
    Basis(READ, NIGHT, TABLE_4): (-35, 36),
    Basis(SUNSHINE, HIGH_AND_LOW, READ): (3, 4),
    Basis(SUNSHINE, HIGH_AND_LOW, TABLE_4): (-9, 2),
    Basis(SUNSHINE, MEAN, READ): (-5, 1),
    Basis(SUNSHINE, MEAN, TABLE_4): (-12, -5),
    Basis(SUNSHINE, HIGH, READ): (-1, 4),
    Basis(SUNSHINE, HIGH, TABLE_4): (-12, 3),
    Basis(SUNSHINE, NIGHT, READ): (-28, -1),
    Basis(SUNSHINE, NIGHT, TABLE_4): (-30, -2),
    Basis(RANGE, HIGH_AND_LOW, READ): (-3, 41),
    Basis(RANGE, HIGH_AND_LOW, TABLE_4): (-16, 53),
    Basis(RANGE, MEAN, READ): (-10, 34),
    Basis(RANGE, MEAN, TABLE_4): (-18, 33),
    Basis(RANGE, HIGH, READ): (-8, 48),
    Basis(RANGE, HIGH, TABLE_4): (-19, 71),
    Basis(RANGE, NIGHT, READ): (-35, 48),
    NOTHING_READ: (-34, 78),  # Hargreaves
}

USUAL_ERROR_PCT = (-32, 80)  # the same, by Hargreaves with the monthly means of each record, or a cosine through two


@dataclass(frozen=True)
class Et0:
    """How ET0 was found: the method, each substitution in plain words, and how far off it may be."""

    method: str
    assumed: tuple[str, ...]
    likely_error: str


AS_GIVEN = Et0(GIVEN, (), "that of the source of the et0_mm column")


def reference_et0(
    daily: pd.DataFrame, latitude_deg: float | None, elevation_m: float | None, wind_height_m: float
) -> tuple[pd.Series[float], Et0]:
    """Reference ET0 of grass [mm/d] for each day, never negative, and how it was found.

    daily: a date index and float64 columns: et0_mm (used as it stands), or tmin_c and tmax_c and any of tmean_c
    [degC], rh_min_pct, rh_max_pct, rh_mean_pct [%], wind_m_s [m/s] at wind_height_m [m], solar_mj_m2 [MJ/m2 a day],
    sun_hours [h]. elevation_m is needed by Eq. 6 only.

    Penman-Monteith (FAO-56 Eq. 6) where sun, humidity or wind is measured besides the temperatures, what is missing
    estimated as in FAO-56 p. 58-63; with temperatures alone Hargreaves (Eq. 52, with the latent heat at the day's
    temperature in place of 2.45 MJ/kg). Days on which a formula gives less than zero (dew, a deep frost) count as 0:
    pyet clips them, and no litres are taken from the soil for dew.

    Raises WeatherError naming the site key that is missing, or the date that has no result.
    """
    if "et0_mm" in daily:
        return daily["et0_mm"], AS_GIVEN
    latitude_rad = _latitude_rad(latitude_deg)
    basis = basis_of(daily.columns)
    if basis == NOTHING_READ:
        return _hargreaves(daily, latitude_rad), Et0("Hargreaves (FAO-56 Eq. 52)", (), _likely_error(basis))
    et0_mm, assumed = _penman_monteith(daily, latitude_rad, elevation_m, wind_height_m)
    return et0_mm, Et0("Penman-Monteith (FAO-56 Eq. 6)", assumed, _likely_error(basis))


def of_usual_temperatures(et0: Et0) -> Et0:
    """How ET0 was found where its temperatures are those usual for the day of the year, not readings."""
    words = (
        f"over a year {_off(*USUAL_ERROR_PCT)}, as measured at three stations; other places may differ, and a single "
        "week be further off"
    )
    return replace(et0, assumed=(*et0.assumed, "temperatures: those usual for the day of the year"), likely_error=words)


def basis_of(columns: Collection[str]) -> Basis:
    """What Eq. 6 goes by where these columns are given; rh_min_pct alone gives no vapour pressure."""
    sun = READ if "solar_mj_m2" in columns else SUNSHINE if "sun_hours" in columns else RANGE
    if "rh_max_pct" in columns and "rh_min_pct" in columns:
        humidity = HIGH_AND_LOW
    else:
        humidity = MEAN if "rh_mean_pct" in columns else HIGH if "rh_max_pct" in columns else NIGHT
    return Basis(sun, humidity, READ if "wind_m_s" in columns else TABLE_4)


def rungs(
    daily: pd.DataFrame, latitude_deg: float | None, elevation_m: float | None, wind_height_m: float
) -> pd.DataFrame:
    """ET0 [mm/d] by each rung of the ladder that the data allow: one column a rung, to compare them on one record.

    Arguments and errors as in `reference_et0`; an et0_mm column is not looked at. The columns: those of RUNGS
    for which everything is measured, then "Hargreaves".
    """
    import pandas as pd

    latitude_rad = _latitude_rad(latitude_deg)
    measured = _measured(basis_of(daily.columns))
    et0_mm = {}
    for rung, used in RUNGS.items():
        if used <= measured:
            unused = [name for group, names in GROUPS.items() if group not in used for name in names]
            left = daily.drop(columns=unused, errors="ignore")
            et0_mm[rung], _ = _penman_monteith(left, latitude_rad, elevation_m, wind_height_m)
    return pd.DataFrame(et0_mm | {"Hargreaves": _hargreaves(daily, latitude_rad)})


def _measured(basis: Basis) -> frozenset[str]:
    """The groups of which anything of use is read."""
    return frozenset(group for group, by in basis._asdict().items() if by != getattr(NOTHING_READ, group))


def _likely_error(basis: Basis) -> str:
    if basis == ALL_READ:
        return "little more than that of the readings: sun, humidity and wind are all measured"
    low, high = YEARLY_ERROR_PCT[basis]
    stations = "two" if basis.sun == SUNSHINE else "three"
    words = f"over a year {_off(low, high)}, as measured at {stations} stations; other places may differ"
    if basis == NOTHING_READ:
        return f"{words}; low in wind above 3 m/s, high in humid air (FAO-56 p. 64)"
    return words


def _off(low_pct: int, high_pct: int) -> str:
    if high_pct < 0:
        return f"{-high_pct} to {-low_pct} % too low"
    return f"{low_pct} to {high_pct} % too high" if low_pct > 0 else f"{-low_pct} % too low to {high_pct} % too high"


def extraterrestrial_mj_m2(days: pd.DatetimeIndex, latitude_deg: float) -> Array:
    """The sun's radiation above the air Ra on some days [MJ/m2 a day], (day,). Source: FAO-56 Eq. 21."""
    import pyet

    ra: Array = pyet.extraterrestrial_r(days, _latitude_rad(latitude_deg)).to_numpy()
    return ra


def _latitude_rad(latitude_deg: float | None) -> float:
    if latitude_deg is None:
        raise WeatherError(
            "ET0 from temperatures needs [site] latitude_deg, which is missing; add it, north positive "
            "(latitude_deg = 53.1), or give the weather an et0_mm column"
        )
    if not -90.0 <= latitude_deg <= 90.0:  # noqa: PLR2004 -- the poles
        raise WeatherError(f"[site] latitude_deg is {latitude_deg:g}; write degrees from -90 to 90, north positive")
    return math.radians(latitude_deg)


def _penman_monteith(
    daily: pd.DataFrame, latitude_rad: float, elevation_m: float | None, wind_height_m: float
) -> tuple[pd.Series[float], tuple[str, ...]]:
    import pyet

    if elevation_m is None:
        raise WeatherError(
            "ET0 by Penman-Monteith needs [site] elevation_m, which is missing; add it, in metres above the sea "
            "(elevation_m = 140), or give the weather an et0_mm column"
        )
    if not LOWEST_ELEVATION_M <= elevation_m <= HIGHEST_ELEVATION_M:
        raise WeatherError(f"[site] elevation_m is {elevation_m:g}; write metres above the sea, such as 140")
    _refuse_unknown(_range_c(daily))
    radiation_mj_m2, sun_words = solar_radiation(daily, latitude_rad, elevation_m)
    vapour_kpa, humidity_words = vapour_pressure(daily)
    wind_m_s, wind_words = wind_at_2m(daily, wind_height_m)
    # pyet's own checks fail on a column without any number, and blame its size: nothing unknown may reach them.
    for known in (_mean_c(daily), radiation_mj_m2, vapour_kpa, wind_m_s):
        _refuse_unknown(known)
    et0_mm = pyet.pm_fao56(
        _mean_c(daily),
        wind_m_s,
        rs=radiation_mj_m2,
        ea=vapour_kpa,
        tmax=daily["tmax_c"],
        tmin=daily["tmin_c"],
        elevation=elevation_m,
        lat=latitude_rad,
    ).rename("et0_mm")
    _refuse_unknown(et0_mm)
    return et0_mm, sun_words + humidity_words + wind_words


def _hargreaves(daily: pd.DataFrame, latitude_rad: float) -> pd.Series[float]:
    import pyet

    _refuse_unknown(_range_c(daily))
    et0_mm: pd.Series[float] = pyet.hargreaves(
        _mean_c(daily), daily["tmax_c"], daily["tmin_c"], latitude_rad, method=0
    ).rename("et0_mm")
    _refuse_unknown(et0_mm)
    return et0_mm


def _mean_c(daily: pd.DataFrame) -> pd.Series[float]:
    return daily["tmean_c"] if "tmean_c" in daily else (daily["tmax_c"] + daily["tmin_c"]) / 2.0  # Eq. 9


def _range_c(daily: pd.DataFrame) -> pd.Series[float]:
    """Tmax - Tmin [degC], unknown where it would be negative."""
    return (daily["tmax_c"] - daily["tmin_c"]).where(daily["tmax_c"] >= daily["tmin_c"])


def solar_radiation(
    daily: pd.DataFrame, latitude_rad: float, elevation_m: float
) -> tuple[pd.Series[float], tuple[str, ...]]:
    """Solar radiation Rs [MJ/m2 a day], and each estimate behind it in words.

    The readings, else from sunshine hours (FAO-56 Eq. 35), else from Tmax - Tmin (Eq. 50, not above clear sky, Eq. 37).
    """
    import numpy as np
    import pyet

    by = basis_of(daily.columns).sun
    if by == READ:
        return daily["solar_mj_m2"], ()
    ra = pyet.extraterrestrial_r(daily.index, latitude_rad)
    if by == SUNSHINE:
        daylight_h = pyet.daylight_hours(daily.index, latitude_rad)
        held = daily["sun_hours"].clip(upper=daylight_h)
        words = ["radiation: from sunshine hours with the general coefficients 0.25 and 0.50 (FAO-56 Eq. 35)"]
        if long := int((held < daily["sun_hours"]).sum()):
            words.append(f"sunshine: longer than the daylight on {long} of {len(daily)} days, held to it (Eq. 34)")
        # In the polar night 0 h of 0 h is no number, but nothing times any share is nothing.
        return pyet.calc_rad_sol_in(held, latitude_rad).where(ra > 0.0, 0.0), tuple(words)
    clear_sky = pyet.calc_rso(ra, elevation_m)
    return np.minimum(KRS_INLAND * np.sqrt(_range_c(daily)) * ra, clear_sky), (
        "radiation: from the day's temperature range, with kRs 0.16 as inland (FAO-56 Eq. 50; 0.19 near the coast)",
    )


def vapour_pressure(daily: pd.DataFrame) -> tuple[pd.Series[float], tuple[str, ...]]:
    """Actual vapour pressure ea [kPa], and each estimate behind it in words.

    From the highest and lowest humidity of the day (FAO-56 Eq. 17), else the mean (Eq. 19), else the highest (Eq. 18),
    else Tmin as dew point (Eq. 48). Raises WeatherError where the humidity looks like fractions of 1.
    """
    import pyet

    for name in ("rh_max_pct", "rh_mean_pct"):
        if name in daily and daily[name].max() <= 1.0:
            raise WeatherError(f"{name} is never above 1; write humidity in per cent (75, not 0.75)")
    temperatures = {"tmax": daily["tmax_c"], "tmin": daily["tmin_c"]}
    by = basis_of(daily.columns).humidity
    if by == HIGH_AND_LOW:
        return pyet.calc_ea(**temperatures, rhmax=daily["rh_max_pct"], rhmin=daily["rh_min_pct"]), ()
    if by == MEAN:
        words = "humidity: from the day's mean alone (FAO-56 Eq. 19)"
        return pyet.calc_ea(**temperatures, rh=daily["rh_mean_pct"]), (words,)
    night_kpa = pyet.calc_e0(daily["tmin_c"])
    if by == HIGH:
        return night_kpa * daily["rh_max_pct"] / 100.0, ("humidity: from the day's highest alone (FAO-56 Eq. 18)",)
    return night_kpa, ("humidity: dew point taken as the night minimum (FAO-56 Eq. 48)",)


def wind_at_2m(daily: pd.DataFrame, wind_height_m: float) -> tuple[pd.Series[float], tuple[str, ...]]:
    """Wind at 2 m above grass, u2 [m/s], and each estimate behind it in words.

    The readings at 2 m as they stand, at another height brought to 2 m (FAO-56 Eq. 47), else 2 m/s (Table 4). Raises
    WeatherError for a height among the grass.
    """
    import pandas as pd

    if basis_of(daily.columns).wind == TABLE_4:
        return pd.Series(WIND_WHEN_UNKNOWN_M_S, index=daily.index), ("wind: 2 m/s on every day (FAO-56 Table 4)",)
    if wind_height_m == WIND_HEIGHT_M:
        return daily["wind_m_s"], ()
    if not LOWEST_WIND_HEIGHT_M <= wind_height_m < math.inf:
        raise WeatherError(
            f"[weather] wind_height_m is {wind_height_m:g}; write the height of the wind readings in metres, "
            f"{LOWEST_WIND_HEIGHT_M:g} or more"
        )
    to_2m = 4.87 / math.log(67.8 * wind_height_m - 5.42)
    return daily["wind_m_s"] * to_2m, (f"wind: brought from {wind_height_m:g} m down to 2 m (FAO-56 Eq. 47)",)


def _refuse_unknown(quantity: pd.Series[float]) -> None:
    import numpy as np
    import pandas as pd

    if not isinstance(quantity.index, pd.DatetimeIndex):
        raise TypeError("daily needs a date index: pyet would read other numbers as nanoseconds of 1970")
    unknown = quantity.index[~np.isfinite(quantity.to_numpy())]
    if len(unknown):
        raise WeatherError(
            f"{unknown[0]:%Y-%m-%d}: no ET0 can be computed from the readings of this day; correct them, "
            "or give the weather an et0_mm column"
        )
