"""The command line end to end."""

import json

from asking import REFUSED, Asker
from hose import garden

from waterbudget.cli.line import line

ask = Asker(line)


def test_the_answer_stands_on_the_screen(tmp_path):
    told = ask(garden(tmp_path))
    assert told.exit_code == 0
    assert not told.stderr
    assert told.stdout.startswith("North line of Brackenfold school kitchen garden, with 900 L in Class-room tank")
    assert "The ring with 36 open jets gives" in told.stdout


def test_json_and_level(tmp_path):
    path = garden(tmp_path)
    low, high = (json.loads(ask(path, "North line", "--level-l", level, "--json").stdout) for level in (0, 1500))
    assert (low["level_l"], low["zone"]) == (0.0, "North line")
    assert low["flow_l_min"] < high["flow_l_min"]
    assert len(low["jets"]) == 36


def test_a_picture_is_written_and_never_over_another(tmp_path):
    path, picture = garden(tmp_path), tmp_path / "line.svg"
    told = ask(path, "--plot", picture)
    assert told.stderr == f"Written: {picture}\n"
    before = picture.read_bytes()
    again = ask(path, "--plot", picture, "--level-l", 0)
    assert again.exit_code == REFUSED
    assert picture.read_bytes() == before
    assert ask(path, "--plot", picture, "--level-l", 0, "--overwrite").exit_code == 0
    assert picture.read_bytes() != before


def test_a_fault_is_one_line(tmp_path):
    told = ask(garden(tmp_path), "East line")
    assert told.exit_code == REFUSED
    assert not told.stdout
    assert told.stderr == '"East line" is no zone with a [[zone.line]]; did you mean "North line"?\n'
