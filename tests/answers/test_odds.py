"""The answer of odds says what was counted, and no more than the years behind it allow."""

import re
from pathlib import Path
from typing import NamedTuple

import numpy as np
import pytest
from odds.records import RAIN_MM, at_brackenfold, finding, steady, store
from open_records import fulda, seattle

from waterbudget.answers import odds as answers
from waterbudget.answers.odds import facts
from waterbudget.answers.odds_tables import dry_spells, lasting, numbers, worst
from waterbudget.answers.summers import named, of_years
from waterbudget.odds.chances import wilson
from waterbudget.odds.study import find_odds
from waterbudget.odds.summers import Wanted
from waterbudget.render.text import NARROWEST, WIDEST, text
from waterbudget.simulate.opened import Opened
from waterbudget.weather.files import weather_of


def with_beds():
    return [{"name": "Bed", "area_m2": 4, "zone": "Line", "available_water_mm_m": 150}]


def odds_screen(found, width=WIDEST, *, full=True):
    return text(answers.answer(found), width, full=full)


def verdict(found):
    """The verdict without what it says of the work."""
    return " ".join(answers.verdict(found)).partition(" The watering takes")[0]


def rows_of(table):
    """Its rows in letters."""
    return [[column.cell(cell) for column, cell in zip(table.columns, row, strict=True)] for row in table.rows]


# the verdict


def test_summers_are_counted():
    # of 153 days' 100 L at 0.75 mm 3,400 L are lacking, at 0.2 mm 11,760 L, without rain 14,800 L: see tests/odds
    assert verdict(finding()) == (
        "The stored rain ran short in 8 of the 10 summers; in half the summers it lasted no longer than 11 May "
        "(11 days). In half the summers 3,400 L of mains is enough; 11,760 L does for 4 of 5, and the worst, 2011, "
        "took 14,800 L."
    )


def test_thirty_summers_are_counted_too():
    said = finding(weather=steady(RAIN_MM * 3))
    assert "in 24 of the 30 summers" in verdict(said)
    ((_, tried, short, *_),) = numbers(said).rows
    assert (tried, short) == (30, "24 of 30")


def test_a_summer_in_twelve_is_counted_as_its_table_counts_it():
    said = finding(weather=steady((*RAIN_MM, 0.2, 0.75)))
    assert verdict(said).startswith("The stored rain ran short in 10 of the 12 summers")
    assert numbers(said).rows[0][2] == "10 of 12"


def test_seven_summers_are_told_by_the_year():
    assert verdict(finding(weather=steady(RAIN_MM[3:]))).startswith("The stored rain ran short in 5 of the 7 summers")


def test_few_summers_are_told_with_the_worst():
    assert verdict(finding(weather=steady((0.9, 0.5, 1.0, 1.0)))) == (
        "The stored rain ran short in 2 of the 4 summers; in the shortest, 2012, it lasted 9 days. "
        "The worst, 2012, took 7,200 L of mains water."
    )


def test_where_most_summers_have_enough_the_worst_is_told():
    said = verdict(finding(weather=steady((0.9, *[1.0] * 19))))
    assert said == (
        "The stored rain ran short in 1 of the 20 summers; in the shortest, 2011, it lasted 41 days. "
        "In 4 of 5 summers no mains water is needed; the worst, 2011, took 1,120 L."
    )


def test_a_store_that_always_lasts():
    said = verdict(finding(weather=steady([1.0] * 10)))
    assert said == "The stored rain lasted to 30 September in all 10 summers: no mains water is needed."


def test_where_half_the_summers_have_enough_it_is_told():
    said = verdict(finding(weather=steady((*[0.9] * 4, *[1.0] * 6))))
    assert "In half the summers no mains water is needed; 1,120 L does for 4 of 5, and the worst, 2011, took" in said


def test_a_store_that_a_float_valve_keeps_going():
    floating = {"mains": "float", "float_below_l": 200, "float_to_l": 400}
    assert verdict(finding(store(tank=floating))).startswith(
        "The stored rain ran short in 8 of the 10 summers; in half the summers it lasted no longer than 8 May "
        "(8 days). In half the summers "
    )


def test_a_store_that_is_empty_from_the_first_day():
    assert "in half the summers it lasted not even the first day." in verdict(finding(store(tank={"start_l": 0})))


def test_a_store_that_nobody_asks():
    screen = odds_screen(finding(store(zone={"from": "11-01", "to": "12-31"})))
    assert "Nothing asks the stores for water from 1 May to 30 September." in screen
    assert "It lasts" not in screen
    assert "air gap" not in screen


def test_a_share_between_years_is_told_as_a_bound():
    odds = finding(weather=steady([1.0] * 10)).asked
    assert of_years(odds, np.arange(500) < 49) == "fewer than 1 of 10"
    assert of_years(odds, np.arange(500) < 50) == "1 of 10"
    assert of_years(odds, np.arange(500) < 499) == "more than 9 of 10"
    assert of_years(odds, np.arange(500) < 367) == "7 of 10"


# the screen


