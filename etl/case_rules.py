"""Which answers count as discomfort in which month: the definition in force, and what may follow another.

A definition is a working rule of one series. Another definition, mark or scale begins another series: months
before keep theirs, and nothing is compared across, unless the scales were bridged.
"""

import math
from collections.abc import Iterable, Mapping, Sequence
from itertools import pairwise

import duckdb

from etl.errors import EvenhandError, ReleaseRefused
from etl.release_calendar import Month
from etl.settings import CaseRule, SymptomSettings
from etl.sqlfiles import sql
from models.cases import SCORE, SEVEN_DAYS, SURVEILLANCE
from models.scales import build_bridge, cross


def rule_of(symptoms: SymptomSettings, month: Month | str) -> CaseRule:
    """Return the rule in force in a month.

    Parameters
    ----------
    symptoms : SymptomSettings
        The institute's settings.
    month : Month or str
        Month, such as ``2026-10``.

    Returns
    -------
    CaseRule
        The latest rule that began by then.
    """
    return [rule for rule in symptoms.rules() if rule.since <= str(month)][-1]


def series_start(symptoms: SymptomSettings, month: Month | str) -> str:
    """Return the first month that may be compared with a month; empty if all earlier ones may.

    Parameters
    ----------
    symptoms : SymptomSettings
        The institute's settings.
    month : Month or str
        Month, such as ``2026-10``.

    Returns
    -------
    str
        Month, such as ``2026-10``.
    """
    begun = [rule for rule in symptoms.rules() if rule.since <= str(month)]
    return next((rule.since for rule in reversed(begun) if not rule.bridged), "")


def case_words(rule: CaseRule) -> str:
    """Return who counts as having discomfort, in words for a sentence.

    Parameters
    ----------
    rule : CaseRule
        Rule in force.

    Returns
    -------
    str
        For example ``discomfort of 4 or more out of 10``.
    """
    if rule.definition == SCORE:
        return f"discomfort of {rule.case_score} or more out of 10"
    if rule.definition == SEVEN_DAYS:
        return "trouble in the last 7 days"
    return "trouble that meets the surveillance definition"


def write_rules(con: duckdb.DuckDBPyConnection, symptoms: SymptomSettings) -> None:
    """Write the case rules into the facts, for the layer that decides each answer.

    Parameters
    ----------
    con : duckdb.DuckDBPyConnection
        Person store, in a transaction, schema ``facts`` made.
    symptoms : SymptomSettings
        The institute's settings.

    Raises
    ------
    EvenhandError
        If a rule claims a bridge between scales that too few answers bear out.
    """
    rules = symptoms.rules()
    for earlier, later in pairwise(rules):
        if later.bridged:
            _refuse_unborne(con, earlier, later)
    con.execute(sql("facts/012_case_rule"))
    con.executemany(
        "insert into facts.case_rule values (strptime(? || '-01', '%Y-%m-%d')::date, ?, ?, ?)",
        [(rule.since or "0001-01", rule.definition, rule.scale, rule.case_score) for rule in rules],
    )


def rules_stand(con: duckdb.DuckDBPyConnection, symptoms: SymptomSettings) -> bool:
    """Tell whether the facts were built by these case rules.

    Parameters
    ----------
    con : duckdb.DuckDBPyConnection
        Person store with facts.
    symptoms : SymptomSettings
        The institute's settings.

    Returns
    -------
    bool
        Whether they are the same.
    """
    found = con.execute(
        "select strftime(since, '%Y-%m'), definition, scale, case_score from facts.case_rule order by since"
    ).fetchall()
    asked = [(r.since or "0001-01", r.definition, r.scale, r.case_score) for r in symptoms.rules()]
    return [(since.zfill(7), *rest) for since, *rest in found] == asked


