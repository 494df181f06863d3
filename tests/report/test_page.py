import base64
import datetime as dt
import hashlib
import re
from html.parser import HTMLParser
from pathlib import Path

import pandas as pd
import pytest
from click.testing import CliRunner
from gardens import site_of, weather_of

import waterbudget
from waterbudget.answers.english import litres
from waterbudget.answers.page import MOST_BEDS, draw_task, sources, zone_task
from waterbudget.answers.run import verdict
from waterbudget.cli.main import Commands
from waterbudget.cli.report import report
from waterbudget.errors import InputError
from waterbudget.example import site_path
from waterbudget.render.page.page import page
from waterbudget.render.page.pictures import of_store
from waterbudget.render.text import WIDEST
from waterbudget.report.ask import further_asked
from waterbudget.site.model import Draw, Zone

PROGRAM = Commands(commands={"report": report})
DEMO = Path(waterbudget.__file__).parents[1] / "data_demo"
ALLOTMENT = DEMO / "allotment" / "site.toml"
SCRIPT = "<script>alert(1)</script>"
BREAK_OUT = "\"'><img src=x onerror=alert(1)>"
VOID = {"meta", "link", "img", "input", "source", "br", "hr"}


class Page(HTMLParser):
    """A page as elements with their attributes and text, in order."""

    def __init__(self, text):
        super().__init__()
        self.elements, self._open = [], []
        self.unclosed = []
        self.feed(text)
        self.close()

    def handle_starttag(self, tag, attrs):
        element = {"tag": tag, "attrs": dict(attrs), "text": ""}
        self.elements.append(element)
        if tag not in VOID:
            self._open.append(element)

    def handle_endtag(self, tag):
        opened = self._open.pop()
        if opened["tag"] != tag:
            self.unclosed.append(opened["tag"])

    def handle_data(self, data):
        for element in self._open:
            element["text"] += data

    def all(self, tag):
        return [element for element in self.elements if element["tag"] == tag]


def school_run():
    site = waterbudget.load_site(site_path())
    return waterbudget.run(site, waterbudget.read_weather(site_path().parent / site.weather.file, site))


def small(name="Butt", days=10, start="2031-07-01", **tables):
    """A garden of one store, a zone and a bed, with one name for all of them."""
    garden = {
        "site": {"name": name},
        "roof": [{"name": name, "tank": name, "area_m2": 9.0, "runoff_coefficient": 0.9}],
        "tank": [{"name": name, "capacity_l": 100.0, "start_l": 50.0, "mains": "direct"}],
        "zone": [{"name": name, "tank": name, "flow_l_min": 5.0, "minutes": 4.0}],
        "bed": [
            {
                "name": name,
                "area_m2": 2.0,
                "zone": name,
                "available_water_mm_m": 100.0,
                "planting": [
                    {"planted": "06-11", "days": [9, 9, 9, 9], "kc": [1.0, 1.0, 1.0], "p": 0.5, "root_m": [0.5, 0.5]}
                ],
            }
        ],
    }
    dates = pd.date_range(start, periods=days)
    rows = [{"date": date, "rain_mm": 2.0 * (n % 5 == 0), "et0_mm": 4.0} for n, date in enumerate(dates)]
    return waterbudget.run(site_of(garden | tables), weather_of(rows))


def pair(name):
    """The same with a second store, so that there are pictures of each."""
    stores = [{"name": one, "capacity_l": 100.0, "start_l": 50.0, "mains": "direct"} for one in (name, f"{name} 2")]
    return small(name, days=3, tank=stores)


@pytest.fixture(scope="module")
def school():
    return school_run()


@pytest.fixture(scope="module")
def text(school):
    return page(school)


@pytest.fixture(scope="module")
def read(text):
    return Page(text)


# ---- One file that asks for nothing ----------------------------------------------------------------------------------


def test_nothing_is_asked_for_from_anywhere(text, read):
    linked = [
        value
        for element in read.elements
        for name, value in element["attrs"].items()
        if name in {"src", "href", "srcset", "action", "data", "poster", "background"}
    ]
    assert linked
    assert all(value.startswith("data:") for value in linked)
    assert not re.search(r"url\(|@import|fetch\(|XMLHttpRequest|WebSocket", text)


def test_the_page_lets_no_script_run_but_its_own(read):
    (rule,) = [each["attrs"]["content"] for each in read.all("meta") if "http-equiv" in each["attrs"]]
    (script,) = read.all("script")
    mark = base64.b64encode(hashlib.sha256(script["text"].encode()).digest()).decode()
    assert f"script-src 'sha256-{mark}'" in rule
    assert "default-src 'none'" in rule


