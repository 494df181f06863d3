"""Plans compared on a page: the numbers of the command, in the words of a page."""

import json
import re
from urllib.parse import urlencode

from click.testing import CliRunner
from playwright.sync_api import expect

from waterbudget.cli.main import main

SOUTH, NORTH = "zone.South line.minutes", "zone.North line.minutes"


def page_of(served, **boxes):
    status, _, text = served.ask("GET", f"/compare?{urlencode({'wait': 'yes', **boxes})}", timeout=120)
    return status, text.replace("\N{NO-BREAK SPACE}", " ")


def test_a_change_or_two_are_compared_with_the_plan_as_it_is(served):
    status, text = page_of(served, **{SOUTH: "8", NORTH: "4"})
    assert status == 200
    words = ["compare", str(served.site), "--with", f"{NORTH}=4", "--with", f"{SOUTH}=8", "--json"]
    facts = json.loads(CliRunner().invoke(main, words, catch_exceptions=False).stdout)
    assert [plan["letter"] for plan in facts["plans"]] == list("ABCD")
    for sentence in facts["verdict"]:
        assert sentence.replace("'", "&#39;") in text
    for name in ("North line: 4 minutes", "South line: 8 minutes", "both: North line: 4 minutes and South line: 8"):
        assert name in text
    assert re.search(r'<img src="/picture/compare/\w+\.svg"', text)
    assert not re.search(r"zone\.\w+ line\.minutes(?!\")", re.sub(r"<[^>]*>", "", text))


def test_boxes_picture_and_faults(served, phone):
    tab = phone()
    tab.allowed = ("422",)
    tab.goto(f"{served.home}/more")
    tab.get_by_role("link", name="Compare plans").tap()
    box = tab.get_by_label("South line: minutes each time")
    assert box.input_value() == "12"
    box.fill("6")
    tab.get_by_role("button", name="Compare").tap()
    expect(tab.locator("main figure img")).to_be_visible(timeout=60_000)
    tab.wait_for_load_state("networkidle")
    assert tab.locator("main figure img").evaluate("image => image.naturalWidth") > 0
    assert tab.get_by_label("South line: minutes each time").input_value() == "6"
    site = served.site.read_bytes()
    status, text = page_of(served, **{SOUTH: "-6"})
    assert status == 422
    assert "write a number from 0 to" in text
    assert served.site.read_bytes() == site


def test_nothing_to_compare_and_too_much(served):
    status, text = page_of(served)
    assert status == 200
    assert "<table" not in text
    keys = re.findall(r'name="((?:zone|tank)\.[^"]+)" type="number"', text)
    assert len(keys) > 4
    status, text = page_of(
        served, **{key: "7" for key in keys if "capacity" not in key}, **{"tank.Shed butt.capacity_l": "500"}
    )
    assert status == 422
    assert "change 4 numbers at most" in text
    assert served.ask("GET", "/picture/compare/0123456789abcdef.svg")[0] == 404


def test_a_smaller_store_begins_with_what_it_holds(served):
    status, text = page_of(served, **{"tank.Shed butt.capacity_l": "50"})
    assert status == 200, text
    assert "Shed butt: 50 L" in text
