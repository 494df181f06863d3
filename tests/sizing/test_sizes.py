"""Sizes side by side: against runs of one garden, against arithmetic by hand and against what must always hold.

The release rules, yield after and yield before spillage, are those of Jenkins et al. (1978).
"""

import datetime as dt
from copy import deepcopy
from pathlib import Path

import numpy as np
import pandas as pd
import pytest
from gardens import site_of, weather_of
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from strategies import cases, one_tank_timer_cases
from vega_datasets import data

import waterbudget
from waterbudget.errors import InputError
from waterbudget.schedule.built import garden_of
from waterbudget.simulate.lanes import sized
from waterbudget.sizing import sizes
from waterbudget.sizing import stretch as stretches
from waterbudget.sizing.sizes import BOOKED, Sweep, try_sizes
from waterbudget.sizing.stretch import Stretch, drawn_stretch, recorded_stretch
from waterbudget.weather.blocks import block_years

DEMO = Path(__file__).parent.parent.parent / "data_demo" / "site.toml"
FIRST_DAY = dt.date(2031, 5, 1)
SOME_L = [100.0, 350.0, 900.0, 2750.0]
FEW = settings(max_examples=20, deadline=None, suppress_health_check=[HealthCheck.too_slow])


@pytest.fixture(scope="module")
def demo():
    site = waterbudget.load_site(DEMO)
    return site, waterbudget.read_weather(DEMO.with_name("weather.csv"), site)


@pytest.fixture(scope="module")
def seattle(demo):
    """Brackenfold in Seattle, 2012-15: NOAA, in the public domain, from the vega_datasets package."""
    daily = pd.read_csv(data.seattle_weather.filepath, parse_dates=["date"], date_format="%Y/%m/%d")
    rows = daily.rename(columns={"precipitation": "rain_mm", "temp_max": "tmax_c"})[["date", "rain_mm", "tmax_c"]]
    return demo[0], weather_of(rows.assign(et0_mm=2.5).to_dict("records"))


def tried(site, weather, capacity_l, tank=0, **more):
    return try_sizes(site, tank, np.array(capacity_l, dtype=np.float64), recorded_stretch(site, weather), **more)


def resized(site, tank, capacity_l):
    """The site with another capacity of a tank, filled to the same share."""
    one = site.tank[tank]
    update = {
        "capacity_l": capacity_l,
        "start_l": min(one.start_l * (capacity_l / one.capacity_l), capacity_l),
    }
    if one.float_to_l is not None and one.float_to_l > capacity_l:
        lowered = capacity_l / one.float_to_l  # rounded first, like the start: a tie stays one
        update |= {"float_below_l": one.float_below_l * lowered, "float_to_l": capacity_l}
    tanks = [other.model_copy(update=update) if other is one else other for other in site.tank]
    return site.model_copy(update={"tank": tanks})


# ---- Against single runs ----


@pytest.mark.parametrize("tank", [0, 1])
def test_a_lane_is_the_run_of_the_site_with_that_capacity(demo, tank):
    site, weather = demo
    found = tried(site, weather, SOME_L, tank)
    for lane, capacity_l in enumerate(SOME_L):
        result = waterbudget.run(resized(site, tank, capacity_l), weather)
        row, summary = result.summary["tanks"][tank], result.summary
        assert found.asked_l[0, lane] == row["asked_l"]
        assert found.rain_l[0, lane] == row["drawn_l"]
        assert found.inflow_l[0, lane] == row["inflow_l"]
        assert found.spilled_l[0, lane] == summary["tanks"][1]["spilled_l"]  # the other one overflows into it
        assert found.needed_l[0, lane] == pytest.approx(summary["mains_l"] + summary["unmet_l"], rel=1e-12)
        book = result.tanks[result.tanks["tank"] == row["name"]]
        asked, short = book["asked_l"] > 1e-6, book["short_l"] > 1e-6
        assert found.asking_days[0, lane] == asked.sum()
        assert found.met_days[0, lane] == (asked & ~short).sum()
        assert found.days_lasted[0, lane] == (short.to_numpy().argmax() if short.any() else 153)


def test_the_size_of_today_is_the_run_of_today(demo):
    site, weather = demo
    summary = waterbudget.run(site, weather).summary
    found = tried(site, weather, [site.tank[1].capacity_l], 1)
    assert found.rain_l[0, 0] == summary["tanks"][1]["drawn_l"]
    assert found.days_lasted[0, 0] == summary["days_lasted"] == 69
    assert found.met[0] == summary["tanks"][1]["drawn_l"] / summary["tanks"][1]["asked_l"]


