"""Prospects of the gardens that the tests ask about."""

import numpy as np

from waterbudget.plan.prospect import prospects
from waterbudget.schedule.built import garden_of
from waterbudget.simulate.opened import open_site
from waterbudget.spell.carry import eve_of
from waterbudget.spell.hot import Spell, hot_days
from waterbudget.spell.trial import sensitivity_of


def prospect_of(site, eve, ky=None, **others):
    """What is known of the days of a spell; by default with the response factors of its crops."""
    weight = np.array([bed.ground_m2 * (bed.zone is not None) for bed in site.bed])
    ky = sensitivity_of(site, eve).ky if ky is None else ky
    (prospect,) = prospects(eve.garden, eve.season, eve.sky, eve.state, ky, weight, **others)
    return prospect


def demo_spell(days=21, high_c=26.0, path="data_demo/site.toml"):
    """A spell laid on a demo: its site and its eve."""
    from pathlib import Path

    root = Path(__file__).parent.parent.parent
    opened = open_site(root / path, every_year=True)
    spell = Spell(days, high_c).starting(opened.weather, south=False)
    hot = hot_days(spell, opened.site, opened.weather)
    return opened.site, eve_of(opened.site, garden_of(opened.site), opened.weather, hot)
