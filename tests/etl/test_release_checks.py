"""The last checks before publishing, each on either side of its edge."""

from dataclasses import replace

import duckdb
import pytest

from etl.errors import ReleaseRefused
from etl.release_checks import CheckRow, check_cells, check_exposure, check_flags, check_identifiers
from etl.release_flags import ALL_REGIONS
from etl.release_ledger import MONTH_KIND, QUARTER_KIND, HealthCell
from etl.settings import PrivacySettings

PRIVACY = PrivacySettings()
PARENTS = {
    ("organisation", "ORG"): None, ("cluster", "C0"): "ORG", ("cluster", "C1"): "ORG",
    ("team", "T0"): "C0", ("team", "T1"): "C0", ("team", "T2"): "C1",
}  # fmt: skip
REMEDY = "This is an error of the program: nothing was published; please report it with this line."


def month(level: str, unit: str, n: int, published: int | None = 5, region: str = "NECK") -> HealthCell:
    tokens = tuple(f"{unit}{k}" for k in range(n))
    return HealthCell(MONTH_KIND, level, unit, "2026-09", region, tokens, 5, published)


def team(unit: str, n: int, published: int | None = 5, region: str = "NECK") -> HealthCell:
    return replace(month("team", unit, n, published, region), kind=QUARTER_KIND, period="2026-Q3")


def refused(cells: list[HealthCell]) -> str:
    with pytest.raises(ReleaseRefused) as error:
        check_cells(cells, PARENTS, PRIVACY)
    assert error.value.remedy == REMEDY
    return f"{error.value.what} / {error.value.where}"


def test_what_may_be_published_passes_and_it_is_said() -> None:
    cells = [month("organisation", "ORG", 40, 20), month("cluster", "C0", 20, 20), team("T0", 10, 0)]
    assert check_cells(cells, PARENTS, PRIVACY) == [
        CheckRow(
            "floors",
            True,
            "All 3 discomfort numbers rest on enough people and are rounded.",
            "at least 10 people",
        ),
        CheckRow(
            "hidden remainder", True, "Below every shown number the hidden rest is nobody or enough people."
        ),
    ]


def test_an_edition_that_shows_nothing_names_no_least_number() -> None:
    for cells in ([], [month("cluster", "C0", 3, None)]):
        floors = check_cells(cells, PARENTS, PRIVACY)[0]
        assert floors.row() == (
            "floors", True, "All 0 discomfort numbers rest on enough people and are rounded.", None,
        )  # fmt: skip


@pytest.mark.parametrize(
    ("cell", "words"),
    [
        (month("cluster", "C0", 19), "A number over 19 people, fewer than 20 / cluster C0, 2026-09, NECK"),
        (team("T0", 9), "A number over 9 people, fewer than 10 / team T0, 2026-Q3, NECK"),
        (month("cluster", "C0", 20, 7), "A count that is not rounded / cluster C0, 2026-09, NECK"),
        (month("cluster", "C0", 22, 25), "A count that is not rounded / cluster C0, 2026-09, NECK"),
        (month("cluster", "C0", 22, -5), "A count that is not rounded / cluster C0, 2026-09, NECK"),
    ],
)
def test_a_number_that_must_not_be_published_stops_the_edition(cell: HealthCell, words: str) -> None:
    assert refused([month("cluster", "C1", 5, None), month("organisation", "ORG", 60), cell]) == words


def test_a_person_counted_twice_does_not_fill_a_group() -> None:
    cell = month("cluster", "C0", 20)
    assert "over 20 people" in refused([replace(cell, tokens=(*cell.tokens[1:], cell.tokens[1]))])


@pytest.mark.parametrize(("hidden", "stops"), [(0, False), (1, True), (19, True), (20, False)])
def test_the_hidden_remainder_of_months(hidden: int, stops: bool) -> None:
    cells = [month("cluster", "C0", 30), month("cluster", "C1", hidden, None)]
    if stops:
        assert refused(cells) == f"{hidden} people hidden under one shown number / clusters of ORG, NECK"
    else:
        assert len(check_cells(cells, PARENTS, PRIVACY)) == 2


@pytest.mark.parametrize(("hidden", "stops"), [(1, True), (9, True), (10, False)])
def test_the_hidden_remainder_of_teams(hidden: int, stops: bool) -> None:
    cells = [team("T0", 30), team("T1", hidden, None), team("T2", 3, None)]
    if stops:
        assert refused(cells) == f"{hidden} people hidden under one shown number / teams of C0, NECK"
    else:
        check_cells(cells, PARENTS, PRIVACY)


def test_regions_are_families_of_their_own_and_all_hidden_is_no_remainder() -> None:
    check_cells([team("T0", 30), team("T1", 9, None, "KNEE")], PARENTS, PRIVACY)
    check_cells([team("T0", 5, None), team("T1", 4, None)], PARENTS, PRIVACY)


def test_a_team_never_shown_is_named_with_the_remedy() -> None:
    cells = [
        team("T1", 3, None), team("T1", 3, None, "KNEE"), team("T0", 12, None), team("T2", 30),
        team("T2", 30, None, "KNEE"), month("cluster", "C0", 15, None),
    ]  # fmt: skip
    found = check_cells(cells, PARENTS, PRIVACY)
    assert found[0] == CheckRow(
        "team floor",
        True,
        "Discomfort is not shown for T0, T1: too few were on the team all quarter and answered, or the "
        "number of such a team would follow.",
        "To show it, ask more people, or join the team with another one of its cluster in the teams "
        "file, from the start of a calendar year.",
    )
    assert [row.name for row in found] == ["team floor", "floors", "hidden remainder"]


