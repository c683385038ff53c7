"""The least that draws the charts of the Load room: plain Bokeh, sources updated in place.

As many charts as the room has figures, of like size and with as many marks. With ``EVENHAND_BARE=4`` only
the first four of them. It has none of the room's words and tables.
"""

import os

import numpy as np
from bokeh.layouts import column, row
from bokeh.models import ColumnDataSource, Select
from bokeh.plotting import curdoc, figure

TEAMS = [f"team.T{number:02d}" for number in range(1, 17)]
CHARTS = int(os.environ.get("EVENHAND_BARE", "6"))
# Months, weeks, teams; then hours by task, instrument and weekday.
COUNTS = (36, 26, 16, 6, 15, 6)[:CHARTS]


def series(count: int, seed: int) -> dict:
    """Return a line with intervals."""
    y = np.random.default_rng(seed).normal(7, 1, count)
    x = np.arange(count, dtype=float)
    return {"x": x, "y": y, "low": y - 0.6, "high": y + 0.6}


def plain(title: str, height: int):
    """Return an empty chart."""
    return figure(title=title, height=height, sizing_mode="stretch_width", toolbar_location=None)


def line(source: ColumnDataSource, title: str):
    """Return a chart of a line, its points and intervals."""
    made = plain(title, 300)
    made.segment("x", "low", "x", "high", source=source)
    made.line("x", "y", source=source)
    made.scatter("x", "y", source=source)
    return made


def bars(source: ColumnDataSource, title: str, height: int):
    """Return a chart of bars."""
    made = plain(title, height)
    made.hbar(y="x", right="y", height=0.6, source=source)
    return made


sources = [ColumnDataSource(series(n, i)) for i, n in enumerate(COUNTS)]
ranked = plain("Teams", 480)
ranked.segment("low", "x", "high", "x", source=sources[2])
ranked.scatter("y", "x", source=sources[2])
parts = zip(sources[3:], ("Task", "Instrument", "Weekday"), (228, 462, 228), strict=False)
who = Select(title="Who", value=TEAMS[3], options=TEAMS)


def fill(_attr: str, _old: str, new: str) -> None:
    """Give each chart another team's numbers."""
    seed = TEAMS.index(new)
    for number, (source, count) in enumerate(zip(sources, COUNTS, strict=True)):
        source.data = series(count, 10 * seed + number)


who.on_change("value", fill)
curdoc().add_root(
    column(
        who,
        row(line(sources[0], "Months"), line(sources[1], "Weeks"), sizing_mode="stretch_width"),
        row(ranked, *(bars(*part) for part in parts), sizing_mode="stretch_width"),
        sizing_mode="stretch_width",
    )
)
