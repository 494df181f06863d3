"""ET0 against the worked examples of FAO-56 and an independent formula, and what it says of its estimates.

Numbers are as printed in Allen et al. (1998), FAO Irrigation and Drainage Paper 56; the inputs of Example 18 (p. 72)
are from memory. A printed number is met within half of its last digit.
"""

import math
import subprocess
import sys
from decimal import Decimal
from pathlib import Path

import numpy as np
import pandas as pd
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

import waterbudget
from waterbudget.errors import WeatherError
from waterbudget.weather.et0 import (
    reference_et0,
    rungs,
    solar_radiation,
    vapour_pressure,
    wind_at_2m,
)

LYON = {"tmin_c": 14.8, "tmax_c": 26.6}  # Examples 15 and 20: July, 45 deg 43' N, 200 m
LYON_DAY, LYON_DEG, LYON_M = "2031-07-15", 45 + 43 / 60, 200.0


def day(date, **readings):
    return pd.DataFrame(readings, index=pd.date_range(date, periods=1, name="date"), dtype="float64")


def printed(text):
    """The figure as printed, within half of its last digit."""
    return pytest.approx(float(text), rel=0, abs=0.5 * 10.0 ** int(Decimal(text).as_tuple().exponent))


def test_example_18_daily_et0_in_uccle():
    uccle = day("2031-07-06", tmin_c=12.3, tmax_c=21.5, rh_min_pct=63, rh_max_pct=84, wind_m_s=10 / 3.6, sun_hours=9.25)
    et0_mm, et0 = reference_et0(uccle, 50.8, 100.0, 10.0)
    assert et0_mm.iloc[0] == printed("3.88")
    assert et0.method == "Penman-Monteith (FAO-56 Eq. 6)"


def test_example_20_et0_from_temperatures():
    lyon = day(LYON_DAY, **LYON)
    by_rung = rungs(lyon, LYON_DEG, LYON_M, 2.0)
    assert list(by_rung) == ["temperatures only with Eq. 6", "Hargreaves"]
    assert by_rung["temperatures only with Eq. 6"].iloc[0] == printed("4.56")
    et0_mm, et0 = reference_et0(lyon, LYON_DEG, None, 2.0)
    assert et0_mm.iloc[0] == by_rung["Hargreaves"].iloc[0] == printed("5.0")
    assert et0.method == "Hargreaves (FAO-56 Eq. 52)"


@pytest.mark.parametrize(("wind_m_s", "answer"), [(1.0, "4.2"), (2.0, "4.56"), (3.0, "4.8")])
def test_example_20_with_other_winds(wind_m_s, answer):
    et0_mm, _ = reference_et0(day(LYON_DAY, **LYON, wind_m_s=wind_m_s), LYON_DEG, LYON_M, 2.0)
    assert et0_mm.iloc[0] == printed(answer)


@pytest.mark.parametrize(
    ("readings", "date", "latitude_deg", "elevation_m", "answer", "source"),
    [
        (LYON, LYON_DAY, LYON_DEG, 200.0, "22.3", "Example 15, p. 61"),
        (LYON, LYON_DAY, LYON_DEG, 200.0, "22.29", "Example 20, p. 77"),
        ({"sun_hours": 220 / 31}, "2031-05-15", -(22 + 54 / 60), 0.0, "14.5", "Example 10, p. 50"),
        ({"sun_hours": 8.5}, "2031-04-15", 13 + 44 / 60, 2.0, "22.65", "Example 17, p. 70"),
        ({"solar_mj_m2": 17.3, "sun_hours": 2.0, **LYON}, LYON_DAY, LYON_DEG, 200.0, "17.3", "the reading"),
    ],
)
def test_solar_radiation(readings, date, latitude_deg, elevation_m, answer, source):
    rs, _ = solar_radiation(day(date, **readings), math.radians(latitude_deg), elevation_m)
    assert rs.iloc[0] == printed(answer), source


@pytest.mark.parametrize(
    ("readings", "answer", "source"),
    [
        ({"tmin_c": 18, "tmax_c": 25, "rh_max_pct": 82, "rh_min_pct": 54}, "1.70", "Example 5, p. 39"),
        ({"tmin_c": 18, "tmax_c": 25, "rh_mean_pct": 68}, "1.78", "Example 5, p. 39, with Eq. 19"),
        ({"tmin_c": 18, "tmax_c": 25, "rh_max_pct": 82}, "1.69", "Example 5, p. 39: 2.064 kPa of Tmin at 82 %, Eq. 18"),
        (LYON, "1.68", "Example 20, p. 77"),
    ],
)
def test_vapour_pressure(readings, answer, source):
    ea, _ = vapour_pressure(day(LYON_DAY, **readings))
    assert ea.iloc[0] == printed(answer), source


