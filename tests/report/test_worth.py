"""Each input tried 20 % lower and higher gives what a run of the garden so changed gives."""

from pathlib import Path

import pytest

import waterbudget
from waterbudget.report.worth import swings, worth_measuring
from waterbudget.simulate.opened import open_site

DEMO = Path(__file__).parents[2] / "data_demo"
CHANGES = {  # the words of an input: table of the site, number in it, key
    "the plan area of Shed roof": ("roof", 1, "area_m2"),
    "the litres in Shed butt on the first day": ("tank", 1, "start_l"),
    "the flow of South line": ("zone", 1, "flow_l_min"),
    "the efficiency of North line": ("zone", 0, "efficiency"),
    "the litres of Class cans": ("draw", 0, "l_per_day"),
}


@pytest.fixture(scope="module")
def opened():
    return open_site(DEMO / "site.toml")


def changed(site, table, number, key, factor):
    tables = list(getattr(site, table))
    tables[number] = tables[number].model_copy(update={key: getattr(tables[number], key) * factor})
    return site.model_copy(update={table: tables})


@pytest.mark.parametrize("words", CHANGES)
def test_a_swing_is_that_of_two_separate_runs(opened, words):
    swing = next(one for one in swings(opened.site, opened.weather) if one.tried.words == words)
    for factor, lasted, needed_l in zip((0.8, 1.2), swing.days, swing.needed_l, strict=True):
        site = changed(opened.site, *CHANGES[words], factor)
        summary = waterbudget.run(site, opened.weather, daily=False).summary
        assert summary["days_lasted"] == lasted
        assert summary["mains_l"] + summary["unmet_l"] == pytest.approx(needed_l)


def test_the_three_that_sway_most_are_told(opened):
    told = worth_measuring(opened.site, opened.weather)
    assert len(told) == 3
    most = max(swings(opened.site, opened.weather), key=lambda swing: swing.rank)
    assert told[0].lower().startswith(most.tried.words.lower())
    assert all("To measure it: " in line for line in told)


def test_nothing_is_told_where_nothing_sways_the_answer(opened):
    site = opened.site.model_copy(update={"zone": [], "draw": []})
    bare = site.model_copy(update={"bed": [bed.model_copy(update={"zone": None}) for bed in site.bed]})
    assert worth_measuring(bare, opened.weather) == []
