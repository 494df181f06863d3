"""A gardener's own table comes in: shown, asked for, written, named in the site file; or refused, with no change."""

import json
import os
import tomllib

import pytest
from brackenfold import waterbudget_ as waterbudget
from click.testing import CliRunner

from waterbudget.cli import imported
from waterbudget.cli.main import main
from waterbudget.rows.text import MOST_BYTES
from waterbudget.site.starter import Answers, write_starter

SHEET = "Day;Regen (mm);Hoch (°C);Min (°C)\n" + "".join(
    f"{day}.5.2031;{day % 3},5;{15 + day % 4},5;{5 + day % 5}\n" for day in range(1, 20)
)


@pytest.fixture
def garden(tmp_path, monkeypatch):
    """A starter in a folder of its own, and a table beside it."""
    write_starter(tmp_path, Answers())
    (tmp_path / "sheet.csv").write_text(SHEET, "utf-8")
    monkeypatch.chdir(tmp_path)
    return tmp_path


def everything(folder):
    return {
        path.name: path.read_bytes() for path in folder.iterdir() if path.is_file() and not path.name.startswith(".")
    }


def bring(*words, columns=("Hoch (°C)=tmax_c",)):
    said = [word for column in columns for word in ("--columns", column)]
    return waterbudget("weather", "site.toml", "--import", "sheet.csv", *said, *words)


def test_what_was_understood_is_shown_and_nothing_written_until_somebody_says_yes(garden):
    before = everything(garden)
    shown = bring()
    assert shown.exit_code == 2
    assert shown.stderr == (
        "Nothing was written. If it is right, add --yes; if not, say what a column is (--columns)\n"
    )
    screen = " ".join(shown.stdout.split())
    assert "19 days, 1 May to 19 May 2031: rain, lowest temperature and highest temperature. That is enough" in screen
    assert "It goes to weather.csv, in place of the invented weather that came with the starter." in screen
    assert "2031-05-01 1,5 16,5 6" in screen
    assert "Hoch (°C) highest temperature (tmax_c) °C 19" in screen
    assert max(map(len, shown.stdout.splitlines())) <= 100
    assert everything(garden) == before


def test_yes_writes_it_and_a_run_takes_it(garden):
    brought = bring("--yes")
    assert brought.exit_code == 0
    assert brought.stderr.splitlines() == ["Written: weather.csv.", "Next: waterbudget check site.toml"]
    first = (garden / "weather.csv").read_text("utf-8").splitlines()[:2]
    assert first == ["date,rain_mm,tmin_c,tmax_c,source", "2031-05-01,1.5,6.0,16.5,sheet.csv"]
    ran = json.loads(waterbudget("run", "site.toml", "--json").stdout)
    assert ran["days"] == 19


def test_a_file_of_ones_own_needs_overwrite_and_the_same_again_does_nothing(garden):
    bring("--yes")
    before = everything(garden)
    again = bring("--yes")
    assert (again.exit_code, "it is there already" in again.stderr) == (0, True)
    (garden / "sheet.csv").write_text(SHEET.replace("19.5.2031;1,5", "19.5.2031;2,5"), "utf-8")
    refused = bring("--yes")
    assert (refused.exit_code, refused.stdout) == (2, "")
    assert refused.stderr == "weather.csv: is there already; choose another name or add --overwrite\n"
    assert everything(garden) == before | {"sheet.csv": (garden / "sheet.csv").read_bytes()}
    assert bring("--yes", "--overwrite").exit_code == 0
    assert "2031-05-19,2.5," in (garden / "weather.csv").read_text("utf-8")


@pytest.mark.parametrize(("answer", "code"), [("y\n", 0), ("n\n", 2), ("", 1)])
def test_at_a_terminal_it_asks(garden, monkeypatch, answer, code):
    monkeypatch.setattr(imported, "is_terminal", lambda: True)
    before = everything(garden)
    asked = waterbudget(
        "weather", "site.toml", "--import", "sheet.csv", "--columns", "Hoch (°C)=tmax_c", type_in=answer
    )
    assert asked.exit_code == code
    assert "Write it? [y/N]" in asked.stderr
    assert (everything(garden) == before) == (code != 0)


def test_a_site_on_a_station_is_pointed_at_the_file(garden):
    path = garden / "site.toml"
    text = path.read_text("utf-8").replace('file = "weather.csv"', "nearest = true  # near by\nfill = true")
    path.write_text(text, "utf-8")
    brought = bring("--yes", "--out", "mine.csv")
    assert brought.exit_code == 0
    assert brought.stderr.splitlines()[0] == "Written: mine.csv, site.toml and site.toml.bak."
    assert tomllib.loads(path.read_text("utf-8"))["weather"] == {"file": "mine.csv"}
    assert (garden / "site.toml.bak").read_text("utf-8") == text
    before, after = text.splitlines(), path.read_text("utf-8").splitlines()
    assert [line for line in after if line not in before] == ['file = "mine.csv"']


GAUGE = "Day;Regen (mm)\n" + "".join(f"{day}.5.2031;{day % 3},5\n" for day in range(1, 22))


USUAL = "\n[usual]\njuly_high_c = 21\njuly_low_c = 12\njanuary_high_c = 7\njanuary_low_c = 1\n"


