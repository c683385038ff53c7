"""Invented answers with a known association, for tests of driver models."""

import numpy as np
from scipy.special import ndtr

from models.driver_data import DriverData


def driver_world(
    rng: np.random.Generator,
    sizes: list[int],
    *,
    months: int = 12,
    slope: float = 0.0,
    base: float = 0.2,
    team_share: float = 0.3,
    team_spread: float = 0.1,
) -> DriverData:
    """Return answers with a mean prevalence of ``base * exp(slope * (hours - 6) / 5)``.

    Hours differ between teams, people and months; answers of a person go together (normal threshold with
    person, team and month parts), three quarters of them come in. The threshold moves so that the average
    over people has exactly the log-linear truth.
    """
    team = np.repeat(np.arange(len(sizes)), sizes)
    n = len(team)
    own = np.sqrt(team_share) * rng.normal(size=len(sizes))[team]
    own = own + np.sqrt(0.85 - team_share) * rng.normal(size=n)
    hours = np.clip(6 + 3 * (own[:, None] + np.sqrt(0.15) * rng.normal(size=(n, months))), 0, None)
    force = hours * (8 + 2 * rng.normal(size=(n, 1)).clip(-2, 2))
    share = np.minimum(base * np.exp(slope * (hours - 6) / 5), 0.95)
    noise = team_spread * rng.normal(size=len(sizes))[team][:, None]
    noise = noise + np.sqrt(0.5) * rng.normal(size=(n, 1))
    noise = noise + np.sqrt(0.5 - team_spread**2) * rng.normal(size=(n, months))
    case = (ndtr(noise) < share).astype(int)
    person, month = np.nonzero(rng.random((n, months)) < 0.75)
    age = rng.integers(0, 4, n)
    return DriverData(
        person, team[person], month, hours[person, month], force[person, month], case[person, month],
        {"age": age[person]},
    )  # fmt: skip
