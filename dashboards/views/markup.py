"""Readings as markup; every data-borne string is escaped here and nowhere else trusted."""

from typing import Any

import pandas as pd
import panel as pn

from dashboards import theme
from dashboards.conditions import Condition
from dashboards.kinds import Frame
from dashboards.labels import CONTROL, KIND, STATUS, day_label, safe, sentence_case
from dashboards.readings.base import Answer, Reading

SHAPE = {"complete": "\u25a0", "started": "\u25b2", "planned": "\u25c7", "dropped": "\u2715"}


class _Words(pn.pane.HTML):
    """A pane of which only the words change.

    The library sends all properties again with each new text, its styles among them: each change would
    bring back the looks that the page leaves out, and have all parts of the page counted anew.
    """

    def _update(self, ref: str, model: Any) -> None:
        model.text = self._transform_object(self.object)["object"]


def block(markup: str = "", **more: Any) -> pn.pane.HTML:
    """Return a pane with our style.

    Parameters
    ----------
    markup : str, default ""
        Markup whose data-borne parts are escaped already.
    **more : object
        Options of the pane.

    Returns
    -------
    panel.pane.HTML
        The pane.
    """
    return _Words(
        markup, stylesheets=[theme.CSS], sizing_mode="stretch_width", margin=0, enable_streaming=False, **more
    )


def said(reading: Reading) -> str:
    """Return what stands under a heading: the sentence, or where nothing is drawn one box that says why.

    Parameters
    ----------
    reading : Reading
        Sentence and notice; one that repeats the other is said once.

    Returns
    -------
    str
        Markup.
    """
    sentence, notice = sentence_case(reading.sentence), sentence_case(reading.notice)
    if notice:
        return f'<p class="empty">{safe(" ".join(dict.fromkeys(filter(None, (sentence, notice)))))}</p>'
    return f"<p>{safe(sentence)}</p>" if sentence else ""


def answer_markup(answer: Answer) -> str:
    """Return the first screen's answer.

    Parameters
    ----------
    answer : Answer
        Plain words.

    Returns
    -------
    str
        Markup.
    """
    facts = "".join(
        f"<div><dt>{safe(f.name)}</dt><dd>{safe(f.value)}<small>{safe(f.behind)}</small></dd></div>"
        for f in answer.facts
    )
    listing = f'<dl class="facts">{facts}</dl>' if facts else ""
    return (
        f'<p class="eyebrow">{safe(answer.eyebrow)}</p><h1>{safe(answer.headline)}</h1>'
        f'<p class="lead">{safe(answer.lead)}</p>{listing}'
    )


def changes_markup(rows: Frame, names: dict[str, str], limit: int = 7) -> str:
    """Return what was done as a list, newest first.

    Parameters
    ----------
    rows : pandas.DataFrame
        Rows of ``change`` with ``when``.
    names : dict of str to str
        Team code -> name.
    limit : int, default 7
        Rows shown.

    Returns
    -------
    str
        Markup.
    """
    items = []
    for row in rows.head(limit).to_dict("records"):
        status = str(STATUS.get(row["status"], row["status"]))
        day = day_label(row["when"]) if pd.notna(row["when"]) else "no date"
        day = f"on {day}" if status == "complete" else f"for {day}" if status == "planned" else day
        calm = "calm" if status in ("complete", "started") else "grey"
        items.append(
            f'<li><span class="shape {calm}" aria-hidden="true">{SHAPE.get(status, "")}</span>'
            f"<b>{safe(row['title'])}</b><small>{safe(status)} {safe(day)}; "
            f"{safe(names.get(row['team'], row['team']))}; "
            f"{safe(CONTROL.get(row['control_level'], row['control_level']))}, "
            f"{safe(KIND.get(row['kind'], row['kind']))}</small></li>"
        )
    more = f'<p class="foot">{len(rows) - limit} more in Changes.</p>' if len(rows) > limit else ""
    if not items:
        return '<p class="empty">No change is registered here.</p>'
    return f'<ul class="plain">{"".join(items)}</ul>{more}'


def bullets(items: tuple[str, ...]) -> str:
    """Return fixed sentences as a list."""
    return f"<ul>{''.join(f'<li>{safe(item)}</li>' for item in items)}</ul>"


def condition_markup(condition: Condition, heading: str = "h1") -> str:
    """Return what stands where numbers cannot.

    Parameters
    ----------
    condition : Condition
        Plain words.
    heading : str, default "h1"
        Element of the title: ``h1`` for a page or room, ``h2`` for a figure.

    Returns
    -------
    str
        Markup.
    """
    told = {"Found": condition.found, "Where": condition.where, "What to do": condition.remedy}
    rows = "".join(f"<div><dt>{name}</dt><dd>{safe(words)}</dd></div>" for name, words in told.items())
    return (
        f'<section class="condition" role="status"><{heading}>{safe(condition.title)}</{heading}>'
        f"<dl>{rows}</dl></section>"
    )
