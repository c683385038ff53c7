"""A group's months with their intervals, the comparison beside it, a guide and marked days."""

from dataclasses import dataclass

import pandas as pd

from dashboards import theme
from dashboards.figures.axes import DAY, month_ticks
from dashboards.figures.drawing import ENDS, Drawing, Mark, segments, words
from dashboards.kinds import Day, Frame

COLUMNS = ("series", "name", "x", "value", "low", "high", "text", "reason")
_AT = ("x", "value")


@dataclass(frozen=True)
class SeriesPlot:
    """What one time figure draws.

    Attributes
    ----------
    frame : pandas.DataFrame
        Rows with the columns of ``COLUMNS``; ``series`` is ``own`` or ``other``; a hidden row has a
        reason and no numbers.
    axis : str
        Name and unit of the vertical axis.
    time : str
        Name of the time axis.
    guide : float or None
        Guide value, if the measure has one.
    guide_label : str
        Words at the guide line.
    marks : tuple of (pandas.Timestamp, str)
        Days drawn as a dashed upright with words.
    height : int
        Height in pixels.
    top : float or None
        Top of the vertical axis where it is known, as for a share of 100 %.
    """

    frame: Frame
    axis: str
    time: str = "Month"
    guide: float | None = None
    guide_label: str = ""
    marks: tuple[tuple[Day, str], ...] = ()
    height: int = 250
    top: float | None = None


def draw(plot: SeriesPlot) -> Drawing:
    """Draw months with intervals.

    Parameters
    ----------
    plot : SeriesPlot
        Rows and words of the figure.

    Returns
    -------
    Drawing
        Guide, marked days, interval bars, lines, points, hidden months and labels, always in that
        order, empty where there is nothing, so that a redraw never builds a new plot.
    """
    frame = plot.frame
    first, last, top = extent(plot)
    span = max(last - first, 60 * DAY)
    right = last + span * 0.03
    left = first - span * 0.03
    own = _of(frame, "own")
    other = _of(frame, "other")
    # Beside, not under: two intervals on one day would hide each other.
    other = other.assign(x=other["x"] + span * 0.006)
    return Drawing(
        marks=(
            _guide(plot, left, right),
            _marks(plot, top),
            _bars(other, theme.ASH, 1.5, 0.45),
            _line(other, theme.ASH, 1.4),
            _bars(own, theme.INK, 3, 0.38),
            _line(own, theme.INK, 2.2),
            _dots(own),
            _hidden(own, top),
            _labels(plot, top, span),
        ),
        height=plot.height,
        x_range=(left, right),
        y_range=(0, top),
        x_name=plot.time,
        y_name=plot.axis,
        x_ticks=month_ticks(first, last),
        y_ticks=5,
        beside=ends(plot, top),
    )


def extent(plot: SeriesPlot) -> tuple[Day, Day, float]:
    """Return what the axes reach.

    Parameters
    ----------
    plot : SeriesPlot
        Rows and words of the figure.

    Returns
    -------
    tuple of (pandas.Timestamp, pandas.Timestamp, float)
        First and last day, and the top of the upright axis, which starts at zero.
    """
    frame = plot.frame
    shown = frame[frame["value"].notna()] if len(frame) else frame
    tops = [v for v in (shown["high"].max(), shown["value"].max(), plot.guide) if v is not None and v == v]
    top = plot.top or (max(tops) if tops else 1.0) * 1.12 or 1.0
    first = frame["x"].min() if len(frame) else pd.Timestamp("2026-01-01")
    last = frame["x"].max() if len(frame) else pd.Timestamp("2026-12-01")
    return first, last, top


def _of(frame: Frame, series: str) -> Frame:
    return frame[frame["series"] == series].sort_values("x") if len(frame) else frame


def _line(rows: Frame, colour: str, width: float) -> Mark:
    return Mark("curve", rows, _AT, {"color": colour, "line_width": width})


def _bars(rows: Frame, colour: str, width: float, alpha: float) -> Mark:
    known = rows[rows["low"].notna()]
    data = {"x0": known["x"], "y0": known["low"], "x1": known["x"], "y1": known["high"]}
    return segments(data, colour, width, alpha=alpha)


def _dots(rows: Frame) -> Mark:
    return Mark("points", rows[rows["value"].notna()], _AT, {"color": theme.INK, "size": 6}, tip=True)


def _hidden(rows: Frame, top: float) -> Mark:
    gone = rows[rows["value"].isna()]
    data = pd.DataFrame({"x": gone["x"], "value": top * 0.03, "text": gone["text"]})
    style = {"marker": "x", "color": theme.ASH, "size": 6, "line_width": 1.5}
    return Mark("points", data, _AT, style, tip=True)


def _guide(plot: SeriesPlot, left: Day, right: Day) -> Mark:
    rows = [(left, plot.guide, right, plot.guide)] if plot.guide is not None else []
    return segments(_timed(rows), theme.SOIL, 1.5, dash="dashed")


def _marks(plot: SeriesPlot, top: float) -> Mark:
    rows = [(day, 0.0, day, top * 0.93) for day, _ in plot.marks]
    return segments(_timed(rows), theme.SOIL, 2, dash="dotted")


def _timed(rows: list[tuple[Day, float, Day, float]]) -> Frame:
    # Without a row a column would have no kind, and the plot would take days for numbers.
    return pd.DataFrame(rows, columns=list(ENDS)).astype({"x0": "datetime64[ms]", "x1": "datetime64[ms]"})


def ends(plot: SeriesPlot, top: float) -> list[tuple[float, str]]:
    """Return the words at the right end of each line, moved apart where they would touch.

    Parameters
    ----------
    plot : SeriesPlot
        Rows and words of the figure.
    top : float
        Top of the upright axis.

    Returns
    -------
    list of (float, str)
        Place on the upright axis and words: the name of each line, and the guide's.
    """
    groups = [_of(plot.frame, series) for series in ("own", "other")]
    newest = [g[g["value"].notna()].iloc[-1] for g in groups if g["value"].notna().any()]
    words = [(float(end["value"]), str(end["name"])) for end in newest]
    words += [(plot.guide, plot.guide_label)] if plot.guide is not None else []
    return _apart(sorted(words), top * 19 / max(plot.height - 84, 60))


def _apart(words: list[tuple[float, str]], least: float) -> list[tuple[float, str]]:
    # Pushed up from the lowest, then moved down by half of the lift, so that nobody strays far.
    placed: list[tuple[float, str]] = []
    for height, text in words:
        floor = placed[-1][0] + least if placed else height
        placed.append((max(height, floor), text))
    lift = placed[-1][0] - words[-1][0] if placed else 0.0
    return [(max(height - lift / 2, 0.0), text) for height, text in placed]


def _labels(plot: SeriesPlot, top: float, span: Day) -> Mark:
    rows = [(day + span * 0.012, top * 0.86, text) for day, text in plot.marks]
    data = pd.DataFrame(rows, columns=["x", "y", "label"]).astype({"x": "datetime64[ms]"})
    return words(data, theme.ASH, "bottom")
