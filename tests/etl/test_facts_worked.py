"""Facts of literal rows against results worked by hand."""

from datetime import date

import pytest

from etl.facts import FactsSummary, build_facts
from etl.settings import ExposureSettings, Settings
from tests.support.person_rows import (
    Answer,
    Bout,
    Instrument,
    Stroke,
    TeamSpell,
    bout,
    core_store,
    empty,
    facts,
    instant,
    put,
    put_teams,
)

MINUTE = 60_000_000
HOUR = 60 * MINUTE
DAY_COLUMNS = "local_date, pipetting_us, strokes, longest_spell_us, beyond_guide_us, rests_micro, rests_long"


@pytest.fixture
def con():
    con = core_store()
    yield con
    con.close()


def days(con, rows, settings=None, columns=DAY_COLUMNS):
    put(con, rows)
    build_facts(con, settings or Settings())
    return facts(con, "person_day", columns)


def test_one_bout_past_the_guide(con):
    rows = [bout("a", "2026-03-02 09:00:00", "2026-03-02 09:35:00", strokes=400)]
    # 35 min without a break: 15 of them later than 20 min into the spell.
    assert days(con, rows) == [(date(2026, 3, 2), 35 * MINUTE, 400, 35 * MINUTE, 15 * MINUTE, 0, 0)]


@pytest.mark.parametrize(
    ("next_start", "expected"),
    [
        ("09:13:00", (12 * MINUTE, 1, 0)),
        ("09:12:59", (24 * MINUTE + 59_000_000, 0, 0)),
        ("09:15:00", (12 * MINUTE, 1, 0)),
        ("09:15:01", (12 * MINUTE, 0, 1)),
    ],
)
def test_what_counts_as_a_rest(con, next_start, expected):
    # 3:00 is a rest and 2:59 is not; up to 5:00 it is a micro rest, longer it is a long one.
    second = instant(f"2026-03-02 {next_start}")
    rows = [
        bout("a", "2026-03-02 09:00:00", "2026-03-02 09:10:00"),
        Bout("a", second, second + 12 * MINUTE),
    ]
    assert days(con, rows, columns="longest_spell_us, rests_micro, rests_long") == [expected]


def test_short_gaps_are_no_pipetting_but_age_the_spell(con):
    rows = [
        bout("a", "2026-03-02 09:00:00", "2026-03-02 09:10:00"),
        bout("a", "2026-03-02 09:12:00", "2026-03-02 09:22:00"),
    ]
    # The guide ends at 09:20: two minutes lie beyond. Twenty minutes of work in a spell of 22.
    assert days(con, rows) == [(date(2026, 3, 2), 20 * MINUTE, 0, 22 * MINUTE, 2 * MINUTE, 0, 0)]
    assert facts(con, "spell", "spell, end_us - start_us, working_us") == [(1, 22 * MINUTE, 20 * MINUTE)]


