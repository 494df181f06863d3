"""What somebody did in place of the plan, by hand, and that no litre of it is lost."""

import datetime as dt

import numpy as np
import pytest
from gardens import site_of, weather_of
from hypothesis import given, settings
from hypothesis import strategies as st
from strategies import cases

from waterbudget.schedule.actions import Actions
from waterbudget.schedule.built import garden_of
from waterbudget.schedule.season import season_of
from waterbudget.simulate.drive import drive
from waterbudget.simulate.keep import Keep
from waterbudget.simulate.result import DAILY
from waterbudget.simulate.run import sky_of
from waterbudget.simulate.state import State

FIRST = dt.date(2031, 5, 1)
NAN = np.nan


def booked(site, weather, minutes, mains_added_l, open_day=None):
    """Every quantity by name, (day, item)."""
    actions = Actions(np.array(minutes, dtype=np.float64), np.array(mains_added_l, dtype=np.float64), open_day)
    season, sky = season_of(site, weather.date_column), sky_of(site, weather)
    _, kept = drive(garden_of(site), season, sky, actions=actions, keep=Keep(each=(*DAILY, "tanks.let_in_l")))
    return {name: values[..., 0] for name, values in kept.each.items()}


def butt():
    """Planned are 10 minutes at 5 L/min a day."""
    return site_of(
        {
            "site": {"name": "Brackenfold"},
            "tank": [{"name": "Butt", "capacity_l": 400, "start_l": 300}],
            "zone": [{"name": "Line", "tank": "Butt", "flow_l_min": 5, "minutes": 10}],
            "draw": [{"name": "Cans", "tank": "Butt", "l_per_day": 6, "weekdays": ["sun"]}],
        }
    )


def dry(days):
    return weather_of([{"date": FIRST + dt.timedelta(n), "rain_mm": 0.0, "et0_mm": 3.0} for n in range(days)])


def test_a_run_of_other_minutes_and_a_hose_into_the_butt():
    """4 minutes were run on the second day, none on the third; 60 L went in then."""
    book = booked(butt(), dry(4), [[NAN, NAN], [4.0, NAN], [0.0, NAN], [NAN, NAN]], [[0.0], [0.0], [60.0], [0.0]])
    assert book["outlets.asked_l"][:, 0].tolist() == [50.0, 20.0, 0.0, 50.0]
    assert book["outlets.minutes_run"][:, 0].tolist() == [10.0, 4.0, 0.0, 10.0]
    assert book["tanks.level_l"][:, 0].tolist() == [250.0, 230.0, 290.0, 234.0]  # 4 May is a Sunday
    assert book["tanks.inflow_l"][:, 0].tolist() == [0.0, 0.0, 60.0, 0.0]


@pytest.mark.parametrize(("minutes", "asked_l"), [(4.0, 50.0), (24.0, 120.0), (0.0, 0.0), (NAN, 50.0)])
def test_on_a_day_that_is_not_over_a_run_goes_towards_the_plan(minutes, asked_l):
    """But a zone that was kept shut stays shut; other days take what was logged of them."""
    book = booked(butt(), dry(3), [[4.0, NAN], [minutes, NAN], [4.0, NAN]], [[0.0]] * 3, open_day=1)
    assert book["outlets.asked_l"][:, 0].tolist() == [20.0, asked_l, 20.0]


def test_some_of_the_days_keep_the_number_of_the_one_that_is_not_over():
    actions = Actions(np.arange(6.0).reshape(6, 1), np.zeros((6, 2)), open_day=4)
    later = actions.of(slice(3, None))
    assert (later.open_day, later.minutes[:, 0].tolist()) == (1, [3.0, 4.0, 5.0])
    assert later.mains_added_l.shape == (3, 2)
    assert actions.of(slice(2)).open_day == 4


def test_a_draw_has_no_minutes():
    book = booked(butt(), dry(4), [[NAN, 30.0]] * 4, [[0.0]] * 4)
    assert book["outlets.asked_l"][:, 1].tolist() == [0.0] * 4


@st.composite
def actions_in(draw, table, days):
    """What somebody did on some of the days."""
    minutes = np.full((days, len(table["zone"]) + len(table["draw"])), np.nan)
    mains_added_l = np.zeros((days, len(table["tank"])))
    for day in draw(st.lists(st.integers(0, days - 1), max_size=6)):
        minutes[day, draw(st.integers(0, len(table["zone"]) - 1))] = draw(st.sampled_from([0.0, 4.0, 33.5]))
    for day in draw(st.lists(st.integers(0, days - 1), max_size=4)):
        mains_added_l[day, draw(st.integers(0, len(table["tank"]) - 1))] = draw(st.sampled_from([35.5, 900.0]))
    return Actions(minutes, mains_added_l)


