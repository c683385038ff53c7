"""Who counts as having discomfort: the definition in use, those not in use, and how people were asked."""

from itertools import pairwise

import duckdb

from etl.case_rules import case_words, items_asked, rule_of, series_start
from etl.release_calendar import Month
from etl.release_method import OWN, Method
from etl.release_rows import Row
from etl.settings import SymptomSettings
from etl.sqlfiles import sql
from models.cases import DEFINITIONS, SCORE
from models.questionnaire import ASKED
from models.scales import SCALES

_OURS = "this project"


def case_methods(con: duckdb.DuckDBPyConnection, month: Month, symptoms: SymptomSettings) -> list[Method]:
    """Return the case definition in use in a month, the others, and how people were asked.

    Parameters
    ----------
    con : duckdb.DuckDBPyConnection
        Person store.
    month : Month
        Month released.
    symptoms : SymptomSettings
        The institute's settings.

    Returns
    -------
    list of Method
        ``health.case.short`` is the wording that screens and the brief print.
    """
    rule = rule_of(symptoms, month)
    text, status, source = DEFINITIONS[rule.definition]
    used = f"Counted: {case_words(rule)}. {text} In a quarter: in any answered month."
    if rule.definition == SCORE:
        used += f" Scale {rule.scale}: {', '.join(SCALES[rule.scale].anchors)}."
    used += _history(symptoms, month)
    methods = [
        Method("health.case", "Who counts as having discomfort", used, source, status),
        Method("health.case.short", "The same in short", case_words(rule), source, status),
    ]
    for name, (words, known, origin) in DEFINITIONS.items():
        if name != rule.definition:
            methods.append(
                Method(
                    f"health.case.{name}",
                    f"Definition '{name}' (not in use)",
                    f"{words} May be chosen where surveys ask for it ({', '.join(_items(name))}).",
                    origin,
                    known,
                )
            )
    return [*methods, _asked(con, month)]


def case_rule_row(month: Month, symptoms: SymptomSettings) -> Row:
    """Return who counts in the month released, as a row that stays with the month.

    Parameters
    ----------
    month : Month
        Month released.
    symptoms : SymptomSettings
        The institute's settings.

    Returns
    -------
    tuple
        Row of table ``case_rule`` without the edition number.
    """
    rule = rule_of(symptoms, month)
    scale = rule.scale if rule.definition == SCORE else ""
    words = f"{case_words(rule)} on {SCALES[scale].words}" if scale else case_words(rule)
    return str(month), rule.definition, scale, words, series_start(symptoms, month)


def _items(definition: str) -> tuple[str, ...]:
    symptoms = SymptomSettings.model_validate({"definition": definition})
    return tuple(items_asked(symptoms.rules()[0]))


def _history(symptoms: SymptomSettings, month: Month) -> str:
    begun = [rule for rule in symptoms.rules() if rule.since <= str(month)]
    said = [
        f" Before {later.since}: {case_words(earlier)} on {earlier.scale}; "
        + (
            "the two were bridged by people who answered on both."
            if later.bridged
            else "another series, which nothing is compared with."
        )
        for earlier, later in pairwise(begun)
    ]
    return "".join(said)


def _asked(con: duckdb.DuckDBPyConnection, month: Month) -> Method:
    found = con.execute(sql("release/206_asked"), {"month": month.first_day}).fetchall()
    told = [
        f"{questionnaire.lower().replace('_', ' ')}, version {version}, scale {scale}, asked "
        f"{' and '.join(mode.lower().replace('_', ' ') for mode in modes)}"
        for questionnaire, version, scale, modes in found
    ]
    sources = sorted({ASKED[row[0]].source for row in found if row[0] in ASKED})
    return Method(
        "health.asked",
        "How people were asked",
        f"In {month}: {'; '.join(told) or 'no answers'}. Focused surveys find more discomfort than health "
        "checks, so ways of asking are not mixed within a series without a decision on record.",
        "; ".join(sources) or _OURS,
        OWN,
    )
