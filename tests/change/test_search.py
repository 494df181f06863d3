"""Savings are differences of two runs, and the best two and three are found as said."""

from itertools import combinations, pairwise
from pathlib import Path

import pytest

from waterbudget.change.measures import ForSale, measures_for, with_measures
from waterbudget.change.search import LEAST_L, gain, helps, improve
from waterbudget.change.trial import try_all
from waterbudget.simulate.opened import open_site
from waterbudget.simulate.run import run
from waterbudget.site.override import raw_site

DEMO = Path(__file__).parent.parent.parent / "data_demo"
PATHS = {"school": DEMO / "site.toml", "allotment": DEMO / "allotment" / "site.toml"}


@pytest.fixture(scope="module")
def improved():
    return {name: improve(open_site(path)) for name, path in PATHS.items()}


def test_a_saving_is_the_difference_of_two_runs(improved):
    found = improved["school"]
    table = raw_site(PATHS["school"])
    now = run(found.opened.site, found.opened.weather).summary
    for one in found.singles:
        after = run(with_measures(table, one.measures), found.opened.weather).summary
        saved_l = sum(now[name] - after[name] for name in ("mains_l", "unmet_l"))
        assert one.saved_l == pytest.approx(saved_l, abs=1e-6), one.measures[0]
        assert one.saved_money == pytest.approx(3.4 * one.saved_l / 1000)


def test_every_kind_and_thing_is_told_once(improved):
    for found in improved.values():
        tried = {(one.kind, one.thing) for one in measures_for(found.opened.site)}
        told = [(one.measures[0].kind, one.measures[0].thing) for one in found.singles]
        assert len(told) == len(set(told))
        assert set(told) == tried


def test_not_watering_dry_beds_is_no_saving(improved):
    # the allotment has no mains: less watering of beds that get nothing from an empty butt must not look good
    fewer = next(one for one in improved["allotment"].singles if one.measures[0].kind == "fewer minutes")
    assert fewer.saved_l > 0
    assert fewer.is_thirstier
    for chain in (improved["allotment"].free, improved["allotment"].any):
        assert not any(one.is_thirstier for one in chain)


def test_one_is_the_best_by_itself_and_each_next_adds_to_it(improved):
    for found in improved.values():
        for chain, choice in ((found.free, [one for one in found.singles if one.is_free]), (found.any, found.singles)):
            assert bool(chain) == any(helps(one) for one in choice)
            if chain:
                assert gain(chain[0]) == max(gain(one) for one in choice)
            for number, one in enumerate(chain, 1):
                assert len(one.measures) == number
                assert all(one.measures[: number - 1] == shorter.measures for shorter in chain[number - 2 : number - 1])
                assert all(a.goes_with(b) for a, b in combinations(one.measures, 2))
            for before, after in pairwise(chain):
                more_l = after.saved_l - before.saved_l
                assert more_l >= LEAST_L or after.saved_week_minutes > before.saved_week_minutes


def test_the_best_pair_is_the_best_of_those_that_hold_the_best_one(improved):
    found = improved["school"]
    best, pair, _ = found.any
    table = raw_site(PATHS["school"])
    others = [one.measures[0] for one in found.singles if not one.is_thirstier]
    pairs = [(best.measures[0], other) for other in others if other.goes_with(best.measures[0])]
    (now,), outcomes = (
        try_all([with_measures(table, ())], found.opened.weather),
        try_all([with_measures(table, both) for both in pairs], found.opened.weather),
    )
    sound = [one for one in outcomes if not one.is_thirstier_than(now)]
    assert pair.outcome.needed_l == pytest.approx(min(one.needed_l for one in sound))


def test_prices_make_measures_free_or_dear():
    found = improve(open_site(PATHS["allotment"]), [ForSale(300.0, 62.0)], {"mulch": 0.0, "shade net": 45.0}, 2.0)
    price = {one.measures[0].kind: one.price for one in found.singles}
    assert (price["mulch"], price["shade net"], price["next butt size"]) == (0.0, 45.0, 62.0)
    assert price["second roof or downpipe"] is None
    assert price["rain skip"] == 0.0
    assert {one.measures[0].kind for one in found.singles if one.is_free} >= {"mulch", "rain skip"}
    assert found.singles[0].saved_money == pytest.approx(found.singles[0].saved_l * 2.0 / 1000)
