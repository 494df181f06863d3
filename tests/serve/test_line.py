"""Lines: opened on one phone, shut on another, forgotten, out of reach; and mains water."""

import datetime as dt
import json
import re

import pytest
from playwright.sync_api import expect
from serving import ON, OUT_OF_REACH

OPEN = "open-lines.json"


def earlier(served, minutes):
    """As if every open line had been opened so much earlier: the clock goes on."""
    path = served.folder / OPEN
    lines = json.loads(path.read_text("utf-8"))
    for one in lines.values():
        started = dt.datetime.fromisoformat(one["started_at"]) - dt.timedelta(minutes=minutes)
        one["started_at"] = started.isoformat()
    path.write_text(json.dumps(lines), "utf-8")


def card(tab, name):
    return tab.locator("li.line").filter(has=tab.get_by_role("heading", name=name))


def open_now(served):
    return [line["name"] for line in served.get_json("/api/lines")[1]["lines"] if line["open_s"] is not None]


def test_a_line_is_opened_and_shut_two_minutes_later(served, phone):  # 7
    tab = phone()
    tab.get_by_role("link", name="I have opened it").tap()
    tab.get_by_role("button", name="Start South line (12 minutes)").tap()
    expect(card(tab, "South line").locator(".clock")).to_have_text(re.compile(r"^(12:00|11:5\d)$"))
    expect(tab.locator("main > .answer")).to_have_text("Noted.")
    expect(tab.get_by_role("heading", level=1)).to_have_text("Water is running.")
    earlier(served, 2)
    tab.reload()
    expect(card(tab, "South line").locator(".clock")).to_have_text(re.compile(r"^9:5\d$"))
    tab.get_by_role("button", name="Stop South line now").tap()
    expect(tab.locator("main > .answer")).to_contain_text("Saved: South line ran 2 minutes.")
    assert served.lines() == [("ran", "South line", 2.0, "min", ON)]
    assert json.loads((served.folder / OPEN).read_text("utf-8")) == {}
    expect(tab.get_by_role("heading", level=1)).to_have_text("Which line do you open?")


def test_a_line_is_opened_on_one_phone_and_shut_on_the_other(served, phone):  # 8
    one, other = phone(), phone()
    one.goto(f"{served.home}/line")
    one.get_by_role("button", name="Start North line").tap()
    expect(one.locator("main > .answer")).to_have_text("Noted.")
    earlier(served, 5)
    other.goto(f"{served.home}/line")
    other.get_by_role("button", name="Stop North line now").tap()
    expect(other.locator("main > .answer")).to_contain_text("Saved: North line ran 5 minutes.")
    one.get_by_role("button", name="Stop North line now").tap()
    expect(one.get_by_role("button", name="Start North line")).to_be_visible()
    assert served.lines() == [("ran", "North line", 5.0, "min", ON)]
    assert open_now(served) == []


def test_a_forgotten_run_of_yesterday(served, phone):  # 9
    tab = phone()
    tab.goto(f"{served.home}/line")
    north = card(tab, "North line")
    north.get_by_text("Forgot to start it?").tap()
    north.get_by_label("It ran about so many minutes").fill("15")
    north.get_by_label("yesterday").check()
    north.get_by_role("button", name="Save the minutes").tap()
    expect(tab.locator("main > .answer")).to_contain_text("Saved: North line ran 15 minutes.")
    assert served.lines() == [("ran", "North line", 15.0, "min", "2031-07-04")]


def test_mains_water(served, phone):  # 10
    tab = phone()
    tab.goto(f"{served.home}/line")
    tab.get_by_label("Into", exact=True).select_option("Shed butt")
    for _ in range(8):
        tab.get_by_role("button", name="Ten litres more").tap()
    tab.get_by_role("button", name="Save the litres").tap()
    expect(tab.locator("section .answer")).to_contain_text("Saved: 80 L of mains water into Shed butt.")
    assert served.lines() == [("mains", "Shed butt", 80.0, "L", ON)]


def test_without_script_a_line_is_opened_and_shut(served, phone):
    tab = phone(java_script_enabled=False)
    tab.goto(f"{served.home}/line")
    tab.get_by_role("button", name="Start South line").tap()
    expect(card(tab, "South line").locator(".since")).to_contain_text("Open since")
    earlier(served, 12)
    tab.get_by_role("button", name="Stop South line now").tap()
    expect(tab.locator(".saved p")).to_contain_text("Saved: South line ran 12 minutes.")
    assert served.lines() == [("ran", "South line", 12.0, "min", ON)]


def test_a_line_is_opened_and_shut_out_of_reach(served, phone):
    tab = phone()
    tab.allowed = OUT_OF_REACH
    tab.goto(f"{served.home}/line")
    tab.wait_for_load_state("networkidle")
    tab.context.set_offline(True)
    tab.get_by_role("button", name="Start South line").tap()
    expect(card(tab, "South line").locator(".clock")).to_contain_text("11:5")
    assert open_now(served) == []
    tab.context.set_offline(False)
    expect(tab.locator("#waiting")).to_be_hidden()
    assert open_now(served) == ["South line"]


def test_a_line_that_runs_for_far_too_long_is_told(served):
    served.post_json("/api/line/start", {"key": "k1", "line": "South line"})
    earlier(served, 30)
    south = next(one for one in served.get_json("/api/lines")[1]["lines"] if one["name"] == "South line")
    assert south["warns"] == "", "30 of 12 minutes"
    earlier(served, 10)
    south = next(one for one in served.get_json("/api/lines")[1]["lines"] if one["name"] == "South line")
    started = dt.datetime.now().astimezone() - dt.timedelta(minutes=40)
    level_l = next(
        s["level_l"] for s in served.get_json("/api/today")[1]["facts"]["stores"] if s["name"] == "Shed butt"
    )
    empty = [(started + dt.timedelta(minutes=level_l / 5.0 + late)).strftime("%H:%M") for late in (-0.5, 0, 0.5)]
    assert south["warns"] in {f"Still open? It empties Shed butt by {at}." for at in empty}


def test_a_start_that_is_sent_again_opens_nothing_anew(served):
    start, stop = {"key": "k1", "line": "South line"}, {"key": "k2", "line": "South line"}
    served.post_json("/api/line/start", start)
    earlier(served, 3)
    served.post_json("/api/line/start", start)
    served.post_json("/api/line/stop", stop)
    served.post_json("/api/line/stop", stop)
    served.post_json("/api/line/start", start)  # its answer had been lost
    assert served.lines() == [("ran", "South line", 3.0, "min", ON)]
    assert open_now(served) == []


def test_a_line_that_was_opened_by_mistake_writes_nothing(served):
    served.post_json("/api/line/start", {"key": "k1", "line": "South line"})
    status, told = served.post_json("/api/line/stop", {"key": "k2", "line": "South line"})
    assert (status, told["lines"]) == (200, [])
    assert served.lines() == []


@pytest.mark.parametrize("path", ["/api/line/start", "/api/line/stop"])
def test_a_line_that_there_is_not(served, path):
    status, told = served.post_json(path, {"key": "k1", "line": "West line"})
    assert (status, told["fault"]) == (422, "This garden has no such line any more.")


def test_a_list_of_open_lines_that_nobody_can_read(served):
    (served.folder / OPEN).write_text("[", "utf-8")
    status, _, text = served.ask("GET", "/line")
    assert status == 200
    assert "cannot be read as the list of open lines; remove it" in text
    assert served.post_json("/api/line/start", {"key": "k1", "line": "South line"})[0] == 422
    assert (served.folder / OPEN).read_text("utf-8") == "["
