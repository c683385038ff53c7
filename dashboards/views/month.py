"""The Month room."""

from typing import Any

import pandas as pd
import panel as pn

from dashboards.data import ReleaseFrames, Unit
from dashboards.figures import rows as rows_figure
from dashboards.figures import small
from dashboards.labels import AVERAGE, REGIONS, TREND, region_label, safe
from dashboards.readings import cases, counting, flags, health, month, moved, year
from dashboards.readings.base import Reading
from dashboards.state import Chosen
from dashboards.views.figure import FigureView
from dashboards.views.flags import WordTable, table_of
from dashboards.views.live import flexible, side_by_side
from dashboards.views.markup import block, changes_markup, said
from dashboards.views.room import Room
from dashboards.views.table import TableBehind, place_words


class Done(pn.viewable.Viewer):
    """What was done: the register's newest entries for the chosen group."""

    title = "What was done"

    def __init__(self, **params: Any) -> None:
        super().__init__(**params)
        self.list = block()
        self._column = pn.Column(
            self.list,
            sizing_mode="stretch_width",
            margin=0,
            styles=flexible(320),
        )

    def show(self, frames: ReleaseFrames, chosen: Chosen) -> None:
        """Show the changes of the chosen unit's teams."""
        unit = frames.unit(chosen.unit)
        names = {u.code: u.name for u in frames.units("team")}
        rows = month.changes_of(frames, unit)
        self.list.object = (
            f"<h2>What was done</h2><p>Newest entries of the register for {safe(unit.name)}. "
            f"Whether they helped is not judged here.</p>{changes_markup(rows, names)}"
        )

    def __panel__(self) -> pn.viewable.Viewable:
        return self._column


class Cases(pn.viewable.Viewer):
    """Recorded cases of the organisation by year, as a table: a handful of numbers needs no plot."""

    title = "Recorded cases"

    def __init__(self, **params: Any) -> None:
        super().__init__(**params)
        self.body = block()
        self.table = TableBehind("Recorded cases", "evenhand_cases.csv", table=False)
        self._column = pn.Column(
            self.body, self.table, sizing_mode="stretch_width", margin=0, styles=flexible(480)
        )

    def show(self, frames: ReleaseFrames, chosen: Chosen) -> None:
        """Show the recorded cases; they do not depend on the chosen unit."""
        reading = cases.cases(frames, chosen)
        self.body.object = f"<h2>Recorded cases</h2>{said(reading)}{table_of(reading, 'Recorded cases')}"
        self.table.tools.visible = len(reading.rows) > 0
        self.table.show(reading.rows, reading.columns, reading, frames.edition(), place_words(frames, chosen))

    def __panel__(self) -> pn.viewable.Viewable:
        return self._column


class Regions(pn.viewable.Viewer):
    """Small multiples: the average and each body region on one scale."""

    title = "Region by region"

    def __init__(self, **params: Any) -> None:
        super().__init__(**params)
        self.body = block()
        self.table = TableBehind("Discomfort by body region", "evenhand_regions.csv")
        self._column = pn.Column(self.body, self.table, sizing_mode="stretch_width", margin=0)

    def show(self, frames: ReleaseFrames, chosen: Chosen) -> None:
        """Show the average and all nine regions for the chosen unit."""
        self.body.object, whole = frames.read(_regions, chosen)
        place = place_words(frames, chosen)
        self.table.show(whole.rows, health.HEALTH_COLUMNS, whole, frames.edition(), place)

    def __panel__(self) -> pn.viewable.Viewable:
        return self._column


