"""What is checked before an edition is published, and what the edition says about it."""

import re
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass

import duckdb

from etl.errors import ReleaseRefused
from etl.release_flags import ALL_REGIONS
from etl.release_ledger import MONTH_KIND, QUARTER_KIND, HealthCell
from etl.release_rows import Row
from etl.settings import PrivacySettings

_WORD = re.compile(r"[A-Za-z0-9_.:-]{6,}")


@dataclass(frozen=True)
class CheckRow:
    """One row of table ``audit_report``.

    Attributes
    ----------
    name : str
        Short name of the check.
    passed : bool or None
        None where nothing was checked.
    sentence : str
        What was checked or found.
    detail : str or None
        More.
    """

    name: str
    passed: bool | None
    sentence: str
    detail: str | None = None

    def row(self) -> Row:
        """Return the row without its edition number."""
        return self.name, self.passed, self.sentence, self.detail


def check_cells(
    cells: Sequence[HealthCell], parents: Mapping[tuple[str, str], str | None], privacy: PrivacySettings
) -> list[CheckRow]:
    """Check the judged health cells once more, by rules written apart from those that made them.

    Parameters
    ----------
    cells : sequence of HealthCell
        Cells of the edition.
    parents : mapping
        (level, unit) to the code of the unit above.
    privacy : PrivacySettings
        Floors in force.

    Returns
    -------
    list of CheckRow
        Findings, all passed.

    Raises
    ------
    ReleaseRefused
        If a number would be published that must not be.
    """
    for cell in cells:
        if cell.published is None:
            continue
        floor = privacy.health_floor_month if cell.kind == MONTH_KIND else privacy.health_floor_team
        n = len(cell.tokens)
        where = f"{cell.level} {cell.unit}, {cell.period}, {cell.region}"
        if n < floor or len(set(cell.tokens)) < n:
            raise _broken(f"A number over {n} people, fewer than {floor}", where)
        if cell.published % cell.base or not 0 <= cell.published <= n:
            raise _broken("A count that is not rounded", where)
    families: dict[tuple, list[HealthCell]] = {}
    for cell in cells:
        if (above := parents[cell.level, cell.unit]) is not None:
            families.setdefault((cell.kind, cell.level, above, cell.region), []).append(cell)
    for (kind, level, above, region), family in families.items():
        floor = privacy.health_floor_month if kind == MONTH_KIND else privacy.health_floor_team
        hidden = sum(len(c.tokens) for c in family if c.published is None)
        if 0 < hidden < floor and any(c.published is not None for c in family):
            raise _broken(f"{hidden} people hidden under one shown number", f"{level}s of {above}, {region}")
    shown = [len(c.tokens) for c in cells if c.published is not None]
    return [
        *_team_floor(cells),
        CheckRow(
            "floors",
            True,
            f"All {len(shown)} discomfort numbers rest on enough people and are rounded.",
            f"at least {min(shown)} people" if shown else None,
        ),
        CheckRow(
            "hidden remainder", True, "Below every shown number the hidden rest is nobody or enough people."
        ),
    ]


def _team_floor(cells: Sequence[HealthCell]) -> list[CheckRow]:
    """Name teams of which no region is shown, and what would help; the published pattern tells as much."""
    teams = [c for c in cells if c.kind == QUARTER_KIND]
    told = {c.unit for c in teams if c.published is not None or c.withheld}
    unseen = sorted({c.unit for c in teams} - told)
    if not unseen:
        return []
    return [
        CheckRow(
            "team floor",
            True,
            f"Discomfort is not shown for {', '.join(unseen)}: too few were on the team all quarter and "
            "answered, or the number of such a team would follow.",
            "To show it, ask more people, or join the team with another one of its cluster in the teams "
            "file, from the start of a calendar year.",
        )
    ]


