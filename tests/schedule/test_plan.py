"""Which outlet asks for water on which day, and for how much; and gardens side by side, each as if it were alone."""

import datetime as dt
from dataclasses import replace
from typing import NamedTuple

import numpy as np
import pytest
from gardens import site_of, weather_of
from hypothesis import given, settings
from hypothesis import strategies as st
from strategies import cases

import waterbudget
from waterbudget.schedule.built import garden_of
from waterbudget.schedule.course import Course, course_of
from waterbudget.schedule.garden import Garden
from waterbudget.schedule.season import season_of
from waterbudget.schedule.sky import Sky
from waterbudget.schedule.today import today_of
from waterbudget.simulate.drive import drive
from waterbudget.simulate.keep import Keep
from waterbudget.simulate.lanes import skies_side_by_side
from waterbudget.simulate.result import DAILY
from waterbudget.simulate.run import sky_of
from waterbudget.simulate.watering import ask, flow_at
from waterbudget.units import NUMPY

FIRST = dt.date(2031, 5, 1)  # a Thursday
RUN_L = 60.0  # of the zone below: 5 L/min through 12 minutes
ZONE = {"name": "line", "tank": "store", "flow_l_min": 5, "minutes": 12}
BED = {"available_water_mm_m": 150, "zone": "line"}


def garden(*zones, beds=(), draws=()):
    return site_of(
        {
            "site": {"name": "Brackenfold"},
            "tank": [{"name": "store", "capacity_l": 1e6, "start_l": 1e6}],
            "zone": [ZONE | zone for zone in zones],
            "draw": [{"tank": "store", **draw} for draw in draws],
            "bed": [{"name": f"bed {n}", **BED, **bed} for n, bed in enumerate(beds)],
        }
    )


class Plan(NamedTuple):
    """A garden and the course of its days."""

    garden: Garden
    course: Course


def plan_of(site, length, first=FIRST, rain_mm=None, tmax_c=None, before_mm=()):
    """The plan of a site, with rain by the day of the run, and before it; the same weather for its only lane."""
    found, rain = garden_of(site), np.zeros((length, 1))
    for day, fallen_mm in (rain_mm or {}).items():
        rain[day] = fallen_mm
    dates = (np.datetime64(first) + np.arange(length)).astype("M8[D]")[:, None]
    heat = None if tmax_c is None else np.array(tmax_c)[:, None]
    sky = Sky(rain, np.zeros((length, 1)), heat, np.array(before_mm, dtype=np.float64)[:, None])
    return Plan(found, course_of(found, season_of(site, dates), sky, None, slice(length)))


def asked_l(plan, day, depletion_mm=(), raw_mm=None, planted=None):
    """What each outlet asks for; the beds as given at the start of the day."""
    course = plan.course
    if raw_mm is not None:
        same = np.ones_like(course.raw_mm)
        planted = same * np.array([planted]).T > 0.0
        course = course._replace(raw_mm=same * np.array([raw_mm]).T, planted=planted)
    today = list(today_of(NUMPY, plan.garden, course).by_day())[day]
    depletion_mm = np.array([depletion_mm]).T if len(depletion_mm) else np.zeros((len(plan.garden.names.beds), 1))
    flow = flow_at(NUMPY, plan.garden, plan.garden.tanks.start_l)
    return ask(NUMPY, plan.garden, today, flow, depletion_mm)[:, 0].tolist()


def open_days(zone, length=14, first=FIRST, **weather):
    """The dates, as MM-DD, on which the zone asks for a full run; on all others it asks for nothing."""
    plan = plan_of(garden(zone), length, first, **weather)
    asked = [asked_l(plan, day)[0] for day in range(length)]
    assert set(asked) <= {0.0, RUN_L}
    return [f"{first + dt.timedelta(day):%m-%d}" for day, litres in enumerate(asked) if litres]


# ---- On which days ----


def test_without_a_rhythm_it_runs_every_day():
    assert len(open_days({})) == 14


def test_runs_per_day_add_up():
    plan = plan_of(garden({"runs_per_day": 3, "minutes": 2.5}), 1)
    assert asked_l(plan, 0) == [5 * 2.5 * 3]


@pytest.mark.parametrize("first", [FIRST, dt.date(2032, 2, 26), dt.date(1969, 12, 25)])
def test_weekdays_by_the_calendar(first):
    named = [first + dt.timedelta(n) for n in range(14)]
    expected = [f"{day:%m-%d}" for day in named if day.weekday() in {0, 3, 6}]
    assert open_days({"weekdays": ["sun", "mon", "thu"]}, first=first) == expected
    assert len(expected) == 6


