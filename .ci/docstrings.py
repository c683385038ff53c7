"""Check the public docstrings with numpydoc's own validator, by the checks named in pyproject.toml."""

import ast
import importlib
import sys
import tomllib
from pathlib import Path

from numpydoc.validate import validate

ROOT = Path(__file__).resolve().parents[1]
ROOMS = ("models", "etl", "dashboards", "demo_data")
CHECKS = set(tomllib.loads((ROOT / "pyproject.toml").read_text())["tool"]["numpydoc_validation"]["checks"])


def public_names(path: Path) -> list[str]:
    """Return the dotted names of a module's public functions and classes."""
    module = ".".join(path.relative_to(ROOT).with_suffix("").parts)
    tree = ast.parse(path.read_text(encoding="utf-8"))
    kinds = (ast.FunctionDef, ast.AsyncFunctionDef, ast.ClassDef)
    return [f"{module}.{node.name}" for node in tree.body if isinstance(node, kinds) and node.name[0] != "_"]


def one_sentence(path: Path, target: object) -> bool:
    """Return whether a small helper says all in one sentence; formulas in ``models`` never do."""
    text = (target.__doc__ or "").strip()
    return path.parts[-2] != "models" and text.startswith("Return") and "\n" not in text


def main() -> int:
    """Print each fault and return how many there are."""
    faults = 0
    paths = [
        path for room in ("models", "etl", "dashboards", "demo_data") for path in (ROOT / room).rglob("*.py")
    ]
    for path in sorted(paths):
        if path.name == "__init__.py":
            continue
        importlib.import_module(".".join(path.relative_to(ROOT).with_suffix("").parts))
        for name in public_names(path):
            module, _, own = name.rpartition(".")
            target = getattr(sys.modules[module], own)
            for code, text in validate(name)["errors"]:
                # A record documents its fields under Attributes; a command's options carry their own help.
                elsewhere = isinstance(target, type) or path.name.startswith("cli_")
                if code not in CHECKS or (code == "PR01" and elsewhere):
                    continue
                if not (code in ("PR01", "RT01") and one_sentence(path, target)):
                    print(f"{path.relative_to(ROOT)}: {name}: {code} {text}")
                    faults += 1
    print(f"docstrings: {faults} faults")
    return faults


if __name__ == "__main__":
    sys.exit(1 if main() else 0)
