"""From the release door to frames for the rooms: rows are selected, never computed."""

import functools
import threading
from collections.abc import Callable
from dataclasses import dataclass
from typing import Any, Protocol, TypeVar

import numpy as np
import pandas as pd

from dashboards.kinds import Day, Frame
from dashboards.labels import AVERAGE, MEASURES, REGIONS, missing, month_label
from dashboards.state import Choices

# What makes a row the same fact. A corrected fact is published again by a later edition, and the
# newest one is shown; a snapshot table is shown as its newest edition says.
GRAIN: dict[str, tuple[str, ...]] = {
    "unit": ("level", "unit"),
    "case_rule": ("period",),
    "health": ("period", "level", "unit", "region"),
    "health_average": ("period", "level", "unit"),
    "smooth": ("period", "level", "unit", "region"),
    "trend": ("period", "compared_with", "level", "unit", "region"),
    "response": ("period", "level", "unit"),
    "item_response": ("period", "level", "unit", "region"),
    "flag": ("period", "level", "unit", "subject", "topic"),
    "funnel": ("year", "level", "unit", "region"),
    "weighted": ("period", "level", "unit", "region"),
    "year_figure": ("year", "level", "unit", "region", "kind"),
    "exposure": ("period", "level", "unit", "measure"),
    "dose": ("period", "level", "unit", "measure"),
    "reliability": ("period", "level", "unit", "way"),
    "station_fit": ("period", "station"),
    "exposure_part": ("period", "level", "unit", "part_kind", "part"),
    "change": ("change", "team"),
    "change_reach": ("change", "side", "measure", "periods"),
    "change_effect": ("change", "region"),
    "change_history": ("change", "version"),
    "change_adherence": ("change", "month"),
    "change_event": ("change", "region", "quarter"),
    "change_check": ("change", "region", "check_name"),
    "plan": ("plan",),
    "plan_start": ("plan", "team"),
    "plan_ground": ("period", "region"),
    "plan_reach": ("period", "region", "changed", "months"),
    "driver_statement": ("period", "region"),
    "driver_effect": ("period", "region", "question", "exposure"),
    "driver_trust": ("period", "region", "exposure", "way", "reliability"),
    "driver_curve": ("period", "region", "exposure", "kind", "x"),
    "driver_lag": ("period", "region", "exposure", "lag"),
    "driver_budget": ("period", "region", "kind"),
    "driver_share": ("period", "region"),
    "driver_check": ("period", "region", "check_name"),
    "driver_prediction": ("period", "region", "scheme", "model"),
    "driver_importance": ("period", "region", "feature"),
    "driver_node": ("node",),
    "driver_arrow": ("source", "target"),
    "case_rate": ("year", "level", "unit", "kind"),
    "coverage": ("period", "level", "unit"),
    "set_aside_reason": ("contract", "reason"),
    "data_quality": ("contract",),
    "method": ("key",),
    "audit_report": ("check_name",),
}
SNAPSHOT = frozenset({"unit", "change", "data_quality", "set_aside_reason", "method", "audit_report"})
LEVELS = ("organisation", "cluster", "team")
# Most questions ask for one group, change or method: its rows are found once, not searched each time.
SOUGHT = ("unit", "change", "key")
# Readings of as many choices are kept; one takes some ten kilobytes.
KEPT = 1024
Made = TypeVar("Made")


class Door(Protocol):
    """What the rooms need of the release: named tables, as copies."""

    def table(self, name: str, **equals: Any) -> Frame:
        """Return the rows of one release table."""
        ...


@dataclass(frozen=True)
class Edition:
    """The newest edition of the opened release."""

    number: int
    period: str
    created_at: Day
    content_hash: str
    tool_version: str
    note: str


@dataclass(frozen=True)
class Unit:
    """A group of people: the organisation, a cluster or a team."""

    level: str
    code: str
    name: str
    parent: str
    site: str
    people_band: str

    @property
    def key(self) -> str:
        """Value in the state and the address, ``level.CODE``."""
        return f"{self.level}.{self.code}"


