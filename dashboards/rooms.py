"""The rooms from Python: the same views and the same frames in a notebook as on the screen.

>>> from dashboards import rooms  # doctest: +SKIP
>>> opened = rooms.open_rooms()  # doctest: +SKIP
>>> opened.load(unit="team.QC1", measure="hours_per_week")  # doctest: +SKIP
>>> hours = opened.frame("exposure", level="team", measure="hours_per_week")  # doctest: +SKIP
>>> hours.attrs["units"]["guide"], rooms.figure(hours, "Hours per person and week")  # doctest: +SKIP
"""

from pathlib import Path
from typing import Any

import pandas as pd
import panel as pn

from dashboards import theme
from dashboards.app import door_of
from dashboards.brief.paper import Paper, brief_of
from dashboards.data import GRAIN, Edition, ReleaseFrames
from dashboards.figures.holo import overlay
from dashboards.figures.rows import RowsPlot, draw
from dashboards.labels import interval, number
from dashboards.offline import use_inline
from dashboards.state import Choices, RoomState
from dashboards.units import units_of
from dashboards.views.rooms import Rooms
from etl.errors import EvenhandError
from etl.home import default_root


class OpenRooms:
    """One opened edition and its rooms.

    Parameters
    ----------
    frames : ReleaseFrames
        The release.
    """

    def __init__(self, frames: ReleaseFrames) -> None:
        self._frames = frames

    @property
    def edition(self) -> Edition:
        """The edition all numbers belong to."""
        return self._frames.edition()

    @property
    def choices(self) -> Choices:
        """What can be asked for: months, units, regions, measures, changes."""
        return self._frames.choices()

    def frame(self, table: str, **equals: Any) -> pd.DataFrame:
        """Return rows of a release table, to build a view of your own.

        Parameters
        ----------
        table : str
            One of :attr:`tables`, for instance ``exposure``.
        **equals : object
            Column values a row must have; a tuple means any of them.

        Returns
        -------
        pandas.DataFrame
            A copy; hidden numbers are missing and ``reason`` says why. ``frame.attrs["units"]`` says what
            each number column is counted in. Rows of a unit carry its name as ``name``.

        Raises
        ------
        EvenhandError
            If there is no such table or column.
        """
        if table not in self.tables:
            raise EvenhandError(f"No table '{table}'", "the release", f"There are: {', '.join(self.tables)}.")
        columns = list(self._frames.frame(table).columns)
        unknown = [column for column in equals if column not in columns]
        if unknown:
            raise EvenhandError(f"No column '{unknown[0]}'", table, f"There are: {', '.join(columns)}.")
        rows = self._frames.frame(table, **equals)
        if {"level", "unit"} <= set(columns) and "name" not in columns:
            names = {(unit.level, unit.code): unit.name for unit in self._frames.units()}
            pairs = zip(rows["level"], rows["unit"], strict=True)
            rows = rows.assign(name=[names.get(pair, pair[1]) for pair in pairs])
        rows.attrs["units"] = units_of(table, columns)
        return rows

    @property
    def tables(self) -> tuple[str, ...]:
        """Release tables that :meth:`frame` reads."""
        return tuple(sorted({"edition", *GRAIN}))

    def month(self, **choice: str) -> Rooms:
        """Return the Month room.

        Parameters
        ----------
        **choice : str
            ``period`` ('2026-10') and ``unit`` ('organisation.ORG').

        Returns
        -------
        Rooms
            The room with its choices; shows itself in a notebook.
        """
        return self._room("Month", choice)

    def load(self, **choice: str) -> Rooms:
        """Return the Load room.

        Parameters
        ----------
        **choice : str
            ``period``, ``unit`` and ``measure`` ('hours_per_week').

        Returns
        -------
        Rooms
            The room with its choices.
        """
        return self._room("Load", choice)

    def drivers(self, **choice: str) -> Rooms:
        """Return the Drivers room.

        Parameters
        ----------
        **choice : str
            ``period``; the newest statement up to that month is shown.

        Returns
        -------
        Rooms
            The room with its choices.
        """
        return self._room("Drivers", choice)

    def changes(self, **choice: str) -> Rooms:
        """Return the Changes room.

        Parameters
        ----------
        **choice : str
            ``change``, ``region``, ``measure`` and ``period``.

        Returns
        -------
        Rooms
            The room with its choices.
        """
        return self._room("Changes", choice)

    def plan(self, **choice: str) -> Rooms:
        """Return the Plan room.

        Parameters
        ----------
        **choice : str
            ``region`` and ``period``.

        Returns
        -------
        Rooms
            The room with its choices.
        """
        return self._room("Plan", choice)

    def data(self, **choice: str) -> Rooms:
        """Return the Data room.

        Parameters
        ----------
        **choice : str
            ``period`` and ``unit``.

        Returns
        -------
        Rooms
            The room with its choices.
        """
        return self._room("Data", choice)

    def brief(self, period: str) -> Paper:
        """Return the committee paper of a month.

        Parameters
        ----------
        period : str
            Month, such as ``2026-10``.

        Returns
        -------
        Paper
            Shows itself in a notebook; ``save("paper.pdf")`` writes it.
        """
        return brief_of(self._frames.door, period)

    def _room(self, room: str, choice: dict[str, str]) -> Rooms:
        state = RoomState(self._frames.choices())
        for name, value in choice.items():
            if name not in RoomState.URL or value not in list(state.param[name].objects):
                raise EvenhandError(
                    f"'{value}' is not a {name} of this release", room, "See .choices for what there is."
                )
        state.param.update(room=room, **choice)
        return Rooms(self._frames, state, pd.Timestamp.now(), doors=False)


