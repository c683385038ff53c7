"""The published statement on one change: privacy gate, rounding, verdict in words."""

import math
import zlib
from collections.abc import Sequence
from dataclasses import dataclass, field

import numpy as np
import pandas as pd

from etl.release_calendar import Month, month_of
from etl.release_event import check_rows, event_rows, picture
from etl.release_register import Entry, apart
from etl.release_rows import Job, Row
from etl.release_said import pass_gate
from models.change_design import CANNOT, CHOSEN, COMMON_START, Design
from models.disclosure import TOO_SMALL, band_text
from models.evaluation import Answers, Evaluation, NotEvaluated, evaluate
from models.result_gate import FEW_DEGREES, LEAST_PEOPLE, Estimate, Question, Withheld
from models.rollout import case_month_cost
from models.verdict import MEANINGFUL_POINTS, Verdict, judge, more_choices, more_teams, refused

PLACEBO_REGIONS = ("KNEE", "ANKLE_FOOT", "HIP_THIGH")
"""Regions that pipetting does not load: a movement there speaks of something else at work."""


@dataclass
class Statement:
    """Rows of a statement by table, without the edition number."""

    effect: list[Row] = field(default_factory=list)
    event: list[Row] = field(default_factory=list)
    check: list[Row] = field(default_factory=list)

    def add(self, more: "Statement") -> None:
        """Add the rows of another statement."""
        self.effect += more.effect
        self.event += more.event
        self.check += more.check


def statement(
    job: Job,
    first: Month,
    group: Sequence[Entry],
    targets: Sequence[str],
    design: Design | None,
    frame: pd.DataFrame,
    window: tuple[int, int],
    refusal: str | None,
) -> Statement:
    """Return the statement on a change, one row for each entry of the register and target region.

    Parameters
    ----------
    job : Job
        Edition in the making.
    first : Month
        Month 0.
    group : sequence of Entry
        Entries of the change.
    targets : sequence of str
        Target regions; none where refused.
    design : Design or None
        The method; None where refused.
    frame : pandas.DataFrame
        Answers.
    window : tuple of int
        First and last month judged.
    refusal : str or None
        Why nothing is judged.

    Returns
    -------
    Statement
        Rows of ``change_effect``, ``change_event`` and ``change_check`` without the edition number.
    """
    begun = min(apart(first, month_of(e.started or e.completed or first.first_day)) for e in group)
    made = Statement()
    for region in targets or ("",):
        if design is None or design.method == CANNOT:
            why = (refusal,) if refusal else tuple(map(str, design.refusals if design else ()))
            told = _Told(refused(why, settle=_settle_refused(design)), None, "", "")
        else:
            told = _judged(job, group, design, frame, region, first, window, begun)
        made.effect += [_row(entry, group, design, region, told, first, window) for entry in group]
        made.event += told.event
        made.check += told.check
    return made


@dataclass(frozen=True)
class _Told:
    verdict: Verdict
    found: Evaluation | None
    checks: str
    cost: str
    reason: str | None = None
    event: tuple[Row, ...] = ()
    check: tuple[Row, ...] = ()


def _judged(
    job: Job,
    group: Sequence[Entry],
    design: Design,
    frame: pd.DataFrame,
    region: str,
    first: Month,
    window: tuple[int, int],
    begun: int,
) -> _Told:
    title, answers = group[0].title, answers_of(frame, region)
    rng = np.random.default_rng(zlib.crc32(f"{title}/{region}".encode()))
    try:
        found = evaluate(answers, design, window, begun, rng)
    except NotEvaluated as error:
        return _Told(refused((str(error),)), None, "", "")
    changed, other = found.changed_people, found.other_people
    span = f"{first.plus(window[0])} to {first.plus(window[1])}"
    question = Question(f"discomfort/{region}", f"change {title} ({group[0].kind})", span)
    estimate = Estimate(100 * found.effect, 100 * found.low, 100 * found.high)
    used = _used(answers, design, first, window, begun)
    sides = (changed, other) if design.others else (changed,)
    said = pass_gate(job, question, estimate, sides, found.residual_df, used)
    if isinstance(said, Withheld):
        return _Told(
            refused((said.reason.removeprefix("not shown: "),), settle=_more(said)), None, "", "", said.reason
        )
    teams = len(design.changed) + len(design.others)
    out, settle = "", more_teams(100 * found.error, found.df, len(design.changed))
    if not design.in_reach:
        out = f"{len(design.changed)} of {teams} teams can move so far by chance"
        settle = more_choices(teams, len(design.changed))
    shown = (said.value, said.low, said.high)
    verdict = judge(*said.judged(), out_of_reach=out, settle=settle, shown=shown)
    placebo = _placebo(group, design, frame, window, begun, rng)
    drawn = picture(answers, design, window, begun, zlib.crc32(f"{title}/{region}/quarters".encode()))
    checks = check_rows(group, design, region, found, placebo, drawn, said.step)
    own = [str(row[-1]) for row in checks if row[0] == group[0].change and row[-2] is not None]
    return _Told(
        verdict, found, " ".join(own), _cost(group, found, *shown, design, window), None,
        tuple(event_rows(job, group, region, first, window, drawn)), tuple(checks),
    )  # fmt: skip


