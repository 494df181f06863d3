"""The answer of a hot spell tells whether the plan lasts, what it takes, and what the best plans would change."""

import datetime as dt
import re
import tomllib
from pathlib import Path

import icalendar
import pytest
from gardens import site_of, weather_of
from spell.beans import FIRST, table, weather
from spell.hot_gardens import allotment, beans, longest_words, school

from waterbudget.answers.hotspell import plans
from waterbudget.answers.spell_events import events
from waterbudget.answers.spell_plans import PRESENT, among, groups, in_plain_words, to_paste, told_first
from waterbudget.answers.spell_verdict import lasting, mains, others, risk, thirst, without
from waterbudget.questions import find_hotspell
from waterbudget.render.calendar import calendar_bytes
from waterbudget.render.text import NARROWEST, WIDEST, text
from waterbudget.simulate.opened import Opened
from waterbudget.spell.hot import Spell
from waterbudget.spell.plans import Option


def said(reply):
    return " ".join(text(reply.answer).split())


def test_the_first_sentences_answer_the_question():
    lasts, keeps = school().answer.verdict
    assert lasts == (
        "The stored rain lasts 3 of 21 days: Shed butt runs short on 4 July and Class-room tank on 18 July. Full "
        "watering needs 1,160 L from the mains; your site file allows 925 L."
    )
    assert keeps == (
        "With that water your plan keeps the crops. "
        "Without mains water, the best plan that never runs short loses 18.0 % of the yield; no plan, even one "
        "that knew the weather, could lose less than 16.5 % without moving water. "
        "Potato bed is thirsty from the first day. The plan takes about 88 minutes of your time a week."
    )
    assert re.search(r"[\d,]+ plans tried, of which \d+ last without mains water:", said(school()))


@pytest.mark.parametrize(
    ("parts", "words"),
    [
        ({"zone": {"minutes": 5}}, "The stored rain lasts all 21 days: no mains water is needed."),
        ({"zone": {"minutes": 5}, "days": 1}, "The stored rain lasts the day: no mains water is needed."),
        (
            {"zone": {"minutes": 5}, "tank": {"start_l": 70, "capacity_l": 100}},
            "The stored rain lasts 1 of 21 days: Butt runs short on 2 July.",
        ),
        (
            {"zone": {"minutes": 5}, "tank": {"start_l": 30, "capacity_l": 100}},
            "The stored rain does not last the first day: Butt runs short on 1 July.",
        ),
        (
            {
                "zone": {"minutes": 5},
                "tank": {"start_l": 90, "capacity_l": 100, "mains": "float", "float_below_l": 80, "float_to_l": 90},
            },
            "The stored rain lasts 1 of 21 days: its float valve tops Butt up from 2 July.",
        ),
    ],
)
def test_whether_it_lasts(parts, words):
    assert lasting(beans(**parts).finding) == words


def test_days_of_a_spell_past_new_year_carry_their_year():
    """50 L a day from 70 L: full on 31 December, short on the day after."""
    first = dt.date(2030, 12, 31)
    rows = [{"date": first - dt.timedelta(days=5 - n), "rain_mm": 0.0, "et0_mm": 4.0} for n in range(5)]
    tables = table(zone={"minutes": 5, "from": "01-01"}, tank={"start_l": 100, "capacity_l": 100}, bed={"planting": []})
    opened = Opened(Path("site.toml"), site_of(tables), weather_of(rows), ())
    found = find_hotspell(opened, Spell(5, 26.0, 15.0, first=first), {"Butt": 70.0}).finding
    assert lasting(found) == "The stored rain lasts 1 of 5 days: Butt runs short on 1 January 2031."


def test_what_goes_thirsty():
    (bed,) = table()["bed"]
    rain_only = {key: value for key, value in bed.items() if key != "zone"} | {"name": "Far bed"}
    assert thirst(beans(zone={"minutes": 6}).finding) == "No watered bed goes thirsty."
    # ET0 4.9 mm: Dr 54 mm, RAW 50
    assert thirst(beans().finding) == "Bean bed goes thirsty first, on 12 July."
    assert thirst(beans(bed={"start_depleted": 0.7}).finding) == "Bean bed is thirsty from the first day."
    assert thirst(beans(bed={"planting": []}).finding) == "No bed grows anything in these days."
    both = find_hotspell(
        Opened(Path("a"), site_of(table(zone={"minutes": 6}) | {"bed": [bed, rain_only]}), weather(), ()),
        Spell(first=FIRST),
    ).finding
    assert thirst(both) == "No watered bed goes thirsty. Of the unwatered beds, Far bed suffers first, on 12 July."


@pytest.mark.parametrize(
    ("mains_kind", "words", "keeps"),
    [
        ("none", "Full watering needs 450 L from the mains; your site file allows none.", "Even without it"),
        ("direct", "Full watering needs 450 L from the mains.", "With that water"),
    ],
)
def test_the_mains_water(mains_kind, words, keeps):
    """50 L a day for 10 days from a store of 50 L lack 450 L."""
    found = beans(days=10, zone={"minutes": 5}, tank={"start_l": 50, "capacity_l": 100, "mains": mains_kind}).finding
    assert mains(found) == words
    assert risk(found) == f"{keeps} your plan keeps the crops."