def test_years_are_those_of_one_long_run(seattle):
    site, weather = seattle
    found = tried(site, weather, [1500.0])
    tanks = waterbudget.run(site, weather).tanks
    book = tanks[tanks["tank"] == "Class-room tank"]
    by_year = book.groupby(book["date"].dt.year)
    np.testing.assert_allclose(found.asked_l[:, 0], by_year["asked_l"].sum(), rtol=1e-12)
    np.testing.assert_allclose(found.rain_l[:, 0], by_year["drawn_l"].sum(), rtol=1e-12)
    lasted = [(year["short_l"] > 1e-6).to_numpy().argmax() for _, year in by_year]
    assert found.days_lasted[:, 0].tolist() == lasted
    assert found.days.tolist() == [366, 365, 365, 365]


def test_a_size_alone_is_its_lane_in_the_batch(seattle):
    site, weather = seattle
    together = tried(site, weather, SOME_L)
    for lane in (0, len(SOME_L) - 1):
        alone = tried(site, weather, [SOME_L[lane]])
        for name in BOOKED:
            ours, theirs = getattr(alone, name)[:, 0], getattr(together, name)[:, lane]
            np.testing.assert_allclose(ours, theirs, rtol=1e-12, atol=1e-12, err_msg=name)


@FEW
@given(cases(), st.data())
def test_any_tank_of_any_garden_is_run_as_its_site_says(case, draw):
    site, weather = site_of(case[0]), weather_of(case[1])
    tank = draw.draw(st.integers(0, len(site.tank) - 1))
    joined = site.tank[tank].joined
    capacity_l = joined * (site.tank[tank].dead_l + draw.draw(st.integers(0, 3000)) + 0.37)
    found = tried(site, weather, [capacity_l, 2.0 * capacity_l], tank)
    summary = waterbudget.run(resized(site, tank, capacity_l / joined), weather).summary
    row = summary["tanks"][tank]
    near = {"rel": 1e-9, "abs": 1e-6}
    assert found.asked_l.sum(axis=0)[0] == pytest.approx(row["asked_l"], **near)
    assert found.rain_l.sum(axis=0)[0] == pytest.approx(row["drawn_l"] - row["drawn_mains_l"], **near)
    assert found.needed_l.sum(axis=0)[0] == pytest.approx(summary["mains_l"] + summary["unmet_l"], **near)
    to_drain = [one.overflow_to is None for one in site.tank]
    spilled_l = sum(one["spilled_l"] for one, drains in zip(summary["tanks"], to_drain, strict=True) if drains)
    assert found.spilled_l.sum(axis=0)[0] == pytest.approx(spilled_l, **near)


# ---- By hand ----


def steady(release, capacities_l, days=10):
    """50 L come each day to an empty store that 80 L are asked of."""
    site = site_of(
        {
            "site": {"name": "Brackenfold"},
            "model": {"release": release},
            "roof": [{"name": "roof", "tank": "store", "area_m2": 10, "runoff_coefficient": 1, "filter_efficiency": 1}],
            "tank": [{"name": "store", "capacity_l": 200, "start_l": 0}],
            "draw": [{"name": "hens", "tank": "store", "l_per_day": 80}],
        }
    )
    rows = [{"date": FIRST_DAY + dt.timedelta(n), "rain_mm": 5, "et0_mm": 0} for n in range(days)]
    return tried(site, weather_of(rows), capacities_l)


def test_constant_supply_and_demand_after_spillage():
    """The first day gives nothing. From then on a store of S < 100 L gives min(50, S) and S - that by turns, for what
    is left fills it up; from 100 L on it gives the 50 L of the day before."""
    found = steady("after_spill", [30, 60, 100, 150])
    by_hand_l = [5 * 30 + 4 * 0, 5 * 50 + 4 * 10, 9 * 50, 9 * 50]
    assert found.rain_l[0].tolist() == by_hand_l
    assert found.met.tolist() == [litres / 800 for litres in by_hand_l]
    assert found.asked_l[0].tolist() == [800] * 4
    assert found.needed_l[0].tolist() == [800 - litres for litres in by_hand_l]
    # what came, was not given and is not left on the last evening (its draw came after the fill) went down the drain
    left_l = [0, 10, 50, 50]
    assert found.spilled_l[0].tolist() == [500 - given - left for given, left in zip(by_hand_l, left_l, strict=True)]
    assert found.turnovers.tolist() == [
        litres / size for litres, size in zip(by_hand_l, [30, 60, 100, 150], strict=True)
    ]
    assert found.met_on_days.tolist() == [0] * 4
    assert found.days_lasted[0].tolist() == [0] * 4


def test_constant_supply_and_demand_before_spillage():
    found = steady("before_spill", [30, 60, 100])
    assert found.rain_l[0].tolist() == [500, 500, 500]
    assert found.spilled_l[0].tolist() == [0, 0, 0]


