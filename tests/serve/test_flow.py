"""The flow of a line by jug and stop-watch: what the page reckons and writes, and words without sense."""

import re
import tomllib
from urllib.parse import urlencode

import pytest
from playwright.sync_api import expect

from waterbudget.hose.bucket import BucketReading, find_bucket, in_turn

PATH = "/garden/flow/2"


def send(served, told):
    headers = {**served.own, "Content-Type": "application/x-www-form-urlencoded"}
    return served.ask("POST", PATH, urlencode(told), headers=headers)


def test_jets_in_turn_are_one_bucket_by_hand():
    """2 L in 24 s and in 40 s are 5 and 3 L a minute, 4 on average; ten such jets give 40."""
    reading = in_turn(2.0, [24.0, 40.0], 10)
    assert reading.volume_l / reading.seconds * 60.0 == pytest.approx(40.0, rel=1e-12)
    assert reading.mark_l / reading.volume_l == pytest.approx(0.02)


def test_one_jug_for_the_whole_line_is_the_bucket_test(served):
    reading = in_turn(10.0, [120.0], 1)
    alone = find_bucket(served.site, "South line", BucketReading(10.0, 120.0, 0.2, 1.0))
    assert find_bucket(served.site, "South line", reading).changes == alone.changes


def test_two_jets_are_timed_by_the_watch_and_used(served, phone):
    before = served.site.read_text("utf-8")
    tab = phone()
    tab.clock.install()
    tab.goto(f"{served.home}/line")
    tab.get_by_role("link", name="Time its flow with a jug").nth(1).tap()
    watch = tab.locator(".watch button")
    for passed, box in ((24, 1), (40, 2)):
        watch.tap()
        expect(watch).to_have_text("Stop")
        tab.clock.fast_forward(passed * 1000)
        watch.tap()
        seconds = float(tab.get_by_label(f"Jet {box}, seconds").input_value())
        assert passed <= seconds < passed + 5
        tab.get_by_label(f"Jet {box}, seconds").fill(str(passed))
    expect(tab.locator("output").first).to_have_text("5.00 L a minute")
    tab.get_by_label("How many jets the line has").fill("2")
    tab.get_by_role("button", name="What does that make?").tap()
    expect(tab.locator(".answer")).to_contain_text("South line gives 8 L a minute")
    expect(tab.locator(".answer")).to_contain_text("The garden's file has 5.")
    tab.get_by_role("button", name="Use it").tap()
    expect(tab.locator(".saved")).to_contain_text("The file as it was is site.toml.bak.")
    after = served.site.read_text("utf-8")
    assert tomllib.loads(after)["zone"][1]["flow_l_min"] == 8
    assert sum(one != other for one, other in zip(before.splitlines(), after.splitlines(), strict=True)) == 1
    tab.get_by_role("button", name="Undo").tap()
    expect(tab.locator(".saved")).not_to_contain_text("Written")
    assert served.site.read_text("utf-8") == before


@pytest.mark.parametrize(
    ("told", "fault"),
    [
        ([("jug_l", "0"), ("seconds", "30"), ("jets", "1")], "does not fit; write the litres of the jug, such as 2."),
        ([("jug_l", "2"), ("seconds", ""), ("jets", "1")], "Time at least one jet."),
        ([("jug_l", "2"), ("seconds", "0.4"), ("jets", "1")], "take a larger jug where it is full sooner."),
        ([("jug_l", "2"), ("seconds", "nan"), ("jets", "1")], "is no number; write seconds"),
        ([("jug_l", "2"), ("seconds", "30"), ("jets", "1.5")], "Write a whole number of jets."),
        ([("jug_l", "2"), ("seconds", "30"), ("jets", "")], "is no number; write how many jets the line has"),
        ([("jug_l", "2"), ("seconds", "30"), ("jets", "1e9")], "does not fit; write how many jets the line has"),
    ],
)
def test_words_without_sense(served, told, fault):
    before = served.site.read_bytes()
    status, _, text = send(served, [*told, ("do", "use")])
    assert status == 422
    (said,) = re.findall(r'role="alert">(.*?)</p>', text)
    assert fault in said
    assert served.site.read_bytes() == before


def test_a_garden_that_was_changed_meanwhile(served):
    told = [("jug_l", "2"), ("seconds", "30"), ("jets", "1"), ("do", "use"), ("mark", "0")]
    status, _, text = send(served, told)
    assert status == 409
    assert "The garden was changed meanwhile. Look again." in text
    assert served.ask("GET", "/garden/flow/3")[0] == 404
