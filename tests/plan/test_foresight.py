"""The bound by hand, against a second programme written from the equations, and against the model itself."""

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st
from plan.asked import demo_spell, prospect_of
from plan.by_the_book import least_harm
from spell.beans import spell, table

from waterbudget.plan.foresight import _beds, _stores, foresight
from waterbudget.plan.programme import Programme
from waterbudget.plan.what_if import a_valve_for_each_bed, one_store, rationed, with_a_move
from waterbudget.schedule.actions import Actions
from waterbudget.simulate.drive import drive
from waterbudget.simulate.keep import Keep
from waterbudget.spell.trial import sensitivity_of, try_plans

BEANS_KY = 1.15  # FAO-33 Table 24 (from memory), used by FAO-56 in Example 44
LACK = Keep(sums=("beds.lack_mm", "beds.planted_etc_mm", "outlets.unmet_l"))
LITRES = st.integers(0, 900)


def butt(litres, **others):
    """Ten square metres of beans on a butt that holds so many litres; a litre is 0.1 mm."""
    return table(tank={"start_l": litres, "capacity_l": 2000}, **others)


def beans(litres, **others):
    site, eve = spell(butt(litres, **others))
    return prospect_of(site, eve)


def cans(l_per_day):
    return [{"name": "Cans", "tank": "Butt", "l_per_day": l_per_day, "from": "07-01"}]


@pytest.mark.parametrize("litres", [0, 100, 200, 350])
def test_one_bed_and_one_store_without_rain_by_hand(litres):
    """The soil has 100 mm and 50 of them freely; the butt adds litres / 10 mm wherever they still count in full.

    So 5 mm a day are used down to 50 mm, and from there a tenth of what is left on each day (FAO-56 Eq. 84).
    """
    free_days = 11 + litres // 50
    used_mm = 5.0 * free_days + 45.0 * (1.0 - 0.9 ** (21 - free_days))
    found = foresight(beans(litres))
    assert found.is_proven
    assert found.yield_at_risk == pytest.approx(BEANS_KY * (1.0 - used_mm / 105.0), abs=1e-9)


def test_with_water_to_spare_nothing_is_lost_and_a_litre_is_worth_nothing():
    found = foresight(beans(1500))
    assert found.yield_at_risk == pytest.approx(0.0, abs=1e-9)
    assert found.worth_per_l == pytest.approx([0.0], abs=1e-12)


def test_nobody_loses_more_than_the_harvest():
    """A soil without water and a butt without any: all of the harvest, though Ky times the lack is 1.15 of it."""
    assert foresight(beans(0, bed={"start_depleted": 1.0})).yield_at_risk == pytest.approx(1.0, abs=1e-9)


def test_fixed_cans_are_served_first_unless_they_may_be_rationed():
    prospect = beans(310, draw=cans(10))
    assert prospect.drained == ()
    assert foresight(prospect).yield_at_risk == pytest.approx(foresight(beans(100)).yield_at_risk, abs=1e-9)
    saved = foresight(rationed(prospect, (0,)))
    assert saved.yield_at_risk == pytest.approx(foresight(beans(310)).yield_at_risk, abs=1e-9)


def test_a_store_that_its_cans_alone_empty_lets_them_be_rationed_and_is_told():
    prospect = beans(310, draw=cans(40))
    assert prospect.drained == (0,)
    assert foresight(prospect).yield_at_risk == pytest.approx(foresight(beans(310)).yield_at_risk, abs=1e-9)


def test_what_a_litre_less_for_the_cans_is_worth():
    found = foresight(beans(310, draw=cans(10)))
    assert found.draw_worth_per_l == pytest.approx(found.worth_per_l, rel=1e-6)


@settings(max_examples=30, deadline=None)
@given(LITRES, LITRES, st.integers(0, 60), st.sampled_from((5.0, 10.0, 20.0)), st.booleans())
def test_a_second_programme_says_the_same(litres, capacity, wet_mm, area_m2, before_spill):
    """The equations one by one with scipy's linprog, every drop that drains or spills a variable of its own."""
    assume(litres <= capacity)
    tables = table(
        tank={"start_l": litres, "capacity_l": max(capacity, 1)},
        roof=[{"name": "Roof", "tank": "Butt", "area_m2": area_m2, "runoff_coefficient": 0.9}],
        model={"release": "before_spill" if before_spill else "after_spill"},
    )
    rain_mm = np.where(np.arange(21) % 7 == 5, float(wet_mm), 0.0)[:, None]
    site, eve = spell(tables)
    eve = replace(eve, sky=replace(eve.sky, rain_mm=rain_mm))
    prospect = prospect_of(site, eve)
    assert foresight(prospect).yield_at_risk == pytest.approx(least_harm(prospect), abs=1e-7)


@pytest.mark.parametrize(("days", "high_c"), [(14, 30.0), (21, 26.0), (28, 28.0)])
def test_the_model_does_with_its_litres_what_the_bound_says(days, high_c):
    """The litres of perfect foresight, run as actions zone by zone and day by day: the same harm, and none is short."""
    site, eve = demo_spell(days, high_c)
    prospect = prospect_of(site, eve)
    found = foresight(prospect)
    minutes = np.full((days, len(site.zone) + len(site.draw)), np.nan)
    minutes[:, : len(site.zone)] = found.litres_l / eve.garden.outlets.flow_l_min[: len(site.zone), 0]
    actions = Actions(minutes, np.zeros((days, len(site.tank))))
    _, kept = drive(eve.garden, eve.season, eve.sky, eve.state, actions, keep=LACK)
    lost = (prospect.ground.harm_per_mm[0] * kept.sums["beds.lack_mm"][prospect.ground.columns, 0]).sum()
    assert np.ptp(prospect.ground.harm_per_mm[3:], axis=0).max() == 0.0  # Ky is that of all days: nothing to weigh
    assert kept.sums["outlets.unmet_l"].max() < 1e-6
    assert lost == pytest.approx(found.yield_at_risk, abs=1e-6)


