"""The screen, the calendar and the picture of a hot spell tell what was found."""

import datetime as dt
import functools
import json
import re
import tomllib
from pathlib import Path

import icalendar
import numpy as np
import pytest
from gardens import site_of, weather_of
from pictures import assert_words_stand_apart
from spell.beans import FIRST, table, weather

from waterbudget.errors import OutputError
from waterbudget.report.hotspell import (
    PRESENT,
    Findings,
    among,
    calendar,
    compared,
    find_hotspell,
    groups,
    hotspell_json,
    hotspell_screen,
    in_plain_words,
    keeping,
    lasting,
    mains,
    others,
    to_paste,
    verdict,
    verdict_in_short,
    wilting,
    without,
)
from waterbudget.report.hotspell_figure import LOOKS, hotspell, hotspell_picture, worst_beds
from waterbudget.report.words import WIDTH
from waterbudget.simulate.opened import Opened, open_site
from waterbudget.spell.hot import Spell
from waterbudget.spell.plans import Option

DEMO = Path(__file__).parent.parent.parent / "data_demo"


@functools.cache
def school():
    return find_hotspell(open_site(DEMO / "site.toml"), Spell(), {})


@functools.cache
def allotment():
    return find_hotspell(open_site(DEMO / "allotment" / "site.toml"), Spell(first=dt.date(2033, 5, 25)), {})


def beans(days=21, **parts):
    """The bed of beans in a spell of Hargreaves' ET0, near 5 mm a day."""
    spell = Spell(days, 26.0, 15.0, first=FIRST)
    return find_hotspell(Opened(Path("site.toml"), site_of(table(**parts)), weather(), ()), spell, {})


def longest_words():
    """As many stores, zones and beds as are drawn, with the longest names."""
    names = [f"{number} {'W' * 60}" for number in range(4)]
    (zone,), (bed,) = table()["zone"], table()["bed"]
    tables = table() | {
        "tank": [{"name": name, "capacity_l": 3000, "dead_l": 200, "start_l": 1500} for name in names],
        "zone": [zone | {"name": f"Z{name}", "tank": name, "minutes": 9} for name in names],
        "bed": [bed | {"name": f"B{name}", "zone": f"Z{name}"} for name in names],
    }
    return find_hotspell(Opened(Path("site.toml"), site_of(tables), weather(), ()), Spell(92, 35.0, first=FIRST), {})


def said(findings):
    return " ".join(hotspell_screen(findings).split())


def test_the_first_sentence_answers_the_question():
    assert verdict(school().study).startswith(
        "Your plan keeps the crops if you can give 1,160 L of mains water. On stored rain it lasts 3 days of 21: "
        "Shed butt runs short on 4 July and Class-room tank runs short on 18 July. "
        "Without mains water the best plan found puts 18 % of the yield at risk."
    )
    assert "First to wilt: Potato bed, already thirsty on the first day." in said(school())
    assert "By the site file the mains give 925 L, and 235 L are lacking." in said(school())
    assert re.search(
        r"takes about \d+ minutes of your time a week\. Of [\d,]+ plans tried \d+ last without mains water\.",
        said(school()),
    )


@pytest.mark.parametrize(
    ("parts", "words"),
    [
        ({"zone": {"minutes": 5}}, "The present plan lasts all 21 days on stored rain."),
        ({"zone": {"minutes": 5}, "days": 1}, "The present plan lasts the day on stored rain."),
        (
            {"zone": {"minutes": 5}, "tank": {"start_l": 70, "capacity_l": 100}},
            "On stored rain it lasts 1 day of 21: Butt runs short on 2 July.",
        ),
        (
            {"zone": {"minutes": 5}, "tank": {"start_l": 30, "capacity_l": 100}},
            "On stored rain it does not last the first day: Butt runs short on 1 July.",
        ),
        (
            {
                "zone": {"minutes": 5},
                "tank": {"start_l": 90, "capacity_l": 100, "mains": "float", "float_below_l": 80, "float_to_l": 90},
            },
            "On stored rain it lasts 1 day of 21: its float valve tops Butt up from 2 July.",
        ),
    ],
)
def test_whether_it_lasts(parts, words):
    assert lasting(beans(**parts).study) == words


