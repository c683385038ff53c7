"""The attacker who takes answers to be stable in one team only, over as long a run as its numbers allow.

When answers change anywhere, the whole ledger soon refutes 'nobody's answer ever changes', yet a team's own
numbers may not. Two team counts whose contributors differ by two people, published ten apart to base 5, are
then enough: the two must have caused it. So each team's series is audited alone, over every longest run of
its periods in which its numbers do not contradict stable answers; shorter runs say less.

Such an attacker knows something only if the answers of the run really did not change. Where they did, his
reasoning runs from a false premise: what he concludes is right now and wrong then, and he cannot tell which.
Values met by such a guess are reported with the wrong ones, not as findings.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import replace

import numpy as np

from models.audit_records import Attacker, AuditVerdict, Key, Ledger, PartVerdict, PublishedCell, Truth
from models.auditor import RegionAuditor
from models.auditor_gallery import Effort


def audit_teams(
    ledger: Ledger,
    attacker: Attacker,
    units: Iterable[str],
    regions: Iterable[str],
    rng: np.random.Generator,
    *,
    truth: Truth | None = None,
    new_cells: Iterable[PublishedCell] | None = None,
    effort: Effort | None = None,
) -> AuditVerdict:
    """Audit every team's own series.

    Parameters
    ----------
    ledger : Ledger
        Everything published, with the candidate included.
    attacker : Attacker
        Colluders; taken as stable within one team.
    units, regions : iterable of str
        Teams and regions to look at.
    rng : numpy.random.Generator
        Source of chance of the search.
    truth : mapping, optional
        Answers by region and (token, month).
    new_cells : iterable of PublishedCell, optional
        The candidate's cells: only runs that end with one of them are audited. All if left out.
    effort : Effort, optional
        Limits.

    Returns
    -------
    AuditVerdict
        One part for each longest run.
    """
    local = replace(attacker, stable=True, local=True)
    fresh = None if new_cells is None else set(new_cells)
    wanted, asked = set(units), set(regions)
    series: dict[tuple[str, str], list[PublishedCell]] = {}
    for cell in ledger.cells:
        if cell.unit in wanted and cell.region in asked:
            series.setdefault((cell.region, cell.unit), []).append(cell)
    parts: list[PartVerdict] = []
    for (region, _), cells in sorted(series.items()):
        cells.sort(key=lambda c: c.months)

        def judge(run: Sequence[PublishedCell], region: str = region) -> PartVerdict:
            alone = Ledger(tuple(run), ledger.answered)
            answers = (truth or {}).get(region)
            verdict = RegionAuditor(alone, region, local, rng, answers, effort or Effort()).run(None)
            return verdict if _premise_holds(run, answers or {}) else _as_guesses(verdict)

        parts += _longest_runs(cells, judge, fresh)
    return AuditVerdict(local, tuple(parts))


def _premise_holds(run: Sequence[PublishedCell], answers: Mapping[Key, int]) -> bool:
    """Whether nobody in the run is known to have changed the answer; people without data count as stable."""
    seen: dict[str, int] = {}
    pairs = {(token, month) for cell in run for token in cell.contributors for month in cell.months}
    return all(seen.setdefault(key[0], answers[key]) == answers[key] for key in pairs & answers.keys())


def _as_guesses(verdict: PartVerdict) -> PartVerdict:
    guessed = tuple(f for f in verdict.findings if f.kind == "value" and f.value is not None)
    rest = tuple(f for f in verdict.findings if f not in guessed)
    return replace(verdict, findings=rest, misled=(*verdict.misled, *guessed))


def _longest_runs(
    cells: Sequence[PublishedCell],
    judge: Callable[[Sequence[PublishedCell]], PartVerdict],
    fresh: set[PublishedCell] | None,
) -> list[PartVerdict]:
    """Slide over the series: a run grows at the end, and loses its start when its numbers refute it."""
    parts: list[PartVerdict] = []
    start, last = 0, None
    for end in range(1, len(cells) + 1):
        if fresh is not None and cells[end - 1] not in fresh:
            continue
        verdict = judge(cells[start:end])
        while verdict.refuted:
            if last is not None:
                parts.append(last)
            last, start = None, start + 1
            if start == end:
                break
            verdict = judge(cells[start:end])
        else:
            last = verdict
    return parts if last is None else [*parts, last]
