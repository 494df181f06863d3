"""What the other release rule would make of the days that are left."""

import datetime as dt
from dataclasses import replace

import pytest
from change.test_now import DAY, DEMO, JULY, garden, known, told

from waterbudget.answers.today import answer
from waterbudget.change.doubt import Doubt, find_doubt
from waterbudget.change.now import now
from waterbudget.change.today import Ask, find_today

RULES = {"after_spill": "before_spill", "before_spill": "after_spill"}


def wet(release):
    """Three days on which the butt of 500 L runs over, before 50 L a day are asked of it."""
    return told(known(rain_mm=60.0, site=garden().changed({"model.release": release})))


@pytest.mark.parametrize(("release", "now", "other"), [("after_spill", 9, 10), ("before_spill", 10, 9)])
def test_by_hand(release, now, other):
    """A full butt gives 50 L after it spilled, and 450 are left; given before it spills, it is full again."""
    found = wet(release)
    assert (found.lasts, find_doubt(found)) == (now, Doubt(release, other))
    assert find_doubt(wet(RULES[release])).lasts == now


def test_a_level_that_was_read_settles_it():
    found = told(known(rain_mm=60.0), readings={"Butt": {JULY - DAY: 150.0}})
    assert (found.lasts, find_doubt(found).lasts) == (3, 3)
    assert "may be" not in str(answer(found, find_doubt(found)))


@pytest.mark.parametrize("day", [(6, 1), (7, 5), (8, 20)])
def test_it_is_today_of_a_garden_with_the_other_rule(day):
    found = find_today(DEMO / "site.toml", Ask(on=dt.date(2031, *day)))
    site = found.known.site.changed({"model.release": "before_spill"})
    other = replace(found.known, site=site)
    again = now(other, found.ahead, found.readings, found.actions, found.fallen_mm)
    assert find_doubt(found).lasts == again.lasts


@pytest.mark.parametrize(
    ("lasts", "words"),
    [
        (10, "If it stays dry it may be 9 to 10 days: 10 if the day's rain can be drawn at once."),
        (7, "If it stays dry it may be 7 to 9 days: 7 if the day's rain can be drawn at once."),
        (None, "If it stays dry it may be more than 121 days, if the day's rain can be drawn at once."),
    ],
)
def test_it_is_told_in_one_line(lasts, words):
    found = wet("after_spill")
    told_so = answer(found, Doubt("after_spill", lasts))
    assert words.replace("121", str(found.looked)) in told_so.of_kind("help")
    assert told_so.facts["doubt"] == {"other_release": {"lasts_dry_days": lasts}}
    assert answer(found).facts["doubt"] is None