def test_days_of_a_spell_past_new_year_carry_their_year():
    """50 L a day from 70 L: full on 31 December, short on the day after."""
    first = dt.date(2030, 12, 31)
    rows = [{"date": first - dt.timedelta(days=5 - n), "rain_mm": 0.0, "et0_mm": 4.0} for n in range(5)]
    tables = table(zone={"minutes": 5, "from": "01-01"}, tank={"start_l": 100, "capacity_l": 100}, bed={"planting": []})
    opened = Opened(Path("site.toml"), site_of(tables), weather_of(rows), ())
    found = find_hotspell(opened, Spell(5, 26.0, 15.0, first=first), {"Butt": 70.0}).study
    assert lasting(found) == "On stored rain it lasts 1 day of 5: Butt runs short on 1 January 2031."


def test_what_wilts():
    (bed,) = table()["bed"]
    rain_only = {key: value for key, value in bed.items() if key != "zone"} | {"name": "Far bed"}
    assert wilting(beans(zone={"minutes": 6}).study) == "No watered bed wilts."
    assert wilting(beans().study) == "First to wilt: Bean bed, on 12 July."  # ET0 4.9 mm: Dr 54 mm, RAW 50
    assert (
        wilting(beans(bed={"start_depleted": 0.7}).study)
        == "First to wilt: Bean bed, already thirsty on the first day."
    )
    assert wilting(beans(bed={"planting": []}).study) == "No bed grows anything in these days."
    both = find_hotspell(
        Opened(Path("a"), site_of(table(zone={"minutes": 6}) | {"bed": [bed, rain_only]}), weather(), ()),
        Spell(first=FIRST),
        {},
    )
    assert wilting(both.study) == "No watered bed wilts. Of those without a zone Far bed wilts first, on 12 July."


@pytest.mark.parametrize(
    ("mains_kind", "words"),
    [
        ("none", "By the site file no mains water is given: 450 L are lacking."),
        ("direct", "By the site file the mains give 450 L of it."),
    ],
)
def test_the_mains_water(mains_kind, words):
    """50 L a day for 10 days from a store of 50 L lack 450 L."""
    found = beans(days=10, zone={"minutes": 5}, tank={"start_l": 50, "capacity_l": 100, "mains": mains_kind}).study
    assert mains(found) == words
    assert keeping(found) == "Your plan keeps the crops if you can give 450 L of mains water."
    assert mains(beans().study) == "No mains water is needed."
    assert keeping(beans().study) == ""


def test_a_plan_that_mains_water_does_not_save_is_told_so():
    """2 minutes a day, 20 L on 10 m2, are far below the 5 mm a day that beans in a dry soil ask for."""
    found = beans(zone={"minutes": 2}, bed={"start_depleted": 0.7}, tank={"start_l": 50, "capacity_l": 100}).study
    assert re.fullmatch(
        r"Even with the 370 L of mains water it asks for, your plan puts \d\d % of the yield at risk\.", keeping(found)
    )


@pytest.mark.parametrize("mains_kind", ["none", "direct", "float"])
def test_what_is_asked_is_rain_mains_water_and_what_is_lacking(mains_kind):
    levels = {"float_below_l": 40, "float_to_l": 50} if mains_kind == "float" else {}
    tank = {"start_l": 120, "capacity_l": 200, "mains": mains_kind} | levels
    found = beans(days=10, zone={"minutes": 5}, tank=tank).study
    head, _, present, *_ = compared(found)
    assert head.split()[2:6] == ["asked", "rain", "mains", "lacking"]
    asked_l, rain_l, mains_l, lacking_l = (float(cell) for cell in present.split()[2:6])
    assert asked_l == 500
    assert rain_l + mains_l + lacking_l == asked_l
    assert rain_l == 120


def test_the_least_harm_is_named_for_what_it_is():
    found = school().study
    trial = found.found.trial
    without = trial.harm[found.found.least["least harm"]]
    assert without > trial.harm[0]
    assert groups(found)[-1].title == "least harm without mains"
    assert trial.needed_l[groups(found)[-1].named.number] < 1e-6
    assert "\nWithout mains\n" in hotspell_screen(school())