def bridged_mark(con: duckdb.DuckDBPyConnection, old: str, new: str, mark: int) -> tuple[int, int]:
    """Return the rating of a new scale at which people count as they did on the old one.

    Parameters
    ----------
    con : duckdb.DuckDBPyConnection
        Person store.
    old, new : str
        Scale codes.
    mark : int
        Smallest rating of a case on the old scale.

    Returns
    -------
    tuple of int
        Smallest rating of a case on the new scale, and the pairs of answers it rests on.

    Raises
    ------
    ValueError
        If fewer than 50 pairs were answered on both scales, or they do not go together.
    """
    pairs = con.execute(sql("facts/013_both_scales"), {"old": old, "new": new}).fetchnumpy()
    bridge = build_bridge(old, new, pairs["on_old"].astype(float), pairs["on_new"].astype(float))
    # Half way between the ratings just below and at the old mark, so that a whole rating falls on one side.
    return math.ceil(float(cross(bridge, [mark - 0.5])[0])), bridge.people


def _refuse_unborne(con: duckdb.DuckDBPyConnection, earlier: CaseRule, later: CaseRule) -> None:
    where = f"symptoms.series {later.since} in the settings"
    if earlier.definition != SCORE or later.definition != SCORE or earlier.scale == later.scale:
        raise EvenhandError(
            "Only ratings on two scales can be bridged",
            where,
            "Take bridged away: a new series starts there.",
        )
    try:
        mark, people = bridged_mark(con, earlier.scale, later.scale, earlier.case_score)
    except ValueError as error:
        raise EvenhandError(
            f"The scales cannot be bridged: {error}", where, "Take bridged away: a new series starts there."
        ) from error
    if mark != later.case_score:
        raise EvenhandError(
            f"{people} pairs of answers put {earlier.case_score} on {earlier.scale} at {mark} on "
            f"{later.scale}, not at {later.case_score}", where, f"Set case_score to {mark}, or take bridged "
            "away.",
        )  # fmt: skip


def refuse_changed_past(published: Mapping[str, SymptomSettings], symptoms: SymptomSettings) -> None:
    """Refuse settings under which a published month would count other answers than it did.

    Parameters
    ----------
    published : mapping of str to SymptomSettings
        Month to the settings its edition was made with.
    symptoms : SymptomSettings
        Settings of the edition about to be made.

    Raises
    ------
    ReleaseRefused
        If a definition, mark or scale differs for a published month.
    """
    for month, then in sorted(published.items()):
        before, now = rule_of(then, month), rule_of(symptoms, month)
        if (before.definition, before.scale, before.case_score) != (
            now.definition,
            now.scale,
            now.case_score,
        ):
            raise ReleaseRefused(
                f"{month} was published with {case_words(before)} on {before.scale}, the settings now say "
                f"{case_words(now)} on {now.scale}",
                "symptoms in the settings",
                "Published numbers stay: take the change back, and begin a new series with a "
                "[[symptoms.series]] from the next quarter on.",
            )


def scale_mixed(found: Iterable[tuple[str, int]], rule: CaseRule) -> str | None:
    """Say what is wrong where a month was answered on another scale than its series has.

    Parameters
    ----------
    found : iterable of tuple
        Scale, and answers of the month on it.
    rule : CaseRule
        Rule in force.

    Returns
    -------
    str or None
        None where at least some answers are on the scale of the series, or there are none at all.
    """
    counts = dict(found)
    if rule.definition != SCORE or not counts or rule.scale in counts:
        return None
    return f"the answers are on {' and '.join(sorted(counts))}, the series is on {rule.scale}"


def items_asked(rule: CaseRule) -> Sequence[str]:
    """Return the survey items that a rule rests on.

    Parameters
    ----------
    rule : CaseRule
        Rule in force.

    Returns
    -------
    sequence of str
        Field names of contract ``surveys``.
    """
    return {
        SCORE: ("score",),
        SEVEN_DAYS: ("trouble_7d",),
        SURVEILLANCE: ("longest_days", "monthly", "severity", "since_job", "acute_injury"),
    }[rule.definition]
