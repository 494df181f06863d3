"""Water moved between stores in a spell: it helps where foresight says so, and its lines make it."""

import re
import tomllib
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from gardens import site_of
from spell.beans import spell, table
from spell.hot_gardens import school

from waterbudget.answers.spell_moving import moving_choice, moving_facts
from waterbudget.schedule.built import garden_of
from waterbudget.spell.carry import eve_of
from waterbudget.spell.foreseen import foresee
from waterbudget.spell.moving import GAIN, move_water
from waterbudget.spell.plans import near_litres, options_of
from waterbudget.spell.search import search
from waterbudget.spell.trial import sensitivity_of, try_plans

DEMO = Path(__file__).parent.parent.parent / "data_demo"


def two_stores(full_l):
    """A butt that is empty and waters the beans, and a tank that nothing draws from."""
    tables = table(tank={"start_l": 0, "capacity_l": 300}, zone={"minutes": 5})
    return tables | {"tank": [*tables["tank"], {"name": "Tank", "capacity_l": 5000, "start_l": full_l}]}


def asked(tables):
    site, eve = spell(tables)
    ky = sensitivity_of(site, eve).ky
    return move_water(site, eve, ky, foresee(site, eve, ky), search(site, eve, ky).least_harm)


def test_an_idle_store_feeds_an_empty_one():
    moved = asked(two_stores(2000))
    assert (moved.transfer.from_tank, moved.transfer.to_tank) == ("Tank", "Butt")
    assert moved.found.least_harm < 0.01


def test_nothing_is_moved_where_that_would_save_too_little():
    assert asked(two_stores(0)) is None
    assert asked(table(zone={"minutes": 6})) is None
    assert GAIN > 0.0


def test_each_day_of_moving_takes_its_minutes():
    """[effort] transfer_minutes is 5 by default; the spell has three weeks."""
    found = school().finding.moving
    one = found.named[-1]
    days = sum(litres > 0.0 for litres in one.course.moved_l[:, -1])
    free = found.eve.garden.changed(transfers={"run_minutes": np.zeros((1, 1))})
    without = try_plans(found.site, replace(found.eve, garden=free), [one.plan], found.sensitivity.ky)
    assert days > 0
    assert found.found.trial.week_minutes[one.number] - without.week_minutes[0] == pytest.approx(days * 5.0 / 3)


def test_moving_water_is_told_with_its_price():
    (told,) = moving_choice(school().finding)
    assert re.match(
        r"Least harm, moving water: when Shed butt holds less than \d+ L, fill it from Class-room tank, but leave \d+",
        told,
    )
    assert "of the yield at risk, now 0 %." in told


def test_the_lines_to_paste_move_the_water():
    """The site with the lines in it, run as its present plan, comes out as the search said."""
    found = school().finding
    told = moving_facts(found)
    tables, lines = tomllib.loads((DEMO / "site.toml").read_text("utf-8")), tomllib.loads("\n".join(told["toml"]))
    tables["transfer"] = [*tables.get("transfer", []), *lines["transfer"]]
    for keys in lines["zone"]:
        zone = next(zone for zone in tables["zone"] if zone["name"] == keys["name"])
        zone |= keys
    site = site_of(tables)
    pasted = eve_of(site, garden_of(site), found.weather, found.hot)
    eve = replace(found.eve, garden=pasted.garden)  # the days before the spell are those of the plan before it
    after = try_plans(site, eve, [tuple(None for _ in site.zone)], found.sensitivity.ky)
    assert after.harm.item() == pytest.approx(told["yield_at_risk"])
    assert after.week_minutes.item() == pytest.approx(told["work_minutes_per_week"])


def test_the_litres_of_foresight_are_among_what_is_tried():
    """Minutes rounded down to what somebody would set: so far below it that a run is not half a minute longer."""
    site, eve = spell(table(tank={"start_l": 300, "capacity_l": 2000}))
    litres = np.array([300.0])
    options = options_of(site, eve, litres)
    plans = near_litres(site, eve, options, litres)
    for ((option,),) in zip(plans, strict=True):
        assert option in options[0]
    daily = [plan[0] for plan in plans if plan[0].every_days == 1 and plan[0].trigger == "timer"]
    assert any(1.0 <= option.minutes <= 300.0 / 21 / 10 for option in daily)  # 14.3 L a day at 10 L/min
