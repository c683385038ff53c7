"""Once a year, on the whole organisation: new discomfort, change of ratings, age, who left, and the season.

These are statements of models, not counts, so they pass the gate for model results: at least 100 people, one
statement for each question and year, rounded to what one person can move, limits outward. Only the season is
made of published monthly counts.

Why this is no way around the audit of the counts. A statement rests on a year's answers of 100 people or
more, each of whom moves it by no more than its own step; whatever one person answered, others can pull it
back to the same number (`models.result_gate`). The statements of one year and region weigh the same people
differently: onsets, ratings and age each by its own rule, none by leaving out a few. None is about a part of
the organisation, a month, or the same question of another choice of people; the gate refuses those. A test
turns the year of single persons round and finds, each time, other answers that leave every statement as it
was published.
"""

from collections.abc import Callable

import numpy as np

from etl.case_rules import rule_of, series_start
from etl.release_ledger import MONTH_KIND
from etl.release_rows import Job, Row
from etl.release_said import pass_gate
from etl.release_year_parts import (
    AGE,
    ALL,
    CHANGE,
    LEAST_PEOPLE,
    LEFT,
    ONSET,
    SEASON,
    Part,
    Table,
    age_part,
    change_part,
    leavers_part,
    level_part,
    onset_part,
    season_words,
)
from etl.sqlfiles import sql
from models.disclosure import band_text
from models.result_gate import Gated, Question
from models.scales import SCALES
from models.severity import SMALLEST_ON, change_word

FEW = f"not shown: fewer than {LEAST_PEOPLE} people"
NO_SCORE = "not shown: no ratings are asked"

_READ = {
    ONSET: "New discomfort per 100 person-months among people free of it at their answer before",
    CHANGE: "Mean change of the same people's ratings against the year before, in scale points",
    AGE: "By how many points the share would differ with the ages of the December before",
    LEFT: "Discomfort of those who left against those who stayed, at their last answer, in points",
}


def year_rows(job: Job) -> list[Row]:
    """Return the rows of table ``year_figure``.

    Parameters
    ----------
    job : Job
        Edition in the making, its ledger written, in its transaction.

    Returns
    -------
    list of tuple
        Rows without the edition number; none outside December.
    """
    if job.month.month != 12:
        return []
    begin, before = job.month.plus(-11), job.month.plus(-23)
    start = series_start(job.settings.symptoms, job.month) or str(before)
    span = {"first": max(str(before), start) + "-01", "month": job.month.first_day}
    answers = job.con.execute(sql("release/600_year_answer"), span).df()
    people = job.con.execute(
        sql("release/605_year_people"), {"first": begin.first_day, "month": job.month.first_day}
    ).df()
    earlier = job.con.execute(
        sql("release/605_year_people"),
        {"first": job.month.plus(-12).first_day, "month": job.month.plus(-12).first_day},
    ).df()
    number = 12 * job.month.year
    now = answers[answers["month_number"] >= number]
    rows: list[Row] = []
    for region, own in answers.groupby("region", sort=True):
        year = own[own["month_number"] >= number]
        last = own[own["month_number"] >= number - 1]
        rows.append(_state(job, str(region), ONSET, onset_part(last), _plain))
        rows.append(_change(job, str(region), own[own["month_number"] < number], year))
        rows.append(_state(job, str(region), AGE, age_part(year, people, earlier), _plain))
    if len(now):
        rows.append(_state(job, ALL, LEFT, leavers_part(now, people), _leaving))
    rows.append(_season(job))
    return rows


def _head(job: Job, region: str, kind: str) -> Row:
    return job.month.year, "organisation", "ORG", region, kind


def _state(
    job: Job, region: str, kind: str, part: Part | str, words: Callable[[str, Gated, Part], tuple[str, str]]
) -> Row:
    """Pass one statement through the gate and say it in words that follow from what is published."""
    head = _head(job, region, kind)
    if isinstance(part, str):
        return (*head, None, None, None, "", None, "", "", part)
    if part.people < LEAST_PEOPLE:
        return (*head, None, None, None, "", None, "", "", FEW)
    said = pass_gate(
        job, Question(f"discomfort/{region}", kind, str(job.month.year)), part.estimate, part.groups,
        part.residual_df, part.used, part.influence,
    )  # fmt: skip
    if not isinstance(said, Gated):
        return (*head, None, None, None, "", None, "", "", said.reason)
    value, low, high = (_scaled(number, part.scale) for number in (said.value, said.low, said.high))
    return (*head, value, low, high, part.unit, band_text(part.people), *words(kind, said, part), None)


def _scaled(number: float, scale: float) -> float | None:
    return round(number * scale, 3) if np.isfinite(number) else None


def _plain(kind: str, said: Gated, part: Part) -> tuple[str, str]:
    told = f"{_READ[kind]}: {_number(said.value * part.scale)}{_interval(said, part)}."
    return "", f"{told} {part.remark}".strip()


def _interval(said: Gated, part: Part) -> str:
    return f" (95 % interval {_number(said.low * part.scale)} to {_number(said.high * part.scale)})"


def _number(value: float) -> str:
    return f"{round(value, 3):g}".replace("-", "\u2212")


def _leaving(kind: str, said: Gated, part: Part) -> tuple[str, str]:
    _, low, high = said.judged()
    if low > 0:
        word = "left with more"
        words = "Those who left had discomfort more often: part of a fall may be people leaving, not easing."
    elif high < 0:
        word = "left with less"
        words = "Those who left had discomfort less often: part of a rise may be who is left."
    else:
        word = "no clear difference"
        words = "Leavers and stayers do not clearly differ; some effect of leaving cannot be ruled out."
    return word, f"{_plain(kind, said, part)[1]} {words}"


def _change(job: Job, region: str, before: Table, now: Table) -> Row:
    """State the change beside the level it began at: both from the same people, each stated once."""
    part = change_part(before, now)
    level = level_part(before, now)
    if isinstance(part, str) or isinstance(level, str) or part.people < LEAST_PEOPLE:
        return _state(job, region, CHANGE, part, _plain)
    began = pass_gate(
        job, Question(f"discomfort/{region}", "mean rating before", str(job.month.year)), level.estimate,
        level.groups, level.residual_df, level.used, level.influence,
    )  # fmt: skip
    base = f"From a mean of {_number(began.value * level.scale)}. " if isinstance(began, Gated) else ""

    def words(kind: str, said: Gated, own: Part) -> tuple[str, str]:
        scale = rule_of(job.settings.symptoms, job.month).scale
        told = f"{_plain(kind, said, own)[1]} {base}"
        if scale != SMALLEST_ON:
            return "", f"{told}No change that matters is known for {SCALES[scale].words}."
        return change_word(said.low * own.scale, said.high * own.scale), f"{told}{own.caution}"

    return _state(job, region, CHANGE, part, words)


def _season(job: Job) -> Row:
    """Describe the yearly wave of the published monthly counts, all regions together."""
    rows = job.con.execute(
        sql("release/610_published_series"),
        {
            "kind": MONTH_KIND,
            "month": str(job.month),
            "first": series_start(job.settings.symptoms, job.month),
        },
    ).fetchall()
    word, sentence, reason = season_words(rows)
    return (*_head(job, ALL, SEASON), None, None, None, "", None, word, sentence, reason)
