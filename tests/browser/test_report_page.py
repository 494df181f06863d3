"""The report in a real browser: at a desk, on a phone and on paper."""

import re
import shutil
from itertools import pairwise

import pandas as pd
import pytest
from gardens import site_of, weather_of
from playwright.sync_api import sync_playwright

import waterbudget
from waterbudget.answers.run import verdict
from waterbudget.example import site_path
from waterbudget.render.page.page import page

CHROMIUM = shutil.which("chromium")
pytestmark = pytest.mark.skipif(CHROMIUM is None, reason="chromium is not installed")
SIZES = {"desk": (1200, 900), "phone": (390, 844), "small phone": (320, 568)}
SCRIPT = "<script>alert(1)</script>"
BEDS = {"school": 6, "scripted": 1}


@pytest.fixture(scope="module")
def school():
    site = waterbudget.load_site(site_path())
    return waterbudget.run(site, waterbudget.read_weather(site_path().parent / site.weather.file, site))


@pytest.fixture(scope="module")
def scripted():
    """A garden in which a bed, its zone, the store and the garden bear the name of a script."""
    garden = {
        "site": {"name": SCRIPT},
        "tank": [
            {"name": SCRIPT, "capacity_l": 100.0, "start_l": 50.0},
            {"name": "W" * 80, "capacity_l": 9.0, "start_l": 1.0},
        ],
        "zone": [{"name": SCRIPT, "tank": SCRIPT, "flow_l_min": 5.0, "minutes": 4.0}],
        "bed": [{"name": SCRIPT, "area_m2": 2.0, "zone": SCRIPT, "available_water_mm_m": 100.0}],
    }
    dates = pd.date_range("2031-07-01", periods=20)
    return waterbudget.run(site_of(garden), weather_of([{"date": day, "rain_mm": 0.0, "et0_mm": 4.0} for day in dates]))


@pytest.fixture(scope="module")
def files(school, scripted, tmp_path_factory):
    folder = tmp_path_factory.mktemp("report")
    for name, result in (("school", school), ("scripted", scripted)):
        (folder / f"{name}.html").write_text(page(result), "utf-8")
    return {name: (folder / f"{name}.html").as_uri() for name in ("school", "scripted")}


@pytest.fixture(scope="module")
def browser():
    with sync_playwright() as playwright:
        browser = playwright.chromium.launch(executable_path=CHROMIUM)
        yield browser
        browser.close()


@pytest.fixture
def opened(browser, files):
    """Opens a report and keeps all that it asks for and complains of."""
    contexts = []

    def open_(name="school", size="desk", **keys):
        width, height = SIZES[size]
        context = browser.new_context(viewport={"width": width, "height": height}, offline=True, **keys)
        contexts.append(context)
        tab = context.new_page()
        tab.asked, tab.complaints = [], []
        tab.on("request", lambda request: tab.asked.append(request.url))
        tab.on("console", lambda message: tab.complaints.append(message.text))
        tab.on("pageerror", lambda error: tab.complaints.append(str(error)))
        tab.on("dialog", lambda dialog: (tab.complaints.append(dialog.message), dialog.dismiss()))
        tab.goto(files[name])
        return tab

    yield open_
    for context in contexts:
        context.close()


WIDER = """() => [...document.querySelectorAll("body *")].filter(one => {
  const box = one.getBoundingClientRect();
  return box.width && !one.closest(".wide") && (box.right > innerWidth + 0.5 || box.left < -0.5);
}).map(one => one.outerHTML.slice(0, 80))"""
SHOWN = """() => [...document.images].filter(one => one.getBoundingClientRect().width).map(one => one.naturalWidth)"""


@pytest.mark.parametrize("name", ["school", "scripted"])
@pytest.mark.parametrize("size", SIZES)
def test_it_opens_without_asking_or_complaining(opened, files, name, size):
    tab = opened(name, size)
    tab.mouse.wheel(0, 20_000)
    tab.wait_for_timeout(50)
    assert [url for url in tab.asked if not url.startswith("data:")] == [files[name]]
    assert tab.complaints == []
    assert tab.evaluate("document.documentElement.scrollWidth <= innerWidth")
    assert tab.evaluate(WIDER) == []
    shown = tab.evaluate(SHOWN)
    assert len(shown) == 3 + BEDS[name], "level, balance, the key to the beds, and each bed"
    assert min(shown) > 0


@pytest.mark.parametrize("size", SIZES)
def test_open_tables_are_no_wider_than_the_window(opened, size):
    tab = opened("school", size)
    tab.evaluate("document.querySelectorAll('details').forEach(one => one.open = true)")
    assert tab.evaluate("document.documentElement.scrollWidth <= innerWidth")
    assert tab.evaluate(WIDER) == []


def test_a_script_in_a_name_stays_text(opened):
    tab = opened("scripted")
    assert tab.locator("h1 b").inner_text() == SCRIPT
    assert tab.locator("h3").all_inner_texts() == [SCRIPT]
    assert tab.locator("button").first.inner_text() == "All stores"
    assert SCRIPT in tab.locator("button").all_inner_texts()
    assert tab.evaluate("document.scripts.length") == 1
    assert tab.complaints == []


def told(tab):
    return tab.locator("#told").inner_text().replace("\N{NO-BREAK SPACE}", " ")


