"""Whatever the garden, bans, absences and rules are told in words that fit, and rules never beat foresight."""

import datetime as dt
import json
from pathlib import Path

import jsonschema
import numpy as np
from gardens import site_of, weather_of
from hypothesis import given, settings
from hypothesis import strategies as st
from strategies import cases

from waterbudget.answers import hotspell, odds
from waterbudget.odds.study import find_odds
from waterbudget.odds.summers import Wanted
from waterbudget.render.json import schema_of, to_json
from waterbudget.render.text import text
from waterbudget.simulate.opened import Opened
from waterbudget.spell.hot import Spell
from waterbudget.spell.study import study

FEW = settings(max_examples=12, deadline=None)


def assert_told(answer):
    jsonschema.Draft202012Validator(schema_of(answer.question)).validate(json.loads(to_json(answer)))
    assert "nan" not in text(answer).split()


@FEW
@given(cases(), st.booleans(), st.integers(0, 6), st.integers(0, 6))
def test_every_garden_is_told_what_a_ban_and_an_absence_take(case, no_mains, start, days):
    table, rows = case
    site, weather = site_of(table), weather_of(rows)
    first = rows[-1]["date"] + dt.timedelta(days=1)
    begins = first + dt.timedelta(days=start)
    stretch = (begins, begins + dt.timedelta(days=days))
    ban = None if no_mains else stretch
    found = study(site, weather, Spell(14, 28.0, first=first, no_mains=no_mains, ban=ban, away=stretch))
    assert found.saving.yield_at_risk <= found.saving.without + 1e-9
    assert 0.0 <= found.away.timed.yield_at_risk <= 1.0
    assert_told(hotspell.answer(found))


@FEW
@given(cases())
def test_no_rule_beats_foresight(case):
    table, _ = case
    table["model"]["crop_coefficient"] = "single"
    days = [dt.date(year, 5, 20) + dt.timedelta(n) for year in (2031, 2032, 2033) for n in range(32)]
    draw = np.random.default_rng(1)
    every = [dt.date(2031, 1, 1) + dt.timedelta(n) for n in range(3 * 365)]
    weather = weather_of(
        [
            {"date": day, "rain_mm": float(draw.random() < 0.2) * 9.0, "et0_mm": 4.0 * (day in days), "tmax_c": 24.0}
            for day in every
        ]
    )
    opened = Opened(Path("site.toml"), site_of(table), weather, ())
    found = find_odds(opened, Wanted(start_md="05-20", end_md="06-20"), keep_levels=False, with_rules=True)
    rules = found.rules
    still = [number for number, rule in enumerate(rules.rules) if rule.move is None]
    assert np.all(rules.harm[still].min(axis=0) >= rules.bound - 1e-6)
    assert np.all(rules.harm.min(axis=0) >= rules.moved_bound - 1e-6)
    assert_told(odds.answer(found))