def test_every_chance_has_its_interval():
    shown = lasting(finding())
    assert [column.head for column in shown.columns] == [
        *("It lasts", "up to", "in summers", "chance", "at least", "at most"),
    ]
    rows = rows_of(shown)
    assert rows[0] == ["20 days", "20 May", "4 of 10", "40 %", "17 %", "69 %"]
    assert rows[1] == ["40 days", "9 June", "3 of 10", "30 %", "11 %", "60 %"]
    assert rows[-1] == ["153 days", "30 September", "2 of 10", "20 %", "6 %", "51 %"]
    np.testing.assert_allclose(shown.rows[0][3:], wilson(0.4, 10))
    assert "95 % interval of Wilson (1927) for 10 years" in " ".join(odds_screen(finding()).split())


def test_fewer_than_five_years_show_no_per_cent():
    found = finding(weather=steady((0.9, 0.5, 1.0, 1.0)))
    screen = odds_screen(found)
    figures = screen.partition("Assumed")[0]
    assert "%" not in figures
    assert "4 of 5" not in figures
    assert "2 of the 4 summers" in figures
    assert rows_of(lasting(found))[0] == ["20 days", "20 May", "3 of 4"]
    assert "enough to count, too few to tell chances" in screen
    assert worst(found).title == "Recorded summers"
    assert [row[:3] for row in rows_of(worst(found))] == [
        ["2011", "41", "11 June"], ["2012", "9", "10 May"], ["2013", "153", "never"], ["2014", "153", "never"],
    ]  # fmt: skip


def test_five_years_are_enough_for_chances():
    assert "%" in odds_screen(finding(weather=steady((0.9, 0.5, 1.0, 1.0, 1.0)))).partition("Assumed")[0]


def test_the_three_worst_recorded_summers_are_named():
    shown = worst(finding())
    assert shown.title == "Worst recorded summers"
    assert rows_of(shown) == [
        ["2011", "5", "6 May", "14,800"], ["2012", "5", "6 May", "14,800"], ["2013", "6", "7 May", "11,760"],
    ]  # fmt: skip


def test_the_short_screen_fits_a_window_and_says_what_is_left_out():
    lines = odds_screen(finding(), full=False).splitlines()
    assert len(lines) <= 30
    assert lines[-1] == "More with --full: details, what is assumed and cautions."
    assert "  waterbudget size site.toml" in lines


@pytest.mark.parametrize("method", ["blocks", "chain"])
def test_drawn_summers_stand_beside_the_recorded_ones(method):
    site, weather = at_brackenfold(fulda(), latitude_deg=50.5)
    findings = finding(site, weather, Wanted(method, years=300))
    screen = odds_screen(findings)
    assert findings.drawn is findings.asked
    words = {"blocks": "in blocks of days", "chain": "by a chain of wet and dry days"}[method]
    assert f"300 summers drawn {words} from 10 recorded summers, 1979 to 1988" in " ".join(screen.split())
    assert [row[:3] for row in numbers(findings).rows] == [
        ("recorded", 10, "9 of 10"),
        ("drawn", 300, of_years(findings.drawn, findings.drawn.runs_short)),
    ]
    assert "Drawing 300 from them adds no knowledge (seed 1;" in " ".join(screen.split())
    assert " ".join(findings.drawn.years.note.split()) in " ".join(screen.split())
    assert "years" not in [
        column.quantity for column in lasting(findings).columns
    ]  # how many of the drawn ones would look like knowledge


def test_drawn_chances_are_no_finer_than_the_years_behind():
    site, weather = at_brackenfold(fulda(), latitude_deg=50.5)
    findings = finding(site, weather, Wanted("blocks", years=300))
    shown = [
        row[2].removeprefix("under ").removeprefix("over ").removesuffix(" %") for row in rows_of(lasting(findings))
    ]
    assert len(shown) == len(findings.drawn.steps())
    assert {int(chance) % 10 for chance in shown} == {0}
    for told in facts(findings)["lasts"]:
        assert told["share"] * 10 == pytest.approx(round(told["share"] * 10))
        assert told["least"] <= told["share"] <= told["most"]


def test_changed_weather_is_said():
    site, weather = at_brackenfold(fulda(), latitude_deg=50.5)
    screen = " ".join(odds_screen(finding(site, weather, Wanted(warmer_c=2.0, rain_factor=0.85))).split())
    assert "1979 to 1988, 2 °C warmer, with 0.85 times the rain" in screen
    assert "Rain times 0.85, on the same days. +2 °C on every day" in screen
    assert re.search(r"the worst, 19\d\d made warmer and drier, takes [\d,]+ L\.", screen)
    assert "The stored rain runs short in " in screen
    assert "Worst summers made warmer and drier lasted" in screen
    cooler = " ".join(odds_screen(finding(site, weather, Wanted(warmer_c=-3.0))).split())
    assert "3 °C cooler" in cooler
    assert "Summers made cooler tried" in cooler
    assert "recorded" not in cooler.partition("Assumed")[0].replace("10 recorded summers, 1979", "")


