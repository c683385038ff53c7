"""What flags, the yearly comparison and the weighted shares rest on."""

from etl.release_method import OWN, Method
from models.flag_rise import HANDICAP
from models.flag_setup import DEFAULT, YEARS, Limits, Setup

_OURS = "this project"

FLAG_METHODS: tuple[Method, ...] = (
    Method(
        "flag.exposure",
        "Flag on a unit's exposure",
        "Exponentially weighted average (newest month one quarter) of published monthly values against "
        "the mean of the first twelve months; flagged above 4 standard errors, the baseline's own error "
        "included. Made for at most one of 40 teams a year falsely flagged on each measure.",
        "Roberts SW 1959, Technometrics 1:239; width by simulation: own convention",
        OWN,
    ),
    Method(
        "funnel.year",
        "A team against the spread of all teams",
        "Mean of the year's published counts over mean people (three quarters at least); arcsine "
        "square-root scores, exact tails below 20 people; over-dispersion from scores winsorised at 10 "
        "%, additive, made consistent for normal scores. Named beyond three standard errors. Teams are "
        "not ranked.",
        "Spiegelhalter DJ 2005, Stat Med 24:1185 (from memory); consistency: own convention",
        OWN,
    ),
    Method(
        "year.onset",
        "New discomfort",
        "Discomfort at an answer after an answer without it, up to three months apart: each person's "
        "first of the year over person-months at risk (half the gap for an onset). Exact limits below ten "
        "onsets, Byar's above, widened for spread between people.",
        "Garwood F 1936, Biometrika 28:437; rule for missed answers: own convention",
        OWN,
    ),
    Method(
        "year.change",
        "Change of ratings against the smallest that matters",
        "Mean of each person's ratings of the year less that of the year before, same people, paired t "
        "interval. A word is given where the whole interval lies beyond, or within, one point of 0 to 10.",
        "Salaffi F and others 2004, Eur J Pain 8:283 (one point or 15 %, patients in pain)",
        "published",
    ),
    Method(
        "year.age",
        "Weighted to the ages of the year before",
        "Direct standardisation of people's shares to the age bands of the December before, less the plain "
        "mean; bands of under 20 people are joined. For the whole organisation only.",
        "direct standardisation, as Fay MP, Feuer EJ 1997, Stat Med 16:791; normal limits: own convention",
        OWN,
    ),
    Method(
        "year.leavers",
        "Who left",
        "Share of regions with discomfort at the last answer: people no longer on a team in December less "
        "those still there. A falling curve may be people leaving (healthy-worker effect).",
        "healthy-worker effect: common knowledge of the trade, no one source",
        "common practice, no source",
    ),
    Method(
        "year.season",
        "Season",
        "One yearly wave beside a straight trend in the published monthly counts of 24 months or more, "
        "judged by the F test of a quasi-binomial model.",
        "McCullagh P, Nelder JA 1989, Generalized linear models, section 4.5 (from memory)",
        OWN,
    ),
    Method(
        "response.weighted",
        "Share weighted to everybody asked",
        "Each cluster's published share counts for all its people on the roster. The band shows where "
        "the share of everybody would lie if the odds of those silent were half or twice those of the "
        "others; no weighting can tell.",
        "weighting classes; Little RJA 1993, J Am Stat Assoc 88:125 (from memory)",
        OWN,
    ),
)
"""Shown after the other methods."""


def health_flag_methods(setup: Setup | None, limits: Limits | None) -> tuple[Method, ...]:
    """Return what flags on discomfort rest on, with the limits in force and how they fare.

    Parameters
    ----------
    setup : Setup or None
        What was found when flags began; None before.
    limits : Limits or None
        Limits in force.

    Returns
    -------
    tuple of Method
        The rule, and how strict it is.
    """
    used = limits or DEFAULT
    rule = Method(
        "flag.health",
        "Flag on a team's discomfort",
        "Published quarterly counts of a team against its own first four, in two ways. Each body region: sum "
        "of log-likelihood ratios, odds 2.5 times the baseline against the baseline, the largest over the "
        f"last one to four quarters; flagged at {used.region:g} or more. The baseline is drawn towards all "
        "teams by 12 answers, each step weighted down for the random rounding. The average over all "
        "regions: what it stands above, over the last one to four quarters, what the team's baseline lets "
        f"expect, in standard errors (less {HANDICAP[0]:g}, {HANDICAP[1]:g} and {HANDICAP[2]:g} for one, two "
        f"and three quarters); flagged at {used.first:g} or more in the first year after the baseline and at "
        f"{used.later:g} later, for a frozen baseline ages. How far averages stray when nothing changes is "
        "learnt by simulation. A restart of a baseline is a decision on record. Nothing but published counts "
        "is used, so a flag tells nothing that the tables do not.",
        "Bernoulli CUSUM of Reynolds MR, Stoumbos ZG 1999, J Qual Technol 31:87, within a window as in "
        "Lai TL 1995, J R Stat Soc B 57:613; limits by age as in Shen X and others 2013, J Am Stat Assoc "
        "108:1051 (all from memory); generalised least squares of the average: own convention",
        OWN,
    )
    return rule, Method("flag.limit", "How strict a flag is", _strict(setup, limits), _OURS, OWN)


def _strict(setup: Setup | None, limits: Limits | None) -> str:
    if setup is None or limits is None:
        return "No limit yet: it is found by simulation once a team has five published quarters."
    own = setup.habits
    text = (
        f"Found by simulation when flags began, from published numbers only: {setup.teams:,} teams of the "
        f"sizes published, {own.regions} regions, {own.prevalence:.0%} of monthly answers with discomfort, "
        f"{own.answering:.0%} answering, nothing changing, the same people answering month after month, in "
        f"three ways in which their answers may hang together. At {setup.limits.region:g} for a region and "
        f"{setup.limits.first:g}, later {setup.limits.later:g}, for all together, {setup.false_flags:.2f} of "
        f"40 teams a year are newly flagged by mistake (Monte-Carlo error {setup.error:.2f}) in the worst of "
        f"{YEARS} years after the baseline and of the three ways. Of three teams whose odds grow 2.5 times "
        f"right after the baseline, {setup.finds_all:.1f} are flagged within the year if all regions worsen, "
        f"{setup.finds_one:.1f} if one does; two years later {setup.finds_later:.1f}, for the baseline has "
        "aged by then."
    )
    if limits != setup.limits:
        text += " The settings ask for other limits than these; how those fare was not simulated."
    return text