def test_rain_alone_takes_the_place_of_invented_weather_with_usual_temperatures(garden):
    (garden / "sheet.csv").write_text(GAUGE, "utf-8")
    (garden / "site.toml").write_text((garden / "site.toml").read_text("utf-8") + USUAL, "utf-8")
    brought = bring("--yes", "--day-first", columns=())
    assert brought.exit_code == 0
    told = " ".join(brought.stdout.split())
    assert "stands for your own rain gauge, with your usual temperatures, in place of the invented weather." in told
    assert tomllib.loads((garden / "site.toml").read_text("utf-8"))["weather"] == {"gauge": "gauge.csv"}
    assert CliRunner().invoke(main, ["log", "site.toml", "300L"]).exit_code == 0
    ran = waterbudget("run", "site.toml")
    assert ran.exit_code == 0
    assert "1 May to 21 May 2031" in ran.stdout
    told = CliRunner().invoke(main, ["today", "site.toml", "--on", "2031-05-23"])
    assert told.stdout.startswith("My garden, Friday 23 May 2031")


def test_rain_alone_becomes_the_gauge(garden):
    (garden / "sheet.csv").write_text("Week ending,Rain mm\n08/05/2031,14\n15/05/2031,0\n22/05/2031,7\n", "utf-8")
    brought = bring("--yes", columns=())
    assert brought.exit_code == 0
    assert "stands for your own rain gauge, beside other weather." in " ".join(brought.stdout.split())
    assert tomllib.loads((garden / "site.toml").read_text("utf-8"))["weather"] == {
        "file": "weather.csv", "gauge": "gauge.csv"
    }  # fmt: skip
    assert (garden / "gauge.csv").read_text("utf-8").splitlines()[:2] == [
        "date,rain_mm,source",
        "2031-05-02,2.0,sheet.csv",
    ]
    ran = waterbudget("run", "site.toml")
    assert "21 of 153 days from the gauge gauge.csv" in ran.stderr


def test_the_height_of_the_wind_goes_into_the_site_file(garden):
    rows = "".join(f"2031-05-0{day},0,{day},1{day},3.6,70,9\n" for day in range(1, 8))
    head = "time,rain_sum (mm),temp_min (°C),temp_max (°C),wind_speed_10m_mean (km/h),RH %,Sun h\n"
    (garden / "sheet.csv").write_text(head + rows, "utf-8")
    assert bring("--yes", columns=()).exit_code == 0
    assert tomllib.loads((garden / "site.toml").read_text("utf-8"))["weather"] == {
        "file": "weather.csv", "wind_height_m": 10
    }  # fmt: skip


@pytest.mark.usefixtures("garden")
def test_json_says_the_same_to_machines():
    told = json.loads(bring("--yes", "--json").stdout)
    assert (told["question"], told["table"], told["rows"], told["days"]) == ("imported", "sheet.csv", "day", 19)
    assert told["period"] == {"from": "2031-05-01", "to": "2031-05-19"}
    assert told["columns"][0] == {
        "heading": "Regen (mm)", "column": "rain_mm", "unit": "mm", "unit_is_assumed": False, "days": 19
    }  # fmt: skip
    assert (told["file"], told["replaces"], told["lacking"]) == ("weather.csv", "invented", [])


@pytest.mark.parametrize(
    ("content", "words", "said"),
    [
        (b"\x89PNG\r\n\x1a\n", (), "sheet.csv: is a picture, not a table in plain text; copy its table into"),
        (b"Rain,Wind\n1,2\n", (), 'sheet.csv: no column of dates among "Rain", "Wind"; if one is, say so'),
        (b"Date,Rain\n03/04/2026,1\n", (), 'sheet.csv: row 2: Date is "03/04/2026", which may be 2026-04-03 or'),
        (b"Date,Rain,Tmin,Tmax\n2031-05-01,0,1,9\n2031-05-03,0,1,9\n", (), "sheet.csv: rain_mm: 1 of 3 days missing"),
        (None, (), "sheet.csv: there is no such file; check its name and folder"),
        (b"Date,Rain\n2031-05-01,1\n", ("--columns", "Rain"), '--columns "Rain": write HEADING=NAME, with a name of'),
        (b"Date,Rain\n2031-05-01,1\n", ("--columns", "Foo=rain_mm"), '--columns: sheet.csv has no column "Foo"'),
        (
            b"Date,Rain\n2031-05-01,1\n",
            ("--from", "2032-01-01"),
            "sheet.csv: has 2031-05-01 to 2031-05-01, none of the",
        ),
        (b"Date,Rain\n2031-05-01,1\n", ("--out", "sheet.csv"), "sheet.csv: is the file to be written, too; give it"),
        (
            b"Date,Rain\n2031-05-01,1\n",
            ("--station", "X0001"),
            "--import: goes without --station, --fill and --refresh",
        ),
    ],
)
def test_a_table_that_will_not_do_changes_nothing(garden, content, words, said):
    path = garden / "sheet.csv"
    path.unlink() if content is None else path.write_bytes(content)
    before = everything(garden)
    refused = bring("--yes", *words, columns=())
    assert (refused.exit_code, refused.stdout) == (2, "")
    (line,) = refused.stderr.splitlines()
    assert line.startswith(said)
    assert everything(garden) == before


def test_neither_a_pipe_nor_ten_million_rows_are_waited_for(garden):
    (garden / "sheet.csv").unlink()
    os.mkfifo(garden / "sheet.csv")
    assert bring("--yes").stderr.startswith("sheet.csv: is a pipe or a device; save what it holds as a file")
    (garden / "sheet.csv").unlink()
    with (garden / "sheet.csv").open("wb") as handle:
        handle.truncate(MOST_BYTES + 1)  # as ten million rows would be, and takes no room on the disk
    refused = bring("--yes")
    assert (refused.exit_code, refused.stderr) == (2, "sheet.csv: is larger than 100 MB; name a table\n")
