"""What the number columns of release tables are counted in, for whoever builds a view of their own."""

# Columns that mean the same wherever they stand.
_COMMON = {
    "edition": "number of the edition that published the row",
    "year": "calendar year",
    "count_rounded": "people or cases, rounded at random to a multiple of 5",
    "regions_shown": "body regions in the average",
    "guide": "as value",
    "rows": "rows",
    "files": "files",
    "rows_in": "rows",
    "rows_accepted": "rows",
    "rows_set_aside": "rows",
    "hours_worked": "hours",
    "cost": "in the currency of the register",
    "other_teams": "teams",
    "smallest_p": "probability",
    "meaningful": "percentage points",
    "expected_points": "percentage points, fewer is positive",
    "adherence_percent": "% as the owner reported it",
    "logged_percent": "% of people",
    "force_known_percent": "% of pipetting time",
    "weighted_percent": "% of everybody asked",
    "target": "% of people who answered",
    "share_percent": "% of the hours",
    "hours_per_person_week": "hours per person and week",
    "now": "as published for the topic",
    "baseline": "as published for the topic",
    "score": "standardised, without unit",
    "decision_limit": "standardised, without unit",
}
_SHARE = "% of people who answered"
_POINTS = "percentage points"
_OWN = "as value_unit says, row by row"
_BY_TABLE = {
    "health": dict.fromkeys(("percent", "low", "high"), _SHARE),
    "health_average": dict.fromkeys(("percent", "low", "high"), _SHARE),
    "smooth": {"percent": _SHARE},
    "funnel": dict.fromkeys(("percent", "low", "high"), _SHARE),
    "weighted": dict.fromkeys(("percent", "low", "high"), _SHARE),
    "trend": dict.fromkeys(("points", "low", "high"), _POINTS),
    "change_effect": dict.fromkeys(("points", "low", "high"), _POINTS),
    "response": {"percent": "% of people invited"},
    "exposure": dict.fromkeys(("value", "low", "high"), _OWN),
    "dose": dict.fromkeys(("value", "low", "high"), _OWN),
    "change_reach": dict.fromkeys(("value", "low", "high"), _OWN),
    "case_rate": dict.fromkeys(("rate", "low", "high"), "cases per 200 000 hours worked"),
}


def units_of(table: str, columns: list[str]) -> dict[str, str]:
    """Return what each number column of a release table is counted in.

    Parameters
    ----------
    table : str
        Release table.
    columns : list of str
        Its columns.

    Returns
    -------
    dict of str to str
        Column -> unit in words; text columns, and those nobody has described, are left out.
    """
    known = _COMMON | _BY_TABLE.get(table, {})
    return {column: known[column] for column in columns if column in known}
