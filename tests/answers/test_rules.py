"""Watering rules in words: the best one, how far it is from foresight, summer by summer."""

import functools
from pathlib import Path

import numpy as np
from matplotlib.figure import Figure

import waterbudget
from waterbudget.answers.rules import by_year, foresight_words, in_words, rules_facts, sentences
from waterbudget.odds.rules import PRESENT, Move, Rule
from waterbudget.render.figures.rules import rules

DEMO = Path(__file__).parent.parent.parent / "data_demo"


@functools.cache
def school():
    reply = waterbudget.find_odds(waterbudget.open_site(DEMO / "years" / "site.toml", every_year=True), with_rules=True)
    return reply.finding


def test_the_best_rules_and_how_far_they_are_from_foresight():
    present, still, moving, best = sentences(school().rules)
    assert present == "Your plan loses 11.9 % of the yield in a mean summer."
    assert still == "Give what the soil lacks, less 10 mm left for rain: 11.6 %."
    assert moving.startswith("Give what the soil lacks, less 20 mm left for rain, and when Shed butt holds less than")
    assert best == "Somebody who knew each summer could lose no less than 9.4 %, and moving water 7.8 %."


def test_rules_as_people_say_them():
    found = school().rules
    assert in_words(found, PRESENT) == "keep your plan"
    assert in_words(found, Rule("refill", 0.0, None)) == "give what the soil lacks"
    assert in_words(found, Rule("dry", 0.8, Move(0, 1, 90.0, 0.0))) == (
        "water only when a bed has used 0.8 of its readily available water, and when Shed butt holds less than 90 L, "
        "fill it from Class-room tank"
    )


def test_every_summer_has_a_row_and_the_mean_one():
    found = school().rules
    *years, mean = by_year(found).rows
    assert [row[0] for row in years] == [str(year) for year in range(2019, 2031)]
    assert mean[0] == "mean"
    for row in (*years, mean):
        assert np.isclose(row[4], row[2] - row[3])
    told = rules_facts(found)
    assert told["rules_tried"] == len(found.rules)
    assert np.isclose(told["yield_at_risk"], mean[2])


def test_a_solver_out_of_time_is_told():
    found = school().rules
    unknown = found.__class__(**vars(found) | {"bound": np.full(12, np.nan)})
    assert foresight_words(unknown).startswith("How much better somebody could do")


def test_the_picture_has_a_mark_for_every_summer():
    (panel,) = rules(school(), Figure().subplots())
    assert len(panel.patches) == 12
    assert [len(line.get_xdata()) for line in panel.lines] == [12, 12]
