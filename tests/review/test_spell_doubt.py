"""What the verdict of a hot spell hangs on."""

import numpy as np
import pytest
from asking import DEMO

from waterbudget.answers.hotspell import answer
from waterbudget.answers.spell_doubt import how_sure
from waterbudget.review.doubt import Doubt, Outcome
from waterbudget.review.spell_doubt import Morning, SpellDoubt, find_spell_doubt
from waterbudget.simulate.opened import open_site
from waterbudget.spell.hot import Spell
from waterbudget.spell.stages import ky_by_stage
from waterbudget.spell.study import study
from waterbudget.spell.trial import try_plans

START_L = {"Class-room tank": 900.0}


@pytest.fixture(scope="module")
def opened():
    return open_site(DEMO / "site.toml")


@pytest.fixture(scope="module")
def found(opened):
    return study(opened.site, opened.weather, Spell(14), START_L)


def test_each_other_choice_is_a_spell_with_it(opened, found):
    doubt = find_spell_doubt(found).choices
    for outcome, keys in (
        (doubt.now, {}),
        (doubt.other_coefficient, {"model.crop_coefficient": "dual"}),
        (doubt.other_release, {"model.release": "before_spill"}),
    ):
        other = study(opened.site.changed(keys), opened.weather, Spell(14), START_L)
        assert outcome.days_lasted == other.found.trial.days_lasted[0]
        assert outcome.needed_l == pytest.approx(other.found.trial.needed_l[0], rel=1e-9)


def test_the_store_to_dip_is_that_which_sways_the_days_most(opened, found):
    """Each store with a fifth less and a fifth more, asked for one by one."""
    morning = find_spell_doubt(found).morning
    levels = dict(zip(found.eve.garden.names.tanks, found.eve.level_l.tolist(), strict=True))
    swings = {}
    for tank, level_l in levels.items():
        days = []
        for share in (0.8, 1.2):
            start_l = levels | {tank: min(level_l * share, 1500.0 if tank == "Class-room tank" else 350.0)}
            days.append(int(study(opened.site, opened.weather, Spell(14), start_l).found.trial.days_lasted[0]))
        swings[tank] = tuple(days)
    assert (morning.less_days, morning.more_days) == swings[morning.tank]
    assert morning.more_days - morning.less_days == max(more - less for less, more in swings.values())


def test_by_stage_is_the_same_lack_with_other_factors(found):
    assert found.by_stage is not None
    stages = ky_by_stage(found.site, found.eve, found.sensitivity.ky)
    again = try_plans(found.site, found.eve, [one.plan for one in found.named], stages.ky)
    assert found.by_stage == pytest.approx(again.harm)
    assert np.all(found.by_stage <= found.found.trial.harm[[one.number for one in found.named]] + 1e-12)


def test_it_is_told_in_one_line(found):
    same = Outcome(3, 100.0)
    doubt = SpellDoubt(Doubt(same, "single", None, "after_spill", same), Morning("Shed butt", 2, 4))
    (told,) = how_sure(doubt)
    assert told == "The stores may last 2 to 4 days: 2 with 20 % less in Shed butt and 4 with 20 % more there."
    assert list(how_sure(SpellDoubt(doubt.choices, None))) == []
    assert told in answer(found, doubt=doubt).of_kind("help")
    facts = answer(found, doubt=doubt).facts
    assert facts["doubt"]["morning"] == {"tank": "Shed butt", "lower_days": 2, "higher_days": 4}
    assert facts["plans"]["harm"]["yield_at_risk_by_stage"] < facts["plans"]["harm"]["yield_at_risk"]
