"""One page for all tests of a session; each begins with the garden as it was. A browser that sees what a phone sees."""

import shutil
from contextlib import contextmanager

import pytest
from playwright.sync_api import expect, sync_playwright
from serving import NAME, PHONE, WIDER, garden, serving

CHROMIUM = shutil.which("chromium")
PATIENCE_MS = 20_000  # of a busy machine
expect.set_options(timeout=PATIENCE_MS)


@pytest.fixture(scope="session")
def page(tmp_path_factory):
    folder = tmp_path_factory.mktemp("page") / "garden"
    folder.mkdir()
    garden(folder)
    with serving(folder) as served:
        yield served
    log = (folder.parent / "server.log").read_text("utf-8")
    assert "Traceback" not in log
    assert served.key not in log


@pytest.fixture
def served(page):
    page.put_back()
    return page


@pytest.fixture(scope="module")  # it keeps a loop running, which others would trip over
def browser():
    if CHROMIUM is None:
        pytest.skip("chromium is not installed")
    with sync_playwright() as playwright:
        browser = playwright.chromium.launch(
            executable_path=CHROMIUM, args=[f"--host-resolver-rules=MAP {NAME} 127.0.0.1"]
        )
        yield browser
        browser.close()


@pytest.fixture
def phone(browser, served):
    """Opens a phone that has scanned the square; in the end none has complained, asked elsewhere or been too wide."""
    opened = []

    @contextmanager
    def closing():
        yield
        for tab in opened:
            loud = [one for one in tab.complaints if not any(words in one for words in tab.allowed)]
            assert loud == []
            assert {url.split("/")[2] for url in tab.asked if not url.startswith("data:")} == {f"{NAME}:{served.port}"}
            if not tab.is_closed():
                assert tab.evaluate(WIDER) == []
            tab.context.close()

    def open_(size=PHONE, *, joins=True, **keys):
        width, height = size
        context = browser.new_context(viewport={"width": width, "height": height}, has_touch=size == PHONE, **keys)
        tab = context.new_page()
        tab.set_default_timeout(PATIENCE_MS)
        tab.set_default_navigation_timeout(60_000)  # a longer question takes seconds
        tab.asked, tab.complaints, tab.allowed = [], [], ()
        tab.on("request", lambda request: tab.asked.append(request.url))
        tab.on("console", lambda message: tab.complaints.append(message.text))
        tab.on("pageerror", lambda error: tab.complaints.append(str(error)))
        opened.append(tab)
        if joins:
            tab.goto(served.join)
        return tab

    with closing():
        yield open_
