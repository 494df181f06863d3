import pytest
from click.testing import CliRunner

from waterbudget.answers import crops, roofs, soils
from waterbudget.cli.main import main
from waterbudget.render.text import text

QUESTIONS = {"crops": crops, "soils": soils, "roofs": roofs}
WORDS = {"crops": "courgette", "soils": "loam", "roofs": "tile"}


@pytest.mark.parametrize("command", QUESTIONS)
def test_the_screen_goes_to_stdout(command):
    for words in ([], [WORDS[command]]):
        result = CliRunner().invoke(main, [command, *words])
        assert (result.exit_code, result.stderr) == (0, "")
        assert result.stdout == f"{text(QUESTIONS[command].answer(*words))}\n"


@pytest.mark.parametrize("command", QUESTIONS)
def test_a_word_that_nothing_answers_to_is_wrong_input(command):
    result = CliRunner().invoke(main, [command, "qqqq"])
    assert (result.exit_code, result.stdout) == (2, "")
    assert result.stderr.count("\n") == 1
    assert result.stderr.endswith(f'is called "qqqq"; waterbudget {command} lists them all\n')


@pytest.mark.parametrize(
    ("command", "name"), [("crops", "soft fruit"), ("soils", "heavy clay"), ("roofs", "clay tile")]
)
def test_a_name_of_several_words_needs_no_quotes(command, name):
    told, quoted = (CliRunner().invoke(main, [command, *words]) for words in (name.split(), [name]))
    assert (told.exit_code, told.stdout) == (0, quoted.stdout)


@pytest.mark.parametrize("command", QUESTIONS)
def test_help_shows_the_word_it_is_tried_with(command):
    result = CliRunner().invoke(main, [command, "--help"])
    assert f"Example: waterbudget {command} {WORDS[command]}" in result.stdout
