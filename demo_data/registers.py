"""What the institute keeps centrally: teams, changes, and hours worked with recorded cases."""

import numpy as np

from demo_data.changes import Change
from demo_data.dialect import dialect
from demo_data.institute import CLUSTER_NAMES, Plan
from demo_data.outcomes import Outcomes
from demo_data.sheets import Sheet

SITE = "INSTITUTE"


def team_sheet(plan: Plan) -> Sheet:
    """Write the register of teams.

    Parameters
    ----------
    plan : Plan
        The institute.

    Returns
    -------
    Sheet
        One row a team.
    """
    columns = {
        "team": [team.code for team in plan.teams],
        "team_name": [team.name for team in plan.teams],
        "cluster": [team.cluster for team in plan.teams],
        "cluster_name": [CLUSTER_NAMES[team.cluster] for team in plan.teams],
        "site": [team.site for team in plan.teams],
    }
    return Sheet(SITE, "teams", "teams", "institute_teams.csv", dialect(SITE).headed("teams", columns))


def change_codes(changes: tuple[Change, ...]) -> list[str]:
    """Return one code a change and team: CH-05A, CH-05B ... where a change goes to several teams.

    Parameters
    ----------
    changes : tuple of Change
        In order of code.

    Returns
    -------
    list of str
        Codes in the same order.
    """
    codes = [change.kind.code for change in changes]
    return [
        code if codes.count(code) == 1 else code + "ABCDEFGH"[codes[:number].count(code)]
        for number, code in enumerate(codes)
    ]


def change_sheet(plan: Plan, changes: tuple[Change, ...]) -> Sheet:
    """Write the register of changes.

    Parameters
    ----------
    plan, changes
        The institute and its changes in order of code.

    Returns
    -------
    Sheet
        One row a change and team.
    """
    way = dialect(SITE)
    never = np.datetime64("NaT")

    def days(name: str) -> list[str | None]:
        found = [getattr(change, name) for change in changes]
        return way.dates(np.array([never if day is None else day for day in found], "datetime64[D]"))

    kinds = [change.kind for change in changes]
    columns = {
        "change": change_codes(changes),
        "title": [kind.title for kind in kinds],
        "kind": [kind.kind for kind in kinds],
        "control_level": [kind.control_level for kind in kinds],
        "team": [plan.teams[change.team].code for change in changes],
        "planned": days("planned"), "started": days("started"), "completed": days("completed"),
        "why": [kind.why for kind in kinds],
        "chosen_on_outcome": way.coded(
            "changes", "chosen_on_outcome", tuple(str(kind.chosen_on_outcome).lower() for kind in kinds)
        ),
        "target_regions": [";".join(kind.targets) for kind in kinds],
        "expected_points": way.number(np.array([kind.expected_points for kind in kinds]), 1),
        "adherence_percent": way.number(
            np.array([kind.adherence_percent for kind in kinds], float), 0
        ),
        "cost": way.number(np.array([kind.cost for kind in kinds]), 0),
        "owner_role": [kind.owner_role for kind in kinds],
        "status": [kind.status for kind in kinds],
    }  # fmt: skip
    return Sheet(SITE, "changes", "changes", "institute_changes.csv", way.headed("changes", columns))


def hours_sheet(plan: Plan, found: Outcomes) -> Sheet:
    """Write hours worked and recorded cases.

    Parameters
    ----------
    plan, found
        The institute and its outcomes.

    Returns
    -------
    Sheet
        One row a team and month.
    """
    way = dialect(SITE)
    team, month = np.divmod(np.arange(found.hours_worked.size), plan.months)
    columns = {
        "team": [plan.teams[number].code for number in team],
        "month": way.months(plan.month_list[month]),
        "hours_worked": way.quantity("hours", "hours_worked", found.hours_worked.ravel()),
        "recordable_cases": [str(count) for count in found.recordable.ravel()],
        "lost_time_cases": [str(count) for count in found.lost_time.ravel()],
    }
    return Sheet(SITE, "hours", "hours", "institute_hours.csv", way.headed("hours", columns))
