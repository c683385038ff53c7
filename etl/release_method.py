"""What every published number rests on: formulas, limits and thresholds with source and status."""

from dataclasses import dataclass

from etl.settings import Settings

PUBLISHED = "published"
COMMON = "common practice, no source"
OWN = "own convention"


@dataclass(frozen=True)
class Method:
    """One formula, limit or threshold.

    Attributes
    ----------
    key, title : str
        Key other tables refer to, and a short title.
    text : str
        What is done; names in braces are filled with the settings in force.
    source : str
        Where it comes from.
    status : str
        ``published``, ``common practice, no source`` or ``own convention``.
    """

    key: str
    title: str
    text: str
    source: str
    status: str

    def row(self, settings: Settings) -> tuple[str, str, str, str, str]:
        """Return the row of table ``method`` with the numbers in force."""
        text = self.text.format(
            p=settings.privacy, x=settings.exposure, s=settings.symptoms, d=settings.dose, v=settings.drivers
        )
        return self.key, self.title, text, self.source, self.status


_BJORKSTEN = "Bjorksten MG, Almby B, Jansson ES 1994, Appl Ergon 25:88"
_NEWCOMBE = "Newcombe RG 1998, Stat Med 17"
_NO_SOURCE = "no source known to us"
_OURS = "this project"

