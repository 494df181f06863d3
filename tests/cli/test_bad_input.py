"""Wrong input from end to end: exit code 2, a clear line a fault on stderr, nothing on stdout, nothing written."""

import os
import re

import pytest
from click.testing import CliRunner

from waterbudget.cli.main import main
from waterbudget.example import site_path

WEATHER = "date,rain_mm,tmin_c,tmax_c\n2031-05-01,0,8,19\n2031-05-02,3.5,9,17\n2031-05-03,0,7,26\n"
SITE = """
[site]
name = "Brackenfold"
latitude_deg = 53.1
elevation_m = 140

[weather]
file = "weather.csv"

[[roof]]
name = "Shed roof"
tank = "Shed butt"
area_m2 = 8
covering = "metal sheet"

[[tank]]
name = "Shed butt"
capacity_l = 350
start_l = 260

[[zone]]
name = "South line"
tank = "Shed butt"
flow_l_min = 5
minutes = 12

[[bed]]
name = "Potato bed"
area_m2 = 4.5
zone = "South line"
soil = "sandy loam"

[[bed.planting]]
crop = "potato"
planted = "04-10"
"""


def everything(folder):
    return {
        path: (path.stat().st_mtime_ns, path.read_bytes()) if path.is_file() else None for path in folder.rglob("*")
    }


@pytest.fixture
def garden(tmp_path, monkeypatch):
    """The folder that the program runs in, with a site and its weather."""
    (tmp_path / "site.toml").write_text(SITE, "utf-8")
    (tmp_path / "weather.csv").write_text(WEATHER, "utf-8")
    monkeypatch.chdir(tmp_path)
    return tmp_path


@pytest.fixture
def refused(garden):
    """Runs a command that has to be refused, and gives the lines on stderr."""

    def run(*words):
        before = everything(garden)
        result = CliRunner().invoke(main, [str(word) for word in words])
        assert isinstance(result.exception, SystemExit), "a fault is told, not thrown"
        assert (result.exit_code, result.stdout) == (2, "")
        assert everything(garden) == before
        assert "Traceback" not in result.stderr
        return result.stderr.splitlines()

    return run


@pytest.fixture
def usage(refused):
    """As `refused`, for faults of the command line itself: after the usage, one line that tells the fault."""

    def run(*words):
        first, _hint, blank, *errors = refused(*words)
        assert first.startswith("Usage: ")
        assert blank == ""
        (error,) = errors
        return error.removeprefix("Error: ")

    return run


COMMANDS = ["run", "check"]
FAULTY = (
    SITE.replace("area_m2 = 8", "area_m2 = 0").replace("start_l = 260", "start_l = 360").replace("zone = ", "zones = ")
)
FAULTS = [
    "site.toml: bed[1].zones: unknown key; did you mean zone?",
    "site.toml: roof[1].area_m2: is 0; write a number above 0 (plan (horizontal) area in m²)",
    "site.toml: tank[1].start_l: is 360; write at most capacity_l, 350",
]


def test_the_garden_of_these_tests_runs(garden):
    for words in (["run"], ["check"], ["run", "site.toml", "--out", "out", "--plot", "level.svg", "--json"]):
        result = CliRunner().invoke(main, words)
        assert result.exit_code == 0, result.stderr
    assert (garden / "out" / "summary.json").is_file()
    assert (garden / "level.svg").is_file()


@pytest.mark.parametrize("command", COMMANDS)
@pytest.mark.parametrize("name", [[], ["site.toml"]])
def test_a_broken_site_tells_all_its_faults(garden, refused, command, name):
    (garden / "site.toml").write_text(FAULTY, "utf-8")
    assert refused(command, *name) == FAULTS


def test_a_broken_site_writes_nothing(garden, refused):
    (garden / "site.toml").write_text(FAULTY, "utf-8")
    assert refused("run", "--out", "out", "--plot", "new/level.png", "--overwrite", "--json") == FAULTS