@pytest.mark.parametrize(
    ("every_from", "expected"),
    [
        (None, ["05-01", "05-04", "05-07", "05-10", "05-13"]),  # the first day of the run
        (dt.date(2031, 4, 29), ["05-02", "05-05", "05-08", "05-11", "05-14"]),
        (dt.date(2031, 5, 6), ["05-03", "05-06", "05-09", "05-12"]),  # the rhythm is there before it too
        (dt.date(1960, 1, 1), ["05-03", "05-06", "05-09", "05-12"]),  # 26 053 days before, 1 more than 3 x 8 684
    ],
)
def test_every_few_days_counts_from_its_day(every_from, expected):
    zone = {"every_days": 3} | ({"every_from": every_from} if every_from else {})
    assert open_days(zone) == expected


@pytest.mark.parametrize(
    ("season", "first", "expected"),
    [
        ({"from": "05-03", "to": "05-05"}, FIRST, ["05-03", "05-04", "05-05"]),  # both ends included
        ({"from": "05-03", "to": "05-03"}, FIRST, ["05-03"]),
        ({"from": "05-12"}, FIRST, ["05-12", "05-13", "05-14"]),  # to the year's end
        ({"to": "05-02"}, FIRST, ["05-01", "05-02"]),  # from the year's beginning
        ({"from": "12-30", "to": "01-02"}, dt.date(2031, 12, 25), ["12-30", "12-31", "01-01", "01-02"]),
        ({"from": "05-10", "to": "05-02"}, FIRST, ["05-01", "05-02", "05-10", "05-11", "05-12", "05-13", "05-14"]),
        ({"from": "02-28", "to": "03-01"}, dt.date(2032, 2, 25), ["02-28", "02-29", "03-01"]),
        ({"from": "12-30"}, dt.date(2031, 12, 25), ["12-30", "12-31"]),
    ],
)
def test_season(season, first, expected):
    assert open_days(season, first=first) == expected


def test_season_and_rhythm_have_to_agree():
    zone = {"from": "05-03", "to": "05-11", "every_days": 4}
    assert open_days(zone) == ["05-05", "05-09"]


# ---- Rain of the days before ----

SKIP = {"skip_rain_mm": 8, "skip_rain_days": 2}


@pytest.mark.parametrize(
    ("rain_mm", "skipped"),
    [
        ({4: 8.0}, ["05-06", "05-07"]),  # exactly as much as it takes; the day itself does not count
        ({4: 7.75}, []),
        ({4: 4.0, 5: 4.0}, ["05-07"]),  # within two days
        ({4: 4.0, 6: 4.0}, []),
        ({0: 20.0}, ["05-02", "05-03"]),  # days that nobody knows are dry
        ({13: 20.0}, []),
    ],
)
def test_rain_that_makes_a_run_be_skipped(rain_mm, skipped):
    left = [day for day in open_days({}) if day not in skipped]
    assert open_days(SKIP, rain_mm=rain_mm) == left


def test_rain_counts_no_further_back_than_is_known():
    found = open_days({"skip_rain_mm": 8, "skip_rain_days": 30}, length=4, rain_mm={0: 3.0, 1: 5.0})
    assert found == ["05-01", "05-02"]


@pytest.mark.parametrize(
    ("before_mm", "skipped"),
    [
        ((8.0,), ["05-01", "05-02"]),
        ((8.0, 0.0), ["05-01"]),
        ((9.0, 0.0, 0.0), []),
        ((3.0, 5.0), ["05-01"]),
        ((5.0, 3.0), ["05-01"]),
        ((4.0,), []),
    ],
)
def test_rain_before_the_run_counts_where_the_weather_has_it(before_mm, skipped):
    assert open_days(SKIP, before_mm=before_mm) == [day for day in open_days({}) if day not in skipped]


def test_decimals_that_add_up_to_the_rain_of_a_skip_reach_it():
    """Doubles of 0.7 + 0.2 + 0.1 come to less than 1 by a rounding, and so much is let pass; a tenth is not."""
    zone = {"skip_rain_mm": 1, "skip_rain_days": 3}
    assert 0.7 + 0.2 + 0.1 < 1.0
    assert "05-04" not in open_days(zone, rain_mm={0: 0.7, 1: 0.2, 2: 0.1})
    assert "05-04" in open_days(zone, rain_mm={0: 0.7, 1: 0.1, 2: 0.1})


