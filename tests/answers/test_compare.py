"""The screen of a comparison: which plan is best, by the rule that it tells, and the same figures in every form."""

import datetime as dt
import re
from itertools import combinations
from pathlib import Path

import icalendar
import numpy as np
import pytest
from matplotlib.colors import to_rgb

from waterbudget.answers.compare import answer, events
from waterbudget.answers.events import Event
from waterbudget.change.variants import find_compare
from waterbudget.questions import Reply
from waterbudget.render.calendar import calendar_bytes
from waterbudget.render.figures import compare as drawing
from waterbudget.render.text import text
from waterbudget.simulate.books import SHORT_L
from waterbudget.simulate.opened import open_site
from waterbudget.simulate.run import run

DEMO = Path(__file__).parent.parent.parent / "data_demo"
SITE, OTHER = DEMO / "site.toml", DEMO / "allotment" / "site.toml"
LARGER = "tank.shed.capacity_l=900"


@pytest.fixture(scope="module")
def four():
    return find_compare([SITE], ["zone.north.minutes=3", LARGER])


@pytest.fixture(scope="module")
def gardens():
    return find_compare([SITE, OTHER], [])


def said(compared):
    return " ".join(answer(compared).verdict)


def figure_of(compared):
    return drawing.compare(compared)[0].figure


def frame(compared, number=0):
    """A table of the answer, a row a plan."""
    return list(Reply(compared, answer(compared)).tables.values())[number]


def test_the_first_sentence_names_the_best(four):
    best = four.best
    assert best.letter == "C"
    saved_l = four.variants[0].outcome.needed_l - best.outcome.needed_l
    assert saved_l > 100
    assert said(four).startswith("C is the best (tank.Shed butt.capacity_l 350 → 900): it needs ")
    assert f"{saved_l:.0f} L less than the present plan (A)" in said(four)


def test_what_saves_at_the_plants_cost_is_told_but_is_not_the_best(four):
    together = four.variants[3]
    assert together.outcome.needed_l < four.best.outcome.needed_l
    assert together.outcome.is_thirstier_than(four.variants[0].outcome)
    assert "D would save " in said(four)
    assert "more, but at the plants' cost: it meets 98 % of their need even with all its water, not 100 %" in said(four)


def test_the_present_plan_may_be_the_best():
    assert said(find_compare([SITE], ["tank.shed.capacity_l=300"])).startswith("The present plan (A) is the best: ")


def test_no_difference_is_told_as_none():
    assert said(find_compare([SITE], ["tank.shed.loss_l_per_day=0"])) == (
        "All of them need 1,190 L of mains water: none saves any. "
        "The watering takes about 54 minutes of your time a week, as now."
    )
    assert said(find_compare([SITE], ["model.kc_bare=0.3"], last=dt.date(2031, 5, 31))).startswith(
        "None of them needs mains water. The watering takes "
    )


def test_the_tables_have_the_figures_of_each(four):
    main, water = frame(four), frame(four, 1)
    assert main["letter"].tolist() == water["letter"].tolist() == ["A", "B", "C", "D"]
    for number, one in enumerate(four.variants):
        summary = one.outcome.summary
        assert main["days_lasted"][number] == summary["days_lasted"]
        assert main["thirsty_days"][number] == one.outcome.thirsty_days
        assert main["needed_money"][number] == pytest.approx(one.outcome.needed_l * 3.4 / 1000)
        row = water.iloc[number]
        assert row["rain_l"] + row["given_mains_l"] + row["unmet_l"] == pytest.approx(row["asked_l"])
    assert "£4.06" in text(answer(four))


def test_the_first_day_short_of_several_years_has_its_year():
    years = find_compare([DEMO / "years" / "site.toml"], [LARGER], last=dt.date(2020, 12, 31))
    shown = text(answer(years))
    assert re.search(r"^A +\d+ +\d+ [A-Z][a-z]+ 2019 ", shown, re.MULTILINE)
    (head,) = (title for panel in figure_of(years).axes if "needed so far" in (title := panel.get_title(loc="left")))
    assert re.search(r"the first on \d+ [A-Z][a-z]+ 2019", head)


def test_the_first_mains_water_is_told_where_a_float_valve_lets_it_in(tmp_path):
    text = (DEMO / "site.toml").read_text("utf-8")
    text = text.replace('mains = "direct"', 'mains = "float"\nfloat_below_l = 100\nfloat_to_l = 200')
    (tmp_path / "site.toml").write_text(text, "utf-8")
    (tmp_path / "weather.csv").write_bytes((DEMO / "weather.csv").read_bytes())
    compared = find_compare([tmp_path / "site.toml"], [LARGER])
    axes = figure_of(compared).axes
    opened = open_site(tmp_path / "site.toml")
    summary = run(opened.site, opened.weather).summary
    day = dt.date.fromisoformat(summary["first_mains"])
    assert summary["tanks"][1]["first_short"] is None
    assert frame(compared, 1)["given_mains_l"][0] < summary["mains_l"]  # some of it stays in the store
    assert axes[-1].get_title(loc="left").endswith(f"the first on {day.day} {day:%B}")


def test_the_best_comes_with_lines_to_paste(four, tmp_path):
    screen = text(answer(four))
    assert '  # in [[tank]] "Shed butt":\n  capacity_l = 900\n' in screen
    pasted = SITE.read_text("utf-8").replace("capacity_l = 350", "capacity_l = 900")
    (tmp_path / "site.toml").write_text(pasted, "utf-8")
    (tmp_path / "weather.csv").write_bytes((DEMO / "weather.csv").read_bytes())
    again = find_compare([tmp_path / "site.toml"], ["tank.shed.capacity_l=350"])
    assert again.variants[0].outcome.needed_l == pytest.approx(four.best.outcome.needed_l, abs=1e-6)


