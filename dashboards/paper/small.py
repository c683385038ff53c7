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