class ReleaseFrames:
    """Frames of one release, read once each and handed out as copies.

    Parameters
    ----------
    door : Door
        The open release.

    Notes
    -----
    Shared by all sessions of one process, so it hands out copies and reads each table under a
    lock: two first visitors must not read twice, and no session may change what another sees.
    """

    def __init__(self, door: Door) -> None:
        self._door = door
        self._kept: dict[str, Frame] = {}
        self._places: dict[tuple[str, str], dict[Any, np.ndarray]] = {}
        self._lock = threading.Lock()
        self._made = functools.lru_cache(KEPT)(lambda make, *asked: make(self, *asked))

    @property
    def door(self) -> Door:
        """The open release itself, with every edition's rows."""
        return self._door

    def frame(self, name: str, **equals: Any) -> Frame:
        """Return the current rows of one table.

        Parameters
        ----------
        name : str
            Release table.
        **equals : object
            Column values a row must have; a tuple means any of them.

        Returns
        -------
        pandas.DataFrame
            A copy, in the order of the release, index from 0.
        """
        with self._lock:
            if name not in self._kept:
                self._kept[name] = _current(self._door.table(name), name)
            rows = self._kept[name]
            sought = next((c for c in SOUGHT if isinstance(equals.get(c), str)), None)
            if sought is not None:
                rows = rows.take(self._place(name, sought).get(equals.pop(sought), _NOWHERE))
        for column, value in equals.items():
            rows = rows[rows[column].isin(value) if isinstance(value, tuple) else rows[column] == value]
        return rows.reset_index(drop=True).copy()

    def _place(self, name: str, column: str) -> dict[Any, np.ndarray]:
        if (name, column) not in self._places:
            self._places[name, column] = self._kept[name].groupby(column, sort=False).indices
        return self._places[name, column]

    def read(self, make: Callable[..., Made], *asked: Any) -> Made:
        """Return what a function makes of this release, made once and kept for whoever asks the same.

        Parameters
        ----------
        make : callable
            These frames and what is asked -> a result that nobody changes afterwards. One object for
            all sessions, not one made for each, or nothing would be found again.
        *asked : object
            Hashable, such as the choice.

        Returns
        -------
        object
            The result; one that failed is tried again.
        """
        return self._made(make, *asked)

    def edition(self) -> Edition:
        """Return the newest edition."""
        return self._edition

    @functools.cached_property
    def _edition(self) -> Edition:
        row = self.frame("edition").sort_values("edition").iloc[-1]
        return Edition(
            number=int(row["edition"]),
            period=str(row["period"]),
            created_at=pd.Timestamp(row["created_at"]),
            content_hash=str(row["content_hash"]),
            tool_version=str(row["tool_version"]),
            note="" if pd.isna(row["note"]) else str(row["note"]),
        )

    def units(self, *levels: str) -> tuple[Unit, ...]:
        """Return the units, each parent followed by its children.

        Parameters
        ----------
        *levels : str
            Levels wanted; none means all.

        Returns
        -------
        tuple of Unit
            Organisation, then each cluster with its teams.
        """
        return tuple(u for u in self._all_units if not levels or u.level in levels)

    @functools.cached_property
    def _all_units(self) -> tuple[Unit, ...]:
        # A session keeps its edition, and each figure asks for names.
        rows = self.frame("unit").astype({"parent": object, "site": object})
        found = [
            Unit(r.level, r.unit, r.name_, _text(r.parent), _text(r.site), r.people_band)
            for r in rows.rename(columns={"name": "name_"}).itertuples()
        ]
        found.sort(key=lambda unit: (LEVELS.index(unit.level), unit.name))
        ordered: list[Unit] = []
        for top in (u for u in found if u.level == "organisation"):
            ordered.append(top)
        for cluster in (u for u in found if u.level == "cluster"):
            ordered.append(cluster)
            ordered += [u for u in found if u.level == "team" and u.parent == cluster.code]
        ordered += [u for u in found if u not in ordered]
        return tuple(ordered)

    def unit(self, key: str) -> Unit:
        """Return one unit by its key ``level.CODE``."""
        return next(u for u in self.units() if u.key == key)

    def organisation(self) -> Unit:
        """Return the organisation."""
        return self.units("organisation")[0]

    def cluster_of(self, unit: Unit) -> Unit:
        """Return the smallest unit that publishes health by month: the cluster of a team, else itself."""
        if unit.level != "team":
            return unit
        return next((c for c in self.units("cluster") if c.code == unit.parent), self.organisation())

    def months(self) -> tuple[str, ...]:
        """Return the months with health or exposure rows, newest first."""
        found: set[str] = set()
        for table in ("health", "exposure"):
            rows = self.frame(table, period_kind="month")
            found |= set(rows["period"])
        return tuple(sorted(found, reverse=True))

    def choices(self) -> Choices:
        """Return the closed lists of this release for the state."""
        return self._choices

    @functools.cached_property
    def _choices(self) -> Choices:
        months = self.months()
        regions = set(self.frame("health")["region"])
        measures = set(self.frame("exposure")["measure"])
        return Choices(
            periods={month_label(month): month for month in months},
            units=_distinct([(_indent(u) + u.name, u.key, u.code) for u in self.units()]),
            regions={label: code for code, label in (AVERAGE, *REGIONS.items()) if code in regions | {"ALL"}},
            measures={m.title: key for key, m in MEASURES.items() if key in measures},
            changes=_distinct(self._change_labels()),
            first_period=months[0] if months else "",
            preferred={"change": self._preferred_change()},
        )

    def _change_labels(self) -> list[tuple[str, str, str]]:
        rows = self.frame("change").drop_duplicates("change")
        names = {unit.code: unit.name for unit in self.units("team")}
        return [(r.title, r.change, str(names.get(r.team, r.change))) for r in rows.itertuples()]

    def _preferred_change(self) -> str:
        reached = set(self.frame("change_reach", reason="")["change"]) if self._has_reach() else set()
        rows = self.frame("change")
        rows = rows[rows["change"].isin(reached)] if reached else rows
        rows = rows[rows["started"].notna()].sort_values("started")
        return str(rows["change"].iloc[-1]) if len(rows) else ""

    def _has_reach(self) -> bool:
        return bool(len(self.frame("change_reach")))


_NOWHERE = np.array([], dtype=np.intp)


def _current(rows: Frame, name: str) -> Frame:
    if "reason" in rows and name not in ("set_aside_reason",):
        rows = rows.assign(reason=rows["reason"].astype(object).where(rows["reason"].notna(), ""))
    if "edition" not in rows or name == "edition" or rows.empty:
        return rows.reset_index(drop=True)
    if name in SNAPSHOT:
        return rows[rows["edition"] == rows["edition"].max()].reset_index(drop=True)
    ordered = rows.sort_values("edition", kind="stable")
    return ordered.drop_duplicates(list(GRAIN[name]), keep="last").reset_index(drop=True)


def _text(value: object) -> str:
    return "" if missing(value) else str(value)


def _indent(unit: Unit) -> str:
    # Spaces would show as a hole in the closed menu.
    return "\u2013 " if unit.level == "team" else ""


def _distinct(rows: list[tuple[str, str, str]]) -> dict[str, str]:
    """Label -> value; a label used twice gets its code, or one choice would hide the other."""
    labels = [label for label, _, _ in rows]
    return {label if labels.count(label) == 1 else f"{label} ({code})": value for label, value, code in rows}
