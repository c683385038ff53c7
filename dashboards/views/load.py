"""The Load room."""

from functools import partial
from typing import Any

import panel as pn

from dashboards.data import ReleaseFrames
from dashboards.figures import bullet
from dashboards.figures import parts as parts_figure
from dashboards.figures import rows as rows_figure
from dashboards.figures import series as series_figure
from dashboards.kinds import Frame
from dashboards.labels import MEASURES, STANDING, guide_number, safe, sentence_case
from dashboards.readings import exposure, flags, groups, load
from dashboards.readings.base import Reading
from dashboards.state import Chosen
from dashboards.views.dose import Dose, Stations
from dashboards.views.figure import FigureView
from dashboards.views.flags import WordTable
from dashboards.views.live import flexible, side_by_side
from dashboards.views.markup import block
from dashboards.views.room import Room
from dashboards.views.table import TableBehind, place_words


class Profile(pn.viewable.Viewer):
    """All measures of the month in one table: value, interval, guide, standing, the organisation."""

    title = "Every measure against its guide"

    def __init__(self, **params: Any) -> None:
        super().__init__(**params)
        self.body = block()
        self.table = TableBehind("All measures of the month", "evenhand_measures.csv")
        self._column = pn.Column(
            self.body,
            self.table,
            sizing_mode="stretch_width",
            margin=0,
            styles=flexible(680),
        )

    def show(self, frames: ReleaseFrames, chosen: Chosen) -> None:
        """Show the chosen unit's measures."""
        self.body.object, reading = frames.read(profile_markup, chosen)
        told = place_words(frames, chosen)
        self.table.show(reading.rows, reading.columns, reading, frames.edition(), told)

    def __panel__(self) -> pn.viewable.Viewable:
        return self._column


def profile_markup(frames: ReleaseFrames, chosen: Chosen) -> tuple[str, Reading]:
    """Return the table of all measures as markup, and its rows for the files.

    Parameters
    ----------
    frames : ReleaseFrames
        The release.
    chosen : Chosen
        State.

    Returns
    -------
    tuple of (str, Reading)
        Markup, and the rows with the words about them.
    """
    rows = load.profile(frames, chosen)
    behind = rows.drop(columns=["title", "organisation", "printed", "other"]).assign(name=rows["title"])
    told = Reading(None, "", _bands(rows), behind, exposure.columns(_ANY))
    why = load.hidden_whole(rows)
    if why:
        return f'<h2>{Profile.title}</h2><p class="empty">{safe(sentence_case(why))}</p>', told
    whole = chosen.level == "organisation"
    lines = "".join(_line(row, chosen) for row in rows.to_dict("records"))
    beside = "" if whole else '<th scope="col">Organisation</th>'
    ring = "" if whole else " Ring: the organisation."
    markup = (
        f"<h2>{Profile.title}</h2><p>In brackets the 95 % interval over people.</p>"
        '<div class="scroll" tabindex="0" role="region" aria-label="Every measure against its guide">'
        '<table class="close"><thead><tr><th scope="col">Measure</th><th scope="col">This month</th>'
        f'<th class=drawn scope="col">From zero</th><th scope="col">Standing</th>{beside}</tr></thead>'
        f"<tbody>{lines}</tbody></table></div>"
        '<p class="foot">Each line starts at zero and has its own scale. '
        "Dot: the value; band: the interval; "
        f"dashed: the guide.{ring} {safe(_bands(rows))}</p>"
    )
    return markup, told


# One object for all sessions: what is read by it is kept once for all of them.
_WEEKS = partial(exposure.trend, kind="week")
_PARTS = {kind: partial(groups.parts, kind=kind) for kind in groups.PARTS}
_ANY = MEASURES["hours_per_week"].__class__("Value", "Value", "see measure", 1)


def _line(row: dict[str, Any], chosen: Chosen) -> str:
    name = f"<b>{safe(row['title'])}</b>" if row["measure"] == chosen.measure else safe(row["title"])
    if row["reason"]:
        return f'<tr><th scope="row">{name}</th><td class="why" colspan="4">{safe(row["reason"])}</td></tr>'
    word = row["standing"] if isinstance(row["standing"], str) and row["standing"] else ""
    calm = "" if word == "over guide" else " calm"
    shape = f'<span class="shape{calm}" aria-hidden="true">{STANDING.get(word, "")}</span>'
    guide = _known(row["guide"])
    standing = f"{shape}{safe(word)} {guide_number(guide)}" if guide is not None else "no guide"
    whole = chosen.level == "organisation"
    drawing = bullet.draw(
        float(row["value"]),
        float(row["low"]),
        float(row["high"]),
        guide,
        None if whole else _known(row["other"]),
    )
    beside = "" if whole else f"<td>{safe(row['organisation'])}</td>"
    return (
        f'<tr><th scope="row">{name}</th><td>{safe(row["printed"])}</td><td class=drawn>{drawing}</td>'
        f"<td>{standing}</td>{beside}</tr>"
    )


def _known(value: Any) -> float | None:
    return None if value is None or value != value else float(value)


def _bands(rows: Frame) -> str:
    bands = sorted(set(rows["n_band"].dropna()))
    return f"People: {', '.join(bands)}." if bands else ""


def load_room(frames: ReleaseFrames) -> Room:
    """Return the Load room of a release.

    Parameters
    ----------
    frames : ReleaseFrames
        The release.

    Returns
    -------
    Room
        Not shown yet.
    """
    profile, dose, stations = Profile(), Dose(), Stations()
    raised = WordTable("Load above its own past", flags.load_flags, "evenhand_load_flags.csv")
    trend = FigureView("The chosen measure by month", exposure.trend, series_figure.draw, "months", wide=480)
    weeks = FigureView("The last 26 weeks", _WEEKS, series_figure.draw, "weeks", wide=480)
    beside = FigureView("Who stands where", groups.standings, rows_figure.draw, "groups", wide=480)
    parts = [
        FigureView(
            f"Hours by {kind}",
            read,
            parts_figure.draw,
            f"hours_by_{kind}",
            wide=360,
        )
        for kind, read in _PARTS.items()
    ]
    return Room(
        frames,
        load.answer,
        (profile, trend, beside, weeks, *parts, dose, stations, raised),
        (
            side_by_side(profile, trend),
            side_by_side(beside, weeks),
            side_by_side(raised),
            side_by_side(dose),
            side_by_side(*parts),
            side_by_side(stations),
        ),
    )
