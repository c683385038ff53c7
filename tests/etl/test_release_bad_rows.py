"""Impossible rows of every kind, from the file to what the Data room shows of them."""

import datetime as dt

from etl.home import Home
from etl.release import make_release
from etl.release_door import pinned
from tests.support.load_files import bouts, everything, load, write_all

NOW = dt.datetime(2026, 11, 25, 12, 0, tzinfo=dt.UTC)


def bout(start: str, end: str, **more: str) -> dict[str, str]:
    return bouts(1)[0] | {"start": start, "end": end} | more


def test_each_is_set_aside_or_clipped_counted_and_told(tmp_path):
    tables = everything()
    tables["bouts"] += [
        bout("2026-05-11 09:00", "2026-05-11 09:00:00"),
        bout("2026-05-11 10:00", "2026-05-11 09:00:00"),
        # Thirty hours of work on one day, in two bouts of fifteen that each could be.
        bout("2026-05-12 00:30", "2026-05-12 15:30:00"),
        bout("2026-05-12 08:30", "2026-05-12 23:30:00"),
        bout("2026-05-13 09:00", "2026-05-13 10:00:00"),
        bout("2026-05-13 09:20", "2026-05-13 09:40:00"),
        bout("2026-05-14 09:00", "2026-05-14 10:00:00"),
        bout("2026-05-14 09:59", "2026-05-14 10:30:00"),
        bout("2026-05-15 09:00", "2026-05-15 09:30:00", instrument="NO-SUCH"),
        bout("2026-03-29 02:30", "2026-03-29 03:30:00"),
        bout("2025-10-26 02:30", "2025-10-26 04:00:00"),
        bout("2026-05-18 09:00", "2026-05-18 09:10:00", strokes="5000"),
    ]
    tables["people"].append(tables["people"][3] | {"team": "T0", "valid_from": "2026-01-01"})
    # 1100 N is a force in another unit, not a thumb's.
    tables["instruments"].append(tables["instruments"][0] | {"instrument": "P9", "plunger_force": "1100"})
    summary = load(tmp_path, write_all(tmp_path / "in", tables))
    assert not summary.refused, str(summary)
    home = Home(tmp_path / "home")
    make_release(home, "2026-05", now=NOW)
    with pinned(home) as release:
        aside = release.table("set_aside_reason")
        audit = release.table("audit_report")["sentence"].str.cat(sep=" ")
        quality = release.table("data_quality").set_index("contract")
    found = {(row.contract, row.reason): row.rows for row in aside.itertuples()}
    expected = {
        ("bouts", "E_DURATION"): 2, ("bouts", "E_DAY"): 2, ("bouts", "E_CODE"): 1, ("bouts", "E_DSTGAP"): 1,
        ("bouts", "E_DSTFOLD"): 1, ("people", "E_TWOTEAMS"): 1, ("instruments", "E_RANGE"): 1,
    }  # fmt: skip
    assert {key: found.get(key) for key in expected} == expected
    assert (aside["remedy"].str.len() > 5).all()
    assert (quality["rows_in"] == quality["rows_accepted"] + quality["rows_set_aside"]).all()
    for words in (
        "bouts clipped by a short overlap",
        "bouts left out because of overlap",
        "bouts too short for",
    ):
        assert words in audit
