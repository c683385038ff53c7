"""A roll-out as a calendar on paper."""

from dashboards import theme
from dashboards.figures.calendar import CalendarPlot, spans
from dashboards.paper import ink, times

ROW, HEAD, FOOT = 22.0, 40.0, 34.0


def draw_calendar(plot: CalendarPlot, width: float) -> ink.Drawing:
    """Draw one line a team, before and with the change.

    Parameters
    ----------
    plot : CalendarPlot
        What the room draws.
    width : float
        Width of the drawing.

    Returns
    -------
    Drawing
        The drawing.
    """
    frame = spans(plot).assign(y=[HEAD + ROW * (k + 0.5) for k in range(len(plot.frame))])
    first, last = frame["begin"].min(), max(frame["start"].max(), plot.judged)
    left = max((ink.wide(str(v)) for v in frame["label"]), default=40.0) + 10
    right = width - min(max((ink.wide(str(v)) for v in frame["printed"]), default=40.0), width * 0.4) - 12
    base = HEAD + ROW * max(len(frame), 1) + 4
    x = times.across(first, last, left, right, 120)
    marks = [ink.words((0, HEAD - 28), "Team", ink.MUTED, size=11)]
    marks.append(times.time_axis(x, first, last, base, (left, right)))
    at = x(plot.judged)
    marks.append(ink.line((at, HEAD - 10), (at, base), theme.SOIL, 1.4, "4 3"))
    marks.append(ink.words((at, HEAD - 18), f"judged {plot.judged:%b %Y}", ink.MUTED, "middle", 11))
    for row in frame.to_dict("records"):
        y = row["y"]
        marks.append(ink.words((0, y), str(row["label"])))
        marks.append(ink.words((right + 10, y), str(row["printed"]), ink.MUTED, size=11))
        marks.append(ink.line((x(row["begin"]), y), (x(row["waits_to"]), y), theme.ASH, 1.4, "2 3"))
        if not row["follows"]:
            marks.append(ink.line((x(row["start"]), y), (x(row["with_to"]), y), theme.INK, 6.0, alpha=0.75))
        hue = theme.ASH if row["follows"] else theme.INK
        marks.append(ink.mark("triangle", x(row["start"]), y, hue, 5))
    return ink.Drawing(width, base + FOOT, "".join(marks))
