"""How far the verdict of a hot spell hangs on choices, and on how full the stores are on its first morning."""

from dataclasses import replace
from typing import NamedTuple

import numpy as np

from waterbudget.review.doubt import KEEP, Doubt, Outcome, choices
from waterbudget.schedule.built import garden_of
from waterbudget.simulate.lanes import season_key
from waterbudget.site.model import Site
from waterbudget.spell.carry import Eve, as_another, eve_of, spell_days
from waterbudget.spell.study import Study, dipped_eve

SHARE = 0.2  # of what a store holds on the first morning, more or less


class Morning(NamedTuple):
    """The store whose litres on the first morning sway the days most: days lasted with a fifth less, a fifth more."""

    tank: str
    less_days: int
    more_days: int


class SpellDoubt(NamedTuple):
    """The present plan with each other choice, and with other litres; morning: None where none of them tells."""

    choices: Doubt
    morning: Morning | None


def find_spell_doubt(found: Study) -> SpellDoubt:
    """What the present plan would do in the spell with each other choice, from the same dipped levels."""
    trial = found.found.trial  # of which the present plan is the first
    now = Outcome(int(trial.days_lasted[0]), float(trial.needed_l[0]))
    tried = Doubt(now, *choices(found.site, lambda other: _other(found, other)))
    return SpellDoubt(tried, _morning(found.eve))


def _other(found: Study, site: Site) -> Outcome:
    garden = garden_of(site)
    is_same = season_key(site) == season_key(found.site)
    eve = as_another(found.eve, garden) if is_same else eve_of(site, garden, found.weather, found.hot)
    eve = dipped_eve(eve, garden, found.start_l)
    _, kept = spell_days(eve, eve.garden, KEEP)
    return Outcome(int(kept.days_lasted[0]), float(kept.sums["whole.needed_l"][0]))


def _morning(eve: Eve) -> Morning | None:
    """Every store with a fifth less and a fifth more, all at once."""
    level_l, capacity_l = eve.level_l, eve.garden.tanks.capacity_l[:, 0]
    tanks = len(level_l)
    state = eve.state.wide(2 * tanks)
    for tank in range(tanks):
        levels = np.full(2 * tanks, level_l[tank])
        levels[2 * tank : 2 * tank + 2] = np.minimum(
            level_l[tank] * np.array([1.0 - SHARE, 1.0 + SHARE]), capacity_l[tank]
        )
        state = state.dipped(tank, levels)
    _, kept = spell_days(replace(eve, state=state), eve.garden, KEEP)
    days = kept.days_lasted.reshape(tanks, 2)
    most = int(np.argmax(days[:, 1] - days[:, 0]))
    less, more = days[most].tolist()
    return Morning(eve.garden.names.tanks[most], less, more) if more > less else None
