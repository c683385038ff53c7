"""Processor time of all driver models: 600 workers, 60 months, nine regions. Run by hand; the aim is 60 s.

On a busy machine set OPENBLAS_NUM_THREADS=1: threads that wait for each other count as processor time.

``python -m tests.benchmarks.bench_drivers``
"""

import time
from collections import defaultdict

import numpy as np
from scipy.special import ndtr

from models.driver_data import DriverData
from models.driver_records import Refusal
from models.driver_run import Question, drive
from models.driver_windows import ExposureHistory

PEOPLE, TEAMS, MONTHS, REGIONS = 600, 40, 60, 9


def institute(rng: np.random.Generator) -> tuple[dict[str, DriverData], ExposureHistory]:
    """Return answers of nine regions that share people and exposure, and the exposure of all months."""
    team = np.arange(PEOPLE) % TEAMS
    level = 6 + rng.normal(size=TEAMS)[team] + 2 * rng.normal(size=PEOPLE)
    hours = np.clip(level[:, None] + 1.5 * rng.normal(size=(PEOPLE, MONTHS)), 0, None)
    force = hours * (8 + rng.normal(size=(PEOPLE, 1)))
    person, month = np.nonzero(rng.random(hours.shape) < 0.75)
    age = rng.integers(0, 4, PEOPLE)[person]
    exposed = (hours[person, month], force[person, month])
    own = rng.normal(size=(PEOPLE, 1))
    regions = {}
    for k in range(REGIONS):
        noise = 0.5 * own + 0.5 * rng.normal(size=(PEOPLE, 1)) + np.sqrt(0.5) * rng.normal(size=hours.shape)
        share = np.minimum(0.2 * np.exp(0.04 * k * (hours - 6) / 5), 0.9)
        case = (ndtr(noise) < share).astype(int)[person, month]
        regions[f"region {k}"] = DriverData(person, team[person], month, *exposed, case, {"age": age})
    who, when = np.divmod(np.arange(hours.size), MONTHS)
    return regions, ExposureHistory(who, when, hours.ravel(), force.ravel())


def main() -> None:
    """Time each part over all regions and print seconds."""
    rng = np.random.default_rng(1)
    regions, history = institute(rng)
    spent: dict[str, float] = defaultdict(float)
    last = time.process_time()

    def progress(part: str, done: int, of: int) -> None:
        nonlocal last
        now = time.process_time()
        spent[part.split(": ")[1]] += now - last
        last = now
        print(f"\r{done:3d} of {of}  {part:40s}", end="", flush=True)

    for question in (Question("hours", ("age",)), Question("force", ("age",))):
        print(f"\n{question.exposure}: {len(next(iter(regions.values())))} answers a region")
        spent.clear()
        last = begun = time.process_time()
        answered, _ = drive(regions, question, rng, main=("region 4",), history=history, progress=progress)
        print()
        for part, seconds in spent.items():
            print(f"  {part:20s} {seconds:6.1f} s")
        refused = [
            f"{one.region} {name}: {value.why}"
            for one in answered
            for name, value in vars(one).items()
            if isinstance(value, Refusal)
        ]
        print(f"  all {time.process_time() - begun:6.1f} s of processor; refused: {refused or 'nothing'}")


if __name__ == "__main__":
    main()