def test_no_tank_gives_nothing():
    for release in ("after_spill", "before_spill"):
        found = steady(release, [0.0, 60.0])
        assert (found.rain_l[0, 0], found.needed_l[0, 0], found.spilled_l[0, 0]) == (0, 800, 500)


# ---- What always holds ----


def in_turn(case, release, capacities_l):
    site = deepcopy(case[0])
    site["model"]["release"] = release
    return tried(site_of(site), weather_of(case[1]), capacities_l)


def given_l(outcomes):
    return outcomes.rain_l.sum(axis=0)


@FEW
@given(one_tank_timer_cases(), st.sampled_from(["after_spill", "before_spill"]))
def test_what_is_met_never_falls_with_size(case, release):
    found = in_turn(case, release, np.linspace(5, 4000, 25))
    room_l = 1e-9 * max(1.0, found.asked_l.sum(axis=0).max())
    assert (np.diff(given_l(found)) >= -room_l).all()
    assert (found.asked_l == found.asked_l[:, :1]).all()


@FEW
@given(one_tank_timer_cases())
def test_after_spillage_never_gives_more_than_before(case):
    after, before = (in_turn(case, release, np.linspace(5, 4000, 25)) for release in ("after_spill", "before_spill"))
    assert (given_l(after) <= given_l(before) + 1e-9 * max(1.0, given_l(before).max())).all()


# ---- What changes with the size ----


def test_a_tank_starts_as_full_and_keeps_what_lies_below_its_outlet(demo):
    garden = garden_of(demo[0])
    tanks = sized(garden, 0, np.array([30.0, 750.0, 3000.0])).tanks
    assert tanks.start_l.tolist() == [[30 * 0.6, 450, 1800], [260] * 3]
    assert tanks.dead_l.tolist() == [[np.inf, 40, 40], [15] * 3]
    assert tanks.capacity_l[1].tolist() == [350] * 3


def test_float_levels_come_down_below_the_brim():
    store = {"name": "store", "capacity_l": 1000.0, "start_l": 1000.0, "mains": "float"}
    site = site_of({"site": {"name": "A"}, "tank": [store | {"float_below_l": 200.0, "float_to_l": 400.0}]})
    tanks = sized(garden_of(site), 0, np.array([0.0, 100.0, 400.0, 2000.0])).tanks
    assert tanks.float_to_l[0].tolist() == [0, 100, 400, 400]
    assert tanks.float_below_l[0].tolist() == [0, 50, 200, 200]


def test_only_the_roofs_of_the_tank_grow(demo):
    garden = garden_of(demo[0])
    roofs = sized(garden, 0, np.array([900.0, 900.0]), np.array([1.0, 2.5])).roofs
    assert roofs.area_m2.tolist() == [[42, 105], [8, 8]]


def test_mains_water_by_a_float_valve_is_not_rain():
    store = {"name": "store", "capacity_l": 500.0, "start_l": 0.0, "mains": "float"}
    site = site_of(
        {
            "site": {"name": "A"},
            "tank": [store | {"float_below_l": 50.0, "float_to_l": 50.0}],
            "draw": [{"name": "hens", "tank": "store", "l_per_day": 40.0}],
        }
    )
    rows = [{"date": FIRST_DAY + dt.timedelta(n), "rain_mm": 0, "et0_mm": 0} for n in range(4)]
    found = tried(site, weather_of(rows), [500.0])
    assert found.needed_l[0, 0] == 50 + 3 * 40  # filled once, then topped up by what was drawn
    assert (found.rain_l[0, 0], found.met[0], found.turnovers[0]) == (0, 0, 0)
    assert (found.met_days[0, 0], found.days_lasted[0, 0]) == (0, 0)


# ---- Years ----


def outcomes(days_lasted):
    lasted = np.array(days_lasted, dtype=np.float64)[:, None]
    ones = {name: np.ones_like(lasted) for name in BOOKED}
    return sizes.Outcomes(capacity_l=np.ones(1), days=np.full(len(lasted), 365), **ones | {"days_lasted": lasted})


@pytest.mark.parametrize(
    ("days_lasted", "median", "dry"),
    [
        ([9], 9, 9),
        ([9, 3], 3, 3),
        ([5, 9, 3], 5, 3),
        (range(10), 4, 0),  # one in ten lasts no day, half of them at most four
        (range(20), 9, 1),
        (range(30), 14, 2),
        (range(11), 5, 1),
    ],
)
def test_a_middle_and_a_dry_year(days_lasted, median, dry):
    found = outcomes(days_lasted)
    assert (found.median_lasted.tolist(), found.dry_lasted.tolist()) == ([median], [dry])


