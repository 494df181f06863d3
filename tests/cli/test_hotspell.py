"""The command end to end: the demo gardens, its files, and every refusal in a line of its own."""

import json
import shutil
from pathlib import Path

import pytest
from asking import REFUSED, Asker
from brackenfold import stations, waterbudget_

from waterbudget.cli.hotspell import hotspell

DEMO = Path(__file__).parent.parent.parent / "data_demo"
SCHOOL, ALLOTMENT = DEMO / "site.toml", DEMO / "allotment" / "site.toml"
ask = Asker(hotspell)


def test_the_demo_garden():
    result = ask(SCHOOL)
    assert result.exit_code == 0
    assert not result.stderr
    assert result.stdout.startswith("Brackenfold school kitchen garden, a hot spell laid on 1 July to 21 July 2031")
    assert "Assumed" not in result.stdout
    assert "Assumed" in ask(SCHOOL, "--full").stdout


def test_another_spell():
    words = (
        "--days",
        14,
        "--high-c",
        30,
        "--low-c",
        18,
        "--rain-mm",
        0.5,
        "--from",
        "2033-05-25",
        "--start-l",
        "Butt=200",
    )
    summary = json.loads(ask(ALLOTMENT, *words, "--json").stdout)
    assert (summary["days"], summary["period"]) == (14, {"from": "2033-05-25", "to": "2033-06-07"})
    assert (summary["tmax_c"], summary["tmin_c"], summary["rain_mm"]) == (30.0, 18.0, 0.5)
    assert summary["tanks"] == [{"name": "Butt", "start_l": 200.0}]


def test_the_files(tmp_path):
    picture, calendar = tmp_path / "hot.png", tmp_path / "hot.ics"
    result = ask(ALLOTMENT, "--plot", picture, "--ics", calendar, "--ics-plan", "work")
    assert result.exit_code == 0
    assert result.stderr.splitlines() == [f"Written: {picture}", f"Written: {calendar}"]
    assert picture.read_bytes().startswith(b"\x89PNG")
    assert calendar.read_bytes().startswith(b"BEGIN:VCALENDAR")
    again = ask.told(ALLOTMENT, "--ics", calendar)
    assert again == f"{calendar}: is there already; choose another name or add --overwrite"
    assert ask(ALLOTMENT, "--ics", calendar, "--overwrite").exit_code == 0


def test_a_garden_without_a_site_here_is_the_example(tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    result = ask("--days", 3)
    assert result.exit_code == 0
    assert "built-in example" in result.stderr


@pytest.mark.parametrize(
    ("words", "line"),
    [
        (("--days", 0), "days is 0; write 1 to 92, such as 21 for three weeks"),
        (("--days", 400), "days is 400; write 1 to 92, such as 21 for three weeks"),
        (("--low-c", 30), "low is 30; write degrees Celsius below the high of 26, and not under -21"),
        (("--high-c", 20, "--low-c", 25), "low is 25; write degrees Celsius below the high of 20, and not under -21"),
        (("--high-c", "nan"), "high is nan; write degrees Celsius from -10 to 55"),
        (("--rain-mm", -1), "rain-mm is -1; write the millimetres of each of its days, 0 to 50"),
        (
            ("--from", "2040-01-01"),
            (
                "from is 2040-01-01, and the weather that leads up to it (weather.csv) has 2031-05-01 to 2031-09-30; "
                "choose a day from 2031-05-01 to 2031-10-01"
            ),
        ),
        (("--start-l", "Pond=3"), '"Pond" is no tank; there is "Class-room tank", "Shed butt"'),
        (("--start-l", "Shed butt=9e9"), 'start level of "Shed butt" is 9e+09 L; write 0 to 350, its capacity'),
        (("--ics", "hot.txt"), "hot.txt: can't write a calendar as .txt; use .ics"),
        (("--plot", "hot.gif"), "hot.gif: can't draw .gif; use .png, .svg or .pdf"),
    ],
)
def test_what_cannot_be_is_told_in_a_line(words, line):
    assert ask.told(SCHOOL, *words) == line


@pytest.mark.parametrize(
    "words", [("--days", "many"), ("--from", "July"), ("--start-l", "200"), ("--ics-plan", "best")]
)
def test_words_that_are_none_are_usage_errors(words):
    result = ask(SCHOOL, *words)
    assert result.exit_code == REFUSED
    assert "Usage" in result.stderr


def test_a_site_without_latitude_is_told_so(tmp_path):
    shutil.copytree(DEMO, tmp_path / "demo")
    site, rows = tmp_path / "demo" / "site.toml", ["date,rain_mm,et0_mm,tmax_c"]
    site.write_text(
        "\n".join(line for line in SCHOOL.read_text("utf-8").splitlines() if "latitude" not in line), "utf-8"
    )
    rows += [f"2031-07-{day:02d},0,4,24" for day in range(1, 11)]
    (tmp_path / "demo" / "weather.csv").write_text("\n".join(rows), "utf-8")
    assert ask.told(site).startswith("site.latitude_deg: is missing; add latitude_deg = 53.1")


def test_the_weather_of_a_station_leads_up_to_it(tmp_path, monkeypatch):
    with stations(monkeypatch, tmp_path):
        assert waterbudget_("weather", "site.toml").exit_code == 0
        result = ask("site.toml", "--json")
    assert result.exit_code == 0
    summary = json.loads(result.stdout)
    assert summary["period"]["from"].endswith("-07-01")
    assert summary["et0_mm"] > 21.0


def test_no_temperature_is_minus_nothing():
    told = ask(SCHOOL, "--days", 3, "--high-c", 20, "--low-c", "-0.0", "--full")
    assert "20\N{NO-BREAK SPACE}°C by day" in told.stdout
    assert "Nights at 0\N{NO-BREAK SPACE}°C." in told.stdout
    assert "-0\N{NO-BREAK SPACE}" not in told.stdout
