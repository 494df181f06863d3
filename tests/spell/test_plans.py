"""The plans that are tried, where the flow of a zone follows the level of its store."""

from dataclasses import replace

import numpy as np
import pytest
from asking import DEMO
from gardens import site_of
from hose import BY_GRAVITY, opened
from spell.beans import FIRST, spell, table

from waterbudget.schedule.pulse import pulses_of
from waterbudget.simulate.opened import open_site
from waterbudget.simulate.watering import flow_at
from waterbudget.spell.hot import Spell
from waterbudget.spell.plans import OFF, SHARES, Option, options_of, toml_of
from waterbudget.spell.study import study
from waterbudget.spell.trial import sensitivity_of, try_plans
from waterbudget.units import NUMPY


def test_a_line_that_gives_less_from_a_low_store_is_tried_with_longer_runs(tmp_path):
    site, weather = opened(tmp_path, *BY_GRAVITY)
    eve = study(site, weather, Spell(days=7)).eve
    site = site.model_copy(update={"bed": [bed.model_copy(update={"soil": None}) for bed in site.bed]})
    tank = eve.garden.structure.outlet_tank[0]
    longest, flow_l_min = {}, {}
    for share in (0.5, 1.0):
        at = replace(eve, state=eve.state.dipped(tank, share * eve.garden.tanks.capacity_l[tank, 0]))
        flow_l_min[share] = flow_at(NUMPY, at.garden, at.state.level_l).l_min[0, 0]
        longest[share] = max(option.minutes for option in options_of(site, at)[0] if option is not None)
    assert flow_l_min[0.5] < flow_l_min[1.0]
    longer = longest[0.5] / longest[1.0]
    np.testing.assert_allclose(longer, flow_l_min[1.0] / flow_l_min[0.5], rtol=1.0 / (max(SHARES) * longest[1.0]))


def test_an_empty_line_leaves_nothing_to_try(tmp_path):
    site, weather = opened(tmp_path, *BY_GRAVITY)
    eve = study(site, weather, Spell(days=7)).eve
    empty = replace(eve, state=eve.state._replace(level_l=np.zeros_like(eve.state.level_l)))
    assert len(options_of(site, empty)[0]) == 2, "as it is, or shut"


def test_no_plan_asks_for_more_at_once_than_the_soil_takes():
    """60 mm/h on loam, which takes 15: no run longer than 6.7 minutes, and what needs more comes in pulses."""
    site, eve = spell(table(zone={"minutes": 5}, bed={"soil": "loam"}))
    (options,) = options_of(site, eve)
    tried = [option for option in options if option is not None and option != OFF]
    assert max(option.minutes for option in tried) <= 60 * 5 / 45
    assert max(option.all_minutes for option in tried) > 20, "what four dry days take"
    assert all(option.pulses == 1 or option.all_minutes > 60 * 5 / 45 - 1 for option in tried)


def test_pulses_give_what_one_run_would_and_take_their_time():
    site, eve = spell(table(zone={"minutes": 5}, bed={"soil": "loam"}, effort={"valve_minutes": 1}))
    plans = [(Option(15.0, 1, "timer"),), (Option(5.0, 1, "timer", 3),)]
    whole, pulsed = (try_plans(site, eve, [plan], sensitivity_of(site, eve).ky) for plan in plans)
    assert pulsed.given_l == whole.given_l
    assert pulsed.week_minutes == 3 * whole.week_minutes
    lines = toml_of(site.zone[0], plans[1][0], FIRST, is_hot=False)
    assert lines[:2] == ["minutes = 5", "runs_per_day = 3"]


def test_pulses_of_hot_days_leave_the_other_days_as_they_are():
    zone = table(zone={"minutes": 6, "hot_above_c": 25, "hot_minutes": 9})
    lines = toml_of(site_of(zone).zone[0], Option(5.0, 1, "timer", 3), FIRST, is_hot=True)
    assert lines[:3] == ["hot_minutes = 5", "minutes = 2", "runs_per_day = 3"]


@pytest.mark.parametrize(("days", "high_c"), [(14, 30.0), (21, 26.0), (28, 28.0)])
def test_the_school_is_advised_no_run_that_its_soil_cannot_take(days, high_c):
    """Common practice, no source: sixty minutes of fine jets at 70 to 90 mm an hour run off any loam."""
    opened_demo = open_site(DEMO / "site.toml")
    found = study(opened_demo.site, opened_demo.weather, Spell(days, high_c))
    longest = pulses_of(found.site, found.eve.garden)
    assert [round(pulse.rate_mm_h) for pulse in longest] == [77, 30]
    for plan in found.found.plans:
        for option, pulse in zip(plan, longest, strict=True):
            assert option is None or option.minutes <= pulse.longest_minutes
