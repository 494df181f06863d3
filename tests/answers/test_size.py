"""The answer of a size says what was found, in words that can be read aloud."""

import functools
import json
import re
import shutil
from pathlib import Path

import pytest
from asking import DEMO
from sizing import steady

import waterbudget
from waterbudget.answers.run import answer as run_answer
from waterbudget.answers.size import answer, assumptions, facts
from waterbudget.answers.size_tables import litres_or_roof, roofs, sizes
from waterbudget.answers.size_verdict import enough, how_long, just_below, limit, little_more, now
from waterbudget.errors import InputError
from waterbudget.render.json import to_json
from waterbudget.render.text import NARROWEST, WIDEST, text
from waterbudget.review.size import Question, find_size
from waterbudget.simulate.opened import Opened, open_site
from waterbudget.sizing.offers import Offer, read_offers
from waterbudget.sizing.sizes import Sweep

BUTT = "Shed butt"


@functools.cache
def finding(sweep=None, question=None, offers=None, days=365, first_day=steady.FIRST_DAY, **keys):
    opened = Opened(Path("site.toml"), steady.garden(**keys), steady.weather(days, first_day), ())
    return find_size(opened, sweep or Sweep(steps=50), question or Question(), offers)


def size_screen(found, width=WIDEST, *, full=True):
    return text(answer(found), width, full=full)


@pytest.fixture(scope="module")
def demo():
    question = Question(tank=BUTT, options=DEMO / "prices.csv", roofs=True)
    return find_size(open_site(DEMO / "site.toml"), Sweep(), question, read_offers(question.options))


# ---- The verdict ----


def test_enough_by_hand():
    # A store of S is full on 1 June. After spillage its first day brings nothing to it, and the last day's 20 L come
    # too late: it gives S + 90 x 20 L, so 95 % of 5520 L, 5244 L, take S = 3444 L.
    study = finding().study
    assert enough(study) == "3,500 L is the smallest size tried that meets 95 % of what Butt is asked for."
    assert list(just_below(study)) == ["3,400 L, the next smaller size tried, meets 94 %."]


def test_the_knee_by_hand():
    # each 100 L save 100 L a year until the store gives all 5520 L: 5520 - 1800 = 3720 L
    assert little_more(finding().study) == "Above 3,700 L, each extra 100 L saves little: under 100 L of mains a year."
    assert little_more(finding(Sweep(steps=50, worth_l=10)).study) == (
        "Above 3,800 L, each extra 100 L saves little: under 10 L of mains a year."
    )
    assert little_more(finding(Sweep(to_l=3000, steps=30)).study) == (
        "Up to 3,000 L, each extra 100 L still saves 100 L of mains a year or more."
    )
    assert little_more(finding(Sweep(from_l=4000, steps=11)).study) == (
        "Even above 4,000 L, the smallest size tried, each extra 100 L saves little: under 100 L of mains a year."
    )


def test_how_long_a_size_lasts_by_hand():
    # 500 L on 1 June, 440 L on the next morning, then 40 L less on each: the 40 L of the 12th do not give its 60 L;
    # of 3500 L, 3440 L and then 40 L less on each: those of the 87th day, 26 August
    assert how_long(finding().study) == "500 L lasts to 11 June; 3,500 L lasts to 25 August."
    assert how_long(finding(capacity_l=4000, start_l=4000).study).startswith("4,000 L lasts all year; ")
    assert how_long(finding(start_l=0, days=92, first_day=steady.FIRST_DAY.replace(month=6)).study).startswith(
        "500 L lasts not even a day"
    )


def test_how_long_is_told_for_a_middling_and_a_dry_year():
    two = how_long(finding(days=steady.TWO_YEARS).study)
    assert two.startswith("500 L lasts to 11 June in a middling year, and to 11 June in the driest; 3,500 L lasts to ")
    ten = how_long(finding(Sweep(steps=3), days=3653).study)
    assert "in a middling year, and to 11 June in a 1-in-10 dry year" in ten


def test_the_tank_limits_by_hand():
    study = finding().study
    assert limit(study) == (
        "Below 3,500 L the tank limits, not the roof: 7,300 L a year run into it and 5,520 L are asked for."
    )
    assert now(study) == "As it is, with 500 L, it meets 42 %."  # 500 + 1800 of 5520
    study = finding(Sweep(to_l=3000, steps=30)).study
    assert enough(study) == (
        "No size up to 3,000 L meets 95 % of what Butt is asked for: the best, 3,000 L, meets 87 %."  # 4800 of 5520
    )
    assert limit(study) == (
        "The tank limits, not the roof: enough rain comes, but at another time: "
        "7,300 L a year run into it and 5,520 L are asked for."
    )