@pytest.mark.parametrize("size", ["desk", "phone"])
def test_the_picture_tells_the_day_under_the_pointer(opened, school, size):
    tab = opened("school", size)
    assert told(tab).startswith("9 July"), "the first day short, before anybody asks"
    picture = tab.locator(".level .view.all")
    picture.scroll_into_view_if_needed()
    box = picture.bounding_box()
    days = school.summary["days"]
    left, right = tab.evaluate("span(document.querySelector('[data-span]'))")
    for number in (0, 70, days - 1):
        share = left + (right - left) * (number + 0.5) / days
        tab.mouse.move(box["x"] + box["width"] * share, box["y"] + box["height"] / 2)
        date = school.weather.dates[number]
        assert told(tab).startswith(f"{date.day} {date:%B}")
        line = tab.locator(".level .view.all .line").bounding_box()
        assert line["x"] + line["width"] / 2 == pytest.approx(box["x"] + box["width"] * share, abs=1.0)
    before = told(tab)
    tab.mouse.move(box["x"] + 1, box["y"] + box["height"] / 2)
    assert told(tab) == before, "left of the first day there is no day"


@pytest.mark.parametrize("size", ["desk", "phone"])
def test_the_days_lie_where_the_picture_draws_them(opened, size):
    """The ink of the picture's left axis stands where the script takes the first day to begin."""
    tab = opened("school", size)
    ink = """async () => {
      const image = document.querySelector('.level .view.all img'), [left] = span(image.closest('[data-span]'));
      const source = new Image(); source.src = image.currentSrc; await source.decode();
      const canvas = document.createElement('canvas'); canvas.width = 1400;
      canvas.height = 1400 * source.naturalHeight / source.naturalWidth;
      const pen = canvas.getContext('2d'); pen.drawImage(source, 0, 0, canvas.width, canvas.height);
      const dark = [];
      for (let x = 0; x < 400; x++) {
        const column = pen.getImageData(x, canvas.height * 0.42, 1, canvas.height * 0.1).data;
        let count = 0;
        for (let at = 0; at < column.length; at += 4) if (column[at + 3] > 100 && column[at] < 90) count++;
        dark.push(count);
      }
      return [dark.indexOf(Math.max(...dark)), left * canvas.width];
    }"""
    found, meant = tab.evaluate(ink)
    assert found == pytest.approx(meant, abs=3)


def test_the_day_can_be_chosen_with_the_keyboard(opened):
    tab = opened()
    tab.locator("#day").focus()
    tab.keyboard.press("ArrowRight")
    assert told(tab).startswith("10 July")
    tab.keyboard.press("Home")
    assert told(tab).startswith("1 May")


def test_stores_can_be_switched(opened):
    tab = opened()
    for number, name in enumerate(("All stores", "Class-room tank", "Shed butt")):
        tab.locator(".balance button", has_text=name).click()
        for section in (".level", ".balance"):
            views = tab.locator(f"{section} .view")
            assert [views.nth(one).is_visible() for one in range(3)] == [one == number for one in range(3)]
            pressed = tab.locator(f"{section} button[aria-pressed=true]")
            assert pressed.all_inner_texts() == [name]
        assert min(tab.evaluate(SHOWN)) > 0
    assert tab.complaints == []


def test_all_can_be_read_without_script(opened, school):
    tab = opened(java_script_enabled=False)
    assert tab.locator(".verdict").inner_text().replace("\N{NO-BREAK SPACE}", " ") == " ".join(verdict(school))
    assert tab.locator("#reader").is_hidden()
    for one in tab.locator("summary").all():
        one.click()
    assert all(image.is_visible() for image in tab.locator("img").all())
    assert tab.locator("#days tbody tr").count() == school.summary["days"]
    assert tab.locator("#days tbody tr").first.is_visible()


def test_headings_go_down_one_step_at_a_time(opened):
    levels = opened().evaluate("[...document.querySelectorAll('h1,h2,h3')].map(one => Number(one.tagName[1]))")
    assert levels[0] == 1
    assert all(lower - upper <= 1 for upper, lower in pairwise(levels))


def test_a_screen_reader_finds_regions_and_names(opened):
    tab = opened()
    assert tab.get_by_role("main").count() == 1
    assert tab.get_by_role("region", name="Watering plan, Brackenfold school kitchen garden").count() == 1
    assert tab.get_by_role("slider", name="Day by day").count() == 1
    assert tab.get_by_role("group", name="Which store").count() == 2
    assert tab.get_by_role("img", name="All stores together: the water came from").count() == 1


def test_it_prints_on_two_sheets(opened):
    tab = opened()
    tab.locator(".balance button", has_text="Shed butt").click()
    printed = tab.pdf(prefer_css_page_size=True)
    assert len(re.findall(rb"/Type\s*/Page\b(?!s)", printed)) == 2
    assert re.search(rb"/MediaBox\s*\[0 0 59[45][.\d]* 84[12]", printed), "A4 is 595 by 842 points (ISO 216)"
    tab.emulate_media(media="print")
    assert tab.locator(".balance .view.all").is_visible(), "paper shows all stores, whichever the screen shows"
    for hidden in (".switch", "#reader", "details", ".view.one", ".line"):
        assert not any(one.is_visible() for one in tab.locator(hidden).all())
    for shown in (".verdict", ".card", ".level img", ".beds img", ".assumed", ".sources"):
        assert tab.locator(shown).first.is_visible()
