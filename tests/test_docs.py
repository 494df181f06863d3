"""What the documents say is run, and is what the program shows."""

import re
import shlex
import shutil
import tomllib

import pytest
from brackenfold import stations
from click.testing import CliRunner
from readme import PAGES, PICTURE, README, ROOT, SCREEN, screen_block

from waterbudget.cli.main import main

LINE = re.compile(r"^\s*(?:Example: |\$ )waterbudget (.+)$", re.MULTILINE)
HELPS = {name: command.help or "" for name, command in main.commands.items()}
TOP_LEVEL = {"README.md", "DEVELOPERS.md", "pyproject.toml", "waterbudget", "tests", "data_demo", "notebooks"}
LINES = LINE.findall("\n".join([README.read_text("utf-8"), *HELPS.values()]))


@pytest.mark.parametrize("name", HELPS)
def test_command_shows_an_example(name):
    assert LINE.search(HELPS[name])


@pytest.mark.parametrize("name", HELPS)
def test_command_is_in_the_readme(name):
    assert f"waterbudget {name}" in README.read_text("utf-8")


@pytest.mark.parametrize("line", dict.fromkeys(LINES))
def test_example_runs(line, tmp_path, monkeypatch):
    shutil.copytree(ROOT / "data_demo", tmp_path / "data_demo")
    monkeypatch.setenv("XDG_DATA_HOME", str(tmp_path / "data"))
    monkeypatch.setattr("waterbudget.serve.start.listen", lambda *_: None)  # it would answer for ever
    monkeypatch.setattr("webbrowser.open", lambda _: None)
    with stations(monkeypatch, tmp_path):  # the one command that asks the network is answered on this machine
        (tmp_path / "site.toml").unlink()
        result = CliRunner().invoke(main, shlex.split(line), catch_exceptions=False)
    assert result.exit_code == 0, result.stderr
    assert result.stdout.strip()


def test_the_readme_shows_the_real_screen():
    assert SCREEN.search(README.read_text("utf-8"))[0] == screen_block()


@pytest.mark.parametrize("picture", [PICTURE, *PAGES], ids=lambda path: path.name)
def test_the_readme_shows_the_picture(picture):
    assert f"]({picture.relative_to(ROOT).as_posix()})" in README.read_text("utf-8")
    assert picture.read_bytes().startswith(b"\x89PNG")


def test_the_readme_python_runs(tmp_path, monkeypatch, capsys):
    shutil.copytree(ROOT / "data_demo", tmp_path / "data_demo")
    monkeypatch.chdir(tmp_path)
    for block in re.findall(r"```python\n(.*?)```", README.read_text("utf-8"), re.DOTALL):
        exec(compile(block, "README.md", "exec"), {})  # noqa: S102
    assert "69" in capsys.readouterr().out


def test_the_gate_runs_the_readme_test_command():
    command = re.search(r"^\s*\$ (.*pytest.*)$", README.read_text("utf-8"), re.MULTILINE)[1]
    assert ".venv/bin/python -m pytest" in command
    assert "pytest' README.md" in (ROOT / ".ci" / "run").read_text("utf-8")


def test_the_licence_is_stated():
    project = tomllib.loads((ROOT / "pyproject.toml").read_text("utf-8"))["project"]
    assert f"SPDX-License-Identifier: {project['license']}" in README.read_text("utf-8")


def test_top_level_holds_what_it_should():
    visible = {path.name for path in ROOT.iterdir() if not path.name.startswith(".")}
    assert visible <= TOP_LEVEL
