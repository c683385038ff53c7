"""Model results on their way into an edition: through the gate, and noted, so that none is answered twice.

The ledger keeps of a statement what a later one must be held against: who entered it, under opaque tokens,
and a digest of how. Neither months, sides nor exposures can be read from it.
"""

import hashlib
from collections.abc import Collection, Mapping, Sequence

import duckdb
import pyarrow as pa

from etl.release_ledger import set_id
from etl.release_rows import Job
from etl.sqlfiles import sql
from models.result_gate import Estimate, Gated, Ground, Question, Said, Withheld, gate_result
from models.statement_count import Made, why_not_again


def pass_gate(
    job: Job,
    question: Question,
    estimate: Estimate,
    groups: Sequence[int],
    residual_df: float,
    used: Mapping[str, str],
    influence: float | None = None,
) -> Gated | Withheld:
    """Let a model result through the gate, and note it in the ledger where it passes.

    Parameters
    ----------
    job : Job
        Edition in the making, in its transaction.
    question : Question
        What the result answers.
    estimate : Estimate
        The result before rounding.
    groups : sequence of int
        People in each group compared.
    residual_df : float
        Residual degrees of freedom.
    used : mapping of str to str
        Person to how that person entered the result (side, months, exposure).
    influence : float, optional
        What one person can be worth, see `models.result_gate.Ground`.

    Returns
    -------
    Gated or Withheld
        What to print.
    """
    token = _tokens(job)
    ways = {token[person]: _digest(way) for person, way in used.items()}
    ground = Ground(tuple(groups), residual_df, ways, influence)
    floor = job.settings.privacy.health_floor_month
    said = gate_result(question, estimate, ground, earlier_statements(job.con, question.outcome), floor=floor)
    if isinstance(said, Gated):
        _note(job, question, ways)
    return said


def not_again(job: Job, question: Question, people: Collection[str]) -> str | None:
    """Say why a question that each statement answers from all months so far is not answered once more.

    Parameters
    ----------
    job : Job
        Edition in the making, in its transaction.
    question : Question
        What would be answered; its period ends with the month that dates it.
    people : collection of str
        Those whose answers it would rest on.

    Returns
    -------
    str or None
        The reason in words, see `models.statement_count`; None where it may be answered.
    """
    made = [
        Made(said.question.period, frozenset(said.ways))
        for said in earlier_statements(job.con, question.outcome)
        if said.question.asked == question.asked
    ]
    token = _tokens(job)
    return why_not_again(question.period, [token[person] for person in people], made)


def _tokens(job: Job) -> dict[str, str]:
    return dict(job.con.execute("select person, token from release_private.token").fetchall())


def earlier_statements(con: duckdb.DuckDBPyConnection, outcome: str) -> tuple[Said, ...]:
    """Return the statements made so far about an outcome, those of the open edition included.

    Parameters
    ----------
    con : duckdb.DuckDBPyConnection
        Person store.
    outcome : str
        What is explained, as in `models.result_gate.Question`.

    Returns
    -------
    tuple of Said
        Statements in order of edition.
    """
    rows = con.execute(sql("release/310_statement"), {"outcome": outcome}).fetchall()
    ways: dict[Question, dict[str, str]] = {}
    for asked, period, way, token in rows:
        ways.setdefault(Question(outcome, asked, period), {})[token] = way
    return tuple(Said(question, entered) for question, entered in ways.items())


def _note(job: Job, question: Question, ways: Mapping[str, str]) -> None:
    groups: dict[str, list[str]] = {}
    for token, way in sorted(ways.items()):
        groups.setdefault(way, []).append(token)
    sets = [(set_id(tokens), tokens) for tokens in groups.values()]
    # One table at once: nearly everybody enters in a way of their own, and row by row takes seconds.
    incoming = pa.table(
        {
            "set_id": [name for name, _ in sets],
            "tokens": pa.array([tokens for _, tokens in sets], pa.list_(pa.string())),
            "way": [*groups],
        }
    )
    job.con.register("incoming", incoming)
    job.con.execute(
        "insert into release_private.contributor_set select set_id, tokens from incoming "
        "on conflict do nothing"
    )
    job.con.execute(
        "insert into release_private.statement select ?, ?, ?, ?, way, set_id from incoming",
        [job.edition, question.outcome, question.asked, question.period],
    )
    job.con.unregister("incoming")


def _digest(way: str) -> str:
    return hashlib.sha256(way.encode()).hexdigest()[:16]
