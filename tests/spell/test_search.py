"""The search against enumeration: every plan run by itself, its yield and work reckoned here, and the best picked."""

import datetime as dt
import tomllib
from dataclasses import replace
from itertools import product
from pathlib import Path

import numpy as np
import pytest
from gardens import site_of, weather_of
from spell.beans import EVE, FIRST, spell, table

import waterbudget
from waterbudget.answers.spell_plans import toml_lines
from waterbudget.schedule.built import garden_of
from waterbudget.simulate.opened import open_site
from waterbudget.spell import plans as plans_module
from waterbudget.spell.carry import eve_of
from waterbudget.spell.hot import Spell
from waterbudget.spell.plans import DRY_AT, OFF, options_of
from waterbudget.spell.search import ALLOWED, NAMES, search
from waterbudget.spell.study import study
from waterbudget.spell.trial import sensitivity_of, try_plans

DEMO = Path(__file__).parent.parent.parent / "data_demo"
BEANS_KY = 1.15  # FAO-33 Table 24 (from memory), used by FAO-56 in Example 44
SHORT_L = 1e-6


def found(tables, days=None):
    site, eve = spell(tables, days=days)
    return search(site, eve, sensitivity_of(site, eve).ky)


def alone(tables, option):
    """One plan of one zone in a run through the eve and the spell: yield at risk, work, water and whether it lasts."""
    zone = dict(tables["zone"][0])
    if option is not None:
        zone |= {"minutes": option.minutes, "plan": option.trigger}
        zone |= {"dry_at": DRY_AT} if option.trigger == "dry" else {}
        if option.every_days is not None:
            zone |= {"every_days": option.every_days, "every_from": FIRST}
    days = [{"date": EVE + dt.timedelta(n), "rain_mm": 0.0, "et0_mm": 5.0 * (n > 0), "tmax_c": 26} for n in range(22)]
    result = waterbudget.run(site_of(tables | {"zone": [zone]}), weather_of(days))
    beds, zones = (frame[frame["date"] >= str(FIRST)] for frame in (result.beds, result.zones))
    lack = 1.0 - beds["eta_mm"].sum() / beds["etc_mm"].sum()
    return (
        BEANS_KY * lack,
        (zones["asked_l"] > SHORT_L).sum() * 7 / 21,  # a minute a run, and none for looking
        zones["store_l"].sum(),
        result.summary["first_short"] is None,
    )


@pytest.mark.parametrize("start_l", [300, 700])
def test_of_one_zone_the_best_is_found(start_l):
    tables = table(tank={"start_l": start_l, "capacity_l": 5000}, zone={"minutes": 12}, effort={"look_minutes": 0})
    site, eve = spell(tables)
    (options,) = options_of(site, eve)
    each = [alone(tables, option) for option in options]
    lasting = [one for one in each if one[3]]
    least_harm = min(round(harm, 3) for harm, *_ in lasting)
    near = [one for one in lasting if round(one[0], 3) <= least_harm + ALLOWED]
    ours = found(tables)
    assert ours.lasting == len(lasting)
    assert len(ours.plans) == len(options)
    harm, work, water = (getattr(ours.trial, part) for part in ("harm", "week_minutes", "given_l"))
    assert harm[ours.least["least harm"]] == pytest.approx(least_harm, abs=0.0006)
    assert work[ours.least["least work"]] == pytest.approx(min(one[1] for one in near), abs=0.06)
    assert water[ours.least["least water"]] == pytest.approx(min(one[2] for one in near), abs=0.6)


def test_each_plan_alone_is_the_plan_of_the_search():
    tables = table(tank={"start_l": 700, "capacity_l": 5000}, zone={"minutes": 12}, effort={"look_minutes": 0})
    ours = found(tables)
    for number in range(0, len(ours.plans), 7):
        harm, work, water, lasts = alone(tables, *ours.plans[number])
        assert ours.trial.harm[number] == pytest.approx(harm, abs=1e-9), ours.plans[number]
        assert ours.trial.week_minutes[number] == pytest.approx(work)
        assert ours.trial.given_l[number] == pytest.approx(water, abs=1e-6)
        assert ours.trial.lasts[number] == lasts


