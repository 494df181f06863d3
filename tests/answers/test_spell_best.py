"""A hot spell's answer tells how far the best plan is from the best there can be, and what ten litres are worth."""

import math
import re
from dataclasses import replace

import pytest
from spell.beans import table
from spell.hot_gardens import beans, school

from waterbudget.answers.hotspell import facts
from waterbudget.answers.spell_best import closeness, how_it_is_found, ten_litres, worth
from waterbudget.answers.spell_verdict import without
from waterbudget.spell.foreseen import Foreseen

SPARE = {"zone": {"minutes": 6}}
SCARCE = {"zone": {"minutes": 6}, "tank": {"start_l": 200, "capacity_l": 1000}}


def test_how_far_the_best_plan_is_from_the_best_there_can_be():
    assert without(school().finding) == (
        "Without mains water, the best plan that never runs short loses 18.0 % of the yield; "
        "no plan, even one that knew the weather, could lose less than 16.5 % without moving water."
    )


def test_a_plan_that_nothing_betters_is_told_so():
    """All the litres of one bed count alike, so a plain plan can be the best there is (Eq. 84 bends but once)."""
    found = beans(**SCARCE).finding
    best = found.found.trial.harm[found.found.least["least harm"]]
    told = closeness(found)
    if best - found.foreseen.best.yield_at_risk < 0.0005:
        assert told == ", and no plan could lose less, not even one that knew the weather"
    else:
        assert told.startswith("; no plan, even one that knew the weather, could lose less than")


def test_with_water_to_spare_nothing_is_told():
    found = beans(**SPARE).finding
    assert (closeness(found), [*ten_litres(found)], [*worth(found)]) == ("", [], [])


def test_what_ten_litres_are_worth_and_what_would_help():
    found = school().finding
    assert [*ten_litres(found)] == ["Ten litres more save 0.4 % in Shed butt and nothing in Class-room tank."]
    assert [*worth(found)] == [
        "Move water from Class-room tank to Shed butt: at best only 7.0 % would be lost.",
        "With a valve for each bed at best 15.8 % would be lost.",
    ]


def test_a_full_store_says_that_only_a_larger_one_helps():
    found = beans(zone={"minutes": 6}, tank={"start_l": 200, "capacity_l": 200}).finding
    assert "Butt is full on the first morning: only a larger store helps." in [*worth(found)]


def test_draws_that_may_be_rationed_are_told():
    cans = [{"name": "Cans", "tank": "Butt", "l_per_day": 10, "may_ration": True}]
    found = beans(**SCARCE | {"tank": {"start_l": 400, "capacity_l": 1000}}, draw=cans).finding
    (told,) = [line for line in worth(found) if "Cans" in line]
    assert re.fullmatch(r"Give Cans less: at best \d+\.\d % would be lost\.", told)


def test_a_store_that_its_draws_empty_is_named():
    hens = [{"name": "Hens", "tank": "Butt", "l_per_day": 30}]
    found = beans(tank={"start_l": 100, "capacity_l": 200}, draw=hens).finding
    assert any("Other draws alone empty Butt" in line for line in how_it_is_found(found))


def test_the_dual_coefficient_makes_it_approximate():
    found = beans(**SCARCE, model={"crop_coefficient": "dual"}).finding
    assert any("approximate" in line for line in how_it_is_found(found))
    assert not facts(found)["foresight"]["is_exact"]


def unproven(**changes):
    """The school's spell as it is told where the solver did not end."""
    found = school().finding
    best = found.foreseen.best._replace(is_proven=False, **changes)
    return replace(found, foreseen=Foreseen(found.foreseen.prospect, best, math.nan, None, None))


def test_where_time_ran_out_the_best_bound_so_far_is_told():
    found = unproven(yield_at_risk=0.123)
    assert (
        closeness(found)
        == "; no plan, even one that knew the weather, could lose less than 12.3 % without moving water"
    )
    assert "The solver ran out of time: the best there can be loses 12.3 % or more." in how_it_is_found(found)
    told = facts(found)["foresight"]
    assert (told["yield_at_risk"], told["is_proven"], told["with_valves_yield_at_risk"]) == (0.123, False, None)
    found = unproven(yield_at_risk=0.0)
    assert closeness(found) == ""
    (told,) = how_it_is_found(found)
    assert told == "The solver found no best plan in its time, so how close these come to it is not known."


@pytest.mark.parametrize(("at_odds", "name"), [(("tank", 1), "Shed butt"), (("bed", 4), "Potato bed")])
def test_numbers_that_contradict_each_other_are_named(at_odds, name):
    found = unproven(yield_at_risk=math.nan, at_odds=at_odds)
    assert closeness(found) == ""
    (told,) = how_it_is_found(found)
    assert told.endswith(f"is not known: the numbers of {name} contradict each other.")
    assert facts(found)["foresight"]["yield_at_risk"] is None


def test_facts():
    told = facts(school().finding)["foresight"]
    assert round(told["yield_at_risk"], 3) == 0.165
    assert told["is_proven"]
    assert [one["name"] for one in told["tanks"]] == ["Class-room tank", "Shed butt"]
    assert told["move"]["from_tank"] == "Class-room tank"


def test_without_a_zone_nothing_is_compared():
    tables = table()
    (bed,) = tables["bed"]
    found = beans(bed={key: value for key, value in bed.items() if key != "zone"} | {"zone": None}, zone={}).finding
    assert closeness(found) == ""
