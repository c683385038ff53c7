"""The Changes room."""

from dashboards.data import ReleaseFrames
from dashboards.figures import register as register_figure
from dashboards.figures import rows as rows_figure
from dashboards.figures import series as series_figure
from dashboards.readings import changes, effect, event, reach
from dashboards.views.figure import FigureView
from dashboards.views.flags import WordTable
from dashboards.views.live import side_by_side
from dashboards.views.room import Room


def changes_room(frames: ReleaseFrames) -> Room:
    """Return the Changes room of a release.

    Parameters
    ----------
    frames : ReleaseFrames
        The release.

    Returns
    -------
    Room
        Not shown yet.
    """
    helped = FigureView("Did it help?", effect.effect, rows_figure.draw, "effect", wide=480)
    evidence = WordTable("What the verdict rests on", effect.evidence, "evenhand_evidence.csv")
    reached = FigureView("Did it reach the work?", reach.reach, rows_figure.draw, "reach", wide=480)
    discomfort = FigureView(
        "Discomfort of the cluster, start marked", reach.discomfort, series_figure.draw, "cluster", wide=480
    )
    quarters = FigureView("Quarter by quarter", event.quarters, rows_figure.draw, "quarters", wide=480)
    checks = WordTable("Checks beside it", event.checks, "evenhand_checks.csv")
    history = WordTable("What the register said when", event.history, "evenhand_history.csv")
    register = FigureView("The register", changes.register, register_figure.draw, "register", wide=480)
    return Room(
        frames,
        changes.answer,
        (helped, reached, quarters, discomfort, checks, evidence, register, history),
        (
            side_by_side(helped, reached),
            side_by_side(quarters, discomfort),
            side_by_side(checks),
            side_by_side(evidence),
            side_by_side(register),
            side_by_side(history),
        ),
    )
