"""On stored rain alone: the present plan beside what nobody could better, in a whole summer of the demo."""

from pathlib import Path

import pytest

import waterbudget
from waterbudget.answers.unaided import unaided_facts, unaided_words
from waterbudget.plan.unaided import Unaided, unaided
from waterbudget.simulate.run import sky_of

DEMO = Path(__file__).parent.parent.parent / "data_demo"

ALONE = "On stored rain alone your plan would lose 12.4 % of the yield"


def test_no_plan_betters_the_bound_and_the_demo_is_near_it():
    opened = waterbudget.open_site(DEMO / "site.toml")
    found = unaided(opened.site, opened.weather.date_column, sky_of(opened.site, opened.weather))
    assert 0.0 <= found.least <= found.yield_at_risk <= 1.0
    assert found.is_exact
    assert found.yield_at_risk > 0.0


def test_many_years_are_left_out():
    opened = waterbudget.open_site(DEMO / "years" / "site.toml", every_year=True)
    assert unaided(opened.site, opened.weather.date_column, sky_of(opened.site, opened.weather)) is None
    assert list(unaided_words(None)) == []
    assert unaided_facts(None) is None


ALONE = "On stored rain alone your plan would lose 12.4 % of the yield"
LESS = f"{ALONE}; no plan, even one that knew the weather, could lose less than"


@pytest.mark.parametrize(
    ("found", "words"),
    [
        (Unaided(0.0, 0.0, is_proven=True, is_exact=True), "On stored rain alone your plan would lose nothing."),
        (Unaided(0.124, 0.091, is_proven=True, is_exact=True), f"{LESS} 9.1 %."),
        (Unaided(0.124, 0.091, is_proven=True, is_exact=False), f"{LESS} about 9.1 %."),
        (Unaided(0.124, 0.091, is_proven=False, is_exact=True), f"{LESS} 9.1 %."),
        (Unaided(0.124, 0.091, is_proven=True, is_exact=True, could_move=True), f"{LESS} 9.1 % without moving water."),
        (Unaided(0.124, float("nan"), is_proven=False, is_exact=True), f"{ALONE}."),
        (Unaided(0.124, 0.0, is_proven=False, is_exact=True), f"{ALONE}."),
        (
            Unaided(0.124, 0.0, is_proven=True, is_exact=True),
            f"{ALONE}; somebody who knew the weather could lose nothing.",
        ),
    ],
)
def test_words(found, words):
    assert list(unaided_words(found)) == [words]