def test_the_same_run_gives_the_same_page():
    assert page(small()) == page(small())


def test_every_element_is_closed_and_every_id_is_one(read):
    assert read.unclosed == []
    ids = [element["attrs"]["id"] for element in read.elements if "id" in element["attrs"]]
    assert len(ids) == len(set(ids))
    wanted = [
        value
        for element in read.elements
        for name, value in element["attrs"].items()
        if name in {"aria-labelledby", "aria-describedby", "for"}
    ]
    assert wanted
    assert set(wanted) <= set(ids)


# ---- What it says ----------------------------------------------------------------------------------------------------


def plain(words):
    return words.replace("\N{NO-BREAK SPACE}", " ")


def test_the_verdict_is_that_of_the_screen(school, read):
    (told,) = [one["text"] for one in read.all("p") if one["attrs"].get("class") == "verdict"]
    assert plain(told) == " ".join(verdict(school))
    assert read.all("title")[0]["text"] == "Brackenfold school kitchen garden: stored rain, 1 May to 30 September 2031"


def test_all_that_was_asked_for_is_on_it(read):
    assert [plain(one["text"]) for one in read.all("h2")] == [
        "The level from day to day",
        "What would help",
        "Take care",
        "Watering plan, Brackenfold school kitchen garden",
        "Where the water came from and went",
        "Water in the soil of each bed",
        "What is assumed",
        "Sources and credits",
    ]


def test_every_day_stands_in_the_table_as_in_the_run(school, read):
    rows = [one for one in read.all("tr") if "title" in one["attrs"]]
    assert len(rows) == school.summary["days"]
    number = 69  # the first day short
    date = school.weather.dates[number]
    cells = rows[number]["text"]
    tank = school.tanks[school.tanks["date"] == date]
    assert cells.startswith(f"{date.day} {date:%B}")
    for level_l in tank["level_l"]:
        assert litres(level_l) in cells
    short = tank[tank["short_l"] > 0].iloc[0]
    told = plain(rows[number]["attrs"]["title"])
    assert f"{short['tank']}: {litres(short['level_l'])} L, short of {litres(short['short_l'])} L, mains" in told


def test_every_picture_is_told_in_words(school, read):
    images = read.all("img")
    beds = len(school.summary["beds"])
    assert len(images) == 7 + beds  # level and balance of all stores and of each of two, the key to the beds, and each
    assert all(image["attrs"]["alt"].endswith(".") for image in images)
    told = " ".join(image["attrs"]["alt"] for image in images)
    for row in school.summary["tanks"]:
        assert f"{row['name']} holds {litres(row['capacity_l'])} L" in told
    assert "Potato bed is thirsty on 9 days" in told
    assert "Mains 1,190 L" in told


def test_every_table_says_what_it_is_and_what_its_cells_are(read):
    assert len(read.all("caption")) == len(read.all("table"))
    assert all(head["attrs"].get("scope") in {"col", "row"} for head in read.all("th"))


def test_sources_stand_on_the_page(school, read):
    shown = [plain(one["text"]) for one in read.all("li")]
    assert [line for line in sources(school) if line not in shown] == []


def test_the_credit_of_the_weather_is_among_the_sources(school):
    credited = waterbudget.Weather.of(school.weather.daily, school.weather.et0, "x.csv; station A; data: B (CC BY 4.0)")
    result = waterbudget.run(school.site, credited)
    assert "Weather: x.csv; station A; data: B (CC BY 4.0)" in sources(result)


def test_sources_name_every_table_that_was_used(school):
    told = " ".join(sources(school))
    for words in ("FAO-56 Table 12", "FAO-56 Table 22", "FAO-56 Table 11", "FAO-56 Table 19", "clay tile", "Jenkins"):
        assert words in told


# ---- Names -----------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("name", [SCRIPT, BREAK_OUT, "{{ 7 * 7 }}", "&lt;b&gt; & <b>", "]]><!-- -->"])
def test_a_name_stays_text(name):
    read, usual = Page(page(pair(name), notes=[name])), Page(page(pair("Butt"), notes=["Butt"]))
    assert [one["tag"] for one in read.elements] == [one["tag"] for one in usual.elements]
    assert [sorted(one["attrs"]) for one in read.elements] == [sorted(one["attrs"]) for one in usual.elements]
    assert [one["text"] for one in read.all("h3")] == [name]
    assert read.all("h2")[3]["text"].endswith(name)
    assert read.all("script")[0]["text"] == usual.all("script")[0]["text"]


