"""Sliders: every position is that of a run of its own, the present one is Today's, and Take writes one number."""

import datetime as dt
import re

import pytest
from playwright.sync_api import expect
from serving import ON

from waterbudget.change.today import Ask, find_today
from waterbudget.serve.entries import new_key
from waterbudget.serve.what_if import sliders, table

NORTH = "zone.North line.minutes"


def dipped(served):
    """Both stores today, so that the past of another plan makes no difference."""
    served.post_json("/api/entries", {"key": new_key(), "levels": ["Class-room tank=60cm", "Shed butt=200L"]})


def moved(card, value):
    """The slider at a value."""
    values = [float(one) for one in re.findall(r"[\d.]+", card.get_attribute("data-values"))]
    card.locator("input[type=range]").fill(str(values.index(value)))


def card(tab, name, what):
    return tab.locator("li.slider").filter(has_text=f"{name}: {what}")


def test_a_slider_from_end_to_end(served, phone):  # 17
    dipped(served)
    before = served.site.read_bytes()
    tab = phone()
    tab.goto(f"{served.home}/what-if")
    north = card(tab, "North line", "how long")
    said = {}
    for value in (0.0, 5.0, 10.0, 25.0, 40.0):
        moved(north, value)
        expect(north.locator("output")).to_contain_text("asts ")
        said[value] = north.locator("output").inner_text()
    assert served.site.read_bytes() == before
    asked = [url for url in tab.asked if "/api/what-if" in url]
    assert len(asked) == 1, "one fetch, however far it is dragged"
    for value, words in said.items():
        text = before.decode().replace("minutes = 10 ", f"minutes = {value:g} ", 1)
        served.site.write_text(text, "utf-8")
        fresh = find_today(served.site, Ask(dt.date.fromisoformat(ON), network=False))
        served.site.write_bytes(before)
        assert f"({fresh.lasts} days)" in words, value
    assert said[10.0] == said_by_today(served)


def said_by_today(served):
    told = served.get_json(f"/api/what-if?place={NORTH.replace(' ', '%20')}")[1]
    today = served.get_json("/api/today")[1]["facts"]
    assert told["positions"][told["now"]]["lasts_dry_days"] == today["lasts_dry_days"]
    return told["positions"][told["now"]]["says"]


@pytest.mark.parametrize("day", ["2031-05-20", "2031-06-15", "2031-07-20", "2031-08-20"])
def test_as_it_is_now_is_what_today_says(served, day):
    """On other days, in one process, for every slider of the garden."""
    found = find_today(served.site, Ask(dt.date.fromisoformat(day), network=False))
    tried = [table(found, slider) for slider in sliders(found.known.site)]
    assert len(tried) == 6
    assert {one["positions"][one["now"]]["lasts_dry_days"] for one in tried} == {found.lasts}


def test_put_back(served, phone):
    tab = phone()
    tab.goto(f"{served.home}/what-if")
    butt = card(tab, "Shed butt", "its size")
    assert butt.get_by_role("button", name="Put back").is_hidden()
    butt.locator("input[type=range]").fill("19")
    expect(butt.locator(".words").first).to_have_text("1,000 L")
    butt.get_by_role("button", name="Put back").tap()
    expect(butt.locator(".words").first).to_have_text("350 L")
    assert butt.get_by_role("button", name="Put back").is_hidden()


def test_take_on_two_phones_at_once(served, phone):  # 18
    before = served.site.read_text("utf-8")
    tabs = [phone(), phone()]
    for tab, value in zip(tabs, (8.0, 6.0), strict=True):
        tab.goto(f"{served.home}/what-if")
        south = card(tab, "South line", "how long")
        moved(south, value)
        south.get_by_text("Take it").tap()
        expect(south.get_by_text("lays a copy of the file")).to_contain_text(f"{value:g} minutes")
    tabs[1].allowed = ("409",)
    for tab in tabs:
        card(tab, "South line", "how long").get_by_role("button", name="Yes, write it").tap()
    expect(tabs[0].locator(".saved p")).to_have_text("Written. The file as it was is site.toml.bak.")
    expect(tabs[1].locator(".fault")).to_have_text("The garden was changed meanwhile. Look again.")
    after = served.site.read_text("utf-8")
    changed = [pair for pair in zip(before.splitlines(), after.splitlines(), strict=True) if pair[0] != pair[1]]
    assert changed == [("minutes = 12", "minutes = 8")]
    assert (served.folder / "site.toml.bak").read_text("utf-8") == before
    assert not (served.folder / "site.toml.bak2").exists()


def test_a_smaller_store_starts_with_no_more_than_it_holds(served, phone):
    tab = phone()
    tab.goto(f"{served.home}/what-if")
    butt = card(tab, "Shed butt", "its size")
    moved(butt, 200.0)
    butt.get_by_text("Take it").tap()
    butt.get_by_role("button", name="Yes, write it").tap()
    expect(tab.locator(".saved")).to_contain_text("Written.")
    text = served.site.read_text("utf-8")
    assert "capacity_l = 200" in text
    assert "start_l = 200" in text


def test_without_script_one_value_is_tried_and_taken(served, phone):  # 6
    tab = phone(java_script_enabled=False)
    tab.goto(f"{served.home}/what-if")
    south = card(tab, "South line", "how long")
    south.get_by_label("Minutes").fill("6")
    south.get_by_role("button", name="Try it").tap()
    answer = tab.locator("section.saved")
    expect(answer).to_contain_text("South line, 6 minutes")
    expect(answer).to_contain_text("Lasts until")
    answer.get_by_text("Take it").tap()
    answer.get_by_role("button", name="Yes, write it").tap()
    expect(tab.locator(".saved")).to_contain_text("Written.")
    assert "minutes = 6" in served.site.read_text("utf-8")


@pytest.mark.parametrize(
    ("query", "status", "said"),
    [
        ("place=zone.West.minutes&value=3", 422, "is nothing that can be tried"),
        ("place=zone.South%20line.minutes&value=many", 422, "cannot be tried; write a number from 0 to 1,440"),
        ("place=zone.South%20line.minutes&value=-3", 422, "cannot be tried; write a number from 0 to 1,440"),
        ("place=zone.South%20line.every_days&value=2.5", 422, "write a whole number from 1 to 365"),
        ("place=tank.Shed%20butt.capacity_l&value=nan", 422, "write a number from 15 to 1,000,000"),
    ],
)
def test_what_cannot_be_tried(served, query, status, said):
    found, _, text = served.ask("GET", f"/what-if?{query}")
    assert found == status
    assert said in text


def test_a_broken_file_is_not_written(served, phone):
    tab = phone()
    tab.goto(f"{served.home}/what-if")
    south = card(tab, "South line", "how long")
    moved(south, 8.0)
    south.get_by_text("Take it").tap()
    broken = served.site.read_text("utf-8").replace("minutes = 12", 'minutes = "nine"')
    served.site.write_text(broken, "utf-8")
    tab.allowed = ("409",)
    south.get_by_role("button", name="Yes, write it").tap()
    expect(tab.locator(".fault")).to_contain_text("Look again")
    assert served.site.read_text("utf-8") == broken
