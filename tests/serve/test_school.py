"""Looking round the school's garden: a copy that is thrown away, said on each page, with the way back to one's own."""

import re
import tempfile
from pathlib import Path

import html5lib
import pytest
from looks import looked_at
from playwright.sync_api import expect
from serving import serving

from waterbudget.example import site_path

SAYS = "This is the school's garden. Try what you like: nothing you enter here is kept."


@pytest.fixture
def empty(served):
    for path in served.folder.iterdir():
        if path.is_file():
            path.unlink()
    return served


def visitor(served):
    return {**served.own, "Cookie": f"{served.own['Cookie']}; garden_visit=yes"}


def test_look_round_dip_and_leave_without_a_trace(empty, phone):
    package = {path.name: path.read_bytes() for path in site_path().parent.iterdir() if path.is_file()}
    tab = phone()
    tab.allowed = ("404",)  # of today, which nobody can tell before there is a garden
    tab.get_by_role("button", name="Look round the school's").tap()
    expect(tab.get_by_role("heading", level=1)).to_have_text(re.compile("^(Open|Nothing|Leave)"))
    expect(tab.locator("aside")).to_contain_text(SAYS)
    tab.get_by_role("link", name="Dip").tap()
    expect(tab.locator("aside")).to_contain_text(SAYS)
    tab.locator("#value").fill("120")
    tab.get_by_role("button", name="Save", exact=True).tap()
    expect(tab.locator("main")).to_contain_text("120")
    assert tab.evaluate("localStorage.getItem('garden.waiting')") in {None, "[]"}
    tab.goto(f"{empty.home}/garden/edit/tank/2")
    tab.get_by_label("It holds, L").fill("400")
    tab.get_by_role("button", name="Save").tap()
    expect(tab.locator(".saved")).to_contain_text("Written.")
    tab.get_by_role("button", name="Leave it, start your own").tap()
    expect(tab.get_by_role("heading", level=1)).to_have_text("Start a garden")
    expect(tab.locator("aside")).to_have_count(0)
    assert list(empty.folder.iterdir()) == []
    assert {path.name: path.read_bytes() for path in site_path().parent.iterdir() if path.is_file()} == package


def test_what_waits_on_a_phone_is_not_sent_to_the_school(served, phone):
    tab = phone()
    waiting = (
        '[{"key": "w1", "at": 1, "path": "/api/entries", "body": {"levels": ["Shed butt=100L"]}, "said": "Shed butt"}]'
    )
    tab.context.add_cookies([{"name": "garden_visit", "value": "yes", "url": served.home}])
    tab.evaluate("words => localStorage.setItem('garden.waiting', words)", waiting)
    tab.goto(served.home)
    expect(tab.locator("#waiting")).to_contain_text("1 entry waiting on this phone.")
    tab.get_by_role("button", name="Send now").tap()
    expect(tab.locator("#waiting")).to_contain_text("1 entry waiting on this phone.")
    assert served.lines() == []
    tab.evaluate("localStorage.clear()")


def test_every_page_says_whose_garden_it_is_and_ones_own_says_nothing(served):
    for path in ("/", "/dip", "/line", "/week", "/what-if", "/garden", "/garden/edit/bed/1", "/more", "/nothing"):
        _, _, text = served.ask("GET", path, headers=visitor(served))
        assert SAYS in text, path
        parser = html5lib.HTMLParser(strict=False)
        parser.parse(text)
        assert parser.errors == []
        assert SAYS not in served.ask("GET", path)[2]


def test_readers_who_do_not_see_it(served, phone):
    tab = phone()
    tab.context.add_cookies([{"name": "garden_visit", "value": "yes", "url": served.home}])
    tab.goto(served.home)
    assert looked_at(tab, "body") == []


def test_the_copy_goes_with_the_page(tmp_path):
    folder = tmp_path / "garden"
    folder.mkdir()
    before = set(Path(tempfile.gettempdir()).glob("school-*"))
    with serving(folder, on=None) as served:
        assert served.ask("GET", "/", headers=visitor(served))[0] == 200
        assert len(set(Path(tempfile.gettempdir()).glob("school-*")) - before) == 1
    assert set(Path(tempfile.gettempdir()).glob("school-*")) <= before
    assert list(folder.iterdir()) == []