# ---- Other gardens ---------------------------------------------------------------------------------------------------


def test_a_garden_of_one_store_has_no_pictures_of_each():
    read = Page(page(small()))
    assert len(read.all("img")) == 4, "level, balance, the key to the beds and the bed"
    assert not [one for one in read.all("details") if "each" in one["attrs"].get("class", "")]


def many_beds(number):
    """So many beds on rain alone, their soils poorer from one to the next, for a dry month."""
    rows = [{"date": date, "rain_mm": 0.0, "et0_mm": 5.0} for date in pd.date_range("2031-05-01", periods=30)]
    planting = {"planted": "05-01", "days": [0, 0, 60, 0], "kc": [1.0, 1.0, 1.0], "p": 0.5, "root_m": [0.5, 0.5]}
    beds = [
        {"name": f"Bed {one}", "area_m2": 2.0, "available_water_mm_m": 200.0 - 5.0 * one, "planting": [planting]}
        for one in range(1, number + 1)
    ]
    tank = {"name": "Butt", "capacity_l": 100.0, "start_l": 50.0}
    site = site_of({"site": {"name": "Brackenfold"}, "tank": [tank], "bed": beds})
    return waterbudget.run(site, weather_of(rows))


def test_of_many_beds_the_driest_have_a_picture_and_all_a_row():
    result = many_beds(MOST_BEDS + 2)
    told = Page(page(result))
    assert f"Water in the soil of the {MOST_BEDS} driest of {MOST_BEDS + 2} beds" in [h["text"] for h in told.all("h2")]
    alts = [image["attrs"]["alt"] for image in told.all("img") if "left in the soil" in image["attrs"]["alt"]]
    assert [alt.split(" from day")[0] for alt in alts] == [
        f"The water left in the soil of Bed {one}" for one in range(MOST_BEDS + 2, 2, -1)
    ]
    assert "Bed 14 is thirsty on " in alts[0]
    heads = {cell["text"] for cell in told.all("th")}
    assert {f"Bed {one}" for one in range(1, MOST_BEDS + 3)} <= heads


def test_twelve_beds_are_all_drawn():
    told = Page(page(many_beds(MOST_BEDS)))
    assert "Water in the soil of each bed" in [h["text"] for h in told.all("h2")]


def test_a_garden_without_beds_or_plan_has_no_empty_section():
    read = Page(page(small(zone=[], bed=[], roof=[])))
    headings = [one["text"] for one in read.all("h2")]
    assert not [one for one in headings if "bed" in one or "plan" in one]
    assert not [one for one in read.all("ul") if not one["text"].strip()]


def test_many_years_are_drawn_as_dots_and_not_as_heavy_lines():
    text = page(small(days=3 * 365))
    assert len(text) < 3_000_000
    assert "2033" in text
    kinds = [one["attrs"]["src"].split(";")[0].removeprefix("data:image/") for one in Page(text).all("img")]
    assert kinds == ["png", "svg+xml", "svg+xml", "png"], "level, balance, the key to the beds and the bed"


def test_a_store_is_told_by_itself(school):
    tanks = {tank.name: of_store(school, tank) for tank in school.site.tank}
    assert tanks["Class-room tank"].summary["first_short"] is None
    assert tanks["Class-room tank"].summary["days_lasted"] == 153
    assert tanks["Shed butt"].summary["days_lasted"] == school.summary["days_lasted"] == 69
    assert set(tanks["Shed butt"].tanks["tank"]) == {"Shed butt"}
    butt = school.tanks[school.tanks["tank"] == "Shed butt"]
    assert tanks["Shed butt"].summary["mains_days"] == (butt["mains_l"] > 0).sum()


# ---- The plan --------------------------------------------------------------------------------------------------------


def zone(**keys):
    return Zone.model_validate({"name": "North line", "tank": "Butt", "flow_l_min": 5.0, "minutes": 4.0} | keys)


