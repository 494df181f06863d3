"""A spell without mains water, under a ban, or with nobody there; by hand, over the bed of beans."""

import datetime as dt

import numpy as np
import pytest
from gardens import site_of
from spell.beans import FIRST, spell, table, weather

from waterbudget.errors import InputError
from waterbudget.spell.away import away_of
from waterbudget.spell.foreseen import foresee
from waterbudget.spell.hot import Spell
from waterbudget.spell.saving import saving_of
from waterbudget.spell.search import search
from waterbudget.spell.study import study
from waterbudget.spell.terms import on_terms
from waterbudget.spell.trial import sensitivity_of

LAST = FIRST + dt.timedelta(days=20)
JULY = (FIRST, LAST)


def saved(tables):
    site, eve = spell(tables)
    ky = sensitivity_of(site, eve).ky
    return saving_of(site, eve, ky, foresee(site, eve, ky))


def left(tables, stretch):
    site, eve = spell(tables)
    return away_of(site, eve, sensitivity_of(site, eve).ky, stretch)


def test_saving_begins_as_late_and_as_lightly_as_loses_nothing():
    """600 L, 100 L a day onto a bed that uses 50 L: each day at full length lets 50 L sink away.

    The soil gives 55 mm of the 105 mm freely, so 500 L must reach the roots: two full days may go by.
    """
    found = saved(table(tank={"start_l": 600, "capacity_l": 2000}, zone={"minutes": 10}))
    assert found.without > 0.04
    assert found.yield_at_risk < 0.005
    assert found.share == 0.5
    assert found.from_day in {2, 3}  # on the third a two-hundredth of the yield is lost, which counts as nothing


def test_where_every_litre_counts_alike_saving_is_no_use():
    found = saved(table(tank={"start_l": 200, "capacity_l": 2000}, zone={"minutes": 5}))
    assert (found.share, found.from_day) == (1.0, 0)
    assert found.yield_at_risk == found.without


def test_saving_takes_nothing_from_other_draws():
    hens = [{"name": "Hens", "tank": "Butt", "l_per_day": 20, "priority": 2, "from": "07-01"}]
    site, eve = spell(table(tank={"start_l": 900, "capacity_l": 2000}, zone={"minutes": 10}, draw=hens))
    ky = sensitivity_of(site, eve).ky
    found = saving_of(site, eve, ky, foresee(site, eve, ky))
    assert found.yield_at_risk <= found.without


def test_what_may_be_rationed_is_given_up_first_then_what_a_litre_helps_least():
    tables = table(
        tank={"start_l": 200, "capacity_l": 2000},
        draw=[{"name": "Cans", "tank": "Butt", "l_per_day": 1, "may_ration": True}],
    )
    (bed,) = tables["bed"]
    tomato = [bed["planting"][0] | {"crop": "tomato"}]  # Ky 1.05, of beans 1.15: FAO-33 Table 24 (from memory)
    found = saved(tables | {"bed": [bed, bed | {"name": "Tomato bed", "planting": tomato}]})
    assert found.give_up == ("Cans", "Tomato bed", "Bean bed")


def test_without_mains_no_store_has_any():
    tank = {"mains": "float", "float_below_l": 10, "float_to_l": 20}
    site = on_terms(site_of(table(tank=tank)), Spell(no_mains=True))
    assert [(tank.mains, tank.float_below_l) for tank in site.tank] == [("none", None)]


def test_a_ban_holds_on_its_days():
    site = site_of(table(tank={"start_l": 50, "capacity_l": 200, "mains": "direct"}, zone={"minutes": 5}))
    free, banned = (
        study(site, weather(), Spell(10, 26.0, 15.0, first=FIRST, ban=ban)).found.trial.from_mains_l[0]
        for ban in (None, (FIRST + dt.timedelta(days=5), FIRST + dt.timedelta(days=9)))
    )
    assert (free, banned) == (pytest.approx(450.0), pytest.approx(200.0))


def test_what_needs_a_hand_and_what_level_to_leave_with():
    """6 minutes of 10 L on ten days, and 20 L for hens: 800 L, and 30 L below the outlet."""
    hens = [{"name": "Hens", "tank": "Butt", "l_per_day": 20}]
    found = left(
        table(tank={"start_l": 1000, "capacity_l": 2000, "dead_l": 30}, zone={"minutes": 6}, draw=hens),
        (FIRST, FIRST + dt.timedelta(days=9)),
    )
    assert found.hands == {"Line": 10, "Hens": 10}
    assert found.needed_l == pytest.approx([830.0])
    assert found.by_itself == ()


def test_a_timer_carries_what_nobody_does():
    by_hand = table(tank={"start_l": 2000, "capacity_l": 3000}, zone={"minutes": 6})
    found = left(by_hand, JULY)
    assert found.alone.yield_at_risk > 0.1
    assert found.timed.yield_at_risk == pytest.approx(0.0, abs=1e-9)
    by_battery = left(by_hand | {"effort": {"by_battery": ["Line"]}}, JULY)
    assert by_battery.by_itself == ("Line",)
    assert by_battery.alone.yield_at_risk == pytest.approx(0.0, abs=1e-9)
    assert by_battery.hands == {}


def test_a_hose_needs_a_hand_and_a_float_valve_none():
    timed = {"effort": {"by_battery": ["Line"]}, "zone": {"minutes": 6}}
    tank = {"start_l": 50, "capacity_l": 200}
    hose = left(table(tank=tank | {"mains": "direct"}, zone=timed["zone"], effort=timed["effort"]), JULY)
    valve = left(
        table(
            tank=tank | {"mains": "float", "float_below_l": 60, "float_to_l": 150},
            zone=timed["zone"],
            effort=timed["effort"],
        ),
        JULY,
    )
    assert hose.alone.yield_at_risk > 0.1
    assert hose.alone.short == ("Butt",)
    assert valve.alone.yield_at_risk == pytest.approx(0.0, abs=1e-9)


def test_plans_beyond_what_a_bed_may_lose_are_the_best_only_if_all_are():
    tables = table(tank={"start_l": 300, "capacity_l": 2000}, zone={"minutes": 5})
    (bed,) = tables["bed"]
    for most, kept in ((0.1, True), (0.0, False)):
        site, eve = spell(tables | {"bed": [bed | {"largest_loss": most}]})
        found = search(site, eve, sensitivity_of(site, eve).ky)
        numbers = list(found.least.values())
        assert np.any(found.trial.at_risk[:, 0] > most + 0.001)
        assert np.all(found.trial.at_risk[numbers, 0] <= most + 0.001) == kept
        assert np.any(found.beyond[numbers]) != kept


@pytest.mark.parametrize(
    ("asked", "words"),
    [
        ({"ban": (LAST, FIRST)}, "ban ends on 2031-07-01, before it begins on 2031-07-21"),
        ({"away": (LAST, FIRST)}, "away ends on 2031-07-01, before it begins on 2031-07-21"),
        ({"ban": (FIRST, LAST), "no_mains": True}, "a ban is asked for, and no mains water at all"),
        ({"ban": (FIRST, dt.date(2031, 9, 1))}, "ban is from 2031-07-01 to 2031-09-01, and weather and spell have"),
        ({"away": (dt.date(2031, 6, 1), LAST)}, "away is from 2031-06-01 to 2031-07-21, and the spell has 2031-07-01"),
    ],
)
def test_days_that_cannot_be_are_refused(asked, words):
    with pytest.raises(InputError, match=words):
        study(site_of(table()), weather(), Spell(21, 26.0, 15.0, first=FIRST, **asked))
