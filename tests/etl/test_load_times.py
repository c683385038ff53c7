"""Local times against the IANA zone data, and dates in the formats sites use."""

import datetime as dt
from zoneinfo import ZoneInfo

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from etl.dates import DateReader, reads_in_another_order
from etl.home import Home
from etl.instants import SLOT_US, slot_rule
from etl.reasons import number_of
from etl.store import open_store
from tests.support.load_files import PROFILE_HEAD, bouts, home_before, load, plain_profile, write_csv

ZONES = (
    "Europe/Zurich",
    "America/New_York",
    "Australia/Lord_Howe",
    "America/St_Johns",
    "Asia/Kolkata",
    "UTC",
)
TODAY = dt.date(2026, 11, 25)
_EPOCH = dt.datetime(1970, 1, 1, tzinfo=dt.UTC)


def _by_round_trip(local: dt.datetime, zone: ZoneInfo) -> tuple[str, int | None]:
    """Count the instants that show `local` on this zone's clock, independently of PEP 495 offsets."""
    naive_us = (local - dt.datetime(1970, 1, 1)) // dt.timedelta(microseconds=1)
    shown = []
    for minutes in range(-14 * 60, 14 * 60 + 1, 15):
        instant = _EPOCH + dt.timedelta(microseconds=naive_us) - dt.timedelta(minutes=minutes)
        if instant.astimezone(zone).replace(tzinfo=None) == local:
            shown.append(minutes * 60)
    return {0: "E_DSTGAP", 1: "", 2: "E_DSTFOLD"}[len(shown)], shown[0] if len(shown) == 1 else None


