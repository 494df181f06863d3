"""From a dip to the new days left: by slider, by key, without script, out of reach of the computer. The numbers of the
scenarios are those of the design: what must be true in the journal and on the page afterwards."""

import json

import pytest
from click.testing import CliRunner
from playwright.sync_api import expect
from serving import ON, OUT_OF_REACH, REFUSED

from waterbudget.cli.main import main


def days_of_the_command(served):
    told = CliRunner().invoke(main, ["today", str(served.site), "--on", ON, "--json"], catch_exceptions=False)
    return json.loads(told.stdout)


def test_a_dip_in_litres_by_slider(served, phone):  # 1
    tab = phone()
    tab.goto(f"{served.home}/dip?store=2")
    tab.locator("#slide").fill("210")
    expect(tab.locator("#stands")).to_have_text("210 L")
    tab.get_by_role("button", name="Save", exact=True).tap()
    answer = tab.locator("form.dip .answer")
    expect(answer).to_contain_text("Saved: Shed butt 210 L.")
    assert served.lines() == [("level", "Shed butt", 210.0, "L", ON)]
    told = days_of_the_command(served)
    expect(answer).to_contain_text(f"the stores last {told['lasts_dry_days']} more day")
    assert served.get_json("/api/today")[1]["facts"]["lasts_dry_days"] == told["lasts_dry_days"]
    box, save = answer.bounding_box(), tab.get_by_role("button", name="Save", exact=True).bounding_box()
    assert box["y"] + box["height"] <= save["y"], "the answer stands above the button"


def test_a_dip_in_centimetres_is_saved_as_it_was_shown(served, phone):  # 2
    tab = phone()
    tab.goto(f"{served.home}/dip")
    shown = tab.locator("#value").input_value()
    assert float(shown) % 0.5 == 0.0
    assert tab.locator("#slide").input_value() == shown
    tab.get_by_role("button", name="Save", exact=True).tap()
    expect(tab.locator("form.dip .answer")).to_contain_text("Saved: Class-room tank")
    assert served.lines() == [("level", "Class-room tank", float(shown), "cm", ON)]


def test_rain_in_the_gauge_by_three_taps(served, phone):  # 3
    tab = phone()
    tab.goto(f"{served.home}/dip")
    for _ in range(3):
        tab.get_by_role("button", name="Half a millimetre more").tap()
    tab.get_by_role("button", name="Save the rain").tap()
    expect(tab.locator("form.gauge .answer")).to_contain_text("Saved: 1.5 mm in the gauge.")
    assert served.lines() == [("gauge", "", 1.5, "mm", ON)]


def test_a_dip_is_taken_back(served, phone):  # 4
    tab = phone()
    before = tab.locator("main").inner_text()
    tab.goto(f"{served.home}/dip?store=2")
    tab.locator("#value").fill("100")
    tab.get_by_role("button", name="Save", exact=True).tap()
    tab.get_by_role("button", name="Undo").tap()
    expect(tab.locator("form.dip .answer")).to_contain_text("line 1 taken back")
    tab.goto(served.home)
    assert tab.locator("main").inner_text() == before
    assert served.lines() == []
    assert "undo" in (served.folder / "journal.csv").read_text("utf-8")


@pytest.mark.parametrize("script", [True, False])
def test_a_double_tap_is_one_line(served, phone, script):  # 5
    tab = phone(java_script_enabled=script)
    tab.goto(f"{served.home}/dip?store=2")
    tab.locator("#value").fill("150")
    tab.get_by_role("button", name="Save", exact=True).dblclick()
    said = tab.locator("form.dip .answer" if script else ".saved p")
    expect(said).to_contain_text("Saved: Shed butt 150 L.")
    tab.wait_for_timeout(300)
    assert served.lines() == [("level", "Shed butt", 150.0, "L", ON)]


def test_without_script(served, phone):  # 6
    tab = phone(java_script_enabled=False)
    before = tab.locator("h1").inner_text(), tab.locator(".lead").first.inner_text()
    tab.get_by_role("link", name="Dip").tap()
    tab.get_by_role("link", name="Shed butt").tap()
    assert not tab.locator("#slide").is_visible()
    tab.locator("#value").fill("210")
    tab.get_by_role("button", name="Save", exact=True).tap()
    expect(tab.locator(".saved p")).to_contain_text("Saved: Shed butt 210 L.")
    assert served.lines() == [("level", "Shed butt", 210.0, "L", ON)]
    tab.get_by_role("button", name="Undo").tap()
    expect(tab.locator(".saved p")).to_contain_text("taken back")
    assert (tab.locator("h1").inner_text(), tab.locator(".lead").first.inner_text()) == before
    assert served.lines() == []


def test_depth_and_litres_are_the_same_water(served, phone):
    tab = phone()
    tab.goto(f"{served.home}/dip")
    tab.locator("#value").fill("56.5")
    litres = tab.locator("#stands").inner_text()
    assert litres == "750 L", "a cylinder of 1.3 m: pi/4 x 1.3² x 0.565 m³"
    tab.get_by_label("litres", exact=True).check()
    assert tab.locator("#value").input_value() == "750"
    vessel = tab.locator("#vessel").bounding_box()
    tab.touchscreen.tap(vessel["x"] + vessel["width"] / 2, vessel["y"] + vessel["height"] * 0.05)
    assert tab.locator("#stands").inner_text() == "1,500 L", "a tap on the brim"