def test_each_zone_looks_back_its_own_days():
    plan = plan_of(garden(SKIP, {**SKIP, "name": "other", "skip_rain_days": 4}), 6, rain_mm={0: 8.0})
    assert [asked_l(plan, day) for day in range(6)] == [
        [RUN_L, RUN_L], [0.0, 0.0], [0.0, 0.0], [RUN_L, 0.0], [RUN_L, 0.0], [RUN_L, RUN_L],
    ]  # fmt: skip


# ---- Hot days ----


def test_a_day_is_hot_from_its_threshold_on():
    plan = plan_of(garden({"hot_above_c": 25, "hot_minutes": 20}), 4, tmax_c=[24.9, 25.0, 25.1, -3.0])
    assert [asked_l(plan, day)[0] for day in range(4)] == [RUN_L, 100.0, 100.0, RUN_L]


def test_hot_minutes_may_be_none_at_all_and_count_for_each_run():
    plan = plan_of(garden({"hot_above_c": 25, "hot_minutes": 0}), 1, tmax_c=[30.0])
    assert asked_l(plan, 0) == [0.0]
    plan = plan_of(garden({"hot_above_c": 25, "hot_minutes": 3, "runs_per_day": 2}), 1, tmax_c=[30.0])
    assert asked_l(plan, 0) == [30.0]


def test_temperature_is_nothing_to_a_zone_without_a_threshold():
    assert open_days({}, length=2, tmax_c=[24.0, 59.0]) == ["05-01", "05-02"]


# ---- Soil that is felt, and soil that is filled up ----


@pytest.mark.parametrize(
    ("depletion_mm", "planted", "litres"),
    [
        ((16.0, 0.0), (True, True), RUN_L),  # exactly 0.8 of RAW, 20 mm
        ((np.nextafter(16.0, 0.0), 0.0), (True, True), 0.0),
        ((30.0, 0.0), (True, True), RUN_L),
        ((0.0, 16.0), (True, True), RUN_L),  # any bed will do
        ((30.0, 0.0), (False, True), 0.0),  # but not a bare one
        ((30.0, 30.0), (False, False), 0.0),
    ],
)
def test_dry_opens_the_valve_at_its_share_of_raw(depletion_mm, planted, litres):
    plan = plan_of(garden({"plan": "dry", "dry_at": 0.8}, beds=[{"area_m2": 2}, {"area_m2": 3}]), 1)
    assert asked_l(plan, 0, depletion_mm, (20.0, 20.0), planted) == [litres]


def test_dry_still_keeps_to_season_and_rain():
    zone = {"plan": "dry", "from": "05-02", "skip_rain_mm": 8, "skip_rain_days": 1}
    plan = plan_of(garden(zone, beds=[{"area_m2": 2}]), 4, rain_mm={1: 9.0})
    assert [asked_l(plan, day, (40.0,), (20.0,), (True,))[0] for day in range(4)] == [0.0, RUN_L, 0.0, RUN_L]


@pytest.mark.parametrize(
    ("depletion_mm", "planted", "litres"),
    [
        ((5.0, 0.0), (True, True), 5 * 2 / 0.8),  # 10 L to the roots of 2 m2, 12.5 L through the jets
        ((5.0, 4.0), (True, True), (5 * 2 + 4 * 3) / 0.8),
        ((5.0, 4.0), (True, False), 5 * 2 / 0.8),  # nothing for the bare bed
        ((0.0, 0.0), (True, True), 0.0),
        ((30.0, 30.0), (True, True), RUN_L),  # no longer than the longest run
    ],
)
def test_refill_asks_for_what_is_lacking(depletion_mm, planted, litres):
    plan = plan_of(garden({"plan": "refill"}, beds=[{"area_m2": 2}, {"area_m2": 3}]), 1)
    assert asked_l(plan, 0, depletion_mm, (20.0, 20.0), planted) == [litres]


def test_refill_leaves_room_for_rain_in_each_bed():
    plan = plan_of(garden({"plan": "refill", "leave_mm": 4}, beds=[{"area_m2": 2}, {"area_m2": 3}]), 1)
    assert asked_l(plan, 0, (9.0, 1.0), (20.0, 20.0), (True, True)) == [5 * 2 / 0.8]


