"""The pictures of today and of what could be changed show what their findings hold."""

import datetime as dt

import pytest
from asking import DEMO

from waterbudget.answers.improve import words_of
from waterbudget.change.search import LEAST_MINUTES
from waterbudget.questions import find_improve, find_today


@pytest.fixture(scope="module")
def today():
    return find_today(DEMO / "site.toml", dt.date(2031, 7, 5))


@pytest.fixture(scope="module")
def improve():
    return find_improve(DEMO / "site.toml")


def widths(panel):
    return [patch.get_width() for container in panel.containers for patch in container]


def words(panel):
    return [text.get_text() for text in panel.texts]


def test_a_store_s_bars_are_as_long_as_it_lasts(today):
    found, panel = today.finding, today.plot()[0]
    dry = [found.looked if one.lasts is None else one.lasts for one in found.stores]
    usual = [found.looked if one.usual is None else one.usual for one in found.stores]
    assert widths(panel) == [*dry, *usual]
    assert panel.get_title(loc="left") == f"The stores last {found.lasts} dry days"
    for one in found.stores:
        assert any(line.startswith(f"{one.name}, ") for line in words(panel))


def test_the_driest_bed_stands_first(today):
    found, panel = today.finding, today.plot()[1]
    planted = [one for one in found.beds if one.planted]
    assert widths(panel) == sorted(
        found.looked if one.unwatered_in_days is None else one.unwatered_in_days for one in planted
    )
    assert words(panel)[0].startswith(min(planted, key=lambda one: one.unwatered_in_days).name)


def test_what_saves_most_stands_first_and_what_costs_money_is_hatched(improve):
    found, (water, time) = improve.finding, improve.plot()
    sound = [one for one in found.singles if not one.is_thirstier]
    best = max(sound, key=lambda one: one.saved_l)
    assert max(widths(water)) == pytest.approx(best.saved_l / found.years)
    assert next(filter(None, words(water))) == words_of(best, found)
    assert {patch.get_hatch() for bars in water.containers for patch in bars} == {None, "////"}
    assert max(widths(time)) == pytest.approx(max(one.saved_week_minutes for one in sound))
    assert min(widths(time)) >= LEAST_MINUTES