def test_a_season_past_new_year_has_both_years():
    site, weather = at_brackenfold(fulda(), latitude_deg=-33.0)
    findings = finding(site, weather)
    assert named(findings.recorded, 0) == "1979-80"
    screen = odds_screen(findings)
    assert "1 November to 31 March: 9 recorded summers, 1979-80 to 1987-88" in " ".join(screen.split())
    assert "Left out as incomplete: 1978, 1988." in " ".join(screen.split())


def test_a_day_of_a_season_past_new_year_has_its_year():
    # 17 is the first whole number above 4 / (1 - 0.75), see tests/odds; the season begins on 1 November 2011
    found = finding(weather=steady((0.75,) * 6), wanted=Wanted(start_md="11-01", end_md="03-31"))
    assert worst(found).title == "Worst recorded seasons"
    assert rows_of(worst(found))[0][:3] == ["2011-12", "17", "18 November 2011"]


def test_a_season_of_the_readers_own_is_no_summer():
    screen = odds_screen(finding(wanted=Wanted(start_md="02-01", end_md="04-30")))
    assert "The stored rain ran short in 8 of the 10 seasons" in " ".join(screen.split())
    assert "ummer" not in screen


def test_plantings_of_one_year_are_pointed_out():
    planting = {"days": [10, 20, 30, 10], "kc": [0.5, 1.1, 0.9], "p": 0.5, "root_m": [0.2, 0.5]}
    once = [with_beds()[0] | {"planting": [planting | {"planted": "2012-05-01"}]}]
    yearly = [with_beds()[0] | {"planting": [planting | {"planted": "05-01"}]}]
    assert "Planted on a full date and so in one year only: Bed." in odds_screen(finding(store(bed=once)))
    assert "full date" not in odds_screen(finding(store(bed=yearly)))


def test_cautions_follow_the_answer():
    assert "through an air gap, never a joined pipe" in odds_screen(finding())
    without = odds_screen(finding(weather=steady([1.0] * 10)))
    assert "air gap" not in without
    assert "Do not count on a full store at the season's start unless it was seen full." in without


def test_no_line_is_too_wide():
    site, weather = at_brackenfold(seattle(), latitude_deg=47.6)
    drawn_site, drawn_weather = at_brackenfold(fulda(), latitude_deg=50.5)
    screens = [
        finding(),
        finding(site, weather, Wanted(warmer_c=1.5, rain_factor=0.5)),
        finding(drawn_site, drawn_weather, Wanted("chain", warmer_c=1.5, rain_factor=0.5)),
    ]
    for width in (NARROWEST, 80, WIDEST):
        pasted = "  waterbudget improve"
        lines = [line for one in screens for line in odds_screen(one, width).splitlines() if pasted not in line]
        assert max(map(len, lines)) <= width


# weather of a station


class Spot(NamedTuple):
    latitude_deg: float = 50.5
    longitude_deg: float = 9.7
    elevation_m: float = 300.0
    wind_height_m: float = 10.0


def test_et0_of_a_station_is_computed_for_its_wind_gauge():
    place = {"name": "Brackenfold", "latitude_deg": 50.5, "longitude_deg": 9.7, "elevation_m": 300.0}
    site = store(site=place, weather={"nearest": True})
    weather = weather_of(fulda().assign(wind_m_s=4.0, rh_mean_pct=70.0), Spot(), "station")
    before, after = (
        find_odds(Opened(Path("site.toml"), site, weather, ()), Wanted(warmer_c=warmer_c), {}).recorded.years.et0_mm
        for warmer_c in (0.0, 1e-9)
    )
    np.testing.assert_allclose(after, before, rtol=1e-6)


# JSON


def test_facts_tell_the_same():
    told = facts(finding(wanted=Wanted(rain_factor=1.0)))
    assert told["period"] == {"from": "2011-05-01", "to": "2020-09-30"}
    assert (told["season"], told["days"]) == ({"from": "05-01", "to": "09-30"}, 153)
    assert told["method"] == "recorded"
    assert told["runs_short"]["years"] == 8
    assert told["recorded"] is told["seed"] is None
    assert told["tanks"] == [{"name": "Butt", "start_l": 500.0}]


def test_facts_of_a_draw_hold_the_record_for_comparison():
    site, weather = at_brackenfold(fulda(), latitude_deg=50.5)
    told = facts(finding(site, weather, Wanted("blocks", years=100, seed=3)))
    assert (told["method"], told["years"], told["years_behind"], told["seed"]) == ("blocks", 100, 10, 3)
    assert (told["recorded"]["method"], told["recorded"]["years"]) == ("recorded", 10)


# the dry spells


def test_drawn_summers_show_their_dry_spells_beside_the_recorded():
    site, weather = at_brackenfold(fulda(), latitude_deg=50.5)
    shown = dry_spells(finding(site, weather, Wanted("chain")))
    assert shown.columns[0].head == "Dry spells of a summer"
    assert [row[0] for row in shown.rows] == ["recorded", "drawn"]
    assert len(shown.columns) == 6
    (below,) = shown.below
    assert "come more rarely in the drawn summers" in below  # measured on this record: chain.py
    assert dry_spells(finding(site, weather)).rows == ()
