"""The release job: from the facts of one month to a frozen edition of protected group numbers."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from datetime import UTC, datetime
from importlib.metadata import version
from pathlib import Path

import duckdb

from etl.case_rules import refuse_changed_past
from etl.errors import ReleaseRefused
from etl.home import Home
from etl.keys import release_key
from etl.register import note_register
from etl.release_audit_case import Auditor
from etl.release_audit_plan import AuditPlan, AuditSchedule, first_unaudited, plan_audit
from etl.release_calendar import Month, parse_month, refuse_period
from etl.release_chain import open_release_file
from etl.release_changes import published_reach
from etl.release_checks import CheckRow
from etl.release_edition import edition_rows
from etl.release_effect import published_effects
from etl.release_facts import ensure_facts
from etl.release_gate import refuse_audits
from etl.release_history import KnownRegister, published_register
from etl.release_ledger import prepare
from etl.release_publish import (
    EditionHead,
    clear_unfinished,
    published_file,
    put_in_place,
    same_rows,
    write_edition,
)
from etl.release_published import Past, published_exposure, published_rules
from etl.release_rows import Job
from etl.settings import Settings, load_settings
from etl.store import open_store
from etl.tombstones import recall

Progress = Callable[[str, int, int], None]


@dataclass(frozen=True)
class ReleaseSummary:
    """What was published.

    Attributes
    ----------
    edition : int
        Number of the edition.
    period : str
        Month released.
    rows : int
        Rows added.
    shown, hidden : int
        Discomfort numbers shown and hidden.
    content_hash : str
        Hash of the edition.
    key_fingerprint : str
        Fingerprint of the release key.
    audit : str
        What the auditor said.
    path : Path
        Published file.
    """

    edition: int
    period: str
    rows: int
    shown: int
    hidden: int
    content_hash: str
    key_fingerprint: str
    audit: str
    path: Path

    def __str__(self) -> str:
        return (
            f"Edition {self.edition} of {self.period}: {self.rows} rows, {self.shown} discomfort numbers "
            f"shown, {self.hidden} hidden; hash {self.content_hash[:16]}, release key {self.key_fingerprint}"
        )


@dataclass(frozen=True)
class _Published:
    file: Path | None
    edition: int
    month: Month | None
    reach: frozenset[tuple[str, bool]]
    past: Past
    effects: frozenset[str]
    register: KnownRegister


def make_release(
    home: Home,
    period: str,
    *,
    settings: Settings | None = None,
    progress: Progress | None = None,
    note: str | None = None,
    auditor: Auditor | None = None,
    now: datetime | None = None,
) -> ReleaseSummary:
    """Publish one month as the next edition.

    Parameters
    ----------
    home : Home
        Data home.
    period : str
        Month, such as ``2026-10``.
    settings : Settings, optional
        Settings; by default those of the data home.
    progress : callable, optional
        Told what is being done, how many steps are done, and of how many.
    note : str, optional
        Remark kept with the edition.
    auditor : callable, optional
        Judges the ledger before anything is published.
    now : datetime, optional
        Time of the release, UTC; by default the present.

    Returns
    -------
    ReleaseSummary
        What was published.

    Raises
    ------
    ReleaseRefused
        If the edition would break a rule; nothing is published then.
    """
    options = {"settings": settings, "progress": progress, "note": note, "auditor": auditor, "now": now}
    return make_releases(home, period, period, **options)[0]


def make_releases(
    home: Home,
    first: str,
    last: str,
    *,
    settings: Settings | None = None,
    progress: Progress | None = None,
    note: str | None = None,
    auditor: Auditor | None = None,
    schedule: AuditSchedule = AuditSchedule.EACH,
    now: datetime | None = None,
) -> tuple[ReleaseSummary, ...]:
    """Publish every month from one to another, one edition each.

    Parameters
    ----------
    home : Home
        Data home.
    first, last : str
        Months, such as ``2026-10``.
    settings : Settings, optional
        Settings; by default those of the data home.
    progress : callable, optional
        Told what is being done, how many steps are done, and of how many.
    note : str, optional
        Remark kept with each edition.
    auditor : callable, optional
        Judges the ledger before anything is published.
    schedule : AuditSchedule
        Which editions it judges. An edition left out is judged with the next one that is not.
    now : datetime, optional
        Time of the release, UTC; by default the present.

    Returns
    -------
    tuple of ReleaseSummary
        What was published, oldest first. A refusal keeps the editions made before it.

    Raises
    ------
    ReleaseRefused
        If an edition would break a rule.
    """
    begin, end = parse_month(first), parse_month(last)
    if end < begin:
        raise ReleaseRefused(f"{last} lies before {first}", "period", "Name the earlier month first.")
    months = [begin]
    while months[-1] < end:
        months.append(months[-1].plus(1))
    tell = progress or (lambda label, done, total: None)
    rules = settings or load_settings(home.settings_file)
    moment = (now or datetime.now(UTC)).replace(tzinfo=None)
    with open_store(home, write=True) as con:
        clear_unfinished(home)
        known = _published(home)
        refuse_period(months[0], known.month, moment.date())
        refuse_changed_past(published_rules(known.file), rules.symptoms)
        prepare(con, known.edition)
        recall(home, con)
        tell("facts", 0, len(months) + 1)
        ensure_facts(con, rules)
        audits = refuse_audits(con)
        note_register(con, moment)
        made = []
        for number, month in enumerate(months, start=1):
            tell(str(month), number, len(months) + 1)
            plan = plan_audit(auditor, schedule, month, months[-1], first_unaudited(published_file(home)))
            inner = _within(tell, str(month), number, len(months) + 1)
            made.append(_publish(home, con, month, rules, note, audits, plan, moment, inner))
        tell("done", len(months) + 1, len(months) + 1)
        return tuple(made)


def _within(tell: Progress, month: str, number: int, months: int) -> Progress:
    """Return what tells of the steps of one month as parts of the whole."""
    return lambda label, done, total: tell(f"{month}, {label}", number, months)


def _published(home: Home) -> _Published:
    file = published_file(home)
    if file is None:
        return _Published(None, 0, None, frozenset(), {}, frozenset(), published_register(None))
    with open_release_file(file) as con:
        edition, period = con.execute("select edition, period from edition order by edition desc").fetchall()[
            0
        ]
        reach = con.execute("select distinct change, reason from change_reach").fetchall()
    return _Published(
        file,
        edition,
        parse_month(period),
        published_reach(reach),
        published_exposure(file),
        published_effects(file),
        published_register(file),
    )


def _publish(
    home: Home,
    con: duckdb.DuckDBPyConnection,
    month: Month,
    settings: Settings,
    note: str | None,
    audits: Sequence[CheckRow],
    plan: AuditPlan,
    moment: datetime,
    tell: Progress,
) -> ReleaseSummary:
    known = _published(home)
    refuse_period(month, known.month, moment.date())
    job = Job(con, month, known.edition + 1, settings, release_key(home.keys_dir), tell)
    temporary: Path | None = None
    con.execute("begin")
    try:
        rows, cells, audit = edition_rows(
            job, known.reach, known.effects, known.past, known.register, audits, plan
        )
        head = EditionHead(
            job.edition,
            str(month),
            moment,
            settings.model_dump_json(include={"privacy", "symptoms", "exposure", "dose"}),
            version("evenhand"),
            note,
        )
        temporary, content = write_edition(home, known.file, head, rows.by_table)
        if known.file is not None and not same_rows(known.file, temporary):
            raise ReleaseRefused(
                "Earlier editions would change", str(known.file), "Restore it from a backup."
            )
        # The ledger is kept before the file is shown: an edition without its ledger could never be
        # audited, while a ledger without its edition is dropped by the next release.
        con.execute("commit")
        path = put_in_place(home, temporary, job.edition)
    except BaseException as error:
        if temporary is not None:
            temporary.unlink(missing_ok=True)
        _roll_back(con)
        if isinstance(error, duckdb.Error | OSError):
            raise ReleaseRefused(
                f"The edition could not be written: {str(error).splitlines()[0]}",
                str(home.release_dir),
                "Make room or repair the disk; nothing was published.",
            ) from error
        raise
    shown = sum(cell.published is not None for cell in cells)
    added = sum(map(len, rows.by_table.values()))
    return ReleaseSummary(
        job.edition,
        str(month),
        added,
        shown,
        len(cells) - shown,
        content,
        job.key.fingerprint,
        audit.sentence,
        path,
    )


def _roll_back(con: duckdb.DuckDBPyConnection) -> None:
    try:
        con.execute("rollback")
    except duckdb.TransactionException:
        # The commit had already ended the transaction.
        return
