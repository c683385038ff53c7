"""The SQL facts against a slow Python reckoning, and what must not change them."""

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from etl.facts import build_facts
from etl.settings import ExposureSettings, Settings
from models import force
from tests.support.facts_reference import reckon
from tests.support.person_rows import Bout, Instrument, Stroke, core_store, empty, facts, instant, put

SECOND = 1_000_000
# Nights on which clocks change, an ordinary night, and zones where midnight itself is skipped or comes twice.
NIGHTS = (
    ("Europe/Zurich", "2026-03-28 22:00:00"),
    ("Europe/Zurich", "2026-10-24 23:30:00"),
    ("America/New_York", "2026-10-31 23:00:00"),
    ("Asia/Kolkata", "2026-06-30 23:40:00"),
    ("America/Havana", "2026-10-31 23:30:00"),
    ("Asia/Beirut", "2026-03-28 23:30:00"),
)
TABLES = ("bout_piece", "overlap", "spell", "person_day", "person_week")

# Edges of the rules (rest, guide, clip, bucket) and one microsecond to either side of them.
edges = st.builds(
    lambda seconds, jitter: seconds * SECOND + jitter,
    st.sampled_from([0, 30, 60, 61, 120, 179, 180, 181, 300, 301, 900, 1200, 3600]),
    st.sampled_from([-1, 0, 0, 0, 1]),
)
instruments = st.lists(
    st.builds(
        Instrument,
        instrument=st.sampled_from(["P1", "P2", "P3"]),
        plunger_mn=st.none() | st.integers(0, 60_000),
        blow_out_mn=st.none() | st.integers(0, 60_000),
        ejection_mn=st.none() | st.integers(0, 60_000),
        press_ms=st.none() | st.integers(0, 2_000),
        eject_ms=st.none() | st.integers(0, 2_000),
    ),
    max_size=3,
    unique_by=lambda entry: entry.instrument,
)
names = st.sampled_from(["P1", "P2", "P3", "P4"])


@st.composite
def logs(draw):
    """Bouts and events of up to two persons, each walking on from a night by steps forth and back."""
    rows = []
    for person in ("a", "b")[: draw(st.integers(1, 2))]:
        tz, local = draw(st.sampled_from(NIGHTS))
        now = instant(local, tz)
        for _ in range(draw(st.integers(0, 8))):
            now += draw(edges) * draw(st.sampled_from([1, 1, 1, -1]))
            length = max(draw(edges), 1)
            tips = draw(st.none() | st.integers(0, 50))
            rows.append(
                Bout(person, now, now + length, tz, "T", draw(names), draw(st.integers(0, 999)), tips)
            )
            now += length
        for _ in range(draw(st.integers(0, 10))):
            now += draw(edges)
            action = draw(st.sampled_from(["DISPENSE", "EJECT", "ASPIRATE"]))
            rows.append(Stroke(person, now, tz, draw(names), action))
    return rows


rules = st.sampled_from(
    [
        Settings(),
        Settings(exposure=ExposureSettings(rest_seconds=60, overlap_clip_seconds=30)),
        Settings(exposure=ExposureSettings(rest_seconds=300, long_rest_seconds=900, spell_guide_minutes=3)),
    ]
)
quick = settings(deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])


@pytest.fixture(scope="module")
def con():
    con = core_store()
    yield con
    con.close()


def build(con, rows, rule):
    empty(con)
    put(con, rows)
    build_facts(con, rule)


def counts(piece):
    return piece.strokes, piece.tips, piece.spell, piece.beyond_us, piece.force_time, piece.peak


@given(logs(), instruments, rules)
@settings(quick, max_examples=40)
def test_sql_equals_the_slow_reckoning(con, log, catalogue, rule):
    build(con, [*log, *catalogue], rule)
    bouts = [row for row in log if isinstance(row, Bout)]
    events = [row for row in log if isinstance(row, Stroke)]
    expected = reckon(bouts, events, catalogue, rule)
    assert facts(con, "spell") == sorted(expected.spells)
    assert sorted(facts(con, "overlap", "person, start_us, end_us, reason, clipped_us")) == sorted(
        expected.overlaps
    )
    pieces = [
        (p.bout.person, p.local_date, p.bout.instrument, p.origin, p.start_us, p.end_us, *counts(p))
        for p in expected.pieces
    ]
    columns = (
        "person, local_date, instrument, origin, start_us, end_us, strokes, tips, spell, beyond_guide_us, "
        "force_time_mn_ms, peak_force_mn"
    )
    assert sorted(map(repr, facts(con, "bout_piece", columns))) == sorted(map(repr, pieces))
    assert facts(con, "person_day", "* exclude (team)") == sorted(expected.person_days)
    # Nothing is lost and nothing counted twice.
    kept = sum(row[4] for row in expected.spells)
    assert sum(p.end_us - p.start_us for p in expected.pieces) == kept
    left_out = sum(row[0] for row in facts(con, "overlap", "strokes") if row[0])
    clipped = sum(row[1] for row in facts(con, "overlap", "reason, strokes") if row[0] == "W_CLIP")
    recorded = sum(b.strokes for b in bouts) + sum(e.action == "DISPENSE" for e in events)
    assert sum(p.strokes for p in expected.pieces) == recorded - (left_out - clipped)


