"""The causal diagram that the adjustment rests on, as data, and the check that the declared sets close it."""

from collections.abc import Iterable
from dataclasses import dataclass
from itertools import pairwise
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
        Where to draw it, between 0 and 1, left to right and bottom to top.
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


@dataclass(frozen=True)
class BackDoor:
    """What a declared set leaves open.

    Attributes
    ----------
    declared : Declared
        The set.
    wrong : tuple of str
        Back-door paths that a measured node could close: the set is wrong as long as there is one.
    left : tuple of str
        Paths through a node left open on purpose.
    unmeasured : tuple of str
        Paths that nothing measured can close: a limit of the analysis, told beside it.
    descendants : tuple of str
        Nodes of the set that exposure itself moves; none may be.
    sentence : str
        The same in words.
    """

    declared: Declared
    wrong: tuple[str, ...]
    left: tuple[str, ...]
    unmeasured: tuple[str, ...]
    descendants: tuple[str, ...]
    sentence: str


NODES = (
    Node("tasks", "Task mix of the team", "unmeasured", 0.05, 0.65),
    Node("instrument", "Instruments used", "source", 0.30, 0.85),
    Node("hours", "Pipetting hours a week", "exposure", 0.35, 0.50),
    Node("thumb_force", "Peak thumb force", "exposure", 0.55, 0.85),
    Node("dose", "Thumb force-time a week", "mediator", 0.60, 0.60),
    Node("discomfort", "Discomfort in the region", "outcome", 0.92, 0.50),
    Node("earlier", "Discomfort at the survey before", "confounder", 0.55, 0.28),
    Node("age", "Age", "confounder", 0.30, 0.10),
    Node("calendar", "Season and trend", "confounder", 0.10, 0.30),
    Node("habits", "Technique, build, home and leisure", "unmeasured", 0.70, 0.08),
    Node("other", "Other hand and screen work", "unmeasured", 0.20, 0.98),
    Node("answering", "Answers the survey", "selection", 0.92, 0.15),
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


def parents(node: str, arrows: Iterable[tuple[str, str]] = ARROWS) -> set[str]:
    """Return the direct causes of a node.

    Parameters
    ----------
    node : str
        Node.
    arrows : iterable of tuple
        The diagram.

    Returns
    -------
    set of str
        Causes.
    """
    return {cause for cause, effect in arrows if effect == node}


def descendants(node: str, arrows: Iterable[tuple[str, str]] = ARROWS) -> set[str]:
    """Return everything that a node moves, itself included.

    Parameters
    ----------
    node : str
        Node.
    arrows : iterable of tuple
        The diagram.

    Returns
    -------
    set of str
        Nodes.
    """
    pairs, found, new = list(arrows), {node}, {node}
    while new:
        new = {effect for cause, effect in pairs if cause in new} - found
        found |= new
    return found


def open_paths(
    start: str, end: str, closed: Iterable[str], arrows: Iterable[tuple[str, str]] = ARROWS
) -> list[tuple[str, ...]]:
    """List the back-door paths that are open given a set.

    A path begins with an arrow into `start`. It is shut by a node of the set that is no collider on it, and
    by a collider of which neither itself nor anything it moves is in the set; Pearl 2009, Causality, 2nd
    edition, definitions 1.2.3 and 3.3.1.

    Parameters
    ----------
    start, end : str
        Exposure and outcome.
    closed : iterable of str
        Nodes held fixed.
    arrows : iterable of tuple
        The diagram.

    Returns
    -------
    list of tuple of str
        Paths, each as its nodes.
    """
    pairs, held = set(arrows), set(closed)
    beside: dict[str, set[str]] = {}
    for cause, effect in pairs:
        beside.setdefault(cause, set()).add(effect)
        beside.setdefault(effect, set()).add(cause)
    found, walks = [], [(start, cause) for cause in sorted(parents(start, pairs))]
    while walks:
        walk = walks.pop()
        if walk[-1] == end:
            if all(_passes(walk, place, held, pairs) for place in range(1, len(walk) - 1)):
                found.append(walk)
            continue
        walks += [(*walk, node) for node in sorted(beside[walk[-1]], reverse=True) if node not in walk]
    return sorted(found, key=lambda walk: (len(walk), walk))


def _passes(walk: tuple[str, ...], place: int, held: set[str], pairs: set[tuple[str, str]]) -> bool:
    before, node, after = walk[place - 1 : place + 2]
    if (before, node) in pairs and (after, node) in pairs:
        return bool(descendants(node, pairs) & held)
    return node not in held


def is_acyclic(arrows: Iterable[tuple[str, str]] = ARROWS) -> bool:
    """Return whether nothing causes itself.

    Parameters
    ----------
    arrows : iterable of tuple
        The diagram.

    Returns
    -------
    bool
        True for a proper diagram.
    """
    pairs = list(arrows)
    return not any(cause in descendants(effect, pairs) for cause, effect in pairs)


def back_door(declared: Declared, outcome: str = "discomfort") -> BackDoor:
    """Check a declared set against the diagram.

    Parameters
    ----------
    declared : Declared
        The set.
    outcome : str
        Outcome node.

    Returns
    -------
    BackDoor
        What stays open.
    """
    nodes = {node.key: node for node in NODES}
    below = descendants(declared.exposure)
    moved = tuple(sorted(set(declared.closed) & below))
    wrong, left, unmeasured = [], [], []
    for path in open_paths(declared.exposure, outcome, declared.closed):
        inner = {node for node in path[1:-1] if not _collider(path, node)}
        could = {node for node in inner - below if nodes[node].role not in ("unmeasured", "source")}
        kept = left if could & set(declared.left) else wrong if could else unmeasured
        kept.append(as_words(path))
    name = {node.key: node.words.lower() for node in NODES}
    told = f"{nodes[declared.exposure].words}, {declared.question}: {declared.by}. "
    if wrong:
        told += f"Open although it could be closed: {'; '.join(wrong)}. "
    if left:
        told += f"Left to the question of new onset: {', '.join(name[node] for node in declared.left)}. "
    if unmeasured:
        on_them = {node for path in unmeasured for node in path.split(" ")} & set(nodes)
        hidden = sorted(name[node] for node in on_them if nodes[node].role == "unmeasured")
        told += f"Not measured, so left open: {', '.join(hidden)}."
    return BackDoor(declared, tuple(wrong), tuple(left), tuple(unmeasured), moved, told.strip())


def _collider(path: tuple[str, ...], node: str) -> bool:
    pairs = set(ARROWS)
    for before, here, after in zip(path, path[1:], path[2:], strict=False):
        if here == node:
            return (before, here) in pairs and (after, here) in pairs
    return False


def as_words(path: tuple[str, ...], arrows: Iterable[tuple[str, str]] = ARROWS) -> str:
    """Return a path with its arrows.

    Parameters
    ----------
    path : tuple of str
        Nodes.
    arrows : iterable of tuple
        The diagram.

    Returns
    -------
    str
        Such as ``hours <- age -> discomfort``.
    """
    pairs = set(arrows)
    parts = [path[0]]
    for a, b in pairwise(path):
        parts.append(f"{'->' if (a, b) in pairs else '<-'} {b}")
    return " ".join(parts)