def test_three_entries_out_of_reach(served, phone):  # 11
    tab = phone()
    tab.allowed = OUT_OF_REACH
    tab.goto(f"{served.home}/dip?store=2")
    kept_all(tab)
    tab.context.set_offline(True)
    for litres in ("100", "110"):
        tab.locator("#value").fill(litres)
        tab.get_by_role("button", name="Save", exact=True).tap()
        expect(tab.locator("form.dip .answer")).to_have_text("Kept on this phone.")
        if litres == "100":
            tab.get_by_role("link", name="Today").tap()
            expect(tab.locator("#reach")).to_contain_text("The computer is not in reach.")
            expect(tab.locator("#pending")).to_contain_text("Shed butt 100 L waits to be sent")
            tab.get_by_role("link", name="Shed butt").first.tap()
    tab.get_by_role("button", name="Half a millimetre more").tap()
    tab.get_by_role("button", name="Save the rain").tap()
    expect(tab.locator("#waiting p")).to_have_text("3 entries waiting on this phone.")
    assert served.lines() == []
    tab.context.set_offline(False)
    expect(tab.locator("#waiting")).to_be_hidden()
    assert [line[2] for line in served.lines()] == [100.0, 110.0, 0.5]


def kept_all(tab):
    """Until the page has asked for all that it keeps."""
    tab.wait_for_load_state("networkidle")


def test_an_answer_that_is_lost_doubles_nothing(served, phone):  # 12
    tab = phone()
    tab.allowed = OUT_OF_REACH
    lost = []

    def lose(route):
        if len(lost) < 2:
            served.ask("POST", "/api/entries", route.request.post_data, headers=served.own)
            lost.append(1)
            route.abort()
        else:
            route.continue_()

    tab.goto(f"{served.home}/dip?store=2")
    tab.route("**/api/entries", lose)
    tab.locator("#value").fill("120")
    tab.get_by_role("button", name="Save", exact=True).tap()
    expect(tab.locator("#waiting p")).to_have_text("1 entry waiting on this phone.")
    tab.get_by_role("button", name="Send now").tap()
    expect(tab.locator("#waiting p")).to_have_text("1 entry waiting on this phone.")
    tab.get_by_role("button", name="Send now").tap()
    expect(tab.locator("#waiting")).to_be_hidden()
    assert len(lost) == 2
    assert served.lines() == [("level", "Shed butt", 120.0, "L", ON)]


def entry(key, litres, ago_s=0.0, **more):
    return {"key": key, "ago_s": ago_s, "levels": [f"Shed butt={litres}L"], **more}


def level_now(served):
    _, told = served.get_json("/api/today")
    return next(store["level_l"] for store in told["facts"]["stores"] if store["name"] == "Shed butt")


def test_a_dip_that_waited_does_not_beat_a_newer_one(served):  # 13
    assert served.post_json("/api/entries", entry("late-at-night", 90))[0] == 200
    assert served.post_json("/api/entries", entry("at-breakfast", 300, ago_s=60.0))[0] == 200
    assert level_now(served) == 90.0


def test_a_dip_of_yesterday_is_taken_late(served):  # 14
    served.post_json("/api/entries", entry("today", 90))
    status, told = served.post_json("/api/entries", entry("yesterday", 200, ago_s=86400.0))
    assert status == 200
    assert [(line[2], line[4]) for line in served.lines()] == [(200.0, "2031-07-04"), (90.0, ON)]
    assert served.post_json("/api/entries", entry("named", 210, day="yesterday"))[0] == 200
    assert served.lines()[1][4] == "2031-07-04"
    assert told["today"]["facts"]["today"] == ON


def test_a_refused_entry_stays_in_sight(served, phone):  # 15
    tab = phone()
    tab.allowed = (*OUT_OF_REACH, *REFUSED)
    tab.goto(f"{served.home}/dip?store=1")
    kept_all(tab)
    tab.context.set_offline(True)
    tab.locator("#value").fill("9999")
    tab.get_by_role("button", name="Save", exact=True).tap()
    tab.get_by_role("link", name="Today").tap()  # the form is gone when the answer comes
    tab.context.set_offline(False)
    bar = tab.locator("#waiting p")
    expect(bar).to_contain_text(
        "Not written, Class-room tank 9999 cm: Deeper than Class-room tank, which is 113 cm deep"
    )
    tab.reload()
    expect(bar).to_contain_text("Not written")
    assert served.lines() == []
    tab.get_by_role("button", name="Drop it").tap()
    expect(tab.locator("#waiting")).to_be_hidden()