def check_exposure(rows: Iterable[Row], privacy: PrivacySettings) -> CheckRow:
    """Check that every exposure figure shown rests on enough people.

    Parameters
    ----------
    rows : iterable of tuple
        Rows of table ``exposure``.
    privacy : PrivacySettings
        Floors in force.

    Returns
    -------
    CheckRow
        The finding, passed.

    Raises
    ------
    ReleaseRefused
        If a figure rests on too few, or is hidden and yet there.
    """
    shown = 0
    for row in rows:
        value, band, reason = row[5], row[9], row[13]
        where = f"{row[2]} {row[3]}, {row[0]}, {row[4]}"
        if (value is None) != (reason is not None):
            raise _broken("An exposure figure with a value and a reason, or with neither", where)
        if value is not None:
            shown += 1
            if int(str(band).split("-")[0]) < privacy.exposure_floor:
                raise _broken(f"An exposure figure over {band} people", where)
    return CheckRow(
        "exposure floors",
        True,
        f"All {shown} exposure figures rest on at least {privacy.exposure_floor} people.",
    )


def check_flags(rows: Iterable[Row], cells: Sequence[HealthCell]) -> CheckRow:
    """Check that every flag on discomfort is a team's, by quarter, and stands on a published number.

    Parameters
    ----------
    rows : iterable of tuple
        Rows of table ``flag``.
    cells : sequence of HealthCell
        Cells of the edition, after the audit.

    Returns
    -------
    CheckRow
        The finding, passed.

    Raises
    ------
    ReleaseRefused
        If a flag would say something about a hidden number.
    """
    shown = {(c.unit, c.period, c.region) for c in cells if c.level == "team" and c.published is not None}
    anywhere = {(unit, period) for unit, period, _ in shown}
    judged = 0
    for period, kind, level, unit, subject, topic, _, since, baseline, now, score, _, reason, *_ in rows:
        if subject != "discomfort":
            continue
        where = f"{level} {unit}, {period}, {topic}"
        if level != "team" or kind != "quarter":
            raise _broken("A flag on discomfort that is not a team's by quarter", where)
        told = any(value is not None for value in (since, baseline, now, score))
        seen = (unit, period) in anywhere if topic == ALL_REGIONS else (unit, period, topic) in shown
        if told and not seen:
            raise _broken("A flag made of a hidden number", where)
        if told == (reason is not None):
            raise _broken("A flag with numbers and a reason, or with neither", where)
        judged += told
    return CheckRow(
        "flags", True, f"All {judged} judgements on a team's discomfort are made of published counts alone."
    )


def check_identifiers(con: duckdb.DuckDBPyConnection, text: str, key: bytes) -> CheckRow:
    """Search what is about to be published for pseudonyms, rounding labels and the key.

    Parameters
    ----------
    con : duckdb.DuckDBPyConnection
        Person store.
    text : str
        All values of the edition.
    key : bytes
        Release key.

    Returns
    -------
    CheckRow
        The finding, passed.

    Raises
    ------
    ReleaseRefused
        If one is found.
    """
    rows = con.execute(
        "select person from core.people union select person from release_private.token "
        "union select token from release_private.token"
    ).fetchall()
    secret = {name for (name,) in rows}
    # Shorter names are ordinary words or numbers of a release, such as a code or a year.
    searched = {name for name in secret if _WORD.fullmatch(name)} | {key.hex()}
    if searched & set(_WORD.findall(text)):
        raise ReleaseRefused(
            "A pseudonym or rounding label stands in a text to be published",
            "register of changes, unit names or set-aside reasons",
            "Take it out of the source file, and load that again.",
        )
    short = len(secret) + 1 - len(searched)
    left = (
        f"; {short} of them have fewer than 6 characters and cannot be told from ordinary words"
        if short
        else ""
    )
    return CheckRow(
        "identifiers",
        True,
        f"No pseudonym, rounding label or key among the values; {len(searched)} searched{left}.",
    )


def _broken(what: str, where: str) -> ReleaseRefused:
    return ReleaseRefused(
        what,
        where,
        "This is an error of the program: nothing was published; please report it with this line.",
    )
