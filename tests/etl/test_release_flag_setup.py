"""Limits of flags are found once for each series and rule, and kept."""

import json

import duckdb

import etl.release_flag_setup as module
from etl.keys import SecretKey
from etl.release_calendar import Month
from etl.release_published import QuarterCount
from etl.release_rows import Job
from etl.settings import Settings
from models.answering import Habits
from models.flag_setup import DEFAULT_WANDER, Limits, Setup


def test_limits_of_an_earlier_rule_are_found_anew_and_newer_ones_kept(monkeypatch):
    con = duckdb.connect()
    con.execute("create schema release_private")
    con.execute("create table release_private.flag_setup (edition integer, series varchar, setup varchar)")
    old = {"limits": {"region": 11.0, "together": 12.5}, "habits": {}, "false_flags": 0.7}
    con.execute("insert into release_private.flag_setup values (1, '', ?)", [json.dumps(old)])
    asked = []

    def found(*_: object) -> Setup:
        asked.append(1)
        return Setup(Limits(9.0, 2.5, 2.8), DEFAULT_WANDER, Habits(), 0.8, 0.1, 2.6, 0.2, 2.4, 100)

    monkeypatch.setattr(module, "find_setup", found)
    monkeypatch.setattr(module, "_own", lambda *_: (Habits(), None))
    job = Job(con, Month(2026, 3), 2, Settings(), SecretKey("test", b"k" * 32))
    series = {("NECK", "T"): [QuarterCount(f"2025-Q{k % 4 + 1}", 5, 20) for k in range(5)]}
    first = module.flag_setup(job, series)
    assert first == module.flag_setup(job, series)
    assert first is not None
    assert first.limits == Limits(9.0, 2.5, 2.8)
    assert len(asked) == 1, "found once for the rule in use"
