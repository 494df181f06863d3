"""What the verdict hangs on: each other choice is a run with that choice."""

import pytest
from asking import DEMO
from gardens import site_of
from spell import beans

import waterbudget
from waterbudget.answers.doubt import doubt_facts, doubt_sentence, range_sentence
from waterbudget.review.doubt import Doubt, Outcome, find_doubt, keeps_soil_wet
from waterbudget.simulate.opened import open_site


@pytest.fixture(scope="module")
def opened():
    return open_site(DEMO / "site.toml")


def test_each_other_choice_is_a_run_with_it(opened):
    site = opened.site.changed({"zone.South line.plan": "refill", "zone.South line.jets": "mist"})
    start_l = {"Shed butt": 100.0}
    found = find_doubt(site, opened.weather, start_l)
    for outcome, keys in (
        (found.now, {}),
        (found.other_coefficient, {"model.crop_coefficient": "dual"}),
        (found.other_release, {"model.release": "before_spill"}),
    ):
        summary = waterbudget.run(site.changed(keys), opened.weather, start_l=start_l, daily=False).summary
        assert outcome.days_lasted == summary["days_lasted"]
        assert outcome.needed_l == pytest.approx(summary["mains_l"] + summary["unmet_l"], rel=1e-12)
    assert found.other_coefficient != found.now


def test_only_jets_that_keep_the_whole_bed_wet_raise_it(opened):
    assert keeps_soil_wet(opened.site)
    drip = {f"zone.{zone.name}.jets": "drip" for zone in opened.site.zone}
    assert not keeps_soil_wet(opened.site.changed(drip))
    assert find_doubt(opened.site.changed(drip), opened.weather).other_coefficient is None


def test_crops_that_are_known_by_a_kcb_alone_have_no_other_coefficient():
    """Half a season of a bed whose planting has Kcb by hand and no Kc."""
    table, (bed,) = beans.table(zone={"minutes": 5, "from": "05-01"}), beans.table()["bed"]
    (planting,) = bed["planting"]
    kcb = {key: value for key, value in planting.items() if key not in {"kc", "crop"}} | {"kcb": [0.2, 1.1, 0.3]}
    site = site_of(
        table | {"model": {"crop_coefficient": "dual"}, "bed": [bed | {"planting": [kcb | {"height_m": 1.5}]}]}
    )
    assert keeps_soil_wet(site)
    found = find_doubt(site, beans.weather(30))
    assert found.other_coefficient is None
    assert found.other_release.days_lasted == 30


def test_it_is_told_in_one_line():
    found = Doubt(Outcome(68, 1000.0), "single", Outcome(61, 1200.0), "after_spill", Outcome(68, 940.0))
    assert doubt_sentence(found) == (
        "If the jets keep the soil wet all day: 61 instead of 68 days. If the day's rain can be drawn at once: 68 days "
        "all the same, but 940 instead of 1,000 L from the mains."
    )
    without = found._replace(other_coefficient=None, other_release=Outcome(68, 1000.0))
    assert doubt_sentence(without) == "If the day's rain can be drawn at once: 68 days all the same."
    assert doubt_facts(without)["other_coefficient"] is None


def test_the_range_of_days_is_told_with_its_ends():
    same = Outcome(68, 1000.0)
    found = Doubt(same, "single", Outcome(31, 1200.0), "after_spill", Outcome(72, 940.0))
    assert range_sentence(found) == (
        "The stores may last 31 to 72 days: 31 if the jets keep the soil wet all day and 72 if the day's rain can "
        "be drawn at once."
    )
    assert range_sentence(found, {"with a full butt": 90}).endswith("all day and 90 with a full butt.")
    assert range_sentence(found._replace(other_coefficient=same, other_release=same)) is None
