"""What the register said over time, and adherence by month: each version and month is published once."""

from dataclasses import dataclass
from pathlib import Path

from etl.release_chain import open_release_file, tables_of
from etl.release_plan import published_plans
from etl.release_rows import Job, Row
from etl.sqlfiles import sql


@dataclass(frozen=True)
class KnownRegister:
    """What earlier editions published of the register and of plans.

    Attributes
    ----------
    versions : frozenset of tuple
        Change and version.
    months : dict of tuple to float
        Change and month to the adherence published last.
    plans : frozenset of str
        Codes of plans.
    """

    versions: frozenset[tuple[str, int]]
    months: dict[tuple[str, str], float]
    plans: frozenset[str]


def published_register(file: Path | None) -> KnownRegister:
    """Return what earlier editions published of the register and of plans.

    Parameters
    ----------
    file : Path or None
        Newest published file.

    Returns
    -------
    KnownRegister
        Empty before the first release, and where a release was begun before histories were published.
    """
    plans = published_plans(file)
    if file is None:
        return KnownRegister(frozenset(), {}, plans)
    with open_release_file(file) as con:
        if "change_history" not in tables_of(con):
            return KnownRegister(frozenset(), {}, plans)
        versions = con.execute("select change, version from change_history").fetchall()
        months = con.execute(
            "select change, month, adherence_percent from change_adherence order by edition"
        ).fetchall()
    return KnownRegister(
        frozenset((change, version) for change, version in versions),
        {(change, month): percent for change, month, percent in months}, plans,
    )  # fmt: skip


def history_rows(job: Job, known: KnownRegister) -> list[Row]:
    """Return the versions not published yet.

    Parameters
    ----------
    job : Job
        Edition in the making.
    known : KnownRegister
        What earlier editions published.

    Returns
    -------
    list of tuple
        Rows of table ``change_history`` without the edition number.
    """
    rows = job.con.execute(sql("register/040_history"), {"day": job.month.last_day}).fetchall()
    return [row for row in rows if (row[0], row[1]) not in known.versions]


def adherence_rows(job: Job, known: KnownRegister) -> list[Row]:
    """Return the months of adherence not published yet, or noted anew.

    Parameters
    ----------
    job : Job
        Edition in the making.
    known : KnownRegister
        What earlier editions published.

    Returns
    -------
    list of tuple
        Rows of table ``change_adherence`` without the edition number.
    """
    rows = job.con.execute(sql("register/050_adherence"), {"day": job.month.last_day}).fetchall()
    return [row for row in rows if known.months.get((row[0], row[1])) != row[2]]
