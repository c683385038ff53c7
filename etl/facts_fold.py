"""The steps of an update: what a file touches, its islands of work, and the rows exchanged for them.

An update of a few thousand rows costs its statements, not its rows: planning takes more than running. So
steps that would find nothing are left out, limits reach the scans as constants, and few tables are made.
"""

from collections.abc import Callable, Sequence

import duckdb

from etl.facts import refuse_other_width
from etl.facts_layers import ALONG_TIME, DAY, LEDGER, LOG, MONTH, WEEK, drop_work, read_sources, run
from etl.sqlfiles import sql

Tell = Callable[[str], None]

_ALONG = ("facts/040_event_bucket", *ALONG_TIME, "update/060_team_day")
# What finds overlaps among bouts; islands of stroke events alone need none of it.
_BOUTS_ONLY = LOG[: LOG.index("facts/095_event_bout")]
_PIECES = LOG[len(_BOUTS_ONLY) :]
STEPS = len(_ALONG) + len(LOG) + len(DAY) + len(WEEK) + len(MONTH)
# How far to look for the rest that ends an island, at first: enough for a night over midnight, two stretches.
_MARGIN_US = 12 * 3_600_000_000
# What the facts rest on, each with the working table of what the files hold now.
_SOURCES = {
    "event_bucket": "work_new_bucket",
    "source_day": "work_new_day",
    "source_extent": "work_new_extent",
}


def fold(con: duckdb.DuckDBPyConnection, files: Sequence[int], tell: Tell) -> None:
    """Recompute what some files touch.

    Parameters
    ----------
    con : duckdb.DuckDBPyConnection
        Person store with facts, in a transaction.
    files : sequence of int
        Numbers of files that were added, lost rows or were taken out.
    tell : callable
        Called with each layer's name before it runs.
    """
    con.execute("create or replace temp table work_setting as from facts.setting")
    bucket_us = refuse_other_width(con)
    # Numbers, not a query: so the engine reads only the row groups that can hold these files.
    mine = f"file_id in ({', '.join(str(int(file)) for file in files)})" if files else "false"
    read_sources(con, bucket_us, mine)
    before, now = _sides(con, mine)
    others = _without_work(con, files, mine) if any((*before.values(), *now.values())) else files
    _touch(con, mine, before, now)
    _replace_sources(con, mine, before, now)
    first_us, last_us = con.execute("select min(from_us), max(to_us) from work_touched").fetchall()[0]
    if first_us is not None:
        _islands(con, first_us, last_us, "true" if before["event_bucket"] else f"not ({mine})")
        _log(con, tell)
        _exchange(con)
        _days(con, tell)
    _months(con, others, tell)
    drop_work(con)


def _sides(con: duckdb.DuckDBPyConnection, mine: str) -> tuple[dict[str, int], dict[str, int]]:
    """Count the rows of the files, before and now, by the tables that the facts rest on."""
    text = " union all ".join(
        f"select '{table}', 0, count(*) from facts.{table} where {mine}"
        f" union all select '{table}', 1, count(*) from {work}"
        for table, work in _SOURCES.items()
    )
    rows = con.execute(text).fetchall()
    before, now = ({name: n for name, side, n in rows if side == which} for which in (0, 1))
    return before, now


def _without_work(con: duckdb.DuckDBPyConnection, files: Sequence[int], mine: str) -> list[int]:
    """Return the files that hold, and held, no logged work: those may hold answers."""
    if len(files) == 1:
        return []
    found = con.execute(
        f"select file_id from work_new_extent union select file_id from facts.source_extent where {mine}"
    ).fetchall()
    return [file for file in files if (file,) not in found]


def _touch(con: duckdb.DuckDBPyConnection, mine: str, before: dict[str, int], now: dict[str, int]) -> None:
    """Find what differs; where all of a file came or went there is nothing to compare."""

    def differing(table: str) -> str:
        names = {"now": _SOURCES[table], "before": f"facts.{table}", "files": mine}
        if not before[table]:
            return names["now"]
        if not now[table]:
            return f"(select * from {names['before']} where {mine})"
        return sql("update/015_differing").format(**names)

    con.execute(
        sql("update/010_touched").format(buckets=differing("event_bucket"), days=differing("source_day"))
    )


def _replace_sources(
    con: duckdb.DuckDBPyConnection, mine: str, before: dict[str, int], now: dict[str, int]
) -> None:
    """Exchange the files' rows of the tables that the facts rest on."""
    for table, work in _SOURCES.items():
        if before[table]:
            con.execute(f"delete from facts.{table} where {mine}")
        if now[table]:
            con.execute(f"insert into facts.{table} from {work}")
    con.execute(f"delete from facts.built_from where {mine}")
    con.execute(f"insert into facts.built_from select * from {LEDGER} where {mine}")


def _islands(con: duckdb.DuckDBPyConnection, first_us: int, last_us: int, others: str) -> None:
    """Find the islands; widen the look around as long as one might reach beyond it."""
    margin_us = _MARGIN_US
    while True:
        con.execute(sql("update/030_near").format(margin_us=margin_us, first_us=first_us, last_us=last_us))
        con.execute(sql("update/040_island").format(others=others))
        if con.execute(sql("update/045_cut_off").format(margin_us=margin_us)).fetchall() == [(0,)]:
            break
        margin_us *= 8
    con.execute(sql("update/050_at_hand"))


def _log(con: duckdb.DuckDBPyConnection, tell: Tell) -> None:
    """Find the spells and pieces of the islands; the steps about bouts only where bouts are at hand."""
    bouts, events = con.execute(
        "select exists (from work_recorded), exists (from work_event_part)"
    ).fetchall()[0]
    if not bouts and not events:
        run(con, ("update/057_no_work",), tell)
        return
    run(con, _ALONG, tell)
    long_way = (
        "select 1 from work_event_bucket b anti join work_event_person p on p.person = b.person limit 1"
    )
    if bouts or con.execute(long_way).fetchall():
        run(con, _BOUTS_ONLY, tell)
    else:
        con.execute("drop table work_event_bucket")
        run(con, ("update/055_no_bouts",), tell)
    run(con, _PIECES, tell)


def _exchange(con: duckdb.DuckDBPyConnection) -> None:
    """Exchange the islands' rows in the facts."""
    con.execute(sql("update/068_span"))
    first_us, last_us = con.execute("select min(from_us), max(to_us) from work_span").fetchall()[0]
    for step in ("update/070_spells", "update/075_pieces"):
        con.execute(sql(step).format(first_us=first_us, last_us=last_us))
    gone, moved, overlaps = con.execute(
        "select bool_or(gone), bool_or(id is not null and spell <> number),"
        " exists (from facts.overlap) or exists (from work_overlap) from work_near_spell"
    ).fetchall()[0]
    steps = {
        "080_take_out": gone, "085_renumber": moved, "087_overlap": overlaps, "090_insert": True,
    }  # fmt: skip
    for step, needed in steps.items():
        if needed:
            con.execute(sql(f"update/{step}"))


def _days(con: duckdb.DuckDBPyConnection, tell: Tell) -> None:
    """Reckon the days and weeks of the exchanged rows anew."""
    con.execute(sql("update/095_all_from_pieces"))
    run(con, DAY, tell)
    con.execute(sql("update/100_day"))
    run(con, WEEK, tell)
    con.execute(sql("update/110_week"))


def _months(con: duckdb.DuckDBPyConnection, others: Sequence[int], tell: Tell) -> None:
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