def test_the_roof_limits_by_hand():
    study = finding(roof_m2=4, start_l=0).study
    assert enough(study).startswith("No size up to 5,000 L meets 95 % of what Butt is asked for: the best, ")
    assert limit(study) == (
        "The roof limits, not the tank: no tank can help that far, "
        "as 2,920 L a year run into it and 5,520 L are asked for."
    )


def test_a_first_filling_is_no_rain():
    # from 1 May to 31 August 123 days bring 2460 L; 5244 L are enough, so 2784 L of them were there on the first day
    study = finding(days=123, first_day=steady.FIRST_DAY.replace(month=5)).study
    assert enough(study).startswith("3,500 L is the smallest size tried that meets 95 %")
    assert limit(study) == (
        "Only the first day's filling makes that enough; year after year the roof limits: "
        "2,460 L a season run into it and 5,520 L are asked for."
    )


def test_the_smallest_may_be_enough():
    assert enough(finding(Sweep(from_l=4000, steps=11)).study) == (
        "Even 4,000 L, the smallest size tried, meets 95 % of what Butt is asked for."
    )


def test_what_just_misses_the_target_is_told_to_miss_it():
    # 3430 L give 3430 + 90 x 20 of 5520 L, 94.75 %, which the table rounds to the target
    found = finding(Sweep(from_l=3430, to_l=3480, steps=2))
    assert list(just_below(found.study)) == ["3,430 L, the next smaller size tried, meets 94.7 %."]
    assert rows_of(sizes(found.study, full=False))["3,430"][0] == "94.7 %"


def test_a_share_is_rounded_as_a_run_rounds_it():
    opened = finding().opened
    result = waterbudget.run(opened.site, opened.weather)
    assert result.summary["volume_reliability"] == pytest.approx(2300 / 5520)  # 41.67 %
    assert re.search(r" 42 % ", text(run_answer(result)))
    assert "As it is, with 500 L, it meets 42 %." in " ".join(size_screen(finding()).split())


# ---- The screen ----


def test_the_screen_reads_well(demo):
    screen = size_screen(demo)
    lines = screen.splitlines()
    assert lines[0] == "Brackenfold school kitchen garden, what size for Shed butt: 1 May to 30 September 2031"
    assert max(map(len, lines)) <= WIDEST
    heads = ("Cheapest that", "For sale ", "Sizes ", "Store \\ roof", "Rules of thumb, tried here", "Assumed")
    places = [next(n for n, line in enumerate(lines) if line.startswith(head)) for head in heads]
    assert places == sorted(places)
    assert "_" not in screen.replace("weather.csv", "")
    assert not re.search(r"\b(nan|inf|None)\b", screen)


@pytest.mark.parametrize("width", [NARROWEST, 80])
def test_narrow_screens_break_no_line(demo, width):
    assert max(map(len, size_screen(demo, width).splitlines())) <= width


def test_the_short_screen_fits_a_window_and_tells_what_to_buy_first(demo):
    lines = size_screen(demo, full=False).splitlines()
    assert len(lines) <= 32  # two of them say whether litres or roof, which was asked for
    assert lines[2].startswith("Cheapest that meets 95 %: ")
    assert lines[-1] == "More with --full: details, what is assumed and cautions."
    alone = size_screen(finding(), full=False).splitlines()
    assert len(alone) <= 30
    assert "  waterbudget size site.toml --options prices.csv" in alone


def rows_of(table):
    """Rows of a table of sizes in letters, by their litres."""
    cells = [[column.cell(cell) for column, cell in zip(table.columns, row, strict=True)] for row in table.rows]
    return {row[1]: row[2:] for row in cells}


def row_of(screen, mark):
    return next(line for line in screen.splitlines() if line.startswith(mark)).removeprefix(mark).split()


def test_the_table_marks_today_and_what_is_enough(demo):
    screen, found = size_screen(demo), demo.study
    assert row_of(screen, "now")[:2] == ["350", f"{100 * found.now.met[0]:.0f}"]
    marked = next(line for line in screen.splitlines() if line.startswith("meets 95 %"))
    assert f" {found.sizes.capacity_l[found.enough]:,.0f} " in marked
    assert row_of(screen, "now")[3:5] == ["8", "July"]  # today's butt lasts 69 days from 1 May


def test_two_years_are_told_by_their_driest():
    table = sizes(finding(days=steady.TWO_YEARS).study, full=False)
    assert [column.unit for column in table.columns][3:5] == ["middling year", "driest year"]
    assert "all year" in size_screen(finding(days=steady.TWO_YEARS))