def test_a_season_begins_anew_with_what_is_left():
    """Two calendar years of a few days: the second counts from its own first day, but its store is not refilled."""
    site = site_of(
        {
            "site": {"name": "A"},
            "tank": [{"name": "store", "capacity_l": 100.0, "start_l": 100.0}],
            "draw": [{"name": "hens", "tank": "store", "l_per_day": 20.0}],
        }
    )
    rows = [{"date": dt.date(2031, 12, 29) + dt.timedelta(n), "rain_mm": 0, "et0_mm": 0} for n in range(7)]
    found = tried(site, weather_of(rows), [100.0])
    assert found.days.tolist() == [3, 4]
    assert found.days_lasted[:, 0].tolist() == [3, 2]
    assert found.rain_l[:, 0].tolist() == [60, 40]


@pytest.fixture
def short_strings(monkeypatch):
    monkeypatch.setattr(stretches, "STRING_YEARS", 2)


def drawn(seattle, years):
    site, weather = seattle
    return site, drawn_stretch(site, block_years(weather.daily, "01-01", "12-31", years, 1))


@pytest.mark.usefixtures("short_strings")
def test_bunches_of_strings_make_no_difference(seattle, monkeypatch):
    site, stretch = drawn(seattle, 3)
    assert stretch.strings == 2
    together = try_sizes(site, 0, np.array(SOME_L), stretch)
    monkeypatch.setattr(sizes, "LANES_AT_ONCE", len(SOME_L))
    one_by_one = try_sizes(site, 0, np.array(SOME_L), stretch)
    assert together.rain_l.shape == (3, len(SOME_L))
    for name in BOOKED:
        np.testing.assert_array_equal(getattr(one_by_one, name), getattr(together, name), err_msg=name)


@pytest.mark.usefixtures("short_strings")
def test_a_string_is_a_long_run_of_its_own(seattle):
    site, stretch = drawn(seattle, 3)
    both = try_sizes(site, 0, np.array(SOME_L), stretch)
    second = Stretch(
        sky=stretch.of_strings(slice(1, 2), 1),
        season=stretch.season,
        year=stretch.year,
        strings=1,
        names=stretch.names[:2],
        whole=True,
        begins=stretch.begins,
    )
    alone = try_sizes(site, 0, np.array(SOME_L), second)
    np.testing.assert_array_equal(alone.rain_l[:1], both.rain_l[2:])
    np.testing.assert_array_equal(alone.days_lasted[:1], both.days_lasted[2:])


# ---- What is asked ----


def test_sizes_are_even_and_round():
    assert Sweep().capacity_l[[0, 1, 2, 3, -1]].tolist() == [100, 180, 270, 350, 5000]
    assert Sweep(steps=50).capacity_l.tolist() == [*range(100, 5001, 100)]
    assert Sweep(100, 2000, 60).capacity_l[:3].tolist() == [100, 132, 164]
    assert Sweep(10, 11, 3).capacity_l.tolist() == [10, 10.5, 11]
    assert Sweep(0.5, 100, 3).capacity_l.tolist() == [0.5, 50.25, 100]
    assert Sweep(200, 1000, 2).capacity_l.tolist() == [200, 1000]


@pytest.mark.parametrize(
    ("parts", "fault"),
    [
        ({"from_l": 900, "to_l": 500}, "from-l is 900 and to-l is 500; write the smaller size at from-l"),
        ({"from_l": 500, "to_l": 500}, "from-l is 500 and to-l is 500; write the smaller size at from-l"),
        ({"from_l": 0}, "from-l is 0; write litres above 0, up to 10,000,000"),
        ({"to_l": 1e9}, "to-l is 1e+09; write litres above 0, up to 10,000,000"),
        ({"to_l": float("nan")}, "to-l is nan; write litres above 0, up to 10,000,000"),
        ({"steps": 1}, "steps is 1; write how many sizes to try, 2 to 1,000"),
        ({"steps": 10**6}, "steps is 1000000; write how many sizes to try, 2 to 1,000"),
        ({"target": 95}, "target is 95; write a share above 0, up to 1, 0.95 for 95 %"),
        ({"target": 0}, "target is 0; write a share above 0, up to 1, such as 0.95 for 95 %"),
        ({"target": 250}, "target is 250; write a share above 0, up to 1, such as 0.95 for 95 %"),
        ({"worth_l": 0}, "worth-l is 0; write litres a year above 0, such as 100"),
    ],
)
def test_a_sweep_that_cannot_be_is_told_in_a_line(parts, fault):
    with pytest.raises(InputError) as error:
        Sweep(**parts)
    assert error.value.faults == (fault,)


def test_every_fault_of_a_sweep_is_told_at_once():
    with pytest.raises(InputError) as error:
        Sweep(from_l=-1, steps=1, target=95)
    assert [fault.split()[0] for fault in error.value.faults] == ["from-l", "steps", "target"]
