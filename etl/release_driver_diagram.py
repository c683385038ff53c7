"""The declared causal diagram as rows of the release."""

from etl.release_rows import Row
from models.driver_diagram import ARROWS, DECLARED, NODES

HANDLED = {
    "exposure": "asked about, the other one held fixed",
    "outcome": "what is asked about",
    "mediator": "left alone: exposure acts through it",
    "source": "left alone: exposure is made of it",
    "unmeasured": "not measured, left open",
    "selection": "not measured, left open",
}


def diagram_rows() -> tuple[list[Row], list[Row]]:
    """Return nodes and arrows of the declared diagram.

    Returns
    -------
    tuple of list
        Rows of ``driver_node`` and ``driver_arrow`` without the edition number.
    """
    held = {name for declared in DECLARED for name in declared.closed}
    always = {name for name in held if all(name in d.closed or name == d.exposure for d in DECLARED)}

    def handled(key: str, role: str) -> str:
        if key in always and role == "confounder":
            return "held fixed"
        if key in held and role in ("confounder", "unmeasured"):
            where = ", ".join(dict.fromkeys(d.question for d in DECLARED if key in d.closed))
            return f"held fixed where {where} is asked"
        return HANDLED.get(role, "left alone")

    nodes: list[Row] = [
        (node.key, node.words, node.role, node.x, node.y, handled(node.key, node.role)) for node in NODES
    ]
    return nodes, [*ARROWS]
