"""The causal diagram that the adjustment rests on, as data."""

from dataclasses import dataclass
from typing import Literal

Role = Literal["exposure", "outcome", "confounder", "mediator", "source", "selection", "unmeasured"]


@dataclass(frozen=True)
class Node:
    """One thing of the diagram.

    Attributes
    ----------
    key : str
        Name.
    words : str
        What it is.
    role : Role
        What it is in the question about exposure and discomfort. ``unmeasured`` cannot be adjusted for; a
        ``source`` is what exposure is made of: held fixed, no exposure would be left to compare.
    x, y : float
        Where to draw it, between 0 and 1, left to right and bottom to top; found by search, so that no box
        lies on another and no arrow passes behind one.
    """

    key: str
    words: str
    role: Role
    x: float
    y: float


@dataclass(frozen=True)
class Declared:
    """A declared adjustment set.

    Attributes
    ----------
    question : str
        ``prevalence``, ``new onset`` or ``within-worker``.
    exposure : str
        Node asked about.
    closed : tuple of str
        Nodes that the analysis holds fixed.
    left : tuple of str
        Measured nodes left open on purpose, because another question answers for them.
    by : str
        How it is done, in words.
    """

    question: str
    exposure: str
    closed: tuple[str, ...]
    left: tuple[str, ...]
    by: str


NODES = (
    Node("tasks", "Task mix of the team", "unmeasured", 0.00, 1.00),
    Node("instrument", "Instruments used", "source", 0.37, 0.88),
    Node("hours", "Pipetting hours a week", "exposure", 0.56, 0.52),
    Node("thumb_force", "Peak thumb force", "exposure", 0.59, 0.74),
    Node("dose", "Thumb force-time a week", "mediator", 0.84, 0.77),
    Node("discomfort", "Discomfort in the region", "outcome", 0.87, 0.20),
    Node("earlier", "Discomfort at the survey before", "confounder", 0.35, 0.19),
    Node("age", "Age", "confounder", 0.31, 0.36),
    Node("calendar", "Season and trend", "confounder", 0.04, 0.60),
    Node("habits", "Technique, build, home and leisure", "unmeasured", 0.10, 0.00),
    Node("other", "Other hand and screen work", "unmeasured", 0.63, 0.99),
    Node("answering", "Answers the survey", "selection", 1.00, 0.54),
)

ARROWS = (
    ("tasks", "hours"), ("tasks", "instrument"), ("tasks", "other"), ("other", "discomfort"),
    ("instrument", "thumb_force"), ("hours", "dose"), ("thumb_force", "dose"), ("dose", "discomfort"),
    ("hours", "discomfort"), ("thumb_force", "discomfort"),
    ("age", "hours"), ("age", "discomfort"), ("calendar", "hours"), ("calendar", "discomfort"),
    ("earlier", "hours"), ("earlier", "discomfort"), ("age", "earlier"),
    ("habits", "earlier"), ("habits", "discomfort"),
    ("discomfort", "answering"), ("hours", "answering"),
)  # fmt: skip
"""Arrows of the diagram, from cause to effect; declared, not found in data."""

_FORCE = "age bands, trend and season, thumb force as a line"
_HOURS = "age bands, trend and season, hours as a line"

DECLARED = (
    Declared("prevalence", "hours", ("age", "calendar", "thumb_force"), ("earlier",), _FORCE),
    Declared("prevalence", "thumb_force", ("age", "calendar", "hours"), ("earlier",), _HOURS),
    Declared(
        "new onset", "hours", ("age", "calendar", "thumb_force", "earlier"), (),
        f"{_FORCE}, only people free of discomfort at the survey before",
    ),
    Declared(
        "new onset", "thumb_force", ("age", "calendar", "hours", "earlier"), (),
        f"{_HOURS}, only people free of discomfort at the survey before",
    ),
    Declared(
        "within-worker", "hours", ("age", "calendar", "thumb_force", "habits"), ("earlier",),
        "each worker compared with themselves, months, thumb force as a line",
    ),
)  # fmt: skip
"""What is held fixed in each question. Discomfort at the survey before, which may lower hours, is left open
where prevalence is asked and closed where new onset is."""