def figure(frame: pd.DataFrame, axis: str, label: str = "name") -> pn.pane.HoloViews:
    """Return rows of a frame as a figure of the rooms: a value with its interval, the first row on top.

    Parameters
    ----------
    frame : pandas.DataFrame
        Rows with ``value``, ``percent`` or ``points``, ``low``, ``high`` and ``reason``; of one unit.
    axis : str
        Name and unit of the horizontal axis.
    label : str, default "name"
        Column that names a row.

    Returns
    -------
    panel.pane.HoloViews
        The figure; hidden rows say why.

    Raises
    ------
    EvenhandError
        If the frame has no such column.
    """
    number_column = next((name for name in ("value", "percent", "points") if name in frame), "")
    for needed in (number_column, "low", "high", "reason", label):
        if needed not in frame:
            raise EvenhandError(
                f"No column '{needed or 'value'}' to draw", axis, f"There are: {', '.join(frame)}."
            )
    digits = 0 if number_column != "value" else 1
    numbers = {"value": frame[number_column], "low": frame["low"], "high": frame["high"]}
    plot = pd.DataFrame({name: column.astype(float) for name, column in numbers.items()})
    plot = plot.assign(label=frame[label].astype(str), kind="plain")
    plot["printed"] = [
        why or f"{number(value, digits)} ({interval(low, high, digits)})"
        for why, value, low, high in zip(
            frame["reason"], plot["value"], plot["low"], plot["high"], strict=True
        )
    ]
    plot["text"] = plot["label"] + ": " + plot["printed"]
    theme.use()
    drawing = draw(RowsPlot(plot, axis, label.capitalize()))
    return pn.pane.HoloViews(overlay(drawing), sizing_mode="stretch_width")


def open_rooms(home: Path | str | None = None) -> OpenRooms:
    """Open the newest edition of a data home.

    Parameters
    ----------
    home : Path or str, optional
        Data home or release file; by default ``$EVENHAND_HOME``, else ``~/.evenhand``.

    Returns
    -------
    OpenRooms
        The rooms.

    Raises
    ------
    EvenhandError
        If nothing is published there.
    """
    rooms = OpenRooms(ReleaseFrames(door_of(home if home is not None else default_root()).pin()))
    if not pn.state.served:
        use_inline()
    return rooms
