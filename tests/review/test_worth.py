"""Each input tried 20 % lower and higher gives what a run of the garden so changed gives."""

from pathlib import Path

import numpy as np
import pytest

import waterbudget
from waterbudget.answers.check import worth_sentence
from waterbudget.review.worth import TRIED, swings, worth_measuring
from waterbudget.simulate.opened import open_site

DEMO = Path(__file__).parents[2] / "data_demo"
CHANGES = {  # what of which thing: table of the site, number in it, key
    ("area_m2", "Shed roof"): ("roof", 1, "area_m2"),
    ("start_l", "Shed butt"): ("tank", 1, "start_l"),
    ("flow_l_min", "South line"): ("zone", 1, "flow_l_min"),
    ("efficiency", "North line"): ("zone", 0, "efficiency"),
    ("l_per_day", "Class cans"): ("draw", 0, "l_per_day"),
}


@pytest.fixture(scope="module")
def opened():
    return open_site(DEMO / "site.toml")


def changed(site, table, number, key, factor):
    tables = list(getattr(site, table))
    now = tables[number].applied if key == "efficiency" else getattr(tables[number], key)
    tables[number] = tables[number].model_copy(update={key: now * factor})
    return site.model_copy(update={table: tables})


@pytest.mark.parametrize("tried", CHANGES, ids=" of ".join)
def test_a_swing_is_that_of_two_separate_runs(opened, tried):
    swing = next(one for one in swings(opened.site, opened.weather) if one.tried[:2] == tried)
    asked_l = waterbudget.run(opened.site, opened.weather, daily=False).summary["asked_l"]
    assert swing.days_share == pytest.approx(abs(swing.days[2] - swing.days[0]) / 153)
    assert swing.needed_share == pytest.approx(abs(swing.needed_l[2] - swing.needed_l[0]) / asked_l)
    for factor, lasted, needed_l in zip((0.8, 1.0, 1.2), swing.days, swing.needed_l, strict=True):
        site = changed(opened.site, *CHANGES[tried], factor)
        summary = waterbudget.run(site, opened.weather, daily=False).summary
        assert summary["days_lasted"] == lasted
        assert summary["mains_l"] + summary["unmet_l"] == pytest.approx(needed_l)


def test_the_three_that_sway_most_are_found(opened):
    found = worth_measuring(opened.site, opened.weather).swings
    assert found == sorted(swings(opened.site, opened.weather), key=lambda swing: swing.rank, reverse=True)[:3]


def test_what_is_told_is_the_quantity_that_moves_with_the_present_figure_between(opened):
    """The efficiency moves the days by 2 of 153 and the mains water by a tenth of all that is asked for."""
    first, *_ = worth_measuring(opened.site, opened.weather).swings
    assert first.needed_share > first.days_share
    assert worth_sentence(first) == (
        "The efficiency of South line: set out cups, or look how much falls beside the beds. With 20 % less or more "
        "the mains must give 1,550 or 894 L, not 1,190 L."
    )


def test_days_are_told_where_they_move_more(opened):
    """Of 260 L 245 are to be had, 8 a day, and rain fills the butt on every 28th day: 20 % less lasts 24 days."""
    rain_mm = np.zeros(len(opened.weather.daily))
    rain_mm[27::28] = 100.0
    weather = opened.weather.with_readings(rain_mm=rain_mm)
    draw = {"tank": "Shed butt", "weekdays": None, "l_per_day": 8.0, "season_from": None, "season_to": None}
    site = opened.site.model_copy(
        update={
            "zone": [],
            "bed": [bed.model_copy(update={"zone": None}) for bed in opened.site.bed],
            "draw": [opened.site.draw[0].model_copy(update=draw)],
        }
    )
    told = worth_sentence(worth_measuring(site, weather).swings[0])
    assert told.startswith("The litres in Shed butt on the first day: ")
    assert told.endswith("With 20 % less the stored rain lasts 24 days, not 153.")


def test_the_largest_are_tried_where_there_are_many(opened):
    """Lanes grow with the kinds of input, not with the beds, so that time and memory grow in step with the beds."""
    thirsty = opened.site.bed[-1]
    assert next(zone for zone in opened.site.zone if zone.name == thirsty.zone).plan == "dry"
    beds = [thirsty.model_copy(update={"name": f"Bed {number}", "area_m2": 1.0 + number % 40}) for number in range(60)]
    many = opened.site.model_copy(update={"bed": beds})
    tried = swings(many, opened.weather)
    of_beds = [one.tried.name for one in tried if one.tried.part == "beds"]
    assert len(of_beds) == TRIED
    assert of_beds[-1] == "Bed 39"
    assert len(tried) < 4 * 2 * TRIED
    assert worth_measuring(many, opened.weather).left_out == [("beds", 60)]


def test_beds_that_no_plan_looks_at_are_not_tried(opened):
    tried = [one.tried.name for one in swings(opened.site, opened.weather) if one.tried.part == "beds"]
    assert tried == ["Potato bed", "Courgette bed"]


def test_nothing_is_told_where_nothing_sways_the_answer(opened):
    site = opened.site.model_copy(update={"zone": [], "draw": []})
    bare = site.model_copy(update={"bed": [bed.model_copy(update={"zone": None}) for bed in site.bed]})
    assert worth_measuring(bare, opened.weather) == ([], [])
