"""The house rules that a reader cannot see on one page: imports go down only, modules stay small."""

import ast
import subprocess
from pathlib import Path
from statistics import median

import pytest

ROOT = Path(__file__).resolve().parents[1]
ROOMS = ("models", "etl", "dashboards", "demo_data")
FORBIDDEN = {
    "models": {"etl", "dashboards", "demo_data", "duckdb", "param", "panel", "holoviews", "bokeh", "typer"},
    "etl": {"dashboards", "demo_data", "panel", "holoviews", "bokeh", "param", "typer"},
    "demo_data": {"etl", "models", "dashboards", "panel", "holoviews"},
    "dashboards": {"duckdb", "models"},
}


def modules(room: str) -> list[Path]:
    return sorted((ROOT / room).rglob("*.py"))


def imported(path: Path) -> set[str]:
    """Return the dotted names that a module imports anywhere, also inside functions."""
    names: set[str] = set()
    for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
        if isinstance(node, ast.Import):
            names |= {alias.name for alias in node.names}
        elif isinstance(node, ast.ImportFrom) and node.module:
            names |= {node.module} | {f"{node.module}.{alias.name}" for alias in node.names}
    return names


@pytest.mark.parametrize("room", ROOMS)
def test_imports_go_down_only(room: str) -> None:
    assert modules(room), f"no modules found in {room}"
    climbing = {
        f"{path.relative_to(ROOT)}: {name}"
        for path in modules(room)
        for name in imported(path)
        if name.split(".")[0] in FORBIDDEN[room]
        and not (path.name.startswith("cli") and room == "dashboards")
    }
    assert not climbing


def test_dashboards_reach_etl_through_the_release_door_only() -> None:
    """The command line is the exception: it starts loads and releases, and draws nothing."""
    other_doors = {
        f"{path.relative_to(ROOT)}: {name}"
        for path in modules("dashboards")
        if not path.name.startswith("cli")
        for name in imported(path)
        if name.split(".")[0] == "etl"
        and not name.startswith(("etl.release_door", "etl.home", "etl.errors"))
        and name != "etl"
    }
    assert not other_doors


def test_the_import_check_sees_an_import_inside_a_function(tmp_path: Path) -> None:
    """A check that misses lazy imports could not fail where it matters."""
    module = tmp_path / "sly.py"
    module.write_text("def f():\n    from duckdb import connect\n    return connect\n", encoding="utf-8")
    assert "duckdb" in imported(module)


def test_modules_stay_small() -> None:
    sizes = {
        str(path.relative_to(ROOT)): len(path.read_text(encoding="utf-8").splitlines())
        for room in ROOMS
        for path in modules(room)
    }
    too_long = {name: size for name, size in sizes.items() if size > 350}
    assert not too_long
    assert median(sizes.values()) <= 150


def test_top_level_holds_only_what_the_design_card_names() -> None:
    listed = subprocess.run(["git", "ls-files"], cwd=ROOT, capture_output=True, text=True, check=True).stdout
    top = {line.split("/")[0] for line in listed.splitlines()}
    named = {
        "README.md",
        "DEVELOPERS.md",
        "pyproject.toml",
        "dashboards",
        "etl",
        "models",
        "tests",
        "demo_data",
    }
    assert {name for name in top if not name.startswith(".")} <= named


@pytest.mark.parametrize("path", sorted((ROOT / "etl" / "sql").rglob("*.sql")), ids=lambda path: path.name)
def test_each_sql_file_states_output_grain_and_time(path: Path) -> None:
    head = "\n".join(path.read_text(encoding="utf-8").splitlines()[:8]).lower()
    assert all(f"-- {word}:" in head for word in ("output", "grain", "time"))
