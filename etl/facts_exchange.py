"""The rows of the facts that lie on islands of work, exchanged for those reckoned anew."""

from collections.abc import Collection, Mapping, Sequence
from datetime import timedelta

import duckdb
import numpy as np

from etl.facts_islands import NEVER, Islands, moves, staying
from etl.facts_layers import WEEK, run, with_layers
from etl.sqlfiles import sql

# From the buckets at hand to bouts, and from a log to pieces.
_TO_BOUTS = (
    "facts/040_event_bucket",
    "facts/020_local_day",
    "facts/022_local_key",
    "update/055_all_alike",
    "update/060_team_day",
    "facts/050_event_bout",
)
_OVERLAPS = ("facts/060_log", "facts/070_verdict", "facts/080_overlap")
_TO_PIECES = ("facts/110_instrument", "facts/120_bout_day", "facts/130_bout_piece")
_TO_SPELLS = ("update/068_bout", "facts/100_spell")
_TO_DAYS = (
    "update/095_spell",
    "update/097_piece",
    "update/055_all_alike",
    "facts/140_rest",
    "facts/150_person_day",
)
_TO_WEEKS = ("update/108_week_days", *WEEK)
_DAY_US = 24 * 3_600_000_000


def exchange(
    con: duckdb.DuckDBPyConnection,
    persons: Sequence[str],
    islands: Islands,
    rules: Mapping[str, int],
    came: Collection[str] | None,
) -> None:
    """Reckon islands anew and exchange their rows in the facts, with the days and weeks that they lie on.

    Parameters
    ----------
    con : duckdb.DuckDBPyConnection
        Person store with facts, in a transaction.
    persons : sequence of str
        Pseudonyms by number.
    islands : Islands
        What is touched.
    rules : mapping of str to int
        Working rules of the facts.
    came : collection of str
        Where the islands hold nothing but what came: the tables that it came in. Otherwise None.
    """
    close = islands.rest_before_us <= rules["long_rest_us"]
    con.execute(
        sql("update/040_island"),
        {
            "person": [persons[no] for no in islands.no],
            "from_us": islands.from_us.tolist(),
            "to_us": islands.to_us.tolist(),
            "staying": staying(islands).tolist(),
            "before": [int(n) if near else None for n, near in zip(islands.before, close, strict=True)],
        },
    )
    limits = {"first_us": int(islands.from_us.min()), "last_us": int(islands.to_us.max())}
    bouts, events = _at_hand(con, limits, came)
    new = bouts or events
    if new:
        _reckon(con, bouts)
    gone = bool(islands.gone.any())
    days = _take_out(con, limits, gone, new, bool(close.any()))
    if islands.left_out:
        con.execute(sql("update/080_overlap"))
    if bouts:
        con.execute("insert into facts.overlap from work_overlap")
    if (islands.rest_after_us < NEVER).any():
        _renumber(con, persons, islands, new)
    if new:
        con.execute(sql("update/090_insert").format(layers=with_layers(_TO_SPELLS)))
    if days:
        _days(con, limits, rules["long_rest_us"])


def _at_hand(
    con: duckdb.DuckDBPyConnection, limits: Mapping[str, int], came: Collection[str] | None
) -> tuple[bool, bool]:
    """Gather the logged work of the islands; tell whether there are bouts, and events."""
    if came is None or "core.bouts" in came:
        bouts = con.execute(sql("update/052_recorded").format(**limits)).fetchall()[0][0] > 0
    else:
        bouts = False
        con.execute("create or replace temp view work_recorded as from core.bouts limit 0")
    if came is None:
        events = con.execute(sql("update/050_parts").format(**limits)).fetchall()[0][0] > 0
    else:
        events = bool(set(came) - {"core.bouts"})
        table = "work_new_bucket" if events else "facts.event_bucket limit 0"
        con.execute(f"create or replace temp view work_event_part as from {table}")
    return bouts, events


def _reckon(con: duckdb.DuckDBPyConnection, bouts: bool) -> None:
    """Find the spells and pieces of the islands; overlaps are looked for only where bouts are at hand."""
    if bouts:
        run(con, (*_TO_BOUTS, *_OVERLAPS), lambda layer: None)
        layers = with_layers(("facts/090_bout", *_TO_PIECES))
    else:
        layers = with_layers((*_TO_BOUTS, "update/062_bout_of_events", *_TO_PIECES))
    con.execute(sql("update/066_new_piece").format(layers=layers))


def _take_out(
    con: duckdb.DuckDBPyConnection, limits: Mapping[str, int], gone: bool, new: bool, close: bool
) -> bool:
    """Take the islands' old rows out; note the days to reckon anew, and tell whether there are any."""
    parts = []
    if gone:
        con.execute(sql("update/070_gone").format(**limits))
        parts.append("select person, local_date from work_gone")
    if new:
        parts.append("select person, local_date from work_new_piece")
    if not parts:
        return False
    if close:
        parts.append(sql("update/074_day_before"))
    con.execute(
        "create or replace temp table work_day as"
        f" select distinct person, local_date from ({' union all '.join(parts)})"
    )
    return True


def _renumber(con: duckdb.DuckDBPyConnection, persons: Sequence[str], islands: Islands, new: bool) -> None:
    """Give later spells their new numbers."""
    counts = np.zeros(islands.no.size, dtype=np.int64)
    if new:
        counts = np.asarray(con.execute(sql("update/083_new_spells")).fetchnumpy()["spells"], np.int64)
    moved = moves(islands, counts)
    if not moved.no.size:
        return
    values = {
        "person": [persons[no] for no in moved.no],
        "after": moved.after.tolist(),
        "upto": moved.upto.tolist(),
        "shift": moved.shift.tolist(),
    }
    for table in ("facts.spell", "facts.bout_piece"):
        con.execute(sql("update/085_renumber").format(table=table), values)


def _days(con: duckdb.DuckDBPyConnection, limits: Mapping[str, int], long_rest_us: int) -> None:
    """Reckon the days and weeks of the exchanged rows anew."""
    first, last = con.execute("select min(local_date), max(local_date) from work_day").fetchall()[0]
    following = 1 + long_rest_us // _DAY_US
    near = {
        **limits,
        "around_us": (following + 2) * _DAY_US,
        "first_date": first,
        "last_date": last + timedelta(days=following),
    }
    con.execute(sql("update/100_day").format(layers=with_layers(_TO_DAYS, **near)))
    con.execute(sql("update/110_week").format(layers=with_layers(_TO_WEEKS)))