def test_a_plan_that_needs_no_mains_water_may_still_starve_the_crops():
    """No minutes: 21 days of 4.9 mm take 103 mm of the 100 mm that the bed can hold, RAW being 50."""
    found = beans().finding
    assert mains(found) == ""
    assert re.fullmatch(r"Your plan puts \d\d % of the yield at risk\.", risk(found))
    assert risk(beans(zone={"minutes": 6}).finding) == "Your plan keeps the crops."


def test_a_plan_that_mains_water_does_not_save_is_told_so():
    """2 minutes a day, 20 L on 10 m2, are far below the 5 mm a day that beans in a dry soil ask for."""
    found = beans(zone={"minutes": 2}, bed={"start_depleted": 0.7}, tank={"start_l": 50, "capacity_l": 100}).finding
    assert mains(found).startswith("Full watering needs 370 L from the mains")
    assert re.fullmatch(r"Even with that water your plan puts \d\d % of the yield at risk\.", risk(found))


@pytest.mark.parametrize("mains_kind", ["none", "direct", "float"])
def test_what_is_asked_is_rain_mains_water_and_what_is_lacking(mains_kind):
    levels = {"float_below_l": 40, "float_to_l": 50} if mains_kind == "float" else {}
    tank = {"start_l": 120, "capacity_l": 200, "mains": mains_kind} | levels
    found = beans(days=10, zone={"minutes": 5}, tank=tank).finding
    shown = plans(found)
    present = dict(zip((column.quantity for column in shown.columns), shown.rows[0], strict=True))
    assert present["asked_l"] == pytest.approx(500)
    assert present["rain_l"] + present["given_mains_l"] + present["unmet_l"] == pytest.approx(500)
    assert present["rain_l"] == pytest.approx(120)


def test_the_least_harm_is_named_for_what_it_is():
    found = school().finding
    trial = found.found.trial
    assert trial.harm[found.found.least["least harm"]] > trial.harm[0]
    assert groups(found)[-1].title == "least harm without mains"
    assert trial.needed_l[groups(found)[-1].named.number] < 1e-6
    assert "\nWithout mains\n" in text(school().answer)


def test_where_a_store_cannot_do_without_mains_the_best_are_not_called_so():
    hens = [{"name": "Hens", "tank": "Butt", "l_per_day": 30}]
    reply = beans(tank={"start_l": 100, "capacity_l": 200}, draw=hens)
    found = reply.finding
    assert among(found) == ""
    assert without(found).startswith("The best plan found loses ")
    assert "ithout mains" not in text(reply.answer, full=False)


def test_where_no_plan_lasts_it_is_said_why():
    hens = [{"name": "Hens", "tank": "Butt", "l_per_day": 30}]
    found = beans(tank={"start_l": 100, "capacity_l": 200}, draw=hens).finding
    assert others(found) == "No plan lasts: even with no zone watering, other draws leave Butt short."


def test_a_present_plan_that_nothing_betters_is_told():
    (bed,) = table()["bed"]
    reply = find_hotspell(
        Opened(Path("a"), site_of(table() | {"zone": [], "bed": [bed | {"zone": None}]}), weather(), ()),
        Spell(first=FIRST),
    )
    assert others(reply.finding) == "There is no zone whose plan could be changed."
    assert "To paste" not in text(reply.answer)
    (group,) = groups(reply.finding)
    assert group.names == (PRESENT, "least work", "least water", "least harm")


def test_plans_in_plain_words():
    found = beans(zone={"runs_per_day": 2}).finding
    for option, words in (
        (None, "Line as now"),
        (Option(0.0, None, "timer"), "Line not at all"),
        (Option(1.0, 1, "timer"), "Line 1 minute, 2 times every day"),
        (Option(2.5, 3, "dry"), "Line 2.5 minutes, 2 times every 3 days, only when a bed is dry"),
        (Option(9.0, 2, "refill"), "Line what the soil lacks, at most 9 minutes, 2 times, every 2 days"),
    ):
        assert in_plain_words(found, (option,)) == words
    found = beans(zone={"weekdays": ["mon", "thu"]}).finding
    assert in_plain_words(found, (Option(4.0, None, "timer"),)) == "Line 4 minutes on Monday and Thursday"


@pytest.mark.parametrize("findings", [school, allotment])
def test_every_choice_has_its_price_and_its_lines(findings):
    found = findings().finding
    screen, trial = said(findings()), found.found.trial
    named = {name for group in groups(found) for name in group.names}
    assert named == {PRESENT, "least work", "least water", "least harm"}
    for group in groups(found)[1:]:
        assert f"{group.bests.capitalize()}: " in screen
        assert f"{100 * trial.harm[group.named.number]:.0f} % of the yield at risk, now " in screen
    for plan in "\n".join(to_paste(found)).split("\n\n"):
        pasted = tomllib.loads(plan)
        assert {zone["name"] for zone in pasted["zone"]} <= {zone.name for zone in found.site.zone}


