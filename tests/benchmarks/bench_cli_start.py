"""How long ``evenhand --help`` takes, as a ratio to a bare ``import typer`` in the same run.

Run: ``python -m tests.benchmarks.bench_cli_start``. Reach: at most 5.
"""

import os
import subprocess
import sys
import time
from statistics import median

ROUNDS = 15
HELP = "import sys; sys.argv = ['evenhand', '--help']; from dashboards.cli import main; main()"


def seconds(code: str) -> float:
    """Return the CPU seconds of a fresh interpreter that runs ``code`` (wall time drifts with neighbours)."""
    before = os.times()
    subprocess.run([sys.executable, "-c", code], check=True, capture_output=True)
    after = os.times()
    return (after.children_user - before.children_user) + (after.children_system - before.children_system)


def main() -> None:
    """Alternate the two, so that a slow moment of the machine touches both, and print medians and ratio."""
    bare, full = [], []
    for _ in range(ROUNDS):
        bare.append(seconds("import typer"))
        full.append(seconds(HELP))
    print(f"import typer        {median(bare) * 1000:7.1f} ms CPU")
    print(f"evenhand --help     {median(full) * 1000:7.1f} ms CPU")
    print(f"ratio               {median(full) / median(bare):7.2f}   (reach: 5)")
    print(time.strftime("measured %Y-%m-%d"))


if __name__ == "__main__":
    main()
