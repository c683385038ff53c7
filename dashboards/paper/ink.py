"""Strokes, marks and words as SVG; every word is escaped here."""

import math
from collections.abc import Iterable
from dataclasses import dataclass

from dashboards.labels import safe

TEXT, MUTED, RULE = "#1c2328", "#535d64", "#d3d0c8"
SANS = "Source Sans 3, Segoe UI, Roboto, Helvetica Neue, Arial, DejaVu Sans, sans-serif"
SIZE = 12.0
# Mean width of a character in units of the type size; generous, so that words are never cut off.
_WIDE = 0.54


@dataclass(frozen=True)
class Drawing:
    """A finished drawing.

    Attributes
    ----------
    width, height : float
        Size in units of 1/96 inch.
    marks : str
        SVG elements, text escaped.
    """

    width: float
    height: float
    marks: str

    def svg(self, words: str = "", font: str = SANS) -> str:
        """Return the drawing as a document of its own.

        Parameters
        ----------
        words : str, default ""
            The reading, for those who do not see the drawing.
        font : str
            Families to take type from.

        Returns
        -------
        str
            SVG that names no other file.
        """
        return (
            f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {self.width:g} {self.height:g}" '
            f'width="{self.width:g}" height="{self.height:g}" font-family="{safe(font)}" '
            f'font-size="{SIZE:g}" role="img" aria-label="{safe(words)}">{self.marks}</svg>'
        )


def wide(text: str, size: float = SIZE) -> float:
    """Return about how wide words will be.

    Parameters
    ----------
    text : str
        Words; the longest line counts.
    size : float
        Type size.

    Returns
    -------
    float
        Width in units of the drawing.
    """
    # Capitals are wider; codes of tasks and instruments are made of them.
    counts = (len(part) + 0.3 * sum(c.isupper() for c in part) for part in text.split("\n"))
    return max(counts, default=0.0) * size * _WIDE


def line(
    start: tuple[float, float],
    end: tuple[float, float],
    colour: str = RULE,
    width: float = 1.0,
    dash: str = "",
    alpha: float = 1.0,
) -> str:
    """Return a straight stroke.

    Parameters
    ----------
    start, end : tuple of float
        Ends as (x, y).
    colour : str
        Hexadecimal colour.
    width : float
        Width of the stroke.
    dash : str
        Dash pattern; empty for a whole line.
    alpha : float
        Opacity from 0 to 1.

    Returns
    -------
    str
        SVG.
    """
    broken = f' stroke-dasharray="{dash}"' if dash else ""
    clear = f' stroke-opacity="{alpha:g}"' if alpha < 1 else ""
    return (
        f'<line x1="{start[0]:.1f}" y1="{start[1]:.1f}" x2="{end[0]:.1f}" y2="{end[1]:.1f}" '
        f'stroke="{colour}" stroke-width="{width:g}"{broken}{clear}/>'
    )


def path(points: Iterable[tuple[float, float]], colour: str, width: float) -> str:
    """Return a line through points; fewer than two draw nothing."""
    places = [f"{x:.1f},{y:.1f}" for x, y in points]
    if len(places) < 2:
        return ""
    return f'<polyline points="{" ".join(places)}" fill="none" stroke="{colour}" stroke-width="{width:g}"/>'


def words(
    place: tuple[float, float],
    text: str,
    colour: str = TEXT,
    anchor: str = "start",
    size: float = SIZE,
    weight: int = 400,
) -> str:
    """Return words whose middle line stands at a height.

    Parameters
    ----------
    place : tuple of float
        Anchor as (x, y).
    text : str
        Words, unescaped.
    colour : str
        Hexadecimal colour.
    anchor : {"start", "middle", "end"}
        Which end stands at x.
    size : float
        Type size.
    weight : int
        400 or 700.

    Returns
    -------
    str
        SVG with the words escaped.
    """
    bold = ' font-weight="700"' if weight > 400 else ""
    return (
        f'<text x="{place[0]:.1f}" y="{place[1] + size * 0.35:.1f}" fill="{colour}" '
        f'text-anchor="{anchor}" font-size="{size:g}"{bold}>{safe(text)}</text>'
    )


def box(left: float, top: float, width: float, height: float, colour: str, alpha: float = 1.0) -> str:
    """Return a filled rectangle."""
    return (
        f'<rect x="{left:.1f}" y="{top:.1f}" width="{max(width, 0):.1f}" height="{height:.1f}" '
        f'fill="{colour}" fill-opacity="{alpha:g}"/>'
    )


def mark(shape: str, x: float, y: float, colour: str, size: float = 4.6) -> str:
    """Return a mark of the shapes the rooms use.

    Parameters
    ----------
    shape : str
        circle, square, triangle, inverted_triangle, diamond or x.
    x, y : float
        Its middle.
    colour : str
        Hexadecimal colour.
    size : float
        Half its width.

    Returns
    -------
    str
        SVG.
    """
    if shape == "circle":
        return f'<circle cx="{x:.1f}" cy="{y:.1f}" r="{size:g}" fill="{colour}"/>'
    if shape == "x":
        far = size * 0.75
        return (
            f'<path d="M{x - far:.1f} {y - far:.1f}L{x + far:.1f} {y + far:.1f}M{x - far:.1f} {y + far:.1f}'
            f'L{x + far:.1f} {y - far:.1f}" stroke="{colour}" stroke-width="1.5" fill="none"/>'
        )
    corners = " ".join(f"{x + dx * size:.1f},{y + dy * size:.1f}" for dx, dy in _CORNERS[shape])
    return f'<polygon points="{corners}" fill="{colour}"/>'


_CORNERS = {
    "square": ((-0.9, -0.9), (0.9, -0.9), (0.9, 0.9), (-0.9, 0.9)),
    "triangle": ((0, -1.15), (1.1, 0.85), (-1.1, 0.85)),
    "inverted_triangle": ((0, 1.15), (1.1, -0.85), (-1.1, -0.85)),
    "diamond": ((0, -1.25), (1.05, 0), (0, 1.25), (-1.05, 0)),
}


def round_steps(low: float, high: float, most: int = 6) -> list[float]:
    """Return round numbers between two ends, for the ticks of an axis.

    Parameters
    ----------
    low, high : float
        Ends of the axis.
    most : int, default 6
        Most ticks.

    Returns
    -------
    list of float
        Multiples of 1, 2 or 5 times a power of ten, all inside.
    """
    span = (high - low) or 1.0
    power = 10.0 ** math.floor(math.log10(span / most))
    step = next(k * power for k in (1, 2, 5, 10, 20) if span / (k * power) <= most)
    first = math.ceil(low / step - 1e-9)
    last = math.floor(high / step + 1e-9)
    return [k * step for k in range(first, last + 1)]
