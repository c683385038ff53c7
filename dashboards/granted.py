"""A door that hands out only the rows a role may see, whatever a page, an address or a message asks for."""

from typing import Any

import pandas as pd

from dashboards.access import Grant
from dashboards.data import Door
from dashboards.kinds import Frame

# Tables each role may read; a table named nowhere is open to the ergonomist only.
COMMITTEE_TABLES = frozenset(
    {
        "edition", "unit", "health", "health_average", "trend", "response", "exposure", "exposure_part",
        "change", "change_reach", "change_effect", "case_rate", "coverage", "data_quality",
        "driver_statement", "driver_effect", "driver_curve", "driver_lag", "driver_budget", "driver_share",
        "driver_check", "driver_trust", "driver_prediction", "driver_importance", "driver_node",
        "driver_arrow",
        "set_aside_reason", "method", "audit_report", "flag", "funnel", "weighted", "dose", "station_fit",
        "change_history", "change_adherence", "change_event", "change_check", "plan", "plan_start",
        "plan_ground", "plan_reach", "year_figure", "item_response", "reliability", "smooth",
        "case_rule",
    }
)  # fmt: skip
MANAGER_TABLES = frozenset(
    {"edition", "unit", "exposure", "exposure_part", "dose", "station_fit", "method", "flag"}
)
# What a manager reads of the methods: how exposure is measured, no word on health.
MANAGER_METHODS = ("exposure.", "dose.", "guide.", "privacy.", "flag.exposure")


class GrantedDoor:
    """A release door behind which only a role's rows exist.

    The rooms of a session read through it, so that a forged address, widget message or download can
    only reach what the role may see anyway.

    Parameters
    ----------
    door : Door
        The open release.
    grant : Grant
        What the reader may open.
    """

    def __init__(self, door: Door, grant: Grant) -> None:
        self._door, self._grant = door, grant

    def table(self, name: str, **equals: Any) -> Frame:
        """Return the rows of one table that the role may see.

        Parameters
        ----------
        name : str
            Release table.
        **equals : object
            Column values a row must have.

        Returns
        -------
        pandas.DataFrame
            Empty, with its columns, where the role may see nothing of it.
        """
        role = self._grant.role
        if role == "ergonomist":
            return self._door.table(name, **equals)
        allowed = COMMITTEE_TABLES if role == "committee" else MANAGER_TABLES if role == "manager" else ()
        if name not in allowed:
            return self._door.table(name, edition=-1)
        rows = self._door.table(name, **equals)
        return rows if role == "committee" else self._own(rows, name)

    def _own(self, rows: Frame, name: str) -> Frame:
        if name == "edition":
            return rows
        if name == "method":
            keep = rows["key"].str.startswith(MANAGER_METHODS)
        elif "team" in rows:
            keep = rows["team"].isin(self._grant.teams)
        else:
            own = (rows["level"] == "team") & rows["unit"].isin(self._grant.teams)
            keep = own | (rows["level"] == "organisation")
            if name == "flag":
                # A manager's flag rests on exposure: those on discomfort are no rows of this door.
                keep &= rows["subject"] == "exposure"
        return pd.DataFrame(rows[keep]).reset_index(drop=True)