def test_no_line_is_wider_than_the_screen(four, gardens):
    for compared in (four, gardens):
        assert max(map(len, text(answer(compared)).splitlines())) <= 100


def test_another_site_is_told_by_its_name_and_on_the_same_weather(gardens):
    screen = text(answer(gardens))
    assert "  * B: Allotment with one butt" in screen
    assert "run on the weather of the first" in screen
    assert "To have" not in screen


def test_the_facts_have_the_same_figures(four):
    told = answer(four).facts
    assert told["best"] == "C"
    for row, one in zip(told["plans"], four.variants, strict=True):
        assert row["needed_l"] == pytest.approx(one.outcome.needed_l)
        assert row["needed_l"] == pytest.approx(row["mains_l"] + row["unmet_l"])
    assert told["plans"][3]["changes"] == {"zone.North line.minutes": 3, "tank.Shed butt.capacity_l": 900}


def test_the_calendar_has_every_day_that_needs_mains_water(four):
    content = calendar_bytes(events(four), written_at=dt.datetime(2031, 4, 1, tzinfo=dt.UTC))
    marked = {one.letter: set() for one in four.variants}
    for entry in icalendar.Calendar.from_ical(content).walk("VEVENT"):
        first, after = entry["dtstart"].dt, entry["dtend"].dt
        days = {first + dt.timedelta(day) for day in range((after - first).days)}
        assert not days & marked[str(entry["summary"])[0]]
        marked[str(entry["summary"])[0]] |= days
    for one in four.variants:
        needed = one.outcome.needed_l_by_day > SHORT_L
        assert marked[one.letter] == {day for day, needs in zip(one.outcome.dates, needed, strict=True) if needs}


def test_a_calendar_is_made_as_the_standard_says():
    # RFC 5545: lines end with CRLF and hold at most 75 octets; DTEND of whole days is the day after; UIDs are unique
    event = Event(dt.date(2031, 7, 1), "Open the North line; 10 min, and más " + "x" * 90, "two\nlines", 2)
    content = calendar_bytes([event, event._replace(days=3)], written_at=dt.datetime(2031, 4, 1, tzinfo=dt.UTC))
    lines = content.split(b"\r\n")
    assert b"\n" not in content.replace(b"\r\n", b"")
    assert max(map(len, lines)) <= 75
    first, second = icalendar.Calendar.from_ical(content).walk("VEVENT")
    assert first["dtend"].dt == dt.date(2031, 7, 3)
    assert str(first["summary"]) == event.summary
    assert str(first["description"]) == event.description
    assert first["uid"] != second["uid"]
    assert calendar_bytes([event], written_at=dt.datetime(2031, 4, 1, tzinfo=dt.UTC)) == calendar_bytes(
        [event], written_at=dt.datetime(2031, 4, 1, tzinfo=dt.UTC)
    )


# ---- The picture ---------------------------------------------------------------------------------------------------


def labelled(panel):
    return {line.get_label(): line for line in panel.lines if line.get_label() in "ABCDEF"}


def test_the_lines_are_the_levels(four):
    _, classroom, shed, needed = figure_of(four).axes
    for column, panel in enumerate((classroom, shed)):
        for one in four.variants:
            drawn = labelled(panel)[one.letter].get_ydata()
            np.testing.assert_array_equal(drawn[1:], one.outcome.level_l[:, column])
    for one in four.variants:
        assert labelled(needed)[one.letter].get_ydata()[-1] == pytest.approx(one.outcome.needed_l)


def test_each_letter_stands_on_its_line(four):
    for panel in figure_of(four).axes[1:]:
        letters = {text.get_text(): text.xy for text in panel.texts if text.get_text() in set("ABCD")}
        for letter, (x, y) in letters.items():
            line = labelled(panel)[letter]
            assert y == line.get_ydata()[list(line.get_xdata()).index(x)]
        days = sorted(x for x, _ in letters.values())
        assert min(np.diff(days)) > 0.07 * len(four.variants[0].outcome.dates) - 1


def test_a_store_that_only_one_garden_has_is_drawn(gardens):
    titles = [panel.get_title(loc="left") for panel in figure_of(gardens).axes]
    assert titles[1:4] == ["Class-room tank", "Shed butt", "Butt"]
    assert set(labelled(figure_of(gardens).axes[3])) == {"B"}


def test_lines_differ_without_colour():
    def brightness(colour):
        return float(np.dot([0.2126, 0.7152, 0.0722], np.square(to_rgb(colour))))

    for (one, dashes, _), (other, their_dashes, _) in combinations(drawing.TRACES, 2):
        contrast = sorted(brightness(colour) + 0.05 for colour in (one, other))
        assert dashes != their_dashes or contrast[1] / contrast[0] >= 3, "WCAG 2.1, 1.4.11"


def test_nothing_stands_outside_the_picture(four, gardens):
    for compared in (four, gardens):
        figure = figure_of(compared)
        figure.draw_without_rendering()
        box = figure.get_tightbbox()
        width, height = figure.get_size_inches()
        assert min(box.x0, box.y0) >= -0.02
        assert box.x1 <= width + 0.02
        assert box.y1 <= height + 0.02