def test_where_a_store_cannot_do_without_mains_the_best_are_not_called_so():
    hens = [{"name": "Hens", "tank": "Butt", "l_per_day": 30}]
    found = beans(tank={"start_l": 100, "capacity_l": 200}, draw=hens).study
    assert among(found) == ""
    assert without(found) == ""
    assert "without mains" not in hotspell_screen(Findings(school().opened, found))


def test_where_no_plan_lasts_it_is_said_why():
    hens = [{"name": "Hens", "tank": "Butt", "l_per_day": 30}]
    found = beans(tank={"start_l": 100, "capacity_l": 200}, draw=hens).study
    assert others(found) == "No plan lasts: even with no zone watering, other draws leave Butt short."


def test_a_present_plan_that_nothing_betters_is_told():
    (bed,) = table()["bed"]
    findings = find_hotspell(
        Opened(Path("a"), site_of(table() | {"zone": [], "bed": [bed | {"zone": None}]}), weather(), ()),
        Spell(first=FIRST),
        {},
    )
    assert others(findings.study) == "There is no zone whose plan could be changed."
    assert "To paste" not in hotspell_screen(findings)
    (group,) = groups(findings.study)
    assert group.names == (PRESENT, "least work", "least water", "least harm")


def test_plans_in_plain_words():
    found = beans(zone={"runs_per_day": 2}).study
    for option, words in (
        (None, "Line as now"),
        (Option(0.0, None, "timer"), "Line not at all"),
        (Option(1.0, 1, "timer"), "Line 1 minute, 2 times every day"),
        (Option(2.5, 3, "dry"), "Line 2.5 minutes, 2 times every 3 days, only when a bed is dry"),
        (Option(9.0, 2, "refill"), "Line what the soil lacks, at most 9 minutes, 2 times, every 2 days"),
    ):
        assert in_plain_words(found, (option,)) == words
    found = beans(zone={"weekdays": ["mon", "thu"]}).study
    assert in_plain_words(found, (Option(4.0, None, "timer"),)) == "Line 4 minutes on Monday and Thursday"


@pytest.mark.parametrize("findings", [school, allotment])
def test_every_choice_has_its_price_and_its_lines(findings):
    found = findings().study
    screen, trial = said(findings()), found.found.trial
    named = {name for group in groups(found) for name in group.names}
    assert named == {PRESENT, "least work", "least water", "least harm"}
    for group in groups(found)[1:]:
        assert f"{group.title.capitalize()}: " in screen
        assert f"Price: {100 * trial.harm[group.named.number]:.0f} % of the yield at risk (now " in screen
    pasted = tomllib.loads("\n".join(to_paste(found)[1:]).partition("  # ")[2].partition("\n\n")[0].partition("\n")[2])
    assert {zone["name"] for zone in pasted["zone"]} <= {zone.name for zone in found.site.zone}


@pytest.mark.parametrize("findings", [school, allotment, beans, longest_words])
def test_the_screen_fits(findings):
    text = hotspell_screen(findings())
    if findings is not longest_words:
        assert max(len(line) for line in text.splitlines()) <= WIDTH
    assert "nan" not in text
    assert "inf " not in text


def test_what_it_rests_on_is_said():
    screen = said(school())
    for words in (
        "Class-room tank 1,360 L and Shed butt 230 L",
        "Hargreaves (FAO-56 Eq. 52) from the temperatures, brought to that of the weather",
        "FAO-56 Eq. 90",
        "FAO-33 Table 24 (from memory)",
        "is no forecast of the harvest",
        "defaults are common practice, no source",
        "Local rules and a qualified plumber decide",
        "Legionella multiply in warm standing water",
    ):
        assert words in screen


def test_the_numbers_for_machines():
    summary, trial = json.loads(hotspell_json(school())), school().study.found.trial
    assert (summary["from"], summary["to"], summary["days"]) == ("2031-07-01", "2031-07-21", 21)
    present = summary["plans"]["present"]
    assert (present["is_present"], present["days_lasted"], present["toml"]) == (True, 3, [])
    assert present["first_short"] == {"Class-room tank": "2031-07-18", "Shed butt": "2031-07-04"}
    assert summary["with_mains"] == {"mains_needed_l": pytest.approx(1160, abs=1), "yield_at_risk": trial.harm[0]}
    for name, number in school().study.found.least.items():
        told = summary["plans"][name.removeprefix("least ")]
        assert told["called"] == f"{name} without mains"
        assert told["asked_l"] == pytest.approx(told["rain_l"] + told["from_mains_l"] + told["unmet_l"])
        assert told["lasts"] is True
        assert told["yield_at_risk"] == trial.harm[number]
        assert told["work_minutes_per_week"] == trial.week_minutes[number]
        assert told["mains_needed_l"] < 1e-6


