"""The notebooks run from end to end, quickly, on what the package offers, and are stored without what they print."""

import ast
import time
from pathlib import Path

import nbformat
import pytest
from nbclient import NotebookClient

import waterbudget
from waterbudget import figures

ROOT = Path(waterbudget.__file__).parents[1]
NOTEBOOKS = sorted((ROOT / "notebooks").glob("*.ipynb"))
LONGEST_S = 60
PICTURES = {"hot_spell": 1, "sizing_a_butt": 1, "summer_level": 3, "town_map": 2}
AT_HAND = {"numpy", "pandas", "pathlib", "tempfile", "waterbudget"}  # what a notebook imports
OFFERED = {"waterbudget": set(waterbudget.__all__), "figures": set(figures.__all__)}


def read(path):
    return nbformat.read(path, as_version=4)


def code_of(notebook):
    """The Python of a notebook, without the lines that only a notebook understands."""
    lines = "\n".join(cell.source for cell in notebook.cells if cell.cell_type == "code").splitlines()
    return "\n".join(line for line in lines if not line.startswith("%"))


@pytest.fixture(params=NOTEBOOKS, ids=lambda path: path.stem)
def path(request):
    return request.param


def test_the_notebooks_are_there():
    assert {path.stem for path in NOTEBOOKS} == PICTURES.keys()


def test_it_runs_and_shows_its_pictures(path, monkeypatch):
    monkeypatch.setenv("PYTHONPATH", str(ROOT))
    notebook = read(path)
    begun = time.monotonic()
    NotebookClient(notebook, timeout=LONGEST_S, resources={"metadata": {"path": path.parent}}).execute()
    assert time.monotonic() - begun < LONGEST_S
    outputs = [output for cell in notebook.cells if cell.cell_type == "code" for output in cell.outputs]
    assert sum("image/png" in output.get("data", {}) for output in outputs) == PICTURES[path.stem]
    assert not [output for output in outputs if output.get("name") == "stderr"], "a warning would stand there"


def test_it_is_stored_stripped(path):
    notebook = read(path)
    nbformat.validate(notebook)
    assert notebook.metadata.keys() == {"kernelspec", "language_info"}
    for cell in notebook.cells:
        assert cell.metadata == {}
        assert cell.cell_type == "markdown" or (cell.outputs == [] and cell.execution_count is None)


def test_it_is_built_on_public_names_only(path):
    for node in ast.walk(ast.parse(code_of(read(path)))):
        if isinstance(node, ast.ImportFrom | ast.Import):
            names = {alias.name for alias in node.names}
            assert ({node.module} if isinstance(node, ast.ImportFrom) else names) <= AT_HAND
            if isinstance(node, ast.ImportFrom) and node.module == "waterbudget":
                assert names <= OFFERED["waterbudget"]
        if isinstance(node, ast.Attribute):
            assert not node.attr.startswith("_")
            if isinstance(node.value, ast.Name) and node.value.id in OFFERED:
                assert node.attr in OFFERED[node.value.id]


def test_more_is_said_than_run(path):
    notebook = read(path)
    assert notebook.cells[0].source.startswith("# ")
    words = sum(len(cell.source.split()) for cell in notebook.cells if cell.cell_type == "markdown")
    assert words > 100
    assert all(len(cell.source.splitlines()) <= 20 for cell in notebook.cells)