def test_numbers_withheld_by_the_audit_are_not_put_down_to_a_small_team() -> None:
    cells = [replace(team("T0", 30, None), withheld=True), replace(team("T1", 3, None), withheld=True)]
    assert [row.name for row in check_cells(cells, PARENTS, PRIVACY)] == ["floors", "hidden remainder"]


def exposure(value: float | None, band: str | None, reason: str | None) -> tuple:
    row: list[object] = [None] * 14
    row[0], row[2], row[3], row[4] = "2026-09", "team", "T0", "hours_per_week"
    row[5], row[9], row[13] = value, band, reason
    return tuple(row)


def test_exposure_floors() -> None:
    rows = [exposure(2.0, "5-9", None), exposure(None, None, "hidden"), exposure(0.0, "10-14", None)]
    assert check_exposure(rows, PRIVACY) == CheckRow(
        "exposure floors", True, "All 2 exposure figures rest on at least 5 people."
    )


@pytest.mark.parametrize(
    ("row", "words"),
    [
        (exposure(2.0, "4-9", None), "An exposure figure over 4-9 people"),
        (exposure(2.0, "5-9", "why"), "An exposure figure with a value and a reason, or with neither"),
        (exposure(None, "5-9", None), "An exposure figure with a value and a reason, or with neither"),
    ],
)
def test_exposure_that_must_not_be_published(row: tuple, words: str) -> None:
    with pytest.raises(ReleaseRefused) as error:
        check_exposure([row], PRIVACY)
    assert error.value.what == words
    assert (error.value.where, error.value.remedy) == ("team T0, 2026-09, hours_per_week", REMEDY)


def flag(**change: object) -> tuple:
    row = {
        "period": "2026-Q3", "kind": "quarter", "level": "team", "unit": "T0", "subject": "discomfort",
        "topic": "NECK", "word": "no flag", "since": None, "baseline": None, "now": None, "score": 0.4,
        "step": None, "reason": None, "more": None,
    }  # fmt: skip
    return tuple((row | change).values())


def test_flags_made_of_published_counts_pass_and_others_are_not_looked_at() -> None:
    cells = [team("T0", 30), team("T1", 30, None)]
    hidden = flag(unit="T1", score=None, reason="too small")
    rows = [flag(), flag(topic=ALL_REGIONS), hidden, flag(subject="exposure", level="cluster", reason="x")]
    assert check_flags(rows, cells) == CheckRow(
        "flags", True, "All 2 judgements on a team's discomfort are made of published counts alone."
    )


@pytest.mark.parametrize(
    ("change", "words"),
    [
        ({"level": "cluster"}, "A flag on discomfort that is not a team's by quarter"),
        ({"kind": "month"}, "A flag on discomfort that is not a team's by quarter"),
        ({"unit": "T1"}, "A flag made of a hidden number"),
        ({"topic": "KNEE"}, "A flag made of a hidden number"),
        ({"period": "2026-Q2"}, "A flag made of a hidden number"),
        ({"period": "2026-Q2", "topic": ALL_REGIONS}, "A flag made of a hidden number"),
        ({"topic": "KNEE", "score": None, "since": "2026-Q1"}, "A flag made of a hidden number"),
        ({"topic": "KNEE", "score": None, "baseline": 20}, "A flag made of a hidden number"),
        ({"topic": "KNEE", "score": None, "now": 20}, "A flag made of a hidden number"),
        ({"reason": "too small"}, "A flag with numbers and a reason, or with neither"),
        ({"score": None}, "A flag with numbers and a reason, or with neither"),
    ],
)
def test_flags_that_say_too_much(change: dict[str, object], words: str) -> None:
    cells = [team("T0", 30), team("T1", 30, None), month("cluster", "C0", 30, 5, "KNEE")]
    with pytest.raises(ReleaseRefused) as error:
        check_flags([flag(subject="exposure"), flag(**change)], cells)
    assert error.value.what == words
    told = {"level": "team", "unit": "T0", "period": "2026-Q3", "topic": "NECK"} | change
    assert error.value.where == "{level} {unit}, {period}, {topic}".format(**told)
    assert error.value.remedy == REMEDY


@pytest.fixture
def con() -> duckdb.DuckDBPyConnection:
    con = duckdb.connect(":memory:")
    con.execute("create schema core; create schema release_private")
    con.execute("create table core.people (person varchar)")
    con.execute("create table release_private.token (person varchar, token varchar)")
    con.execute("insert into core.people values ('person-01'), ('007')")
    con.execute("insert into release_private.token values ('person-02', 'abcdef0123')")
    return con


@pytest.mark.parametrize("name", ["person-01", "person-02", "abcdef0123", bytes(range(32)).hex()])
def test_a_pseudonym_token_or_key_in_a_text_stops_the_edition(con, name: str) -> None:
    with pytest.raises(ReleaseRefused, match="pseudonym or rounding label") as error:
        check_identifiers(con, f"asked for by {name}, twice", bytes(range(32)))
    assert error.value.what == "A pseudonym or rounding label stands in a text to be published"
    assert error.value.where == "register of changes, unit names or set-aside reasons"
    assert error.value.remedy == "Take it out of the source file, and load that again."
    assert name not in str(error.value)


def test_names_too_short_to_be_told_from_words_are_counted(con) -> None:
    told = check_identifiers(con, "007 persons, person-011", bytes(range(32)))
    assert told == CheckRow(
        "identifiers",
        True,
        "No pseudonym, rounding label or key among the values; 4 searched; 1 of them have fewer than 6 "
        "characters and cannot be told from ordinary words.",
    )
    con.execute("delete from core.people where person = '007'")
    assert check_identifiers(con, "", b"k" * 32).sentence.endswith("the values; 4 searched.")
