"""The data custodian's review of postures in words, for a terminal; no figure is kept or published."""

from datetime import date

from etl.errors import EvenhandError
from etl.facts_layers import Progress
from etl.facts_update import refresh_facts
from etl.home import Home
from etl.posture_review import BEARS_ON, PostureEffect, posture_effects
from etl.release_calendar import Month, month_of
from etl.settings import load_settings
from etl.sqlfiles import sql
from etl.store import open_store
from models.driver_fit import Estimate

COMMAND = "evenhand review postures"
FOR_WHOM = (
    "For the data custodian only: a station can be one person's place. Nothing of this is published or kept; "
    "hand no line on."
)
NO_CAUSE = (
    "What goes together is no cause: who works where was not drawn by lot, stations differ in more than "
    "posture, and people who hurt may have moved."
)


def posture_lines(
    home: Home, month: Month, progress: Progress = lambda step, done, total: None
) -> tuple[str, ...]:
    """Say how discomfort goes with what was seen at stations.

    Parameters
    ----------
    home : Home
        The data home.
    month : Month
        Newest month; all earlier ones enter too.
    progress : callable
        Told the step, steps done and steps in all.

    Returns
    -------
    tuple of str
        One line a region and posture between a head and its cautions.

    Raises
    ------
    EvenhandError
        If nothing is loaded, nobody answered in that month, or no observation is as old as it.
    """
    if not home.person_db.exists():
        raise EvenhandError("Nothing is loaded yet", str(home.person_db), "Run 'evenhand load' first.")
    pairs = sum(map(len, BEARS_ON.values()))
    with open_store(home, write=True) as con:
        progress("facts", 0, pairs + 1)
        refresh_facts(con, load_settings(home.settings_file))
        ground = con.execute(sql("review/040_posture_ground"), {"month": month.first_day}).fetchall()[0]
        _check_ground(month, *ground)
        effects = posture_effects(
            con, month.first_day, lambda step, done, total: progress(step, done + 1, total + 1)
        )
    return (f"Postures beside discomfort, answers up to {month}. {FOR_WHOM}",
            *map(effect_line, effects), NO_CAUSE, *_by_chance(effects))  # fmt: skip


def effect_line(effect: PostureEffect) -> str:
    """Say one association, or why there is none.

    Parameters
    ----------
    effect : PostureEffect
        The association.

    Returns
    -------
    str
        One line.
    """
    region = effect.region.replace("_", " ").capitalize()
    head = f"{region}, {effect.posture.replace('_', ' ').lower()}"
    if not isinstance(effect.ratio, Estimate):
        return f"{head}: cannot be estimated: {effect.ratio.why}. {effect.ratio.needed}."
    ratio = effect.ratio
    return (
        f"{head}: {ratio.value:.2f} times as many with discomfort (95 % interval {ratio.low:.2f} to "
        f"{ratio.high:.2f}) for ten points more of the time watched; {effect.people} people, {effect.teams} "
        f"teams, {effect.stations} stations, {effect.answers} answers, most at {effect.low:.0%} to "
        f"{effect.high:.0%} of the time."
    )


def _check_ground(month: Month, first: date | None, last: date | None, answered: int, seen: int) -> None:
    if first is None or last is None:
        raise EvenhandError("No answers are loaded", COMMAND, "Load a survey: evenhand load.")
    if not answered:
        raise EvenhandError(
            f"Nobody answered in {month}", f"{COMMAND} --month",
            f"Answers reach from {month_of(first)} to {month_of(last)}.",
        )  # fmt: skip
    if not seen:
        raise EvenhandError(
            f"No walk-through observation up to {month} is loaded", COMMAND,
            "Load observations (contract 'observations', see evenhand contracts), or name a later month.",
        )  # fmt: skip


def _by_chance(effects: tuple[PostureEffect, ...]) -> tuple[str, ...]:
    shown = sum(isinstance(effect.ratio, Estimate) for effect in effects)
    if shown < 2:
        return ()
    return (
        f"{shown} ratios stand side by side, and each interval misses 5 times in 100 by chance alone: one "
        "that stands out is a question to look into at the bench, no finding.",
    )
