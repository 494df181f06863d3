"""A person's minutes by hand: valves, hoses, cans, batteries and the feeling of the soil."""

import datetime as dt

import pytest
from gardens import site_of, weather_of
from hose import BY_GRAVITY, opened

import waterbudget

DAYS = 10
ZONE = {"name": "Line", "tank": "Butt", "flow_l_min": 5, "minutes": 12}
BEDS = [
    {"name": f"Bed {n}", "area_m2": 2, "zone": "Line", "available_water_mm_m": 150, "root_limit_m": 0.4}
    for n in range(3)
]
PLANTING = {"planted": "04-01", "days": [0, 0, 200, 0], "kc": [1, 1, 1], "p": 0.4, "root_m": [0.4, 0.4]}


def minutes(zone=None, draw=None, rain_mm=0.0, et0_mm=0.5, **effort):
    site = site_of(
        {
            "site": {"name": "Brackenfold"},
            "tank": [{"name": "Butt", "capacity_l": 1000, "start_l": 0}],  # empty: all the watering is to be done
            "zone": [ZONE | (zone or {})],
            "draw": [draw] if draw else [],
            "bed": [bed | {"planting": [PLANTING]} for bed in BEDS],
            "effort": effort,
        }
    )
    first = dt.date(2031, 5, 1)
    rows = [{"date": first + dt.timedelta(n), "rain_mm": rain_mm, "et0_mm": et0_mm} for n in range(DAYS)]
    week = waterbudget.run(site, weather_of(rows)).summary["work_minutes_per_week"]
    return week * DAYS / 7


def test_a_valve_takes_its_minutes_once_a_run():
    assert minutes() == pytest.approx(DAYS * 1.0)
    assert minutes({"runs_per_day": 3}, valve_minutes=0.5) == pytest.approx(DAYS * 3 * 0.5)
    assert minutes({"every_days": 2}) == pytest.approx(DAYS / 2)


def test_a_hose_is_moved_at_every_bed():
    assert minutes(by_hose=["Line"]) == pytest.approx(DAYS * 3 * 2.0)


def test_every_started_can_is_carried():
    assert minutes(by_can=["Line"]) == pytest.approx(DAYS * 6 * 2.0)  # 60 L in cans of 10
    assert minutes(by_can=["Line"], can_l=8) == pytest.approx(DAYS * 8 * 2.0)  # seven and a half are eight
    hens = {"name": "Hens", "tank": "Butt", "l_per_day": 15}
    assert minutes(draw=hens) == pytest.approx(DAYS * 1.0), "a draw takes time in cans only"
    assert minutes(draw=hens, by_can=["Hens"]) == pytest.approx(DAYS * (1.0 + 2 * 2.0))


def test_a_charge_is_shared_out():
    assert minutes(by_battery=["Line"], battery_run_minutes=60) == pytest.approx(DAYS * 12 / 60 * 5.0)


def test_a_transfer_is_started_and_stopped_on_each_day_that_it_moves_water():
    """By hand: 100 L in the tank move 40 L a day, so on three days; the butt's own watering is as before."""
    site = {
        "site": {"name": "Brackenfold"},
        "tank": [
            {"name": "Tank", "capacity_l": 200, "start_l": 100},
            {"name": "Butt", "capacity_l": 1000, "start_l": 0},
        ],
        "transfer": [{"name": "Pump", "from_tank": "Tank", "to_tank": "Butt", "l_per_day": 40}],
        "effort": {"transfer_minutes": 7},
    }
    days = [{"date": dt.date(2031, 5, 1) + dt.timedelta(n), "rain_mm": 0.0, "et0_mm": 1.0} for n in range(DAYS)]
    result = waterbudget.run(site_of(site), weather_of(days))
    assert result.summary["work_minutes_per_week"] * DAYS / 7 == pytest.approx(3 * 7)


def test_somebody_feels_the_soil_on_each_day_that_is_due():
    wet = {"plan": "dry", "dry_at": 1.0}  # half a millimetre a day leaves the soil moist: looked at, never opened
    assert minutes(wet) == pytest.approx(DAYS * 1.0)
    assert minutes(wet | {"every_days": 5}, look_minutes=3) == pytest.approx(DAYS / 5 * 3)
    rainy = wet | {"skip_rain_mm": 2, "skip_rain_days": 1}
    assert minutes(rainy, rain_mm=4.0) == pytest.approx(1.0), (
        "after rain nobody looks, but the first day has none before"
    )


def test_a_line_that_follows_its_store_runs_by_the_clock(tmp_path):
    """A run takes its minutes of the charge, however little the sinking store lets through."""
    effort = '[effort]\nby_battery = ["North line"]\nvalve_minutes = 0\nlook_minutes = 0\n\n'
    always = (r"^hot_above_c = 25\nhot_minutes = 10\n", "")
    site, weather = opened(tmp_path, *BY_GRAVITY, always, (r"\A", effort))
    result = waterbudget.run(site, weather)
    line = result.zones[(result.zones["zone"] == "North line") & (result.zones["asked_l"] > 0.0)]
    assert line["asked_l"].min() < line["asked_l"].max(), "its flow follows the level"
    charges = len(line) * site.zone[0].minutes / site.effort.battery_run_minutes
    weeks = len(weather.dates) / 7
    assert result.summary["work_minutes_per_week"] == pytest.approx(charges * site.effort.battery_minutes / weeks)
