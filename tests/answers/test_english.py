"""Numbers, dates, plurals, lists and prices in plain English."""

import datetime as dt

import pytest

from waterbudget.answers.english import (
    as_given,
    count,
    in_words,
    listed,
    litres,
    money,
    percent,
    percent_below,
    span,
    weekdays,
    when,
    yearly,
)
from waterbudget.blocks import Column
from waterbudget.site.model import Draw, MonthDay, Zone


@pytest.mark.parametrize(
    ("amount", "currency", "words"),
    [
        (85.0, None, "85"),
        (84.5, None, "84.50"),
        (1234.0, "£", "£1,234"),
        (3.4, "€", "€3.40"),
        (12.0, "EUR", "12 EUR"),
        (12.0, "kr", "12 kr"),
        (-3.25, "£", "\N{MINUS SIGN}£3.25"),
        (-0.001, "£", "£0"),
    ],
)
def test_money(amount, currency, words):
    assert money(amount, currency) == words


def test_a_cell_of_a_table_has_nothing_before_a_nought_either():
    assert Column("flow_l_min", "flow", write="{:.2f}".format).cell(-0.001) == "0.00"
    assert Column("depth_cm", "depth", write="{:.1f} cm".format).cell(-0.0) == "0.0 cm"
    assert Column("off_l", "off by", write="{:+.0f}".format).cell(-3.0) == "-3"
    assert Column("bed", "Bed").cell("-0 bed") == "-0 bed"


def test_a_share_a_bit_below_nought_is_nought():
    assert (percent(-0.001), percent(-0.05), as_given(-0.0)) == ("0 %", "-5 %", "0 %")


@pytest.mark.parametrize(
    ("amount_l", "written"),
    [(0.0, "0"), (86.6, "87"), (999.4, "999"), (1234.0, "1,230"), (12346.0, "12,350"), (-3.2, "\N{MINUS SIGN}3")],
)
def test_litres_have_no_false_precision(amount_l, written):
    assert litres(amount_l) == written


def test_days_and_periods():
    assert in_words("2031-07-01") == "1 July"
    assert in_words(dt.date(2031, 7, 1), year=True) == "1 July 2031"
    assert yearly(MonthDay(9, 3)) == "3 September"
    assert span("2031-05-01", "2031-09-30") == "1 May to 30 September 2031"
    assert span("2031-12-30", "2032-01-02") == "30 December 2031 to 2 January 2032"


@pytest.mark.parametrize(
    ("named", "words"),
    [
        (["sun"], "on Sunday"),
        (["thu", "mon"], "on Monday and Thursday"),
        (["sat", "sun"], "on Saturday and Sunday"),
        (["mon", "wed", "fri"], "on Monday, Wednesday and Friday"),
        (["mon", "tue", "wed", "thu", "fri"], "from Monday to Friday"),
    ],
)
def test_days_of_the_week(named, words):
    assert weekdays(named) == words


@pytest.mark.parametrize(
    ("keys", "words"),
    [
        ({}, "every day"),
        ({"every_days": 2}, "every other day"),
        ({"every_days": 3, "from": "05-15", "to": "09-20"}, "every 3 days, 15 May to 20 September"),
        ({"weekdays": ["sat"], "to": "09-20"}, "on Saturday, 1 January to 20 September"),
        ({"weekdays": ["fri", "sat", "sun"], "from": "11-01"}, "from Friday to Sunday, 1 November to 31 December"),
    ],
)
def test_a_zone_or_draw_tells_its_days_and_season(keys, words):
    zone = {"name": "North line", "tank": "Butt", "flow_l_min": 5.0, "minutes": 4.0}
    assert when(Zone.model_validate(zone | keys)) == words
    if "every_days" not in keys:
        assert when(Draw.model_validate({"name": "Cans", "tank": "Butt", "l_per_day": 9.0} | keys)) == words


def test_counts_and_lists():
    assert [count(number, "day") for number in (0, 1, 1500)] == ["0 days", "1 day", "1,500 days"]
    assert [listed(words) for words in ([], ["a"], ["a", "b"], ["a", "b", "c"])] == ["", "a", "a and b", "a, b and c"]
    assert (percent(0.876), percent(None)) == ("88 %", "–")


@pytest.mark.parametrize(
    ("share", "mark", "told"),
    [(0.94, 0.95, "94 %"), (0.9474, 0.95, "94.7 %"), (0.94996, 0.95, "94.996 %"), (0.996, 1.0, "99.6 %")],
)
def test_a_share_that_misses_a_mark_is_told_to_miss_it(share, mark, told):
    assert percent_below(share, mark) == told
