"""What is said where numbers cannot stand: what was found, where, and what to do; and the log of faults."""

import logging
import secrets
from collections.abc import Callable
from dataclasses import dataclass

from dashboards.data import ReleaseFrames
from dashboards.labels import month_label
from etl.errors import EvenhandError

LOG = logging.getLogger("evenhand.rooms")


@dataclass(frozen=True)
class Condition:
    """Why a page, a room or a figure shows no numbers; all plain text.

    Attributes
    ----------
    title : str
        Heading, a whole sentence.
    found, where, remedy : str
        What was found, where, and what to do.
    """

    title: str
    found: str
    where: str
    remedy: str


def no_release(error: EvenhandError, local: bool) -> Condition:
    """Return the condition of a release that cannot be opened.

    Parameters
    ----------
    error : EvenhandError
        Why not.
    local : bool
        Whether the reader sits at the machine itself. Readers of a site need not learn where its files lie.

    Returns
    -------
    Condition
        For a page of its own.
    """
    if local:
        return Condition("No release to show.", error.what, error.where, error.remedy)
    return Condition(
        "No release to show.", error.what, "the published release", "Tell whoever runs Evenhand."
    )


def no_numbers(frames: ReleaseFrames) -> Condition | None:
    """Return the condition of an edition without a group or a month; None if there is something to show.

    Parameters
    ----------
    frames : ReleaseFrames
        The release.

    Returns
    -------
    Condition or None
        For the place of a room.
    """
    lacking = "no group" if not frames.units("organisation") else "" if frames.months() else "no month"
    if not lacking:
        return None
    edition = frames.edition()
    return Condition(
        "This edition holds no numbers yet.",
        f"It names {lacking} with exposure or discomfort",
        f"edition {edition.number} of {month_label(edition.period)}",
        "Whoever publishes the releases: load teams, people and stroke logs with 'evenhand load', then "
        "publish the next month with 'evenhand release'.",
    )


def attempted(what: str, act: Callable[[], None]) -> Condition | None:
    """Do something that draws; a failure of it goes to the log and to the reader, and no further.

    Parameters
    ----------
    what : str
        What is drawn: a heading of ours, never a value.
    act : callable
        Draws it.

    Returns
    -------
    Condition or None
        None if it was drawn; else what to say, with the reference under which the log has the traceback.
    """
    try:
        act()
    # Whatever fails in one figure or room: the reader keeps the others.
    except Exception as error:
        # Drawn anew each time, so that two readers' reports can be told apart in the log.
        reference = secrets.token_hex(4)
        LOG.exception("fault %s: %s could not be shown", reference, what)
        told = f"If it stays, tell whoever runs Evenhand the reference {reference}."
        if isinstance(error, EvenhandError):
            return Condition(f"{what} cannot be shown.", error.what, error.where, f"{error.remedy} {told}")
        return Condition(
            f"{what} cannot be shown.",
            "The program failed while drawing it; the published numbers are untouched",
            "this part of the page only",
            f"Choose another month or group, or load this page again. {told}",
        )
    return None