def test_the_calendar_holds_the_watering_days_and_the_shortage():
    """5 minutes every third day of six from 70 L: the third run finds nothing, and the second 20 L."""
    zone = {"minutes": 5, "every_days": 2, "every_from": FIRST}
    findings = beans(days=6, zone=zone, tank={"start_l": 70, "capacity_l": 100})
    events = icalendar.Calendar.from_ical(calendar(findings, PRESENT)).walk("VEVENT")
    told = [(event["dtstart"].dt, event["dtend"].dt - event["dtstart"].dt, str(event["summary"])) for event in events]
    day = dt.timedelta(days=1)
    assert told == [
        *((FIRST + n * day, day, "Water Line: 5 min") for n in (0, 2, 4)),
        (FIRST + 2 * day, day, "Butt runs short"),
    ]
    assert len({str(event["uid"]) for event in events}) == 4
    assert "80 L are lacking" in str(events[-1]["description"])


def test_the_calendar_of_a_plan_that_lasts_has_no_shortage():
    for name in ("least work", "least water", "least harm"):
        events = icalendar.Calendar.from_ical(calendar(school(), name)).walk("VEVENT")
        one = next(one for one in school().study.named if one.name == name)
        assert len(events) == (one.course.asked_l[:, :2] > 1e-6).sum()


# ---- The picture ----


def lines_of(panel):
    return {line.get_label(): line for line in panel.get_lines()}


def test_the_lines_are_the_levels_and_the_soil_of_each_plan():
    found = school().study
    axes = hotspell(school())
    stores, soils = axes[:2], axes[2:]
    for group in groups(found):
        for number, panel in enumerate(stores):
            np.testing.assert_array_equal(
                lines_of(panel)[group.label].get_ydata(), group.named.course.level_l[:, number]
            )
        for bed, panel in zip(worst_beds(found), soils, strict=True):
            np.testing.assert_allclose(
                lines_of(panel)[group.label].get_ydata(), 100.0 * group.named.course.soil[:, bed], rtol=1e-12
            )
            assert panel.get_title(loc="left").startswith(found.site.bed[bed].name)


def test_the_worst_bed_of_each_zone_is_drawn():
    assert [school().study.site.bed[bed].name for bed in worst_beds(school().study)] == ["Potato bed", "Carrot bed"]


def test_the_title_is_the_answer():
    panel = hotspell(school())[0]
    assert panel.get_title(loc="left") == verdict_in_short(school().study) == "Stored rain lasts 3 of 21 days"
    assert verdict_in_short(beans(zone={"minutes": 5}).study) == "Stored rain lasts all 21 days"


def test_plans_differ_without_colour():
    panel = hotspell(school())[0]
    shown = [lines_of(panel)[group.label] for group in groups(school().study)]
    assert not shown[0].is_dashed()
    assert len({str(dashes) for _, dashes, _ in LOOKS.values()}) == len(LOOKS)
    assert [text.get_text() for text in panel.get_legend().get_texts()] == [line.get_label() for line in shown]


@pytest.mark.parametrize("findings", [school, allotment, beans, longest_words])
def test_no_text_leaves_the_picture_or_meets_another(findings):
    assert_words_stand_apart(hotspell(findings())[0].figure)


@pytest.mark.parametrize(("suffix", "begins"), [(".png", b"\x89PNG"), (".svg", b"<?xml"), (".pdf", b"%PDF")])
def test_a_picture_is_made_in_each_kind_and_always_the_same(suffix, begins):
    picture = hotspell_picture(allotment(), suffix)
    assert picture.startswith(begins)
    assert picture == hotspell_picture(allotment(), suffix)


def test_another_kind_is_refused():
    with pytest.raises(OutputError, match=r"choose \.png, \.svg or \.pdf"):
        hotspell_picture(allotment(), ".gif")


def test_findings_keep_the_notes_of_the_site():
    assert isinstance(school(), Findings)
    assert school().opened.site == school().study.site