def two_zones(start_l):
    """Two zones of one store: beans in a small bed, and a thirstier large one."""
    tables = table()
    (zone,), (bed,) = tables["zone"], tables["bed"]
    (planting,) = bed["planting"]
    tomato = planting | {"crop": "tomato", "kc": [1.2, 1.2, 1.2]}
    return tables | {
        "tank": [{"name": "Butt", "capacity_l": 5000, "start_l": start_l}],
        "zone": [zone | {"minutes": 6}, zone | {"name": "Other line", "minutes": 9}],
        "bed": [bed, bed | {"name": "Tomato bed", "zone": "Other line", "area_m2": 16, "planting": [tomato]}],
    }


@pytest.mark.parametrize("start_l", [400, 1200, 2000])
def test_of_two_zones_of_one_store_the_best_is_found(monkeypatch, start_l):
    """Against every pair of options; fewer of them than usual, so that all pairs can be tried."""
    monkeypatch.setattr(plans_module, "EVERY_DAYS", (1, 3))
    monkeypatch.setattr(plans_module, "SHARES", (0.25, 0.55, 1.0))
    monkeypatch.setattr(plans_module, "TRIGGERS", ("timer", "dry"))
    site, eve = spell(two_zones(start_l))
    ky = sensitivity_of(site, eve).ky
    ours, every = search(site, eve, ky), try_plans(site, eve, list(product(*options_of(site, eve))), ky)
    assert len(ours.plans) < len(every.harm)
    least_harm = every.harm[every.lasts].min()
    near = every.lasts & (every.harm <= least_harm + ALLOWED)
    harm, work, water = (getattr(ours.trial, part) for part in ("harm", "week_minutes", "given_l"))
    assert harm[ours.least["least harm"]] == pytest.approx(least_harm, abs=0.0011)
    assert work[ours.least["least work"]] == pytest.approx(every.week_minutes[near].min(), abs=0.11)
    assert water[ours.least["least water"]] == pytest.approx(every.given_l[near].min(), rel=0.02)


@pytest.mark.parametrize("start_l", [30, 400, 1200, 5000])
def test_what_is_named_lasts_and_stands_beside_the_present_plan(start_l):
    ours = found(two_zones(start_l))
    assert ours.plans[0] == (None, None)
    assert tuple(ours.least) == NAMES
    assert len(set(ours.plans)) == len(ours.plans) == len(ours.trial.harm)
    numbers = list(ours.least.values())
    assert ours.trial.lasts[numbers].all()
    least_harm = ours.trial.harm[ours.least["least harm"]]
    assert (ours.trial.harm[numbers] <= least_harm + ALLOWED + 0.001).all()
    assert (ours.trial.harm[ours.trial.lasts] >= least_harm - 0.0005).all()


def test_a_plan_that_is_best_already_stays():
    ours = found(table(zone={"minutes": 2, "every_days": 5}, bed={"planting": []}))
    assert ours.plans == ((None,), (OFF,))
    assert ours.least == {"least work": 1, "least water": 1, "least harm": 1}  # nothing grows: closing it is best
    without = table()
    ours = found(without | {"zone": [], "bed": [without["bed"][0] | {"zone": None}]})
    assert (ours.plans, set(ours.least.values())) == (((),), {0})


def test_where_more_water_harms_the_search_says_so():
    """50 minutes a day empty the store in two days; the best plans use a tenth of that and nothing wilts."""
    ours = found(table(tank={"start_l": 1050, "capacity_l": 2000}, zone={"minutes": 50}))
    best = ours.least["least harm"]
    ((option,),) = {ours.plans[best]}
    assert not ours.trial.lasts[0]
    assert ours.trial.lasts[best]
    assert ours.trial.harm[best] == 0.0 < ours.trial.harm[0]
    assert ours.trial.stress_days[best, 0] < ours.trial.stress_days[0, 0]
    assert ours.trial.given_l[best] <= ours.trial.given_l[0]
    assert option.minutes < 50


