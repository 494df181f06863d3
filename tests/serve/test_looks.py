"""Every page in every size, light and dark: for readers who do not see it, for thumbs and for keyboards; valid HTML."""

import html5lib
import pytest
from axe_playwright_python.sync_playwright import Axe
from serving import DESK, NARROW, PHONE

PATHS = ["/", "/?saved=1", "/dip", "/dip?store=2", "/line", "/week", "/what-if", "/summer", "/more"]
SERIOUS = {"serious", "critical"}
SMALL = """() => [...document.querySelectorAll("main :is(a, button, input, select, summary), nav a")].filter(one => {
  const box = one.getBoundingClientRect();
  if (!box.width || one.matches("p a:not(.button), [type=radio], [type=checkbox], [type=range]")) return false;
  return box.width < 43.5 || box.height < 43.5;
}).map(one => one.outerHTML)"""
COVERED = """() => {
  const one = document.activeElement;
  if (!one || one === document.body || one.closest("footer")) return "";
  const box = one.getBoundingClientRect(), foot = document.querySelector("footer");
  const fixed = getComputedStyle(foot).position === "sticky", bar = foot.getBoundingClientRect();
  return fixed && Math.min(box.bottom, box.top + 40) > bar.top + 1 ? one.outerHTML : "";
}"""


def some_entries(served):
    served.post_json("/api/entries", {"key": "a", "levels": ["Class-room tank=62cm"]})
    served.post_json("/api/line/start", {"key": "b", "line": "North line"})


@pytest.mark.parametrize("dark", [False, True], ids=["light", "dark"])
@pytest.mark.parametrize("size", [PHONE, DESK, NARROW], ids=["phone", "desk", "narrow"])
def test_readers_who_do_not_see_it(served, phone, size, dark):
    some_entries(served)
    tab = phone(size, color_scheme="dark" if dark else "light")
    for path in PATHS:
        tab.goto(f"{served.home}{path}")
        found = Axe().run(tab).response["violations"]
        bad = [(path, one["id"], [node["html"] for node in one["nodes"]]) for one in found if one["impact"] in SERIOUS]
        assert bad == []
        assert tab.evaluate(SMALL) == []


def test_the_look_finds_what_is_bad(phone):
    tab = phone()
    tab.evaluate("""() => { document.querySelector("main").innerHTML =
      '<img src="data:,"><input id="a"><p id="faint">faint</p><div><a href="/">x</a></div>';
      document.documentElement.removeAttribute("lang"); }""")
    tab.locator("#faint").evaluate("one => { one.style.color = '#ccc' }")
    found = {one["id"] for one in Axe().run(tab).response["violations"] if one["impact"] in SERIOUS}
    assert {"image-alt", "label", "html-has-lang"} <= found
    assert tab.evaluate(SMALL) != []


@pytest.mark.parametrize("size", [PHONE, DESK], ids=["phone", "desk"])
def test_all_is_reached_by_keyboard_and_nothing_lies_under_the_bar(served, phone, size):
    tab = phone(size)
    for path in PATHS:
        tab.goto(f"{served.home}{path}")
        wanted = tab.locator("main :is(a, button, input, select, summary):visible:not([type=hidden])").count()
        seen = set()
        for _ in range(wanted + 12):
            tab.keyboard.press("Tab")
            assert tab.evaluate(COVERED) == ""
            seen.add(tab.evaluate("() => [...document.querySelectorAll('*')].indexOf(document.activeElement)"))
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
    for path in PATHS:
        tab.goto(f"{served.home}{path}")
        assert tab.evaluate("document.scripts.length") == 1
        assert tab.locator("main i").count() == 0
    tab.goto(f"{served.home}/dip?store=2")
    assert tab.locator("h1").inner_text() == f"Dip {name}"
