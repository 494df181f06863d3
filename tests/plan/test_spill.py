"""Lines above what a store runs over: no day of the model crosses them, and a store at either end touches them."""

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from plan.asked import demo_spell, prospect_of

from waterbudget.plan.spill import WET_DAYS, spill_lines
from waterbudget.schedule.actions import Actions
from waterbudget.simulate.drive import drive
from waterbudget.simulate.keep import Keep

UPPER = 0  # the tank that runs over into the butt; North line and the cans draw from it
DAYS = 21
KEEP = Keep(each=("tanks.spilled_l", "tanks.level_l", "outlets.given_l", "outlets.unmet_l"))
RAIN_MM = st.lists(st.sampled_from((0.0, 0.0, 3.0, 12.0, 45.0)), min_size=DAYS, max_size=DAYS)
MINUTES = st.lists(st.sampled_from((0.0, 0.0, 20.0, 120.0, 400.0)), min_size=DAYS, max_size=DAYS)


def demo(rain_mm, start_l, leak_l, *, before_spill):
    """The demo's spell with other rain, and its upper store as it is on the eve."""
    site, eve = demo_spell(DAYS)
    garden = eve.garden.changed(tanks={"loss_l_per_day": np.array([[leak_l], [0.0]])})
    return site, replace(
        eve,
        garden=garden.restructured(before_spill=before_spill, mains=("none", "none")),
        sky=replace(eve.sky, rain_mm=np.array(rain_mm, dtype=float)[:, None]),
        state=eve.state.dipped(UPPER, start_l),
    )


def watered(eve, minutes):
    """What the upper store spilled and, on each day, held before that, as lines count it; and whether all was given."""
    acted = np.full((DAYS, 3), np.nan)
    acted[:, 0] = minutes
    _, kept = drive(eve.garden, eve.season, eve.sky, eve.state, Actions(acted, np.zeros((DAYS, 2))), keep=KEEP)
    level_l = np.append(eve.state.level_l[UPPER, 0], kept.each["tanks.level_l"][:-1, UPPER, 0])
    given_l = kept.each["outlets.given_l"][:, [0, 2], 0].sum(axis=1)  # North line, cans
    held_l = level_l - given_l if eve.garden.structure.before_spill else level_l
    return kept.each["tanks.spilled_l"][:, UPPER, 0], held_l, kept.each["outlets.unmet_l"][:, 2, 0].max() < 1e-9


def over(lines, spilled_l, held_l):
    """How much more than the lines allow."""
    return spilled_l[lines.days].sum(axis=1) - (lines.base_l + lines.per_l * held_l[lines.days[:, 0]])


@given(RAIN_MM, MINUTES, st.floats(0.0, 1500.0), st.sampled_from((0.0, 0.0, 30.0)), st.booleans())
def test_no_day_of_the_model_crosses_a_line(rain_mm, minutes, start_l, leak_l, before_spill):
    site, eve = demo(rain_mm, start_l, leak_l, before_spill=before_spill)
    spilled_l, held_l, is_served = watered(eve, minutes)
    prospect = prospect_of(site, eve, rations=(not is_served,))
    found = list(spill_lines(prospect, UPPER))
    wet_days = np.count_nonzero(prospect.stores.caught_l[:, UPPER])
    assert len(found) == min(WET_DAYS, wet_days)
    for lines in found:
        assert np.all(over(lines, spilled_l, held_l) <= 1e-6)


@pytest.mark.parametrize("before_spill", [False, True])
def test_a_store_that_nobody_waters_from_touches_every_line(before_spill):
    """By hand: on a wet day after another a full store runs over by all that comes."""
    rain_mm = [0.0] * 3 + [30.0] * 5 + [0.0] * 13
    site, eve = demo(rain_mm, 1400.0, 0.0, before_spill=before_spill)
    spilled_l, held_l, is_served = watered(eve, 0.0)
    found = list(spill_lines(prospect_of(site, eve), UPPER))
    assert is_served
    assert len(found) == 5
    for lines in found:
        np.testing.assert_allclose(over(lines, spilled_l, held_l), 0.0, atol=1e-6)
