"""A small multiple on paper: the room's markup with its colours written in."""

from dashboards.figures import small
from dashboards.paper import ink

# Larger type than on the screen, as four stand side by side on a page. Scoped by a class: inside an HTML
# page a style element holds for the whole page.
_STYLE = (
    f"<style>.sml .grid{{stroke:{ink.RULE};stroke-width:.8}}.sml .tick{{stroke:{ink.MUTED};stroke-width:.8}}"
    f".sml text{{fill:{ink.MUTED};font-size:13.5px}}</style>"
)


def draw_small(plot: small.SmallPlot) -> ink.Drawing:
    """Draw one group's months.

    Parameters
    ----------
    plot : SmallPlot
        What the room draws.

    Returns
    -------
    Drawing
        The drawing.
    """
    return ink.Drawing(small.WIDTH, small.HEIGHT, f'{_STYLE}<g class="sml">{small.marks(plot)}</g>')


def draw_multiples(plot: small.SmallPlots, width: float) -> ink.Drawing:
    """Draw small multiples side by side, three in a row, each under its title.

    Parameters
    ----------
    plot : SmallPlots
        The multiples.
    width : float
        Width of the drawing.

    Returns
    -------
    Drawing
        The drawing.
    """
    across, gap, head = 3, 16.0, 18.0
    cell = (width - gap * (across - 1)) / across
    scale = cell / small.WIDTH
    tall = head + small.HEIGHT * scale + 10
    parts = [_STYLE]
    for place, (title, one) in enumerate(plot.plots.items()):
        x, y = (place % across) * (cell + gap), (place // across) * tall
        parts.append(ink.words((x, y + 8), title, weight=700))
        inner = f'<g class="sml">{small.marks(one)}</g>'
        parts.append(f'<g transform="translate({x:.1f} {y + head:.1f}) scale({scale:.4f})">{inner}</g>')
    return ink.Drawing(width, tall * -(-len(plot.plots) // across), "".join(parts))
