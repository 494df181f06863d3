"""Reference evapotranspiration beside another writing of the same equations: pyet 1.4 or later, day by day.

The printed examples of FAO-56 chapter 3 and 4 are those of `tests/weather/test_et0.py`.
"""

import math

import numpy as np
import pandas as pd
import pyet
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from waterbudget.physics.evapotranspiration import (
    clear_sky_mj_m2,
    daylight_h,
    extraterrestrial_mj_m2,
    hargreaves_mm,
    mean_saturation_kpa,
    net_radiation_mj_m2,
    penman_monteith_mm,
    psychrometric_kpa_c,
    saturation_kpa,
    slope_kpa_c,
    sunshine_mj_m2,
)

MANY = settings(max_examples=80, deadline=None)
YEAR = pd.date_range("2031-01-01", "2032-12-31")  # the second a leap year
DAYS = YEAR.dayofyear.to_numpy()
LATITUDES_DEG, ELEVATIONS_M, SEEDS = st.floats(-89.0, 89.0), st.floats(-450.0, 9000.0), st.integers(0, 2**32 - 1)
SAME = {"rtol": 1e-9, "atol": 1e-9}  # pyet writes pi with ten digits in Ra


def drawn_weather(seed):
    """Temperatures, radiation, humidity and wind of two years, far beyond what gardens see."""
    rng = np.random.default_rng(seed)
    tmin_c, wind_m_s = rng.uniform(-45.0, 30.0, len(YEAR)), rng.uniform(0.0, 15.0, len(YEAR))
    tmax_c = tmin_c + rng.uniform(0.0, 25.0, len(YEAR))
    return tmin_c, tmax_c, rng.uniform(0.0, 35.0, len(YEAR)), rng.uniform(1.0, 100.0, len(YEAR)), wind_m_s


def by_date(values):
    return pd.Series(values, YEAR)


@MANY
@given(SEEDS, LATITUDES_DEG, ELEVATIONS_M)
def test_penman_monteith_is_that_of_another_library(seed, latitude_deg, elevation_m):
    tmin_c, tmax_c, solar_mj_m2, rh_pct, wind_m_s = drawn_weather(seed)
    tmean_c, latitude_rad = (tmax_c + tmin_c) / 2.0, math.radians(latitude_deg)
    vapour_kpa = mean_saturation_kpa(tmax_c, tmin_c) * rh_pct / 100.0
    clear_mj_m2 = clear_sky_mj_m2(extraterrestrial_mj_m2(DAYS, latitude_rad), elevation_m)
    net_mj_m2 = net_radiation_mj_m2(solar_mj_m2, clear_mj_m2, vapour_kpa, tmax_c, tmin_c)
    ours_mm = penman_monteith_mm(tmean_c, tmax_c, tmin_c, wind_m_s, vapour_kpa, net_mj_m2, elevation_m)
    theirs_mm = pyet.pm_fao56(
        by_date(tmean_c),
        by_date(wind_m_s),
        rs=by_date(solar_mj_m2),
        tmax=by_date(tmax_c),
        tmin=by_date(tmin_c),
        rh=by_date(rh_pct),
        elevation=elevation_m,
        lat=latitude_rad,
        clip_zero=False,
    )
    np.testing.assert_allclose(ours_mm, theirs_mm, **SAME)


@MANY
@given(SEEDS, LATITUDES_DEG)
def test_hargreaves_is_that_of_another_library(seed, latitude_deg):
    tmin_c, tmax_c, *_ = drawn_weather(seed)
    tmean_c, latitude_rad = (tmax_c + tmin_c) / 2.0, math.radians(latitude_deg)
    ours_mm = hargreaves_mm(tmean_c, tmax_c, tmin_c, extraterrestrial_mj_m2(DAYS, latitude_rad))
    theirs_mm = pyet.hargreaves(*map(by_date, (tmean_c, tmax_c, tmin_c)), latitude_rad, clip_zero=False)
    np.testing.assert_allclose(ours_mm, theirs_mm, **SAME)


@MANY
@given(LATITUDES_DEG, st.floats(0.0, 1.0))
def test_sun_and_daylight_are_those_of_another_library(latitude_deg, share):
    latitude_rad = math.radians(latitude_deg)
    longest_h, ra_mj_m2 = daylight_h(DAYS, latitude_rad), extraterrestrial_mj_m2(DAYS, latitude_rad)
    np.testing.assert_allclose(longest_h, pyet.daylight_hours(YEAR, latitude_rad), **SAME)
    np.testing.assert_allclose(ra_mj_m2, pyet.extraterrestrial_r(YEAR, latitude_rad), **SAME)
    is_day = longest_h > 0.0
    ours_mj_m2 = sunshine_mj_m2(share * longest_h, DAYS, latitude_rad)
    theirs_mj_m2 = pyet.calc_rad_sol_in(by_date(share * longest_h)[is_day], latitude_rad)
    np.testing.assert_allclose(ours_mj_m2[is_day], theirs_mj_m2, **SAME)
    np.testing.assert_array_equal(ours_mj_m2[~is_day], 0.0)


@pytest.mark.parametrize(
    ("ours", "printed", "source"),
    [
        (saturation_kpa(24.5), 3.075, "FAO-56 Example 3, p. 36"),
        (saturation_kpa(15.0), 1.705, "FAO-56 Example 3, p. 36"),
        (slope_kpa_c(30.0), 0.243, "FAO-56 Annex 2 Table 2.4 (from memory)"),
        (psychrometric_kpa_c(1800.0), 0.054, "FAO-56 Example 2, p. 32"),
        (extraterrestrial_mj_m2(246, math.radians(-20.0)), 32.2, "FAO-56 Example 8, p. 47"),
        (daylight_h(246, math.radians(-20.0)), 11.7, "FAO-56 Example 9, p. 48"),
    ],
)
def test_printed_numbers(ours, printed, source):
    digits = len(str(printed).partition(".")[2])
    assert ours == pytest.approx(printed, rel=0, abs=0.5 * 10.0**-digits), source