def test_example_14_wind_from_10_m():
    u2, words = wind_at_2m(day(LYON_DAY, wind_m_s=3.2), 10.0)
    assert u2.iloc[0] == printed("2.4")
    assert words == ("wind: brought from 10 m down to 2 m (FAO-56 Eq. 47)",)


def test_wind_read_at_2_m_stays_as_it_is():
    u2, words = wind_at_2m(day(LYON_DAY, wind_m_s=3.2), 2.0)
    assert (u2.iloc[0], words) == (3.2, ())


def hargreaves_mm(latitude_deg, day_of_year, tmin_c, tmax_c):
    """FAO-56 Eq. 21-25 and 52 written anew; Ra in mm by the latent heat at the day's temperature (Annex 3, Eq. 3-1)."""
    phi, tmean_c = latitude_deg * math.pi / 180, (tmin_c + tmax_c) / 2
    dr = 1 + 0.033 * math.cos(2 * math.pi * day_of_year / 365)
    dec = 0.409 * math.sin(2 * math.pi * day_of_year / 365 - 1.39)
    ws = math.acos(min(1.0, max(-1.0, -math.tan(phi) * math.tan(dec))))
    sun = ws * math.sin(phi) * math.sin(dec) + math.cos(phi) * math.cos(dec) * math.sin(ws)
    ra_mm = 24 * 60 / math.pi * 0.0820 * dr * sun / (2.501 - 0.002361 * tmean_c)
    return max(0.0, 0.0023 * (tmean_c + 17.8) * math.sqrt(tmax_c - tmin_c) * ra_mm)


@pytest.mark.parametrize("latitude_deg", [50.8, 36.1, 0.0, -34.0, 69.0])
def test_a_year_of_hargreaves_by_an_independent_formula(latitude_deg):
    index = pd.date_range("2031-01-01", "2031-12-31", name="date")
    warmth = np.sin((index.dayofyear - 110) * 2 * np.pi / 365) * (1 if latitude_deg >= 0 else -1)
    year = pd.DataFrame({"tmin_c": 5 + 8 * warmth, "tmax_c": 14 + 10 * warmth}, index=index)
    expected_mm = [
        hargreaves_mm(latitude_deg, n, tmin_c, tmax_c)
        for n, tmin_c, tmax_c in zip(index.dayofyear, year["tmin_c"], year["tmax_c"], strict=True)
    ]
    et0_mm, _ = reference_et0(year, latitude_deg, None, 2.0)
    np.testing.assert_allclose(et0_mm, expected_mm, rtol=1e-8, atol=1e-12)
    as_if_radians = sum(
        hargreaves_mm(math.degrees(latitude_deg), n, lo, hi)
        for n, lo, hi in zip(index.dayofyear, year["tmin_c"], year["tmax_c"], strict=True)
    )
    assert latitude_deg == 0.0 or abs(as_if_radians / et0_mm.sum() - 1) > 0.05  # degrees in place of radians show


SUN = {"solar_mj_m2": 20.0}
HUMIDITY = {"rh_max_pct": 90.0, "rh_min_pct": 50.0}
WIND = {"wind_m_s": 1.4}


@pytest.mark.parametrize(
    ("readings", "assumed"),
    [
        ({**SUN, **HUMIDITY, **WIND}, []),
        ({"sun_hours": 9.0, **HUMIDITY, **WIND}, ["sunshine hours"]),
        ({**HUMIDITY, **WIND}, ["temperature range"]),
        ({**SUN, **WIND}, ["dew point"]),
        ({**SUN, "rh_mean_pct": 70.0, **WIND}, ["mean alone"]),
        ({**SUN, "rh_max_pct": 90.0, **WIND}, ["highest alone"]),
        ({**SUN, "rh_min_pct": 50.0, **WIND}, ["dew point"]),
        ({**SUN, **HUMIDITY}, ["2 m/s on every day"]),
        (WIND, ["temperature range", "dew point"]),
        (HUMIDITY, ["temperature range", "2 m/s on every day"]),
        (SUN, ["dew point", "2 m/s on every day"]),
    ],
)
def test_each_estimate_is_named(readings, assumed):
    _, et0 = reference_et0(day(LYON_DAY, **LYON, **readings), LYON_DEG, LYON_M, 2.0)
    assert et0.method == "Penman-Monteith (FAO-56 Eq. 6)"
    assert len(et0.assumed) == len(assumed)
    assert all(words in line for words, line in zip(assumed, et0.assumed, strict=True))


