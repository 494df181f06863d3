"""From an empty folder to a garden that is dipped and run, on a phone; and a garden that is there, read back."""

import re

import html5lib
import pytest
from axe_playwright_python.sync_playwright import Axe
from click.testing import CliRunner
from playwright.sync_api import expect

from waterbudget.cli.main import main


@pytest.fixture
def empty(served):
    for path in served.folder.iterdir():
        if path.is_file():
            path.unlink()
    return served


def test_from_an_empty_folder_to_what_to_do(empty, phone):
    tab = phone()
    tab.allowed = ("404",)  # of today, which nobody can tell yet
    tab.get_by_role("link", name="Start one").tap()
    expect(tab.get_by_role("heading", level=1)).to_have_text("Start a garden")
    bad = [one["id"] for one in Axe().run(tab).response["violations"] if one["impact"] in {"serious", "critical"}]
    assert bad == []
    tab.get_by_label("The garden's name").fill("Brackenfold <b>yard</b>")
    tab.get_by_label("The store holds, in litres").fill("600")
    tab.get_by_label("In the store now, in litres").fill("400")
    tab.get_by_label("First crop").fill("courgette")
    tab.get_by_role("button", name="Start this garden").tap()
    expect(tab.get_by_role("heading", level=1)).to_have_text(re.compile("^(Open|Nothing|Leave)"))
    assert CliRunner().invoke(main, ["check", str(empty.site)]).exit_code == 0
    text = empty.site.read_text("utf-8")
    assert re.search(r"^capacity_l = 600", text, re.MULTILINE)
    tab.get_by_role("link", name="Dip").tap()
    tab.locator("#value").fill("390")
    tab.get_by_role("button", name="Save", exact=True).tap()
    expect(tab.locator("form.dip .answer")).to_contain_text("390 L")
    tab.get_by_role("link", name="Line", exact=True).tap()
    tab.locator("li.line .standing button").first.tap()
    expect(tab.locator("main > .answer")).to_have_text("Noted.")
    tab.goto(f"{empty.home}/garden")
    expect(tab.locator("main li").first).to_be_visible()
    assert tab.locator("h1").inner_text() == "Brackenfold <b>yard</b>"


def test_faults_stand_beside_their_fields_and_nothing_is_written(empty):
    headers = {**empty.own, "Content-Type": "application/x-www-form-urlencoded"}
    body = "garden=Yard&capacity_l=many&latitude_deg=99&crop=unobtainium"
    status, _, text = empty.ask("POST", "/garden/begin", body, headers=headers)
    assert status == 422
    assert set(re.findall(r'id="fault-(\w+)"', text)) == {"capacity_l", "latitude_deg", "crop"}
    assert 'value="many"' in text
    assert 'value="Yard"' in text
    parser = html5lib.HTMLParser(strict=False)
    parser.parse(text)
    assert parser.errors == []
    assert list(empty.folder.iterdir()) == []


def test_a_garden_that_is_there_is_not_begun_anew(served):
    before = served.site.read_bytes()
    headers = {**served.own, "Content-Type": "application/x-www-form-urlencoded"}
    status, _, text = served.ask("POST", "/garden/begin", "garden=Yard", headers=headers)
    assert status == 409
    assert "A garden is here already; nothing was written." in text
    assert served.site.read_bytes() == before


def test_the_faults_of_a_file_are_told_line_by_line(served):
    served.get_json("/api/today")
    broken = (
        served.site.read_text("utf-8").replace("minutes = 12", 'minutes = "nine"').replace("dead_l = 15", "dead = 15")
    )
    served.site.write_text(broken, "utf-8")
    _, _, page = served.ask("GET", "/garden")
    assert page.split('<ul class="faults">')[1].split("</ul>")[0].count("<li>") == 2
    assert "nine" in page


def test_another_store_and_bed_are_added_and_nothing_else_changes(served, phone):
    before = served.site.read_text("utf-8")
    tab = phone()
    tab.goto(f"{served.home}/garden")
    tab.get_by_role("link", name="Add another store").tap()
    expect(tab.get_by_role("heading", level=1)).to_have_text("Add a store")
    tab.get_by_label("Name of the store").fill("Bean butt")
    tab.get_by_label("It holds, in litres").fill("200")
    tab.get_by_role("button", name="Add it").tap()
    expect(tab.locator(".saved")).to_contain_text("The file as it was is site.toml.bak.")
    expect(tab.get_by_role("link", name="Bean butt")).to_be_visible()
    tab.get_by_text("The garden as site.toml tells it").tap()
    expect(tab.locator("main")).to_contain_text("Bean butt: holds")
    after = served.site.read_text("utf-8")
    lines = iter(after.splitlines())
    assert all(line in lines for line in before.splitlines()), "every line is there still, in its order"
    assert after.count("\n[[tank]]") == before.count("\n[[tank]]") + 1
    tab.get_by_role("button", name="Undo").tap()
    expect(tab.locator("main")).not_to_contain_text("Bean butt")
    assert served.site.read_text("utf-8") == before


def test_another_part_with_a_fault_and_one_from_two_phones(served):
    headers = {**served.own, "Content-Type": "application/x-www-form-urlencoded"}
    _, _, text = served.ask("GET", "/garden/add/store")
    mark = re.search(r'name="mark" value="(\w+)"', text)[1]
    before = served.site.read_bytes()
    status, _, text = served.ask(
        "POST", "/garden/add/store", f"mark={mark}&name=Shed+butt&capacity_l=x", headers=headers
    )
    assert status == 422
    assert set(re.findall(r'id="fault-(\w+)"', text)) >= {"name", "capacity_l"}
    assert served.site.read_bytes() == before
    assert served.ask("POST", "/garden/add/store", f"mark={mark}&name=One&capacity_l=200", headers=headers)[0] == 303
    status, _, text = served.ask("POST", "/garden/add/store", f"mark={mark}&name=Two&capacity_l=200", headers=headers)
    assert status == 409
    assert "The garden was changed meanwhile. Look again." in text
    assert served.ask("GET", "/garden/add/pond")[0] == 404


def test_a_part_for_a_file_that_broke_meanwhile_leads_to_its_faults(served):
    headers = {**served.own, "Content-Type": "application/x-www-form-urlencoded"}
    served.get_json("/api/today")
    broken = served.site.read_text("utf-8").replace("dead_l = 15", "dead = 15")
    served.site.write_text(broken, "utf-8")
    status, told, _ = served.ask("POST", "/garden/add/store", "name=One&capacity_l=200", headers=headers)
    assert status == 303
    assert dict(told)["location"] == "/garden"
    assert served.site.read_text("utf-8") == broken


def test_the_last_change_can_be_undone_later(served):
    headers = {**served.own, "Content-Type": "application/x-www-form-urlencoded"}
    before = served.site.read_text("utf-8")
    _, _, text = served.ask("GET", "/garden/add/store")
    assert "Put it back" not in served.ask("GET", "/garden")[2]
    mark = re.search(r'name="mark" value="(\w+)"', text)[1]
    assert served.ask("POST", "/garden/add/store", f"mark={mark}&name=One&capacity_l=200", headers=headers)[0] == 303
    _, _, text = served.ask("GET", "/garden")
    assert "The file before its last change is site.toml.bak." in text
    mark = re.search(r'name="mark" value="(\w+)"', text)[1]
    assert served.ask("POST", "/garden/undo", f"mark={mark}", headers=headers)[0] == 303
    assert served.site.read_text("utf-8") == before
