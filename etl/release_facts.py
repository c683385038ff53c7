"""Facts as fresh as the files loaded: built before a release only where something changed."""

import hashlib

import duckdb

from etl.facts import setting_values
from etl.facts_update import refresh_facts
from etl.settings import Settings


def ensure_facts(con: duckdb.DuckDBPyConnection, settings: Settings) -> bool:
    """Bring the facts up to date if what they rest on has changed.

    Parameters
    ----------
    con : duckdb.DuckDBPyConnection
        Person store, open for writing, private tables made.
    settings : Settings
        The institute's settings.

    Returns
    -------
    bool
        Whether they were brought up to date.
    """
    tables = ("people", "teams", "bouts", "strokes", "surveys", "instruments")
    counts = ", ".join(f"(select count(*) from core.{table})" for table in tables)
    state = con.execute(f"select {counts}").fetchall()
    files = con.execute(
        "select file_sha256, contract, content_checksum from core.file_ledger"
        " union all select mark, name, concat_ws('|', tz, width_us, events) from core.event_log order by all"
    ).fetchall()
    rules = [rule.model_dump() for rule in settings.symptoms.rules()]
    text = repr((state, files, sorted(setting_values(settings).items()), rules))
    stamp = hashlib.sha256(text.encode()).hexdigest()
    built = con.execute(
        "select count(*) from information_schema.columns where table_schema = 'facts'"
        " and table_catalog = current_database() and (table_name, column_name) in"
        " (('person_day', 'person'), ('symptom', 'person'), ('roster', 'person'), ('bout_piece', 'tips'))"
    ).fetchall()[0][0]
    if built == 4 and con.execute("select stamp from release_private.facts_stamp").fetchall() == [(stamp,)]:
        return False
    refresh_facts(con, settings)
    con.execute("delete from release_private.facts_stamp")
    con.execute("insert into release_private.facts_stamp values (?)", [stamp])
    return True