@given(logs(), st.randoms(use_true_random=False))
@settings(quick, max_examples=10)
def test_order_of_rows_and_files_does_not_matter(con, log, random):
    build(con, log, Settings())
    before = [facts(con, table) for table in TABLES]
    random.shuffle(log)
    build(con, log, Settings())
    assert [facts(con, table) for table in TABLES] == before


@given(logs())
@settings(quick, max_examples=10)
def test_another_time_of_day_leaves_the_spells(con, log):
    # 14 h later days are cut elsewhere; cutting days before finding spells would change the totals.
    columns = "person, spell, end_us - start_us, working_us"
    build(con, log, Settings())
    before = facts(con, "spell", columns)
    build(con, [_later(row, 14 * 3600 * SECOND) for row in log], Settings())
    assert facts(con, "spell", columns) == before


def _later(row, shift):
    if isinstance(row, Stroke):
        return replace(row, at_us=row.at_us + shift)
    return replace(row, start_us=row.start_us + shift, end_us=row.end_us + shift)


@pytest.fixture(scope="module")
def busy_log():
    """Forty persons with overlaps, several zones and both origins, enough for two threads to share."""
    return """
        insert into core.bouts
        select
            1, 1, 'p' || p, s, s + (hash(k, d, p) % 2400)::bigint * 1000000 + 1,
            ['Europe/Zurich', 'America/New_York'][1 + p % 2], 'T' || k, 'P' || (k % 4),
            (hash(p, k) % 500)::integer, (hash(d, k) % 50)::integer, 1, 0, null, null
        from (
            select p, d, k, 1790000000000000 + d * 86400000000 + k * 1500000000
                + (hash(p, d, k) % 900)::bigint * 1000000 as s
            from range(40) a(p), range(60) b(d), range(40) c(k)
        );
        insert into core.strokes
        select 2, 1, 'q' || p, 1790000000000000 + (hash(p, k) % 200000)::bigint * 1000000, 'Europe/Zurich',
            'P' || (hash(k) % 3), ['DISPENSE', 'EJECT'][1 + k % 2]
        from range(10) a(p), range(5000) b(k)
    """


def test_number_of_threads_does_not_matter(busy_log):
    results = []
    for threads in (1, 2):
        con = core_store(threads)
        con.execute(busy_log)
        put(con, [Instrument("P1", 10_001, 20_003, 30_011), Instrument("P2", 7, 11, 13)])
        build_facts(con, Settings())
        results.append([facts(con, table) for table in TABLES])
        con.close()
    assert results[0] == results[1]
    assert len(results[0][0]) > 60_000
    assert len(results[0][1]) > 1_000


def test_force_of_pieces_equals_the_formulas(con):
    rng = np.random.default_rng(20261)
    rows: list[object] = []
    for number in range(300):
        forces = [None if rng.random() < 0.15 else int(rng.integers(0, 60_000)) for _ in range(5)]
        tips = None if rng.random() < 0.1 else int(rng.integers(0, 3)) * int(rng.integers(0, 90))
        start = instant("2026-03-02 08:00:00") + number * 700 * SECOND
        entry = Instrument(f"P{number}", *forces)
        strokes = int(rng.integers(0, 3)) * int(rng.integers(0, 900))
        rows += [entry, Bout(f"p{number}", start, start + 1, "UTC", "T", entry.instrument, strokes, tips)]
    build(con, rows, Settings())
    bouts = [row for row in rows if isinstance(row, Bout)]
    entries = [row for row in rows if isinstance(row, Instrument)]
    budgets = [
        force.force_budget(e.plunger_mn, e.blow_out_mn, e.ejection_mn, e.press_ms, e.eject_ms)
        for e in entries
    ]
    totals = force.force_time(
        force.masked_integers([b.strokes for b in bouts]),
        force.masked_integers([b.tips for b in bouts]),
        force.masked_integers([b.stroke_mn_ms for b in budgets]),
        force.masked_integers([b.tip_mn_ms for b in budgets]),
    ).tolist()
    found = facts(con, "bout_piece", "person, force_time_mn_ms, peak_force_mn")
    expected = [
        (b.person, total, budget.peak_mn) for b, total, budget in zip(bouts, totals, budgets, strict=True)
    ]
    assert sorted(map(repr, found)) == sorted(map(repr, expected))
    assert 50 < sum(total is None for total in totals) < 250
