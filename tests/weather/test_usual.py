"""A garden that measures no more than rain: usual temperatures, and how far ET0 from them may be off."""

import datetime as dt
import math
from dataclasses import dataclass

import numpy as np
import open_records
import pandas as pd
import pyet
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from waterbudget.errors import WeatherError
from waterbudget.weather.et0 import USUAL_ERROR_PCT, reference_et0
from waterbudget.weather.usual import gauge_weather, monthly, usual_days, usual_of

PLACES = {  # latitude [deg], elevation [m], height of the wind [m], as in test_et0_records
    "Rechtenbach": (50.5, 200.0, 2.0),
    "Greensboro": (36.1, 273.0, 10.0),
    "Sand Point": (55.317, 7.0, 10.0),
}
READINGS = ["tmin_c", "tmax_c", "solar_mj_m2", "rh_min_pct", "rh_max_pct", "wind_m_s"]


@dataclass(frozen=True)
class Garden:
    latitude_deg: float | None = 52.9
    longitude_deg: float | None = None
    elevation_m: float | None = None
    wind_height_m: float = 2.0


@dataclass(frozen=True)
class Usual:
    highs_c: tuple
    lows_c: tuple


FOUR = Usual((7.0, 21.0), (1.0, 12.0))


@pytest.fixture(scope="module")
def records():
    daily = (open_records.rechtenbach(), open_records.greensboro(), open_records.sand_point())
    return dict(zip(PLACES, daily, strict=True))


def year(number=2031):
    return pd.date_range(f"{number}-01-01", f"{number}-12-31")


TEMPERATURES = st.lists(st.floats(-40.0, 40.0), min_size=12, max_size=12)


@settings(deadline=None)
@given(TEMPERATURES, st.sampled_from([2031, 2032]))
def test_the_mean_of_every_month_is_the_one_given(months_c, number):
    days = usual_days(Usual(tuple(months_c), tuple(np.array(months_c) - 60.0)), year(number))
    np.testing.assert_allclose(days["tmax_c"].groupby(days.index.month).mean(), months_c, rtol=0, atol=1e-9)


@settings(deadline=None)
@given(TEMPERATURES)
def test_the_year_has_no_jump(months_c):
    days = usual_days(
        Usual(tuple(months_c), tuple(np.array(months_c) - 200.0)), pd.date_range("2031-01-01", "2032-12-31")
    )
    step_c = days["tmax_c"].diff().abs().max()
    assert step_c <= 0.5 * max(np.ptp(months_c), 1e-9)  # at most from one month to the next in a few days


def test_two_months_make_a_year_between_them():
    np.testing.assert_allclose(monthly((1.0, 21.0))[[0, 3, 6, 9]], [1, 11, 21, 11])
    days = usual_days(FOUR, year())
    assert days["tmax_c"].idxmax().month == 7
    assert days["tmin_c"].idxmin().month == 1
    south = usual_days(Usual((27.0, 15.0), (14.0, 4.0)), year())
    assert south["tmax_c"].idxmax().month == 1


def test_the_lowest_is_never_above_the_highest():
    days = usual_days(Usual((10.0,) * 12, (10.0, -20.0) * 6), year())
    assert (days["tmin_c"] <= days["tmax_c"]).all()


def test_a_cosine_misses_the_months_of_real_places_by_some_degrees(records):
    misses = []
    for record in (*records.values(), open_records.seattle()):
        means = record[["tmin_c", "tmax_c"]].groupby(record.index.month).mean()
        for column in means:
            months_c = means[column].to_numpy()
            misses.append(math.sqrt(np.mean((monthly((months_c[0], months_c[6])) - months_c) ** 2)))
    assert (round(min(misses), 1), round(max(misses), 1)) == (1.0, 2.7)  # as the docstring says


def test_the_likely_error_is_that_of_the_records(records):
    """Yearly ET0 by Hargreaves with the record's own monthly means, or a cosine through two of them, against full."""
    errors_pct = []
    for name, record in records.items():
        full_mm, _ = reference_et0(record[READINGS], *PLACES[name])
        means = record[["tmin_c", "tmax_c"]].groupby(record.index.month).mean()
        for months in (range(1, 13), (1, 7)):
            usual = Usual(*(tuple(means.loc[[*months], column]) for column in ("tmax_c", "tmin_c")))
            et0_mm, _ = reference_et0(usual_days(usual, record.index), *PLACES[name])
            ratio = et0_mm.groupby(et0_mm.index.year).sum() / full_mm.groupby(full_mm.index.year).sum()
            errors_pct += (100.0 * (ratio - 1.0)).tolist()
    assert (math.floor(min(errors_pct)), math.ceil(max(errors_pct))) == USUAL_ERROR_PCT


# ---- A gauge alone ----


def gauge(folder, *rows):
    path = folder / "gauge.csv"
    path.write_text("\n".join(["date,rain_mm", *rows]), "utf-8")
    return path


def test_a_gauge_and_usual_temperatures_make_weather(tmp_path):
    weather, unread = gauge_weather(gauge(tmp_path, "2031-07-01,3.5", "2031-07-02,0", "2031-07-05,8"), FOUR, Garden())
    assert weather.daily["rain_mm"].tolist() == [3.5, 0, 0, 0, 8]
    assert unread == 2
    assert weather.source == "gauge.csv, with usual temperatures"
    expected_mm = pyet.hargreaves(
        weather.daily[["tmin_c", "tmax_c"]].mean(axis=1),
        weather.daily["tmax_c"],
        weather.daily["tmin_c"],
        math.radians(52.9),
    )
    np.testing.assert_allclose(weather.daily["et0_mm"], expected_mm, rtol=1e-12)
    assert 3.0 < weather.daily["et0_mm"].iloc[0] < 4.5  # FAO-56 Table 2: temperate, humid and about 20 degC: 2 to 4 mm
    assert weather.et0.method == "Hargreaves (FAO-56 Eq. 52)"
    assert weather.et0.assumed == ("temperatures: those usual for the day of the year",)
    assert weather.et0.likely_error.startswith(
        "over a year 32 % too low to 80 % too high, as measured at three stations"
    )


def test_latitude_is_needed(tmp_path):
    with pytest.raises(WeatherError, match="latitude_deg, which is missing"):
        gauge_weather(gauge(tmp_path, "2031-07-01,3.5"), FOUR, Garden(latitude_deg=None))


def test_faults_of_the_gauge_are_told(tmp_path):
    with pytest.raises(WeatherError, match=r"gauge\.csv: row 2: 2031-07-01: rain_mm is \"wet\""):
        gauge_weather(gauge(tmp_path, "2031-07-01,wet"), FOUR, Garden())


# ---- Of a record ----


def test_usual_temperatures_are_the_monthly_means_of_a_record(records):
    record = records["Greensboro"]
    low_c, high_c = usual_of(record)
    months = record.groupby(record.index.month)
    np.testing.assert_allclose(low_c, months["tmin_c"].mean(), atol=0.051)
    np.testing.assert_allclose(high_c, months["tmax_c"].mean(), atol=0.051)


def test_a_record_without_a_month_has_none(records):
    record = records["Greensboro"]
    assert usual_of(record[record.index.month != 2]) is None
    assert usual_of(record.drop(columns="tmin_c")) is None
    few = record.copy()
    few.loc[(few.index.month == 3) & (few.index.day > 24), "tmax_c"] = np.nan
    assert usual_of(few) is None
    assert usual_of(record[record.index >= pd.Timestamp(dt.date(record.index[0].year, 6, 1))]) is None