def _regions(frames: ReleaseFrames, chosen: Chosen) -> tuple[str, Reading]:
    unit = frames.unit(chosen.unit)
    kind = health.health_kind(unit)
    top = health.common_top(frames, chosen)
    trend = moved.trend_rows(frames, chosen)
    words = dict(zip(trend["region"], trend["word"], strict=True))
    readings = {code: health.region(frames, chosen, code, top) for code in (AVERAGE[0], *REGIONS)}
    # What holds for every region is said once: the word above the figures, the crosses below them.
    words = words if len(set(words.values())) > 1 else {}
    feet = {reading.foot for reading in readings.values() if reading.plot is not None}
    crosses = feet.pop() if len(feet) == 1 else ""
    cells = "".join(
        _multiple(reading, words.get(code, ""), "" if crosses else reading.foot)
        for code, reading in readings.items()
    )
    counted = counting.case_words(frames, chosen.period)
    rows = pd.concat([readings[code].rows for code in REGIONS], ignore_index=True)
    rows = rows.drop(columns=["x", "series", "name", "text", "value", "begins"], errors="ignore")
    drawn = {region_label(code): r.plot for code, r in readings.items() if r.plot is not None}
    # Without a drawing there are no bars and no scale to explain.
    foot = " ".join(filter(None, (crosses, health.regions_foot(frames, chosen)))) if drawn else ""
    body = f'<div class="multiples">{cells}</div>' if drawn else _none_of_them(frames, unit, readings)
    markup = (
        f"<h2>Region by region, {kind} by {kind}</h2>"
        f"<p>People of {safe(unit.name)} with {safe(counted)}, as a share of those who answered.</p>"
        + (f'{body}<p class="foot">{safe(foot)}</p>' if foot else body)
    )
    plots = small.SmallPlots(drawn) if drawn else None
    return markup, Reading(plots, f"{kind.capitalize()} by {kind}.", foot, rows, health.HEALTH_COLUMNS)


def _none_of_them(frames: ReleaseFrames, unit: Unit, readings: dict[str, Reading]) -> str:
    # Ten empty boxes say no more than one, and hide where there is something to see.
    whys = dict.fromkeys(reading.notice for reading in readings.values())
    around = frames.cluster_of(unit)
    instead = (
        f" {around.name}, which this team is part of, publishes each month: choose it under Who."
        if around != unit
        else ""
    )
    why = "; ".join(whys)
    return f'<p class="empty">{safe(why[:1].upper() + why[1:])}.{safe(instead)}</p>'


def _multiple(reading: Reading, word: str, note: str) -> str:
    shape = TREND.get(word, "")
    calm = {"rising": "", "easing": " calm"}.get(word, " grey")
    tail = (
        f' <span class="shape{calm}" aria-hidden="true">{shape}</span><span class="foot">{safe(word)}</span>'
    )
    if reading.notice:
        return f"<div><h3>{safe(reading.title)}</h3>{said(reading)}</div>"
    return (
        f"<div><h3>{safe(reading.title)}{tail if word else ''}</h3>{small.draw(reading.plot)}"
        f'<p class="foot">{safe(reading.sentence)}. {safe(note)}</p></div>'
    )


def month_room(frames: ReleaseFrames) -> Room:
    """Return the Month room of a release.

    Parameters
    ----------
    frames : ReleaseFrames
        The release.

    Returns
    -------
    Room
        Not shown yet.
    """
    change = FigureView("What moved since last year", moved.moved, rows_figure.draw, "moved", wide=520)
    done, regions, recorded = Done(), Regions(), Cases()
    raised = WordTable("Worse than its own past", flags.flags, "evenhand_flags.csv")
    weighted = WordTable("Weighted to everybody asked", flags.weighted, "evenhand_weighted.csv")
    spread = WordTable("The year of each team against all teams", year.spread, "evenhand_spread.csv")
    whole_year = WordTable("The year of the whole organisation", year.year, "evenhand_year.csv")
    where = FigureView("Where", health.where, rows_figure.draw, "where", wide=480)
    return Room(
        frames,
        month.answer,
        (change, done, raised, regions, where, weighted, whole_year, spread, recorded),
        (
            side_by_side(change, done),
            side_by_side(raised),
            regions,
            side_by_side(where, weighted),
            side_by_side(whole_year),
            side_by_side(spread, recorded),
        ),
    )
