"""A roll-out as a calendar: one line a team, before and with the change, the start marked."""

from dataclasses import dataclass

from dashboards import theme
from dashboards.figures.axes import month_ticks, positions
from dashboards.figures.drawing import SPOT, Drawing, Mark, line_height, named, segments, words
from dashboards.kinds import Day, Frame

COLUMNS = ("label", "begin", "start", "follows", "printed", "text")


@dataclass(frozen=True)
class CalendarPlot:
    """What the calendar draws.

    Attributes
    ----------
    frame : pandas.DataFrame
        Rows with the columns of ``COLUMNS``, first row on top; ``follows`` marks teams that start only after
        the
        evaluation.
    judged : pandas.Timestamp
        End of the months that are judged.
    """

    frame: Frame
    judged: Day


def spans(plot: CalendarPlot) -> Frame:
    """Return from when to when each team is in each state.

    Parameters
    ----------
    plot : CalendarPlot
        The plan.

    Returns
    -------
    pandas.DataFrame
        The rows with ``waits_to``, the end of the months before, and ``with_to``, the end of those with the
        change.
    """
    frame = plot.frame.reset_index(drop=True)
    waits = frame["start"].where(~frame["follows"], plot.judged)
    return frame.assign(waits_to=waits, with_to=plot.judged)


def draw(plot: CalendarPlot) -> Drawing:
    """Draw the calendar.

    Parameters
    ----------
    plot : CalendarPlot
        The plan.

    Returns
    -------
    Drawing
        Months before, months with the change, the day of judging, starts.
    """
    frame = spans(plot).assign(y=positions(len(plot.frame)))
    count = max(len(frame), 1)
    first, last = frame["begin"].min(), max(frame["start"].max(), plot.judged)
    edge = (last - first) * 0.03
    started = frame[~frame["follows"]]
    judged = {"x0": [plot.judged], "y0": [0.4], "x1": [plot.judged], "y1": [count + 0.5]}
    return Drawing(
        marks=(
            _lines(frame, "begin", "waits_to", theme.ASH, 1.4, "dotted"),
            _lines(started, "start", "with_to", theme.INK, 7, "solid"),
            segments(judged, theme.SOIL, 1.4, dash="dashed"),
            _starts(started, theme.INK, 1.0),
            _starts(frame[frame["follows"]], theme.INK, 0.0),
            words([(plot.judged, count + 0.8, f"judged {plot.judged:%b %Y}")], theme.ASH, "middle", "right"),
        ),
        height=line_height(frame["label"], 26) * count + 84,
        x_range=(first - edge, last + edge),
        y_range=(0.4, count + 1.2),
        x_name="Month",
        y_name="Team",
        x_ticks=month_ticks(first, last, 4),
        y_ticks=named(frame["y"], frame["label"]),
        beside=list(zip(frame["y"], frame["printed"].astype(str), strict=True)),
    )


def _lines(rows: Frame, begin: str, end: str, colour: str, width: float, dash: str) -> Mark:
    data = {"x0": rows[begin], "y0": rows["y"], "x1": rows[end], "y1": rows["y"]}
    return segments(data, colour, width, dash=dash, alpha=0.75)


def _starts(rows: Frame, colour: str, fill: float) -> Mark:
    style = {"marker": "triangle", "color": colour, "fill_alpha": fill, "size": 11}
    return Mark("points", rows.rename(columns={"start": "x"}), SPOT, style, tip=True)
