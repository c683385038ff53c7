"""The checks of the main fit as published: their outcome in words that give no count of answers away."""

import numpy as np

from etl.release_driver_effects import fitted_for
from etl.release_driver_frame import AGE, THUMB_FORCE, RegionData
from models.driver_checks import EVENTS, EVENTS_FEW, diagnose
from models.driver_records import FAILS, INFORMS, PASSES, Refusal, attempt
from models.driver_threshold import threshold

WORDS: dict[str, dict[str, str]] = {
    "events": {
        PASSES: f"Enough answers with and without discomfort: {EVENTS:g} or more for each term.",
        INFORMS: f"Answers with or without discomfort are few: {EVENTS_FEW:g} to {EVENTS:g} for each term.",
        FAILS: f"Too few answers with or without discomfort: under {EVENTS_FEW:g} for each term.",
    },
    "convergence": {
        PASSES: "The fit settled.",
        INFORMS: "The fit settled slowly.",
        FAILS: "The fit did not settle.",
    },
    "influence": {
        PASSES: "No single team decides it.",
        INFORMS: "One team moves it, but does not decide it.",
        FAILS: "One team decides it: without that team it comes out differently.",
    },
    "trend": {
        PASSES: "No trend over months is left over.",
        INFORMS: "A trend over months is left over, but it moves the association little.",
        FAILS: "A trend over months is left over, and it moves the association.",
    },
}
"""Sentences of the checks that look at answers; those on exposure and teams alone speak for themselves."""


def _bend(found: RegionData) -> str:
    told = attempt(lambda: threshold(found.data, "hours", (AGE,), beside=(THUMB_FORCE,), link="logit"))
    if isinstance(told, Refusal) or told.low is None or told.high is None:
        return "No threshold is named: the data do not tell a bent curve from a straight line."
    return f"A threshold between {np.floor(told.low):.0f} and {np.ceil(told.high):.0f} h a week is supported."


def checked(found: RegionData) -> tuple[list[tuple[str, str, str]], str | None]:
    """Run the checks of the fit of hours.

    Parameters
    ----------
    found : RegionData
        Answers of the main region.

    Returns
    -------
    tuple
        Name, outcome and sentence of each check, and the sentence that withholds the headline where one
        failed.
    """
    fitted = attempt(lambda: fitted_for(found, "hours"))
    if isinstance(fitted, Refusal):
        return [], None
    checks = [
        (one.key, str(one.verdict), WORDS[one.key][one.verdict] if one.key in WORDS else one.sentence)
        for one in diagnose(fitted, "hours")
    ]
    checks.append(("shape", INFORMS, _bend(found)))
    failed = [sentence for _, verdict, sentence in checks if verdict == FAILS]
    return checks, f"Withheld, as a check failed. {' '.join(failed)}" if failed else None