def test_what_a_plan_saves_and_takes_is_told():
    """The plan of least water waters the beans by hand-set minutes where the present one lets them be."""
    work, *_ = told_first(school().finding)
    assert work.startswith("Least work: North line ")
    assert re.search(r"\. Saves \d+ minutes a week; \d+ % of the yield at risk, now 0 %\.$", work)
    (fed, *_) = told_first(beans().finding)
    assert re.search(r"\. Takes \d+ minutes a week more; \d % of the yield at risk, now \d\d %\.$", fed)


@pytest.mark.parametrize("findings", [school, allotment, beans, longest_words])
@pytest.mark.parametrize("width", [NARROWEST, 80, WIDEST])
def test_the_screen_fits(findings, width):
    shown = text(findings().answer, width)
    if findings is not longest_words:
        pasted = set(to_paste(findings().finding))
        assert max(len(line) for line in shown.splitlines() if line.strip() not in pasted) <= width
    assert "nan" not in shown
    assert "inf " not in shown


def test_the_short_screen_fits_a_window_and_says_what_is_left_out():
    lines = text(school().answer, full=False).splitlines()
    assert len(lines) <= 30
    assert lines[-1] == "More with --full: details, lines to paste, what is assumed and cautions."
    assert not any(letters in line for line in lines for letters in ("RAW", "Ky", "TAW", "ETc"))
    assert "  No mist or spray from stores above 20 °C: Legionella, a lung germ, grow there." in lines


def test_what_it_rests_on_is_said():
    screen = said(school())
    for words in (
        "Class-room tank 1,360 L and Shed butt 230 L",
        "Hargreaves (FAO-56 Eq. 52) from the temperatures, brought to that of the weather",
        "FAO-56 Eq. 90",
        "FAO-33 Table 24 (from memory)",
        "is no forecast of the harvest",
        "defaults are common practice, no source",
        "A licensed plumber knows the local rules",
        "A ban restricts mains hoses in gardens",
        "Legionella, a lung germ",
    ):
        assert words in screen


def test_the_numbers_for_machines():
    told, trial = school().facts, school().finding.found.trial
    assert told["period"] == {"from": "2031-07-01", "to": "2031-07-21"}
    assert (told["days"], told["tmax_c"], told["tmin_c"], told["rain_mm"]) == (21, 26.0, 15.0, 0.0)
    present = told["plans"]["present"]
    assert (present["is_present"], present["days_lasted"], present["toml"]) == (True, 3, [])
    assert {one["name"]: one["first_short"] for one in present["tanks"]} == {
        "Class-room tank": "2031-07-18",
        "Shed butt": "2031-07-04",
    }
    assert told["with_mains"] == {"needed_l": pytest.approx(1160, abs=1), "yield_at_risk": trial.harm[0]}
    for name, number in school().finding.found.least.items():
        plan = told["plans"][name.removeprefix("least ")]
        assert plan["called"] == f"{name} without mains"
        assert plan["asked_l"] == pytest.approx(plan["rain_l"] + plan["given_mains_l"] + plan["unmet_l"])
        assert plan["lasts"] is True
        assert plan["yield_at_risk"] == trial.harm[number]
        assert plan["work_minutes_per_week"] == trial.week_minutes[number]
        assert plan["needed_l"] < 1e-6


def entries_of(reply, name):
    """What a calendar holds of a plan."""
    return icalendar.Calendar.from_ical(calendar_bytes(events(reply.finding, name))).walk("VEVENT")


def test_the_calendar_holds_the_watering_days_and_the_shortage():
    """5 minutes every third day of six from 70 L: the third run finds nothing, and the second 20 L."""
    zone = {"minutes": 5, "every_days": 2, "every_from": FIRST}
    entries = entries_of(beans(days=6, zone=zone, tank={"start_l": 70, "capacity_l": 100}), PRESENT)
    told = [(entry["dtstart"].dt, entry["dtend"].dt - entry["dtstart"].dt, str(entry["summary"])) for entry in entries]
    day = dt.timedelta(days=1)
    assert told == [
        *((FIRST + n * day, day, "Water Line: 5 min") for n in (0, 2, 4)),
        (FIRST + 2 * day, day, "Butt runs short"),
    ]
    assert len({str(entry["uid"]) for entry in entries}) == 4
    assert "80 L are lacking" in str(entries[-1]["description"])


def test_the_calendar_of_a_plan_that_lasts_has_no_shortage():
    for name in ("least work", "least water", "least harm"):
        one = next(one for one in school().finding.named if one.name == name)
        assert len(entries_of(school(), name)) == (one.course.asked_l[:, :2] > 1e-6).sum()
