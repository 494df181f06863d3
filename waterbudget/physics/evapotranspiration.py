"""Reference evapotranspiration ET0 of a day's weather (FAO-56 chapters 3 and 4); arrays (day,) that broadcast.

Temperatures in degC, radiation in MJ/m2 a day, vapour pressure in kPa, wind in m/s at 2 m.
"""

import numpy as np

from waterbudget.units import Array, IntArray

SOLAR_MJ_M2_DAY = 24 * 60 * 0.0820  # the solar constant, Eq. 21
ALBEDO = 0.23  # of the grass, Eq. 38
STEFAN_BOLTZMANN_MJ_M2_K4 = 4.903e-9  # a day, Eq. 39
KELVIN = 273.16  # as Eq. 39 has it
CLEAREST, DULLEST = 1.0, 0.3  # Rs/Rso: at most 1 by Eq. 39, at least 0.3 by ASCE-EWRI 2005 (from memory)
LEAST_CLOUD_FACTOR = 0.05  # of Eq. 39: ASCE-EWRI 2005 (from memory)
LEAST_RSO_MJ_M2 = 1e-3  # of the polar night, so that nothing of nothing is a number


def saturation_kpa(temperature_c: Array) -> Array:
    """Saturation vapour pressure e0 [kPa]. Source: FAO-56 Eq. 11."""
    kpa: Array = 0.6108 * np.exp(17.27 * temperature_c / (temperature_c + 237.3))
    return kpa


def mean_saturation_kpa(tmax_c: Array, tmin_c: Array) -> Array:
    """Mean saturation vapour pressure es [kPa]. Source: FAO-56 Eq. 12."""
    return (saturation_kpa(tmax_c) + saturation_kpa(tmin_c)) / 2.0


def slope_kpa_c(tmean_c: Array) -> Array:
    """Slope of the saturation vapour pressure curve [kPa/degC]. Source: FAO-56 Eq. 13."""
    slope: Array = 4098.0 * saturation_kpa(tmean_c) / (tmean_c + 237.3) ** 2
    return slope


def psychrometric_kpa_c(elevation_m: float) -> float:
    """Psychrometric constant [kPa/degC] at a height above the sea. Source: FAO-56 Eq. 7 and 8."""
    pressure_kpa = 101.3 * ((293.0 - 0.0065 * elevation_m) / 293.0) ** 5.26
    return float(0.665e-3 * pressure_kpa)


def declination_rad(day_of_year: IntArray) -> Array:
    """Solar declination. Source: FAO-56 Eq. 24."""
    declination: Array = 0.409 * np.sin(2.0 * np.pi / 365.0 * day_of_year - 1.39)
    return declination


def sunset_rad(day_of_year: IntArray, latitude_rad: float) -> Array:
    """Sunset hour angle, 0 in the polar night and pi in its summer. Source: FAO-56 Eq. 25."""
    angle: Array = np.arccos(np.clip(-np.tan(latitude_rad) * np.tan(declination_rad(day_of_year)), -1.0, 1.0))
    return angle


def daylight_h(day_of_year: IntArray, latitude_rad: float) -> Array:
    """Daylight hours N. Source: FAO-56 Eq. 34."""
    return 24.0 / np.pi * sunset_rad(day_of_year, latitude_rad)


def extraterrestrial_mj_m2(day_of_year: IntArray, latitude_rad: float) -> Array:
    """The sun's radiation above the air Ra. Source: FAO-56 Eq. 21 and 23."""
    distance = 1.0 + 0.033 * np.cos(2.0 * np.pi / 365.0 * day_of_year)
    declination, sunset = declination_rad(day_of_year), sunset_rad(day_of_year, latitude_rad)
    overhead = np.sin(latitude_rad) * np.sin(declination)
    aslant = np.cos(latitude_rad) * np.cos(declination)
    ra: Array = SOLAR_MJ_M2_DAY / np.pi * distance * (sunset * overhead + aslant * np.sin(sunset))
    return ra


def clear_sky_mj_m2(ra_mj_m2: Array, elevation_m: float) -> Array:
    """Radiation under a clear sky Rso. Source: FAO-56 Eq. 37."""
    return (0.75 + 2e-5 * elevation_m) * ra_mj_m2


def sunshine_mj_m2(sun_hours: Array, day_of_year: IntArray, latitude_rad: float) -> Array:
    """Radiation Rs of so many hours of sun, 0 in the polar night. Source: FAO-56 Eq. 35, with its 0.25 and 0.50."""
    longest_h = daylight_h(day_of_year, latitude_rad)
    share = sun_hours / np.where(longest_h > 0.0, longest_h, 1.0)
    return (0.25 + 0.50 * share) * extraterrestrial_mj_m2(day_of_year, latitude_rad)


def net_radiation_mj_m2(
    solar_mj_m2: Array, clear_mj_m2: Array, vapour_kpa: Array, tmax_c: Array, tmin_c: Array
) -> Array:
    """Net radiation Rn of the grass. Source: FAO-56 Eq. 38 to 40."""
    clearness = np.clip(solar_mj_m2 / np.maximum(clear_mj_m2, LEAST_RSO_MJ_M2), DULLEST, CLEAREST)
    cloud = np.maximum(1.35 * clearness - 0.35, LEAST_CLOUD_FACTOR)
    black_body = STEFAN_BOLTZMANN_MJ_M2_K4 * ((tmax_c + KELVIN) ** 4 + (tmin_c + KELVIN) ** 4) / 2.0
    long_wave: Array = black_body * (0.34 - 0.14 * np.sqrt(vapour_kpa)) * cloud
    return (1.0 - ALBEDO) * solar_mj_m2 - long_wave


def penman_monteith_mm(
    tmean_c: Array,
    tmax_c: Array,
    tmin_c: Array,
    wind_m_s: Array,
    vapour_kpa: Array,
    net_mj_m2: Array,
    elevation_m: float,
) -> Array:
    """ET0 [mm/d], below zero under dew; without heat from or to the soil. Source: FAO-56 Eq. 6 and 42."""
    slope, psychrometric = slope_kpa_c(tmean_c), psychrometric_kpa_c(elevation_m)
    dryness_kpa = mean_saturation_kpa(tmax_c, tmin_c) - vapour_kpa
    of_air = psychrometric * 900.0 / (tmean_c + 273.0) * wind_m_s * dryness_kpa
    return (0.408 * slope * net_mj_m2 + of_air) / (slope + psychrometric * (1.0 + 0.34 * wind_m_s))


def hargreaves_mm(tmean_c: Array, tmax_c: Array, tmin_c: Array, ra_mj_m2: Array) -> Array:
    """ET0 [mm/d] from temperatures alone, below zero in a deep frost; tmax_c is nowhere below tmin_c.

    The latent heat is that at the day's temperature (FAO-56 Eq. 3-1), in place of 2.45 MJ/kg. Source: FAO-56 Eq. 52.
    """
    latent_mj_kg = 2.501 - 2.361e-3 * tmean_c
    et0: Array = 0.0023 * (tmean_c + 17.8) * np.sqrt(tmax_c - tmin_c) * ra_mj_m2 / latent_mj_kg
    return et0
