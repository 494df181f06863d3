"""Ask a command as somebody at a terminal would."""

import shlex
import shutil
from pathlib import Path

from click.testing import CliRunner

from waterbudget.cli.main import Commands

REFUSED = 2
DEMO = Path(__file__).parent.parent / "data_demo"


class Asker:
    """Runs one command with words: ask("site.toml", "--json")."""

    def __init__(self, command):
        self._name, self._group = command.name, Commands("waterbudget", commands={command.name: command})

    def __call__(self, *words):
        return CliRunner().invoke(self._group, [self._name, *map(str, words)], catch_exceptions=False)

    def line(self, words):
        """The same with words as they stand on a line."""
        return self(*shlex.split(words))

    def told_all(self, *words):
        """The lines with which words are refused."""
        result = self(*words)
        assert (result.exit_code, result.stdout) == (REFUSED, "")
        return result.stderr.splitlines()

    def told(self, *words):
        """The one line with which words are refused."""
        (line,) = self.told_all(*words)
        return line


def at_brackenfold(folder, monkeypatch):
    """Stand in a folder that holds a copy of the demo gardens."""
    shutil.copytree(DEMO, folder / "data_demo", ignore=shutil.ignore_patterns("years"))
    monkeypatch.chdir(folder)
