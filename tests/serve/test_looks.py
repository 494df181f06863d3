"""Every page in every size, light and dark: for readers who do not see it, for thumbs and for keyboards; valid HTML."""

import html5lib
import pytest
from axe_playwright_python.base import AXE_FILE_PATH
from serving import DESK, NARROW, PHONE, REFUSED, WIDER

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
    "/more",
]
AXE = AXE_FILE_PATH.read_text("utf-8")
SERIOUS = """async (only) => (await axe.run(document, only ? { runOnly: only } : {})).violations
  .filter(one => ["serious", "critical"].includes(one.impact))
  .map(one => [one.id, one.nodes.map(node => node.html.slice(0, 120))])"""
SMALL = """() => [...document.querySelectorAll("main :is(a, button, input, select, summary), nav a")].filter(one => {
  const box = one.getBoundingClientRect();
  if (!box.width || one.matches("p a:not(.button), [type=radio], [type=checkbox], [type=range]")) return false;
  return box.width < 43.5 || box.height < 43.5;
}).map(one => one.outerHTML)"""
FOCUSED = """() => {
  const one = document.activeElement;
  const number = [...document.querySelectorAll("*")].indexOf(one);
  if (!one || one === document.body || one.closest("footer")) return ["", number];
  const box = one.getBoundingClientRect(), foot = document.querySelector("footer");
  const fixed = getComputedStyle(foot).position === "sticky", bar = foot.getBoundingClientRect();
  return [fixed && Math.min(box.bottom, box.top + 40) > bar.top + 1 ? one.outerHTML : "", number];
}"""


def serious(tab, only=()):
    """What axe finds to be serious or critical: its name, and where. only: rules, by default all."""
    return tab.evaluate(SERIOUS, list(only) or None)


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
    tab.evaluate(AXE)
    for width, height in (PHONE, DESK, NARROW):
        tab.set_viewport_size({"width": width, "height": height})
        assert serious(tab) == [], width
        assert tab.evaluate(SMALL) == []
        assert tab.evaluate(WIDER) == []
        tab.emulate_media(color_scheme="dark")  # other colours, and nothing else
        assert serious(tab, ["color-contrast"]) == [], (width, "dark")
        tab.emulate_media(color_scheme="light")


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