METHODS: tuple[Method, ...] = (
    Method(
        "exposure.hours_per_week",
        "Pipetting hours per person and week",
        "Logged hours divided by the weeks with any logged work, summed over people with any. "
        "Weeks cut by the ends of a month count by their days inside it.",
        _OURS,
        OWN,
    ),
    Method(
        "guide.hours_per_week",
        "Guide for weekly hours",
        "{x.yearly_hours_guide:g} h a year spread over {x.working_weeks_per_year:g} working "
        "weeks. Above it women reported more hand and shoulder ailments; an association, not "
        "a safe limit.",
        _BJORKSTEN,
        PUBLISHED,
    ),
    Method(
        "exposure.strokes_per_week",
        "Strokes per person and week",
        "Logged strokes divided by the weeks with any logged work. No guide value.",
        _OURS,
        OWN,
    ),
    Method(
        "exposure.longest_spell",
        "Longest spell of a day",
        "Longest pipetting of a day without a rest of {x.rest_seconds} s, first start to last "
        "end, averaged over person-days.",
        _OURS,
        OWN,
    ),
    Method(
        "guide.longest_spell",
        "Guide for a spell",
        "{x.spell_guide_minutes:g} min of pipetting without a rest.",
        _NO_SOURCE,
        COMMON,
    ),
    Method(
        "exposure.long_spell_days",
        "Days with a long spell",
        "Share of person-days with a spell over {x.long_spell_minutes:g} min. A mark for "
        "counting; no guide value.",
        "David G, Buckle P 1997, Appl Ergon 28:257",
        PUBLISHED,
    ),
    Method(
        "exposure.beyond_guide_share",
        "Time past the spell guide",
        "Share of pipetting time later than {x.spell_guide_minutes:g} min into a spell.",
        _OURS,
        OWN,
    ),
    Method(
        "exposure.micro_rests",
        "Short rests",
        "Rests of {x.rest_seconds} to {x.long_rest_seconds} s per pipetting hour; fewer is more load.",
        _OURS,
        OWN,
    ),
    Method(
        "exposure.force_time",
        "Thumb force-time per person-day",
        "Strokes x (plunger + blow-out force) x press time + tips x ejection force x ejection "
        "time, from the measured catalogue; days with an unmeasured instrument are left out.",
        _OURS,
        OWN,
    ),
    Method(
        "exposure.peak_thumb_force",
        "Peak thumb force",
        "Largest of plunger, blow-out and ejection force of the instrument in use, averaged "
        "over a person's time and then over people.",
        _OURS,
        OWN,
    ),
    Method(
        "guide.peak_thumb_force",
        "Guide for thumb force",
        "{x.thumb_force_guide_n:g} N (2 kgf).",
        _NO_SOURCE,
        COMMON,
    ),
    Method(
        "exposure.over_force_share",
        "Strokes above the force guide",
        "Share of strokes made with an instrument whose peak thumb force is above "
        "{x.thumb_force_guide_n:g} N.",
        _OURS,
        OWN,
    ),
    Method(
        "exposure.interval",
        "Interval of an exposure figure",
        "Ratio of sums with linearised standard error, people as sampling units, t limits at 95 %.",
        "Cochran WG 1977, Sampling Techniques, chapter 6",
        PUBLISHED,
    ),
    Method(
        "exposure.standing",
        "Within, near or over guide",
        "Over: past the guide. Near: past {x.near_guide_fraction:g} of it.",
        _OURS,
        OWN,
    ),
    Method(
        "exposure.part",
        "Parts of the hours",
        "Share of logged hours by task, instrument and weekday; hours per person and week use "
        "the weeks of everybody in the unit with logged work.",
        _OURS,
        OWN,
    ),
    Method(
        "health.quarter",
        "Quarter cohort of a team",
        "On the team on every day of the quarter, and answered for the region at least once.",
        _OURS,
        OWN,
    ),
    Method(
        "health.interval",
        "Interval of a prevalence",
        "Wilson score interval at 95 %, widened to every true count the rounded one can stand "
        "for, rounded outward to the step shown.",
        f"{_NEWCOMBE}:857 (interval); widening: own convention",
        PUBLISHED,
    ),
    Method(
        "health.average",
        "Average over the regions",
        "Plain mean of the published percentages and of their limits; no further answers are used.",
        _OURS,
        OWN,
    ),
    Method(
        "health.smooth",
        "Smooth line",
        "Exponentially weighted average of the published percentages, the newest weighing one quarter; "
        "a hidden period leaves it where it was. For the eye only: no flag and no word rests on it.",
        "Roberts SW 1959, Technometrics 1:239 (average); weight: own convention",
        PUBLISHED,
    ),
    Method(
        "health.trend",
        "Trend against a year before",
        "Newcombe's hybrid score interval of the difference, widened for the rounding of both "
        "counts. Rising or easing: it leaves zero out. Steady: it holds zero and stays within "
        "20 points of it. Two months are taken as different people, which widens it further. "
        "No statement of cause.",
        f"{_NEWCOMBE}:873 (interval); words: own convention",
        PUBLISHED,
    ),
    Method(
        "case.rate",
        "Recorded cases",
        "Rounded count per 200,000 hours worked in a whole calendar year, exact Poisson "
        "limits widened for the rounding.",
        "Garwood F 1936, Biometrika 28:437",
        PUBLISHED,
    ),
    Method(
        "change.reach",
        "Did a change reach the work",
        "Exposure of the changed teams and of the others, up to 6 whole months before the "
        "first start and 6 after the last completion. Exposure only; it does not say whether "
        "discomfort changed.",
        _OURS,
        OWN,
    ),
    Method(
        "privacy.floors",
        "Fewest people behind a number",
        "Discomfort: {p.health_floor_team} for a team's quarter, {p.health_floor_month} for a "
        "month. Exposure: {p.exposure_floor}. Clusters: {p.cluster_floor}.",
        _OURS,
        OWN,
    ),
    Method(
        "privacy.remainder",
        "Hidden remainder",
        "What is hidden below a shown number holds nobody or enough people for a number of "
        "its own; otherwise the smallest shown neighbour is hidden too. Only headcounts "
        "decide.",
        "Denning DE, Denning PJ, Schwartz MD 1979, ACM TODS 4:76 (why floors alone fail)",
        PUBLISHED,
    ),
    Method(
        "privacy.dominance",
        "One or two people do most of it",
        "Exposure is shown where the largest person has at most {p.largest_share:.0%} and the "
        "two largest at most {p.two_largest_share:.0%} of the hours.",
        _OURS,
        OWN,
    ),
    Method(
        "privacy.rounding",
        "Random rounding",
        "Counts of people with discomfort are rounded at random to a multiple of "
        "{p.rounding_base}; the draw depends on who was counted, so the same people and count "
        "give the same number. A shown 0 stands for 0 to 4.",
        "cell-key method of official statistics (Fraser B, Wooton J 2005), keyed by contributors",
        OWN,
    ),
    Method(
        "privacy.percent",
        "Steps of percentages",
        "From the rounded count; to 5 points below 100 people, to 1 point from 100.",
        _OURS,
        OWN,
    ),
)
"""In the order in which they are shown."""