@settings(max_examples=150, deadline=None)
@given(st.sampled_from(ZONES), st.datetimes(dt.datetime(1990, 1, 1), dt.datetime(2037, 12, 31)))
def test_any_local_time_has_the_offset_its_clock_shows(name, moment):
    local = moment.replace(second=0, microsecond=0)
    slot = ((local - dt.datetime(1970, 1, 1)) // dt.timedelta(microseconds=1)) // SLOT_US
    offset, reason = slot_rule(slot, ZoneInfo(name))
    expected, seconds = _by_round_trip(local, ZoneInfo(name))
    assert reason == number_of(expected)
    if seconds is not None:
        assert offset == seconds


# Changes of clocks as published: EU directive 2000/84/EC; US Energy Policy Act of 2005. Lord Howe moves by
# half an hour.
@pytest.mark.parametrize(
    ("zone", "local", "code"),
    [
        ("Europe/Zurich", "2026-03-29 01:59", None),
        ("Europe/Zurich", "2026-03-29 02:00", "E_DSTGAP"),
        ("Europe/Zurich", "2026-03-29 02:59", "E_DSTGAP"),
        ("Europe/Zurich", "2026-03-29 03:00", None),
        ("Europe/Zurich", "2026-10-25 01:59", None),
        ("Europe/Zurich", "2026-10-25 02:00", "E_DSTFOLD"),
        ("Europe/Zurich", "2026-10-25 03:00", None),
        ("America/New_York", "2026-03-08 02:30", "E_DSTGAP"),
        ("America/New_York", "2026-11-01 01:30", "E_DSTFOLD"),
        ("Australia/Lord_Howe", "2026-04-05 01:45", "E_DSTFOLD"),
        ("Australia/Lord_Howe", "2026-10-04 02:15", "E_DSTGAP"),
        ("Australia/Lord_Howe", "2026-10-04 02:30", None),
        ("UTC", "2026-03-29 02:30", None),
    ],
)
def test_changes_of_clocks_where_they_were_announced(tmp_path, zone, local, code):
    stored, reasons = _one_start(tmp_path, zone, local)
    assert reasons == ([code] if code else [])
    if code is None:
        expected = dt.datetime.fromisoformat(local).replace(tzinfo=ZoneInfo(zone)).timestamp() * 1_000_000
        assert stored == [int(expected)]


def test_an_offset_makes_the_repeated_hour_unambiguous(tmp_path):
    stored, reasons = _one_start(tmp_path, "Europe/Zurich", "2026-10-25 02:30+01:00")
    assert (stored, reasons) == ([1_792_891_800_000_000], [])  # 2026-10-25T01:30:00Z


def _one_start(folder, zone, start, head="", end=None):
    """Load 60 clean bouts and one that starts at `start`; return its stored start and its reasons."""
    home_before("bouts", folder / "t", folder)
    last = end or (dt.datetime.fromisoformat(start[:16]) + dt.timedelta(hours=6)).strftime("%Y-%m-%d %H:%M")
    rows = [*bouts(39), bouts(1)[0] | {"person": "p039", "start": start, "end": last, "task": "MARK"}]
    text = plain_profile(PROFILE_HEAD.replace("Europe/Zurich", zone) + head, ["bouts"])
    record = load(folder, [write_csv(folder / "bouts.csv", rows)], text).files[0]
    assert record.outcome == "loaded", record.message
    with open_store(Home(folder / "home"), write=False) as con:
        stored = con.execute("select start_us from core.bouts where task = 'MARK'").fetchall()
    return [row[0] for row in stored], [one.reason for one in record.reasons]


@pytest.mark.parametrize(
    ("pattern", "text", "utc"),
    [
        ("%d.%m.%Y %H:%M", "04.05.2026 08:00", "2026-05-04T06:00:00"),
        ("%d.%m.%Y %H:%M", "4.5.2026 8:00", "2026-05-04T06:00:00"),
        ("%m/%d/%Y %I:%M %p", "05/04/2026 08:00 PM", "2026-05-04T18:00:00"),
        ("%d %b %Y %H:%M:%S", "04 May 2026 08:00:01", "2026-05-04T06:00:01"),
        ("%Y%m%d %H%M%S", "20260504 080000", "2026-05-04T06:00:00"),
        ("epoch-s", "1777874400", "2026-05-04T06:00:00"),
        ("epoch-ms", "1777874400250", "2026-05-04T06:00:00.250000"),
        ("%d.%m.%Y %H:%M", "2026-05-04T08:00:00Z", "2026-05-04T08:00:00"),
        ("iso", "2026-05-04T08:00:00.123456+02:00", "2026-05-04T06:00:00.123456"),
        ("iso", "2026-05-04 08:00:00-0530", "2026-05-04T13:30:00"),
    ],
)
def test_declared_formats_of_instants(tmp_path, pattern, text, utc):
    stored, reasons = _one_start(
        tmp_path, "Europe/Zurich", text, f'datetime_format = "{pattern}"\n', "2026-05-04T21:00:00Z"
    )
    expected = dt.datetime.fromisoformat(utc + "+00:00")
    assert reasons == []
    assert stored == [(expected - _EPOCH) // dt.timedelta(microseconds=1)]


@pytest.mark.parametrize(
    ("pattern", "text", "value", "reason"),
    [
        ("iso", "2026-05-04", dt.date(2026, 5, 4), ""),
        ("iso", "2026-05-04 00:00:00", dt.date(2026, 5, 4), ""),
        ("iso", "2026-5-4", None, "E_DATE"),
        ("iso", "20260504", None, "E_DATE"),
        ("%d.%m.%Y", "04.05.2026", dt.date(2026, 5, 4), ""),
        ("%d.%m.%y", "04.05.26", dt.date(2026, 5, 4), ""),
        ("%d.%m.%Y", "31.04.2026", None, "E_DATE"),
        ("%m/%d/%Y", "05/04/2026", dt.date(2026, 5, 4), ""),
        # Microsoft support article 214326: serial 1 is 1900-01-01, and 1900 is taken for a leap year.
        ("excel-1900", "46054", dt.date(2026, 2, 1), ""),
        ("excel-1904", "44592", dt.date(2026, 2, 1), ""),
        ("iso", "46054", None, "E_SERIAL"),
        ("iso", "2027-01-01", None, "E_FUTURE"),
        ("iso", "1899-12-31", None, "E_DATE"),
    ],
)
def test_declared_formats_of_dates(pattern, text, value, reason):
    found = DateReader(pattern, pattern, TODAY).date(text, may_be_future=False)
    assert found[:2] == (value, reason)


@pytest.mark.parametrize(
    ("pattern", "text", "value"),
    [
        ("iso", "2026-05", dt.date(2026, 5, 1)),
        ("iso", "2026-05-31", dt.date(2026, 5, 1)),
        ("%m/%Y", "05/2026", dt.date(2026, 5, 1)),
        ("date", "04.05.2026", dt.date(2026, 5, 1)),
        ("index", "-2", dt.date(2024, 1, 1)),
        ("index", "0", dt.date(2026, 1, 1)),
    ],
)
def test_declared_formats_of_months(pattern, text, value):
    reader = DateReader(pattern, "%d.%m.%Y", TODAY, origin="2026-01", step_months=12)
    assert reader.month(text, may_be_future=False) == (value, "", False)


@pytest.mark.parametrize(
    ("pattern", "text", "contradicts"),
    [
        ("iso", "31/12/2026", True), ("iso", "01/02/2026", True), ("iso", "2026-02-30", False),
        ("iso", "2026-05-04 25:00", False), ("%d/%m/%Y", "12/31/2026", True),
        ("%m/%d/%Y", "31/12/2026", True), ("%d.%m.%Y", "31.04.2026", False), ("%d.%m.%Y", "soon", False),
    ],
)  # fmt: skip
def test_a_date_in_another_order_puts_the_whole_file_in_doubt(pattern, text, contradicts):
    assert reads_in_another_order(text, pattern) is contradicts
