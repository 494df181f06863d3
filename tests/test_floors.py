"""The house rule: a floor imports only lower floors, by absolute imports; every file stands on one."""

import ast
from graphlib import TopologicalSorter
from pathlib import Path

import pytest

import waterbudget

FLOOR = {
    "units": 0,
    "errors": 0,
    "variables": 0,
    "output": 1,
    "rows": 1,
    "physics": 1,
    "tables": 1,
    "example": 1,
    "line": 2,
    "site": 2,
    "weather": 2,
    "schedule": 3,
    "simulate": 4,
    "plan": 5,
    "batch": 6,
    "sizing": 6,
    "odds": 6,
    "spell": 6,
    "hose": 6,
    "journal": 6,
    "change": 7,
    "review": 7,
    "blocks": 7,
    "answers": 8,
    "render": 9,
    "questions": 10,
    "report": 11,
    "serve": 12,
    "cli": 13,
    "figures": 13,
    "__init__": 14,
    "__main__": 14,
}
APART = {"physics"}  # folders whose files do not import each other either
ROOT = Path(waterbudget.__file__).parent
FILES = sorted(ROOT.rglob("*.py"))


def imported(source):
    """Names of this package that a source imports, wherever it does; a relative import is named with its dots."""
    for node in ast.walk(ast.parse(source)):
        if isinstance(node, ast.Import):
            yield from (alias.name for alias in node.names if alias.name.split(".")[0] == "waterbudget")
        elif isinstance(node, ast.ImportFrom) and (node.level or (node.module or "").split(".")[0] == "waterbudget"):
            yield from (f"{'.' * node.level}{node.module or ''}.{alias.name}" for alias in node.names)


def forbidden(here, source):
    """The imports that a file or folder of this name may not have."""
    for name in imported(source):
        parts = name.split(".")
        there = parts[1] if parts[0] == "waterbudget" and len(parts) > 1 else "__init__"
        inside = there == here and here not in APART
        if name.startswith(".") or there not in FLOOR or not (inside or FLOOR[there] < FLOOR[here]):
            yield name


def place(path):
    return path.relative_to(ROOT).with_suffix("").parts[0]


@pytest.mark.parametrize("path", FILES, ids=lambda path: str(path.relative_to(ROOT)))
def test_a_file_imports_only_lower_floors(path):
    assert list(forbidden(place(path), path.read_text("utf-8"))) == []


def test_every_file_stands_on_a_floor():
    assert {place(path) for path in FILES} <= FLOOR.keys()


def test_every_folder_of_code_is_a_package():
    assert {path.parent for path in FILES} == {path.parent for path in FILES if path.name == "__init__.py"}


@pytest.mark.parametrize(
    ("here", "source", "name"),
    [
        ("site", "from waterbudget.schedule import plan", "waterbudget.schedule.plan"),  # a higher floor
        ("site", "import waterbudget.weather.files", "waterbudget.weather.files"),  # a neighbour
        ("physics", "from waterbudget.physics.tank import tank_day", "waterbudget.physics.tank.tank_day"),
        ("cli", "import waterbudget", "waterbudget"),  # the top
        ("cli", "from waterbudget import run", "waterbudget.run"),  # the top, by a name of its own
        ("site", "from . import links", "..links"),
        ("site", "from .links import link_faults", ".links.link_faults"),
        ("site", "def late():\n    from waterbudget.cli.main import main", "waterbudget.cli.main.main"),
    ],
)
def test_the_rule_finds(here, source, name):
    assert list(forbidden(here, source)) == [name]


def test_the_rule_lets_pass():
    source = "import numpy\nfrom waterbudget.site.model import Site\nfrom waterbudget.tables import crops"
    assert list(forbidden("site", source)) == []


def test_no_import_leads_back():
    """Files of one folder may import each other, but never in a circle, however late."""
    modules = {".".join(("waterbudget", *path.relative_to(ROOT).with_suffix("").parts)): path for path in FILES}
    graph = {
        module: {
            there
            for name in imported(path.read_text("utf-8"))
            for there in (name, name.rpartition(".")[0])
            if there in modules and there != module
        }
        for module, path in modules.items()
    }
    assert sum(map(len, graph.values())) > len(graph), "imports are found"
    assert list(TopologicalSorter(graph).static_order())  # raises CycleError