def test_ten_years_know_one_in_ten():
    screen = size_screen(finding(Sweep(steps=3), days=3653))
    assert "1-in-10 dry year" in screen
    assert "10 years, 2031 to 2040" in screen


def test_every_rule_has_its_source(demo):
    screen = " ".join(size_screen(finding()).split())
    for source in ("BS 8515:2009", "DIN 1989-1 (from memory)", "Keenan 1998", "Khastagir & Jayasuriya 2010"):
        assert source in screen
    assert "Thomas & Burden 1963" in screen
    assert "left out: the weather holds no whole year" in " ".join(size_screen(demo).split())


def test_no_size_is_never_short_where_too_little_comes():
    screen = size_screen(finding(roof_m2=4))
    assert "No size at all is never short: more is asked for than comes in." in screen
    assert "sequent peak" not in screen


def test_without_a_roof_rules_of_the_roof_are_left_out():
    assert "Left out: rules that ask for a roof" in size_screen(finding(roof_m2=0))


# ---- For sale ----

OFFERS = (Offer("Slim", 200.0, 40.0, 0.25, 1.0), Offer("Crate", 1800.0, 100.0))


def buying(offers=OFFERS, water_per_m3=4.0, *, none_yet=False, **keys):
    question = Question(options=Path("prices.csv"), water_per_m3=water_per_m3, none_yet=none_yet)
    return finding(None, question, offers, **keys)


def test_what_is_for_sale_is_reckoned_against_what_is_there():
    # A store of S gives S + 1800 of 5520 L, and 500 L are there. The crate, 1800 L for 100, gives 1300 L more in their
    # place, 5.20 a year at 4 a cubic metre, and 1800 L more beside them, 7.20. Slim, 200 L for 40, gives 300 L less in
    # their place, and 200 L more beside them, 0.80. Two crates beside them are more than the 3720 L that give all.
    findings = buying()
    assert [deal.choice.name for deal in findings.market.ranked[:3]] == ["Crate", "2 × Crate", "Slim + Crate"]
    screen = " ".join(size_screen(findings).split())
    assert (
        "Quickest to pay back (water at 4 a cubic metre): Crate, for 100. Beside the 500 L that are there it saves "
        "1,800 L of mains a year and pays back in 14 years; in their place it saves 1,300 L and pays back in 19 years."
        in screen
    )
    # in their place 3600 L give 5400 L, 98 %, and so 3100 L more than now; beside them all 5520 L, and 3220 L more
    assert (
        "Cheapest that meets 95 %: 2 × Crate beside the 500 L that are there, for 200; it pays back in 16 years."
        in screen
    )
    assert "Most store for the money" not in screen  # it is the crate again
    assert " 2 × Crate 3,600 200 3,220 16 years 100 % " in screen
    assert " 2 × Crate 3,100 16 years 98 % – – " in screen
    slim = next(one for one in facts(findings)["for_sale"] if one["pieces"] == ["Slim"])
    assert slim["beside_it"]["payback_years"] == pytest.approx(50)
    assert slim["in_its_place"]["saved_l_per_year"] == pytest.approx(-300)
    assert (slim["in_its_place"]["pays_back"], slim["in_its_place"]["payback_years"]) == (False, None)
    assert "against no store at all" not in screen


def test_two_that_never_pay_back_are_told_so():
    screen = " ".join(size_screen(buying(OFFERS[:1])).split())
    assert "in their place it saves nothing and never pays back." in screen


def test_a_store_that_is_only_planned_is_nothing_to_reckon_against():
    # 200 L for 40 save 2000 L, 8 a year; the crate saves 3600 L, 14.4 a year for 100
    findings = buying(none_yet=True)
    assert [deal.choice.name for deal in findings.market.ranked[:3]] == ["Slim", "Crate", "2 × Slim"]
    screen = " ".join(size_screen(findings).split())
    assert "Slim, for 40. As the first store it saves 2,000 L of mains a year and pays back in 5.0 years." in screen
    assert "Cheapest that meets 95 %: 2 × Crate as the first store, for 200; it pays back in 9.3 years." in screen
    assert " 2 × Crate 3,600 200 5,400 9.3 years 98 % " in screen
    assert "Most store for the money: Crate, for 100, holds 1,800 L; it pays back in 6.9 years." in screen
    assert "beside" not in screen.partition("Assumed")[0]