@pytest.mark.parametrize("command", COMMANDS)
@pytest.mark.parametrize(
    ("content", "fault"),
    [
        (b"", "is empty; waterbudget new FOLDER makes a starter site"),
        (SITE.encode("utf-16"), "is not UTF-8 text; save the site file as UTF-8"),
        (b"[site]\nname = Brackenfold", 'line 2 (name = Brackenfold): put text in "double quotes"'),
        (SITE.replace('file = "weather.csv"', "").encode(), None),
    ],
    ids=["empty", "UTF-16", "no TOML", "no weather"],
)  # fmt: skip
def test_a_file_that_is_no_site(garden, refused, command, content, fault):
    (garden / "site.toml").write_bytes(content)
    (line,) = refused(command)
    assert line.startswith("site.toml: weather" if fault is None else f"site.toml: {fault}")


@pytest.mark.parametrize("command", COMMANDS)
def test_a_site_that_is_not_there(refused, command):
    assert refused(command, "none.toml") == [
        "none.toml: there is no such file; waterbudget new FOLDER makes a starter site"
    ]
    assert refused(command, ".") == [".: is a folder; name the site file in it"]


ENDLESS = "is a pipe or a device; save what it holds as a file, and name that"


@pytest.mark.parametrize("command", COMMANDS)
def test_a_site_or_weather_that_never_ends(garden, refused, command):
    os.mkfifo(garden / "pipe")
    assert refused(command, "/dev/zero") == [f"/dev/zero: {ENDLESS}"]
    assert refused(command, "pipe") == [f"pipe: {ENDLESS}"]
    (garden / "weather.csv").unlink()
    os.mkfifo(garden / "weather.csv")
    assert refused(command) == [f"weather.csv: {ENDLESS}"]


@pytest.mark.parametrize(
    "words",
    [
        ["improve", "--options"],
        ["size", "--options"],
        ["cups", "site.toml", "South line"],
        ["batch", "--out=a.parquet"],
    ],
)
def test_a_csv_file_that_never_ends(refused, words):
    assert refused(*words, "/dev/zero") == [f"/dev/zero: {ENDLESS}"]


@pytest.mark.parametrize("command", COMMANDS)
@pytest.mark.parametrize(
    ("old", "new", "said"),
    [
        ("3.5", "3,5", ["row 3"]),
        ("3.5", "wet", ["weather.csv: row 3 (2031-05-02): rain_mm", "wet"]),
        ("3.5", "", ["weather.csv: row 3 (2031-05-02): rain_mm"]),
        ("3.5", "nan", ["weather.csv: row 3 (2031-05-02): rain_mm", "nan"]),
        ("3.5", "-1", ["weather.csv: row 3 (2031-05-02): rain_mm", "-1"]),
        ("2031-05-02,", "2031-05-04,", ["2031-05-04"]),
        ("2031-05-02,3.5,9,17\n", "", ["2031-05-02"]),
        ("3.5,9,17", "3.5,19,17", ["weather.csv: row 3 (2031-05-02): tmin_c"]),
        ("rain_mm", "rain", ["weather.csv: row 1", "rain_mm"]),
        (WEATHER, "", ["weather.csv: "]),
    ],
)
def test_broken_weather_is_told_with_its_row(garden, refused, command, old, new, said):
    (garden / "weather.csv").write_text(WEATHER.replace(old, new), "utf-8")
    lines = refused(command)
    assert all(line.startswith("weather.csv: ") for line in lines)
    assert all(words in lines[0] for words in said)


@pytest.mark.parametrize("command", COMMANDS)
def test_weather_that_is_not_there(garden, refused, command):
    (garden / "weather.csv").unlink()
    (line,) = refused(command)
    assert "weather.csv: " in line


def test_files_that_are_there_already_stay(garden, refused):
    (garden / "out").mkdir()
    for name in ("beds.csv", "summary.json"):
        (garden / "out" / name).write_text("mine", "utf-8")
    there = "is there already; choose another name or add --overwrite"
    assert refused("run", "--out", "out") == [f"out/beds.csv: {there}", f"out/summary.json: {there}"]
    (garden / "level.png").write_text("mine", "utf-8")
    assert refused("run", "--plot", "level.png") == [f"level.png: {there}"]
    assert refused("run", "--out", "new", "--plot", "level.png") == [f"level.png: {there}"]


def test_a_place_that_cannot_be_written_to(garden, refused):
    assert refused("run", "--out", "weather.csv") == [
        "weather.csv/tanks.csv: cannot be written: weather.csv is no folder; choose another place"
    ]
    assert refused("run", "--plot", "weather.csv/level.png") == [
        "weather.csv/level.png: cannot be written: weather.csv is no folder; choose another place"
    ]
    (garden / "level.png").mkdir()
    assert refused("run", "--plot", "level.png", "--overwrite") == [
        "level.png: is a folder or the like, not a file; choose another name"
    ]


