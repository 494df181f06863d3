"""Every part of a garden is changed, added and taken away on a phone, checked whole, and undone with a tap."""

import re
import tomllib
from html import unescape
from urllib.parse import urlencode

import html5lib
import pytest
from places import all_places
from playwright.sync_api import expect

from waterbudget.serve.form import path_of
from waterbudget.site.boxes import boxes, head_of
from waterbudget.site.read import TABLES

HTML = "{http://www.w3.org/1999/xhtml}"


def send(served, path, told):
    headers = {**served.own, "Content-Type": "application/x-www-form-urlencoded"}
    return served.ask("POST", path, urlencode(told), headers=headers)


def form_in(text):
    """The fields of the page's form as a browser would send them untouched: (name, value), and its address."""
    form = html5lib.parse(text).find(f".//{HTML}main/{HTML}form")
    told = []
    for one in form.iter():
        kind = one.tag.removeprefix(HTML)
        if kind == "input" and (one.get("type") != "checkbox" or "checked" in one.attrib):
            told.append((one.get("name"), one.get("value", "")))
        elif kind == "textarea":
            told.append((one.get("name"), one.text or ""))
        elif kind == "select":
            options = one.findall(f"{HTML}option")
            chosen = next((option for option in options if "selected" in option.attrib), options[0])
            told.append((one.get("name"), chosen.get("value")))
    return told, form.get("action")


def told_with(served, path, **changes):
    told, _ = form_in(served.ask("GET", path)[2])
    return [(name, changes.get(name, value)) for name, value in told]


def faults_in(text):
    return {name: unescape(said) for name, said in re.findall(r'id="fault-(\w+)" role="alert">(.*?)</p>', text)}


def test_every_key_of_the_file_has_a_box_and_an_untouched_form_changes_not_one_byte(served):
    before = served.site.read_bytes()
    garden = tomllib.loads(before.decode("utf-8"))
    seen = set()
    for place in all_places(garden):
        path = f"/garden/edit/{path_of(place)}"
        status, _, text = served.ask("GET", path)
        assert status == 200, path
        told, action = form_in(text)
        names = {name for name, _ in told} - {"mark"}
        assert names == {box.key for box in boxes(head_of(place), garden)}
        seen.add(head_of(place))
        assert action == path
        status, headers, _ = send(served, action, told)
        assert (status, headers["location"]) == (303, "/garden"), path
    assert served.site.read_bytes() == before
    assert list(served.folder.glob("*.bak*")) == []
    for head in set(TABLES) - seen - {""}:  # this garden has none of them: its boxes are those of a new one
        path = f"/garden/new/{'zone/1/line' if head.startswith('zone.line') else head}"
        names = {name for name, _ in form_in(served.ask("GET", path)[2])[0]}
        before_key = "jets." if head == "zone.line.jets" else ""
        assert {before_key + box.key for box in boxes(head, garden)} <= names


def test_all_pages_of_parts_are_reached_by_links_from_the_garden(served):
    garden = tomllib.loads(served.site.read_text("utf-8"))
    found, waiting = set(), ["/garden"]
    while waiting:
        _, _, text = served.ask("GET", waiting.pop())
        links = set(re.findall(r'href="(/garden/(?:edit|new|add|take-away)/[^"]+)"', text)) - found
        found |= links
        waiting += [link for link in links if link.startswith("/garden/edit/")]
    assert {f"/garden/edit/{path_of(place)}" for place in all_places(garden)} <= found
    assert {"/garden/add/hens", "/garden/new/draw", "/garden/new/ban", "/garden/new/bed/1/planting"} <= found
    assert "/garden/take-away/usual" not in found
    assert all(served.ask("GET", link)[0] == 200 for link in found)


def test_a_store_is_changed_by_thumb_and_undone(served, phone):
    before = served.site.read_text("utf-8")
    tab = phone()
    tab.goto(f"{served.home}/garden")
    tab.get_by_role("link", name="Shed butt").tap()
    tab.get_by_label("It holds, L").fill("400")
    tab.get_by_text("More about this store").tap()
    tab.get_by_label("Leak, L a day").fill("2.5")
    tab.get_by_role("button", name="Save").tap()
    expect(tab.locator(".saved")).to_contain_text("The file as it was is site.toml.bak.")
    after = served.site.read_text("utf-8")
    lines = iter(after.splitlines())
    assert all(line in lines for line in before.replace("capacity_l = 350", "capacity_l = 400").splitlines())
    assert after.count("\n") == before.count("\n") + 1
    assert "\nloss_l_per_day = 2.5\n" in after
    tab.get_by_role("button", name="Undo").tap()
    expect(tab.locator(".saved")).not_to_contain_text("Written")
    assert served.site.read_text("utf-8") == before


