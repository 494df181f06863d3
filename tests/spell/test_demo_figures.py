"""Figures of the demo's hot spells, found once by another programme of the same equations, out of the command.

Per cent of the yield, to the digit printed there. That programme asked no soil how fast it takes water, so its plans
come out where ours may water as fast; where the soil is asked, pulses are rounded down to the clock and lose up to half
a point. With a valve for each bed the last digit differs by one in two rows.
"""

import json
from pathlib import Path

import numpy as np
import pytest
from click.testing import CliRunner
from plan.asked import demo_spell, prospect_of

from waterbudget.cli.main import main
from waterbudget.plan.foresight import foresight
from waterbudget.spell import plans
from waterbudget.spell.search import search
from waterbudget.spell.trial import sensitivity_of

DEMO = Path(__file__).parent.parent.parent / "data_demo" / "site.toml"
ROWS = [  # days, high, least harm of the search, bound, with a valve for each bed, with water moved at will
    (14, 30.0, 13.5, 11.6, 8.2, 0.6),
    (21, 26.0, 18.0, 16.5, 15.8, 7.0),
    (28, 28.0, 28.2, 25.6, 24.3, None),
    (35, 24.0, 34.9, 29.8, 28.1, None),
]
HALF_DIGIT, DIGIT, PULSES = 0.05, 0.1, 0.5


@pytest.mark.parametrize(("days", "high_c", "harm", "bound", "valves", "moved"), ROWS)
def test_the_command_tells_them(days, high_c, harm, bound, valves, moved):
    asked = ["hotspell", str(DEMO), "--days", str(days), "--high-c", str(high_c), "--json"]
    told = json.loads(CliRunner().invoke(main, asked).stdout)
    best = told["foresight"]
    assert 100.0 * best["yield_at_risk"] == pytest.approx(bound, abs=HALF_DIGIT)
    assert 100.0 * best["with_valves_yield_at_risk"] == pytest.approx(valves, abs=DIGIT)
    assert harm - HALF_DIGIT <= 100.0 * told["plans"]["harm"]["yield_at_risk"] <= harm + PULSES
    if moved is not None:
        assert 100.0 * best["move"]["yield_at_risk"] == pytest.approx(moved, abs=HALF_DIGIT)


@pytest.mark.parametrize(("days", "high_c", "harm"), [row[:3] for row in ROWS])
def test_the_search_finds_them_where_no_soil_is_asked(days, high_c, harm, monkeypatch):
    monkeypatch.setattr(plans, "_pulsed", lambda minutes, _zone, _longest: iter([(minutes, 1)]))
    site, eve = demo_spell(days, high_c)
    assert 100.0 * search(site, eve, sensitivity_of(site, eve).ky).least_harm == pytest.approx(harm, abs=HALF_DIGIT)


def test_what_ten_litres_are_worth():
    """0.33 points in the butt and nothing in the tank, found with a butt some litres fuller: 0.37 where it stands here,
    which tests/plan holds against differences of a litre, and 0.32 from fifty litres more on."""
    site, eve = demo_spell()
    prospect = prospect_of(site, eve)
    fuller = prospect.changed(stores={"level_l": prospect.stores.level_l + np.array([0.0, 50.0])})
    tank, now = 1000.0 * foresight(prospect).worth_per_l
    _, further = 1000.0 * foresight(fuller).worth_per_l
    assert tank == pytest.approx(0.0, abs=HALF_DIGIT)
    assert further <= 0.33 <= now
    assert now - further < DIGIT
