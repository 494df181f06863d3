"""What reaches a terminal: no letter that it obeys, no value of any length, and a line where nothing can be written."""

import datetime as dt
import json
import re
import subprocess
import sys
import unicodedata
from pathlib import Path

import pytest
from click.testing import CliRunner
from hypothesis import given
from hypothesis import strategies as st

import waterbudget
from waterbudget.cli.main import main
from waterbudget.errors import InputError, cut, shown, visible

ROOT = Path(waterbudget.__file__).parent
OBEYED = ("Cc", "Zl", "Zp", "Cs")  # Unicode's general categories of what is no letter: control, line ends, surrogates
DIRECTION = "\u061c\u200e\u200f\u202a\u202b\u202c\u202d\u202e\u2066\u2067\u2068\u2069"  # Unicode's Bidi_Control
RED, TURN = "\x1b[31m", "\u202e"
LONG = "x" * 5000


def is_obeyed(letter):
    return letter in DIRECTION or unicodedata.category(letter) in OBEYED


def is_clean(text):
    return not any(is_obeyed(letter) and letter not in "\n\t" for letter in text)


# ---- Letters -------------------------------------------------------------------------------------------------------


@given(st.text(st.characters(exclude_categories=[])))
def test_what_a_terminal_obeys_is_written_out_as_json_has_it(text):
    seen = visible(text)
    assert not any(map(is_obeyed, seen))
    assert is_clean(visible(text, "\n\t"))
    if not any(map(is_obeyed, text)):
        assert seen == text
    assert json.loads(json.dumps({"name": text})) == json.loads(visible(json.dumps({"name": text}, ensure_ascii=False)))


def test_a_fault_is_one_line_and_no_longer_than_a_screen():
    error = InputError(["a\nb\x9bc", LONG])
    assert error.faults[0] == "a\\nb\\u009bc"
    assert len(error.faults[1]) == 1000


def test_a_value_is_shown_in_quotes_and_cut():
    assert shown("Shed butt") == '"Shed butt"'
    assert shown("x" * 80) == f'"{"x" * 80}"'
    assert shown("x" * 81) == f'"{"x" * 79}…"'
    assert cut("abc", 2) == "a…"


def test_one_file_alone_prints():
    printing = {
        path.relative_to(ROOT).as_posix()
        for path in ROOT.rglob("*.py")
        if re.search(r"\b(click\.(secho|echo)|print)\(|\bsys\.std(out|err)\.write\(", path.read_text("utf-8"))
    }
    assert printing == {"cli/say.py"}


# ---- Every command -------------------------------------------------------------------------------------------------

GARDEN = """
[site]
name = "Brackenfold"
latitude_deg = 53.1
elevation_m = 140

[weather]
file = "weather.csv"

[[roof]]
name = "Roof"
tank = "Butt"
area_m2 = 8
covering = "metal sheet"

[[tank]]
name = "Butt"
capacity_l = 350
start_l = 260

[[zone]]
name = "Line"
tank = "Butt"
flow_l_min = 5
minutes = 12
every_days = 2

[[bed]]
name = "Bed"
area_m2 = 4.5
zone = "Line"
soil = "loam"

[[bed.planting]]
crop = "potato"
planted = "04-10"
"""
DAYS = "".join(
    f"{dt.date(2031, 5, 1) + dt.timedelta(number)},{6 if number % 7 == 0 else 0},3.5,24\n" for number in range(90)
)
COMMANDS = [
    ["run"],
    ["run", "--json"],
    ["check"],
    ["report", "--out", "page.html"],
    ["size"],
    ["size", "--options", "prices.csv"],
    ["hotspell"],
    ["compare", "--with", "zone.Line.minutes=6"],
    ["improve", "--options", "prices.csv"],
    ["today", "--on", "2031-07-05", "--forecast", "weather.csv"],
    ["log", "--show"],
    ["log"],
    ["cups", "Line", "cups.csv"],
    ["cups", "Line", "strange.csv"],
    ["bucket", "Line", "--litres", "10", "--seconds", "120"],
]


@pytest.fixture
def garden(tmp_path, monkeypatch):
    """A garden whose names and files have letters that a terminal obeys."""
    names = {'"Brackenfold"': '"Bracken\u202efold"', '"Roof"': '"Ro\u2067of"', '"Butt"': '"Bu\u202ett"',
             '"Line"': '"Line\u200f"', '"Bed"': '"Be\u202ad"'}  # fmt: skip
    text = GARDEN
    for name, turned in names.items():
        text = text.replace(name, turned)
    (tmp_path / "site.toml").write_text(text, "utf-8")
    (tmp_path / "weather.csv").write_text(f"date,rain_mm,et0_mm,tmax_c\n{DAYS}", "utf-8")
    (tmp_path / "prices.csv").write_text(f"name,capacity_l,price\nBig{RED}{TURN} butt,1000,90\nSmall,200,30\n", "utf-8")
    (tmp_path / "cups.csv").write_text("bed,caught_ml\n" + "Be\u202ad,20\n" * 4, "utf-8")
    (tmp_path / "strange.csv").write_text(f"bed,caught_ml\nHer{RED}bs{TURN},20\n", "utf-8")
    rows = [f"2031-07-04T19:30:00+01:00,2031-07-04,{what},L00000{n}" for n, what in enumerate(
        ["level,Bu\u202ett,210,L,dip\u202eped,", "ran,Old\u202e line,5,min,,"], 1)]  # fmt: skip
    head = "written_at,date,kind,name,value,unit,note,key,line"
    (tmp_path / "journal.csv").write_text("\n".join([head, *rows, f"torn{RED}", ""]), "utf-8")
    monkeypatch.chdir(tmp_path)
    return tmp_path


