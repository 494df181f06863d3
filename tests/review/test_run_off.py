"""What falls faster than the soil takes is told, with the runs in its place."""

from gardens import site_of, weather_of
from spell.beans import table

import waterbudget
from waterbudget.answers.check import odd_sentence
from waterbudget.answers.run import help_with
from waterbudget.review.advice import advice
from waterbudget.review.odd import oddities
from waterbudget.review.run_off import RunsOff, runs_off


def result(soil="loam", tmax_c=20, **zone):
    site = site_of(table(zone={"from": "05-01", "minutes": 20} | zone, bed={"soil": soil}))
    days = [{"date": f"2031-06-0{day}", "rain_mm": 0.0, "et0_mm": 5.0, "tmax_c": tmax_c} for day in range(1, 8)]
    return waterbudget.run(site, weather_of(days))


def test_a_run_is_cut_into_pulses():
    """60 mm/h on loam: 6.7 minutes at most, so 20 minutes are three runs."""
    (one,) = runs_off(result())
    assert (one.name, one.minutes, one.runs) == ("Line", 20, 3)
    told = (
        "Line gives Bean bed 60 mm an hour, and its loam takes about 15: of 20 minutes at once some runs off. Water in "
        "3 runs of 6.7 minutes an hour apart (minutes = 6.7, runs_per_day = 3)."
    )
    assert [odd_sentence(found) for found in oddities(result()) if isinstance(found, RunsOff)] == [told]
    assert told in [help_with(found, result()) for found in advice(result())]


def test_the_runs_in_its_place_run_nothing_off():
    (one,) = runs_off(result())
    assert list(runs_off(result(minutes=one.each_minutes, runs_per_day=one.runs))) == []


def test_hot_minutes_count_where_it_was_hot():
    hot = {"minutes": 5, "hot_above_c": 25, "hot_minutes": 20}
    assert list(runs_off(result(**hot))) == []
    assert [one.minutes for one in runs_off(result(tmax_c=26, **hot))] == [20]


def test_no_line_for_a_little_more_or_for_a_zone_that_never_asks():
    assert list(runs_off(result(minutes=7))) == [], "a twentieth more than the longest"
    assert list(runs_off(result(**{"from": "07-01"}))) == []


def test_a_day_that_has_no_room_for_the_pulses_is_told_so():
    """Heavy clay: 5.3 minutes at a time, two hours apart, and 100 minutes are 19 of them."""
    (one,) = runs_off(result(soil="clay", minutes=100))
    assert one.runs is None
    assert odd_sentence(one).endswith("Water less at a time, more often, or with finer jets.")
