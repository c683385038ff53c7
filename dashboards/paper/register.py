"""The register of changes on paper."""

import pandas as pd

from dashboards import theme
from dashboards.figures.register import DATES, RegisterPlot, waiting_spans, working_spans
from dashboards.paper import ink, times

ROW, HEAD, FOOT = 24.0, 26.0, 34.0


def draw_register(plot: RegisterPlot, width: float) -> ink.Drawing:
    """Draw planned, started and complete, one line a change.

    Parameters
    ----------
    plot : RegisterPlot
        What the room draws.
    width : float
        Width of the drawing.

    Returns
    -------
    Drawing
        The drawing.
    """
    frame = plot.frame.reset_index(drop=True).assign(
        y=[HEAD + ROW * (k + 0.5) for k in range(len(plot.frame))]
    )
    days = pd.concat([frame[name] for name in DATES]).dropna()
    first = days.min() if len(days) else plot.until - pd.Timedelta(days=365)
    last = max(days.max(), plot.until) if len(days) else plot.until
    left = max((ink.wide(str(v)) for v in frame["label"]), default=40.0) + 10
    right = width - min(max((ink.wide(str(v)) for v in frame["status"]), default=40.0), width * 0.3) - 12
    base = HEAD + ROW * max(len(frame), 1) + 4
    x = times.across(first, last, left, right, 120)
    marks = [ink.words((0, HEAD - 14), "Change", ink.MUTED, size=11)]
    marks.append(times.time_axis(x, first, last, base, (left, right)))
    marks += [
        ink.line((x(row["from_"]), row["y"]), (x(row["to"]), row["y"]), theme.ASH, 1.2, "2 3")
        for row in waiting_spans(frame, plot.until).to_dict("records")
    ]
    for row in working_spans(frame, plot.until).to_dict("records"):
        hue, thick = (theme.INK, 6.0) if row["chosen"] else (theme.ASH, 4.0)
        marks.append(ink.line((x(row["from_"]), row["y"]), (x(row["to"]), row["y"]), hue, thick, alpha=0.75))
    for row in frame.to_dict("records"):
        marks.append(ink.words((0, row["y"]), str(row["label"])))
        marks.append(ink.words((right + 10, row["y"]), str(row["status"]), ink.MUTED, size=11))
        marks += [
            ink.mark(shape, x(row[name]), row["y"], theme.ASH if name == "planned" else theme.INK, 5)
            for name, shape in DATES.items()
            if row[name] == row[name]
        ]
    return ink.Drawing(width, base + FOOT, "".join(marks))
