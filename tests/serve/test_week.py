"""The week and the summer as pages."""

import re

import icalendar
import pytest
from playwright.sync_api import expect
from serving import PHONE


def test_the_week_is_that_of_today(served, phone):
    tab = phone()
    tab.goto(f"{served.home}/week")
    days = served.get_json("/api/week")[1]["days"]
    coming = served.get_json("/api/today")[1]["facts"]["coming"]
    assert [day["date"] for day in days] == [day["date"] for day in coming]
    for day, numbers in zip(days, coming, strict=True):
        assert len(day["opens"]) == len(numbers["minutes"])
    expect(tab.locator("main li").first).to_contain_text("Saturday 5 July")
    expect(tab.locator("main li").first).to_contain_text("South line 12 minutes")
    served.post_json("/api/entries", {"key": "g", "gauge_mm": 2.5})
    assert served.get_json("/api/week")[1]["days"][0]["weather"] == "2.5 mm in your gauge"


def test_the_week_goes_into_a_calendar(served):
    status, headers, text = served.ask("GET", "/week.ics")
    assert (status, headers["content-type"].split(";")[0]) == (200, "text/calendar")
    events = icalendar.Calendar.from_ical(text).walk("vevent")
    assert events[0]["summary"] == "Water: South line 12 minutes"


def test_the_summer_is_a_picture_that_comes_after_its_page(served, phone):
    tab = phone(PHONE)
    tab.goto(f"{served.home}/summer")
    box = tab.locator("main figure img")
    expect(tab.locator("main")).to_contain_text("The stored rain lasts 69 days of 153")
    expect(box).to_be_visible()
    tab.wait_for_load_state("networkidle")
    assert box.evaluate("image => image.naturalWidth") > 0
    reserved = [float(box.get_attribute(side)) for side in ("width", "height")]
    drawn = box.evaluate("image => image.naturalHeight / image.naturalWidth")
    assert reserved[1] / reserved[0] == pytest.approx(drawn, rel=0.1)
    path = re.search(r"/summer/\w+\.svg", tab.content())[0]
    assert "immutable" in served.ask("GET", path)[1]["cache-control"]
    assert served.ask("GET", "/summer/0123456789abcdef.svg")[0] == 404
