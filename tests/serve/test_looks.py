"""Every page in every size, light and dark: for readers who do not see it, for thumbs and for keyboards; valid HTML."""

import html5lib
import pytest
from looks import AXE, SMALL, looked_at, serious
from playwright.sync_api import expect
from serving import DESK, PHONE, REFUSED

PATHS = [
    "/",
    "/?saved=1",
    "/dip",
    "/dip?store=2",
    "/line",
    "/week",
    "/what-if",
    "/summer",
    "/journal",
    "/garden",
    "/garden/add/bed",
    "/garden/edit/tank/1",
    "/garden/edit/zone/1",
    "/garden/edit/bed/2/planting/1",
    "/garden/edit/effort",
    "/garden/new/zone/1/line",
    "/garden/take-away/bed/2",
    "/garden/crops?find=b",
    "/garden/flow/1",
    "/garden/take-away/tank/2",
    "/garden/weather",
    "/improve?wait=yes",
    "/minutes?wait=yes",
    "/compare?zone.South+line.minutes=8&wait=yes",
    "/sunday?wait=yes",
    "/size?wait=yes",
    "/hotspell?wait=yes",
    "/more",
]
FOCUSED = """() => {
  const one = document.activeElement;
  const number = [...document.querySelectorAll("*")].indexOf(one);
  if (!one || one === document.body || one.closest("footer")) return ["", number];
  const box = one.getBoundingClientRect(), foot = document.querySelector("footer");
  const fixed = getComputedStyle(foot).position === "sticky", bar = foot.getBoundingClientRect();
  return [fixed && Math.min(box.bottom, box.top + 40) > bar.top + 1 ? one.outerHTML : "", number];
}"""


def some_entries(served):
    served.post_json("/api/entries", {"key": "a", "levels": ["Class-room tank=62cm"]})
    served.post_json("/api/line/start", {"key": "b", "line": "North line"})


@pytest.mark.parametrize("path", PATHS)
def test_readers_who_do_not_see_it(served, phone, path):
    """The page is opened once and then made wider, narrower and dark."""
    some_entries(served)
    tab = phone()
    tab.allowed = REFUSED  # where there are too few dips for Sunday
    tab.goto(f"{served.home}{path}")
    assert looked_at(tab) == []


def test_the_pages_of_a_folder_without_a_garden(served, phone):
    for path in served.folder.iterdir():
        if path.is_file():
            path.unlink()
    tab = phone()
    tab.allowed = ("404",)  # of today, which nobody can tell yet
    for path in ("/", "/garden", "/garden/crops?find=b"):
        tab.goto(f"{served.home}{path}")
        assert looked_at(tab) == [], path
        tab.set_viewport_size({"width": PHONE[0], "height": PHONE[1]})
    tab.goto(f"{served.home}/garden")
    for one in tab.locator("main summary").all():
        one.click()
    assert looked_at(tab) == []


def test_all_boxes_of_a_form_with_faults(served, phone):
    tab = phone()
    tab.allowed = ("422",)
    tab.goto(f"{served.home}/garden/edit/bed/1")
    tab.get_by_text("More about this bed").tap()
    tab.get_by_label("Area, m²").fill("much")
    tab.get_by_label("How many pots").fill("x")
    tab.get_by_role("button", name="Save").tap()
    expect(tab.locator("main .fault")).to_have_count(2)
    assert looked_at(tab) == []


def test_the_look_finds_what_is_bad(phone):
    tab = phone()
    tab.evaluate("""() => { document.querySelector("main").innerHTML =
      '<img src="data:,"><input id="a"><p id="faint">faint</p><div><a href="/">x</a></div>';
      document.documentElement.removeAttribute("lang"); }""")
    tab.locator("#faint").evaluate("one => { one.style.color = '#ccc' }")
    tab.evaluate(AXE)
    assert {"image-alt", "label", "html-has-lang"} <= {name for name, _ in serious(tab)}
    assert tab.evaluate(SMALL) != []


@pytest.mark.parametrize(("size", "paths"), [(PHONE, PATHS), (DESK, ["/dip", "/line"])], ids=["phone", "desk"])
def test_all_is_reached_by_keyboard_and_nothing_lies_under_the_bar(served, phone, size, paths):
    tab = phone(size)
    tab.allowed = REFUSED
    for path in paths:
        tab.goto(f"{served.home}{path}")
        wanted = tab.locator("main :is(a, button, input, select, summary):visible:not([type=hidden])").count()
        seen = set()
        for _ in range(wanted + 12):
            tab.keyboard.press("Tab")
            covered, number = tab.evaluate(FOCUSED)
            assert covered == ""
            seen.add(number)
        radios = tab.locator("main input[type=radio]:visible").count()  # one stop a group
        assert len(seen) >= wanted - radios


@pytest.mark.parametrize("path", [*PATHS, "/nothing"])
def test_the_html_is_valid(served, path):
    some_entries(served)
    _, _, text = served.ask("GET", path)
    parser = html5lib.HTMLParser(strict=False)
    parser.parse(text)
    assert parser.errors == []


def test_valid_is_not_everything():
    parser = html5lib.HTMLParser(strict=False)
    parser.parse("<!doctype html><title>x</title><p><div></p><form><form>")
    assert parser.errors


def test_names_that_are_scripts_stay_names(served, phone):
    name = "<script>alert(1)</script>"
    text = served.site.read_text("utf-8")
    served.site.write_text(text.replace("Shed butt", name).replace("South line", "'\\\"><i>"), "utf-8")
    tab = phone()
    tab.allowed = REFUSED
    for path in PATHS:
        tab.goto(f"{served.home}{path}")
        assert tab.evaluate("document.scripts.length") == 1
        assert tab.locator("main i").count() == 0
    tab.goto(f"{served.home}/dip?store=2")
    assert tab.locator("h1").inner_text() == f"Dip {name}"
