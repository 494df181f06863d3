"""Crops with what they drink, found by any beginning; and picked for a bed from a list."""

import re

from playwright.sync_api import expect

from waterbudget.answers.crops import as_planted, in_a_line
from waterbudget.site.beds import Planting
from waterbudget.tables.crops import find_crop


def found(served, words):
    return re.findall(r'<h2 class="head">(.*?)</h2>', served.ask("GET", f"/garden/crops?find={words}")[2])


def test_any_beginning_of_any_word_finds_a_crop(served):
    assert found(served, "cour") == ["Courgette"]
    assert "Climbing french bean" in found(served, "FRENCH")
    assert found(served, "ourgette") == []
    assert "No crop begins so." in served.ask("GET", "/garden/crops?find=unobtainium")[2]
    assert len(found(served, "")) > 100
    assert "<i>" not in served.ask("GET", "/garden/crops?find=%3Ci%3E")[2]


def test_days_and_the_thirsty_month_by_hand():
    """Stages of 20, 30, 50 and 20 days from 20 May: half of the third is over on 3 August."""
    assert in_a_line(find_crop("courgette")) == "90 days, drinks most in July"
    own = Planting(crop="carrot", planted="05-20", days=[20, 30, 50, 20])
    assert as_planted(own, south=False) == "120 days, drinks most in August"
    assert as_planted(own.model_copy(update={"perennial": True}), south=False).startswith("stands for years")


def test_every_crop_has_a_line(served):
    _, _, text = served.ask("GET", "/garden/crops")
    said = re.findall(r"</h2>\n<p>(.*?)</p>", text)
    assert len(said) == len(found(served, ""))
    wanted = (
        r"(\d+\xa0days|Stands for years), drinks most in \w+\.|Its days are not in the tables: give its four stages\."
    )
    assert all(re.fullmatch(wanted, one.replace(" days", "\xa0days")) or "not in the tables" in one for one in said)


def test_a_crop_is_picked_for_a_new_bed_from_a_list(served, phone):
    tab = phone()
    tab.goto(f"{served.home}/garden/crops?find=cour")
    tab.get_by_role("link", name="Put it in a new bed").tap()
    box = tab.get_by_label("First crop")
    expect(box).to_have_value("courgette")
    expect(tab.locator(".picked")).to_have_text("90 days, drinks most in July.")
    box.fill("Broad bean")
    expect(tab.locator(".picked")).to_have_text("90 days, drinks most in July.")
    box.fill("broad")
    expect(tab.locator(".picked")).to_have_text("")
    options = tab.locator("#list-crop option")
    assert options.count() > 100
    assert options.locator("xpath=self::*[@value='courgette']").get_attribute("label") == "90 days, drinks most in July"
