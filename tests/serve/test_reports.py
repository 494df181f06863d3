"""Longer questions as pages: what they say is what the commands say; their pictures, and what cannot be answered."""

import asyncio
import json
import os
import re
import signal
import time
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path

import html5lib
import pytest
from click.testing import CliRunner
from playwright.sync_api import expect
from serving import garden, serving

from waterbudget.cli.main import main
from waterbudget.render.html import together
from waterbudget.serve.once import Once, Turns

PICTURED = ["improve", "minutes", "hotspell", "size"]


def asked(served, kind):
    status, _, text = served.ask("GET", f"/{kind}?wait=yes", timeout=120)
    return status, text


@pytest.mark.parametrize("kind", ["improve", "hotspell"])
def test_a_page_says_what_the_command_says(served, kind):
    status, text = asked(served, kind)
    assert status == 200
    shown = CliRunner().invoke(main, [kind, str(served.site), "--json"], catch_exceptions=False)

    for sentence in json.loads(shown.stdout)["verdict"]:
        assert together(sentence).replace("'", "&#39;") in text
    parser = html5lib.HTMLParser(strict=False)
    parser.parse(text)
    assert parser.errors == []


@pytest.mark.parametrize("kind", PICTURED)
def test_a_picture_comes_after_its_page_into_the_box_that_was_kept_for_it(served, phone, kind):
    tab = phone()
    tab.goto(f"{served.home}/{kind}")
    box = tab.locator("main figure img")
    expect(box).to_be_visible(timeout=60_000)
    tab.wait_for_load_state("networkidle")
    assert box.evaluate("image => image.naturalWidth") > 0
    reserved = [float(box.get_attribute(side)) for side in ("width", "height")]
    drawn = box.evaluate("image => image.naturalHeight / image.naturalWidth")
    assert reserved[1] / reserved[0] == pytest.approx(drawn, rel=0.01)
    path = re.search(rf"/picture/{kind}/\w+\.svg", tab.content())[0]
    assert "immutable" in served.ask("GET", path)[1]["cache-control"]
    assert served.ask("GET", f"/picture/{kind}/0123456789abcdef.svg")[0] == 404


def test_a_page_that_stayed_open_gets_its_picture_from_a_house_that_was_started_again(tmp_path):
    folder = tmp_path / "garden"
    folder.mkdir()
    garden(folder)
    with serving(folder) as served:
        _, text = asked(served, "minutes")
    path = re.search(r"/picture/minutes/\w+\.svg", text)[0]
    with serving(folder) as served:
        assert served.ask("GET", "/picture/minutes/0123456789abcdef.svg", timeout=120)[0] == 404
        assert served.ask("GET", "/picture/compare/0123456789abcdef.svg")[0] == 404
    with serving(folder) as served:
        assert served.ask("GET", path, timeout=120)[0] == 200


def test_one_summer_is_too_little_for_odds_and_leads_to_the_weather(served):
    status, text = asked(served, "odds")
    assert status == 422
    assert "This takes the weather of 2 whole summers or more, better 10. This garden has that of 1." in text
    assert '<a class="button" href="/garden/weather">' in text
    for path in ("/report/odds", "/picture/nothing/0123456789abcdef.svg"):
        assert served.ask("GET", path)[0] == 404


def test_a_process_that_was_ended_is_begun_again(served):
    asked(served, "minutes")
    children = Path(f"/proc/{served.process.pid}/task/{served.process.pid}/children")
    if not children.exists():
        pytest.skip("no /proc here")
    for child in children.read_text("ascii").split():
        if b"spawn_main" in Path(f"/proc/{child}/cmdline").read_bytes():
            os.kill(int(child), signal.SIGKILL)
    time.sleep(0.5)
    served.site.write_text(served.site.read_text("utf-8") + "\n", "utf-8")  # so that it has to be reckoned again
    assert {asked(served, "minutes")[0], asked(served, "minutes")[0]} <= {200, 500}
    assert asked(served, "minutes")[0] == 200


def test_what_takes_long_is_made_once_however_many_ask_and_again_if_it_failed():
    made = []

    async def make():
        made.append(len(made))
        await asyncio.sleep(0.01)
        if len(made) == 1:
            raise OSError("no font")
        return made[-1]

    async def ask():
        once = Once()
        first = await asyncio.gather(*(once.get("a", make) for _ in range(3)), return_exceptions=True)
        again = await asyncio.gather(*(once.get("a", make) for _ in range(3)))
        gone = once.begun("b", make)
        gone.cancel()  # who asked went away, and it is made all the same
        return first, again, await once.get("b", make)

    with ThreadPoolExecutor(1) as room:  # the browser has a loop of its own in this thread
        first, again, other = room.submit(lambda: asyncio.run(ask())).result()
    assert [type(one) for one in first] == [OSError] * 3
    assert again == [1, 1, 1]
    assert other == 2
    assert len(made) == 3


def test_a_look_begins_after_it_was_asked_for_and_serves_all_who_wait():
    begun = []

    async def look():
        begun.append(len(asked))
        await asyncio.sleep(0.02)
        return begun[-1]

    asked = []

    async def ask(turns, after_s):
        await asyncio.sleep(after_s)
        asked.append(after_s)
        number = len(asked)
        assert await turns.get() >= number, "it has seen what was there when it was asked for"

    async def all_of_them():
        turns = Turns(look)
        await asyncio.gather(*(ask(turns, 0.001 * number) for number in range(12)))

    with ThreadPoolExecutor(1) as room:
        room.submit(lambda: asyncio.run(all_of_them())).result()
    assert len(begun) <= 4
