"""The least that draws four charts like those of the Load room: plain Bokeh, sources updated in place."""

import numpy as np
from bokeh.layouts import column, row
from bokeh.models import ColumnDataSource, Select
from bokeh.plotting import curdoc, figure

TEAMS = [f"team.T{number:02d}" for number in range(1, 17)]


def series(count: int, seed: int) -> dict:
    """Return a line with intervals."""
    y = np.random.default_rng(seed).normal(7, 1, count)
    x = np.arange(count, dtype=float)
    return {"x": x, "y": y, "low": y - 0.6, "high": y + 0.6}


def line(source: ColumnDataSource, title: str):
    """Return a chart of a line, its points and intervals."""
    made = figure(title=title, height=240, sizing_mode="stretch_width", toolbar_location=None)
    made.segment("x", "low", "x", "high", source=source)
    made.line("x", "y", source=source)
    made.scatter("x", "y", source=source)
    return made


months, weeks, teams, parts = (ColumnDataSource(series(n, i)) for i, n in enumerate((36, 26, 16, 16)))
ranked = figure(title="Teams", height=480, sizing_mode="stretch_width", toolbar_location=None)
ranked.segment("low", "x", "high", "x", source=teams)
ranked.scatter("y", "x", source=teams)
shares = figure(title="Hours by instrument", height=400, sizing_mode="stretch_width", toolbar_location=None)
shares.hbar(y="x", right="y", height=0.6, source=parts)
who = Select(title="Who", value=TEAMS[3], options=TEAMS)


def fill(_attr: str, _old: str, new: str) -> None:
    """Give each chart another team's numbers."""
    seed = TEAMS.index(new)
    for number, (source, count) in enumerate(((months, 36), (weeks, 26), (teams, 16), (parts, 16))):
        source.data = series(count, 10 * seed + number)


who.on_change("value", fill)
curdoc().add_root(
    column(
        who,
        row(line(months, "Months"), line(weeks, "Weeks"), sizing_mode="stretch_width"),
        row(ranked, shares, sizing_mode="stretch_width"),
        sizing_mode="stretch_width",
    )
)
