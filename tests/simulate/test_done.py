"""What somebody did in place of the plan, by hand, and that no litre of it is lost."""

import datetime as dt

import numpy as np
import pytest
from gardens import site_of, weather_of
from hypothesis import given, settings
from hypothesis import strategies as st
from strategies import cases
from waterbudget.schedule.done import Done
from waterbudget.simulate.days import days

from waterbudget.schedule.built import garden_of
from waterbudget.schedule.season import season_of
from waterbudget.simulate.run import sky_of

FIRST = dt.date(2031, 5, 1)


def passed(site, weather, minutes, poured_l):
    done = Done(np.array(minutes, dtype=np.float64), np.array(poured_l, dtype=np.float64))
    dates = weather.dates.to_numpy().astype("M8[D]")[:, np.newaxis]
    return list(days(garden_of(site), season_of(site, dates), sky_of(site, weather), done))


def test_a_run_of_other_minutes_and_a_hose_into_the_butt():
    """Planned are 10 minutes at 5 L/min a day; 4 were run on the second day, none on the third; 60 L went in then."""
    site = site_of(
        {
            "site": {"name": "Brackenfold"},
            "tank": [{"name": "Butt", "capacity_l": 400, "start_l": 300}],
            "zone": [{"name": "Line", "tank": "Butt", "flow_l_min": 5, "minutes": 10}],
        }
    )
    weather = weather_of([{"date": FIRST + dt.timedelta(n), "rain_mm": 0.0, "et0_mm": 3.0} for n in range(4)])
    book = passed(site, weather, [[np.nan], [4.0], [0.0], [np.nan]], [[0.0], [0.0], [60.0], [0.0]])
    assert [day.outlets.asked_l.item() for day in book] == [50.0, 20.0, 0.0, 50.0]
    assert [day.outlets.minutes_run.item() for day in book] == [10.0, 4.0, 0.0, 10.0]
    assert [day.tanks.level_l.item() for day in book] == [250.0, 230.0, 290.0, 240.0]
    assert [day.tanks.inflow_l.item() for day in book] == [0.0, 0.0, 60.0, 0.0]


@settings(max_examples=60, deadline=None)
@given(cases(max_days=20), st.data())
def test_no_litre_is_lost(case, draw):
    site, weather = site_of(case[0]), weather_of(case[1])
    garden, length = garden_of(site), len(weather.dates)
    minutes = st.one_of(st.just(np.nan), st.floats(0.0, 60.0))
    ran = [[draw.draw(minutes) for _ in garden.outlets.name] for _ in range(length)]
    poured_l = [
        [draw.draw(st.sampled_from([0.0, 0.0, 35.5, 4000.0])) for _ in garden.tanks.name] for _ in range(length)
    ]
    before_l = garden.tanks.start_l
    for number, day in enumerate(passed(site, weather, ran, poured_l)):
        tanks, outlets = day.tanks, day.outlets
        fed_l = tanks.inflow_l + np.where([mains == "float" for mains in garden.tanks.mains], tanks.mains_l, 0.0)
        change_l = fed_l - tanks.drawn_l - tanks.spilled_l - tanks.lost_l
        np.testing.assert_allclose(tanks.level_l - before_l, change_l, rtol=1e-9, atol=1e-9 * 4000.0)
        assert np.all(tanks.inflow_l[0] >= np.array(poured_l[number]))
        assert np.all(tanks.level_l <= garden.tanks.capacity_l)
        given_l = outlets.store_l + outlets.mains_l + outlets.unmet_l
        np.testing.assert_allclose(given_l, outlets.asked_l, rtol=1e-9, atol=1e-9)
        for column, ran_minutes in enumerate(ran[number][: garden.outlets.zones]):
            if not np.isnan(ran_minutes):
                flow_l_min = garden.outlets.flow_l_min[0, column]
                assert outlets.asked_l[0, column] == pytest.approx(ran_minutes * flow_l_min)
        before_l = tanks.level_l
