"""The declared causal diagram as a drawing: boxes and arrows, and the role of each box."""

import textwrap

from dashboards import theme
from dashboards.kinds import Frame
from dashboards.labels import safe

WIDTH, HEIGHT, BOX, LINE = 1040, 470, 148, 14
HUE = {"exposure": theme.INK, "outcome": theme.SOIL, "unmeasured": theme.PLUM, "selection": theme.PLUM}
_SURFACE = "var(--ev-paper, transparent)"
DASH = {"unmeasured": "5 3", "selection": "2 3"}


def draw(nodes: Frame, arrows: Frame) -> str:
    """Return the diagram as markup.

    Parameters
    ----------
    nodes : pandas.DataFrame
        Rows of ``driver_node``; x and y between 0 and 1, from the left and from below.
    arrows : pandas.DataFrame
        Rows of ``driver_arrow``.

    Returns
    -------
    str
        SVG with words for a screen reader; empty without rows. On a narrow screen it keeps its size and is
        moved sideways, as small type would not be read.
    """
    if nodes.empty:
        return ""
    place = {n.node: _middle(float(n.x), float(n.y)) for n in nodes.itertuples()}
    folded = {n.node: textwrap.wrap(str(n.words), 22) for n in nodes.itertuples()}
    size = {node: (BOX / 2, (len(lines) + 1) * LINE / 2 + 5) for node, lines in folded.items()}
    words = dict(zip(nodes["node"], nodes["words"], strict=True))
    drawn = "".join(
        _arrow(place[a.source], place[a.target], size[a.source], size[a.target])
        for a in arrows.itertuples()
        if a.source in place and a.target in place
    )
    boxes = "".join(
        _box(folded[n.node], str(n.role), place[n.node], size[n.node]) for n in nodes.itertuples()
    )
    told = "; ".join(
        f"{words[a.source]} acts on {words[a.target]}" for a in arrows.itertuples() if a.source in words
    )
    return (
        # A grid track of no least width: on a narrow screen the drawing scrolls instead of widening the page.
        '<div style="display:grid;grid-template-columns:minmax(0,1fr)">'
        '<div class="scroll" tabindex="0" role="region" aria-label="Causal diagram">'
        f'<svg viewBox="0 0 {WIDTH} {HEIGHT}" width="{WIDTH}" height="{HEIGHT}" role="img" '
        f'aria-label="{safe(told)}" style="font-size:12px">'
        '<defs><marker id="tip" viewBox="0 0 8 8" refX="7" refY="4" markerWidth="7" markerHeight="7" '
        f'orient="auto"><path d="M0 0L8 4L0 8z" fill="{theme.ASH}"/></marker></defs>{drawn}{boxes}'
        "</svg></div></div>"
    )


def _middle(x: float, y: float) -> tuple[float, float]:
    return BOX / 2 + 4 + x * (WIDTH - BOX - 8), 30 + (1 - y) * (HEIGHT - 60)


def _box(lines: list[str], role: str, at: tuple[float, float], size: tuple[float, float]) -> str:
    (x, y), (half, high) = at, size
    colour, dash = HUE.get(role, theme.ASH), DASH.get(role, "none")
    text = "".join(
        f'<text x="{x:.0f}" y="{y - high + 16 + k * LINE:.0f}" text-anchor="middle">{safe(line)}</text>'
        for k, line in enumerate(lines)
    )
    return (
        f'<g><rect x="{x - half:.0f}" y="{y - high:.0f}" width="{2 * half:.0f}" height="{2 * high:.0f}" '
        f'rx="3" style="fill:{_SURFACE}" stroke="{colour}" stroke-width="1.8" '
        f'stroke-dasharray="{dash}"/>{text}'
        f'<text x="{x:.0f}" y="{y + high - 5:.0f}" text-anchor="middle" font-size="10.5" '
        f'font-style="italic">{safe(role)}</text></g>'
    )


def _arrow(
    start: tuple[float, float], end: tuple[float, float], own: tuple[float, float], other: tuple[float, float]
) -> str:
    x0, y0 = _edge(start, end, own)
    x1, y1 = _edge(end, start, other)
    return (
        f'<line x1="{x0:.0f}" y1="{y0:.0f}" x2="{x1:.0f}" y2="{y1:.0f}" stroke="{theme.ASH}" '
        'stroke-width="1.2" opacity=".8" marker-end="url(#tip)"/>'
    )


def _edge(
    middle: tuple[float, float], towards: tuple[float, float], size: tuple[float, float]
) -> tuple[float, float]:
    """Return where the line from one middle to another leaves the box."""
    dx, dy = towards[0] - middle[0], towards[1] - middle[1]
    scale = min(
        (size[0] + 2) / abs(dx) if dx else float("inf"), (size[1] + 2) / abs(dy) if dy else float("inf")
    )
    return middle[0] + dx * scale, middle[1] + dy * scale
