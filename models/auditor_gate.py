"""The question a release asks before it commits: does any attacker learn anybody's answer?"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

import numpy as np

from models.audit_records import Attacker, AuditVerdict, Ledger, PublishedCell, Truth
from models.auditor import Progress, audit, choose_colluders
from models.auditor_gallery import Effort
from models.auditor_local import audit_teams


@dataclass(frozen=True)
class GateVerdict:
    """All attackers' verdicts on one candidate.

    Parameters
    ----------
    verdicts : tuple of AuditVerdict
        Months unrelated and answers stable, each without and with colluders; then answers stable in one team,
        for the regions whose numbers refute that all answers are.
    """

    verdicts: tuple[AuditVerdict, ...]

    @property
    def passed(self) -> bool:
        """True when every attacker is left with two worlds for every value."""
        return all(v.passed for v in self.verdicts)

    @property
    def values(self) -> int:
        """Values shown to be open, over all attackers."""
        return sum(len(p.witnesses) for v in self.verdicts for p in v.parts)

    @property
    def sentences(self) -> tuple[str, ...]:
        """The verdicts in plain words."""
        return tuple(v.sentence for v in self.verdicts)


def judge(
    ledger: Ledger,
    units: Iterable[str],
    rng: np.random.Generator,
    *,
    truth: Truth,
    new_cells: Iterable[PublishedCell] | None = None,
    effort: Effort | None = None,
    progress: Progress | None = None,
) -> GateVerdict:
    """Audit a candidate against every attacker.

    Parameters
    ----------
    ledger : Ledger
        Everything published, with the candidate included.
    units : iterable of str
        Teams: three colluders are chosen in each, and each one's series is looked at alone.
    rng : numpy.random.Generator
        Source of chance of the search and of the choice of colluders.
    truth : mapping
        Answers by region and (token, month); may lack people whose data are gone.
    new_cells : iterable of PublishedCell, optional
        The candidate's cells; the whole ledger is audited if left out.
    effort : Effort, optional
        Limits.
    progress : callable, optional
        Called with (attacker and region in words, done, total).

    Returns
    -------
    GateVerdict
        The verdicts.
    """
    teams = frozenset(units)
    tellers = choose_colluders(ledger, teams, rng)
    fresh = None if new_cells is None else tuple(new_cells)
    attackers = [Attacker(stable, who) for who in (frozenset(), tellers) for stable in (False, True)]
    verdicts = []
    for number, attacker in enumerate(attackers):
        verdicts.append(
            audit(
                ledger,
                attacker,
                rng,
                truth=truth,
                new_cells=fresh,
                effort=effort,
                progress=_numbered(progress, attacker, number, len(attackers)),
            )
        )
    for verdict in [v for v in verdicts if v.refuted]:
        verdicts.append(
            audit_teams(
                ledger,
                verdict.attacker,
                teams,
                verdict.refuted,
                rng,
                truth=truth,
                new_cells=fresh,
                effort=effort,
            )
        )
    return GateVerdict(tuple(verdicts))


def _numbered(progress: Progress | None, attacker: Attacker, number: int, count: int) -> Progress | None:
    if progress is None:
        return None

    def report(region: str, done: int, total: int) -> None:
        progress(f"{attacker.words} {region}".strip(), number * total + done, count * total)

    return report
