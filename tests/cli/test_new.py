import re
import subprocess
import sys

import pytest
from click.testing import CliRunner
from terminal import SECONDS, on_a_terminal, press_ctrl_c

import waterbudget
from waterbudget.cli.main import main
from waterbudget.site.starter import QUESTIONS, Answers, starter_site

ANSWERS = {
    "garden": "Brackenfold",
    "latitude_deg": "-33.9",
    "roof_m2": "8 x 4.5",
    "capacity_l": "1100",
    "start_l": "420",
    "fill_10_l_s": "40",
    "run_minutes": "7.5",
    "every_days": "3",
    "bed_m2": "4.8 x 2.5",
    "soil": "sandy loam",
    "crop": "courgette",
    "has_mains_hose": "yes",
    "longitude_deg": "151.2",
    "covering": "roof tiles",
    "jets": "drip",
    "cover": "insect net",
    "usual": "16 8 26 19",
}
RIGHT = "Is that right [yes]: "


def new(*arguments):
    return CliRunner().invoke(main, ["new", *map(str, arguments)])


def test_off_the_terminal_nothing_is_asked_and_the_defaults_are_named(tmp_path):
    folder = tmp_path / "garden"
    result = new(folder)
    assert result.exit_code == 0
    assert (folder / "site.toml").read_text("utf-8") == starter_site(Answers())
    assert sorted(path.name for path in folder.iterdir()) == ["site.toml", "weather.csv"]
    assert result.stdout == (
        f"Made {folder / 'site.toml'}. Next:\n"
        f"  waterbudget check {folder / 'site.toml'}\n"
        f"  waterbudget run {folder / 'site.toml'}\n"
    )
    defaults, weather = result.stderr.splitlines()
    assert "Change these first: site.latitude_deg, roof.area_m2, tank.capacity_l, tank.start_l" in defaults
    assert "is invented" in weather


@pytest.mark.parametrize("command", ["check", "run"])
def test_the_next_steps_work(tmp_path, command):
    new(tmp_path / "garden")
    result = CliRunner().invoke(main, [command, str(tmp_path / "garden" / "site.toml")])
    assert result.exit_code == 0, result.output
    assert "My garden" in result.stdout


def test_nothing_is_overwritten_unless_told(tmp_path):
    (tmp_path / "site.toml").write_text("mine")
    result = new(tmp_path)
    assert (result.exit_code, result.stdout) == (2, "")
    assert result.stderr == f"{tmp_path / 'site.toml'}: is there already; choose another name or add --overwrite\n"
    assert [path.name for path in tmp_path.iterdir()] == ["site.toml"]
    assert (tmp_path / "site.toml").read_text() == "mine"
    assert new(tmp_path, "--overwrite").exit_code == 0
    assert (tmp_path / "site.toml").read_text("utf-8") == starter_site(Answers())


def test_a_file_is_no_folder(tmp_path):
    (tmp_path / "garden").write_text("mine")
    result = new(tmp_path / "garden", "--overwrite")
    assert (result.exit_code, result.stdout) == (2, "")
    assert result.stderr.startswith(f"{tmp_path / 'garden'}: is a file; name a folder")


def test_a_folder_that_cannot_be_made_is_told_in_one_line(tmp_path):
    (tmp_path / "file").write_text("mine")
    result = new(tmp_path / "file" / "garden")
    assert (result.exit_code, result.stdout, result.stderr.count("\n")) == (2, "", 1)
    assert "cannot be written" in result.stderr


def test_nothing_is_asked_of_a_closed_stdin(tmp_path):
    command = f'"{sys.executable}" -m waterbudget new "{tmp_path / "garden"}" <&-'
    result = subprocess.run(["sh", "-c", command], capture_output=True, text=True, timeout=SECONDS, check=False)
    assert result.returncode == 0, result.stderr
    assert "nothing was asked" in result.stderr


def test_without_a_folder_it_is_a_usage_error():
    assert new().exit_code == 2


def test_on_a_terminal_each_question_shows_its_hint_and_its_default(tmp_path):
    with on_a_terminal("new", tmp_path / "garden") as (program, terminal):
        so_far = Answers()
        for question in QUESTIONS:
            asked = terminal.wait_for(f"{question.ask} [{question.default(so_far)}]: ")
            assert question.hint in asked
            terminal.type(f"{ANSWERS[question.field]}\n")
            so_far = question.answered(ANSWERS[question.field], so_far)
        read_back = " ".join(terminal.wait_for(RIGHT).split())
        terminal.type("\n")
        end = terminal.to_the_end()
    assert program.returncode == 0
    assert "Your garden: Roof: 36 m² in plan" in read_back
    assert "from Store by drippers to Bed" in read_back
    path = tmp_path / "garden" / "site.toml"
    assert f"waterbudget check {path}\n" in end
    assert "Change these first" not in end
    assert path.read_text("utf-8") == starter_site(so_far)
    site = waterbudget.load_site(path)
    assert (site.site.name, site.roof[0].area_m2, site.tank[0].mains) == ("Brackenfold", 36.0, "direct")
    assert site.zone[0].flow_l_min == 15.0


