"""Checks of a fit: each passes, fails or informs in a sentence; a failed one withholds the headline."""

import numpy as np
from scipy.stats import f as f_distribution

from models.driver_effect import Fitted
from models.driver_fit import Estimate, fit_groups
from models.driver_records import FAILS, INFORMS, PASSES, Diagnostic, Refused, Verdict

EVENTS, EVENTS_FEW = 10.0, 5.0
"""Answers of the rarer kind for each term: from 10 on enough, below 5 too few; Peduzzi and others 1996, J
Clin Epidemiol 49:1373; Vittinghoff and McCulloch 2007, Am J Epidemiol 165:710."""

WITHIN, WITHIN_FEW = 0.25, 0.10
"""Share of exposure's variance left within teams. Own convention."""

TREND = 0.05


def diagnose(fitted: Fitted, exposure: str) -> tuple[Diagnostic, ...]:
    """Run all checks of a fit.

    Parameters
    ----------
    fitted : Fitted
        A fitted driver model.
    exposure : str
        The exposure asked about.

    Returns
    -------
    tuple of Diagnostic
        In the order to be read.
    """
    return (
        enough_events(fitted),
        overlap(fitted, exposure),
        convergence(fitted),
        carrying_teams(fitted, exposure),
        influence(fitted, exposure),
        residual_trend(fitted, exposure),
    )


def enough_events(fitted: Fitted) -> Diagnostic:
    """Say whether there are enough answers of the rarer kind for the terms fitted.

    Parameters
    ----------
    fitted : Fitted
        A fit.

    Returns
    -------
    Diagnostic
        Key ``events``.
    """
    cases, n = int(fitted.data.case.sum()), len(fitted.data)
    terms = fitted.design.x.shape[1] - 1
    each = min(cases, n - cases) / max(terms, 1)
    kind = "with" if cases <= n - cases else "without"
    told = f"{min(cases, n - cases)} answers {kind} discomfort for {terms} terms, {each:.0f} each"
    return Diagnostic("events", *_graded(each, EVENTS, EVENTS_FEW, told, "enough", "few", "too few"))


def overlap(fitted: Fitted, exposure: str) -> Diagnostic:
    """Say whether teams overlap in exposure, so that exposure can be told from team.

    Parameters
    ----------
    fitted : Fitted
        A fit.
    exposure : str
        The exposure.

    Returns
    -------
    Diagnostic
        Key ``overlap``; the share of exposure's variance that lies within teams.
    """
    values = fitted.data.column(exposure).astype(float)
    team = np.unique(fitted.data.team, return_inverse=True)[1]
    means = np.bincount(team, weights=values) / np.bincount(team)
    share = float((values - means[team]).var() / values.var())
    told = f"{100 * share:.0f} % of the variation of {exposure} lies within teams"
    words = ("teams overlap", "teams overlap little", "exposure can hardly be told from team")
    return Diagnostic("overlap", *_graded(share, WITHIN, WITHIN_FEW, told, *words))


def convergence(fitted: Fitted) -> Diagnostic:
    """Say that the fit converged; one that does not is refused before it gets here.

    Parameters
    ----------
    fitted : Fitted
        A fit.

    Returns
    -------
    Diagnostic
        Key ``convergence``; fails if the summed scores are not nil.
    """
    fit = fitted.fit
    rest = np.sqrt(np.diag(fit.bread)) * np.abs(fit.score.sum(0))
    if rest.max() > 1e-4:
        return Diagnostic("convergence", FAILS, "The fit did not settle: its equations are not solved.")
    return Diagnostic("convergence", PASSES, f"The fit settled in {fit.steps} steps.")


def carrying_teams(fitted: Fitted, exposure: str) -> Diagnostic:
    """Say over how many teams the evidence is spread.

    Parameters
    ----------
    fitted : Fitted
        A fit.
    exposure : str
        The exposure.

    Returns
    -------
    Diagnostic
        Key ``teams``; informs where it rests on fewer than four teams' worth.
    """
    spread = fitted.fit.carried(fitted.design.unit(exposure)) + 1
    teams = fitted.fit.groups
    told = f"Answers come from {teams} teams; as uneven as they are, they count like {spread:.1f}."
    return Diagnostic("teams", PASSES if spread >= 4 else INFORMS, told)