def test_without_a_price_of_water_there_is_no_payback():
    screen = " ".join(size_screen(buying(water_per_m3=None)).split())
    assert "pays back" not in screen
    assert (
        "Most mains water saved for the money: Crate, for 100. Beside the 500 L that are there it saves 1,800 L"
        in screen
    )
    (first, *_) = facts(buying(water_per_m3=None))["for_sale"]
    assert first["beside_it"]["payback_years"] is first["in_its_place"]["payback_years"] is None
    assert first["beside_it"]["pays_back"] is None


def test_the_price_of_the_command_goes_before_that_of_the_site(demo):
    assert demo.market.water_per_m3 == 3.4
    assert buying(water_per_m3=2.0).market.water_per_m3 == 2.0


def test_nothing_that_is_enough():
    findings = buying(OFFERS[:1])
    assert findings.market.cheapest is None
    assert "Nothing that is for sale, up to three pieces together, meets 95 %." in size_screen(findings)


def test_where_what_is_there_is_enough_nothing_need_be_bought():
    (first, *_) = answer(buying(capacity_l=5000, start_l=5000)).verdict
    assert first == "Nothing need be bought to meet 95 %: the 5,000 L that are there do."


def test_prices_have_the_currency_of_the_site(demo):
    (first, *_) = answer(demo).verdict
    assert re.search(r", for £\d+; it pays back in \d+ years\.$", first)
    assert "(water at £3.40 a cubic metre)" in size_screen(demo)


def test_nothing_that_saves():
    screen = " ".join(size_screen(buying((Offer("Cup", 10.0, 5.0),), capacity_l=5000, start_l=5000)).split())
    assert (
        "Nothing that is for sale saves mains water, beside the 5,000 L that are there or in their place: "
        "none of it ever pays back." in screen
    )
    screen = " ".join(size_screen(buying((Offer("Cup", 10.0, 5.0),), dead_l=100, start_l=200, none_yet=True)).split())
    assert "Nothing that is for sale saves mains water, against no store at all: none of it ever pays back." in screen


def test_a_present_costs_nothing():
    screen = " ".join(size_screen(buying((Offer("Gift", 200.0, 0.0),))).split())
    assert "Gift, for 0. Beside the 500 L that are there it saves 200 L" in screen
    assert "and pays back at once" in screen
    assert "Most store for the money" not in screen


# ---- What it rests on ----


def test_what_is_assumed():
    said = list(assumptions(finding(days=steady.TWO_YEARS)))
    assert said[0] == "Butt is the only store."
    assert said[1] == (
        "Counted: 2 years, 2031 to 2032, each of them from 1 January with what the year before left in the store; "
        "up to when a size lasts counts from 1 January. A middling year: half of them last no longer."
    )
    assert said[2].startswith("Two choices, tried on the last year alone. If the day's rain can be drawn at once: ")
    assert said[3] == "Every size begins the first day 100 % full, like the 500 L of today."
    assert said[4].startswith("That first filling is 32 % of all that is asked of the size that is enough")  # of 11040


def test_one_whole_year_is_told():
    said = list(assumptions(finding()))
    assert said[1] == "Counted: 2031, one year from 1 January; up to when a size lasts counts from that day."


def test_days_outside_whole_years_are_told():
    said = list(assumptions(finding(days=800)))
    assert "69 days outside whole years were run but are not counted." in said


def test_pieces_of_years_are_told():
    said = list(assumptions(finding(days=300, first_day=steady.FIRST_DAY.replace(month=6))))
    assert "Counted: the days of each calendar year that the weather has, 2031 and 2032, as none is whole" in said[1]


def test_what_lies_below_the_outlet_is_told():
    said = " ".join(assumptions(finding(dead_l=150)))
    assert "The lowest 150 L stay out of reach at every size, and smaller sizes give nothing." in said


def test_a_float_valve_is_told_of():
    floating = {"mains": "float", "float_below_l": 200, "float_to_l": 400}
    said = " ".join(assumptions(finding(**floating)))
    assert "In sizes below 400 L the float valve's levels come down in proportion" in said
    assert "without the mains water that its float valve let in" in said


def test_which_tank_and_why(demo):
    assert next(iter(assumptions(finding(second="Bin")))) == (
        "Butt was chosen as it runs short most (another: --tank); Bin stays as now; "
        "mains and drain are the whole garden's."
    )
    never_short = finding(second="Bin", capacity_l=6000, start_l=6000)
    assert next(iter(assumptions(never_short))).startswith("Butt was chosen as most water is asked of it (another: ")
    assert next(iter(assumptions(demo))).startswith("Shed butt was chosen; Class-room tank stays as now;")