def test_on_a_terminal_enter_takes_what_stands_in_brackets(tmp_path):
    with on_a_terminal("new", tmp_path / "garden") as (program, terminal):
        for question in QUESTIONS:
            terminal.wait_for(f"{question.ask} [")
            terminal.type("\n")
        terminal.wait_for(RIGHT)
        terminal.type("\n")
        terminal.to_the_end()
    assert program.returncode == 0
    assert (tmp_path / "garden" / "site.toml").read_text("utf-8") == starter_site(Answers())


def test_on_a_terminal_wrong_answers_are_asked_again_with_one_line(tmp_path):
    with on_a_terminal("new", tmp_path / "garden") as (_, terminal):
        terminal.wait_for("garden's name [My garden]: ")
        terminal.type("K\udcfcchengarten\n")  # a byte that is no UTF-8
        assert "is no name; write 1 to 80 letters\n" in terminal.wait_for("garden's name [My garden]: ")
        terminal.type("Brackenfold\n")
        terminal.wait_for("Latitude in degrees [52.9]: ")
        for words, reason in (("north", "is no number"), ("91", "is beyond the poles")):
            terminal.type(f"{words}\n")
            again = terminal.wait_for("Latitude in degrees [52.9]: ")
            told = [line for line in again.splitlines() if line.startswith("Error: ")]
            assert told == [f'Error: "{words}" {reason}; write degrees from -90 to 90, such as 52.9']
        terminal.type("53\n")
        terminal.wait_for("Longitude in degrees [skip]: ")
        terminal.type("\x04")  # Ctrl-D
        assert "Aborted!" in terminal.to_the_end()
    assert list(tmp_path.iterdir()) == []


def take_what_stands_in_brackets(terminal):
    for question in QUESTIONS:
        terminal.wait_for(f"{question.ask} [")
        terminal.type("\n")


def reply(terminal, *pairs):
    """Wait for each prompt and type the words to it; what was shown in all."""
    shown = ""
    for ask, words in pairs:
        shown += terminal.wait_for(f"{ask}")
        terminal.type(f"{words}\n")
    return shown


def test_on_a_terminal_a_slip_is_put_right_and_more_is_added_when_the_garden_is_read_back(tmp_path):
    with on_a_terminal("new", tmp_path / "garden") as (program, terminal):
        take_what_stands_in_brackets(terminal)
        shown = reply(
            terminal,
            (RIGHT, "soil"),
            ("Soil [loam]: ", "crumbles"),
            (RIGHT, "another store"),
            ("Name of the store [Butt]: ", ""),
            ("It holds, in litres: ", "200"),
            ("In it now, in litres [100]: ", ""),
            ("Which store overflows into it [none]: ", "store"),
            ("yes or no [no]: ", ""),
            (RIGHT, "another bed"),
            ("Name of the bed [Bed 2]: ", "Herb corner"),
            ("Bed area in m²: ", "2 x 1"),
            ("Which line waters it [Watering line]: ", "none"),
            ("Soil [sandy loam]: ", ""),
            ("What lies over it [none]: ", ""),
            ("First crop [none]: ", ""),
            ("Day of sowing or planting out [05-20]: ", ""),
            (RIGHT, "another hens"),
            ("How many hens: ", "4"),
            ("A name for their water [Hens]: ", ""),
            ("Which store do they drink from [Butt]: ", ""),
            (RIGHT, "the store holds"),
            ("The store holds, in litres [1500]: ", "600"),  # less than is in it
            (RIGHT, "without hens"),
            (RIGHT, "nothing of it"),
            (RIGHT, "yes"),
        )
        terminal.to_the_end()
    assert program.returncode == 0
    told = " ".join(shown.split())
    assert "droppings of wild birds" in told
    assert "start_l" in told
    assert "left as it was" in told
    assert '"nothing of it" is no question; ' in told
    site = waterbudget.load_site(tmp_path / "garden" / "site.toml")
    assert [(tank.name, tank.capacity_l, tank.overflow_to) for tank in site.tank] == [
        ("Store", 1500.0, "Butt"),
        ("Butt", 200.0, None),
    ]
    assert [(bed.name, bed.zone, bed.soil) for bed in site.bed] == [
        ("Bed", "Watering line", "sandy loam"),
        ("Herb corner", None, "sandy loam"),
    ]
    assert not site.draw


