"""The command line as a user meets it: fast help with examples, one line for a mistake, honest exit codes."""

import subprocess
import sys
from pathlib import Path
from typing import Any

import pytest
import typer

from dashboards.cli import app

HEAVY = ("pandas", "scipy", "sklearn", "panel", "holoviews", "bokeh", "duckdb", "numpy", "pyarrow")


def commands() -> list[tuple[str, ...]]:
    """Return every command path, sub-commands included."""

    def walk(command: Any, path: tuple[str, ...]) -> list[tuple[str, ...]]:
        children = getattr(command, "commands", {})
        return [path, *(line for name, child in children.items() for line in walk(child, (*path, name)))]

    return walk(typer.main.get_command(app), ())


def run(*arguments: str, home: Path | None = None) -> subprocess.CompletedProcess[str]:
    line = [sys.executable, "-c", "from dashboards.cli import main; main()", *arguments]
    if home is not None:
        line += ["--home", str(home)]
    return subprocess.run(line, capture_output=True, text=True, check=False)


def test_help_imports_nothing_heavy() -> None:
    code = (
        "import sys\nfrom dashboards.cli import app\n"
        "try:\n    app(['--help'])\nexcept SystemExit:\n    pass\n"
        f"print('HEAVY', sorted(set({HEAVY!r}) & set(sys.modules)))"
    )
    printed = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True).stdout
    assert "HEAVY []" in printed


@pytest.mark.parametrize("path", commands(), ids=lambda path: " ".join(path) or "evenhand")
def test_every_command_has_help_with_an_example(path: tuple[str, ...]) -> None:
    command: Any = typer.main.get_command(app)
    for name in path:
        command = command.commands[name]
    assert command.help
    assert "Example: evenhand" in command.help


@pytest.mark.parametrize(
    ("arguments", "words"),
    [
        (("load", "nowhere.csv", "--profile", "nowhere.toml"), "nowhere.toml"),
        (("release", "--period", "2026-10"), "Load"),
        (("release", "--period", "October"), "October"),
        (("release",), "--period"),
        (("release", "list"), "evenhand release"),
        (("release", "verify"), "evenhand release"),
        (("open",), "evenhand release"),
        (("facts",), "evenhand load"),
    ],
    ids=lambda value: " ".join(value) if isinstance(value, tuple) else "",
)
def test_a_mistake_prints_one_line_and_fails(tmp_path: Path, arguments: tuple[str, ...], words: str) -> None:
    done = run(*arguments, home=tmp_path / "empty")
    assert done.returncode == 1
    lines = [line for line in done.stderr.splitlines() if line.startswith("evenhand: ")]
    assert len(lines) == 1, done.stderr
    assert words in lines[0]
    assert "Traceback" not in done.stderr + done.stdout


def test_demo_refuses_a_folder_it_did_not_make(tmp_path: Path) -> None:
    (tmp_path / "mine.txt").write_text("keep me", encoding="utf-8")
    done = run("demo", "--scale", "small", home=tmp_path)
    assert done.returncode == 1
    assert "empty folder" in done.stderr
    assert (tmp_path / "mine.txt").read_text(encoding="utf-8") == "keep me"
