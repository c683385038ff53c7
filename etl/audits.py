"""Audits of the person store: queries that select offenders, before a release and for the data custodian.

Examples name persons of the store. They are for the custodian and never enter a release.
"""

from dataclasses import dataclass
from typing import Literal

import duckdb

from etl.errors import EvenhandError
from etl.sqlfiles import sql

Severity = Literal["stop", "inform"]

EXAMPLES = 3


@dataclass(frozen=True)
class Audit:
    """One audit.

    Attributes
    ----------
    name : str
        Name of its file below ``etl/sql/audits``.
    severity : {"stop", "inform"}
        Whether an offender forbids a release.
    meaning : str
        What an offender is, in plain words.
    remedy : str
        What the custodian can do.
    """

    name: str
    severity: Severity
    meaning: str
    remedy: str


@dataclass(frozen=True)
class AuditFinding:
    """What one audit found.

    Attributes
    ----------
    name : str
        Name of the audit.
    severity : {"stop", "inform"}
        ``stop``: a release must refuse while there are offenders.
    offenders : int
        How many there are.
    examples : tuple of str
        Keys of the first few, in order; person store side only.
    meaning : str
        What an offender is.
    remedy : str
        What the custodian can do.
    """

    name: str
    severity: Severity
    offenders: int
    examples: tuple[str, ...]
    meaning: str
    remedy: str

    @property
    def stops(self) -> bool:
        """Whether a release must refuse because of this finding."""
        return self.severity == "stop" and self.offenders > 0

    def __str__(self) -> str:
        if not self.offenders:
            return f"none: {self.meaning}"
        more = ", ..." if self.offenders > len(self.examples) else ""
        found = f"{self.offenders:,} {self.meaning} ({', '.join(self.examples)}{more})"
        return f"{self.severity}: {found}. {self.remedy}"


_REBUILD = "Build the facts again; if it stays, report it as a fault of the program with the key shown."
_WITHDRAW = "Withdraw the file that holds the wrong row, correct it and load it again."
_TEAM = "Add the missing team spell, or leave it so: the row counts for the organisation, in no team."
_CATALOGUE = "Measure and load it with the instrument catalogue, or leave it so: force stays unknown."

AUDITS = (
    Audit("two_teams_one_day", "stop", "people listed on two teams at once", _WITHDRAW),
    Audit("team_spell_reversed", "stop", "team spells that end before they begin", _WITHDRAW),
    Audit("team_unlisted", "stop", "people on a team missing from the list of teams", "Load that team."),
    Audit("team_listed_twice", "stop", "teams listed more than once", _WITHDRAW),
    Audit("instrument_listed_twice", "stop", "instruments listed more than once", _WITHDRAW),
    Audit("bout_impossible", "stop", "bouts without length, over 16 h, or with a negative count", _WITHDRAW),
    Audit("score_out_of_range", "stop", "discomfort scores outside 0 to 10", _WITHDRAW),
    Audit("survey_answered_twice", "stop", "survey questions held twice for one month", _WITHDRAW),
    Audit("day_over_24_hours", "stop", "days with more than 24 h of pipetting", _WITHDRAW),
    Audit("time_not_conserved", "stop", "people whose bout time got lost or doubled", _REBUILD),
    Audit("strokes_not_conserved", "stop", "people whose strokes got lost or doubled", _REBUILD),
    Audit("days_not_adding_up", "stop", "people whose days or weeks do not sum to their bouts", _REBUILD),
    Audit("time_counted_twice", "stop", "pieces of bouts that overlap within a person", _REBUILD),
    Audit("spell_shorter_than_work", "stop", "spells shorter than the work in them", _REBUILD),
    Audit("fact_out_of_bounds", "stop", "facts that are negative or larger than their whole", _REBUILD),
    Audit("person_not_in_store", "stop", "people in the facts whom the store does not hold", _REBUILD),
    Audit("symptoms_not_matching", "stop", "symptom facts that differ from the answers", _REBUILD),
    Audit("work_without_team", "inform", "days of work of people on no team", _TEAM),
    Audit("survey_without_team", "inform", "monthly answers of people on no team", _TEAM),
    Audit("instrument_unlisted", "inform", "instruments used but not in the catalogue", _CATALOGUE),
    Audit("instrument_unmeasured", "inform", "instruments used without all forces measured", _CATALOGUE),
    Audit("tips_unknown", "inform", "bouts without a number of tips", "Ask the site to export the tips."),
    Audit(
        "presses_over_time",
        "inform",
        "bouts too short for their strokes",
        "Check strokes and times at the site.",
    ),
    Audit("station_unlisted", "inform", "stations named by bouts but not listed", "Load that station."),
    Audit("bout_clipped", "inform", "bouts clipped by a short overlap", "Nothing: up to the set limit."),
    Audit("bout_left_out", "inform", "bouts left out because of overlap", _WITHDRAW),
    Audit("two_logs_one_day", "inform", "days in both a bout log and a stroke log", "Load one log a person."),
    Audit(
        "scale_not_scored",
        "inform",
        "survey scales other than that of their series",
        "Nothing: kept, not scored.",
    ),
)


def run_audits(con: duckdb.DuckDBPyConnection) -> tuple[AuditFinding, ...]:
    """Run every audit over the core tables and the facts.

    Parameters
    ----------
    con : duckdb.DuckDBPyConnection
        Person store with facts built.

    Returns
    -------
    tuple of AuditFinding
        One finding an audit, also where there is no offender, in the order of ``AUDITS``.

    Raises
    ------
    EvenhandError
        If the facts have not been built.
    """
    built = con.execute(
        "select count(*) from duckdb_tables() where schema_name = 'facts' and table_name = 'symptom'"
    ).fetchone()
    if built == (0,):
        raise EvenhandError("The facts have not been built", "schema facts", "Build the facts, then audit.")
    return tuple(_run(con, audit) for audit in AUDITS)


def _run(con: duckdb.DuckDBPyConnection, audit: Audit) -> AuditFinding:
    query = sql(f"audits/{audit.name}")
    row = con.execute(f"select count(*), min(offender, {EXAMPLES}) from ({query})").fetchone()
    assert row is not None, "an aggregate always gives a row"
    return AuditFinding(audit.name, audit.severity, row[0], tuple(row[1] or ()), audit.meaning, audit.remedy)
