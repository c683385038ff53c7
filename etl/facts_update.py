"""Fold files that came, went or lost rows into facts already built, equal to a full build in every row."""

from collections.abc import Callable, Sequence

import duckdb

from etl.case_rules import rules_stand
from etl.facts import FactsSummary, build_facts, set_rules, setting_values, summarise
from etl.facts_layers import ALONG_TIME, DAY, LEDGER, LOG, MONTH, WEEK, Progress, drop_work, read_sources, run
from etl.settings import Settings
from etl.sqlfiles import sql

_ALONG = ("facts/040_event_bucket", *ALONG_TIME, "update/060_team_day")
# What finds overlaps among bouts; islands of stroke events alone need none of it.
_BOUTS_ONLY = LOG[: LOG.index("facts/095_event_bout")]
_PIECES = (*LOG[len(_BOUTS_ONLY) :], "update/065_all_from_pieces")
_STEPS = len(_ALONG) + len(LOG) + 1 + len(DAY) + len(WEEK) + len(MONTH)
# These decide teams and forces of all work ever logged.
_ALL_ANEW = frozenset({"people", "teams", "instruments"})
_NO_FACTS = frozenset({"stations", "changes", "diaries", "observations"})
_COUNTED = ("people", "teams", "instruments", "bouts", "strokes", "surveys", "hours")
# How far to look for the rest that ends an island, at first.
_MARGIN_US = 2 * 3_600_000_000


def changed_files(con: duckdb.DuckDBPyConnection) -> tuple[tuple[int, str], ...]:
    """Return the files that came, went or lost rows since the facts were built.

    Parameters
    ----------
    con : duckdb.DuckDBPyConnection
        Person store with facts.

    Returns
    -------
    tuple of (int, str)
        Number and contract of each file.
    """
    rows = con.execute(
        f"select file_id, contract from {LEDGER} n full join facts.built_from o using (file_id, contract)"
        " where n.rows is distinct from o.rows or n.checksum is distinct from o.checksum order by all"
    ).fetchall()
    return tuple(rows)


def refresh_facts(
    con: duckdb.DuckDBPyConnection, settings: Settings, progress: Progress | None = None
) -> FactsSummary:
    """Bring the facts up to the files loaded, by an update where it suffices and a full build otherwise.

    Parameters
    ----------
    con : duckdb.DuckDBPyConnection
        Person store, open for writing, with no transaction under way.
    settings : Settings
        The institute's settings.
    progress : callable, optional
        Called with a layer's name, its number from 1, and the number of layers.

    Returns
    -------
    FactsSummary
        Rows of the facts as they are now.
    """
    if not _built_by(con, settings) or not _ledger_tells_all(con):
        return build_facts(con, settings, progress)
    changed = changed_files(con)
    if _ALL_ANEW & {contract for _, contract in changed}:
        return build_facts(con, settings, progress)
    files = [file for file, contract in changed if contract not in _NO_FACTS]
    return update_facts(con, settings, files, progress) if files else summarise(con)


def update_facts(
    con: duckdb.DuckDBPyConnection, settings: Settings, files: Sequence[int], progress: Progress | None = None
) -> FactsSummary:
    """Recompute what the bouts, strokes, answers and hours of some files touch, in one transaction.

    Work is recomputed in islands: stretches of a person's logged time that lie a rest or more from all
    other work, before and after the change. Then the days and weeks that these islands, or the rest before
    them, lie on. Spells that follow get their new numbers. The facts equal those of a full build.

    Parameters
    ----------
    con : duckdb.DuckDBPyConnection
        Person store, open for writing, with no transaction under way.
    settings : Settings
        The institute's settings; facts built with others, or none yet, are built in full.
    files : sequence of int
        Numbers of files that were added, lost rows or were taken out. Persons, teams and instruments must
        be the same as before; `refresh_facts` sees to that.
    progress : callable, optional
        Called with a layer's name, its number from 1, and the number of layers.

    Returns
    -------
    FactsSummary
        Rows of the facts as they are now.

    Raises
    ------
    duckdb.Error
        If a layer fails; the facts stay as they were.
    """
    if not _built_by(con, settings):
        return build_facts(con, settings, progress)
    number = 0

    def tell(layer: str) -> None:
        nonlocal number
        number += 1
        if progress is not None:
            progress(layer, number, _STEPS)

    con.execute("begin transaction")
    try:
        bucket_us = set_rules(con, settings)
        con.execute(
            "create or replace temp table work_file as select unnest($files) as file_id", {"files": files}
        )
        # Numbers, not a query: so the engine reads only the row groups that can hold these files.
        listed = ", ".join(str(int(file)) for file in files)
        read_sources(con, bucket_us, f"file_id in ({listed})" if files else "false")
        others = _without_work(con, files, listed)
        con.execute(sql("update/010_touched"))
        con.execute(sql("update/020_replace_source").format(ledger=LEDGER))
        if con.execute("select 1 from work_touched limit 1").fetchall():
            _islands(con)
            _log(con, tell)
            _merge(con, tell)
        _months(con, others, tell)
        drop_work(con)
        summary = summarise(con)
        con.execute("commit")
    except BaseException:
        con.execute("rollback")
        raise
    return summary


