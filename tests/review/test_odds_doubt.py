"""What the odds hang on: each other choice is the odds with that choice."""

import pytest
from asking import DEMO

from waterbudget.answers.odds import answer
from waterbudget.answers.odds_doubt import doubts, how_sure
from waterbudget.odds.study import find_odds
from waterbudget.review.odds_doubt import OddsDoubt, Summers, find_odds_doubt
from waterbudget.simulate.opened import Opened, open_site

NOW = Summers(10, 44)


@pytest.fixture(scope="module")
def opened():
    return open_site(DEMO / "years" / "site.toml", every_year=True)


def test_each_other_choice_is_the_odds_with_it(opened):
    start_l = {"Shed butt": 100.0}
    doubt = find_odds_doubt(find_odds(opened, start_l=start_l, keep_levels=False))
    assert doubt.years == 12
    for outcome, keys in (
        (doubt.now, {}),
        (doubt.other_coefficient, {"model.crop_coefficient": "dual"}),
        (doubt.other_release, {"model.release": "before_spill"}),
    ):
        other = Opened(opened.path, opened.site.changed(keys), opened.weather, ())
        recorded = find_odds(other, start_l=start_l, keep_levels=False).recorded
        assert outcome.short_years == recorded.runs_short.sum()
        assert outcome.half_days == sorted(recorded.days_lasted.tolist())[5], "six of twelve are no better"


@pytest.mark.parametrize(
    ("coefficient", "release", "line"),
    [
        (NOW, NOW, []),
        (None, NOW, []),
        (
            Summers(12, 20),
            NOW,
            ["It may run short in 10 to 12 of 12 recorded summers: 12 if the jets keep the soil wet all day."],
        ),
        (
            Summers(10, 20),
            Summers(10, 46),
            [
                (
                    "In half the summers it may be 20 to 46 days: 20 if the jets keep the soil wet all day and 46 if "
                    "the day's rain can be drawn at once."
                )
            ],
        ),
    ],
)
def test_the_range_is_told_in_a_line_where_there_is_one(coefficient, release, line):
    assert list(how_sure(OddsDoubt(12, NOW, "single", coefficient, "after_spill", release))) == line


def test_each_choice_is_told_by_itself(opened):
    found = OddsDoubt(12, NOW, "single", Summers(12, 20), "after_spill", NOW)
    told = [
        (
            "If the jets keep the soil wet all day: short in 12 of 12 recorded summers, not 10; in half of them it "
            "lasts 20 days at most, not 44."
        ),
        "If the day's rain can be drawn at once: the recorded summers are all the same.",
    ]
    assert list(doubts(found)) == told
    assert list(doubts(None)) == list(how_sure(None)) == []
    whole = answer(find_odds(opened, keep_levels=False), found)
    assert whole.facts["doubt"]["other_coefficient"] == {"short_years": 12, "half_days": 20}
    assert set(told) <= set(whole.of_kind("assume"))