@pytest.mark.parametrize("readings", [{}, {"rh_min_pct": 50.0}, {"tmean_c": 20.0}])
def test_hargreaves_where_only_temperatures_are_of_use(readings):
    _, et0 = reference_et0(day(LYON_DAY, **LYON, **readings), LYON_DEG, None, 2.0)
    assert et0.method == "Hargreaves (FAO-56 Eq. 52)"


@pytest.mark.parametrize("more", [{}, WIND])
def test_a_given_mean_temperature_takes_the_place_of_the_middle(more):
    given, _ = reference_et0(day(LYON_DAY, **LYON, **more, tmean_c=(14.8 + 26.6) / 2), LYON_DEG, LYON_M, 2.0)
    warmer, _ = reference_et0(day(LYON_DAY, **LYON, **more, tmean_c=24.0), LYON_DEG, LYON_M, 2.0)
    middle, _ = reference_et0(day(LYON_DAY, **LYON, **more), LYON_DEG, LYON_M, 2.0)
    assert given.iloc[0] == pytest.approx(middle.iloc[0], rel=1e-12)
    assert warmer.iloc[0] > middle.iloc[0]


def test_a_given_et0_needs_nothing_else():
    et0_mm, et0 = reference_et0(day(LYON_DAY, et0_mm=4.25, tmin_c=3.0), None, None, 2.0)
    assert (et0_mm.iloc[0], et0.method, et0.assumed) == (4.25, "as given", ())


def test_a_deep_frost_gives_zero_not_less():
    et0_mm, _ = reference_et0(day("2031-01-15", tmin_c=-40.0, tmax_c=-30.0), 60.0, None, 2.0)
    assert et0_mm.iloc[0] == 0.0


def test_sunshine_is_held_to_the_daylight_and_told():
    winter = pd.concat([day("2031-12-20", **LYON, sun_hours=24.0), day("2031-12-21", **LYON, sun_hours=3.0)])
    rs, words = solar_radiation(winter, math.radians(50.8), 100.0)
    ra, _ = solar_radiation(winter.assign(sun_hours=0.0), math.radians(50.8), 100.0)
    assert rs.iloc[0] == pytest.approx(
        3 * ra.iloc[0]
    )  # (0.25 + 0.50) Ra on a day of full sun, 0.25 Ra without (Eq. 35)
    assert words[1] == "sunshine: longer than the daylight on 1 of 2 days, held to it (Eq. 34)"


def test_radiation_from_a_wide_temperature_range_is_held_to_the_clear_sky():
    desert = day(LYON_DAY, tmin_c=8.0, tmax_c=44.0)  # 0.16 times the root of 36 is 0.96 Ra
    rs, _ = solar_radiation(desert, math.radians(LYON_DEG), 1000.0)
    overcast, _ = solar_radiation(desert.assign(sun_hours=0.0), math.radians(LYON_DEG), 1000.0)  # 0.25 Ra (Eq. 35)
    assert rs.iloc[0] == pytest.approx((0.75 + 0.00002 * 1000) * 4 * overcast.iloc[0], rel=1e-12)  # Eq. 37


def test_no_radiation_in_the_polar_night():
    rs, _ = solar_radiation(day("2031-12-21", sun_hours=0.0), math.radians(75.0), 0.0)
    assert rs.iloc[0] == 0.0
    et0_mm, _ = reference_et0(day("2031-12-21", tmin_c=-9.0, tmax_c=-2.0, sun_hours=0.0), 75.0, 0.0, 2.0)
    assert math.isfinite(et0_mm.iloc[0])


