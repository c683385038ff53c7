"""What stands beside the statement on a change: effects by quarter through the gate, checks in words."""

import math
from collections.abc import Sequence

import numpy as np

from etl.release_calendar import Month
from etl.release_register import Entry
from etl.release_rows import Job, Row
from etl.release_said import pass_gate
from models.change_design import CHOSEN, ONE_SERIES, Design
from models.disclosure import band_text
from models.evaluation import Answers, Evaluation
from models.event_picture import EventPicture, event_picture
from models.result_gate import Estimate, Question, Withheld

REFERENCE = -1
CANNOT_DRAW = {
    CHOSEN: "No picture by quarters is drawn: teams chosen for their discomfort fall back by themselves, and "
    "that would look like an effect.",
    ONE_SERIES: "No picture by quarters is drawn: there is no comparison.",
}


def picture(
    answers: Answers, design: Design, window: tuple[int, int], begun: int, seed: int
) -> EventPicture | None:
    """Return the effects by quarter of one change and region; see `models.event_picture`."""
    return event_picture(answers, design, window, begun, np.random.default_rng(seed))


def event_rows(
    job: Job, group: Sequence[Entry], region: str, first: Month, window: tuple[int, int],
    drawn: EventPicture | None,
) -> list[Row]:  # fmt: skip
    """Return the rows of table ``change_event``, each quarter a statement of its own before the gate.

    Parameters
    ----------
    job : Job
        Edition in the making.
    group : sequence of Entry
        Entries of the change.
    region : str
        Target region.
    first : Month
        Month 0.
    window : tuple of int
        First and last month judged.
    drawn : EventPicture or None
        The picture.

    Returns
    -------
    list of tuple
        Without the edition number; none without a picture.
    """
    if drawn is None:
        return []
    span = f"{first.plus(window[0])} to {first.plus(window[1])}"
    told: list[Row] = [(REFERENCE, 0.0, 0.0, 0.0, None, None, None)]
    for point in drawn.points:
        title = f"change {group[0].title} ({group[0].kind}), quarter {point.quarter:+d}"
        estimate = Estimate(100 * point.effect, 100 * point.low, 100 * point.high)
        people = (point.changed_people, point.other_people)
        question = Question(f"discomfort/{region}", title, span)
        said = pass_gate(job, question, estimate, people, point.residual_df, point.used)
        if isinstance(said, Withheld):
            told.append((point.quarter, None, None, None, None, None, said.reason))
        else:
            limits = (said.low, said.high)
            low, high = (None if math.isinf(limit) else limit for limit in limits)
            told.append((point.quarter, said.value, low, high, *map(band_text, people), None))
    told.sort(key=lambda row: int(str(row[0])))
    return [(entry.change, region, *row) for entry in group for row in told]


def check_rows(
    group: Sequence[Entry],
    design: Design,
    region: str,
    found: Evaluation,
    placebo: tuple[bool | None, str],
    drawn: EventPicture | None,
    step: float,
) -> list[Row]:
    """Return the rows of table ``change_check``.

    Parameters
    ----------
    group : sequence of Entry
        Entries of the change.
    design : Design
        The method.
    region : str
        Target region.
    found : Evaluation
        What was found.
    placebo : tuple
        Whether nothing was seen at a region it does not touch, and the words.
    drawn : EventPicture or None
        Effects by quarter.
    step : float
        Points to which the statement is rounded.

    Returns
    -------
    list of tuple
        One row an entry and check, without the edition number.
    """
    told = [
        ("Lots", *_lots(found, design)),
        ("One team", not found.alone, _alone(found)),
        ("Before the start", *_before(design, found, drawn, step)),
        ("An earlier date", *_earlier(found)),
        ("A region it does not touch", *placebo),
        ("Use", *_use(design, found)),
    ]
    return [(entry.change, region, place, *row) for entry in group for place, row in enumerate(told, start=1)]


def _lots(found: Evaluation, design: Design) -> tuple[bool | None, str]:
    if found.random_p is None:
        return None, "One series cannot be given to other teams."
    size = "fewer than 1 in 20" if found.random_p <= 0.05 else "1 in 20 or more"
    least = _least(design.smallest_p)
    return (
        found.random_p <= 0.05,
        f"Given to other teams, {size} of the ways to do so show as much.{least}",
    )


def _least(p: float | None) -> str:
    if p is None:
        return ""
    return f" The smallest p there can be is {f'{p:.3f}' if p >= 0.001 else 'under 0.001'}."


def _alone(found: Evaluation) -> str:
    return "One team alone gives it its sign." if found.alone else "It keeps its sign without any one team."


def _before(
    design: Design, found: Evaluation, drawn: EventPicture | None, step: float
) -> tuple[bool | None, str]:
    if drawn is None:
        return None, CANNOT_DRAW.get(design.method, "Too few quarters have answers from enough teams.")
    p = drawn.trend_p if drawn.trend_p is not None else found.trend_p
    if p is None or drawn.trend_seen is None:
        return None, "Fewer than two quarters lie before the start, so no drift before it could be seen."
    # Rounded up to the step of the statement: it must not promise more than was looked for.
    seen = math.ceil(round(100 * drawn.trend_seen / step, 6)) * step
    reach = (
        f"A drift of {seen:g} points a quarter would have been seen in four of five cases; a smaller one "
        "may be "
        "there."
    )
    if p <= 0.05:
        return False, f"Teams drifted apart before the start (joint test of the quarters before it). {reach}"
    return True, f"No drift is seen before the start (joint test of the quarters before it). {reach}"


def _earlier(found: Evaluation) -> tuple[bool | None, str]:
    if found.early_p is None:
        return None, "No earlier date can be tried: too few months or teams before the start."
    if found.early_p <= 0.05:
        return False, "Something is seen at an earlier date, when nothing had been done."
    return True, "Nothing is seen at an earlier date, when nothing had been done."


def _use(design: Design, found: Evaluation) -> tuple[bool | None, str]:
    if any(share is None for share in design.adherence) or not design.adherence:
        return (
            None,
            "How many work the new way is not known for every team, so more use is not held against less.",
        )
    if found.dose_p is None or found.dose_effect is None:
        return None, "Too few changed teams, or too alike in use, to hold more use against less."
    if found.dose_p <= 0.05 and found.dose_effect * found.effect > 0:
        return True, "Among the changed teams, those that use it more changed more."
    return (
        None,
        "Among the changed teams, no more change is seen where it is used more; few teams could show it.",
    )
