"""The list of commands, as somebody sees it who does not know them yet."""

import pytest
from click.testing import CliRunner

from waterbudget.cli.main import PURPOSES, main


def shown(columns):
    result = CliRunner().invoke(main, ["--help"], terminal_width=columns)
    assert result.exit_code == 0
    return result.stdout


@pytest.mark.parametrize("columns", [44, 80])
def test_no_line_is_cut_or_wider_than_the_window(columns):
    help_text = shown(columns)
    assert "…" not in help_text
    assert "..." not in help_text.replace("COMMAND [ARGS]...", "")
    assert max(map(len, help_text.splitlines())) <= columns


def test_every_command_stands_once_below_what_a_person_wants_by_it():
    sections = shown(80).split("\n\n")
    for purpose, commands in PURPOSES.items():
        (section,) = (text for text in sections if text.startswith(f"{purpose}:\n"))
        named = [line.split()[0] for line in section.splitlines()[1:] if line[2] != " "]
        assert named == [command.name for command in commands]
    assert sorted(command.name for commands in PURPOSES.values() for command in commands) == sorted(main.commands)


def test_the_first_sentence_of_a_command_is_all_there():
    told = " ".join(shown(80).split())
    assert "How many minutes, how often and in how many pulses should each line run, month by month?" in told
