"""What a spell may be, on which day it begins, and its ET0."""

import datetime as dt

import numpy as np
import pandas as pd
import pytest
from gardens import site_of
from spell.beans import table

from waterbudget.errors import InputError, SiteError
from waterbudget.spell.hot import LONGEST_DAYS, Spell, hot_days
from waterbudget.weather.days import Weather
from waterbudget.weather.et0 import Et0, reference_et0

LYON_DEG = 45 + 43 / 60


def weather(first, last, *, et0="as given", factor=None, **columns):
    """Weather of a period: mean days, with ET0 that is Hargreaves times a factor of the day's rain."""
    index = pd.date_range(first, last, freq="D", name="date")
    daily = pd.DataFrame({"rain_mm": 0.0, "et0_mm": 3.0, **columns}, index).astype("float64")
    if factor is not None:
        hargreaves_mm, _ = reference_et0(daily[["tmin_c", "tmax_c"]], 52.9, None, 2.0)
        daily["et0_mm"] = hargreaves_mm * factor(daily)
    return Weather.of(daily, Et0(et0, (), "invented"), "weather.csv")


def starts(begin, end, *, south=False, **wanted):
    return Spell(**wanted).starting(weather(begin, end), south=south).first


@pytest.mark.parametrize(
    ("wrong", "line"),
    [
        ({"days": 0}, "days is 0; write 1 to 92"),
        ({"days": 400}, "days is 400; write 1 to 92"),
        ({"days": -3}, "days is -3; write 1 to 92"),
        ({"high_c": 60.0}, "high is 60; write degrees Celsius from -10 to 55"),
        ({"high_c": float("nan")}, "high is nan; write degrees"),
        ({"low_c": 27.0}, "low is 27; write degrees Celsius below the high of 26"),
        ({"low_c": 26.0}, "low is 26; write degrees Celsius below the high of 26"),
        ({"low_c": -40.0}, "low is -40; write degrees Celsius below the high of 26, and not under -21"),
        ({"low_c": float("nan")}, "low is nan; write degrees"),
        ({"rain_mm": -1.0}, "rain-mm is -1; write the millimetres of each of its days, 0 to 50"),
        ({"rain_mm": float("inf")}, "rain-mm is inf; write the millimetres"),
    ],
)
def test_what_cannot_be_is_told_in_a_line(wrong, line):
    with pytest.raises(InputError) as told:
        Spell(**wrong)
    (fault,) = told.value.faults
    assert fault.startswith(line)


def test_all_faults_are_told_at_once():
    with pytest.raises(InputError) as told:
        Spell(days=0, high_c=99.0, low_c=100.0, rain_mm=-1.0)
    assert len(told.value.faults) == 3  # of a high that cannot be nothing is said of the low
    assert Spell(days=LONGEST_DAYS).days == LONGEST_DAYS


def test_a_night_is_eleven_degrees_cooler_unless_told():
    assert Spell(high_c=30.0).night_c == 19.0
    assert Spell(high_c=30.0, low_c=21.5).night_c == 21.5


@pytest.mark.parametrize(
    ("first", "last", "south", "day"),
    [
        ("2031-05-01", "2031-09-30", False, "2031-07-01"),
        ("2019-01-01", "2030-12-31", False, "2030-07-01"),  # the last year's
        ("2019-01-01", "2030-06-30", False, "2030-07-01"),  # the day after the last
        ("2031-03-01", "2031-05-20", False, "2031-05-21"),
        ("2031-08-10", "2031-09-30", False, "2031-08-10"),
        ("2030-11-01", "2031-03-31", True, "2031-01-01"),
    ],
)
def test_it_begins_at_midsummer_or_as_near_as_the_weather_comes(first, last, south, day):
    assert starts(first, last, south=south) == dt.date.fromisoformat(day)


