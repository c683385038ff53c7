"""What comes after its month was published counts where a number is still open, else it is late."""

import datetime as dt
import shutil

import pytest

from etl.home import Home
from etl.late import Published
from etl.release import make_releases
from etl.release_calendar import Month
from etl.release_door import pinned
from etl.store import content_hash, open_store
from etl.takeback import take_back
from tests.support.load_files import bouts, load, people, registers, write_all, write_csv

RELEASED = dt.datetime(2026, 5, 15, 8, 0, tzinfo=dt.UTC)
EARLY = people()[:38]


def _answers(month, persons, score="3", region="NECK"):
    return [
        {"person": person, "month": month, "region": region, "side": "NONE", "score": score, "hindered": "",
         "scale": "NRS_0_10"}
        for person in persons
    ]  # fmt: skip


MONTHS = ("2026-01", "2026-02", "2026-03")
DELIVERED = [row for month in MONTHS for row in _answers(month, EARLY)]


def _released(folder, last):
    tables = {**registers(), "surveys": DELIVERED}
    assert not load(folder, write_all(folder / "in", tables)).refused
    make_releases(Home(folder / "home"), "2026-01", last, now=RELEASED)
    return folder


@pytest.fixture(scope="module")
def templates(tmp_path_factory):
    """Homes with two months of a quarter published, and with the whole quarter; not to be changed."""
    return {last: _released(tmp_path_factory.mktemp("late"), last) for last in MONTHS[1:]}


@pytest.fixture
def home_with(templates, tmp_path):
    """Function that copies a home with the months up to a last one published."""

    def copy(last):
        shutil.copytree(templates[last] / "home", tmp_path / "home", symlinks=True)
        return tmp_path

    return copy


def _load(folder, name, rows):
    return load(folder, [write_csv(folder / f"{name}.csv", rows)]).files[0]


def _counts(record):
    return (
        record.rows_accepted,
        [(one.reason, one.column, one.rows) for one in record.reasons],
        [(one.reason, one.rows) for one in record.notes],
    )


LATE = people()[38:]


def test_a_late_answer_counts_while_its_quarter_is_open(home_with):
    folder = home_with("2026-02")
    record = _load(folder, "surveys_late", _answers("2026-01", LATE) + _answers("2026-03", LATE))
    assert _counts(record) == (4, [], [("W_LATE", 2)])


def test_an_answer_is_late_once_its_quarter_is_published(home_with):
    folder = home_with("2026-03")
    rows = [row for month in MONTHS for row in _answers(month, LATE)] + _answers("2026-04", LATE)
    assert _counts(_load(folder, "surveys_late", rows)) == (2, [("E_PERIOD", "month", 6)], [])


def test_a_question_asked_and_not_answered_is_not_late(home_with):
    record = _load(home_with("2026-03"), "surveys_late", _answers("2026-01", LATE, score=""))
    assert _counts(record) == (2, [], [("W_LATE", 2)])


def test_another_region_of_a_counted_person_is_late(home_with):
    record = _load(home_with("2026-03"), "surveys_late", _answers("2026-01", EARLY[:5], region="KNEE"))
    assert _counts(record) == (0, [("E_PERIOD", "month", 5)], [])


def test_what_was_counted_can_be_taken_back_and_loaded_again_or_corrected(home_with):
    folder = home_with("2026-03")
    with open_store(Home(folder / "home"), write=False) as con:
        before = content_hash(con)
    take_back(Home(folder / "home"), "surveys.csv")
    assert _counts(_load(folder, "surveys", DELIVERED)) == (114, [], [("W_LATE", 114)])
    with open_store(Home(folder / "home"), write=False) as con:
        assert content_hash(con) == before
    take_back(Home(folder / "home"), "surveys.csv")
    corrected = [*DELIVERED[1:], DELIVERED[0] | {"score": "9"}, *_answers("2026-02", LATE)]
    assert _counts(_load(folder, "surveys", corrected)) == (
        114, [("E_PERIOD", "month", 2)], [("W_LATE", 114)],
    )  # fmt: skip


def test_published_numbers_stay_and_the_next_edition_says_what_was_late(home_with):
    folder = home_with("2026-03")
    home = Home(folder / "home")
    with pinned(home) as release:
        before = release.table("health", period="2026-01")
    work = [row | {"start": row["start"].replace("-05-", "-03-"), "end": row["end"].replace("-05-", "-03-")}
            for row in bouts(40)]  # fmt: skip
    _load(folder, "surveys_late", _answers("2026-01", LATE))
    _load(folder, "surveys_april", _answers("2026-04", people()))
    assert _counts(_load(folder, "bouts", [*work, *bouts(40)]))[2] == [("W_LATE", 40)]
    make_releases(home, "2026-04", "2026-04", now=RELEASED)
    with pinned(home) as release:
        assert release.table("health", period="2026-01").equals(before)
        said = release.table("set_aside_reason", edition=4)
    assert set(zip(said["contract"], said["reason"], said["rows"], strict=True)) == {
        ("surveys", "E_PERIOD", 2), ("bouts", "W_LATE", 40),
    }  # fmt: skip
    assert "late: the month is published; frozen" in set(said["meaning"])


def test_a_month_begins_by_the_local_clock(home_with):
    # 31 March 23:30 and 1 April 00:30 in Zurich are both 31 March in UTC.
    starts = ("2026-03-31T23:30:00+02:00", "2026-04-01T00:30:00+02:00")
    work = [
        row | {"start": start, "end": "2026-04-01T02:00:00+02:00"}
        for row, start in zip(bouts(2), starts, strict=True)
    ]
    assert _counts(_load(home_with("2026-03"), "bouts", work))[2] == [("W_LATE", 1)]


def test_a_dry_run_knows_what_is_published(home_with):
    folder = home_with("2026-03")
    path = write_csv(folder / "surveys_late.csv", _answers("2026-01", LATE))
    record = load(folder, [path], dry_run=True).files[0]
    assert (record.outcome, record.rows_set_aside) == ("would load", 2)


def test_a_new_store_takes_the_old_files_whatever_was_published(home_with):
    folder = home_with("2026-03")
    shutil.rmtree(folder / "home" / "person")
    summary = load(folder, write_all(folder / "in", {**registers(), "surveys": DELIVERED}))
    assert (summary.rows_set_aside, summary.files[-1].rows_accepted) == (0, 114)


def test_an_interrupted_release_freezes_nothing(home_with):
    folder = home_with("2026-02")
    with open_store(Home(folder / "home"), write=True) as con:
        con.execute(
            "insert into release_private.answered select 3, '2026-03', region, set_id"
            " from release_private.answered where period = '2026-02'"
        )
    record = _load(folder, "surveys_late", _answers("2026-03", LATE))
    assert _counts(record) == (2, [], [])


@pytest.mark.parametrize(
    ("months", "month", "frozen"),
    [
        ((), Month(2026, 1), False),
        ((Month(2026, 1), Month(2026, 2)), Month(2026, 1), False),
        ((Month(2026, 1), Month(2026, 3)), Month(2026, 1), True),
        ((Month(2026, 1), Month(2026, 3)), Month(2026, 2), True),
        ((Month(2026, 1), Month(2026, 4)), Month(2026, 1), True),
        ((Month(2026, 1), Month(2026, 4)), Month(2026, 2), False),
        ((Month(2026, 4),), Month(2026, 1), False),
        ((Month(2025, 12),), Month(2025, 12), True),
        ((Month(2025, 12),), Month(2026, 1), False),
    ],
)
def test_a_month_is_frozen_when_no_number_is_left_for_it(months, month, frozen):
    assert Published(months).is_frozen(month) is frozen