@pytest.mark.parametrize(
    ("keys", "rules"),
    [
        ({}, {"When": "every day", "How long": "4 minutes (about 20 L)"}),
        ({"every_days": 2}, {"When": "every other day"}),
        ({"every_days": 3, "runs_per_day": 2}, {"When": "every 3 days", "How long": "2 times 4 minutes (about 20 L)"}),
        ({"weekdays": ["thu", "mon"]}, {"When": "on Monday and Thursday"}),
        ({"weekdays": ["mon", "tue", "wed", "thu", "fri"]}, {"When": "from Monday to Friday"}),
        ({"weekdays": ["sat", "sun"], "from": "05-01"}, {"When": "on Saturday and Sunday, 1 May to 31 December"}),
        ({"from": "05-15", "to": "09-20"}, {"When": "every day, 15 May to 20 September"}),
        ({"plan": "dry"}, {"Only if": "the soil of one of its beds has dried out"}),
        ({"plan": "refill"}, {"How long": "at most 4 minutes (about 20 L)", "Stop": "when the soil is moist again"}),
        ({"hot_above_c": 25.0, "hot_minutes": 8.0}, {"Hot days": "from 25 °C: 8 minutes"}),
        ({"skip_rain_mm": 4.0, "skip_rain_days": 1}, {"Not after": "4 mm of rain in 1 day"}),
    ],
)
def test_the_plan_says_how_a_zone_waters(school, keys, rules):
    told = dict(zone_task(zone(**keys), school.site).rules)
    assert rules.items() <= told.items()
    assert set(told) - set(rules) <= {"When", "How long"}


def test_the_plan_says_where_the_water_goes(school):
    north, south = (zone_task(one, school.site) for one in school.site.zone)
    assert north.what == "Class-room tank to Tomato bed, Bean bed, Salad bed and Carrot bed"
    assert south.what == "Shed butt to Potato bed and Courgette bed"


def test_the_plan_holds_other_draws():
    task = draw_task(Draw.model_validate({"name": "Hens", "tank": "Butt", "l_per_day": 2.5}))
    assert (task.name, task.what, list(task.rules)) == (
        "Hens",
        "from Butt",
        [("When", "every day"), ("How much", "2.5 L a day")],
    )


# ---- The command -----------------------------------------------------------------------------------------------------


def call(*words, site=None):
    command = ["report", str(site or site_path()), *map(str, words)]
    return CliRunner().invoke(PROGRAM, command, catch_exceptions=False)


def without_line(html, line):
    return "".join(one for one in html.splitlines(keepends=True) if one.strip() != line)


def test_the_command_writes_the_page_and_says_the_verdict(tmp_path, school, text):
    result = call("-o", tmp_path / "summer.html")
    assert result.exit_code == 0
    assert " ".join(verdict(school)) in " ".join(result.stdout.split())
    assert max(map(len, result.stdout.splitlines())) <= WIDEST
    assert result.stderr == f"Written: {tmp_path / 'summer.html'}\n"
    html = (tmp_path / "summer.html").read_text("utf-8")
    (told,) = re.findall(
        r"<li>On stored rain alone your plan would lose 9\.7\s%.*less than 5\.9\s% without moving water\.</li>", html
    )
    assert without_line(html, told) == text


def test_the_period_and_the_start_are_those_asked_for(tmp_path):
    result = call("-o", tmp_path / "a.html", "--from", "2031-06-01", "--to", "2031-06-30", "--start-l", "Shed butt=0")
    assert result.exit_code == 0
    assert (
        "1 to 30 June 2031" in (written := (tmp_path / "a.html").read_text("utf-8")) or "1 June to 30 June" in written
    )
    assert "Shed butt starts with 0 L" in written or "Shed butt holds 350 L, starts with 0 L" in written


def test_a_file_that_is_there_stays_unless_told(tmp_path):
    file = tmp_path / "a.html"
    file.write_text("mine", "utf-8")
    result = call("-o", file, site=ALLOTMENT)
    assert result.exit_code == 2
    assert result.stderr == f"{file}: is there already; choose another name or add --overwrite\n"
    assert file.read_text("utf-8") == "mine"
    assert call("-o", file, "--overwrite", site=ALLOTMENT).exit_code == 0
    assert file.read_text("utf-8").startswith("<!DOCTYPE html>")


@pytest.mark.parametrize(
    ("words", "fault"),
    [
        (
            ["-o", "a.html", "--with", "odds,luck"],
            'with: "luck" cannot be added; choose from odds, size, hotspell, minutes, ',
        ),
        (["-o", "a.pdf"], "a.pdf: is no web page's name; end it in .html"),
    ],
)
def test_what_cannot_be_is_told_in_a_line_and_nothing_is_written(tmp_path, monkeypatch, words, fault):
    monkeypatch.chdir(tmp_path)
    result = call(*words)
    assert result.exit_code == 2
    assert result.stderr.startswith(fault)
    assert result.stderr.count("\n") == 1
    assert result.stdout == ""
    assert list(tmp_path.iterdir()) == []