def test_faults_stand_beside_their_boxes_and_what_was_written_stays(served):
    before = served.site.read_bytes()
    told = told_with(served, "/garden/edit/tank/2", capacity_l="100", dead_l="x", loss_l_per_day="")
    status, _, text = send(served, "/garden/edit/tank/2", told)
    assert status == 422
    assert faults_in(text) == {"dead_l": '"x" is no number; write a number, such as 12 or 0.5.'}
    told = told_with(served, "/garden/edit/tank/2", capacity_l="100")
    status, _, text = send(served, "/garden/edit/tank/2", told)
    assert status == 422
    assert faults_in(text) == {"start_l": "Is 260; write at most “It holds, L”, 100."}
    assert 'value="100"' in text
    parser = html5lib.HTMLParser(strict=False)
    parser.parse(text)
    assert parser.errors == []
    told = told_with(served, "/garden/edit/usual", july_high_c="21")
    status, _, text = send(served, "/garden/edit/usual", told)
    assert status == 422
    assert "A July night, °C" in text.split('class="faults"')[1].split("</ul>")[0]
    assert served.site.read_bytes() == before


def test_a_fault_of_a_name_sends_nobody_to_a_command(served):
    for place, key in (("bed/1/planting/1", "crop"), ("bed/1", "soil"), ("roof/1", "covering")):
        told = told_with(served, f"/garden/edit/{place}", **{key: "tomatto"})
        status, _, text = send(served, f"/garden/edit/{place}", told)
        assert status == 422
        (fault,) = faults_in(text).values()
        assert fault.startswith(f'Is "tomatto"; unknown {key}; '), fault
        assert "waterbudget" not in fault
    told = told_with(served, "/garden/edit/roof/1", covering="", runoff_coefficient="")
    (fault,) = faults_in(send(served, "/garden/edit/roof/1", told)[2]).values()
    assert fault.startswith("Is missing; name a covering, or tell “")


def test_a_garden_that_was_changed_meanwhile_is_looked_at_again(served):
    old = told_with(served, "/garden/edit/tank/2", capacity_l="400")
    assert send(served, "/garden/edit/tank/1", told_with(served, "/garden/edit/tank/1", start_l="880"))[0] == 303
    before = served.site.read_bytes()
    for path in ("/garden/edit/tank/2", "/garden/new/ban", "/garden/take-away/bed/2"):
        status, _, text = send(served, path, old)
        assert status == 409
        assert "The garden was changed meanwhile. Look again." in text
    assert served.site.read_bytes() == before


def test_parts_come_and_go_and_what_hangs_on_something_keeps_it(served):
    before = served.site.read_bytes()
    told = [*told_with(served, "/garden/new/ban"), ("from", "07-15"), ("to", "08-31")]
    assert send(served, "/garden/new/ban", told)[0] == 303
    assert tomllib.loads(served.site.read_text("utf-8"))["ban"] == [{"from": "07-15", "to": "08-31"}]
    told = told_with(served, "/garden/take-away/ban/1")
    assert send(served, "/garden/take-away/ban/1", told)[0] == 303
    assert served.site.read_bytes().rstrip() == before.rstrip()
    before = served.site.read_bytes()
    status, _, text = served.ask("GET", "/garden/take-away/tank/2")
    assert status == 200
    assert "Shed roof, Class-room tank and South line hang on it: change that first." in text
    assert "<button" not in text.split("<main")[1].split("</main>")[0]
    told = told_with(served, "/garden/edit/tank/2")[:1]
    assert send(served, "/garden/take-away/tank/2", told)[0] == 422
    assert served.site.read_bytes() == before


def test_cautions_stand_where_the_hand_acts(served):
    _, _, store = served.ask("GET", "/garden/edit/tank/1")
    assert "Never join rain and mains pipes" in store
    assert "child-proof" in store
    assert "droppings of wild birds" in served.ask("GET", "/garden/new/draw")[2]
    assert "Take care" not in served.ask("GET", "/garden/edit/prices")[2]


@pytest.mark.parametrize(
    ("path", "status"),
    [
        ("/garden/edit/nothing", 404),
        ("/garden/edit/tank/0", 404),
        ("/garden/edit/tank/9", 404),
        ("/garden/edit/tank/1/name", 404),
        ("/garden/edit/1", 404),
        ("/garden/edit/", 404),
        ("/garden/edit/tank/99999999999999999999", 404),
        ("/garden/edit/site/../../etc", 404),
        ("/garden/new/site", 404),
        ("/garden/new/bed/9/planting", 404),
        ("/garden/take-away/site", 404),
    ],
)
def test_places_that_are_none(served, path, status):
    assert served.ask("GET", path)[0] == status


def test_no_form_reaches_another_folder(served):
    before = served.site.read_bytes()
    for words in ("/etc/passwd", "../server.log", "journal.csv"):
        told = told_with(served, "/garden/edit/weather", file=words)
        status, _, text = send(served, "/garden/edit/weather", told)
        assert status == 422
        assert set(faults_in(text)) == {"file"}
    assert served.site.read_bytes() == before
