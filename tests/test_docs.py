"""README and DEVELOPERS.md stay true: their paths exist and their commands run."""

import os
import re
import shlex
import subprocess
import sys
from pathlib import Path

import pytest

from etl.home import Home

ROOT = Path(__file__).resolve().parents[1]
DOCS = ("README.md", "DEVELOPERS.md", "demo_data/README.md")
ROOMS = r"(?:dashboards|etl|models|tests|demo_data|\.ci|README\.md|DEVELOPERS\.md|pyproject\.toml)"


def text(name: str) -> str:
    return (ROOT / name).read_text(encoding="utf-8")


def shell_lines(name: str) -> list[str]:
    blocks = re.findall(r"```sh\n(.*?)```", text(name), flags=re.S)
    return [line for block in blocks for line in block.splitlines() if line.strip()]


def evenhand_lines() -> list[tuple[str, str]]:
    return [(name, line) for name in DOCS for line in shell_lines(name) if line.startswith("evenhand ")]


@pytest.mark.parametrize("name", DOCS)
def test_links_lead_somewhere(name: str) -> None:
    targets = re.findall(r"\]\(([^)#]+)\)", text(name))
    base = (ROOT / name).parent
    assert not [target for target in targets if not (base / target).exists()]


@pytest.mark.parametrize("name", DOCS)
def test_paths_named_in_code_exist(name: str) -> None:
    named = re.findall(rf"`({ROOMS}(?:/[\w./*-]*)?)`", text(name))
    assert named or name != "DEVELOPERS.md"
    assert not [path for path in named if not list(ROOT.glob(path.rstrip("/")))]


def test_readme_opens_with_one_paragraph_stating_the_job() -> None:
    opening = text("README.md").split("\n\n")[1]
    assert "pipette" in opening
    assert opening.count("\n") < 8


@pytest.mark.parametrize("marker", ["run", "tests"])
def test_readme_has_exactly_one_line_for_each_promise(marker: str) -> None:
    block = re.search(rf"<!-- {marker} -->\n```sh\n(.*?)```", text("README.md"), flags=re.S)
    assert block is not None
    assert len(block.group(1).splitlines()) == 1


def test_ci_runs_the_readmes_own_lines() -> None:
    script = text(".ci/run")
    assert "readme_line tests" in script
    assert "readme_line run" in script


def test_every_command_in_the_documents_runs(demo_home: Home, tmp_path: Path) -> None:
    """Run them in order, with the default data home replaced by a copy-free temporary one."""
    lines = evenhand_lines()
    assert len(lines) >= 5
    environment = {**os.environ, "EVENHAND_HOME": str(tmp_path / "home"), "HOME": str(tmp_path)}
    failed = []
    for name, line in lines:
        here = line.replace("~/.evenhand/demo", str(demo_home.root)).replace("~", str(tmp_path))
        words = shlex.split(here)
        if words[1] in ("open",) or "--open" in words:
            continue  # Served pages are driven by the browser tests and by .ci/first_line.py.
        done = subprocess.run(
            [sys.executable, "-c", "from dashboards.cli import main; main()", *words[1:]],
            cwd=ROOT,
            env=environment,
            capture_output=True,
            text=True,
            check=False,
        )
        if done.returncode != 0:
            failed.append(f"{name}: {line}: {done.stderr.strip()[-300:]}")
    assert not failed


def test_no_outside_link_or_machine_path_in_shipped_files() -> None:
    listed = subprocess.run(["git", "ls-files"], cwd=ROOT, capture_output=True, text=True, check=True).stdout
    fault = re.compile(r"https?://(?:cdn|unpkg|fonts)\.|pypi\.org|/home/\w+/")
    offenders = [
        name
        for name in listed.splitlines()
        if name.endswith((".py", ".md", ".toml", ".sql", ".ipynb", ".css"))
        and name != "tests/test_docs.py"
        and fault.search((ROOT / name).read_text(encoding="utf-8"))
    ]
    assert not offenders
