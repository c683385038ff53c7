"""The register of changes on paper."""

import pandas as pd

from dashboards import theme
from dashboards.figures.drawing import folded
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
    names = [folded(str(label), 30).split("\n") for label in plot.frame["label"]]
    row_height = max(ROW, 13.0 * max(map(len, names), default=1) + 6)
    frame = plot.frame.reset_index(drop=True).assign(
        y=[HEAD + row_height * (k + 0.5) for k in range(len(plot.frame))]
    )
    days = pd.concat([frame[name] for name in DATES]).dropna()
    first = days.min() if len(days) else plot.until - pd.Timedelta(days=365)
    last = max(days.max(), plot.until) if len(days) else plot.until
    left = max((ink.wide(line) for lines in names for line in lines), default=40.0) + 10
    right = width - min(max((ink.wide(str(v)) for v in frame["status"]), default=40.0), width * 0.3) - 12
    base = HEAD + row_height * max(len(frame), 1) + 4
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
    for row, lines in zip(frame.to_dict("records"), names, strict=True):
        first_line = row["y"] - 6.5 * (len(lines) - 1)
        marks += [ink.words((0, first_line + 13 * k), line) for k, line in enumerate(lines)]
        marks.append(ink.words((right + 10, row["y"]), str(row["status"]), ink.MUTED, size=11))
        marks += [
            ink.mark(shape, x(row[name]), row["y"], theme.ASH if name == "planned" else theme.INK, 5)
            for name, shape in DATES.items()
            if row[name] == row[name]
        ]
    return ink.Drawing(width, base + FOOT, "".join(marks))
