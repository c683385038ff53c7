"""A roll-out as a calendar: one line a team, before and with the change, the start marked."""

from dataclasses import dataclass

import holoviews as hv

from dashboards import theme
from dashboards.figures.axes import axis_name, month_ticks, positions, printed_beside, quiet, tooltip
from dashboards.kinds import Day, Frame, Layer
from dashboards.labels import plain

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


def draw(plot: CalendarPlot) -> Layer:
    """Draw the calendar.

    Parameters
    ----------
    plot : CalendarPlot
        The plan.

    Returns
    -------
    holoviews.Overlay
        Months before, months with the change, the day of judging, starts.
    """
    frame = spans(plot).assign(y=positions(len(plot.frame)))
    count = max(len(frame), 1)
    first, last = frame["begin"].min(), max(frame["start"].max(), plot.judged)
    edge = (last - first) * 0.03
    started = frame[~frame["follows"]]
    judged = {"x0": [plot.judged], "y0": [0.4], "x1": [plot.judged], "y1": [count + 0.5]}
    layers = [
        _lines(frame, "begin", "waits_to", theme.ASH, 1.4, "dotted"),
        _lines(started, "start", "with_to", theme.INK, 7, "solid"),
        hv.Segments(judged, ["x0", "y0", "x1", "y1"]).opts(
            color=theme.SOIL, line_width=1.4, line_dash="dashed"
        ),
        _starts(started, theme.INK, 1.0),
        _starts(frame[frame["follows"]], theme.INK, 0.0),
        _named(plot, count),
    ]
    return hv.Overlay(layers).opts(
        **quiet(
            height=26 * count + 84,
            xlim=(first - edge, last + edge),
            ylim=(0.4, count + 1.2),
            xlabel="Month",
            **axis_name("Team"),
            xticks=month_ticks(first, last, 4),
            yticks=[(int(row.y), plain(row.label)) for row in frame.itertuples()],
            hooks=[printed_beside([(int(row.y), str(row.printed)) for row in frame.itertuples()])],
        )
    )


def _lines(rows: Frame, begin: str, end: str, colour: str, width: float, dash: str) -> Layer:
    data = {"x0": rows[begin], "y0": rows["y"], "x1": rows[end], "y1": rows["y"]}
    return hv.Segments(data, ["x0", "y0", "x1", "y1"]).opts(
        color=colour, line_width=width, line_dash=dash, alpha=0.75
    )


def _starts(rows: Frame, colour: str, fill: float) -> Layer:
    data = rows.rename(columns={"start": "x"})
    return hv.Points(data, ["x", "y"], ["text"]).opts(
        marker="triangle", color=colour, fill_alpha=fill, size=11, tools=[tooltip()]
    )


def _named(plot: CalendarPlot, count: int) -> Layer:
    data = {"x": [plot.judged], "y": [count + 0.8], "label": [f"judged {plot.judged:%b %Y}"]}
    return hv.Labels(data, ["x", "y"], "label").opts(
        text_align="right", text_font_size="12px", text_color=theme.ASH, text_baseline="middle"
    )
