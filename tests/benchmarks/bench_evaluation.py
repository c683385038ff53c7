"""Time of one evaluation with its checks and quarters: ``python -m tests.benchmarks.bench_evaluation``.

40 teams of 15 people over 36 months, one region: the answers of a large institute. Prints CPU seconds of
each method;
10 s are wanted at most.
"""

import time

import numpy as np

from models.change_design import TeamRecord, decide
from models.change_world import Ground, draw_world
from models.evaluation import Answers, evaluate
from models.event_picture import event_picture

TEAMS, PEOPLE, MONTHS = 40, 15, 36


def answers(alone: bool = False) -> Answers:
    """Return invented answers in long form."""
    sizes = [PEOPLE * (TEAMS if alone else 1)] * (1 if alone else TEAMS)
    world = draw_world(np.random.default_rng(1), sizes, MONTHS, Ground())
    month, _, team, seat = np.nonzero(world.answered)
    names = np.array([f"T{k:02d}" for k in team])
    people = np.array([f"{k}-{s}" for k, s in zip(team, seat, strict=True)])
    return Answers(people, names, month, world.case[world.answered])


def main() -> None:
    """Time every method on its own design."""
    starts = {
        "common start, 8 of 40": [18] * 8 + [None] * 32,
        "chosen on the outcome, 8 of 40": [18] * 8 + [None] * 32,
        "staggered, 8 of 40": [12, 12, 15, 15, 18, 18, 21, 21] + [None] * 32,
        "stepped, all 40": [9 + 3 * (k % 6) for k in range(40)],
    }
    for name, begin in starts.items():
        records = tuple(
            TeamRecord(f"T{k:02d}", 0, MONTHS - 1, start=s, changed=s is not None)
            for k, s in enumerate(begin)
        )
        chosen, lot = name.startswith("chosen"), name.startswith("stepped")
        design = decide(records, MONTHS, chosen_on_outcome=chosen, random_order=lot)
        _timed(name, answers(), design, min(s for s in begin if s))
    _timed(
        "one series", answers(True), decide((TeamRecord("T00", 0, 35, start=18, changed=True),), MONTHS), 18
    )


def _timed(name: str, found: Answers, design, begun: int) -> None:
    begin = time.process_time()
    rng = np.random.default_rng(2)
    for _ in range(2):  # the target region, and the one that should not be touched
        evaluate(found, design, (0, MONTHS - 1), begun, rng)
    event_picture(found, design, (0, MONTHS - 1), begun, rng)
    print(f"{name:34s} {design.method:24s} {time.process_time() - begin:5.1f} s CPU", flush=True)


if __name__ == "__main__":
    main()
