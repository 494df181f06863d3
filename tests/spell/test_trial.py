"""A spell that can be reckoned by hand, what it costs in yield, and more water from a store."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from spell.beans import hot, spell, table, weather

from waterbudget.spell.plans import OFF, Option
from waterbudget.spell.trial import courses_of, day_of, sensitivity_of, try_plans

RAW_LEFT = 0.9  # of what is left beyond RAW, after a day: 5 mm a day over TAW - RAW = 50 mm


def tried(tables, *plans, before=None, days=None):
    site, eve = spell(tables, before, days)
    return try_plans(site, eve, [(plan,) for plan in plans], sensitivity_of(site, eve).ky)


def test_the_first_day_of_stress_is_that_of_the_arithmetic():
    """Dr grows by 5 mm a day and RAW is 50 mm: on the eleventh morning Dr is 50, on the twelfth 55 and Ks below 1."""
    site, eve = spell(table())
    trial = try_plans(site, eve, [(None,)], sensitivity_of(site, eve).ky)
    assert trial.first_stress.tolist() == [[11.0]]
    assert day_of(eve, trial.first_stress[0, 0]) == "2031-07-12"
    assert trial.stress_days.tolist() == [[10.0]]  # the twelfth to the twenty-first


def test_a_soil_that_is_drier_on_the_eve_is_thirsty_sooner():
    trial = tried(table(), None, before=weather(days=5, et0_mm=2.0))  # 10 mm gone: 55 on the tenth morning
    assert trial.first_stress.tolist() == [[9.0]]


def test_the_yield_at_risk_is_that_of_the_arithmetic():
    """From Dr = RAW on, what is left falls to 0.9 of it each day: ETa of the days 12 to 21 is 45 (1 - 0.9^10) mm.

    Ky of beans 1.15: FAO-33 Table 24 (from memory), used by FAO-56 in Example 44, p. 194.
    """
    trial = tried(table(), None)
    eta_mm = 11 * 5.0 + 45.0 * (1.0 - RAW_LEFT**10)
    lack = 1.0 - eta_mm / (21 * 5.0)
    assert trial.lack.item() == pytest.approx(lack, rel=1e-12)
    assert trial.at_risk.item() == pytest.approx(1.15 * lack, rel=1e-12)
    assert trial.harm.item() == trial.at_risk.item()


def test_nobody_loses_more_than_the_harvest():
    trial = tried(table(bed={"start_depleted": 1.0}), None)
    assert trial.lack.item() == pytest.approx(1.0)
    assert trial.at_risk.item() == 1.0  # not 1.15


def test_harm_is_by_area_and_leaves_out_beds_that_nobody_waters():
    tables = table()
    (bed,) = tables["bed"]
    wide = bed | {"name": "Wide bed", "area_m2": 30, "start_depleted": 0.5}
    rain_only = {key: value for key, value in bed.items() if key != "zone"} | {"name": "Far bed"}
    trial = tried(tables | {"bed": [bed, wide, rain_only]}, None)
    narrow, broad, far = trial.at_risk[0]
    assert far == narrow > 0.0
    assert trial.harm.item() == pytest.approx((10 * narrow + 30 * broad) / 40, rel=1e-12)


def test_a_bare_bed_risks_nothing():
    trial = tried(table(bed={"planting": []}), None)
    assert (trial.harm.item(), trial.at_risk.item(), trial.stress_days.item()) == (0.0, 0.0, 0.0)


def test_each_planting_answers_by_its_own_factor():
    tables = table()
    (planting,) = tables["bed"][0]["planting"]
    early = planting | {"days": [0, 0, 61, 10], "crop": "tomato"}  # to 10 July
    late = planting | {"planted": early["planted"].replace(month=7, day=15)}
    site, eve = spell(tables | {"bed": [tables["bed"][0] | {"planting": [early, late]}]})
    ky, responses = sensitivity_of(site, eve)
    assert ky[:, 0].tolist() == [1.05] * 10 + [0.0] * 4 + [1.15] * 7
    assert [response.label for response in responses[0]] == ["tomato", "bean"]


def test_the_day_the_store_is_short_and_the_mains_water_by_hand():
    """100 L in the store and 40 L a day: two full days, and 20 L on the third; 21 days ask for 840 L."""
    for mains in ("none", "direct"):
        trial = tried(table(tank={"start_l": 100, "capacity_l": 200, "mains": mains}, zone={"minutes": 4}), None)
        assert trial.days_lasted.tolist() == [2]
        assert trial.tank_short.tolist() == [[2.0]]
        assert trial.needed_l.item() == pytest.approx(740.0)
        assert trial.given_l.item() == pytest.approx(840.0 if mains == "direct" else 100.0)
        assert not trial.lasts.item()


def test_a_float_valve_is_mains_water():
    tank = {"start_l": 100, "capacity_l": 200, "mains": "float", "float_below_l": 60, "float_to_l": 80}
    trial = tried(table(tank=tank, zone={"minutes": 4}), None, OFF)
    assert trial.tank_short.tolist() == [[float("inf")]] * 2
    assert trial.days_lasted.tolist() == [2, 21]
    assert trial.lasts.tolist() == [False, True]
    assert trial.needed_l[0] > 0.0


def test_plans_side_by_side_are_plans_alone():
    tables = table(tank={"start_l": 400, "capacity_l": 500}, zone={"minutes": 4, "every_days": 2})
    plans = [None, OFF, Option(3.0, 1, "timer"), Option(9.0, 3, "dry"), Option(9.0, 2, "refill")]
    together = tried(tables, *plans)
    for number, plan in enumerate(plans):
        alone = tried(tables, plan)
        for name in ("days_lasted", "given_l", "needed_l", "left_l", "week_minutes", "harm"):
            assert getattr(alone, name).item() == pytest.approx(getattr(together, name)[number], rel=1e-12), name


def test_the_course_is_that_of_the_plan():
    site, eve = spell(table(tank={"start_l": 100, "capacity_l": 200}, zone={"minutes": 4}))
    (course,) = courses_of(site, eve, [(None,)])
    assert course.level_l[:4, 0].tolist() == [100.0, 60.0, 20.0, 0.0]
    assert course.soil[:2, 0].tolist() == pytest.approx([1.0, 0.99])  # 5 mm used, 4 mm given
    assert course.limit[:, 0].tolist() == [0.5] * 21
    assert course.unmet_l[:4, 0].tolist() == [0.0, 0.0, 20.0, 40.0]


@settings(max_examples=40, deadline=None)
@given(
    st.floats(0.0, 40.0),
    st.floats(0.0, 40.0),
    st.integers(1, 4),
    st.floats(0.0, 1.0),
    st.lists(st.floats(0.5, 9.0), min_size=21, max_size=21),
)
def test_from_a_store_that_never_runs_dry_more_water_never_brings_more_stress(minutes, more, every, depleted, et0_mm):
    days = hot()._replace(et0_mm=np.array(et0_mm)[:, None])
    plans = [Option(minutes, every, "timer"), Option(minutes + more, every, "timer")]
    trial = tried(table(bed={"start_depleted": depleted}), *plans, days=days)
    assert trial.lasts.all()
    assert trial.stress_days[1, 0] <= trial.stress_days[0, 0]
    assert trial.first_stress[1, 0] >= trial.first_stress[0, 0]


def test_from_a_store_that_runs_dry_more_water_can_bring_more_stress():
    """1000 L for 21 days of 50 L: 5 minutes a day make them last for 20 of these, and nothing wilts. With 50 minutes
    they are gone after two days, most of them past the roots: Dr is 0 on the third morning and 55 on the 14th."""
    tables = table(tank={"start_l": 1000, "capacity_l": 1000})
    trial = tried(tables, Option(5.0, 1, "timer"), Option(50.0, 1, "timer"))
    assert trial.stress_days[:, 0].tolist() == [0.0, 8.0]
    assert trial.harm[1] > trial.harm[0] == 0.0