def test_the_load_is_told(demo):
    care = size_screen(demo).partition("Take care")[2]
    assert "child-proof" in size_screen(demo, full=False)
    size_l = demo.study.sizes.capacity_l[demo.study.enough]
    assert f"{size_l:,.0f} L weigh {size_l:,.0f} kg: set it on a level base" in " ".join(care.split())
    assert "child-proof" in care
    assert "through an air gap, never a joined pipe" in " ".join(care.split())


def test_no_word_of_mains_where_none_is_needed():
    assert "air gap" not in size_screen(finding(l_per_day=10))


# ---- Roofs ----


def test_litres_or_roof_by_hand():
    # 500 L under 10 m2 give 500 + 90 x 20 of 5520 L; twice the litres 1000 + 1800; twice the roof 500 + 90 x 40
    study = finding(question=Question(roofs=True)).study
    (told,) = litres_or_roof(study)
    assert told == (
        "Litres or roof? 500 L under 10 m² meet 42 %; twice the litres would meet 51 %, twice the roof 74 %: "
        "more roof, such as a second downpipe, helps more."
    )
    assert [column.head for column in roofs(study).columns] == [
        *("Store \\ roof", "5 m²", "10 m²", "15 m²", "20 m²", "25 m²", "30 m²"),
    ]


def test_neither_may_help():
    assert "twice the roof 100 %: neither helps." in " ".join(
        size_screen(finding(question=Question(roofs=True), capacity_l=5000, start_l=5000)).split()
    )


# ---- Machines, and questions that cannot be ----


def test_the_main_table_is_that_of_the_answer(demo):
    assert answer(demo).tables[0].title == "What is for sale"
    assert answer(finding()).tables[0].title == "What each size does"


def test_json_holds_what_was_found(demo):
    told, found = json.loads(to_json(answer(demo))), demo.study
    assert told["period"] == {"from": "2031-05-01", "to": "2031-09-30"}
    assert told["tank"] == BUTT
    assert told["enough_l"] == found.sizes.capacity_l[found.enough]
    assert told["knee_l"] == found.sizes.capacity_l[found.knee]
    assert [row["volume_reliability"] for row in told["sizes"]] == found.sizes.met.tolist()
    assert told["now"]["capacity_l"] == 350
    assert (told["now"]["days_lasted_median"], told["now"]["lasts_to_median"]) == (69, "07-08")
    assert len(told["rules"]) == len(found.rules)
    assert told["rules"][1]["size"] is None
    assert len(told["for_sale"]) == len(found.deals)
    beside = [one["beside_it"]["payback_years"] for one in told["for_sale"]]
    assert beside[0] == min(beside)
    assert (told["against_l"], told["currency"]) == (350, "£")
    assert all(one["weight_kg"] == one["capacity_l"] for one in told["for_sale"])
    assert [row["volume_reliability"] for row in told["roofs"]] == found.roofs.met.ravel().tolist()
    assert [row["volume_reliability"] for row in told["doubled"]] == list(found.doubled)


def test_json_of_a_size_that_is_not_there():
    told = facts(finding(roof_m2=4, start_l=0))
    assert (told["enough_l"], told["limit"], told["never_short"]) == (None, "roof", None)
    assert told["for_sale"] == told["roofs"] == told["doubled"] == []


@pytest.mark.parametrize(
    ("keys", "fault"),
    [
        ({"none_yet": True}, "none-yet goes with options; name a file of what is for sale"),
        ({"water_per_m3": 3.0}, "water-price goes with options; name a file of what is for sale"),
        (
            {"water_per_m3": -1.0, "options": Path("prices.csv")},
            "water-price is -1; write what a cubic metre costs, above 0, such as 3.40",
        ),
    ],
)
def test_a_question_that_cannot_be(keys, fault):
    with pytest.raises(InputError) as error:
        Question(**keys)
    assert error.value.faults == (fault,)


def test_joined_stores_are_told_by_their_number(tmp_path):
    shutil.copytree(DEMO / "years", tmp_path / "years")
    path = tmp_path / "years" / "site.toml"
    written = path.read_text("utf-8").replace("capacity_l = 350", "joined = 2\ncapacity_l = 175", 1)
    path.write_text(written.replace("start_l = 260", "start_l = 130"), "utf-8")
    first = enough(find_size(open_site(path, every_year=True), Sweep(), Question(tank="Shed butt")).study)
    assert "2,180 L is the smallest size tried" in first
    assert first.endswith("That is 13 joined stores of 175 L each.")  # 12.5 of them, and a half butt there is not