def test_the_first_day_is_one_that_the_weather_leads_up_to():
    period = ("2031-05-01", "2031-09-30")
    for day in (dt.date(2031, 5, 1), dt.date(2031, 10, 1)):  # the first one, and the one after the last
        assert starts(*period, first=day) == day
    for day in (dt.date(2031, 4, 30), dt.date(2031, 10, 2)):
        with pytest.raises(InputError, match="choose a day from 2031-05-01 to 2031-10-01") as told:
            starts(*period, first=day)
        assert str(told.value).startswith(f"from is {day}")


def test_et0_is_that_of_the_temperatures_there_and_then():
    """FAO-56 Example 20, p. 77-78: near Lyon in July, 26.6 and 14.8 °C, Hargreaves gives 5.0 mm a day."""
    site = site_of(table(site={"name": "Brackenfold", "latitude_deg": LYON_DEG}))
    spell = Spell(days=1, high_c=26.6, low_c=14.8, first=dt.date(2031, 7, 15))  # J = 196
    days = hot_days(spell, site, weather("2031-05-01", "2031-07-14"))
    assert days.et0_mm.item() == pytest.approx(5.0, abs=0.05)
    assert days.et0_note == "Hargreaves (FAO-56 Eq. 52) from the temperatures"


def test_the_days_hold_what_was_asked_for():
    site = site_of(table())
    days = hot_days(Spell(4, 27.0, 12.0, 1.5, dt.date(2031, 8, 30)), site, weather("2031-05-01", "2031-09-30"))
    assert [str(day) for day in days.dates[:, 0]] == ["2031-08-30", "2031-08-31", "2031-09-01", "2031-09-02"]
    np.testing.assert_array_equal(days.rain_mm, np.full((4, 1), 1.5))
    np.testing.assert_array_equal(days.tmax_c, np.full((4, 1), 27.0))
    assert (np.diff(days.et0_mm[:, 0]) < 0.0).all()  # the days grow shorter


def test_it_is_brought_to_the_weathers_own_et0_on_dry_days_of_the_month():
    def wetter(daily):
        in_july = daily.index.month == 7
        return np.where(daily["rain_mm"] >= 1.0, 0.5, np.where(in_july, 1.2, 0.9))

    site, spell = site_of(table()), Spell(days=62, first=dt.date(2031, 7, 1))
    days = {"tmin_c": 10.0, "tmax_c": np.linspace(14.0, 26.0, 153), "rain_mm": np.tile([0.0, 0.0, 6.0], 51)}
    own = weather("2031-05-01", "2031-09-30", et0="another", factor=wetter, **days)
    plain = hot_days(spell, site, weather("2031-05-01", "2031-09-30"))
    brought = hot_days(spell, site, own)
    factor = (brought.et0_mm / plain.et0_mm)[:, 0]
    np.testing.assert_allclose(factor, np.repeat([1.2, 0.9], 31), rtol=1e-12)
    assert "1.20 in month 7, 0.90 in month 8" in brought.et0_note


def test_a_month_that_the_weather_lacks_takes_the_factor_of_all_days():
    days = {"tmin_c": 10.0, "tmax_c": 20.0}
    own = weather("2031-07-01", "2031-09-30", et0="another", factor=lambda daily: 0.8 + 0.0 * daily["rain_mm"], **days)
    spell, site = Spell(days=1, first=dt.date(2031, 10, 1)), site_of(table())
    plain = hot_days(spell, site, weather("2031-07-01", "2031-09-30"))
    assert (hot_days(spell, site, own).et0_mm / plain.et0_mm).item() == pytest.approx(0.8, rel=1e-12)


def test_without_a_latitude_there_is_no_et0():
    site = site_of(table(site={"name": "Brackenfold"}))
    with pytest.raises(SiteError, match=r"latitude_deg: is missing; add latitude_deg = 53\.1"):
        hot_days(Spell(first=dt.date(2031, 7, 1)), site, weather("2031-05-01", "2031-09-30"))
