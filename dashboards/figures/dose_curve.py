"""A curve over an exposure with its band, marks on the exposure, and a rug of where groups stand."""

from dataclasses import dataclass

import pandas as pd

from dashboards import theme
from dashboards.figures.drawing import ENDS, Drawing, Mark, segments, words
from dashboards.kinds import Frame

COLUMNS = ("x", "value", "low", "high", "text")
RUG = ("x", "text")
_AT = ("x", "value")
# A line of words at the marks, as a share of the upright axis.
_LINE = 0.075


@dataclass(frozen=True)
class CurvePlot:
    """What one curve figure draws.

    Attributes
    ----------
    frame : pandas.DataFrame
        Rows with the columns of ``COLUMNS``, by rising x.
    beside : pandas.DataFrame
        Another curve with the columns of ``COLUMNS``, drawn dashed and without a band; may be empty.
    rug : pandas.DataFrame
        Rows with the columns of ``RUG``: one tick a group.
    marks : tuple of (float, str)
        Exposures drawn as dashed uprights with words.
    axis, across : str
        Names and units of the upright and the level axis.
    words : tuple of str
        Names of the curve and of the one beside.
    height : int
        Height in pixels.
    """

    frame: Frame
    beside: Frame
    rug: Frame
    marks: tuple[tuple[float, str], ...]
    axis: str
    across: str
    words: tuple[str, str] = ("", "")
    height: int = 330


def draw(plot: CurvePlot) -> Drawing:
    """Draw the curve.

    Parameters
    ----------
    plot : CurvePlot
        Rows and words of the figure.

    Returns
    -------
    Drawing
        Band, marks, rug, curves, points and words, always in that order.
    """
    frame = plot.frame.sort_values("x")
    low, high, top = reach(plot)
    span = high - low
    beside = plot.beside.sort_values("x")
    dots = {"color": theme.INK, "size": 4}
    return Drawing(
        marks=(
            Mark("area", frame, ("x", "low", "high"), {"color": theme.INK, "alpha": 0.18, "line_width": 0}),
            _marks(plot, top),
            _rug(plot, top),
            Mark("curve", beside, _AT, {"color": theme.PLUM, "line_width": 1.8, "line_dash": "dashed"}),
            Mark("curve", frame, _AT, {"color": theme.INK, "line_width": 2.6}),
            Mark("points", frame, _AT, dots, tip=True),
            _labels(plot, top, span),
        ),
        height=plot.height,
        x_range=(low, high),
        y_range=(0, top),
        x_name=plot.across,
        y_name=plot.axis,
        x_ticks=6,
        y_ticks=5,
        beside=_ends(plot, top),
    )


def reach(plot: CurvePlot) -> tuple[float, float, float]:
    """Return what the axes reach.

    Parameters
    ----------
    plot : CurvePlot
        Rows and words of the figure.

    Returns
    -------
    tuple of float
        Both ends of the level axis, and the top of the upright one, which starts at zero.
    """
    frame = plot.frame
    # Each mark's words take a line of their own above the band.
    top = float(frame["high"].max()) * (1.12 + 0.09 * max(len(plot.marks) - 1, 0)) if len(frame) else 1.0
    ends = [float(v) for v in (*frame["x"], *plot.rug["x"], *(x for x, _ in plot.marks))]
    low, high = (min(ends), max(ends)) if ends else (0.0, 1.0)
    span = max(high - low, 1.0)
    return low - span * 0.03, high + span * 0.03, top


def _marks(plot: CurvePlot, top: float) -> Mark:
    rows = [(x, 0.0, x, top * (0.93 - _LINE * (len(plot.marks) - 1))) for x, _ in plot.marks]
    return segments(pd.DataFrame(rows, columns=list(ENDS)), theme.SOIL, 1.6, dash="dashed")


def _rug(plot: CurvePlot, top: float) -> Mark:
    at = plot.rug["x"].astype(float)
    data = {"x0": at, "y0": 0.0, "x1": at, "y1": top * 0.05, "text": plot.rug["text"].astype(str)}
    return segments(data, theme.ASH, 2.4, tip=True)


def _labels(plot: CurvePlot, top: float, span: float) -> Mark:
    """Print each mark's words from it to the right, a line each: at the left a narrow screen has no room."""
    rows = [
        (x + span * 0.012, top * (0.99 - _LINE * k), text) for k, (x, text) in enumerate(sorted(plot.marks))
    ]
    return words(rows, theme.ASH, "top", "left")


def _ends(plot: CurvePlot, top: float) -> list[tuple[float, str]]:
    told = []
    for rows, name in zip((plot.frame, plot.beside), plot.words, strict=True):
        if len(rows) and name:
            told.append((float(rows.sort_values("x")["value"].iloc[-1]), name))
    told.sort(reverse=True)
    if len(told) == 2 and told[0][0] - told[1][0] < top * 0.09:
        # The lower curve's name moves down, or the names would stand at each other's curves.
        told[1] = (told[0][0] - top * 0.09, told[1][1])
    return told
