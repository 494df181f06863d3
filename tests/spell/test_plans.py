"""The plans that are tried, where the flow of a zone follows the level of its store."""

from dataclasses import replace

import numpy as np
from hose import BY_GRAVITY, opened

from waterbudget.simulate.watering import flow_at
from waterbudget.spell.hot import Spell
from waterbudget.spell.plans import SHARES, options_of
from waterbudget.spell.study import study
from waterbudget.units import NUMPY


def test_a_line_that_gives_less_from_a_low_store_is_tried_with_longer_runs(tmp_path):
    site, weather = opened(tmp_path, *BY_GRAVITY)
    eve = study(site, weather, Spell(days=7)).eve
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
