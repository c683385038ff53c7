"""Notebooks stay thin, hold no output (outputs may hold data), and run against a real release."""

import ast
from pathlib import Path

import nbformat
import pytest
from nbclient import NotebookClient

from etl.home import Home

FOLDER = Path(__file__).resolve().parents[1] / "dashboards" / "notebooks"
NOTEBOOKS = sorted(FOLDER.glob("*.ipynb"))


def cells(path: Path, kind: str) -> list[nbformat.NotebookNode]:
    return [cell for cell in nbformat.read(path, as_version=4).cells if cell.cell_type == kind]


def test_there_are_three() -> None:
    assert len(NOTEBOOKS) >= 3


@pytest.mark.parametrize("path", NOTEBOOKS, ids=lambda path: path.stem)
def test_thin_and_stripped(path: Path) -> None:
    code = cells(path, "code")
    assert len(code) + len(cells(path, "markdown")) <= 12
    assert not any(cell.outputs or cell.execution_count for cell in code)
    headings = [line for cell in cells(path, "markdown") for line in cell.source.splitlines()]
    assert sum(line.startswith("# ") for line in headings) == 1


@pytest.mark.parametrize("path", NOTEBOOKS, ids=lambda path: path.stem)
def test_defines_nothing_and_imports_from_the_rooms(path: Path) -> None:
    tree = ast.parse("\n".join(cell.source for cell in cells(path, "code")))
    assert not [node for node in ast.walk(tree) if isinstance(node, ast.FunctionDef | ast.ClassDef)]
    modules = {node.module.split(".")[0] for node in ast.walk(tree) if isinstance(node, ast.ImportFrom)}
    assert modules <= {"dashboards"}


@pytest.mark.parametrize("path", NOTEBOOKS, ids=lambda path: path.stem)
def test_runs_on_a_release(path: Path, demo_home: Home, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("EVENHAND_HOME", str(demo_home.root))
    notebook = nbformat.read(path, as_version=4)
    NotebookClient(notebook, timeout=180, resources={"metadata": {"path": str(FOLDER)}}).execute()
    shown = [output for cell in notebook.cells if cell.cell_type == "code" for output in cell.outputs]
    assert any("text/html" in output.get("data", {}) for output in shown)
    assert not any(output.output_type == "error" for output in shown)