@settings(max_examples=40, deadline=None)
@given(cases(max_days=40), st.data())
def test_two_halves_are_the_whole_whatever_was_logged(case, data):
    table, rows = case
    site, weather = site_of(table), weather_of(rows)
    garden, season, sky = garden_of(site), season_of(site, weather.date_column), sky_of(site, weather)
    actions, half = data.draw(actions_in(table, len(rows))), data.draw(st.integers(1, len(rows) - 1))
    keep = Keep(each=(*DAILY, "outlets.work_minutes"))
    end, whole = drive(garden, season, sky, actions=actions, keep=keep)
    evening, parts = None, []
    for some in (slice(half), slice(half, None)):
        evening, kept = drive(garden, season.of(some), sky.of(some), evening, actions.of(some), keep)
        parts.append(kept.each)
    for name, values in whole.each.items():
        np.testing.assert_array_equal(np.concatenate([part[name] for part in parts]), values, name)
    for one, other in zip(evening[:3], end[:3], strict=True):
        np.testing.assert_array_equal(one, other)


def test_mains_water_that_was_let_in_is_told_from_rain_for_good():
    """Of 300 L 100 are mains water then, and of 60 L a day 20, though nobody lets any in on the second day."""
    table = {
        "site": {"name": "Brackenfold"},
        "tank": [{"name": "Butt", "capacity_l": 400, "start_l": 200}],
        "zone": [{"name": "Line", "tank": "Butt", "flow_l_min": 6, "minutes": 10}],
    }
    rows = [{"date": FIRST + dt.timedelta(day), "rain_mm": 0.0, "et0_mm": 3.0} for day in range(2)]
    site, weather = site_of(table), weather_of(rows)
    garden, season, sky = garden_of(site), season_of(site, weather.date_column), sky_of(site, weather)
    actions = Actions(np.full((2, 1), np.nan), np.array([[100.0], [0.0]]))
    first, second = slice(1), slice(1, None)
    keep = Keep(each=("outlets.rain_l", "tanks.drawn_mains_l"))
    evening, _ = drive(garden, season.of(first), sky.of(first), actions=actions.of(first))
    for later in (actions.of(second), None):
        end, kept = drive(garden, season.of(second), sky.of(second), evening, later, keep)
        assert kept.each["outlets.rain_l"].item() == pytest.approx(40.0)
        assert kept.each["tanks.drawn_mains_l"].item() == pytest.approx(20.0)
        assert end.mains_l.item() == pytest.approx((300 - 120) / 3)


def test_a_dip_is_another_evening_with_the_mixture_of_before():
    evening = State(np.array([[300.0]]), np.array([[100.0]]), np.zeros((0, 1)))
    read = evening.dipped(0, 150.0)
    assert (read.level_l.item(), read.mains_l.item()) == (150.0, 50.0)
    assert (evening.level_l.item(), evening.mains_l.item()) == (300.0, 100.0), "the evening itself stays"
    assert evening.dipped(0, 0.0).dipped(0, 150.0).mains_l.item() == 0.0, "what comes after none is rain"


@settings(max_examples=60, deadline=None)
@given(cases(max_days=20), st.data())
def test_no_litre_is_lost(case, draw):
    site, weather = site_of(case[0]), weather_of(case[1])
    garden, length = garden_of(site), len(weather.dates)
    minutes = st.one_of(st.just(NAN), st.floats(0.0, 60.0))
    ran = np.array([[draw.draw(minutes) for _ in garden.names.outlets] for _ in range(length)])
    litres = st.sampled_from([0.0, 0.0, 35.5, 4000.0])
    added_l = np.array([[draw.draw(litres) for _ in garden.names.tanks] for _ in range(length)])
    book = booked(site, weather, ran, added_l)
    level_l = np.concatenate([garden.tanks.start_l.T, book["tanks.level_l"]])
    late_l = (book["tanks.mains_l"] - book["tanks.let_in_l"]) * of_float(garden)  # through the valve while drawn
    came_l = book["tanks.inflow_l"] + book["tanks.let_in_l"] + late_l + book["tanks.moved_in_l"]
    went_l = book["tanks.drawn_l"] + book["tanks.spilled_l"] + book["tanks.lost_l"] + book["tanks.moved_out_l"]
    np.testing.assert_allclose(np.diff(level_l, axis=0), came_l - went_l, rtol=1e-9, atol=1e-9 * 4000.0)
    assert np.all(book["tanks.inflow_l"] >= added_l)
    assert np.all(level_l <= garden.tanks.capacity_l.T)
    given_l = book["outlets.store_l"] + book["outlets.mains_l"] + book["outlets.unmet_l"]
    np.testing.assert_allclose(given_l, book["outlets.asked_l"], rtol=1e-9, atol=1e-9)
    zones = slice(garden.structure.zones)
    logged = ~np.isnan(ran[:, zones])
    ran_l = ran[:, zones] * garden.outlets.flow_l_min[zones, 0]
    np.testing.assert_allclose(book["outlets.asked_l"][:, zones][logged], ran_l[logged])


def of_float(garden):
    """1 for tanks with a float valve."""
    return np.array([float(kind == "float") for kind in garden.structure.mains])