def test_refill_in_a_whole_run_fills_the_root_zone():
    planting = {"planted": FIRST, "days": [0, 0, 30, 0], "kc": [1, 1, 1], "p": 0.5, "root_m": [0.5, 0.5]}
    site = garden({"plan": "refill", "minutes": 600}, beds=[{"area_m2": 3, "planting": [planting]}])
    weather = weather_of([{"date": FIRST + dt.timedelta(n), "rain_mm": 0, "et0_mm": 4} for n in range(10)])
    result = waterbudget.run(site, weather)
    # each day gives back the 4 mm of the day before: 4 mm x 3 m2 / 0.8; the first day lacks nothing
    np.testing.assert_allclose(result.zones["asked_l"], [0.0] + [4 * 3 / 0.8] * 9, rtol=1e-12)
    np.testing.assert_allclose(result.beds["depletion_mm"], 4.0, rtol=1e-12)
    np.testing.assert_allclose(result.zones["minutes_run"], result.zones["asked_l"] / 5, rtol=1e-12)


# ---- Zones without beds, and draws ----


@pytest.mark.parametrize(("plan", "litres"), [("timer", RUN_L), ("dry", 0.0), ("refill", 0.0)])
def test_a_zone_without_beds(plan, litres):
    plan = plan_of(garden({"plan": plan}, beds=[{"area_m2": 2, "zone": None}]), 1)
    assert asked_l(plan, 0, (50.0,), (20.0,), (True,)) == [litres]


def test_draws_have_days_and_seasons_and_care_for_nothing_else():
    draws = [
        {"name": "hens", "l_per_day": 4},
        {"name": "cans", "l_per_day": 20, "weekdays": ["thu", "sun"], "from": "05-04", "to": "05-30"},
    ]
    zone = {"plan": "dry", "hot_above_c": 25, "hot_minutes": 20, **SKIP}
    plan = plan_of(garden(zone, draws=draws), 12, rain_mm={2: 50.0}, tmax_c=[40.0] * 12)
    cans_l = {3: 20.0, 7: 20.0, 10: 20.0}  # Sunday 4, Thursday 8 and Sunday 11 May; Thursday 1 May is too early
    assert [asked_l(plan, day) for day in range(12)] == [[0.0, 4.0, cans_l.get(day, 0.0)] for day in range(12)]


# ---- Lanes side by side ----

LENGTH = 40


def everything():
    """A garden in which every number counts within a few weeks."""
    planting = {"planted": "04-20", "days": [10, 10, 10, 9], "kc": [0.5, 1.1, 0.8], "p": 0.4, "root_m": [0.2, 0.5]}
    skip, hot = {"skip_rain_mm": 5, "skip_rain_days": 2}, {"hot_above_c": 25, "hot_minutes": 8}
    season = {"from": "05-02", "to": "05-22"}
    return site_of(
        {
            "site": {"name": "Brackenfold"},
            "roof": [
                {
                    "name": f"roof {tank}",
                    "tank": tank,
                    "area_m2": 4,
                    "runoff_coefficient": 0.8,
                    "loss_mm": 0.5,
                    "first_flush_l": 9,
                }
                for tank in ("store", "butt")
            ],
            "tank": [
                {"name": "butt", "capacity_l": 80, "start_l": 60, "dead_l": 10, "loss_l_per_day": 2}
                | {"overflow_to": "store"},
                {"name": "store", "capacity_l": 300, "start_l": 150, "loss_l_per_day": 1}
                | {"mains": "float", "float_below_l": 40, "float_to_l": 60},
            ],
            "zone": [
                ZONE | skip | hot | season | {"every_days": 2, "minutes": 5, "every_from": dt.date(2031, 5, 2)},
                ZONE | {"name": "dry line", "tank": "butt", "plan": "dry", "dry_at": 0.6, "minutes": 3},
                ZONE
                | {"name": "fill line", "plan": "refill", "leave_mm": 3, "minutes": 40, "weekdays": ["mon", "fri"]},
            ],
            "draw": [{"name": "cans", "tank": "butt", "l_per_day": 3, "priority": 1}],
            "bed": [
                {"name": f"bed {zone}", "area_m2": 4, "zone": zone, "available_water_mm_m": 120}
                | {"rain_share": 0.9, "et_factor": 0.95, "start_depleted": 0.2, "planting": [planting]}
                for zone in ("line", "dry line", "fill line", None)
            ],
        }
    )


def rows(first=FIRST, seed=1):
    chance = np.random.default_rng(seed)
    return [
        {
            "date": first + dt.timedelta(n),
            "rain_mm": float(chance.choice([0, 0, 0, 0, 4, 13])),
            "et0_mm": float(chance.uniform(2, 6)),
            "tmax_c": float(chance.uniform(18, 30)),
        }
        for n in range(LENGTH)
    ]


def run_of(site, weather):
    """What `drive` takes of a site and its weather."""
    return garden_of(site), season_of(site, weather.date_column), sky_of(site, weather)


