"""What to set the clocks to, in words."""

from dataclasses import replace

import pytest
from asking import DEMO, Asker, at_brackenfold

from waterbudget.answers.minutes import answer, assumptions, every_told, few_years, lines_of, reading
from waterbudget.answers.minutes_paste import monthly, paste, toml_of
from waterbudget.cli.main import main
from waterbudget.plan.minutes import Month
from waterbudget.plan.settings import Balance, Setting
from waterbudget.questions import find_minutes

ask = Asker(main.commands["minutes"])


@pytest.fixture(scope="module")
def demo():
    return find_minutes(DEMO / "site.toml").finding


def with_months(found, now, then):
    """The findings with one month of the first zone alone."""
    month = Month(7, 31, Setting(14.0, 2, 2), Balance(*then, 15), Balance(*now, 31))
    return replace(found, zones=(replace(found.zones[0], months=(month,)),))


def test_the_verdict_says_of_each_zone_whether_it_gets_too_much_or_too_little(demo):
    too_much = with_months(demo, (1000, 0, 629, 3620), (1000, 32, 81, 2280))
    assert answer(too_much).verdict[0] == (
        "North line: your plan gives too much: 629 of 3,620 L a year sink past the roots. By the table 81 of "
        "2,280 L do."
    )
    too_little = with_months(demo, (1000, 400, 20, 600), (1000, 10, 30, 1100))
    assert answer(too_little).verdict[0] == (
        "North line: your plan gives too little: a year the beds lack 400 L of the 1,000 L that they use. By the table "
        "they lack 10 L, for 1,100 L in place of 600 L."
    )
    both = with_months(demo, (1000, 100, 300, 1200), (1000, 10, 30, 1100))
    assert answer(both).verdict[0] == (
        "North line: your plan gives now too much, now too little: 300 of 1,200 L a year sink past the roots, and yet "
        "the beds lack 100 of 1,000 L. By the table 30 of 1,100 L sink, and 10 L are lacked."
    )
    as_good = with_months(demo, (1000, 0, 20, 600), (1000, 0, 10, 590))
    (told,) = answer(as_good).verdict
    assert told.startswith("North line: your plan is as good as any that was found; keep it.")


def test_what_mains_water_is_saved_or_taken_is_told(demo):
    assert "L less mains water" in answer(replace(demo, present_needed_l=500.0, advised_needed_l=100.0)).verdict[-1]
    more = answer(replace(demo, present_needed_l=100.0, advised_needed_l=500.0)).verdict[-1]
    assert more == "By the table the garden takes 400 L more mains water in a usual year."
    alike = answer(replace(demo, present_needed_l=100.0, advised_needed_l=100.2)).verdict
    assert not any("mains" in line for line in alike)


def test_a_line_says_how_long_in_how_many_pulses_and_how_often(demo):
    found = with_months(demo, (1000, 0, 629, 3620), (1000, 32, 81, 2280))
    july, hot = lines_of(found.zones[0])
    assert (july.when, july.long, july.often) == ("July", "2 runs of 14 minutes", "every other day")
    assert july.week_l == pytest.approx(2280 / 31 * 7)
    assert hot.when == "in a hot week"


def test_rhythms_in_words():
    assert [every_told(days) for days in (1, 2, 3, 4)] == [
        "every day",
        "every other day",
        "every third day",
        "every 4 days",
    ]


def test_who_feels_the_soil_is_told_about_how_often_it_is_dry(demo):
    often = {line.when: line.often for line in lines_of(demo.zones[1])}
    assert often["July"].startswith("if dry, about every")
    assert often["September"] == "", "no water"


def test_pulses_come_with_their_reason_and_rounds_with_their_beds(demo):
    told = list(reading(demo))
    assert ("North line, a round over its 4 beds",) in answer(demo).tables[0].rows
    assert "North line: start runs an hour apart; beyond 19 minutes water runs off." in told
    limit = "Bean bed gets 77 mm an hour and its silt loam takes about 15: after 19 minutes water runs off."
    assert any(limit in line for line in assumptions(demo))


def test_a_month_without_water_is_nought_minutes_and_no_more(demo):
    assert list(toml_of(demo.zones[1], Setting(0.0))) == ["[[zone]]", 'name = "South line"', "minutes = 0"]
    assert list(toml_of(demo.zones[0], Setting(0.0, hot_minutes=0.0)))[2:] == ["minutes = 0", "hot_minutes = 0"]


def test_months_to_paste_stand_in_the_order_of_the_season(demo):
    months = [line for line in monthly(demo) if line.startswith("#")]
    assert months == ["# May", "# June", "# July", "# August", "# September"]
    assert list(monthly(find_minutes(DEMO / "site.toml", "Bean bed").finding)) == []


def test_few_summers_are_no_promise_of_rain(demo):
    told = "These minutes count on rain as in 2031: while it stays dry, water as in a hot week."
    assert next(reading(demo)) == told
    some = replace(demo, usual=demo.usual._replace(labels=("2029", "2030", "2031")))
    assert list(few_years(some)) == [told.replace("2031", "3 summers")]
    many = replace(demo, usual=demo.usual._replace(labels=tuple(map(str, range(2020, 2032)))))
    assert list(few_years(many)) == []


def test_one_bed_of_many_has_nothing_to_paste(demo):
    assert paste(demo)
    assert paste(find_minutes(DEMO / "site.toml", "Bean bed").finding) == ()


def test_the_card_is_drawn_and_not_written_over(tmp_path, monkeypatch):
    at_brackenfold(tmp_path, monkeypatch)
    words = ("data_demo/site.toml", "--card", "card.png")
    assert ask(*words).exit_code == 0
    assert (tmp_path / "card.png").read_bytes().startswith(b"\x89PNG")
    assert "card.png" in ask.told(*words)
    assert "use .png, .svg or .pdf" in ask.told("data_demo/site.toml", "--card", "card.txt")


def test_an_unknown_bed_is_told_in_a_line():
    told = ask.told(DEMO / "site.toml", "--bed", "Rose bed")
    assert told == '"Rose bed" is no bed; did you mean "Carrot bed"?'
