"""What would save most, in words: what is free first, ranked as said, with lines to paste that do what they say."""

import re
import tomllib
from dataclasses import replace
from pathlib import Path

import pytest

from waterbudget.answers.improve import answer, by_money, by_time, chains, joined, less, ranked, words_of
from waterbudget.change.improve import Costs
from waterbudget.change.search import improve
from waterbudget.change.variants import find_compare
from waterbudget.errors import InputError
from waterbudget.render.text import text
from waterbudget.simulate.opened import open_site
from waterbudget.simulate.run import run

DEMO = Path(__file__).parent.parent.parent / "data_demo"
LARGER = "tank.shed.capacity_l=900"


def screen_of(found, *, full=True):
    return text(answer(found), full=full)


@pytest.fixture(scope="module")
def school():
    return improve(open_site(DEMO / "site.toml"))


@pytest.fixture(scope="module")
def allotment():
    return improve(open_site(DEMO / "allotment" / "site.toml"), prices={"shade net": 45.0}, water_per_m3=2.5)


def test_the_first_sentence_answers(school, allotment):
    first, *_ = answer(school).verdict
    best = max((one for one in school.singles if one.is_free and not one.is_thirstier), key=lambda one: one.saved_l)
    assert first.startswith(
        f"The best free change: {words_of(best, school)}. "
        f"It saves {best.saved_l:.0f} L of 1,190 L of mains water in these days. The best that costs money: "
    )
    assert answer(allotment).verdict[0].startswith("No free change saves any of 1,300 L of mains water")


def test_several_changes_tell_what_they_save_and_cost(school):
    """The words are those that were asked for: Two free changes save 2,790 L but cost 6 minutes a week."""
    two = replace(
        school.free[1], outcome=replace(school.now, summary=school.free[1].outcome.summary, week_minutes=60.0)
    )
    more = f"{round(60.0 - school.now.week_minutes)} minutes a week"
    assert joined(two, school, "free") == f"Two free changes save {two.saved_l:.0f} L but cost {more}"
    quicker = replace(two, outcome=replace(two.outcome, week_minutes=school.now.week_minutes - 3.0))
    assert joined(quicker, school, "") == f"Two changes save {two.saved_l:.0f} L and 3 minutes a week"
    alike = replace(two, outcome=replace(two.outcome, week_minutes=school.now.week_minutes))
    assert joined(alike, school, "free") == f"Two free changes save {two.saved_l:.0f} L"


def test_changes_that_save_more_together_say_why(school):
    told = [" ".join(one.split()) for one in chains(school)]
    why = "More together: Class-room tank can then spare what goes to Shed butt."
    assert [line.endswith(why) for line in told] == [True, False]
    two, three = school.free[1:]
    alone_l = [one.saved_l for one in school.singles if one.measures[0] in three.measures]
    assert len(alone_l) == 3
    assert three.saved_l > sum(alone_l) + 200.0
    tank, less = (next(iter(one.outcome.summary["tanks"])) for one in (two, three))
    assert tank["name"] == "Class-room tank"
    assert tank["short_l"] > 200.0, "it gives away what its own lines then lack"
    assert less["short_l"] == 0.0
    (line, *_) = chains(replace(school, free=school.free[:2]))
    assert "More together" not in line, "those two save what they save by themselves, no more"


def test_a_garden_that_needs_no_mains_water_is_told_so(tmp_path):
    text = (DEMO / "site.toml").read_text("utf-8").replace("capacity_l = 350", "capacity_l = 9000")
    text = text.replace("start_l = 260", "start_l = 9000")
    (tmp_path / "site.toml").write_text(text, "utf-8")
    (tmp_path / "weather.csv").write_bytes((DEMO / "weather.csv").read_bytes())
    found = improve(open_site(tmp_path / "site.toml"))
    first, second = answer(found).verdict
    assert first == "No mains water is needed as it is, so there is none to save."
    assert second.startswith("The watering takes about 54 minutes of your time a week. To save ")
    assert not any(one.saved_l > 0.5 for one in found.singles)


def test_what_costs_nothing_comes_first_and_the_most_saving_first(school):
    lines = screen_of(school).splitlines()
    assert lines.index("Free") < lines.index("For money")
    told = answer(school).facts["measures"]
    sound = [row["saved_l"] for row in told if not row["thirstier"]]
    assert sound == sorted(sound, reverse=True)
    for key in (by_time, by_money):
        lines = list(ranked(school, key))
        free = [", free" in line for line in lines]
        assert free == sorted(free, reverse=True)
        assert 1 <= len(lines) <= 5


def rows_of(found):
    """The free rows of the whole table, then those for money."""
    _, table = answer(found).tables
    titles = [number for number, row in enumerate(table.rows) if len(row) == 1]
    free, paid = titles if len(titles) == 2 else (titles[0], len(table.rows))
    return list(table.rows[free + 1 : paid]), list(table.rows[paid + 1 :])


def test_what_plants_pay_for_is_marked_and_last(allotment):
    free, _ = rows_of(allotment)
    marked = [row[0].startswith("! ") for row in free]
    assert any(marked)
    assert marked == sorted(marked)
    assert "! at the plants' cost" in screen_of(allotment)


def test_the_short_screen_fits_the_window_and_names_the_best(school):
    shown = text(answer(school), 80, full=False)
    assert len(shown.splitlines()) <= 30
    assert "More with --full" in shown.splitlines()[-1]
    assert "FAO-56" not in shown


