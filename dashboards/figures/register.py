"""The register of changes on a time axis: planned, started, complete, one line a change."""

from dataclasses import dataclass

import pandas as pd

from dashboards import theme
from dashboards.figures.axes import DAY, month_ticks, positions
from dashboards.figures.drawing import SPOT, Drawing, Mark, line_height, named, segments
from dashboards.kinds import Day, Frame

COLUMNS = ("label", "planned", "started", "completed", "chosen", "text", "status")
DATES = {"planned": "diamond", "started": "triangle", "completed": "square"}


@dataclass(frozen=True)
class RegisterPlot:
    """What the register figure draws.

    Attributes
    ----------
    frame : pandas.DataFrame
        Rows with the columns of ``COLUMNS``, first row on top.
    until : pandas.Timestamp
        End of the shown month, where an unfinished change's line stops.
    """

    frame: Frame
    until: Day


def draw(plot: RegisterPlot) -> Drawing:
    """Draw the register.

    Parameters
    ----------
    plot : RegisterPlot
        Changes and the day up to which the release reports.

    Returns
    -------
    Drawing
        Waiting lines, working lines, one layer of points a date kind.
    """
    frame = plot.frame.reset_index(drop=True).assign(y=positions(len(plot.frame)))
    count = max(len(frame), 1)
    dates = pd.concat([frame[name] for name in DATES]).dropna()
    first = dates.min() if len(dates) else plot.until - 365 * DAY
    last = max(dates.max(), plot.until) if len(dates) else plot.until
    span = max(last - first, 120 * DAY)
    waiting = waiting_spans(frame, plot.until)
    working = working_spans(frame, plot.until)
    return Drawing(
        marks=(
            _spans(waiting, theme.ASH, 1.2, "dotted"),
            _spans(working[~working["chosen"]], theme.ASH, 5, "solid"),
            _spans(working[working["chosen"]], theme.INK, 7, "solid"),
            *(_points(frame, name, marker) for name, marker in DATES.items()),
        ),
        # Names may take several lines and the words beside two: less would print them over each other.
        height=(line_height(frame["label"], 36) + 8) * count + 90,
        x_range=(first - span * 0.04, last + span * 0.04),
        y_range=(0.4, count + 0.7),
        x_name="Month",
        y_name="Change",
        x_ticks=month_ticks(first, last),
        y_ticks=named(frame["y"], frame["label"]),
        # Team and standing on two lines: on one they leave a narrow screen no room for the days.
        beside=list(zip(frame["y"], frame["status"].astype(str).str.replace(", ", ",\n"), strict=True)),
    )


def waiting_spans(frame: Frame, until: Day) -> Frame:
    """Return from when to when each planned change waited.

    Parameters
    ----------
    frame : pandas.DataFrame
        Rows with the columns of ``COLUMNS``.
    until : pandas.Timestamp
        End of the shown month, for what has not started.

    Returns
    -------
    pandas.DataFrame
        The planned rows with ``from_`` and ``to``.
    """
    rows = frame[frame["planned"].notna()]
    begin = rows["started"].fillna(until)
    return rows.assign(from_=rows["planned"], to=begin.where(begin > rows["planned"], rows["planned"]))


def working_spans(frame: Frame, until: Day) -> Frame:
    """Return from when to when each change was at work before it was complete.

    Parameters
    ----------
    frame : pandas.DataFrame
        Rows with the columns of ``COLUMNS``.
    until : pandas.Timestamp
        End of the shown month, for what is not complete.

    Returns
    -------
    pandas.DataFrame
        The started rows with ``from_`` and ``to``.
    """
    rows = frame[frame["started"].notna()]
    end = rows["completed"].fillna(until)
    return rows.assign(from_=rows["started"], to=end.where(end > rows["started"], rows["started"]))


def _spans(rows: Frame, colour: str, width: float, dash: str) -> Mark:
    data = {"x0": rows["from_"], "y0": rows["y"], "x1": rows["to"], "y1": rows["y"]}
    return segments(data, colour, width, dash=dash, alpha=0.75)


def _points(frame: Frame, name: str, marker: str) -> Mark:
    rows = frame[frame[name].notna()].rename(columns={name: "x"})
    style = {"marker": marker, "color": theme.INK if name != "planned" else theme.ASH, "size": 11}
    return Mark("points", rows, SPOT, style, tip=True)
