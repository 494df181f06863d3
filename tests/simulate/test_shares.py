"""What rain did of the watering: one share, whoever asks, and no mains water in it."""

import datetime as dt
import re

import numpy as np
import pytest
from gardens import site_of, weather_of
from hypothesis import given, settings
from hypothesis import strategies as st
from strategies import cases

import waterbudget
from waterbudget.answers.page import met
from waterbudget.answers.run import answer as run_answer
from waterbudget.odds.outcomes import odds_of
from waterbudget.render.text import text as screen_of
from waterbudget.simulate.shares import met_by_rain
from waterbudget.sizing.sizes import try_sizes
from waterbudget.sizing.stretch import recorded_stretch
from waterbudget.weather.years import recorded_years

LITRES = st.floats(0.0, 1e5)
FIRST_DAY = dt.date(2031, 5, 1)


def floating(days=20, **tank):
    """A butt of 200 L without a roof, 40 L a day drawn, that its float valve fills from below 50 L to 50 L."""
    store = {"name": "Butt", "capacity_l": 200, "start_l": 200, "mains": "float", "float_below_l": 50, "float_to_l": 50}
    site = site_of(
        {
            "site": {"name": "A"},
            "tank": [store | tank],
            "draw": [{"name": "Cans", "tank": "Butt", "l_per_day": 40}],
        }
    )
    rows = [{"date": FIRST_DAY + dt.timedelta(n), "rain_mm": 0, "et0_mm": 0} for n in range(days)]
    return site, weather_of(rows)


@given(st.lists(st.tuples(LITRES, LITRES), min_size=1, max_size=5))
def test_the_share_stays_between_nothing_and_all(rows):
    rain_l, asked_l = np.array(rows).T
    share = met_by_rain(rain_l, asked_l)
    assert np.isnan(share[asked_l == 0.0]).all()
    assert ((share >= 0.0) & (share <= 1.0))[asked_l > 0.0].all()


def test_a_float_valve_s_water_is_not_rain():
    site, weather = floating()
    result = waterbudget.run(site, weather)
    summary = result.summary
    # 200 L last 4 days and leave 40 L; then 10 L and 15 times 40 L run in, and of the 50 L mixed 40 L are drawn: of the
    # rain a fifth stays every evening
    rain_l = 200 - 40 * 0.2**16
    assert (summary["store_l"], summary["mains_l"]) == (800, 610)
    assert (summary["rain_l"], summary["volume_reliability"]) == pytest.approx((rain_l, rain_l / 800))
    assert summary["zones"][0]["rain_l"] == pytest.approx(rain_l)
    assert (summary["days_lasted"], summary["first_mains"], summary["first_short"]) == (4, "2031-05-05", None)
    screen = screen_of(run_answer(result)).replace("\n", " ")
    assert "The stored rain lasts 4 days of 20: on 5 May 2031 the float valve of Butt first lets in mains" in screen
    assert re.search(r"Cans +800 +200 +600 +0 +25 % ", screen)
    assert "100 %" not in screen
    assert met(result) == "Stored rain did 25 % of the watering: 200 L of the 800 L asked for."


def test_more_mains_water_than_was_drawn_is_no_rain_below_nought():
    site, weather = floating(days=2, start_l=0, float_below_l=150, float_to_l=200)
    summary = waterbudget.run(site, weather).summary
    assert (summary["mains_l"], summary["asked_l"]) == (200, 80)
    assert (summary["rain_l"], summary["volume_reliability"], summary["days_lasted"]) == (0, 0, 0)
    found = try_sizes(site, 0, np.array([200.0]), recorded_stretch(site, weather))
    assert (found.met[0], found.turnovers[0]) == (0, 0)


@settings(max_examples=60, deadline=None)
@given(cases())
def test_run_sizes_and_odds_tell_one_share(case):
    site, weather = site_of(case[0]), weather_of(case[1])
    summary = waterbudget.run(site, weather, daily=False).summary
    assert summary["rain_l"] <= summary["store_l"] + 1e-9
    assert sum(zone["rain_l"] for zone in summary["zones"]) == pytest.approx(summary["rain_l"], rel=1e-9, abs=1e-9)
    first, last = (day.strftime("%m-%d") for day in (weather.dates[0], weather.dates[-1]))
    if first <= last and "02-29" not in (first, last):
        odds = odds_of(site, recorded_years(weather.daily, first, last))
        if len(odds.rain_l) == 1 and odds.days == summary["days"]:
            assert odds.rain_l[0] == pytest.approx(summary["rain_l"], rel=1e-9, abs=1e-9)
            assert odds.days_lasted[0] == summary["days_lasted"]
            share = summary["volume_reliability"]
            if share is not None:
                assert odds.all_met_by_rain == pytest.approx(share, abs=1e-9)
    for number, tank in enumerate(site.tank):
        booked = summary["tanks"][number]
        if booked["asked_l"] > 1e-6 and tank.capacity_l >= tank.dead_l:
            found = try_sizes(site, number, np.array([tank.all_l]), recorded_stretch(site, weather))
            rain_l = booked["drawn_l"] - booked["drawn_mains_l"]
            assert found.met[0] == pytest.approx(rain_l / booked["asked_l"], rel=1e-9, abs=1e-9)
            assert 0.0 <= found.met[0] <= 1.0
