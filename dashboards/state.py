"""What a reader has chosen: closed parameters only, so that nothing outside the release can be asked for."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any, ClassVar

import param

ROOMS = ("Month", "Load", "Drivers", "Changes", "Plan", "Data")


@dataclass(frozen=True)
class Choices:
    """The closed lists of one release, each as label -> value in the order shown.

    Attributes
    ----------
    periods, units, regions, measures, changes : dict of str to str
        Months, units (``level.CODE``), body regions, exposure measures and registered changes.
    first_period : str
        Month shown first: the newest one.
    preferred : mapping of str to str
        Parameter -> value chosen first.
    rooms : tuple of str
        Rooms that may be opened.
    """

    periods: dict[str, str]
    units: dict[str, str]
    regions: dict[str, str]
    measures: dict[str, str]
    changes: dict[str, str]
    first_period: str = ""
    preferred: Mapping[str, str] = field(default_factory=dict)
    rooms: tuple[str, ...] = ROOMS


@dataclass(frozen=True)
class Chosen:
    """One consistent copy of the state, passed to everything that reads the release.

    Attributes
    ----------
    room, period, unit, region, measure, change : str
        Values of the parameters of the same names.
    """

    room: str
    period: str
    unit: str
    region: str
    measure: str
    change: str

    @property
    def level(self) -> str:
        """Level of the chosen unit: organisation, cluster or team."""
        return self.unit.partition(".")[0]

    @property
    def code(self) -> str:
        """Code of the chosen unit."""
        return self.unit.partition(".")[2]


class RoomState(param.Parameterized):
    """State of one browser session. Make one a session; never keep one at module level.

    Parameters
    ----------
    choices : Choices
        Closed lists read from the release.
    """

    room = param.Selector(objects=list(ROOMS), default="Month", check_on_set=True, label="Room")
    period = param.Selector(objects=[""], check_on_set=True, label="Month")
    unit = param.Selector(objects=[""], check_on_set=True, label="Who")
    region = param.Selector(objects=[""], check_on_set=True, label="Body region")
    measure = param.Selector(objects=[""], check_on_set=True, label="Measure")
    change = param.Selector(objects=[""], check_on_set=True, label="Change")
    refused = param.Dict(default={}, doc="Values of the address that are not in the release, by name.")

    # Names in the address bar; a shared link must survive a renamed parameter.
    URL: ClassVar[dict[str, str]] = {
        "room": "room",
        "period": "month",
        "unit": "who",
        "region": "region",
        "measure": "measure",
        "change": "change",
    }

    def __init__(self, choices: Choices) -> None:
        super().__init__()
        lists = {
            "period": choices.periods,
            "unit": choices.units,
            "region": choices.regions,
            "measure": choices.measures,
            "change": choices.changes,
        }
        # At least one room, or the list would be open to anything.
        self.param.room.objects = list(choices.rooms) or [ROOMS[0]]
        self.room = self.param.room.objects[0]
        start = {"period": choices.first_period, **choices.preferred}
        for name, options in lists.items():
            # An empty list would accept anything (a Selector without objects is open), so one
            # empty choice stands in for "the release has none".
            closed = dict(options) or {"none in this edition": ""}
            self.param[name].objects = closed
            values = list(closed.values())
            wanted = start.get(name, "")
            setattr(self, name, wanted if wanted in values else values[0])

    def settings(self) -> Chosen:
        """Return the present choice.

        Returns
        -------
        Chosen
            A frozen copy.
        """
        return Chosen(**{name: getattr(self, name) for name in self.URL})

    def address(self) -> dict[str, str]:
        """Return the query of a link that reopens this view.

        Returns
        -------
        dict of str to str
            Query name -> value; empty values are left out.
        """
        return {query: getattr(self, name) for name, query in self.URL.items() if getattr(self, name)}

    def take(self, query: Mapping[str, Any]) -> dict[str, str]:
        """Set what a query asks for, each value by itself, in one batch.

        A value the release does not have changes nothing and is remembered in ``refused``.

        Parameters
        ----------
        query : mapping of str to object
            Names and values as they stand in the address.

        Returns
        -------
        dict of str to str
            The refused values by query name.
        """
        good: dict[str, Any] = {}
        bad: dict[str, str] = {}
        for name, wanted in self.URL.items():
            if wanted not in query:
                continue
            value = query[wanted]
            if value in list(self.param[name].objects):
                good[name] = value
            else:
                bad[wanted] = str(value)[:60]
        self.param.update(**good, refused=bad)
        return bad