def _islands(con: duckdb.DuckDBPyConnection) -> None:
    """Find the islands; widen the look around as long as one might reach beyond it."""
    margin_us = _MARGIN_US
    while True:
        con.execute(sql("update/030_near").format(margin_us=margin_us))
        con.execute(sql("update/040_island"))
        if con.execute(sql("update/045_cut_off")).fetchall() == [(0,)]:
            break
        margin_us *= 8
    con.execute(sql("update/050_at_hand"))


def _without_work(con: duckdb.DuckDBPyConnection, files: Sequence[int], listed: str) -> list[int]:
    """Return the files that hold, and held, no logged work: those may hold answers."""
    if not files:
        return []
    sources = ("work_new_bucket", "work_new_day", "facts.event_bucket", "facts.source_day")
    union = " union ".join(f"select file_id from {name} where file_id in ({listed})" for name in sources)
    logs = {file for (file,) in con.execute(union).fetchall()}
    return [file for file in files if file not in logs]


def _log(con: duckdb.DuckDBPyConnection, tell: Callable[[str], None]) -> None:
    """Find the spells and pieces of the islands; the steps about bouts only where bouts are at hand."""
    run(con, _ALONG, tell)
    with_bouts = con.execute(
        "select exists (from work_recorded)"
        " or exists (from work_event_bucket b anti join work_event_person p on p.person = b.person)"
    ).fetchall()[0][0]
    if with_bouts:
        run(con, _BOUTS_ONLY, tell)
    else:
        con.execute("drop table work_event_bucket")
        run(con, ("update/055_no_bouts",), tell)
    run(con, _PIECES, tell)


def _merge(con: duckdb.DuckDBPyConnection, tell: Callable[[str], None]) -> None:
    """Exchange the islands' rows, then reckon their days and weeks anew."""
    con.execute(sql("update/070_before"))
    con.execute(sql("update/080_exchange"))
    if con.execute("select 1 from work_number where not is_new and old <> spell limit 1").fetchall():
        con.execute(sql("update/085_renumber"))
    con.execute(sql("update/090_insert"))
    run(con, DAY, tell)
    con.execute(sql("update/100_day"))
    run(con, WEEK, tell)
    con.execute(sql("update/110_week"))


def _months(con: duckdb.DuckDBPyConnection, others: Sequence[int], tell: Callable[[str], None]) -> None:
    """Build roster and symptoms anew where their months or the answers changed; they are small."""
    before = con.execute("from facts.extent").fetchall()
    con.execute(sql("facts/025_extent"))
    # A file that is gone from the ledger may have held answers.
    answers = (
        others
        and con.execute(
            "select 1 from (select unnest($files) as file_id) f left join core.file_ledger l using (file_id)"
            " where l.contract is null or l.contract in ('surveys', 'hours') limit 1",
            {"files": list(others)},
        ).fetchall()
    )
    if answers or con.execute("from facts.extent").fetchall() != before:
        run(con, ("facts/030_team_day", *MONTH), tell)


def _built_by(con: duckdb.DuckDBPyConnection, settings: Settings) -> bool:
    """Tell whether facts stand that were built whole, and by these rules."""
    found = con.execute(
        "select count(*) from duckdb_tables() where database_name = current_database()"
        " and schema_name = 'facts' and table_name in ('built_from', 'symptom', 'bout_piece')"
    ).fetchall()
    if found != [(3,)]:
        return False
    # Facts of an earlier version of this program lack a column; they are built anew.
    columns = con.execute("select * from facts.bout_piece limit 0").description or ()
    if "tips" not in {name for name, *_ in columns}:
        return False
    rules = setting_values(settings)
    names = ", ".join(rules)
    built = con.execute(f"select {names} from facts.setting").fetchall() == [tuple(rules.values())]
    return built and rules_stand(con, settings.symptoms)


def _ledger_tells_all(con: duckdb.DuckDBPyConnection) -> bool:
    """Tell whether all rows of the store are rows of the ledger's files, as far as numbers go."""
    counts = " union all ".join(f"select '{name}', count(*) from core.{name}" for name in _COUNTED)
    listed = dict(
        con.execute(
            "select name, sum(rows)::bigint from ("
            " select contract as name, rows_accepted as rows from core.file_ledger"
            " union all select table_name, -rows from core.removal) group by name"
        ).fetchall()
    )
    return all(listed.get(name, 0) == rows for name, rows in con.execute(counts).fetchall())