def test_where_other_draws_empty_the_store_no_plan_lasts_and_the_rest_is_used_best():
    hens = [{"name": "Hens", "tank": "Butt", "l_per_day": 30, "priority": 2}]
    ours = found(table(tank={"start_l": 500, "capacity_l": 600}, zone={"minutes": 3}, draw=hens))
    assert (ours.lasting, ours.doomed) == (0, (0,))
    best = ours.least["least harm"]
    assert ours.trial.harm[best] <= ours.trial.harm.min() + 0.0005
    assert ours.trial.given_l[best] > 0.0


def test_weekdays_are_one_of_the_rhythms():
    site, eve = spell(table(zone={"minutes": 5, "weekdays": ["wed", "sat"]}))
    (options,) = options_of(site, eve)
    kept = [option for option in options[1:-1] if option.every_days is None]
    need_minutes = 5.0 * 10 / 10 * 7 / 2  # from one run to the next
    assert {option.trigger for option in kept} == {"timer", "dry", "refill"}
    assert round(need_minutes) in {option.minutes for option in kept}


def test_minutes_are_such_as_somebody_would_set():
    site, eve = spell(two_zones(431))
    for options in options_of(site, eve):
        for option in options[1:]:
            assert option.minutes % (1.0 if option.minutes >= 3.0 else 0.5) == 0.0
    assert options[-1] == OFF


@pytest.mark.parametrize("path", ["site.toml", "allotment/site.toml"])
def test_the_lines_to_paste_make_the_plan(path):
    """The site with the lines in it, run as its present plan, comes out as the search said."""
    opened = open_site(DEMO / path)
    wanted = Spell(days=14, first=dt.date(opened.weather.dates[0].year, 6, 10))
    before = study(opened.site, opened.weather, wanted)
    for one in before.named[1:]:
        tables = tomllib.loads((DEMO / path).read_text("utf-8"))
        for keys in tomllib.loads("\n".join(toml_lines(before, one.plan))).get("zone", []):
            zone = next(zone for zone in tables["zone"] if zone["name"] == keys["name"])
            if "every_days" in keys:
                zone.pop("weekdays", None)
            zone |= keys
        site = site_of(tables)
        pasted = eve_of(site, garden_of(site), opened.weather, before.hot)
        eve = replace(before.eve, garden=pasted.garden)  # the days before the spell are those of the plan before it
        after = try_plans(site, eve, [tuple(None for _ in site.zone)], before.sensitivity.ky)
        for part in ("given_l", "needed_l", "harm", "week_minutes", "left_l"):
            assert getattr(after, part).item() == pytest.approx(getattr(before.found.trial, part)[one.number]), part


def test_five_minutes_a_bed_carry_small_beds_through_the_heat():
    """Common practice, no source: five minutes of fine jets a bed carry vegetables through two to three weeks of 25 to
    26 °C. At Brackenfold the North line gives each of four small beds five minutes on hot days, from a full store."""
    opened = open_site(DEMO / "site.toml")
    small = [column for column, bed in enumerate(opened.site.bed) if bed.zone == "North line"]
    for days, high_c in ((14, 26.0), (19, 25.5)):
        wanted = Spell(days, high_c, first=dt.date(2031, 7, 1))
        trial = study(opened.site, opened.weather, wanted, {"Class-room tank": 1500.0}).found.trial
        assert (trial.first_stress[0, small] == np.inf).all()
        assert (trial.at_risk[0, small] == 0.0).all()
        assert trial.tank_lasts[0, 0]


def test_a_store_can_be_dipped_on_the_first_morning():
    opened = open_site(DEMO / "site.toml")
    carried, dipped = (
        study(opened.site, opened.weather, Spell(days=2), start) for start in (None, {"Shed butt": 150.0})
    )
    assert dipped.eve.level_l.tolist() == [carried.eve.level_l[0], 150.0]
    np.testing.assert_array_equal(dipped.eve.state.depletion_mm, carried.eve.state.depletion_mm)