def _more(said: Withheld) -> str:
    if said.reason in (TOO_SMALL, FEW_DEGREES):
        return f"At least {LEAST_PEOPLE} people with answers before and after on either side"
    return ""


def _used(
    answers: Answers, design: Design, first: Month, window: tuple[int, int], begun: int
) -> dict[str, str]:
    """Return how each person entered: on which side, with which months."""
    teams = (*design.changed, *design.others)
    inside = np.isin(answers.team, teams) & (answers.month >= window[0]) & (answers.month <= window[1])
    if design.method in (COMMON_START, CHOSEN):
        inside &= (answers.month < begun) | (answers.month >= max(design.starts))
    kept = answers.of(inside)
    side = np.where(np.isin(kept.team, design.changed), "changed", "other")
    months: dict[str, list[str]] = {}
    for person, where, month in sorted(zip(kept.person, side, kept.month.tolist(), strict=True)):
        months.setdefault(person, []).append(f"{where} {first.plus(month)}")
    return {person: ",".join(entered) for person, entered in months.items()}


def answers_of(frame: pd.DataFrame, region: str) -> Answers:
    """Return the answers of one region as arrays.

    Parameters
    ----------
    frame : pandas.DataFrame
        Rows of ``release/410_effect_answer``.
    region : str
        Region.

    Returns
    -------
    Answers
        The answers.
    """
    here = frame["region"].to_numpy() == region
    return Answers(
        frame["person"].to_numpy(str)[here], frame["team"].to_numpy(str)[here],
        frame["month"].to_numpy(int)[here], frame["is_case"].to_numpy(bool)[here],
    )  # fmt: skip


def _placebo(
    group: Sequence[Entry],
    design: Design,
    frame: pd.DataFrame,
    window: tuple[int, int],
    begun: int,
    rng: np.random.Generator,
) -> tuple[bool | None, str]:
    targets = {region for entry in group for region in entry.targets}
    region = next((r for r in PLACEBO_REGIONS if r not in targets), None)
    if region is None:
        return None, "No region is left that the change should not touch."
    try:
        found = evaluate(answers_of(frame, region), design, window, begun, rng)
    except NotEvaluated:
        return None, "A region that it should not touch has too few answers."
    name = region.replace("_", " and ").lower()
    if found.low <= 0 <= found.high:
        return True, f"As it should be, nothing is seen at {name}, which it does not touch."
    return False, f"Something is seen at {name} as well, which it does not touch: be careful."


def _cost(
    group: Sequence[Entry],
    found: Evaluation,
    points: float,
    low: float,
    high: float,
    design: Design,
    window: tuple[int, int],
) -> str:
    costs = [entry.cost for entry in group if entry.cost is not None]
    if len(costs) < len(group):
        return "The cost was not written down."
    months = sum(window[1] - start + 1 for start in design.starts) / len(design.starts)
    # The middle of the published band stands for the people, so that the cost gives no headcount away.
    ends = [int(end) for end in band_text(found.changed_people).split("-")]
    return case_month_cost(
        sum(costs), points / 100, max(low, -100.0) / 100, min(high, 100.0) / 100, sum(ends) / 2, months
    ).sentence


def _settle_refused(design: Design | None) -> str:
    codes = {refusal.code for refusal in design.refusals} if design else set()
    if codes & {"CHOSEN_ALONE", "CHOSEN_AND_STAGGERED"}:
        return "Give the change to teams by lot, or measure a baseline that the choice did not rest on"
    if codes & {"NO_COMPARISON", "TOO_FEW_TEAMS"}:
        return "Keep some teams without the change for a year, chosen by lot"
    return "Register dates and target regions before the start, one change at a time"


def _row(
    entry: Entry,
    group: Sequence[Entry],
    design: Design | None,
    region: str,
    told: _Told,
    first: Month,
    window: tuple[int, int],
) -> Row:
    verdict, found = told.verdict, told.found
    changed = ", ".join(sorted({e.team for e in group}))

    def whole(value: float | None) -> int | None:
        return None if value is None or not math.isfinite(value) else int(value)

    return (
        entry.change, entry.title, region, changed, len(design.others) if design else 0,
        design.method if design else CANNOT, design.words if design else "",
        f"{first.plus(window[0])} to {first.plus(window[1])}",
        band_text(found.changed_people) if found else None,
        band_text(found.other_people) if found and design and design.others else None,
        verdict.word, verdict.sentence, whole(verdict.points), whole(verdict.low), whole(verdict.high),
        MEANINGFUL_POINTS, entry.expected, design.smallest_p if design else None, told.checks,
        ". ".join(design.weaker) if design else "", told.cost, verdict.settle, told.reason,
    )  # fmt: skip