@pytest.mark.parametrize(
    ("place", "key", "remedy"),
    [
        ((None, LYON_M, 2.0), "[site] latitude_deg", "add it, north positive (latitude_deg = 53.1)"),
        ((91.0, LYON_M, 2.0), "[site] latitude_deg is 91", "from -90 to 90"),
        ((math.nan, LYON_M, 2.0), "[site] latitude_deg is nan", "from -90 to 90"),
        ((LYON_DEG, None, 2.0), "[site] elevation_m", "add it, in metres above the sea (elevation_m = 140)"),
        ((LYON_DEG, 50_000.0, 2.0), "[site] elevation_m is 50000", "write metres above the sea"),
        ((LYON_DEG, LYON_M, 0.05), "[weather] wind_height_m is 0.05", "in metres, 0.2 or more"),
        ((LYON_DEG, LYON_M, math.inf), "[weather] wind_height_m is inf", "in metres, 0.2 or more"),
    ],
)
def test_a_key_that_is_missing_or_impossible_is_named(place, key, remedy):
    with pytest.raises(WeatherError) as caught:
        reference_et0(day(LYON_DAY, **LYON, **WIND), *place)
    (line,) = caught.value.faults
    assert key in line
    assert remedy in line


@pytest.mark.parametrize("name", ["tmin_c", "tmax_c", "solar_mj_m2", "rh_max_pct", "wind_m_s"])
def test_a_day_without_result_is_named(name):
    readings = LYON | SUN | HUMIDITY | WIND
    days = pd.concat([day("2031-05-12", **readings), day("2031-05-13", **(readings | {name: math.nan}))])
    with pytest.raises(WeatherError, match=r"2031-05-13: no ET0 .* give the weather an et0_mm column"):
        reference_et0(days, LYON_DEG, LYON_M, 2.0)
    with pytest.raises(WeatherError, match="2031-05-13: no ET0 "):  # no number in the whole column
        reference_et0(days.iloc[1:], LYON_DEG, LYON_M, 2.0)


@pytest.mark.parametrize("more", [{}, WIND])
def test_a_minimum_above_the_maximum_has_no_result(more):
    with pytest.raises(WeatherError, match="2031-05-13: no ET0 "):
        reference_et0(day("2031-05-13", tmin_c=12.0, tmax_c=11.0, **more), LYON_DEG, LYON_M, 2.0)


def test_humidity_as_a_fraction_is_refused():
    with pytest.raises(
        WeatherError, match=r"rh_mean_pct is never above 1; write humidity in per cent \(75, not 0\.75\)"
    ):
        reference_et0(day(LYON_DAY, **LYON, rh_mean_pct=0.75), LYON_DEG, LYON_M, 2.0)


@pytest.mark.parametrize("more", [{}, WIND, SUN | HUMIDITY | WIND])
def test_an_index_without_dates_is_refused(more):
    with pytest.raises(TypeError, match="date index"):
        reference_et0(day(LYON_DAY, **LYON, **more).reset_index(drop=True), LYON_DEG, LYON_M, 2.0)


@settings(deadline=None)
@given(st.data())
def test_readings_within_the_ranges_always_have_a_result(data):
    def reading(low, high):
        return data.draw(st.floats(low, high))

    tmin_c = reading(-60, 60)
    readings = {"tmin_c": tmin_c, "tmax_c": reading(tmin_c, 60)}
    ranges = {
        "tmean_c": (-60, 60),
        "rh_mean_pct": (1.1, 100),
        "rh_min_pct": (0, 100),
        "rh_max_pct": (1.1, 100),
        "wind_m_s": (0, 60),
        "solar_mj_m2": (0, 50),
        "sun_hours": (0, 24),
    }
    for name in data.draw(st.sets(st.sampled_from(sorted(ranges)))):
        readings[name] = reading(*ranges[name])
    date = data.draw(st.dates(min_value=pd.Timestamp(1700, 1, 1).date(), max_value=pd.Timestamp(2200, 12, 31).date()))
    place = (reading(-90, 90), reading(-450, 9000), reading(0.2, 100))
    by_rung = rungs(day(date, **readings), *place)
    et0_mm, _ = reference_et0(day(date, **readings), *place)
    assert np.isfinite(by_rung).all(axis=None)
    assert (by_rung >= 0).all(axis=None)
    assert np.isfinite(et0_mm).all()


def test_heavy_packages_wait_until_they_are_needed():
    code = "import sys, waterbudget.weather.files; print(sorted({'pandas', 'pyet'} & set(sys.modules)))"
    root = Path(waterbudget.__file__).parent.parent
    found = subprocess.run([sys.executable, "-c", code], cwd=root, capture_output=True, text=True, check=True)
    assert found.stdout.strip() == "[]"
