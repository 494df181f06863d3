"""Sunday: stick and reckoning compared, and one suggestion that is taken, undone or put off."""

import datetime as dt
import json
import re
import shutil

import pytest
from click.testing import CliRunner
from playwright.sync_api import expect
from readme import ROOT

from waterbudget.cli.main import main
from waterbudget.serve.sunday import NAME, WEEKS, put_off, put_one_off

FORM = {"Content-Type": "application/x-www-form-urlencoded"}


@pytest.fixture
def dipped(served):
    """The garden whose tank was dipped through the summer."""
    site = (ROOT / "data_demo/journal/site.toml").read_text("utf-8").replace("../weather.csv", "weather.csv")
    served.site.write_text(site, "utf-8")
    shutil.copy(ROOT / "data_demo/journal/journal.csv", served.folder)
    return served


def page_of(served):
    status, _, text = served.ask("GET", "/sunday?wait=yes", timeout=60)
    return status, text.replace("\N{NO-BREAK SPACE}", " ")


def fields(text):
    return dict(re.findall(r'name="(mark|what|value)" value="([^"]*)"', text))


def posted(served, path, told):
    body = "&".join(f"{key}={value.replace(' ', '+')}" for key, value in told.items())
    return served.ask("POST", path, body, headers={**served.own, **FORM}, timeout=60)


def fitted(served):
    """What the command finds: the value of each quantity by its key and name."""
    shown = CliRunner().invoke(main, ["fit", str(served.site), "--json"], catch_exceptions=False)
    return {(one["key"].split(".")[-1], one["name"]): one for one in json.loads(shown.stdout)["quantities"]}


def test_looking_then_one_suggestion_yes_and_undo(dipped, phone):
    before = dipped.site.read_text("utf-8")
    tab = phone()
    tab.goto(f"{dipped.home}/sunday")
    expect(tab.get_by_role("heading", level=1)).to_have_text(re.compile("^The stick and the reckoning"), timeout=60_000)
    heading = tab.locator("#suggested")
    found = fitted(dipped)["runoff_coefficient", "Class-room roof"]
    expect(heading).to_have_text(
        f"Class-room roof seems to hand on {100 * found['fitted']:.0f}\N{NO-BREAK SPACE}% of the rain, not "
        f"{100 * found['site_file']:.0f}\N{NO-BREAK SPACE}%."
    )
    assert heading.count() == 1
    tab.get_by_role("button", name="Yes").tap()
    expect(tab.locator(".saved")).to_contain_text("The file as it was is site.toml.bak.", timeout=60_000)
    after = dipped.site.read_text("utf-8")
    assert f"runoff_coefficient = {found['fitted']:.2g}" in after
    assert CliRunner().invoke(main, ["check", str(dipped.site)]).exit_code == 0
    tab.get_by_role("button", name="Undo").tap()
    expect(tab.get_by_role("heading", level=1)).not_to_contain_text("stick")
    assert dipped.site.read_text("utf-8") == before


def test_after_yes_they_agree_better(dipped):
    def apart_l(text):
        return int(re.search(r"<h1>[^<]*?([\d,]+) L", text)[1].replace(",", ""))

    _, text = page_of(dipped)
    assert posted(dipped, "/sunday/yes", fields(text))[0] == 303
    assert apart_l(page_of(dipped)[1]) < 0.5 * apart_l(text)


def test_not_now_is_remembered_and_the_next_one_is_made(dipped):
    site = dipped.site.read_bytes()
    _, text = page_of(dipped)
    first = fields(text)
    assert posted(dipped, "/sunday/no", first)[0] == 303
    _, text = page_of(dipped)
    assert fields(text)["what"] != first["what"]
    while "what" in fields(text):
        assert posted(dipped, "/sunday/no", fields(text))[0] == 303
        _, text = page_of(dipped)
    assert "Nothing needs changing." in text
    assert dipped.site.read_bytes() == site
    assert set(json.loads((dipped.folder / NAME).read_text("utf-8")).values()) == {"2031-08-02"}


def test_four_weeks_later_it_is_asked_again(tmp_path):
    site, day = tmp_path / "site.toml", dt.date(2031, 7, 5)
    put_one_off(site, "zone.North line.flow_l_min", day)
    put_one_off(site, "tank.Butt.loss_l_per_day", day + dt.timedelta(7))
    assert put_off(site, day + WEEKS - dt.timedelta(1)) == {"zone.North line.flow_l_min", "tank.Butt.loss_l_per_day"}
    assert put_off(site, day + WEEKS) == {"tank.Butt.loss_l_per_day"}
    assert put_off(site, day - dt.timedelta(1)) == set(), "a clock that was wrong puts nothing off for years"
    (tmp_path / NAME).write_text("[", "utf-8")
    assert put_off(site, day) == set()


@pytest.mark.parametrize("changed", [{"mark": "0123456789abcdef"}, {"value": "0.5"}, {"what": "zone.None.flow_l_min"}])
def test_what_was_not_shown_is_not_written(dipped, changed):
    _, text = page_of(dipped)
    site = dipped.site.read_bytes()
    status, _, page = posted(dipped, "/sunday/yes", fields(text) | changed)
    assert status == 409
    assert "The garden was changed meanwhile. Look again." in page
    assert dipped.site.read_bytes() == site


def test_without_script(dipped, phone):
    tab = phone(java_script_enabled=False)
    tab.goto(f"{dipped.home}/sunday")
    expect(tab.get_by_role("heading", level=1)).to_have_text(re.compile("^The stick and the reckoning"), timeout=60_000)
    tab.get_by_role("button", name="Not now").tap()
    expect(tab.locator("#suggested")).to_have_text(re.compile("^(?!Class-room roof seems to hand)"), timeout=60_000)


def test_too_few_dips_lead_to_the_stick(served):
    status, text = page_of(served)
    assert status == 422
    assert "Dip a store now and then, also soon after rain." in text
    assert '<a class="button" href="/dip">' in text
