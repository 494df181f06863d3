"""From an empty folder to what to do tomorrow, with a thumb and no terminal after the first command."""

import re

import pytest
from click.testing import CliRunner
from playwright.sync_api import expect
from serving import chosen, serving, table_of

from waterbudget.cli.main import main
from waterbudget.site.read import load_site


@pytest.fixture
def served(tmp_path):
    """The page as it is started in an empty folder."""
    folder = tmp_path / "garden"
    folder.mkdir()
    with serving(folder) as page:
        yield page
    assert "Traceback" not in (tmp_path / "server.log").read_text("utf-8")


def added(tab, kind, answers):
    """Add a part by its form; everything else stays as it is suggested."""
    tab.get_by_role("link", name="More").tap()
    tab.get_by_role("link", name="Garden", exact=True).tap()
    tab.get_by_role("link", name=kind, exact=True).tap()
    for label, value in answers.items():
        tab.get_by_label(label).fill(value)
    tab.get_by_role("button", name="Add it").tap()
    expect(tab.locator(".saved")).to_contain_text("The file as it was is site.toml.bak")


def test_from_an_empty_folder_to_what_to_do_tomorrow(served, phone):  # 20
    tab = phone()
    tab.allowed = ("404",)  # of today, which nobody can tell yet
    expect(tab.get_by_role("heading", level=1)).to_have_text("No garden here yet.")
    tab.get_by_role("link", name="Start one").tap()
    tab.get_by_label("The garden's name").fill("Brackenfold, north yard")
    tab.get_by_label("The store holds, in litres").fill("600")
    tab.get_by_label("In the store now, in litres").fill("500")
    tab.get_by_role("button", name="Start this garden").tap()
    expect(tab.get_by_role("heading", level=1)).to_have_text(re.compile("^(Open|Nothing|Leave)"))

    added(tab, "Add another store", {"Name of the store": "Bean butt", "It holds, in litres": "200"})
    added(
        tab, "Add another line", {"Name of the watering line": "Bean line", "Seconds to fill a 10-litre bucket": "60"}
    )
    added(tab, "Add another bed", {"Name of the bed": "Bean bed", "Bed area in m²": "4", "First crop": "green beans"})

    tab.get_by_role("link", name="Weather from a file").tap()
    chosen(tab, table_of(heads="Wann;Nass;Kalt;Heiss"), "station.csv")
    for head, what in (("Nass", "rain"), ("Kalt", "lowest temperature"), ("Heiss", "highest temperature")):
        tab.get_by_label(f"What {head} is").select_option(what)
    tab.get_by_role("button", name="Look again").tap()
    tab.get_by_role("button", name="Keep it").tap()
    expect(tab.locator("main")).to_contain_text("Weather to 4 July.")

    site = load_site(served.site)
    assert [tank.name for tank in site.tank][1:] == ["Bean butt"]
    assert "Bean line" in [zone.name for zone in site.zone]
    assert "Bean bed" in [bed.name for bed in site.bed]
    checked = CliRunner().invoke(main, ["check", str(served.site)])
    assert checked.exit_code == 0, checked.output
    assert "without a fault" in " ".join(checked.output.split())

    tab.get_by_role("link", name="Dip").tap()
    tab.locator("#value").fill("390")
    tab.get_by_role("button", name="Save", exact=True).tap()
    expect(tab.locator("form.dip .answer")).to_contain_text("390 L")
    tab.get_by_role("link", name="Line", exact=True).tap()
    card = tab.locator("li.line").filter(has=tab.get_by_role("heading", name="Bean line"))
    card.get_by_role("button", name=re.compile("^Start")).tap()
    expect(card.get_by_role("timer")).to_have_text(re.compile(r"^\d+:\d\d$"))
    tab.wait_for_timeout(4000)  # a tenth of a minute is the least that is written
    card.get_by_role("button", name=re.compile("^Stop")).tap()
    expect(tab.locator("main > .answer")).to_contain_text("Bean line ran")
    assert [line[:2] for line in served.lines()] == [("level", site.tank[0].name), ("ran", "Bean line")]

    tab.get_by_role("link", name="More").tap()
    tab.get_by_role("link", name="Week", exact=True).tap()
    tomorrow = tab.locator("main .cards > li").nth(1)
    expect(tomorrow.get_by_role("heading")).to_have_text("Sunday 6 July")
    expect(tomorrow).to_contain_text(re.compile(r"line \d+ minutes?|Nothing to open"))