def test_payback_is_price_over_saving(allotment):
    net = next(one for one in allotment.singles if one.measures[0].kind == "shade net")
    line = next(line for line in ranked(allotment, by_money) if "shade net" in line)
    assert f"paid back in {45 / (net.saved_l * 2.5 / 1000):,.0f} such seasons" in line


@pytest.mark.parametrize("garden", ["school", "allotment"])
def test_days_litres_and_minutes_are_those_of_a_comparison(garden, request):
    found = request.getfixturevalue(garden)
    present, *_ = find_compare([found.opened.path], ["zone.C.minutes=2" if garden == "allotment" else LARGER]).variants
    now = found.now
    assert (now.thirsty_days, now.need_met) == (present.outcome.thirsty_days, present.outcome.need_met)
    assert (now.needed_l, now.week_minutes) == (present.outcome.needed_l, present.outcome.week_minutes)
    summary = run(found.opened.site, found.opened.weather).summary
    assert now.thirsty_days == sum(bed["stress_days"] for bed in summary["beds"])
    assert f"as it is they are {now.thirsty_days} in these days" in " ".join(screen_of(found).split())


def test_what_is_not_saved_is_told_as_more(school):
    free, _ = rows_of(school)
    every_other = next(row for row in free if row[0].startswith("South line: every 2 days"))
    assert every_other[2] < 0.0
    assert "60 more" in screen_of(school)
    assert "\N{MINUS SIGN}" not in screen_of(school)
    assert less(-4.2, "{:,.0f}".format) == "4 more"
    assert less(-0.3, "{:,.0f}".format) == less(0.3, "{:,.0f}".format) == "0"


def test_what_saves_nothing_has_no_row_but_is_told(school):
    names = {row[0].removeprefix("! ") for rows in rows_of(school) for row in rows}
    nothing = [one for one in school.singles if one.saved_l < 0.5 and one.saved_week_minutes < 0.5]
    assert len(nothing) >= 3
    for one in nothing:
        assert words_of(one, school) not in names
        assert words_of(one, school) in " ".join(screen_of(school).split())


def test_a_minute_is_one_and_money_has_its_currency(school, allotment):
    for found in (school, allotment):
        assert not re.search(r"\b1 minutes\b", screen_of(found))
    assert "1 minute a week" in screen_of(school)
    assert "A cubic metre of mains water costs £3.40." in screen_of(school)
    assert "price unknown" in " ".join(screen_of(school).split())
    assert ", for 45, paid back in " in " ".join(screen_of(allotment).split())


def test_no_price_of_water_no_money():
    found = improve(open_site(DEMO / "allotment" / "site.toml"))
    assert list(ranked(found, by_money)) == ["Not known: add --water-price, or water_per_m3 under [prices]."]


@pytest.mark.parametrize("garden", ["school", "allotment"])
def test_no_line_is_wider_than_the_screen(garden, request):
    assert max(map(len, screen_of(request.getfixturevalue(garden)).splitlines())) <= 100


def test_the_lines_to_paste_do_what_was_tried(school, tmp_path):
    block = next(
        block for block in answer(school).blocks if getattr(block, "title", "").startswith("The best changes of all")
    )
    table = tomllib.loads((DEMO / "site.toml").read_text("utf-8"))
    here = None
    for line in (line.strip() for line in block.lines):
        if where := re.fullmatch(r'# in \[\[(\w+)\]\] "(.+)":', line):
            here = next(one for one in table[where[1]] if one["name"] == where[2])
        elif new := re.fullmatch(r"\[\[(\w+)\]\]", line):
            here = {}
            table[new[1]].append(here)
        else:
            here |= tomllib.loads(line)
    from strategies import to_toml

    (tmp_path / "site.toml").write_text(to_toml(table), "utf-8")
    (tmp_path / "weather.csv").write_bytes((DEMO / "weather.csv").read_bytes())
    opened = open_site(tmp_path / "site.toml")
    summary = run(opened.site, opened.weather).summary
    best = school.any[-1]
    assert summary["mains_l"] + summary["unmet_l"] == pytest.approx(best.outcome.needed_l, abs=1.0)


def test_the_mulch_has_its_source_and_what_was_not_tried_is_told(school):
    screen = screen_of(school)
    assert "FAO-56 chapter 10, p." in screen
    assert "Nothing to try: mending the leak (no store is said to leak)." in screen
    assert f"{school.runs:,} gardens were run." in screen
    assert school.runs > len(school.singles)


@pytest.mark.parametrize(
    ("prices", "fault"),
    [
        (("mulsh=3",), '"mulsh" is no kind of measure; did you mean "mulch"?'),
        (("mulch=-3",), '"mulch=-3" is no price'),
        (("mulch=dear",), '"mulch=dear" is no price'),
        (("mulch",), '"mulch" is no price; write KIND=MONEY'),
        (("xyzzy=3",), "there are next butt size, "),
    ],
)
def test_a_price_that_cannot_be_read_is_told(prices, fault):
    with pytest.raises(InputError) as told:
        Costs(prices=prices)
    assert fault in str(told.value)


def test_a_price_of_water_has_to_be_one():
    with pytest.raises(InputError, match="--water-price: is 0; write what a cubic metre costs"):
        Costs(water_per_m3=0.0)
    assert Costs(prices=("Mulch = 12.5",)).by_kind == {"mulch": 12.5}