@pytest.mark.parametrize(
    ("name", "kind"), [("level.jpg", ".jpg"), ("level", "a file without an ending"), ("level.png.txt", ".txt")]
)
def test_a_picture_of_an_unknown_kind(refused, name, kind):
    assert refused("run", "--plot", name, "--out", "out") == [f"{name}: can't draw {kind}; use .png, .svg or .pdf"]


def test_tables_and_picture_are_written_together_or_not_at_all(refused):
    refused("run", "--out", "out", "--plot", "weather.csv/level.png")


@pytest.mark.parametrize("litres", ["-1", "350.5", "1e9"])
def test_a_start_that_the_tank_cannot_hold(refused, litres):
    assert refused("run", "--start-l", f"Shed butt={litres}", "--out", "out") == [
        f'start level of "Shed butt" is {float(litres):g} L; write 0 to 350, its capacity'
    ]


def test_a_start_of_an_unknown_tank(refused):
    assert refused("run", "--start-l", "Shet butt=100", "--out", "out") == [
        '"Shet butt" is no tank; did you mean "Shed butt"?'
    ]


@pytest.mark.parametrize(
    "level", ["Shed butt=nan", "Shed butt=inf", "Shed butt=half", "Shed butt=", "Shed butt", "=100", "1,5"]
)
def test_a_start_that_is_no_level(usage, level):
    assert usage("run", "--start-l", level, "--out", "out") == (
        f'Invalid value for \'--start-l\': "{level}" is no level; write TANK=LITRES, such as "Shed butt=150"'
    )


@pytest.mark.parametrize("day", ["01/05/2031", "2031-5", "2031-02-30", "May", ""])
@pytest.mark.parametrize("option", ["--from", "--to"])
def test_a_day_that_is_no_date(usage, option, day):
    assert usage("run", option, day) == (
        f"Invalid value for '{option}': \"{day}\" is no date; write YYYY-MM-DD, such as 2031-05-01"
    )


def test_a_period_that_ends_before_it_begins(refused):
    said = "the period starts on 2031-05-03 and ends before it, on 2031-05-01"
    assert refused("run", "--from", "2031-05-03", "--to", "2031-05-01", "--out", "out") == [
        f"weather.csv: {said}; choose days from 2031-05-01 to 2031-05-03"
    ]


@pytest.mark.parametrize(
    ("words", "asked"),
    [
        (["--from", "2031-04-30"], "2031-04-30 to 2031-05-03"),
        (["--to", "2031-05-04"], "2031-05-01 to 2031-05-04"),
        (["--from", "2030-05-01", "--to", "2030-05-03"], "2030-05-01 to 2030-05-03"),
    ],
)
def test_a_period_outside_the_weather(refused, words, asked):
    assert refused("run", *words, "--out", "out") == [
        f"weather.csv: has no weather for all of {asked}; choose days from 2031-05-01 to 2031-05-03"
    ]


def test_hot_days_that_the_weather_cannot_tell(garden, refused):
    site = SITE.replace("minutes = 12", "minutes = 12\nhot_above_c = 25\nhot_minutes = 20")
    (garden / "site.toml").write_text(site, "utf-8")
    (garden / "weather.csv").write_text("date,rain_mm,et0_mm\n2031-05-01,0,3\n", "utf-8")
    (line,) = refused("run", "--out", "out")
    assert line.startswith("weather.csv: zone[1].hot_above_c needs a tmax_c column")


@pytest.mark.parametrize(
    ("words", "unknown"),
    [
        (["rum"], "rum"),
        (["run", "--plott", "a.png"], "--plott"),
        (["run", "a", "b"], "b"),
        (["check", "--overwrite"], "--overwrite"),
    ],
)
def test_a_word_that_the_program_does_not_know(usage, words, unknown):
    assert unknown in re.findall(r"[\w-]+", usage(*words))


def test_the_packaged_example_is_left_as_it_is(refused):
    """Nobody writes beside it by naming it."""
    (line,) = refused("run", site_path(), "--out", site_path(), "--overwrite")
    assert line.endswith("site.toml is no folder; choose another place")
