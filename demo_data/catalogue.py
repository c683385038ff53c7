"""What people hold and where they stand: instruments with true and measured forces, and benches."""

from dataclasses import dataclass

import numpy as np

from demo_data.institute import KGF_IN_N, SITES, Instrument, Plan

# Which of a site's five instruments a task uses: small, large, multi-channel, electronic, repeater.
TASK_USE = np.array(
    [
        [0.55, 0.05, 0.25, 0.10, 0.05],
        [0.05, 0.10, 0.60, 0.20, 0.05],
        [0.20, 0.60, 0.05, 0.10, 0.05],
        [0.05, 0.55, 0.05, 0.30, 0.05],
        [0.05, 0.25, 0.05, 0.15, 0.50],
        [0.50, 0.30, 0.10, 0.05, 0.05],
    ]
)
# An instrument change puts this one in place of the three manual ones.
LOW_FORCE_SLOT = 3


def _kgf(code: str, kind: str, channels: int, forces: tuple[float, ...], rest: tuple) -> Instrument:
    """Make an instrument of the site that measures in kgf."""
    plunger, blow_out, mount, eject, volume = (force * KGF_IN_N for force in forces)
    return Instrument(code, kind, channels, plunger, blow_out, mount, eject, volume, *rest, site="NORTH")


INSTRUMENTS = (
    _kgf("N-MAN-20", "MANUAL", 1, (1.20, 2.60, 3.10, 3.60, 0.40), (310, 260, 82.0, 225.0)),
    _kgf("N-MAN-1000", "MANUAL", 1, (1.50, 3.20, 3.50, 4.20, 0.45), (340, 270, 91.0, 232.0)),
    _kgf("N-MULTI-8", "MULTI_MANUAL", 8, (2.10, 3.90, 4.80, 5.10, 0.55), (360, 330, 148.0, 247.0)),
    _kgf("N-ELEC-1", "ELECTRONIC", 1, (0.35, 0.40, 2.20, 0.90, 0.10), (150, 140, 165.0, 241.0)),
    Instrument(
        "N-REP-5", "REPEATER", 1, 13.0, 14.5, 21.0, 12.0, 3.0, 280, 240, 101.0, 230.0, "NORTH", "none"
    ),
    Instrument("B-MAN-20", "MANUAL", 1, 11.0, 22.5, 27.0, 31.0, 3.6, 300, 250, 78.0, 221.0, "BRACK"),
    Instrument("B-MAN-1000", "MANUAL", 1, 14.5, 28.0, 33.0, 37.5, 4.1, 330, 260, 88.0, 229.0, "BRACK"),
    Instrument("B-MULTI-8", "MULTI_MANUAL", 8, 19.5, 34.0, 44.0, 46.0, 5.0, 350, 320, 151.0, 250.0, "BRACK",
               "no blow-out"),
    Instrument("B-ELEC-1", "ELECTRONIC", 1, 3.2, 3.6, 20.0, 7.5, 1.0, 150, 140, 158.0, 238.0, "BRACK"),
    Instrument("B-REP-5", "REPEATER", 1, 12.5, 13.5, 20.0, 11.0, 2.8, 270, 230, 99.0, 228.0, "BRACK"),
    Instrument("Q-MAN-20", "MANUAL", 1, 10.5, 20.0, 25.0, 27.5, 3.4, 300, 250, 76.0, 219.0, "QUILL"),
    Instrument("Q-MAN-1000", "MANUAL", 1, 13.0, 25.5, 31.0, 34.0, 3.9, 330, 260, 86.0, 227.0, "QUILL"),
    Instrument("Q-MULTI-8E", "MULTI_ELECTRONIC", 8, 4.5, 5.0, 38.0, 15.5, 1.2, 160, 180, 198.0, 252.0,
               "QUILL"),
    Instrument("Q-ELEC-1", "ELECTRONIC", 1, 3.0, 3.4, 19.5, 8.0, 1.0, 150, 140, 155.0, 236.0, "QUILL"),
    Instrument("Q-REP-5", "REPEATER", 1, 12.0, 13.0, 19.5, 10.5, 2.7, 270, 230, 98.0, 226.0, "QUILL",
               "none"),
)  # fmt: skip
SLOTS = 5
PEAK_N = np.array([item.peak_thumb for item in INSTRUMENTS])
CHANNELS = np.array([item.channels for item in INSTRUMENTS])


@dataclass(frozen=True)
class Station:
    """One bench as seen on a walk-through, lengths in millimetres."""

    code: str
    team: str
    observed_on: str
    bench_height: int
    edge_thickness: int
    chair_min: int
    chair_max: int
    foot_support: bool
    cut_out: bool
    hood_sash: int | None


def first_slot(plan: Plan) -> np.ndarray:
    """Return, for each team, the number of its site's first instrument."""
    return np.array([SITES.index(team.site) * SLOTS for team in plan.teams])


def stations(plan: Plan, rng: np.random.Generator) -> tuple[Station, ...]:
    """Draw two to five benches a team.

    Parameters
    ----------
    plan : Plan
        The institute.
    rng : numpy.random.Generator
        Source of chance.

    Returns
    -------
    tuple of Station
        In order of team and number.
    """
    made = []
    day = plan.first_month.astype("datetime64[D]")
    for team in plan.teams:
        for number in range(1, 2 + min(4, 1 + team.seats // 6)):
            made.append(
                Station(
                    f"{team.code}-B{number:02d}", team.code, str(day + int(rng.integers(0, 60))),
                    int(rng.choice([720, 760, 820, 900, 940])), int(rng.choice([25, 30, 38, 45])),
                    int(rng.choice([430, 460, 520])), int(rng.choice([560, 640, 780])),
                    bool(rng.random() < 0.55), bool(rng.random() < 0.2),
                    int(rng.choice([200, 250, 300])) if rng.random() < 0.3 else None,
                )
            )  # fmt: skip
    return tuple(made)
