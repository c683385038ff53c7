"""Two tables of the Load room: the dose as the trade measures it, and whom the stations fit."""

from typing import Any

import panel as pn

from dashboards.data import ReleaseFrames
from dashboards.labels import STANDING, day_label, guide_number, missing, number, safe, true_minus
from dashboards.readings import dose
from dashboards.readings.base import Reading
from dashboards.state import Chosen
from dashboards.tables import as_cards
from dashboards.views.live import flexible
from dashboards.views.markup import block
from dashboards.views.table import TableBehind, place_words

_NOTE = (
    "A figure here is as good as its method: those from memory await a look into the paper, and every limit"
    " is a setting. Forces count where somebody measured the instrument; the rest of the time stays "
    "unknown. %MVC: percent of maximum strength. The thumb alone: no figure knows the load of holding, "
    "reaching or standing."
)
_FIT_NOTE = (
    "Shares of a population of published body sizes with the elbow at a workable height and, seated, room "
    "for the thighs; nobody here was measured. Sit or stand: between these bounds."
)


_LONG = 16
"""Rows above which a table scrolls in a box of its own."""


class _Table(pn.viewable.Viewer):
    """A heading with a table below it and its rows as files.

    Parameters
    ----------
    title, stem : str
        Heading, and name of the files.
    **params : object
        Options of the viewer.
    """

    def __init__(self, title: str, stem: str, **params: Any) -> None:
        super().__init__(**params)
        self.title = title
        self.body = block()
        self.table = TableBehind(title, f"evenhand_{stem}.csv", table=False)
        self._column = pn.Column(
            self.body, self.table, sizing_mode="stretch_width", margin=0, styles=flexible(600)
        )

    def _fill(self, frames: ReleaseFrames, chosen: Chosen, told: tuple[str, Reading]) -> None:
        self.body.object, reading = told
        self.table.show(reading.rows, reading.columns, reading, frames.edition(), place_words(frames, chosen))

    def __panel__(self) -> pn.viewable.Viewable:
        return self._column


class Dose(_Table):
    """One line a measure: value, guide, method with its edition, and how sure both are."""

    title = "The dose by published methods"

    def __init__(self, **params: Any) -> None:
        super().__init__(self.title, "dose", **params)

    def show(self, frames: ReleaseFrames, chosen: Chosen) -> None:
        """Show the chosen unit's dose figures."""
        self._fill(frames, chosen, frames.read(_dose, chosen))


class Stations(_Table):
    """One line a station: whom it fits, and what would raise that most."""

    title = "Whom the stations fit"

    def __init__(self, **params: Any) -> None:
        super().__init__(self.title, "stations", **params)

    def show(self, frames: ReleaseFrames, chosen: Chosen) -> None:
        """Show the stations of the chosen unit's teams."""
        self._fill(frames, chosen, frames.read(_stations, chosen))


def _dose(frames: ReleaseFrames, chosen: Chosen) -> tuple[str, Reading]:
    rows = dose.dose(frames, chosen)
    lines = "".join(map(_line, rows.to_dict("records")))
    bands = sorted(set(rows["n_band"].dropna()))
    people = f" People: {', '.join(bands)}." if bands else ""
    classes = dose.force_classes(frames, chosen)
    note = f"{classes} In brackets the 95 % interval over people.{people} {_NOTE}".strip()
    heads = ("Measure", "This month", "Standing", "Method and edition", "How sure")
    markup = _markup(Dose.title, len(rows), heads, lines, note)
    return markup, Reading(None, "", note, rows.drop(columns="printed"), dose.DOSE_COLUMNS)


def _stations(frames: ReleaseFrames, chosen: Chosen) -> tuple[str, Reading]:
    rows = dose.stations(frames, chosen)
    names = {unit.code: unit.name for unit in frames.units("team")}
    told = rows.assign(team=[names.get(team, team) for team in rows["team"]])
    lines = "".join(map(_station, told.to_dict("records")))
    heads = (
        "Station",
        "Standing",
        "Seated",
        "Sit or stand",
        "What would raise it most",
        "Bench",
        "Seen on",
    )
    markup = _markup(Stations.title, len(rows), heads, lines, _FIT_NOTE)
    return markup, Reading(None, "", _FIT_NOTE, rows, dose.STATION_COLUMNS)


def _markup(title: str, count: int, heads: tuple[str, ...], lines: str, note: str) -> str:
    nothing = '<tr><td class="why" colspan="9">nothing published for this month</td></tr>'
    head = "".join(f'<th scope="col">{safe(name)}</th>' for name in heads)
    tall = " tall" if count > _LONG else ""
    table = f'<table class="told"><thead><tr>{head}</tr></thead><tbody>{lines or nothing}</tbody></table>'
    return (
        f"<h2>{safe(title)}</h2>"
        f'<div class="scroll{tall}" tabindex="0" role="region" aria-label="{safe(title)}">'
        f"{as_cards(table, heads)}</div>"
        f'<p class="foot">{safe(note)}</p>'
    )


def _line(row: dict[str, Any]) -> str:
    head = f'<th scope="row">{safe(row["title"])}</th>'
    method = f"<td>{safe(row['basis'])}</td><td>{safe(row['status'])}</td>"
    if row["reason"]:
        return f'<tr>{head}<td class="why" colspan="2">{safe(row["reason"])}</td>{method}</tr>'
    part = missing(row["known_percent"]) or row["known_percent"] >= 100
    known = "" if part else f"<small>{number(row['known_percent'])} % of the time known</small>"
    word = "" if missing(row["standing"]) else str(row["standing"])
    calm = "" if word == "over guide" else " calm"
    says = f"<small>{safe(true_minus(row['guide_words']))}</small>" if row["guide_words"] else ""
    standing = (
        "no guide"
        if missing(row["guide"])
        else f'<span class="shape{calm}" aria-hidden="true">{STANDING.get(word, "")}</span>'
        f"{safe(word)} {guide_number(row['guide'])}"
    )
    return f"<tr>{head}<td>{safe(row['printed'])}{known}</td><td>{standing}{says}</td>{method}</tr>"


def _station(row: dict[str, Any]) -> str:
    head = f'<th scope="row">{safe(row["station"])}<small>{safe(row["team"])}</small></th>'
    seen = f'<span class="whole">{day_label(row["observed_on"])}</span>'
    if row["reason"]:
        return f'<tr>{head}<td class="why" colspan="5">{safe(row["reason"])}</td><td>{seen}</td></tr>'
    best = "nothing that was tried"
    if not missing(row["best_change"]):
        best = f"{true_minus(row['best_change'])}: {number(row['best_after'])} % {row['best_posture']}"
    bounds = (row["either_low"], row["either_high"])
    either = number(bounds[0]) if bounds[0] == bounds[1] else f"{number(bounds[0])} to {number(bounds[1])}"
    return (
        f"<tr>{head}<td>{_pair(row, 'standing')}</td><td>{_pair(row, 'seated')}</td>"
        f"<td>{'not measured' if missing(bounds[0]) else f'{either} %'}</td><td>{safe(best)}</td>"
        f"<td>{number(row['bench_height_mm'])} mm</td><td>{seen}</td></tr>"
    )


def _pair(row: dict[str, Any], posture: str) -> str:
    women, men = (row[f"{posture}_{sex}"] for sex in ("women", "men"))
    if missing(women):
        return "not measured"
    return f"{number(women)} % of women, {number(men)} % of men"