def booked(garden, season, sky):
    """Every quantity of every day, by name, (day, item, lane)."""
    _, kept = drive(garden, season, sky, keep=Keep(each=DAILY))
    return kept.each


def assert_lanes_are_runs_of_their_own(together, alone):
    """Bit for bit."""
    for lane, one in enumerate(alone):
        for name, single in one.items():
            assert single.shape[-1] == 1
            np.testing.assert_array_equal(together[name][..., lane], single[..., 0], name)


def differ(alone):
    first, *others = alone
    return any(not np.array_equal(first[name], one[name]) for one in others for name in first)


SAMPLE = garden_of(everything())
NOT_OF_THE_WATER = {  # asked for by the dual coefficient, a line that follows a level, or a person's minutes
    *("rew_mm", "tew_mm", "wetted_fraction", "hidden", "mulch_cover", "share", "factor", "pots_taw_mm"),
    *("run_minutes", "look_minutes", "can_l", "can_minutes", "charge_minutes"),
}
VARIED = [
    (kind, name)
    for kind, part in SAMPLE.parts.items()
    for name, value in vars(part).items()
    if value.size and name not in NOT_OF_THE_WATER
]


def variants(value):
    """A quantity as it is, and twice otherwise."""
    if value.dtype == np.bool_:
        return [value, ~value, np.roll(value, 1, axis=-2)]
    if value.dtype == np.int64 or np.isnan(value).any():  # a day on which a rhythm begins may be left to the run
        return [value, value + 1, value + 2]
    return [value, value * 0.75, value * 1.125]


@pytest.mark.parametrize(("kind", "name"), VARIED, ids=lambda text: text)
def test_lanes_that_differ_in_one_quantity_equal_separate_runs(kind, name):
    one, season, sky = run_of(everything(), weather_of(rows()))
    quantities = variants(getattr(getattr(one, kind), name))
    alone = [booked(one.changed(**{kind: {name: value}}), season, sky) for value in quantities]
    many = one.changed(**{kind: {name: np.concatenate(quantities, axis=-1)}})
    assert differ(alone)
    assert_lanes_are_runs_of_their_own(booked(many, season, sky), alone)


def test_other_minutes_equal_three_runs_of_three_site_files():
    minutes = (2.0, 5.0, 9.5)
    site, weather = everything(), weather_of(rows())
    one, season, sky = run_of(site, weather)
    run_l = np.repeat(one.outlets.run_l, 3, axis=-1)
    run_l[0] = np.array(minutes) * 5.0
    together = booked(one.changed(outlets={"run_l": run_l}), season, sky)
    for lane, each in enumerate(minutes):
        zones = [zone if n else zone.model_copy(update={"minutes": each}) for n, zone in enumerate(site.zone)]
        result = waterbudget.run(site.model_copy(update={"zone": zones}), weather)
        for kind, frame in (("outlets", result.zones), ("tanks", result.tanks), ("beds", result.beds)):
            for column in frame.columns[2:]:
                np.testing.assert_array_equal(np.ravel(together[f"{kind}.{column}"][..., lane]), frame[column])


def test_lanes_of_other_weather_and_other_years_equal_separate_runs():
    site = everything()
    weathers = [weather_of(rows(FIRST.replace(year=2029 + seed), seed)) for seed in range(3)]
    runs = [run_of(site, weather) for weather in weathers]
    alone = [booked(*one) for one in runs]
    sky = skies_side_by_side([sky for _, _, sky in runs], 1)
    assert differ(alone)
    season = season_of(site, np.concatenate([weather.date_column for weather in weathers], axis=1))
    assert_lanes_are_runs_of_their_own(booked(garden_of(site), season, sky), alone)


@settings(max_examples=25, deadline=None)
@given(cases(max_days=40), st.integers(2, 9))
def test_any_garden_beside_others_is_as_it_is_alone(case, lanes):
    table, weather_rows = case
    one, season, sky = run_of(site_of(table), weather_of(weather_rows))
    factors = np.linspace(1.0, 0.4, lanes)

    def part_of(lane):
        return one.changed(
            outlets={name: getattr(one.outlets, name) * factors[lane] for name in ("run_l", "hot_run_l")},
            roofs={"area_m2": one.roofs.area_m2 * factors[lane]},
        )

    def sky_of_lane(lane):
        return replace(sky, rain_mm=sky.rain_mm * factors[lane], et0_mm=sky.et0_mm * factors[lane])

    alone = [booked(part_of([lane]), season, sky_of_lane([lane])) for lane in range(lanes)]
    assert_lanes_are_runs_of_their_own(booked(part_of(slice(None)), season, sky_of_lane(slice(None))), alone)