def test_a_refused_entry_stands_beside_its_field(served, phone):
    tab = phone()
    tab.allowed = REFUSED
    tab.goto(f"{served.home}/dip?store=1")
    tab.locator("#value").fill("9999")
    tab.get_by_role("button", name="Save", exact=True).tap()
    expect(tab.locator("form.dip .answer")).to_have_text(
        "Deeper than Class-room tank, which is 113 cm deep; "
        "measure from its floor, or correct the sizes in the site file."
    )
    expect(tab.locator("#value")).to_be_focused()
    expect(tab.locator("#waiting")).to_be_hidden()
    assert served.lines() == []


def test_two_phones_save_the_same_dip(served, phone):  # 16
    tabs = [phone(), phone()]
    for tab in tabs:
        tab.goto(f"{served.home}/dip?store=2")
        tab.locator("#value").fill("130")
    for tab in tabs:
        tab.get_by_role("button", name="Save", exact=True).tap()
        expect(tab.locator("form.dip .answer")).to_contain_text("Saved")
    first, second = (tab.locator("form.dip .answer").inner_text() for tab in tabs)
    assert first == second
    assert [line[2] for line in served.lines()] == [130.0, 130.0]
    assert level_now(served) == 130.0


def test_a_phone_without_a_place_to_keep_says_so(served, phone):
    tab = phone(joins=False)
    tab.allowed = OUT_OF_REACH
    tab.add_init_script("Storage.prototype.setItem = () => { throw new Error('full') }")
    tab.goto(served.join)
    tab.goto(f"{served.home}/dip?store=2")
    kept_all(tab)
    tab.context.set_offline(True)
    tab.get_by_role("button", name="Save", exact=True).tap()
    expect(tab.locator("#waiting p")).to_contain_text("Do not close this page.")
    tab.context.set_offline(False)
    expect(tab.locator("#waiting")).to_be_hidden()
    assert len(served.lines()) == 1


@pytest.mark.parametrize(
    ("body", "field", "said"),
    [
        ({"levels": ["Shed butt=9999L"]}, "levels", "Write 0 to 350 litres that Shed butt holds."),
        ({"levels": ["Class-room tank=9999cm"]}, "levels", "Deeper than Class-room tank"),
        ({"levels": ["Shed butt=38cm"]}, "levels", "no shape"),
        ({"levels": ["Pond=38cm"]}, "levels", "is no tank"),
        ({"levels": ["x=1L"] * 6}, "levels", "at most 5"),
        ({"gauge_mm": -1}, "gauge_mm", "Write 0 to 2_000 millimetres."),
        ({"ran": ["North line=2000"]}, "ran", "minutes of the day"),
        ({"mains": ["Shed butt=much"]}, "mains", "decimals take a point"),
        ({"day": "2031-07-09", "gauge_mm": 1}, "day", "lies in the future"),
        ({"day": "2031-06-01", "gauge_mm": 1, "ago_s": -1}, "ago_s", "greater than or equal to 0"),
        ({"gauge_mm": 1, "ago_s": 15 * 86400}, "ago_s", "less than or equal to"),
        ({"gauge_mm": 1, "key": "CAPITALS"}, "key", "match"),
        ({"gauge_mm": 1, "more": 1}, "more", "not permitted"),
        ({}, "levels", "nothing in it"),
        ([], None, "object"),
        ("text", None, "object"),
    ],
)
def test_what_is_refused(served, body, field, said):
    body = {"key": "k1", **body} if isinstance(body, dict) else body
    status, told = served.post_json("/api/entries", body)
    assert status == 422
    assert told["field"] == field
    assert said in told["fault"]
    assert "--" not in told["fault"], "the page has no options"
    assert served.lines() == []


def test_the_days_of_page_and_command_are_the_same(served):
    served.post_json(
        "/api/entries", {"key": "k", "levels": ["Class-room tank=62.5cm", "Shed butt=140L"], "gauge_mm": 2}
    )
    told, page = days_of_the_command(served), served.get_json("/api/today")[1]
    assert len(page["facts"]["stores"]) == 2
    assert page["facts"] == {key: told[key] for key in page["facts"]}


def test_a_second_look_brings_nothing_new(served):
    _, headers, _ = served.ask("GET", "/api/today")
    again = {**served.own, "If-None-Match": headers["etag"]}
    assert served.ask("GET", "/api/today", headers=again)[0] == 304
    served.post_json("/api/entries", entry("k", 90))
    assert served.ask("GET", "/api/today", headers=again)[0] == 200


def test_any_line_of_the_journal_is_taken_back(served, phone):
    for number, litres in enumerate((100, 110, 120)):
        served.post_json("/api/entries", entry(f"k{number}", litres))
    tab = phone()
    tab.goto(f"{served.home}/journal")
    expect(tab.locator("main li").first).to_contain_text("Shed butt 120 L")
    tab.get_by_role("button", name="Undo line 2, Shed butt 110 L").tap()
    expect(tab.locator("main > .answer")).to_contain_text("line 2 taken back")
    expect(tab.locator("main li").nth(2)).to_contain_text("Shed butt 110 L, taken back")
    assert [line[2] for line in served.lines()] == [100.0, 120.0]
