"""The least that draws the charts of the Load room: plain Bokeh, sources updated in place.

As many charts as the room has figures, of like size, with as many marks and as many words at their axes.
With ``EVENHAND_BARE=4`` only the first four of them. It has none of the room's words and tables.
"""

import os

import numpy as np
from bokeh.layouts import column, row
from bokeh.models import ColumnDataSource, FixedTicker, LinearAxis, Select
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


def plain(title: str, height: int, names: int, words: int):
    """Return an empty chart: rows or ends by name, and words at the right, as the room's figures have."""
    made = figure(title=title, height=height, sizing_mode="stretch_width", toolbar_location=None)
    made.xaxis.axis_label = "hours per person and week"
    if names:
        made.yaxis.ticker = FixedTicker(ticks=list(range(names)))
        made.yaxis.major_label_overrides = {n: f"Row called {n}" for n in range(names)}
    right = LinearAxis(ticker=FixedTicker(ticks=list(range(words))))
    made.add_layout(right, "right")
    return made, right


def line(source: ColumnDataSource, title: str):
    """Return a chart of a line, its points and intervals."""
    made, right = plain(title, 300, 0, 3)
    made.segment("x", "low", "x", "high", source=source)
    made.line("x", "y", source=source)
    made.scatter("x", "y", source=source)
    return made, right


def bars(source: ColumnDataSource, title: str, height: int, count: int):
    """Return a chart of bars."""
    made, right = plain(title, height, count, count)
    made.hbar(y="x", right="y", height=0.6, source=source)
    return made, right


sources = [ColumnDataSource(series(n, i)) for i, n in enumerate(COUNTS)]
ranked = plain("Teams", 480, 16, 16)
ranked[0].segment("low", "x", "high", "x", source=sources[2])
ranked[0].scatter("y", "x", source=sources[2])
parts = zip(sources[3:], ("Task", "Instrument", "Weekday"), (228, 462, 228), COUNTS[3:], strict=False)
first = (line(sources[0], "Months"), line(sources[1], "Weeks"))
second = (ranked, *(bars(*part) for part in parts))
who = Select(title="Who", value=TEAMS[3], options=TEAMS)


def fill(_attr: str, _old: str, new: str) -> None:
    """Give each chart another team's numbers, and the words beside them."""
    seed = TEAMS.index(new)
    for number, (source, count, (_, right)) in enumerate(
        zip(sources, COUNTS, (*first, *second), strict=True)
    ):
        source.data = series(count, 10 * seed + number)
        places = right.ticker.ticks
        right.major_label_overrides = {n: f"{source.data['y'][n]:.1f} of team {seed}" for n in places}


who.on_change("value", fill)
curdoc().add_root(
    column(
        who,
        row(*(made for made, _ in first), sizing_mode="stretch_width"),
        row(*(made for made, _ in second), sizing_mode="stretch_width"),
        sizing_mode="stretch_width",
    )
)
