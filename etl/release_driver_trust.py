"""How far the published associations can be trusted: worked out from published numbers alone."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from etl.release_driver_stated import WORDS, Stated
from etl.release_rows import Row
from models.driver_trust import Ratio, calibrated, e_values, together
from models.result_gate import Gated, round_outward

E_VALUE, CORRECTED, TOGETHER = "E-value", "corrected for hours misreported", "regions together"
_FINEST = 0.1


@dataclass(frozen=True)
class Reports:
    """Reliability of hours as published, or the band assumed.

    Attributes
    ----------
    way : str
        How it was found; ``assumed`` where nobody, or too few people, reported twice.
    value, low, high : float
        As in table ``reliability``.
    """

    way: str
    value: float
    low: float
    high: float


def reports_of(rows: Sequence[Row]) -> Reports | None:
    """Return the reliability to reckon with from the rows of table ``reliability``.

    Parameters
    ----------
    rows : sequence of tuple
        Rows of the quarter, without the edition number.

    Returns
    -------
    Reports or None
        The first way, reports beside a log before two reports; None without rows.
    """
    for row in rows:
        _, _, _, way, _, value, low, high, *_ = row
        return Reports(str(way), *(float(str(v)) for v in (value, low, high)))
    return None


def trust_rows(stated: Mapping[str, Sequence[Stated]], reports: Reports | None) -> list[Row]:
    """Return the rows of table ``driver_trust`` after edition and period.

    Parameters
    ----------
    stated : mapping of str to sequence of Stated
        Region to its associations as published; those withheld give no row.
    reports : Reports or None
        Reliability of hours.

    Returns
    -------
    list of tuple
        An E-value for each prevalence ratio; for hours also what error in hours and the other regions make of
        it.
    """
    rows: list[Row] = []
    hours: dict[str, Ratio] = {}
    least_teams = 0
    for region, ways in stated.items():
        for one in ways:
            ratio = _published(one)
            if ratio is None or one.question != "prevalence":
                continue
            rows.append(_e_value_row(region, one.exposure, ratio))
            if one.exposure == "hours":
                hours[region] = ratio
                least_teams = min(least_teams or one.teams, one.teams)
                rows += _corrected_rows(region, ratio, reports)
    near = together(hours, least_teams - 1.0) if least_teams > 1 else {}
    rows += [_together_row(region, ratio, len(near)) for region, ratio in near.items()]
    return rows


def _published(one: Stated) -> Ratio | None:
    if one.reason is not None or not isinstance(one.ratio, Gated) or one.ratio.value <= 0:
        return None
    return Ratio(one.ratio.value, one.ratio.low, one.ratio.high, max(_FINEST, one.ratio.step))


def _rounded(ratio: Ratio) -> tuple[float, float, float | None]:
    value, low, high = round_outward(ratio.value, ratio.low, ratio.high, ratio.step)
    return value, low, None if high == float("inf") else high


def _e_value_row(region: str, exposure: str, ratio: Ratio) -> Row:
    value, limit = e_values(ratio)
    reach = (
        f"{limit:g} times each would take the interval to 1"
        if limit > 1
        else "the interval, rounded outward, reaches 1 already"
    )
    told = (
        f"Something not measured would have to go with both exposure and discomfort, {value:g} times each, "
        f"to account for the whole ratio; {reach}."
    )
    return region, exposure, E_VALUE, None, value, limit, None, told, "driver.e_value"


def _corrected_rows(region: str, ratio: Ratio, reports: Reports | None) -> list[Row]:
    if reports is None:
        return []
    rows: list[Row] = []
    source = "assumed" if reports.way == "assumed" else "as published for reports"
    for reliability in sorted({reports.low, reports.value, reports.high}):
        found = calibrated(ratio, min(reliability, 1.0))
        if found is None:
            continue
        value, low, high = _rounded(found)
        upper = "no limit" if high is None else f"{high:g}"
        told = (
            f"Were {100 * min(reliability, 1.0):.0f} % of the spread of hours true ({source}), "
            f"{WORDS['hours']} would go with {value:g} times the discomfort ({low:g} to {upper})."
        )
        rows.append(
            (region, "hours", CORRECTED, min(reliability, 1.0), value, low, high, told, "driver.corrected")
        )
    return rows


def _together_row(region: str, ratio: Ratio, regions: int) -> Row:
    value, low, high = _rounded(ratio)
    upper = "no limit" if high is None else f"{high:g}"
    told = (
        f"Pulled towards the mean of {regions} regions, {WORDS['hours']} goes with {value:g} times the "
        f"discomfort ({low:g} to {upper})."
    )
    return region, "hours", TOGETHER, None, value, low, high, told, "driver.together"
