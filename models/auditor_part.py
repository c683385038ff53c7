"""Audit one programme: gather worlds until each value was seen both ways, prove or give up on the rest."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence

from models.audit_check import hidden_counts, witnesses_holding, worlds_reproduce
from models.audit_records import (
    Attacker,
    Finding,
    HiddenGroup,
    Key,
    PartVerdict,
    PublishedCell,
    Witness,
    World,
)
from models.auditor_gallery import Effort, Gallery, gather
from models.auditor_model import known_answers
from models.auditor_prover import Prover
from models.auditor_solve import Outcome
from models.auditor_walk import Walker


def audit_part(
    walker: Walker,
    cells: Sequence[PublishedCell],
    answered: Mapping[str, tuple[str, ...]],
    attacker: Attacker,
    truth: Mapping[Key, int],
    hidden: Sequence[HiddenGroup],
    effort: Effort,
    spans: Mapping[Key, str] | None = None,
) -> PartVerdict:
    """Decide every value of one programme.

    Parameters
    ----------
    walker : Walker
        Standing on a world, see `find_start`.
    cells : sequence of PublishedCell
        The cells behind the programme, all of one region.
    answered : mapping of str to tuple of str
        Months each person answered.
    attacker : Attacker
        The attacker.
    truth : mapping of (str, str) to int
        Answers as given, as far as they are there: what colluders told.
    hidden : sequence of HiddenGroup
        Withheld groups whose count must stay open.
    effort : Effort
        Limits.
    spans : mapping of (str, str) to str, optional
        Runs of equal answers that the attacker is told of.

    Returns
    -------
    PartVerdict
        Findings and re-checked witnesses.
    """
    u, region = walker.u, cells[0].region
    known = known_answers(attacker, truth)
    gallery = Gallery(u)
    gallery.show(walker.x)
    gather(walker, gallery, effort)
    prover = Prover(walker, gallery, effort)
    findings = prover.settle(region)
    # A withheld group of people who all told the attacker holds nothing left to protect.
    rows = {
        len(cells) + i: group
        for i, group in enumerate(hidden)
        if u.linear[len(cells) + i] or u.ors[len(cells) + i]
    }
    findings += _hidden_findings(prover, rows)
    worlds = tuple(World(u.keys, w) for w in gallery.worlds)
    sound = worlds_reproduce(worlds, cells, answered, known, shared_draw=attacker.shared_draw, spans=spans)
    settled = {(f.token, f.period) for f in findings if f.kind == "value"}
    pairs = [
        Witness(token, period, int(gallery.seen[0, t]), int(gallery.seen[1, t]))
        for t, (token, period) in enumerate(u.targets)
        if (token, period) not in settled and (gallery.seen[:, t] >= 0).all()
    ]
    holding = witnesses_holding(pairs, worlds, sound, answered, spans)
    findings += [
        Finding(region, pair.token, pair.period, None)
        for pair, holds in zip(pairs, holding, strict=True)
        if not holds
    ]
    good = [world for world, fits in zip(worlds, sound, strict=True) if fits]
    findings += _unshown(
        rows.values(), lambda group: hidden_counts(good, group, answered, known, spans), findings
    )
    return PartVerdict(
        region=region,
        values=len(u.targets),
        findings=tuple(findings),
        witnesses=tuple(pair for pair, holds in zip(pairs, holding, strict=True) if holds),
        worlds=worlds,
        solves=prover.solves,
    )


def _hidden_findings(prover: Prover, rows: Mapping[int, HiddenGroup]) -> list[Finding]:
    """Settle the counts of withheld groups, given by their rows in the programme."""
    findings = []
    for row, group in rows.items():
        outcome = prover.other_count(row)
        if outcome is not Outcome.FOUND:
            count = int(prover.walker.count[row] - prover.walker.u.shift[row])
            value = count if outcome is Outcome.IMPOSSIBLE else None
            findings.append(Finding(group.region, group.unit, group.period, value, "hidden count"))
    return findings


def _unshown(
    hidden: Iterable[HiddenGroup], counts: Callable[[HiddenGroup], list[int]], findings: Sequence[Finding]
) -> list[Finding]:
    """Withheld counts that the checked worlds do not show in two sizes after all."""
    settled = {(f.token, f.period) for f in findings if f.kind == "hidden count"}
    return [
        Finding(group.region, group.unit, group.period, None, "hidden count")
        for group in hidden
        if (group.unit, group.period) not in settled and len(set(counts(group))) < 2
    ]
