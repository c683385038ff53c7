"""Longer runs of the error rates of change evaluations: ``python -m tests.benchmarks.bench_changes``.

Prints rejections, coverage and bias of each layout with the Monte-Carlo standard error of a 5 % rate.
"""

import numpy as np

from models.change_world import Ground
from tests.support.change_errors import (
    EQUAL,
    UNEQUAL,
    Rates,
    common_start,
    imputation_bias,
    staggered,
    worst_chosen,
)

COMMON, STAGGERED = 8_000, 2_000
GROUNDS = {"no shocks": Ground(shock_sd=0.0), "moderate": Ground(), "strong": Ground(shock_sd=0.4)}
SIXTEEN = np.array([4, 5, 7, 9, 10, 12, 14, 15, 15, 16, 18, 20, 22, 24, 26, 28])
LAYOUTS = {
    "4 of 8 equal": (EQUAL, [0, 1, 2, 3]),
    "2 of 8 equal": (EQUAL, [0, 1]),
    "1 of 8 equal (refused)": (EQUAL, [0]),
    "4 of 8 unequal": (UNEQUAL, [0, 2, 4, 6]),
    "2 smallest of 8": (UNEQUAL, [0, 1]),
    "2 largest of 8": (UNEQUAL, [6, 7]),
    "smallest and largest of 8": (UNEQUAL, [0, 7]),
    "4 largest of 8": (UNEQUAL, [4, 5, 6, 7]),
    "largest of 8 (refused)": (UNEQUAL, [7]),
}
STARTS = {
    "8 equal, all in the end": (EQUAL, [9, 9, 15, 15, 21, 21, 27, 27]),
    "8 unequal, all in the end": (UNEQUAL, [9, 9, 15, 15, 21, 21, 27, 27]),
    "8 unequal, half never": (UNEQUAL, [12, 12, 21, 21, -1, -1, -1, -1]),
    "16 unequal, 4 start": (SIXTEEN, [-1, -1, 12, -1, -1, -1, -1, 18, -1, -1, -1, 24, -1, -1, 27, -1]),
}


def _line(name: str, found: Rates) -> None:
    print(
        f"{name:48s} rejected {100 * found.rejected:5.2f} %  covered {100 * found.covered:5.2f} %  "
        f"bias {found.bias:+5.2f} points  (error {100 * found.error:.2f})",
        flush=True,
    )


def main() -> None:
    """Run everything, about three minutes on two cores."""
    for ground_name, ground in GROUNDS.items():
        for name, (sizes, changed) in LAYOUTS.items():
            for effect in (0.0, -0.08):
                rng = np.random.default_rng(7)
                _line(
                    f"common start, {ground_name}, {name}, effect {100 * effect:+.0f}",
                    common_start(rng, sizes, changed, ground, effect=effect, worlds=COMMON),
                )
    for window in (None, 3):
        for adjust in (False, True):
            label = f"worst 3 by {window or 18} months, {'ANCOVA' if adjust else 'plain'}"
            found = worst_chosen(
                np.random.default_rng(8), UNEQUAL, 3, window=window, adjust=adjust, worlds=COMMON
            )
            _line(label, found)
    for name, (sizes, starts) in STARTS.items():
        for ground_name in ("moderate", "strong"):
            rng = np.random.default_rng(9)
            found = staggered(rng, sizes, starts, GROUNDS[ground_name], worlds=STAGGERED)
            _line(f"staggered, {ground_name}, {name}", found)
        found = staggered(np.random.default_rng(10), sizes, starts, effect=-0.08, worlds=STAGGERED)
        _line(f"staggered, effect growing to -8, {name}", found)
        own, error, fixed = imputation_bias(np.random.default_rng(11), sizes, starts, effect=-0.08)
        print(f"  bias of imputation {own:+.2f} ({error:.2f}), of two-way fixed effects {fixed:+.2f} points")


if __name__ == "__main__":
    main()
