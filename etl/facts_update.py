"""Fold files that came, went or lost rows into facts already built, equal to a full build in every row."""

from collections.abc import Sequence

import duckdb

from etl.case_rules import rules_stand
from etl.facts import FactsSummary, build_facts, setting_values, summarise
from etl.facts_fold import STEPS, fold
from etl.facts_layers import LEDGER, Progress
from etl.settings import Settings

# These decide teams and forces of all work ever logged.
_ALL_ANEW = frozenset({"people", "teams", "instruments"})
_NO_FACTS = frozenset({"stations", "changes", "diaries", "observations"})
# An update runs its layers as one statement and holds all between them; a full build lets go of each layer.
# So files of more rows than this that are over a quarter of the store are built in full.
LARGE_ROWS = 5_000_000
_COUNTED = ("people", "teams", "instruments", "bouts", "strokes", "surveys", "hours")


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
    if not files:
        return summarise(con)
    if _large(con, files):
        return build_facts(con, settings, progress)
    return update_facts(con, settings, files, progress)


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
            progress(layer, number, STEPS)

    con.execute("begin transaction")
    try:
        fold(con, setting_values(settings), files, tell)
        summary = summarise(con)
        con.execute("commit")
    except BaseException:
        con.execute("rollback")
        raise
    return summary


def _built_by(con: duckdb.DuckDBPyConnection, settings: Settings) -> bool:
    """Tell whether facts stand that were built whole, and by these rules."""
    try:
        # Facts of an earlier version of this program lack a table or a column; they are built anew.
        con.execute(
            "select b.tips from facts.bout_piece b, facts.built_from, facts.symptom, facts.case_rule limit 0"
        )
    except (duckdb.CatalogException, duckdb.BinderException):
        return False
    rules = setting_values(settings)
    names = ", ".join(rules)
    built = con.execute(f"select {names} from facts.setting").fetchall() == [tuple(rules.values())]
    return built and rules_stand(con, settings.symptoms)


def _large(con: duckdb.DuckDBPyConnection, files: Sequence[int]) -> bool:
    """Tell whether files, as they are or were, are so much of the store that a full build suits better."""
    changed, stored = con.execute(
        "select coalesce(sum(greatest(coalesce(n.rows, 0), coalesce(o.rows, 0)))"
        " filter (where file_id in $files), 0), coalesce(sum(n.rows), 0)"
        f" from {LEDGER} n full join facts.built_from o using (file_id, contract)",
        {"files": list(files)},
    ).fetchall()[0]
    return changed > max(LARGE_ROWS, stored / 4)


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
