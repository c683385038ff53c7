"""From a release to the brief of one month."""

import re

from dashboards.brief import changes, month, trust
from dashboards.brief.content import Brief
from dashboards.data import ReleaseFrames
from dashboards.labels import month_label
from dashboards.readings.base import CAUTION
from dashboards.readings.month import answer
from dashboards.state import Chosen, RoomState
from etl.errors import EvenhandError

MEASURE = "hours_per_week"


def compose(frames: ReleaseFrames, period: str) -> Brief:
    """Return the committee brief of a month, for the whole organisation.

    Parameters
    ----------
    frames : ReleaseFrames
        The release.
    period : str
        Month, such as ``2026-10``.

    Returns
    -------
    Brief
        Plain words and drawings, the same for the same edition and month.

    Raises
    ------
    EvenhandError
        If the month is not one, or not in the release.
    """
    chosen = _chosen(frames, period)
    edition, said = frames.edition(), answer(frames, chosen)
    made = edition.created_at
    sections = (
        month.what_moved(frames, chosen),
        month.flagged(frames, chosen),
        month.over_guide(frames, chosen),
        changes.verdicts(frames, chosen),
        changes.actions_due(frames, chosen),
        changes.what_next(frames, chosen),
        trust.data_quality(frames, chosen),
        trust.cautions(frames),
    )
    return Brief(
        institute=frames.organisation().name,
        period=month_label(period),
        edition=f"Edition {edition.number} of {month_label(edition.period)}, made {made:%d %B %Y}",
        content_hash=edition.content_hash,
        made_at=f"{made:%Y-%m-%dT%H:%M:%S}",
        headline=said.headline,
        lead=said.lead,
        facts=tuple((f.name, f.value, f.behind) for f in said.facts),
        caution=CAUTION,
        sections=sections,
    )


def _chosen(frames: ReleaseFrames, period: str) -> Chosen:
    if not re.fullmatch(r"\d{4}-(0[1-9]|1[0-2])", period):
        raise EvenhandError(f"'{period[:20]}' is not a month", "--period", "Write it like 2026-10.")
    state = RoomState(frames.choices())
    months = sorted(frames.months())
    if period not in months:
        held = f"It holds {months[0]} to {months[-1]}." if months else "It holds no month yet."
        raise EvenhandError(f"No month {period} in the release", f"edition {frames.edition().number}", held)
    measure = MEASURE if MEASURE in state.param.measure.objects else state.measure
    state.param.update(period=period, unit=frames.organisation().key, measure=measure)
    return state.settings()
