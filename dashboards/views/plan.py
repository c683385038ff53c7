"""The Plan room."""

from typing import Any

import panel as pn

from dashboards.data import ReleaseFrames
from dashboards.figures import calendar as calendar_figure
from dashboards.figures import rows as rows_figure
from dashboards.kinds import Frame, Row
from dashboards.labels import missing, number, region_label, safe, true_minus
from dashboards.readings import plan, roll_out
from dashboards.readings.base import Reading
from dashboards.state import Chosen
from dashboards.views.figure import FigureView
from dashboards.views.flags import WordTable
from dashboards.views.live import flexible, side_by_side
from dashboards.views.markup import block
from dashboards.views.room import Room
from dashboards.views.table import TableBehind, place_words

TITLE = "How many teams, how many months"


class Reach(pn.viewable.Viewer):
    """What each number of teams and months can find: a grid that is a table, to be walked and printed."""

    title = TITLE

    def __init__(self, **params: Any) -> None:
        super().__init__(**params)
        self.body = block()
        self.table = TableBehind(TITLE, "evenhand_plan_reach.csv")
        self._column = pn.Column(
            self.body, self.table, sizing_mode="stretch_width", margin=0, styles=flexible(480)
        )

    def show(self, frames: ReleaseFrames, chosen: Chosen) -> None:
        """Show the grid of the chosen body region."""
        rows = plan.reach_rows(frames, chosen)
        plans = roll_out.plan_rows(frames, chosen)
        own = None if plans.empty else plans.iloc[0]
        name = region_label(roll_out.planned_region(frames, chosen)).lower()
        reading = Reading(None, plan.largest(rows) if len(rows) else "", _FOOT, rows, plan.REACH_COLUMNS)
        shown = _grid(rows, own) if len(rows) else f'<p class="empty">{safe(plan.NONE)}</p>'
        # The sentence itself stands on top of the room.
        what = f"<p>Smallest fall of {safe(name)} discomfort found in four of five cases, in points.</p>"
        foot = _FOOT if own is not None else _FOOT.replace(_BOXED, "")
        self.body.object = f"<h2>{TITLE}</h2>{what if len(rows) else ''}{shown}" + (
            f'<p class="foot">{safe(foot)}</p>' if len(rows) else ""
        )
        self.table.show(rows, plan.REACH_COLUMNS, reading, frames.edition(), place_words(frames, chosen))

    def __panel__(self) -> pn.viewable.Viewable:
        return self._column


_BOXED = "Boxed: the plan above. "
_FOOT = (
    f"Bar: how often a fall of 5 points would be found, of 100 cases. {_BOXED}Cross: chance can never be "
    "told apart at 5 %. Dash: not even the end of all discomfort would be found. Half of the teams are "
    f"changed, at one start, by lot. {plan.SOURCE}"
)


def _grid(rows: Frame, own: Row | None) -> str:
    months = sorted(set(rows["months"]))
    head = "".join(f'<th scope="col">{m} + {m}</th>' for m in months)
    body = []
    for changed in sorted(set(rows["changed"])):
        part = rows[rows["changed"] == changed].set_index("months")
        first = part.iloc[0]
        more = "" if first["teams_enough"] else "<small>more than there are</small>"
        cells = "".join(_cell(part.loc[m], m, own) for m in months)
        body.append(f'<tr><th scope="row">{safe(first["teams_words"])}{more}</th>{cells}</tr>')
    return (
        '<div class="scroll" tabindex="0" role="region" aria-label="Reach by teams and months">'
        '<table class="reach">'
        "<caption>Teams changed down, months before and after the start across</caption>"
        f'<thead><tr><th scope="col">Teams</th>{head}</tr></thead>'
        f"<tbody>{''.join(body)}</tbody></table></div>"
    )


def _cell(row: Row, months: int, own: Row | None) -> str:
    boxed = (
        own is not None and own["steps"] == 1 and own["changed"] == row["changed"] and own["months"] == months
    )
    mark = ' class="own"' if boxed else ""
    title = safe(true_minus(row["sentence"]))
    if row["smallest_p"] > 0.05:
        return f'<td{mark} title="{title}">\u2715</td>'
    value = "\u2013" if missing(row["points"]) else f"<b>{number(row['points'])}</b>"
    share = float(row["found_percent"])
    bar = (
        f'<span class="share" aria-hidden="true"><i style="width:{share:.0f}%"></i></span>'
        f"<small>{number(share)} %</small>"
    )
    return f'<td{mark} title="{title}">{value}{bar}</td>'


def plan_room(frames: ReleaseFrames) -> Room:
    """Return the Plan room of a release.

    Parameters
    ----------
    frames : ReleaseFrames
        The release.

    Returns
    -------
    Room
        Not shown yet.
    """
    reach = Reach()
    teams = FigureView(
        "More teams find smaller falls", plan.by_teams, rows_figure.draw, "plan_teams", wide=480
    )
    who = FigureView("Who first", roll_out.calendar, calendar_figure.draw, "plan_calendar", wide=480)
    cost = FigureView("What it would cost", roll_out.cost, rows_figure.draw, "plan_cost", wide=480)
    never = WordTable("What this can never show", plan.never, "evenhand_plan_never.csv")
    ground = WordTable("What the plans reckon with", plan.ground, "evenhand_plan_ground.csv")
    return Room(
        frames,
        plan.answer,
        (reach, teams, who, cost, never, ground),
        (side_by_side(reach, who), side_by_side(teams, cost), side_by_side(never), side_by_side(ground)),
    )