def ask(*words):
    return CliRunner().invoke(main, [*words])


def with_site(command):
    """The words of a command, the site file after its name, its line as the garden calls it."""
    name, *others = (word.replace("Line", "Line\u200f") for word in command)
    return [name, "site.toml", *others]


@pytest.mark.usefixtures("garden")
@pytest.mark.parametrize("command", COMMANDS, ids=" ".join)
def test_no_letter_of_a_file_is_obeyed(command):
    told = ask(*with_site(command))
    assert told.exit_code in {0, 2}, told.stderr
    assert is_clean(told.stdout)
    assert is_clean(told.stderr)
    assert "\\u20" in told.stdout + told.stderr
    if "--json" in command:
        assert json.loads(told.stdout)["tanks"][0]["name"] == "Bu\u202ett"


def test_no_letter_of_a_sheet_is_obeyed(garden):
    (garden / "site.toml").write_text(GARDEN, "utf-8")
    (garden / "sites.csv").write_text(f"name,tank.Bu{RED}tt{TURN}.capacity_l\nOne,300\n", "utf-8")
    told = ask("batch", "sites.csv", "--out", "results.parquet")
    assert (told.exit_code, told.stdout) == (2, "")
    assert told.stderr.startswith('sites.csv: row 1: "tank.Bu\\u001b[31mtt\\u202e.capacity_l" is no key of site.toml;')
    assert is_clean(told.stderr)


# ---- Long values ---------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("value", [f"{LONG} {LONG}", "ab'c " * 2000, f"{RED}{TURN}" * 500])
@pytest.mark.parametrize(
    "words",
    [
        ["{}"],
        ["--{}"],
        ["run", "--{}"],
        ["run", "site.toml", "{}"],
        ["run", "--from", "{}"],
        ["run", "--start-l", "{}"],
        ["run", "--start-l", "{}=5"],
        ["compare", "--with", "{}"],
        ["compare", "--with", "zone.{}.minutes=5"],
        ["compare", "--with", "tank.Butt.{}=5"],
        ["improve", "--price", "{}"],
        ["improve", "--price", "{}=5"],
        ["log", "--tank", "{}"],
        ["log", "--tank", "{}=5L"],
        ["log", "--tank", "Butt={}"],
        ["log", "--ran", "Line={}"],
        ["log", "--gauge", "{}"],
        ["log", "--gauge", "1", "--note", "{}"],
        ["size", "--tank", "{}"],
        ["line", "--zone", "{}"],
        ["bucket", "site.toml", "{}", "--litres", "1", "--seconds", "2"],
        ["cups", "site.toml", "{}", "cups.csv"],
        ["odds", "--method", "{}"],
        ["batch", "sites.csv", "--out", "a.parquet", "--sizes", "{}"],
        ["batch", "sites.csv", "--out", "a.parquet", "--scheduler", "{}"],
        ["report", "--with", "{}"],
    ],
    ids=" ".join,
)
def test_a_fault_repeats_no_value_at_length(garden, words, value):
    (garden / "site.toml").write_text(GARDEN, "utf-8")
    (garden / "sites.csv").write_text("name\nOne\n", "utf-8")
    told = ask(*(word.format(value) for word in words))
    assert (told.exit_code, told.stdout) == (2, "")
    line = told.stderr.splitlines()[-1]
    assert len(line) <= 1010
    assert is_clean(told.stderr)
    assert LONG[:100] not in told.stderr


# ---- A full disk ---------------------------------------------------------------------------------------------------

FULL = Path("/dev/full")


@pytest.mark.skipif(not FULL.exists(), reason="this system has no disk that is always full")
@pytest.mark.parametrize(
    "words", [["run", "data_demo/site.toml"], ["crops"], ["--help"], ["size", "--help"], ["--version"]], ids=" ".join
)
def test_output_that_cannot_be_written_ends_with_a_line(words):
    with FULL.open("w") as full:
        told = subprocess.run(
            [sys.executable, "-m", "waterbudget", *words],
            cwd=ROOT.parent,
            stdout=full,
            stderr=subprocess.PIPE,
            text=True,
            check=False,
        )
    assert told.stderr == ("the output cannot be written: No space left on device; make room, or send it elsewhere\n")
    assert told.returncode == 2


@pytest.mark.skipif(not FULL.exists(), reason="this system has no disk that is always full")
def test_a_fault_that_cannot_be_told_keeps_its_exit_code():
    with FULL.open("w") as full:
        told = subprocess.run(
            [sys.executable, "-m", "waterbudget", "run", "none.toml"], stdout=subprocess.PIPE, stderr=full, check=False
        )
    assert (told.stdout, told.returncode) == (b"", 2)


# ---- The width of a screen -----------------------------------------------------------------------------------------


@pytest.mark.parametrize("words", [["run"], ["report"], ["check"], ["size"]], ids=" ".join)
def test_no_line_is_wider_than_a_screen(garden, words):
    """Not even that of a garden with long names, which runs short and is helped out."""
    name = "The old butt behind the shed by the lane that leads to the allotments"
    site = GARDEN.replace('"Butt"', f'"{name}"').replace("start_l = 260", 'start_l = 90\nmains = "direct"')
    (garden / "site.toml").write_text(site.replace("capacity_l = 350", "capacity_l = 100"), "utf-8")
    told = ask(*words, "site.toml")
    assert told.exit_code == 0
    assert name[:20] in told.stdout
    assert max(map(len, told.stdout.splitlines())) <= 100