ANSWERS_FILE = """
garden = "Brackenfold"
roof_m2 = "8 x 4.5"
covering = "tin"
fill_10_l_s = "60 to 56 of 100 in 10"
has_mains_hose = true
usual = [21, 12, 7, 1]
[[store]]
name = "Shed butt"
capacity_l = 350
[[store]]
capacity_l = 200
overflow_of = "shed"
[[roof]]
name = "Shed"
tank = "shed"
area_m2 = 9
[[hens]]
hens = 10
"""


def told(folder, text):
    source = folder / "answers.toml"
    source.write_text(text, "utf-8")
    return new(folder / "garden", "--from", source)


def test_a_garden_is_made_of_a_file_of_answers(tmp_path):
    result = told(tmp_path, ANSWERS_FILE)
    assert result.exit_code == 0, result.output
    assert "nothing was asked" not in result.stderr
    site = waterbudget.load_site(tmp_path / "garden" / "site.toml")
    assert [(roof.name, roof.area_m2, roof.covering) for roof in site.roof] == [
        ("Roof", 36.0, "metal sheet"),
        ("Shed", 9.0, "hard roof"),
    ]
    assert [(tank.name, tank.start_l, tank.overflow_to) for tank in site.tank] == [
        ("Store", 750.0, None),
        ("Shed butt", 175.0, "Butt"),
        ("Butt", 100.0, None),
    ]
    assert site.zone[0].flow_l_min == 6.0  # by hand: 4 % of 1,500 L in ten minutes
    assert site.usual.highs_c == (7.0, 21.0)
    assert (site.draw[0].tank, site.draw[0].l_per_day) == ("Butt", 3.0)


def test_no_answers_are_the_defaults(tmp_path):
    assert told(tmp_path, "# none\n").exit_code == 0
    assert (tmp_path / "garden" / "site.toml").read_text("utf-8") == starter_site(Answers())


@pytest.mark.parametrize(
    ("text", "line"),
    [
        ("roof_m = 12\n", '"roof_m" is nothing that is asked; did you mean roof_m2?'),
        ("latitude_deg = 95\n", 'latitude_deg: "95" is beyond the poles; write degrees from -90 to 90'),
        ("start_l = 2000\n", 'start_l: "2000" does not fit; write litres from 0 to the store\'s 1500'),
        ("[store]\ncapacity_l = 9\n", "store: stands in single brackets; write its head as [[store]]"),
        ('[[store]]\nname = "store"\ncapacity_l = 9\n', 'store: name: "store" is a store already'),
        ("[[bed]]\narea = 9\n", 'bed: "area" is nothing that is asked; did you mean area_m2?'),
        ("soil = loam\n", "Invalid value (at line 1, column 8); write key = value, with text in quotes"),
    ],
)
def test_a_wrong_answer_in_a_file_is_told_in_one_line_and_nothing_is_made(tmp_path, text, line):
    result = told(tmp_path, text)
    assert (result.exit_code, result.stdout, result.stderr.count("\n")) == (2, "", 1)
    assert result.stderr.startswith(f"{tmp_path / 'answers.toml'}: ")
    assert line in result.stderr
    assert not (tmp_path / "garden").exists()


@pytest.mark.parametrize("answered", [0, len(QUESTIONS) - 1])
def test_ctrl_c_leaves_nothing_behind(tmp_path, answered):
    with on_a_terminal("new", tmp_path / "garden") as (program, terminal):
        for question in QUESTIONS[:answered]:
            terminal.wait_for(f"{question.ask} [")
            terminal.type("\n")
        terminal.wait_for(f"{QUESTIONS[answered].ask} [")
        terminal.wait_for("]: ")
        press_ctrl_c(program)
        end = terminal.to_the_end()
    assert program.returncode == 1
    assert "Aborted!" in end
    assert "Traceback" not in end
    assert list(tmp_path.iterdir()) == []


def test_a_folder_in_use_is_refused_before_anything_is_asked(tmp_path):
    (tmp_path / "site.toml").write_text("mine")
    with on_a_terminal("new", tmp_path) as (program, terminal):
        end = terminal.to_the_end()
    assert program.returncode == 2
    assert end == f"{tmp_path / 'site.toml'}: is there already; choose another name or add --overwrite\n"


@pytest.mark.parametrize("piped", ["stdin", "stdout"])
def test_nothing_is_asked_when_one_end_is_no_terminal(tmp_path, piped):
    stream = {"stdin": subprocess.DEVNULL, "stdout": subprocess.PIPE}[piped]
    with on_a_terminal("new", tmp_path / "garden", **{piped: stream}) as (program, terminal):
        end = terminal.to_the_end()
    assert program.returncode == 0
    assert not re.search(r"\[.*\]: ", end)
    assert "nothing was asked" in end
    assert (tmp_path / "garden" / "site.toml").read_text("utf-8") == starter_site(Answers())
