"""The question a release asks before it commits: does any attacker learn anybody's answer?"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

import numpy as np

from models.audit_records import Attacker, AuditVerdict, Ledger, PublishedCell, Truth
from models.auditor import Progress, audit, choose_colluders
from models.auditor_gallery import Effort
from models.auditor_rehearsal import rehearse


@dataclass(frozen=True)
class GateVerdict:
    """All attackers' verdicts on one candidate.

    Parameters
    ----------
    verdicts : tuple of AuditVerdict
        Months unrelated and answers stable, each without and with colluders.
    rehearsals : tuple of AuditVerdict
        The same contributor sets with invented stable answers, for regions in which real answers changed so
        much that the stable attacker is refuted. For information: they say nothing about real people.
    """

    verdicts: tuple[AuditVerdict, ...]
    rehearsals: tuple[AuditVerdict, ...] = ()

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
        lines = [v.sentence for v in self.verdicts]
        lines += [f"Rehearsed with invented answers. {v.sentence}" for v in self.rehearsals]
        return tuple(lines)


def judge(
    ledger: Ledger,
    units: Iterable[str],
    rng: np.random.Generator,
    *,
    truth: Truth,
    new_cells: Iterable[PublishedCell] | None = None,
    rehearsed: bool = True,
    effort: Effort | None = None,
    progress: Progress | None = None,
) -> GateVerdict:
    """Audit a candidate against every attacker.

    Parameters
    ----------
    ledger : Ledger
        Everything published, with the candidate included.
    units : iterable of str
        Teams, for the choice of three colluders in each.
    rng : numpy.random.Generator
        Source of chance of the search and of the choice of colluders.
    truth : mapping
        Answers by region and (token, month); may lack people whose data are gone.
    new_cells : iterable of PublishedCell, optional
        The candidate's cells; the whole ledger is audited if left out.
    rehearsed : bool
        Also rehearse regions in which the stable attacker is refuted.
    effort : Effort, optional
        Limits.
    progress : callable, optional
        Called with (attacker and region in words, done, total).

    Returns
    -------
    GateVerdict
        The verdicts.
    """
    tellers = choose_colluders(ledger, units, rng)
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
    rehearsals = []
    for region in sorted({r for v in verdicts for r in v.refuted}) if rehearsed else ():
        invented, answers = rehearse(ledger, region, published_share(ledger, region), rng)
        rehearsals.append(audit(invented, Attacker(stable=True), rng, truth=answers, effort=effort))
        rehearsals.append(audit(invented, Attacker(True, tellers), rng, truth=answers, effort=effort))
    return GateVerdict(tuple(verdicts), tuple(rehearsals))


def published_share(ledger: Ledger, region: str) -> float:
    """Share of yes among all published counts of a region: known to everybody, so safe to act on.

    Parameters
    ----------
    ledger : Ledger
        Published counts.
    region : str
        Region.

    Returns
    -------
    float
        Between 0 and 1.
    """
    cells = [c for c in ledger.cells if c.region == region]
    return sum(c.value for c in cells) / max(1, sum(c.n for c in cells))


def _numbered(progress: Progress | None, attacker: Attacker, number: int, count: int) -> Progress | None:
    if progress is None:
        return None

    def report(region: str, done: int, total: int) -> None:
        progress(f"{attacker.words} {region}".strip(), number * total + done, count * total)

    return report
