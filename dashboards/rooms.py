"""The rooms from Python: the same views and the same frames in a notebook as on the screen.

>>> from dashboards.rooms import open_rooms  # doctest: +SKIP
>>> rooms = open_rooms()  # doctest: +SKIP
>>> rooms.load(unit="team.QC1", measure="hours_per_week")  # doctest: +SKIP
"""

from pathlib import Path
from typing import Any

import pandas as pd
import panel as pn

from dashboards.app import door_of
from dashboards.brief.paper import Paper, brief_of
from dashboards.data import Edition, ReleaseFrames
from dashboards.state import Choices, RoomState
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
            Release table, for instance ``exposure``; its units stand in ``value_unit``.
        **equals : object
            Column values a row must have; a tuple means any of them.

        Returns
        -------
        pandas.DataFrame
            A copy; hidden numbers are missing and ``reason`` says why.
        """
        return self._frames.frame(table, **equals)

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
        pn.extension()
    return rooms
