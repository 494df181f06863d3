"""What was done and measured beside the levels, by hand from the lines of a journal."""

import datetime as dt

import numpy as np
import pytest
from gardens import site_of, weather_of
from journal.invented import journal

from waterbudget.journal.book import read_journal
from waterbudget.journal.diary import actions_of, diary_of, gauged

FIRST = dt.date(2031, 6, 1)


def day(number):
    return FIRST + dt.timedelta(number)


def brackenfold(*tanks):
    tanks = tanks or ({"name": "Class-room tank"}, {"name": "Shed butt"})
    return site_of(
        {
            "site": {"name": "Brackenfold"},
            "tank": [{"capacity_l": 500, "start_l": 300} | tank for tank in tanks],
            "zone": [
                {"name": name, "tank": tanks[-1]["name"], "flow_l_min": 5, "minutes": 10} for name in ("North", "South")
            ],
            "draw": [{"name": "Cans", "tank": tanks[0]["name"], "l_per_day": 20}],
        }
    )


@pytest.fixture
def read(tmp_path):
    def of(*entries):
        (tmp_path / "journal.csv").write_text(journal(entries), "utf-8")
        return read_journal(tmp_path / "journal.csv")

    return of


def test_runs_by_zone_and_day_in_place_of_the_plan(read):
    noted = read(
        (day(1), "ran", "North", 4, "min"),
        (day(1), "ran", "North", 2.5, "min"),  # a day's runs add up
        (day(1), "ran", "South", 0, "min"),  # kept shut
        (day(2), "ran", "South", 30, "min"),
        (day(2), "ran", "South", 99, "min"),  # line 5, undone
        (day(9), "ran", "South", 7, "min"),  # after the last day
        (FIRST - dt.timedelta(1), "ran", "South", 7, "min"),
        (day(3), "undo", "", 5, "line"),
    )
    site = brackenfold()
    actions = actions_of(site, diary_of(site, noted), FIRST, day(3))
    plan = np.nan
    np.testing.assert_array_equal(  # zones and draws by day
        actions.minutes, [[plan, plan, plan], [6.5, 0.0, plan], [plan, 30.0, plan], [plan, plan, plan]]
    )
    assert not actions.mains_added_l.any()


def test_mains_water_is_let_into_a_store_without_mains_of_its_own(read):
    """The model opens a float valve, and the hose to the beds, by itself: their litres would count twice."""
    tanks = (
        {"name": "Class-room tank"},
        {"name": "Shed butt", "mains": "direct"},
        {"name": "Cistern", "mains": "float", "float_below_l": 50, "float_to_l": 100},
    )
    site = brackenfold(*tanks)
    noted = read(*((day(1), "mains", tank["name"], 100, "L") for tank in tanks for _ in range(2)))
    diary = diary_of(site, noted)
    assert actions_of(site, diary, FIRST, day(1)).mains_added_l.tolist() == [[0, 0, 0], [200, 0, 0]]
    assert diary.mains_l == {tank["name"]: {day(1): 200.0} for tank in tanks}
    assert diary.notes == ()


def test_mains_water_without_a_tank_is_that_of_the_only_one(read):
    noted = read((day(0), "mains", "", 60, "L"))
    site = brackenfold({"name": "Butt"})
    assert actions_of(site, diary_of(site, noted), FIRST, FIRST).mains_added_l.tolist() == [[60.0]]
    assert diary_of(site, noted).notes == ()
    several = diary_of(brackenfold(), noted)
    assert several.mains_l == {"Class-room tank": {}, "Shed butt": {}}
    assert several.notes == (
        "Mains water: 1 logged line is left out, as no tank is named, of several; log it again as TANK=LITRES.",
    )


def test_zones_and_tanks_that_are_not_there_are_left_out_and_told(read):
    noted = read(
        (day(0), "ran", "West", 5, "min"),
        (day(1), "ran", "West", 5, "min"),
        (day(0), "mains", "Cask", 60, "L"),
        (day(0), "level", "Cask", 60, "L"),  # no affair of the diary
    )
    site = brackenfold()
    diary = diary_of(site, noted)
    assert diary.notes == (
        "West: 2 logged runs are left out, as the site has no such zone.",
        "Mains water of Cask: 1 logged line is left out, as the site has no such tank.",
    )
    actions = actions_of(site, diary, FIRST, day(2))
    assert np.isnan(actions.minutes).all()
    assert not actions.mains_added_l.any()


def test_the_gauge_goes_before_the_weather(read):
    noted = read(
        (day(1), "gauge", "", 6.5, "mm"),
        (day(1), "gauge", "", 2, "mm"),  # emptied twice
        (day(2), "gauge", "", 50, "mm"),  # line 3, undone
        (day(3), "gauge", "", 0, "mm"),
        (day(7), "gauge", "", 9, "mm"),  # of another day than the weather's
        (day(7), "undo", "", 3, "line"),
    )
    weather = weather_of([{"date": day(n), "rain_mm": 4.0, "et0_mm": 3.0} for n in range(5)])
    diary = diary_of(brackenfold(), noted)
    put_right = gauged(weather, diary)
    assert put_right.daily["rain_mm"].tolist() == [4.0, 8.5, 4.0, 0.0, 4.0]
    assert put_right.daily["et0_mm"].tolist() == [3.0] * 5
    assert put_right.source == "random case, with the rain of the logged gauge on 2 days"
    assert weather.daily["rain_mm"].tolist() == [4.0] * 5, "what was given stays as it is"
    assert gauged(weather, diary.until(FIRST)) is weather


def test_a_diary_up_to_a_day_knows_nothing_of_later_ones(read):
    noted = read(*((day(n), *entry) for n in range(3) for entry in (
        ("ran", "North", 5, "min"), ("mains", "Shed butt", 60, "L"), ("gauge", "", 6, "mm"))))  # fmt: skip
    diary = diary_of(brackenfold(), noted).until(day(1))
    for days in (diary.ran["North"], diary.mains_l["Shed butt"], diary.rain_mm):
        assert list(days) == [day(0), day(1)]
