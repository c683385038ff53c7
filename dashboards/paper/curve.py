"""A curve over an exposure on paper: band, marks and the rug of groups."""

from dashboards import theme
from dashboards.figures.dose_curve import CurvePlot, reach
from dashboards.labels import number
from dashboards.paper import ink

HEAD, FOOT = 26.0, 46.0


def draw_curve(plot: CurvePlot, width: float) -> ink.Drawing:
    """Draw a curve with its band.

    Parameters
    ----------
    plot : CurvePlot
        What the room draws.
    width : float
        Width of the drawing.

    Returns
    -------
    Drawing
        The drawing.
    """
    height = float(plot.height)
    low, high, top = reach(plot)
    steps = ink.round_steps(0.0, top)
    left = max(ink.wide(number(s), 11) for s in steps) + 12
    right, base = width - 16, height - FOOT

    def place(x: float, y: float) -> tuple[float, float]:
        return left + (right - left) * (x - low) / (high - low), base - (base - HEAD) * y / top

    marks = [ink.words((0, HEAD - 16), plot.axis, ink.MUTED, size=11)]
    for step in steps:
        y = place(low, step)[1]
        marks.append(ink.line((left, y), (right, y), ink.RULE, 0.7))
        marks.append(ink.words((left - 6, y), number(step), ink.MUTED, "end", 11))
    for step in ink.round_steps(low, high):
        if low <= step <= high:
            marks.append(ink.words((place(step, 0)[0], base + 14), number(step), ink.MUTED, "middle", 11))
    marks.append(ink.words(((left + right) / 2, base + 34), plot.across, ink.MUTED, "middle", 11))
    rows = plot.frame.sort_values("x")
    edge = [place(x, y) for x, y in zip(rows["x"], rows["high"], strict=True)]
    edge += [place(x, y) for x, y in zip(rows["x"][::-1], rows["low"][::-1], strict=True)]
    points = " ".join(f"{x:.1f},{y:.1f}" for x, y in edge)
    marks.append(f'<polygon points="{points}" fill="{theme.INK}" fill-opacity="0.18"/>')
    for k, (x, text) in enumerate(sorted(plot.marks)):
        head = place(x, top * 0.94)
        marks.append(ink.line(head, (head[0], base), theme.SOIL, 1.6, "5 3"))
        marks.append(ink.words((head[0] + 4, head[1] + 8 + 13 * k), text, ink.MUTED, size=11))
    for x in plot.rug["x"]:
        tick = place(float(x), 0)
        marks.append(ink.line(tick, (tick[0], tick[1] - 10), theme.ASH, 2.2))
    for frame, hue, stroke in ((plot.beside, theme.PLUM, 1.4), (rows, theme.INK, 2.2)):
        ordered = frame.sort_values("x")
        line = [place(x, y) for x, y in zip(ordered["x"], ordered["value"], strict=True)]
        marks.append(ink.path(line, hue, stroke))
    return ink.Drawing(width, height, "".join(marks))
