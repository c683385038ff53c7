"""Whether the declared sets close the back doors of the causal diagram."""

from collections.abc import Iterable
from dataclasses import dataclass
from itertools import pairwise

from models.driver_diagram import ARROWS, NODES, Declared


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