@pytest.mark.parametrize(
    ("days", "high_c", "zones", "valves", "pooled"),
    [
        (14, 30.0, 11.6, 8.2, 0.6),
        (21, 26.0, 16.5, 15.8, 7.0),
        (28, 28.0, 25.6, 24.4, 20.6),
        (35, 24.0, 29.8, 28.2, 25.9),
    ],
)
def test_the_demo(days, high_c, zones, valves, pooled):
    """Found once by another programme of the same equations, to a tenth of a per cent (the last two of the column
    pooled are our own); a pump from the tank to the butt is worth as much as one large store."""
    site, eve = demo_spell(days, high_c)
    prospect = prospect_of(site, eve)
    moved = with_a_move(prospect, 0, 1, 200.0)
    ways = (prospect, a_valve_for_each_bed(prospect), one_store(prospect), moved)
    for way, percent in zip(ways, (zones, valves, pooled, pooled), strict=True):
        assert 100.0 * foresight(way).yield_at_risk == pytest.approx(percent, abs=0.1)


@settings(max_examples=30, deadline=None)
@given(st.integers(3, 900))
def test_what_a_litre_is_worth_lies_between_a_litre_less_and_a_litre_more(litres):
    less, now, more = (foresight(beans(litres + step)) for step in (-1, 0, 1))
    assert more.yield_at_risk <= now.yield_at_risk + 1e-12
    worth, slack = now.worth_per_l.item(), 1e-9
    assert now.yield_at_risk - more.yield_at_risk <= 1.01 * worth + slack
    assert worth <= 1.01 * (less.yield_at_risk - now.yield_at_risk) + slack


@pytest.mark.parametrize("days", [14, 21, 28])
def test_what_a_litre_is_worth_in_the_demo_is_the_difference_of_a_litre(days):
    site, eve = demo_spell(days, 26.0)
    prospect = prospect_of(site, eve)
    now = foresight(prospect)
    for tank in range(len(site.tank)):
        level_l = prospect.stores.level_l.copy()
        level_l[tank] += 1.0
        more = foresight(prospect.changed(stores={"level_l": level_l}))
        assert now.yield_at_risk - more.yield_at_risk == pytest.approx(now.worth_per_l[tank], rel=0.01, abs=1e-9)


@pytest.mark.parametrize("seconds", [0.0, 1e-6, 1e-3, 2e-3, 4e-3, 8e-3])
def test_time_that_runs_out_leaves_the_best_bound_so_far(seconds):
    """Whatever the solver had found by then: no more than the true least, and never none."""
    site, eve = demo_spell(35, 24.0)
    prospect = prospect_of(site, eve)
    found = foresight(prospect, seconds=seconds)
    assert 0.0 <= found.yield_at_risk <= foresight(prospect).yield_at_risk + 1e-9
    if seconds <= 1e-6:
        assert not found.is_proven
        assert found.at_odds is None


@settings(max_examples=30, deadline=None)
@given(LITRES, st.floats(0.0, 0.03))
def test_prices_of_any_row_bound_the_least_from_below(litres, off):
    """Weak duality: the programme's own prices give the least itself, and any others no more."""
    programme = Programme()
    prospect = beans(litres, draw=cans(10))
    _stores(programme, prospect, *_beds(programme, prospect), spills_at_brim=False)
    found = programme.solve()
    assert programme.bound(found.row_duals) == pytest.approx(found.least, abs=1e-7)
    shaken = found.row_duals * (1.0 + off) + off * np.sin(np.arange(programme.height)) / programme.height
    assert programme.bound(shaken) <= found.least + 1e-9


def test_a_store_or_a_bed_that_contradicts_the_programme_is_named():
    site, eve = demo_spell()
    prospect = prospect_of(site, eve)
    draws = foresight(prospect.changed(takers={"asked_l": 100.0 * prospect.takers.asked_l}))
    assert not draws.is_proven
    assert np.isnan(draws.yield_at_risk)
    assert draws.at_odds == ("tank", [tank.name for tank in site.tank].index("Class-room tank"))
    for column, bed in enumerate(prospect.ground.columns):
        depletion_mm = prospect.ground.depletion_mm.copy()
        depletion_mm[column] = 2.0 * prospect.ground.taw_mm[0, column]  # more than its soil ever held
        dry = prospect.changed(ground={"depletion_mm": depletion_mm})
        assert foresight(dry).at_odds == ("bed", bed)


@pytest.mark.parametrize("at_brim", [False, True])
def test_the_days_own_water_may_be_drawn_before_it_spills(at_brim):
    """An empty store catches 15 L a day and all of them go to the beans on the same day: nothing is left to spill."""
    tables = table(
        tank={"start_l": 0, "capacity_l": 20, "overflow_to": "Low"},
        zone={"minutes": 1.5},
        model={"release": "before_spill"},
        inflow=[{"name": "Spring", "tank": "Butt", "l_per_day": 15}],
    )
    site, eve = spell(tables | {"tank": [*tables["tank"], {"name": "Low", "capacity_l": 20, "start_l": 0}]})
    found = foresight(prospect_of(site, eve), spills_at_brim=at_brim)
    drawn = try_plans(site, eve, [(None,)], sensitivity_of(site, eve).ky).harm[0]
    assert found.is_proven
    assert found.yield_at_risk <= drawn + 1e-9
    assert found.litres_l.sum() >= 15.0 * 21 - 1e-6
