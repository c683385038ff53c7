"""What flags, the yearly comparison and the weighted shares rest on."""

from etl.release_method import OWN, Method

_OURS = "this project"

FLAG_METHODS: tuple[Method, ...] = (
    Method(
        "flag.health",
        "Flag on a team's discomfort",
        "Sum of log-likelihood ratios of the team's published quarterly counts, odds 2.5 times its "
        "baseline against its baseline, the largest over the last one to four quarters; flagged at "
        "{s.flag_limit:g} or more. The baseline is the first four published quarters, drawn towards all "
        "teams by 12 answers, and frozen; a restart is a decision on record. Each step is weighted down "
        "for the random rounding.",
        "Bernoulli CUSUM of Reynolds MR, Stoumbos ZG 1999, J Qual Technol 31:87, within a window as in Lai "
        "TL 1995, J R Stat Soc B 57:613 (both from memory); shrinking and weighting: own convention",
        OWN,
    ),
    Method(
        "flag.limit",
        "How strict a flag is",
        "The limit was found by simulation: 40 teams of 10 to 40 people, nine regions, nothing changing, "
        "the same people answering month after month, one or two leavers in a hundred a month. At a limit "
        "of 8.5, 0.3 to 0.9 teams a year are newly flagged by mistake in any region, in each of four years "
        "after the baseline, at a prevalence of 25 to 40 %. Of three teams whose odds grew 2.5 times, "
        "published quarters find 1.9 within the year if all regions worsened and 0.8 if one did. Unrounded "
        "monthly counts would find 2.6 of 3, and are not published: they would tell more than the tables "
        "do.",
        _OURS,
        OWN,
    ),
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
