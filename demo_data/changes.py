"""What was changed, where, when and why; and what each change truly does."""

from dataclasses import dataclass

import numpy as np

from demo_data.institute import Plan

# Share of the bouts with a manual instrument that an instrument change moves to the low-force one.
SWAP_ADHERENCE = 0.8
# Share of bouts that an automation change takes off people's hands.
BOUTS_AVOIDED = 0.35
# Share of short gaps that a micro-break change turns into rests of 3-5 minutes.
GAPS_WIDENED = 0.5


@dataclass(frozen=True)
class Kind:
    """One change as the institute recorded it and as it truly works.

    Attributes
    ----------
    code, title, kind, control_level, why, owner_role, status : str
        As in the export.
    targets : tuple of str
        Body regions it was meant for.
    direct : dict
        True direct effect on the log-odds by region, next to what it does through hours and force.
    at : tuple of float
        Completion as a share of the period, one entry a team.
    """

    code: str
    title: str
    kind: str
    control_level: str
    why: str
    owner_role: str
    status: str
    targets: tuple[str, ...]
    direct: dict[str, float]
    at: tuple[float, ...]
    part: str
    expected_points: float
    adherence_percent: float | None
    cost: float
    chosen_on_outcome: bool = False


KINDS = (
    Kind("CH-01", "Low-force electronic instruments", "INSTRUMENT", "SUBSTITUTION",
         "High measured ejection force", "Ergonomist", "COMPLETE", ("WRIST_HAND", "ELBOW"),
         {"WRIST_HAND": -0.45}, (0.45,), "helped_force", 10.0, 80.0, 21500.0),
    Kind("CH-02", "Plate filling moved to a liquid handler", "AUTOMATION", "ENGINEERING",
         "Long hours on few tasks", "Laboratory manager", "COMPLETE", ("WRIST_HAND", "SHOULDER", "NECK"),
         {"WRIST_HAND": -0.45, "SHOULDER": -0.45, "NECK": -0.30}, (0.55,), "helped_hours",
         12.0, 90.0, 64000.0),
    Kind("CH-03", "Technique course", "TRAINING", "ADMINISTRATIVE",
         "Yearly plan", "Ergonomist", "COMPLETE", ("WRIST_HAND", "NECK"),
         {}, (0.40,), "no_effect", 5.0, 95.0, 3200.0),
    Kind("CH-04", "New chairs and bench heights", "BENCH_CHAIR", "ENGINEERING",
         "Most complaints in the last three months", "Safety officer", "COMPLETE", ("WRIST_HAND", "SHOULDER"),
         {}, (0.62,), "outcome_chosen", 10.0, 100.0, 18400.0, True),
    Kind("CH-05", "Micro-breaks on a shared timer", "MICRO_BREAKS", "ADMINISTRATIVE",
         "Long spells; one team after another by plan", "Team leads", "COMPLETE", ("NECK", "SHOULDER"),
         {"NECK": -0.30, "SHOULDER": -0.30}, (0.36, 0.50, 0.64, 0.78), "staggered", 5.0, 60.0, 900.0),
    Kind("CH-06", "Rotation with a neighbouring team", "ROTATION", "ADMINISTRATIVE",
         "Hours far above guide", "Laboratory manager", "PLANNED", ("WRIST_HAND", "SHOULDER"),
         {}, (1.0,), "overloaded", 10.0, None, 0.0),
)  # fmt: skip


@dataclass(frozen=True)
class Change:
    """One change at one team; ``month`` is the first month it is wholly in force, None while planned."""

    kind: Kind
    team: int
    month: int | None
    planned: np.datetime64
    started: np.datetime64 | None
    completed: np.datetime64 | None


def place(kind: Kind, team: int, share: float, plan: Plan) -> Change:
    """Put a change at a team at a share of the period.

    Parameters
    ----------
    kind : Kind
        The change.
    team : int
        Team number.
    share : float
        Completion as a share of the period; 1 or more means it is still planned.
    plan : Plan
        The institute.

    Returns
    -------
    Change
        Planned three months before, started three weeks before, complete on the first of a month.
    """
    month = round(share * plan.months)
    first = (plan.first_month + month).astype("datetime64[D]")
    planned = (plan.first_month + month - 3).astype("datetime64[D]") + 8
    if month >= plan.months:
        return Change(kind, team, None, planned, None, None)
    return Change(kind, team, month, planned, first - 21, first)


def designed_changes(plan: Plan) -> tuple[Change, ...]:
    """Place every change except the one that is chosen by looking at the outcome.

    Parameters
    ----------
    plan : Plan
        The institute.

    Returns
    -------
    tuple of Change
        One entry a change and team.
    """
    made = []
    for kind in KINDS:
        if not kind.chosen_on_outcome:
            teams = plan.of_part(kind.part)
            made.extend(
                place(kind, int(team), share, plan) for team, share in zip(teams, kind.at, strict=False)
            )
    return tuple(made)


def outcome_change(plan: Plan, case: np.ndarray, answered: np.ndarray, team: np.ndarray) -> Change:
    """Place the change that went to the team with most complaints, judged by what was answered.

    Parameters
    ----------
    plan : Plan
        The institute.
    case, answered, team : numpy.ndarray, (people, months)
        Hand or wrist score of 4 or more, whether the person answered, and the person's team.

    Returns
    -------
    Change
        At the candidate team with the largest share in the three months before the plan was made.
    """
    kind = next(kind for kind in KINDS if kind.chosen_on_outcome)
    decided = round(kind.at[0] * plan.months) - 3
    window = slice(max(decided - 3, 0), decided)
    candidates = plan.of_part("outcome_candidates")
    shares = []
    for number in candidates:
        here = answered[:, window] & (team[:, window] == number)
        shares.append(case[:, window][here].mean())
    return place(kind, int(candidates[int(np.argmax(shares))]), kind.at[0], plan)


def in_force(changes: tuple[Change, ...], code: str, months: int, teams: int) -> np.ndarray:
    """Return where and when a change is in force.

    Parameters
    ----------
    changes : tuple of Change
        All changes.
    code : str
        The change asked about.
    months, teams : int
        Size of the answer.

    Returns
    -------
    numpy.ndarray of bool, (teams + 1, months)
        The last row stands for "no team" and is always false, so that team -1 indexes it.
    """
    mask = np.zeros((teams + 1, months), bool)
    for change in changes:
        if change.kind.code == code and change.month is not None:
            mask[change.team, change.month :] = True
    return mask
