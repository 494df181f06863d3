"""Whatever the garden, sizes, odds, hot spells and minutes have a screen that fits, and facts by their schema."""

import json
import re
from pathlib import Path

import jsonschema
import pytest
import wcwidth
from gardens import site_of, weather_of
from hypothesis import given, reject, settings
from hypothesis import strategies as st
from open_records import fulda
from strategies import cases

from waterbudget.answers import hotspell, minutes, odds, size
from waterbudget.blocks import Bullets
from waterbudget.errors import InputError
from waterbudget.odds.study import find_odds
from waterbudget.odds.summers import Wanted
from waterbudget.plan.minutes import find_minutes
from waterbudget.render.json import schema_of, to_json
from waterbudget.render.text import NARROWEST, WIDEST, text
from waterbudget.review.odds_doubt import find_odds_doubt
from waterbudget.review.size import Question, find_size
from waterbudget.review.spell_doubt import find_spell_doubt
from waterbudget.simulate.opened import Opened
from waterbudget.sizing.offers import Offer
from waterbudget.sizing.sizes import Sweep
from waterbudget.spell.hot import Spell
from waterbudget.spell.study import study

FEW = settings(max_examples=12, deadline=None)
OFFERS = [Offer("Slim", 100.0, 20.0, 0.3), Offer("Crate", 700.0, 90.0)]
MEANINGLESS = re.compile(r"\b(nan|inf|None)\b(?!\s+of)")


@pytest.fixture(scope="module")
def summers():
    record = fulda().loc["1980-05-01":"1986-07-30"]
    rows = [{"date": day.date(), "rain_mm": row.rain_mm, "tmax_c": row.tmax_c} for day, row in record.iterrows()]
    return weather_of([row | {"et0_mm": 3.0} for row in rows])


def assert_reads_well(answer):
    jsonschema.Draft202012Validator(schema_of(answer.question)).validate(json.loads(to_json(answer)))
    blocks = [block for block in answer.blocks if isinstance(block, Bullets)]
    pasted = {line.strip() for block in blocks if block.kind == "paste" for line in block.lines}
    for width in (NARROWEST, WIDEST):
        shown = text(answer, width)
        assert not MEANINGLESS.search(shown)
        assert all(wcwidth.width(line) <= width for line in shown.splitlines() if line.strip() not in pasted)


@FEW
@given(cases(), st.booleans())
def test_every_garden_is_told_what_size(case, is_planned):
    table, rows = case
    question = Question(options=Path("prices.csv"), none_yet=is_planned)
    opened = Opened(Path("site.toml"), site_of(table), weather_of(rows), ())
    try:
        found = find_size(opened, Sweep(steps=5), question, OFFERS)
    except InputError:  # nothing is asked of any store
        reject()
    assert_reads_well(size.answer(found))


@FEW
@given(cases())
def test_every_garden_is_told_its_odds(summers, case):
    table, _ = case
    opened = Opened(Path("site.toml"), site_of(table), summers, ())
    found = find_odds(opened, Wanted(start_md="05-20", end_md="06-20"), keep_levels=False)
    assert_reads_well(odds.answer(found, find_odds_doubt(found)))


@FEW
@given(cases())
def test_every_garden_is_told_of_a_hot_spell(case):
    table, rows = case
    found = study(site_of(table), weather_of(rows), Spell(3))
    assert_reads_well(hotspell.answer(found, doubt=find_spell_doubt(found)))


@FEW
@given(cases())
def test_every_garden_is_told_its_minutes(case):
    table, rows = case
    try:
        found = find_minutes(Opened(Path("site.toml"), site_of(table), weather_of(rows), ()))
    except InputError:  # no zone waters anything that grows
        reject()
    assert_reads_well(minutes.answer(found))
