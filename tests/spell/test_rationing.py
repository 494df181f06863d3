"""Draws that may get less: rationed where that saves enough, no further than it helps, and as the lines to paste do."""

import re
import tomllib

import pytest
from gardens import site_of
from spell.beans import spell, table
from spell.hot_gardens import beans

from waterbudget.answers.hotspell import answer
from waterbudget.answers.spell_rationing import rationing_choice, rationing_facts
from waterbudget.schedule.built import garden_of
from waterbudget.spell.carry import as_another
from waterbudget.spell.foreseen import foresee
from waterbudget.spell.rationing import LIKE, SHARES, ration_draws
from waterbudget.spell.search import search
from waterbudget.spell.trial import sensitivity_of, try_plans


def cans(l_per_day=10, **keys):
    return [{"name": "Cans", "tank": "Butt", "l_per_day": l_per_day, "from": "07-01", "may_ration": True} | keys]


def short(litres=400, **keys):
    """Beans that ask for 50 L a day and have 500 L in the soil, and cans that may get less, on one butt."""
    return {"zone": {"minutes": 6}, "tank": {"start_l": litres, "capacity_l": 2000}, "draw": cans(**keys)}


def asked(tables):
    site, eve = spell(tables)
    ky = sensitivity_of(site, eve).ky
    return ration_draws(site, eve, ky, foresee(site, eve, ky).fewer, search(site, eve, ky).least_harm)


def test_the_beans_get_what_the_cans_give_up():
    rationed = asked(table(**short()))
    assert rationed.share == 0.0
    site, eve = spell(table(**short() | {"draw": []}))
    ky = sensitivity_of(site, eve).ky
    assert rationed.found.least_harm == pytest.approx(search(site, eve, ky).least_harm, abs=LIKE)


def test_no_more_is_given_up_than_helps():
    """The beans need 550 L and the cans ask for 420; with 760 in the butt half of that will do."""
    rationed = asked(table(**short(760, l_per_day=20)))
    assert rationed.share in SHARES[1:]
    assert rationed.found.least_harm < LIKE


@pytest.mark.parametrize("keys", [{"may_ration": False}, {"l_per_day": 0.1}])
def test_nothing_is_rationed_that_may_not_be_or_saves_too_little(keys):
    assert asked(table(**short(**keys))) is None


def test_it_is_told_with_what_is_given_up():
    found = beans(**short()).finding
    (told,) = rationing_choice(found)
    assert re.match(r"Least harm, with no water for Cans: Line .* of the yield at risk, now \d+ %\. ", told)
    assert told.endswith(" That is 210 L less for Cans.")
    assert told in answer(found).of_kind("help")
    assert "Never ration what animals drink." in answer(found).of_kind("caution")
    assert "Other draws rationed" in str(next(iter(answer(found).tables)).rows)


def test_the_lines_to_paste_do_what_is_told():
    found = beans(**short(500, l_per_day=20)).finding
    told = rationing_facts(found)
    tables, lines = table(**short(500, l_per_day=20)), tomllib.loads("\n".join(told["toml"]))
    for kind in ("draw", "zone"):
        for keys in lines.get(kind, []):
            (one,) = (one for one in tables[kind] if one["name"] == keys["name"])
            one |= keys
    assert told["given_up_l"] == pytest.approx(21 * (20.0 - tables["draw"][0]["l_per_day"]))
    assert told["draws"] == ["Cans"]
    site = site_of(tables)
    after = try_plans(site, as_another(found.eve, garden_of(site)), [(None,)], found.sensitivity.ky)
    assert after.harm.item() == pytest.approx(told["yield_at_risk"])
    assert after.harm.item() >= found.foreseen.rationed - 1e-9