def test_night_shift_is_one_spell_cut_at_midnight(con):
    rows = [
        Instrument("P1", 10_000, 15_000, 40_000, 300, 200),
        bout("a", "2026-03-02 23:50:00", "2026-03-03 00:20:00", strokes=100, tips=10),
        bout("a", "2026-03-03 00:24:00", "2026-03-03 00:30:00", strokes=7, tips=0),
    ]
    # One spell of 30 min on both days; beyond the guide from 00:10. Strokes by time: floor(100 x 10/30) = 33.
    assert days(con, rows) == [
        (date(2026, 3, 2), 10 * MINUTE, 33, 30 * MINUTE, 0, 0, 0),
        (date(2026, 3, 3), 26 * MINUTE, 74, 30 * MINUTE, 10 * MINUTE, 1, 0),
    ]
    # 100 x 25 N x 300 ms + 10 x 40 N x 200 ms = 830 N s; a third, floored, falls before midnight.
    assert facts(con, "bout_piece", "force_time_mn_ms, peak_force_mn") == [
        (7 * 25_000 * 300, 40_000),
        (830_000_000 // 3, 40_000),
        (830_000_000 - 830_000_000 // 3, 40_000),
    ]


def test_a_rest_over_midnight_belongs_to_the_day_it_follows(con):
    rows = [
        bout("a", "2026-03-02 23:40:00", "2026-03-02 23:58:00"),
        bout("a", "2026-03-03 00:02:00", "2026-03-03 00:10:00"),
        bout("a", "2026-03-03 07:00:00", "2026-03-03 07:10:00"),
        bout("a", "2026-03-04 07:00:00", "2026-03-04 07:10:00"),
    ]
    # Four minutes over midnight are a micro rest; the night at home is no rest, for no work follows that day.
    assert days(con, rows, columns="local_date, rests_micro, rests_long") == [
        (date(2026, 3, 2), 1, 0),
        (date(2026, 3, 3), 0, 1),
        (date(2026, 3, 4), 0, 0),
    ]


@pytest.mark.parametrize(
    ("start", "hours_before", "hours_after"),
    # EU clocks: 02:00 -> 03:00 on 29 March 2026, 03:00 -> 02:00 on 25 October 2026 (Directive 2000/84/EC).
    [("2026-03-28 22:00:00", 2, 3), ("2026-10-24 22:00:00", 2, 5), ("2026-06-13 22:00:00", 2, 4)],
)
def test_clock_change_nights(con, start, hours_before, hours_after):
    end = f"{start[:8]}{int(start[8:10]) + 1} 04:00:00"
    rows = [bout("a", start, end)]
    assert days(con, rows, columns="pipetting_us") == [(hours_before * HOUR,), (hours_after * HOUR,)]


@pytest.mark.parametrize(
    ("tz", "start", "minutes_before", "minutes_after"),
    [
        # Cuba goes back from 01:00 to 00:00 on 1 November 2026, so 00:00 comes twice (IANA tz database).
        ("America/Havana", "2026-10-31 23:50:00", 10, 110),
        # Lebanon goes from 00:00 to 01:00 on 29 March 2026, so 00:00 never comes (IANA tz database).
        ("Asia/Beirut", "2026-03-28 23:50:00", 10, 110),
    ],
)
def test_midnight_that_comes_twice_or_never(con, tz, start, minutes_before, minutes_after):
    begin = instant(start, tz)
    rows = [Bout("a", begin, begin + 2 * HOUR, tz)]
    expected = [(minutes_before * MINUTE,), (minutes_after * MINUTE,)]
    assert days(con, rows, columns="pipetting_us") == expected


def test_the_day_is_that_of_the_bout_s_own_zone(con):
    at = instant("2026-03-02 23:30:00", "UTC")
    rows = [Bout("a", at, at + MINUTE, tz) for tz in ("Asia/Kolkata",)]
    rows += [Bout("b", at, at + MINUTE, "America/New_York")]
    assert days(con, rows, columns="person, local_date") == [("a", date(2026, 3, 3)), ("b", date(2026, 3, 2))]


def test_overlap_is_clipped_or_left_out_and_never_counted_twice(con):
    rows = [
        bout("a", "2026-03-02 09:00:00", "2026-03-02 10:00:00", strokes=1),
        bout("a", "2026-03-02 09:59:00", "2026-03-02 10:10:00", strokes=2),  # 60 s: clipped
        bout("a", "2026-03-02 10:08:59", "2026-03-02 10:40:00", strokes=4),  # 61 s: left out
        bout("a", "2026-03-02 10:10:00", "2026-03-02 10:20:00", strokes=8),  # touches: kept whole
        bout("a", "2026-03-02 10:19:30", "2026-03-02 10:20:00", strokes=16),  # nothing would be left
        bout("b", "2026-03-02 09:00:00", "2026-03-02 10:00:00", strokes=32),
    ]
    put(con, rows)
    summary = build_facts(con, Settings())
    assert (summary.clipped, summary.left_out) == (1, 2)
    assert facts(con, "person_day", "person, pipetting_us, strokes") == [
        ("a", 80 * MINUTE, 1 + 2 + 8),
        ("b", 60 * MINUTE, 32),
    ]
    assert facts(con, "overlap", "reason, clipped_us, strokes") == [
        ("E_OVERLAP", 30_000_000, 16),
        ("E_OVERLAP", 61_000_000, 4),
        ("W_CLIP", 60_000_000, 2),
    ]


@pytest.mark.parametrize(
    "other",
    [
        {"task": "DILUTE"},
        {"instrument": "P0"},
        {"strokes": 3},
        {"tips": None},
        {"station": "S1"},
        {"tz": "Pacific/Honolulu"},
    ],
)
def test_which_of_two_rival_bouts_counts_does_not_depend_on_their_order(con, other):
    nine = instant("2026-03-02 09:00:00")
    rivals = [Bout("a", nine, nine + MINUTE), Bout("a", nine, nine + MINUTE, **other)]
    results = []
    for rows in (rivals, rivals[::-1]):
        empty(con)
        days(con, rows)
        results.append((facts(con, "bout_piece"), facts(con, "overlap")))
    assert results[0] == results[1]
    assert len(results[0][0]) == 1


def test_unknown_forces_stay_unknown(con):
    rows = [
        Instrument("P1", 10_000, 15_000, 40_000),
        Instrument("P2", 10_000, None, 40_000),
        Instrument("P3", 10_000, 15_000, 40_000),
        Instrument("P3", 10_000, 16_000, 40_000),
    ]
    for day, name in enumerate(("P1", "P2", "P3", "NEVER_SEEN"), start=2):
        rows.append(
            bout("a", f"2026-03-0{day} 09:00:00", f"2026-03-0{day} 09:10:00", instrument=name, strokes=1)
        )
    rows.append(bout("a", "2026-03-02 11:00:00", "2026-03-02 11:05:00", instrument="P2", strokes=1))
    columns = "local_date, force_time_mn_ms, force_known_us, peak_force_mn"
    unknown = [(date(2026, 3, day), None, 0, None) for day in (3, 4, 5)]
    assert days(con, rows, columns=columns) == [(date(2026, 3, 2), None, 10 * MINUTE, None), *unknown]
    assert facts(con, "person_week", "iso_week, days, force_known_us, peak_force_mn") == [
        ("2026-W10", 4, 10 * MINUTE, None)
    ]


def test_stroke_events_become_bouts(con):
    second = 1_000_000
    nine = instant("2026-03-02 09:00:00")
    rows = [Stroke("a", nine + offset * second) for offset in (0, 100, 279, 458)]  # gaps under 3 min
    rows += [Stroke("a", nine + 638 * second, action="EJECT")]  # 180 s after the last: a rest
    assert days(con, rows, columns="pipetting_us, strokes, longest_spell_us, rests_micro") == [
        (458 * second, 4, 458 * second, 1)
    ]
    assert set(facts(con, "bout_piece", "origin, task")) == {("strokes", "UNKNOWN")}


def test_instruments_of_one_bucket_share_its_time(con):
    nine = instant("2026-03-02 09:00:00")
    rows = [
        Stroke("a", nine + offset * 1_000_000, instrument=name)
        for offset, name in ((0, "P1"), (30, "P2"), (60, "P1"), (120, "P1"))
    ]
    put(con, rows)
    build_facts(con, Settings())
    assert facts(con, "bout_piece", "instrument, end_us - start_us, strokes") == [
        ("P1", 90_000_000, 3),
        ("P2", 30_000_000, 1),
    ]


def test_a_shorter_rest_rule_narrows_the_bucket(con):
    nine = instant("2026-03-02 09:00:00")
    rows = [Stroke("a", nine + offset * 1_000_000) for offset in (0, 59, 119, 178)]
    settings = Settings(exposure=ExposureSettings(rest_seconds=60))
    assert days(con, rows, settings, "pipetting_us, rests_micro") == [((59 + 59) * 1_000_000, 1)]


def test_teams_follow_the_person(con):
    put_teams(con, {"T1": "C1", "T2": "C1"})
    rows = [
        TeamSpell("a", "T1", date(2026, 1, 1), date(2026, 3, 3)),
        TeamSpell("a", "T2", date(2026, 3, 4)),
        TeamSpell("b", "T1", date(2026, 4, 2)),
    ]
    rows += [bout("a", f"2026-03-0{d} 09:00:00", f"2026-03-0{d} 09:10:00") for d in (2, 3, 4)]
    rows += [bout("b", "2026-04-01 09:00:00", "2026-04-01 09:10:00")]
    assert days(con, rows, columns="person, team") == [("a", "T1"), ("a", "T1"), ("a", "T2"), ("b", None)]
    assert facts(con, "person_week", "person, team, days") == [("a", "T1", 3), ("b", None, 1)]
    assert facts(con, "roster", "person, month, team, cluster, days_on_team, whole_month") == [
        ("a", date(2026, 3, 1), "T1", "C1", 3, False),
        ("a", date(2026, 3, 1), "T2", "C1", 28, False),
        ("a", date(2026, 4, 1), "T2", "C1", 30, True),
        ("b", date(2026, 4, 1), "T1", "C1", 29, False),
    ]


def test_symptoms_take_the_worse_side_and_only_answers(con):
    march = date(2026, 3, 1)
    rows = [
        TeamSpell("a", "T1", date(2026, 1, 1)),
        Answer("a", march, "WRIST_HAND", 3, "LEFT", hindered=False),
        Answer("a", march, "WRIST_HAND", 4, "RIGHT", hindered=True),
        Answer("a", march, "NECK", 0),
        Answer("a", march, "KNEE", None, "LEFT"),
        Answer("a", march, "ELBOW", 9, "LEFT", scale="PERCENT"),
        Answer("b", march, "NECK", 3, hindered=True),
    ]
    put(con, rows)
    build_facts(con, Settings())
    assert facts(con, "symptom") == [
        ("a", march, "NECK", "T1", 0, False, None, None),
        ("a", march, "WRIST_HAND", "T1", 4, True, True, None),
        ("b", march, "NECK", None, 3, False, True, None),
    ]


def test_an_empty_store_gives_empty_facts(con):
    assert build_facts(con, Settings()) == FactsSummary(0, 0, 0, 0, 0, 0, 0, 0)


def test_a_failing_layer_leaves_the_facts_as_they_were(con):
    put(con, [bout("a", "2026-03-02 09:00:00", "2026-03-02 09:35:00")])
    build_facts(con, Settings())
    before = facts(con, "bout_piece")
    con.execute("delete from core.bouts")

    def interrupt(layer, number, layers):
        if layer == "160_person_week":
            raise KeyboardInterrupt

    with pytest.raises(KeyboardInterrupt):
        build_facts(con, Settings(), interrupt)
    assert facts(con, "bout_piece") == before
    assert build_facts(con, Settings()).bout_pieces == 0
