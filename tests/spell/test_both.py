"""Water moved and draws rationed together: told where that saves more than either, and as the lines to paste do."""

import functools
import re
import tomllib
from pathlib import Path

import numpy as np
import pytest
from gardens import site_of
from spell.beans import FIRST, table, weather

from waterbudget.answers.hotspell import answer
from waterbudget.answers.spell_both import both_choice, both_facts
from waterbudget.schedule.built import garden_of
from waterbudget.simulate.opened import open_site
from waterbudget.spell.carry import as_another
from waterbudget.spell.hot import Spell
from waterbudget.spell.rationing import GAIN
from waterbudget.spell.study import study
from waterbudget.spell.trial import try_plans

DEMO = Path(__file__).parent.parent.parent / "data_demo"


def tables(**cans):
    """An empty butt that waters beans and cans, which may get less, and 500 L in a tank that nothing draws from."""
    cans = {"name": "Cans", "tank": "Butt", "l_per_day": 10, "from": "07-01", "may_ration": True} | cans
    garden = table(zone={"minutes": 6}, tank={"start_l": 0, "capacity_l": 300}, draw=[cans])
    tank = {"name": "Tank", "capacity_l": 5000, "start_l": 500}
    return garden | {"tank": [*garden["tank"], tank]}


@functools.cache
def found(**cans):
    return study(site_of(tables(**cans)), weather(), Spell(21, 26.0, 15.0, first=FIRST))


def test_what_is_moved_helps_more_where_the_cans_leave_it_to_the_beans():
    known = found()
    harms = [one.found.least_harm for one in (known.both.study, known.moving)]
    assert harms[0] <= harms[1] - GAIN
    assert known.rationing is None  # there is nothing in the butt that the cans could leave
    assert harms[0] >= known.foreseen.both.yield_at_risk - 1e-9
    assert known.foreseen.both.yield_at_risk <= min(known.foreseen.move.yield_at_risk, known.foreseen.rationed) + 1e-9


def test_each_share_has_a_rule_of_its_own():
    """In the demo moving helps more where the cans leave the tank alone, and fills the butt sooner."""
    garden = tomllib.loads((DEMO / "site.toml").read_text("utf-8"))
    garden["draw"][0]["may_ration"] = True
    known = study(site_of(garden), open_site(DEMO / "site.toml").weather, Spell())
    assert known.rationing is None  # the tank of the cans has enough for its own beds
    assert known.both.study.found.least_harm <= known.moving.found.least_harm - GAIN
    assert known.both.study.site.transfer[-1] != known.moving.site.transfer[-1]


@pytest.mark.parametrize("cans", [{"may_ration": False}, {"l_per_day": 0.1}])
def test_nothing_is_told_where_the_cans_must_have_it_or_hardly_count(cans):
    known = found(**cans)
    assert known.moving is not None
    assert known.both is None
    assert both_facts(known) is None


def test_it_is_told_with_its_rule_its_share_and_what_is_given_up():
    (told,) = both_choice(found())
    assert re.match(
        r"Least harm of all, moving water, with a quarter of the water for Cans: when Butt holds less than \d+ L, "
        r"fill it from Tank.*; Line .* of the yield at risk, now \d+ %\. That is 158 L less for Cans\.$",
        told,
    )
    whole = answer(found())
    assert told in whole.of_kind("help")
    assert "Never ration what animals drink." in whole.of_kind("caution")
    assert "Moving water, other draws rationed" in str(next(iter(whole.tables)).rows)


def test_the_lines_to_paste_do_what_is_told():
    known, told = found(), both_facts(found())
    garden, lines = tables(), tomllib.loads("\n".join(told["toml"]))
    garden["transfer"] = lines["transfer"]
    for kind in ("draw", "zone"):
        for keys in lines[kind]:
            (one,) = (one for one in garden[kind] if one["name"] == keys["name"])
            one |= keys
    assert told["given_up_l"] == pytest.approx(21 * (10.0 - garden["draw"][0]["l_per_day"]))
    site = site_of(garden)
    after = try_plans(site, as_another(known.eve, garden_of(site)), [(None,)], known.sensitivity.ky)
    assert after.harm.item() == pytest.approx(told["yield_at_risk"])


def any_garden(draw):
    """The demo with other stores, without mains water, and with cans on one of them that may get less."""
    garden = tomllib.loads((DEMO / "site.toml").read_text("utf-8"))
    for tank in garden["tank"]:
        capacity_l = float(draw.integers(150, 2000))
        tank |= {"capacity_l": capacity_l, "start_l": draw.uniform() * capacity_l, "dead_l": 0.0, "mains": "none"}
    store = str(draw.choice([tank["name"] for tank in garden["tank"]]))
    cans = {"name": "Class cans", "tank": store, "l_per_day": float(draw.integers(20, 60)), "may_ration": True}
    return site_of(garden | {"draw": [cans]})


def test_no_garden_loses_less_than_foresight_nor_hears_of_both_where_one_would_do():
    """Drawn with a fixed seed; in some of the gardens both together help."""
    opened, draw = open_site(DEMO / "site.toml"), np.random.default_rng(3)
    told = 0
    for _ in range(10):
        known = study(any_garden(draw), opened.weather, Spell(int(draw.integers(7, 30)), draw.uniform(22.0, 32.0)))
        if known.both is not None:
            told += 1
            others = [known, known.moving, known.rationing and known.rationing.study]
            harm = known.both.study.found.least_harm
            assert known.foreseen.both.yield_at_risk - 1e-9 <= harm
            assert harm <= min(one.found.least_harm for one in others if one) - GAIN
    assert told > 0
