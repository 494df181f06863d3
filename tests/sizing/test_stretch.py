import datetime as dt

import numpy as np
import pytest
from gardens import site_of, weather_of

from waterbudget.errors import WeatherError
from waterbudget.sizing.stretch import NOT_COUNTED, STRING_YEARS, drawn_stretch, recorded_stretch
from waterbudget.weather.years import Years

NORTH, SOUTH = 53.1, -33.0


def site(latitude_deg=NORTH, **more):
    return site_of(
        {
            "site": {"name": "Brackenfold", "latitude_deg": latitude_deg},
            "tank": [{"name": "Butt", "capacity_l": 300.0, "start_l": 100.0}],
        }
        | more
    )


def weather(first, last):
    first, last = dt.date.fromisoformat(first), dt.date.fromisoformat(last)
    days = [first + dt.timedelta(n) for n in range((last - first).days + 1)]
    return weather_of([{"date": day, "rain_mm": float(day.month), "et0_mm": 2.0} for day in days])


@pytest.mark.parametrize(
    ("first", "last", "latitude_deg", "names", "days", "whole", "begins", "before"),
    [
        ("2031-01-01", "2032-12-31", NORTH, ("2031", "2032"), [365, 366], True, "2031-01-01", 0),
        ("2030-05-01", "2032-02-10", NORTH, ("2031",), [365], True, "2031-01-01", 245),
        ("2031-05-01", "2031-09-30", NORTH, ("2031",), [153], False, "2031-05-01", 0),
        ("2031-12-30", "2032-01-03", NORTH, ("2031", "2032"), [2, 3], False, "2031-12-30", 0),
        ("2031-01-01", "2032-12-31", SOUTH, ("2031-32",), [366], True, "2031-07-01", 181),
        ("2031-11-01", "2032-03-31", SOUTH, ("2031-32",), [152], False, "2031-11-01", 0),
    ],
)
def test_which_days_are_a_year(first, last, latitude_deg, names, days, whole, begins, before):
    stretch = recorded_stretch(site(latitude_deg), weather(first, last))
    assert (stretch.names, stretch.whole, stretch.strings) == (names, whole, 1)
    assert stretch.year_days.tolist() == days
    assert stretch.begins == np.datetime64(begins)
    assert stretch.days_before == before
    assert (stretch.year != NOT_COUNTED).sum() == sum(days)


def test_only_counted_days_add_up():
    stretch = recorded_stretch(site(), weather("2030-12-01", "2032-03-31"))
    rain_mm = sum(
        dt.date.fromordinal(day).month
        for day in range(dt.date(2031, 1, 1).toordinal(), 365 + dt.date(2031, 1, 1).toordinal())
    )
    assert stretch.rain_mm == rain_mm


def drawn(count, days=365, **more):
    """Years whose rain tells which year and day they are."""
    rain_mm = np.arange(count) * 1000.0 + np.arange(days)[:, None]
    dates = np.repeat((np.datetime64("2001-01-01") + np.arange(days))[:, None], count, axis=1)
    names = tuple(f"generated {year}" for year in range(1, count + 1))
    parts = {"tmin_c": None, "tmax_c": None, "et0_mm": rain_mm + 0.5} | more
    return Years(names, dates, rain_mm, method="blocks", years_behind=10, note="", **parts)


def test_drawn_years_follow_each_other_in_strings():
    stretch = drawn_stretch(site(), drawn(23))
    assert (stretch.strings, len(stretch.names), stretch.whole) == (3, 23, True)
    assert stretch.sky.rain_mm.shape == (STRING_YEARS * 365, 3)
    in_order = stretch.sky.rain_mm.T.ravel()[: 23 * 365]
    np.testing.assert_array_equal(in_order, drawn(23).rain_mm.T.ravel())
    np.testing.assert_array_equal(stretch.sky.et0_mm, stretch.sky.rain_mm + 0.5)
    np.testing.assert_array_equal(stretch.of_years(stretch.sky.rain_mm), drawn(23).rain_mm.sum(axis=0))


def test_their_dates_go_on_without_leap_days():
    dates = drawn_stretch(site(), drawn(23)).season.dates[:, 0]
    assert (dates[0], dates[364], dates[365], dates[-1]) == tuple(
        np.datetime64(day) for day in ("2001-01-01", "2001-12-31", "2002-01-01", "2010-12-31")
    )
    steps = np.unique(np.diff(dates)).astype(int)
    assert steps.tolist() == [1, 2]  # two days only over a 29 February
    assert not any(str(date).endswith("02-29") for date in dates)


def test_few_drawn_years_make_one_string():
    stretch = drawn_stretch(site(), drawn(3))
    assert (stretch.strings, stretch.year_days.tolist()) == (1, [365, 365, 365])


def test_each_string_is_repeated_for_its_lanes():
    stretch = drawn_stretch(site(), drawn(23, tmax_c=np.full((365, 23), 20.0)))
    sky = stretch.of_strings(slice(1, 3), 4)
    assert sky.rain_mm.shape == sky.et0_mm.shape == sky.tmax_c.shape == (3650, 8)
    np.testing.assert_array_equal(sky.rain_mm[:, 3], stretch.sky.rain_mm[:, 1])
    np.testing.assert_array_equal(sky.rain_mm[:, 4], stretch.sky.rain_mm[:, 2])


def test_one_string_serves_all_lanes():
    stretch = recorded_stretch(site(), weather("2031-05-01", "2031-05-09"))
    assert stretch.of_strings(slice(0, 1), 50) is stretch.sky


HOT = {"name": "Line", "tank": "Butt", "flow_l_min": 4.0, "minutes": 5.0, "hot_above_c": 25.0, "hot_minutes": 9.0}


def test_hot_days_need_the_highest_temperature():
    with pytest.raises(WeatherError, match=r"zone\[1\].hot_above_c needs a tmax_c column"):
        recorded_stretch(site(zone=[HOT]), weather("2031-05-01", "2031-05-09"))
    with pytest.raises(WeatherError, match=r"zone\[1\].hot_above_c needs a tmax_c column"):
        drawn_stretch(site(zone=[HOT]), drawn(2))


def test_drawn_years_need_their_et0():
    with pytest.raises(WeatherError, match="no et0_mm"):
        drawn_stretch(site(), drawn(2, et0_mm=None))
