"""Methods of the dose figures and of the fit of stations."""

from etl.release_method import COMMON, OWN, PUBLISHED, Method

MEMORY = "from memory"
QUOTED = "published (quoted)"

DOSE_METHODS: tuple[Method, ...] = (
    Method(
        "dose.hours_per_year",
        "Hours a year at this pace",
        "Hours per person and week times {x.working_weeks_per_year:g} working weeks, against "
        "{x.yearly_hours_guide:g} h.",
        "Bjorksten MG, Almby B, Jansson ES 1994, Appl Ergon 25:88",
        PUBLISHED,
    ),
    Method(
        "dose.rest_due",
        "Time with a rest in time",
        "Share of pipetting time at most {d.rest_due_minutes:g} min after the last rest of {x.rest_seconds}"
        " s. Trials show little or no clear effect of breaks: adherence is reported, no protection claimed.",
        "university safety guides: 3-5 min every 20-30 min; Luger T et al. 2019, Cochrane CD012886",
        COMMON,
    ),
    Method(
        "dose.thumb_force",
        "Peak thumb force in percent of strength",
        "Peak thumb force of the instruments in use over the {d.pinch} strength that "
        "{d.strength_percentile:.0%} of a population of {d.share_women:.0%} women do not reach: a mixed "
        "normal population, nobody's own strength or sex. Guide: {d.kept_up_percent:g} % of maximum. No "
        "norm measures a plunger stroke.",
        "Stegink Jansen CW et al. 2003, J Hand Ther 16:326 (means); Mathiowetz V et al. 1985, Arch Phys Med "
        "Rehabil 66:69 (SD, from memory)",
        MEMORY,
    ),
    Method(
        "dose.mean_load",
        "Mean thumb load while pipetting",
        "Thumb force-time over pipetting time, percent of strength; time with an unmeasured instrument is "
        "left out. Guides: {d.mean_load_percent:g} % for work with pauses, {d.sustained_load_percent:g} % "
        "without any.",
        "Bjorksten M, Jonsson B 1977, Scand J Work Environ Health 3:23",
        PUBLISHED,
    ),
    *(
        Method(
            f"dose.load_{level}",
            f"{level.capitalize()} thumb load",
            f"Load that is not exceeded {share} % of the known pipetting time, from the time in each class "
            f"of force. Between presses the thumb is taken as at rest: the load of holding an instrument is"
            f" measured by nobody here. Should stay under {{d.{level}_percent[0]:g}}, must not pass "
            f"{{d.{level}_percent[1]:g}} % of strength, for work over 1 h.",
            "Jonsson B 1982, J Hum Ergol 11:73; interval: Woodruff RS 1952, J Am Stat Assoc 47:635",
            QUOTED,
        )
        for level, share in (("static", 10), ("median", 50), ("peak", 90))
    ),
    Method(
        "dose.acceptable_effort",
        "Effort against the acceptable",
        "Mean thumb effort of a day's exertions over the maximum acceptable effort 1 - (DC - 1/28800)^0.24,"
        " DC the time in exertion over {d.shift_hours:g} h; averaged over person-days whose exertions are "
        "known.",
        "Potvin JR 2012, Hum Factors 54:175",
        QUOTED,
    ),
    Method(
        "dose.hand_activity",
        "Hand activity level",
        "6.56 ln D F^1.31 / (1 + 3.18 F^1.31), F exertions a second and D their time in percent, over the "
        "pipetting time of a day: a press to draw up, one to blow out, one to eject a tip, with the times "
        "measured on the instrument. An observer's level agrees badly with it; do not mix the two.",
        "Radwin RG et al. 2015, Ergonomics 58:173",
        PUBLISHED,
    ),
    Method(
        "dose.peak_force",
        "Peak force against the threshold limit",
        "90th percentile of a day's counted exertions, a tenth of percent of strength, against the "
        "threshold limit value of edition {d.hand_activity_edition} at the group's hand activity. Near: "
        "over the action limit. The limit is for hand work of {d.hand_activity_least_hours:g} h a day and "
        "more; posture, contact and vibration are for judgement.",
        "ACGIH, TLV for hand activity",
        "cross-checked",
    ),
    Method(
        "dose.over_threshold",
        "Days over the threshold limit",
        "Share of person-days with at least {d.hand_activity_least_hours:g} h of pipetting and a peak force"
        " over the threshold limit value of edition {d.hand_activity_edition} at the day's hand activity.",
        "ACGIH, TLV for hand activity",
        "cross-checked",
    ),
    Method(
        "dose.strain_index",
        "Strain Index of a day",
        "Revised Strain Index: the exertions of a bout give its composite index, the bouts of a day the "
        "cumulative one (order of parts: {d.strain_order}). Over {d.strain_limit:g} counts as hazardous. The "
        "wrist is taken as {d.wrist_degrees:g} degrees: a setting, measured by nobody.",
        "Garg A, Moore JS, Kapellusch JM 2017, Ergonomics 60:912 and 60:1033",
        MEMORY,
    ),
    Method(
        "dose.strain_days",
        "Days over the Strain Index limit",
        "Share of person-days with a Strain Index over {d.strain_limit:g}.",
        "Garg A, Moore JS, Kapellusch JM 2017, Ergonomics 60:912 and 60:1033",
        MEMORY,
    ),
    Method(
        "dose.fatigue_damage",
        "Relative fatigue damage",
        "Sum of exertions over cycles to failure at their force, S = {d.damage_intercept:g} - "
        "{d.damage_slope:g} log10 N, per person-day, as a multiple of the organisation's of the same month."
        " An index to compare groups by: it has no limit and says nothing about anybody's chance of harm.",
        "Gallagher S, Schall MC 2017, Ergonomics 60:255 (concept); Schechtman H, Bader DL 1997 (line)",
        MEMORY,
    ),
    Method(
        "exposure.force_class",
        "Time by class of thumb force",
        "Pipetting time without a press, and with a press of a force in each class of percent of strength; "
        "strokes and tips times the times measured on the instrument.",
        "this project",
        OWN,
    ),
    Method(
        "station.fit",
        "Whom a station fits",
        "Share of women and of men with the elbow at a workable height and, seated, room for the thighs, by"
        " a joint normal model of body sizes of soldiers with shoes; standing or seated together lies "
        "between two bounds, for {d.share_women:.0%} women. A cut-out counts as not there: its thickness is"
        " not recorded. What would raise the share most is tried among a thinner edge, foot support, a "
        "wider chair range and platforms.",
        "Gordon CC et al. 2014, NATICK/TR-15/007 (ANSUR II); Pheasant S, Haslegrave CM 2006, Bodyspace",
        OWN,
    ),
    Method(
        "self_report.reliability",
        "How far reported hours can be trusted",
        "Least squares of logged on reported hours over people (slope, robust limits), or the intraclass "
        "correlation of two reports of the same months (exact limits), over the last 12 months; in steps of "
        "0.05, limits outward. Where neither is there, 50 to 90 % are assumed. The slope holds if the log is "
        "right on average and errors do not depend on discomfort.",
        "Rosner B, Willett WC, Spiegelman D 1989, Stat Med 8:1051; Shrout PE, Fleiss JL 1979, Psychol Bull "
        "86:420",
        QUOTED,
    ),
)
"""In the order in which they are shown."""