def test_words_may_be_spaced_and_told_twice():
    assert further_asked(" Size, odds,size ,") == ["size", "odds"]
    assert further_asked(None) == []
    with pytest.raises(InputError, match='with: "a" and "b" cannot be added'):
        further_asked("a,odds,b")


def test_further_questions_are_answered_on_the_page(tmp_path):
    result = call("-o", tmp_path / "a.html", "--with", "size,hotspell")
    assert result.exit_code == 0
    read = Page((tmp_path / "a.html").read_text("utf-8"))
    headings = [one["text"] for one in read.all("h2")]
    assert "what size for Shed butt: 1 May to 30 September 2031" in headings[-2]
    assert "a hot spell laid on 1 July" in headings[-1]
    assert len(read.all("img")) == 15, "those of the run, of sizes and of the hot spell"
    assert read.unclosed == []


def test_today_and_what_to_improve_are_answered_without_a_picture(tmp_path, monkeypatch):
    monkeypatch.setattr("waterbudget.change.today.real_today", lambda: dt.date(2026, 11, 28))
    result = call("-o", tmp_path / "a.html", "--with", "today,improve")
    assert result.exit_code == 0
    read = Page((tmp_path / "a.html").read_text("utf-8"))
    today, improve = (one["text"] for one in read.all("h2")[-2:])
    assert "Wednesday 1 October 2031" in today
    assert "measures tried, 1 May to 30 September 2031" in improve
    assert read.unclosed == []


def test_a_question_that_the_weather_cannot_answer_is_told_in_its_place(tmp_path):
    result = call("-o", tmp_path / "a.html", "--with", "odds,size")
    assert result.exit_code == 0
    why = "weather.csv: holds 2031-05-01 to 2031-09-30, of which only 2031 is complete from 05-01 to 09-30"
    assert f"odds: not answered: {why}" in result.stderr
    read = Page((tmp_path / "a.html").read_text("utf-8"))
    odds, size = read.all("h2")[-2:]
    assert odds["text"] == "Odds: no answer from this weather"
    assert "what size for Shed butt" in size["text"]
    assert why in plain(" ".join(one["text"] for one in read.all("b")))
    assert read.unclosed == []


def test_odds_of_many_summers_are_on_the_page(tmp_path):
    words = ("-o", tmp_path / "a.html", "--with", "odds", "--from", "2019-05-01", "--to", "2019-06-30")
    result = call(*words, site=DEMO / "years" / "site.toml")
    assert result.exit_code == 0
    read = Page((tmp_path / "a.html").read_text("utf-8"))
    assert "12 recorded summers, 2019 to 2030" in read.all("h2")[-1]["text"]
    assert "in 10 of the 12 summers" in plain(read.all("b")[-1]["text"])


def test_a_sheet_of_gardens_is_told_on_the_page(tmp_path):
    (tmp_path / "sites.csv").write_text("name,tank.Butt.capacity_l\nA,200\nB,600\n", "utf-8")
    asked = ("--with", "batch", "--sheet", tmp_path / "sites.csv")
    result = call("-o", tmp_path / "a.html", *asked, site=DEMO / "allotment" / "site.toml")
    assert result.exit_code == 0, result.stderr
    read = Page((tmp_path / "a.html").read_text("utf-8"))
    assert any("sites.csv, 1 May to 30 September 2033: 2 sites" in part["text"] for part in read.all("section"))
    assert read.unclosed == []
    assert sorted(path.name for path in tmp_path.iterdir()) == ["a.html", "sites.csv"], "no rows are kept"
    assert call("-o", tmp_path / "b.html", "--with", "batch").stderr.startswith("batch: name the sheet of sites")
    assert call("-o", tmp_path / "b.html", *asked[2:]).stderr.startswith("sheet: goes with batch")


def test_a_change_of_the_plan_is_compared_on_the_page(tmp_path):
    change = ("--change", "zone.north.minutes=3")
    result = call("-o", tmp_path / "a.html", "--with", "compare", *change)
    assert result.exit_code == 0
    read = Page((tmp_path / "a.html").read_text("utf-8"))
    assert "B: zone.North line.minutes 10 → 3" in read.all("section")[-1]["text"]
    assert read.unclosed == []
    assert call("-o", tmp_path / "b.html", "--with", "compare").stderr.startswith("compare: name what to change")
    assert call("-o", tmp_path / "b.html", *change).stderr.startswith("change: goes with compare")
    assert not (tmp_path / "b.html").exists()
