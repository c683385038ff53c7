"""What an objection of the auditor does: ever coarser steps, up to an edition that adds nothing about health.

Each step withholds whole levels, never single numbers, so that the reaction itself tells little. It always
ends: an edition without a number about discomfort cannot let anybody determine more than the editions before
it did.
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace

from etl.release_audit_case import Auditor, AuditOutcome
from etl.release_audit_plan import AuditPlan
from etl.release_checks import CheckRow
from etl.release_health import TOO_SMALL, WITHHELD
from etl.release_ledger import HealthCell
from models.auditor_gate import Known

LEVELS = ("team", "cluster", "organisation")
_WORDS = (
    "",
    "Team numbers of this edition are withheld. ",
    "Team and cluster numbers of this edition are withheld. ",
    "All numbers of this edition about discomfort are withheld. ",
)
EARLIER = (
    " They follow from earlier editions alone, published before an audit had passed them; this edition adds "
    "nothing to that."
)


@dataclass(frozen=True)
class Judged:
    """The cells of an edition as they may be published.

    Attributes
    ----------
    cells : tuple of HealthCell
        Cells, the withheld ones marked.
    rung : int
        How many levels are withheld, 0 to 3, from teams upward.
    check : CheckRow
        What the edition says about the audit.
    """

    cells: tuple[HealthCell, ...]
    rung: int
    check: CheckRow

    @property
    def team_words(self) -> str:
        """Words for a hidden number of a team."""
        return WITHHELD if self.rung else TOO_SMALL

    @property
    def silent(self) -> bool:
        """Whether the edition may say nothing about health."""
        return self.rung == len(LEVELS)


def withhold(cells: Sequence[HealthCell], rung: int) -> tuple[HealthCell, ...]:
    """Hide the numbers of some levels, whatever it was that the auditor found.

    Parameters
    ----------
    cells : sequence of HealthCell
        Cells of the edition.
    rung : int
        How many levels, from teams upward.

    Returns
    -------
    tuple of HealthCell
        The same cells, those of these levels hidden and marked.
    """
    gone = LEVELS[:rung]
    return tuple(replace(c, published=None, withheld=True) if c.level in gone else c for c in cells)


def climb(
    cells: Sequence[HealthCell],
    plan: AuditPlan,
    write: Callable[[Sequence[HealthCell]], None],
    ask: Callable[[Auditor, frozenset[Known] | None], AuditOutcome],
) -> Judged:
    """Withhold as little as the auditor lets pass.

    An edition is answerable for what its own numbers add: what earlier editions alone give away, where those
    were published without an audit, is reported and not held against it.

    Parameters
    ----------
    cells : sequence of HealthCell
        Cells of the edition.
    plan : AuditPlan
        Who audits, if anybody.
    write : callable
        Writes cells to the ledger in place of those written before.
    ask : callable
        Has an auditor judge the ledger as it stands, apart from what is known; with None, list all that it
        gives away.

    Returns
    -------
    Judged
        The cells, written to the ledger.
    """
    write(cells)
    if plan.auditor is None:
        return Judged(tuple(cells), 0, CheckRow("auditor", None, plan.absent))
    outcome = ask(plan.auditor, frozenset())
    if outcome.passed:
        return _judged(cells, 0, outcome)
    silent = withhold(cells, len(LEVELS))
    write(silent)
    least = ask(plan.auditor, None)
    tried = None if least.found else [c.published for c in cells]
    for rung in range(len(LEVELS)):
        left = withhold(cells, rung)
        if (shown := [c.published for c in left]) == tried:
            continue
        tried = shown
        write(left)
        outcome = ask(plan.auditor, least.found)
        if outcome.passed:
            return _judged(left, rung, outcome, least.found)
    write(silent)
    return _judged(silent, len(LEVELS), least, least.found)


def _judged(
    cells: Sequence[HealthCell], rung: int, outcome: AuditOutcome, known: frozenset[Known] = frozenset()
) -> Judged:
    sentence = _WORDS[rung] + outcome.sentence + ("" if outcome.passed else EARLIER)
    check = CheckRow("auditor", outcome.passed and not known, sentence, outcome.detail)
    return Judged(tuple(cells), rung, check)