def influence(fitted: Fitted, exposure: str) -> Diagnostic:
    """Say what single teams do to the association: fitted anew without each in turn.

    Fails where without one team the estimate lies beyond its own interval, or the others' interval excludes 1
    on the other side. Informs where one team decides the direction, or whether the interval excludes 1.

    Parameters
    ----------
    fitted : Fitted
        A fit.
    exposure : str
        The exposure.

    Returns
    -------
    Diagnostic
        Key ``influence``.
    """
    full = fitted.fit.estimate(fitted.design.unit(exposure))
    others = []
    for team in np.unique(fitted.data.team).tolist():
        try:
            others.append(without_team(fitted, exposure, team))
        except Refused as refused:
            told = f"Without one of the teams nothing can be estimated: {refused.refusal.why}."
            return Diagnostic("influence", FAILS, told)
    logs = [one.value for one in others]
    told = f"Without any one team the ratio lies between {np.exp(min(logs)):.2f} and {np.exp(max(logs)):.2f}"
    against = [one for one in others if _side(one) * full.value < 0]
    if against or min(logs) < full.low or max(logs) > full.high:
        return Diagnostic("influence", FAILS, f"{told}: one team alone decides it.")
    decide = sum(_side(one) != _side(full) or one.value * full.value < 0 for one in others)
    if decide:
        teams = "1 team decides" if decide == 1 else f"each of {decide} teams decides"
        return Diagnostic("influence", INFORMS, f"{told}; {teams} direction or whether 1 is excluded.")
    return Diagnostic("influence", PASSES, f"{told}: no single team decides it.")


def _side(found: Estimate) -> int:
    return int(found.low > 0) - int(found.high < 0)


def without_team(fitted: Fitted, exposure: str, team: int) -> Estimate:
    """Return the association fitted without one team.

    Parameters
    ----------
    fitted : Fitted
        A fit.
    exposure : str
        The exposure.
    team : int
        Code of the team left out.

    Returns
    -------
    Estimate
        Log ratio per step with its interval.

    Raises
    ------
    Refused
        If the others cannot answer.
    """
    keep = fitted.data.team != team
    x, names = fitted.design.x[keep], np.array(fitted.design.names)
    # A category that only this team had is no term any more.
    there = np.ptp(x, axis=0) > 0
    there[0] = True
    start = fitted.fit.coefficient[there]
    rest = fitted.data.where(keep)
    fit = fit_groups(rest.case, x[:, there], rest.team, link=fitted.fit.link, start=start)
    return fit.estimate((names[there] == exposure).astype(float))


def residual_trend(fitted: Fitted, exposure: str) -> Diagnostic:
    """Say whether discomfort moves over months in a way the model does not hold.

    Square and cube of time are added and tested together (Hotelling's form for few clusters). Fails where
    they are there and move the association by more than its standard error.

    Parameters
    ----------
    fitted : Fitted
        A fit.
    exposure : str
        The exposure.

    Returns
    -------
    Diagnostic
        Key ``trend``.
    """
    when = fitted.data.month.astype(float)
    months = len(np.unique(when))
    teams = fitted.fit.groups
    if months < 6 or teams < 4:
        told = f"{months} months and {teams} teams are too few to look for a trend left over."
        return Diagnostic("trend", INFORMS, told)
    z = (when - when.mean()) / when.std()
    extra = np.column_stack([z**2, z**3])
    x = np.hstack([fitted.design.x, extra - extra.mean(0)])
    try:
        fit = fit_groups(fitted.data.case, x, fitted.data.team, link=fitted.fit.link)
    except Refused as refused:
        told = f"A trend left over could not be looked for: {refused.refusal.why}."
        return Diagnostic("trend", INFORMS, told)
    f = (
        (teams - 2)
        / (2 * (teams - 1))
        * fit.coefficient[-2:]
        @ np.linalg.solve(fit.covariance[-2:, -2:], fit.coefficient[-2:])
    )
    p = float(f_distribution.sf(f, 2, teams - 2))
    if p >= TREND:
        return Diagnostic("trend", PASSES, f"No trend over months is left over (p {p:.2f}).")
    unit = fitted.design.unit(exposure)
    shift = float(unit @ (fit.coefficient[:-2] - fitted.fit.coefficient))
    moved = abs(shift) / fitted.fit.error(unit)
    told = f"A trend over months is left over (p {p:.3f})"
    if moved > 1:
        return Diagnostic("trend", FAILS, f"{told} and moves the association by {moved:.1f} errors.")
    return Diagnostic("trend", INFORMS, f"{told} but moves the association by {moved:.1f} errors only.")


def _graded(
    value: float, enough: float, few: float, told: str, good: str, fair: str, bad: str
) -> tuple[Verdict, str]:
    verdict, word = (PASSES, good) if value >= enough else (INFORMS, fair) if value >= few else (FAILS, bad)
    return verdict, f"{told}: {word}."
