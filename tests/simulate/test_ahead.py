"""What weather and season settle by themselves is worked out for some days at once; how many must not matter."""

from itertools import chain

import numpy as np
import pytest
from gardens import site_of, weather_of
from hypothesis import given, settings
from hypothesis import strategies as st
from strategies import cases
from waterbudget.simulate.days import Sky, days

from waterbudget.schedule import plan
from waterbudget.schedule.built import garden_of
from waterbudget.schedule.season import season_of
from waterbudget.simulate.run import sky_of


def booked(site, weather, lanes, at_once):
    """Everything that was booked on every day, with rain of its own in each lane."""
    dates, sky = weather.daily.index.to_numpy().astype("M8[D]")[:, None], sky_of(site, weather)
    skies = Sky(sky.rain_mm * np.linspace(1.0, 0.5, lanes), sky.et0_mm, sky.tmax_c)
    with pytest.MonkeyPatch.context() as patched:
        patched.setattr(plan, "MOST_DAYS_AHEAD", at_once)
        passing = days(garden_of(site), season_of(site, dates), skies)
        return [array for day in passing for array in chain.from_iterable(day)]


@settings(max_examples=30, deadline=None)
@given(cases(), st.integers(1, 3), st.integers(2, 20))
def test_days_worked_out_at_once_are_those_worked_out_one_by_one(case, lanes, at_once):
    table, rows = case
    site, weather = site_of(table), weather_of(rows)
    one_by_one, at_a_time = (booked(site, weather, lanes, some) for some in (1, at_once))
    for one, other in zip(one_by_one, at_a_time, strict=True):
        np.testing.assert_array_equal(one, other)


@pytest.mark.parametrize(("scenarios", "ahead"), [(1, 64), (62, 64), (100, 40), (3000, 1), (100_000, 1)])
def test_the_more_scenarios_the_fewer_days_at_once(scenarios, ahead):
    assert plan.days_ahead(scenarios) == ahead
