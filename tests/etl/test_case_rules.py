"""Which answers count: definitions, marks and scales by month, bridges, and what stays once published."""

from datetime import date

import duckdb
import numpy as np
import pytest

from etl.case_rules import bridged_mark, case_words, refuse_changed_past, rule_of, series_start
from etl.errors import EvenhandError, ReleaseRefused
from etl.facts import build_facts
from etl.facts_update import refresh_facts
from etl.keys import SecretKey
from etl.release_calendar import Month
from etl.release_door import pinned
from etl.release_item import item_rows
from etl.release_ledger import MONTH_KIND, HealthCell
from etl.release_method_case import case_methods, case_rule_row
from etl.release_method_flags import health_flag_methods
from etl.release_rows import Job
from etl.release_trend import TOO_FEW, trend_rows
from etl.settings import Settings, SymptomSettings, load_settings
from etl.sqlfiles import sql
from etl.store import MIGRATIONS
from models.answering import Habits
from models.cases import Episodes, surveillance_case
from models.disclosure import TOO_SMALL
from models.flag_setup import DEFAULT_WANDER, Limits, Setup
from tests.support.person_rows import core_store
from tests.support.small_store import FIRST, Frames, frames, publish, small_release

MARCH, APRIL = date(2026, 3, 1), date(2026, 4, 1)

# Case-rule rows worked out from the definition's own words: days, monthly, strength 1-5, since the job,
# injury before, and whether it is a case.
ROWS = (
    (8, False, 3, True, False, True),
    (3, True, 3, True, False, True),
    (3, False, 3, True, False, False),
    (30, False, 2, True, False, False),
    (30, True, 4, True, True, False),
    (30, True, 4, False, False, False),
    (7, False, 3, True, False, True),
)


@pytest.fixture
def con():
    with core_store() as opened:
        yield opened


def rated(
    con: duckdb.DuckDBPyConnection, person: str, month: date, score: float, scale: str = "NRS_0_10"
) -> None:
    con.execute(
        "insert into core.surveys (file_id, row_number, person, month, region, side, score, scale, "
        "questionnaire, version, mode) values (1, 2, ?, ?, 'NECK', 'NONE', ?, ?, 'MONTHLY_RATING', '1', "
        "'PAPER')",
        [person, month, score, scale],
    )


def cases(con: duckdb.DuckDBPyConnection) -> list[tuple]:
    return con.execute("select person, month, score, is_case from facts.symptom order by all").fetchall()


def settings(**symptoms) -> Settings:
    return Settings(symptoms=SymptomSettings.model_validate(symptoms))


def test_surveillance_definition_in_the_store_is_that_of_the_model(con):
    for number, (days, monthly, strength, since, injury, _) in enumerate(ROWS):
        con.execute(
            "insert into core.surveys (file_id, row_number, person, month, region, side, scale, "
            "questionnaire, version, mode, longest_days, monthly, severity, since_job, acute_injury) values "
            "(1, 2, ?, ?, 'NECK', 'NONE', 'NRS_0_10', 'NINE_SITE', '1987', 'INTERVIEW', ?, ?, ?, ?, ?)",
            [f"p{number}", MARCH, days, monthly, strength, since, injury],
        )
    rated(con, "unasked", MARCH, 9)
    build_facts(con, settings(definition="surveillance"))
    asked = [np.array(column) for column in zip(*ROWS, strict=True)]
    expected = surveillance_case(Episodes(*asked[:5]))
    assert expected.tolist() == [row[5] for row in ROWS]
    assert [row[3] for row in cases(con)] == expected.tolist(), "a rating decides nothing here"


def test_seven_day_item_counts_either_side_and_unanswered_is_no_zero(con):
    for person, side, said in (
        ("a", "LEFT", False),
        ("a", "RIGHT", True),
        ("b", "LEFT", False),
        ("c", "LEFT", None),
    ):
        con.execute(
            "insert into core.surveys (file_id, row_number, person, month, region, side, scale, "
            "questionnaire, version, mode, trouble_7d) values (1, 2, ?, ?, 'ELBOW', ?, 'NRS_0_10', "
            "'NINE_SITE', '1987', 'PAPER', ?)",
            [person, MARCH, side, said],
        )
    build_facts(con, settings(definition="trouble_7d"))
    assert cases(con) == [("a", MARCH, None, True), ("b", MARCH, None, False)]


def test_each_month_is_judged_by_the_rule_in_force_and_scales_never_mix(con):
    for month in (date(2026, 3, 1), date(2026, 4, 1)):
        rated(con, "a", month, 4)
        rated(con, "b", month, 4, "CR10")
    rules = settings(series=[{"since": "2026-04", "scale": "CR10", "case_score": 3}])
    build_facts(con, rules)
    assert cases(con) == [("a", MARCH, 4, True), ("b", date(2026, 4, 1), 4, True)]
    refresh_facts(con, settings())
    assert [row[0] for row in cases(con)] == ["a", "a"], "another rule builds the facts anew"
    assert (rule_of(rules.symptoms, "2026-03").scale, rule_of(rules.symptoms, "2026-04").scale) == (
        "NRS_0_10", "CR10",
    )  # fmt: skip
    assert (series_start(rules.symptoms, "2026-03"), series_start(rules.symptoms, Month(2026, 5))) == (
        "",
        "2026-04",
    )


def test_a_store_from_before_half_marks_keeps_its_scores_and_takes_halves():
    with duckdb.connect() as con:
        for migration in MIGRATIONS[: MIGRATIONS.index("store/110_half_marks")]:
            con.execute(sql(migration))
        rated(con, "old", MARCH, 7)
        con.execute(sql("store/110_half_marks"))
        rated(con, "new", MARCH, 0.5, "CR10")
        found = con.execute("select person, score from core.surveys order by person").fetchall()
    assert found == [("new", 0.5), ("old", 7.0)]


def test_half_marks_are_kept_and_counted_as_written(con):
    rated(con, "p001", MARCH, 2.5, "CR10")
    rated(con, "p002", MARCH, 0.5, "CR10")
    rated(con, "p003", MARCH, 3, "CR10")
    build_facts(con, settings(scale="CR10", case_score=3))
    assert [(person, score, is_case) for person, _, score, is_case in cases(con)] == [
        ("p001", 2.5, False), ("p002", 0.5, False), ("p003", 3.0, True),
    ]  # fmt: skip


@pytest.mark.parametrize("query", ["release/600_year_answer", "review/010_answers"])
def test_ratings_on_two_scales_are_never_averaged_though_their_marks_are_bridged(con, query):
    for k in range(60):
        both = (f"p{k:03d}", MARCH, 3 + k % 6), (f"p{k:03d}", APRIL, 2 + k % 6)
        con.execute(
            "insert into core.people (file_id, row_number, person, team, valid_from) values (1, 2, ?, 'T1', "
            "date '2026-01-01')", [both[0][0]],
        )  # fmt: skip
        for person, month, score in both:
            rated(con, person, month, score)
            rated(con, person, month, score - 1, "CR10")
    build_facts(
        con, settings(series=[{"since": "2026-04", "scale": "CR10", "case_score": 3, "bridged": True}])
    )
    given = {"first": MARCH, "month": APRIL} if "first" in sql(query) else {"month": APRIL}
    found = con.execute(sql(query), given).df()
    march = found["month_number"] == found["month_number"].min()
    assert march.sum() == (~march).sum() == 60
    assert found.loc[march, "score"].isna().all()
    assert found.loc[~march, "score"].notna().all()
    assert found.loc[march, "is_case"].notna().all(), "the bridged mark goes on"


def test_a_bridge_rests_on_people_who_answered_both_or_is_refused(con):
    # Ratings 0 to 10 on the old scale read one lower on the new one, from 2 on.
    for number in range(66):
        old = number % 11
        rated(con, f"p{number:02d}", MARCH, old)
        rated(con, f"p{number:02d}", MARCH, max(0, old - 1), "CR10")
    assert bridged_mark(con, "NRS_0_10", "CR10", 4) == (3, 66)
    right = {"since": "2026-04", "scale": "CR10", "case_score": 3, "bridged": True}
    build_facts(con, settings(series=[right]))
    assert series_start(settings(series=[right]).symptoms, "2026-05") == "", "a bridged series goes on"
    with pytest.raises(EvenhandError, match="at 3 on CR10, not at 5"):
        build_facts(con, settings(series=[right | {"case_score": 5}]))
    con.execute("delete from core.surveys where person > 'p40'")
    with pytest.raises(EvenhandError, match="41 people answered on both"):
        build_facts(con, settings(series=[right]))


def test_settings_name_what_is_wrong_with_a_series(tmp_path):
    path = tmp_path / "settings.toml"
    for wrong, words in (
        ('since = "2026-05"', "symptoms.series.0.since"),
        ('since = "2026-04"\nscale = "SMILES"', "is none of NRS_0_10"),
        ("case_score = 5", "a since of its own"),
    ):
        path.write_text(f"[[symptoms.series]]\n{wrong}\n", encoding="utf-8")
        with pytest.raises(EvenhandError, match=words):
            load_settings(path)


def test_published_months_keep_their_definition():
    then = {"2026-03": SymptomSettings(), "2026-04": SymptomSettings()}
    refuse_changed_past(then, SymptomSettings(flag_limit=9.0))
    refuse_changed_past(then, settings(series=[{"since": "2026-07", "case_score": 5}]).symptoms)
    for changed in (
        {"case_score": 5},
        {"definition": "trouble_7d"},
        {"series": [{"since": "2026-04", "case_score": 5}]},
    ):
        with pytest.raises(ReleaseRefused, match="was published with discomfort of 4 or more"):
            refuse_changed_past(then, settings(**changed).symptoms)


def test_nothing_is_compared_across_a_change_of_definition():
    cell = HealthCell(MONTH_KIND, "organisation", "ORG", "2026-10", "NECK", tuple(map(str, range(80))), 5, 30)
    before = {("organisation", "ORG", "NECK"): (20, 80)}
    assert trend_rows([cell], Month(2026, 10), before)[0][5] == 15
    row = trend_rows([cell], Month(2026, 10), before, "2026-01")[0]
    assert (row[5], row[8]) == (None, TOO_FEW)
    assert "defined anew from 2026-01" in row[9]


def test_a_release_refuses_a_changed_mark_and_a_month_on_another_scale(tmp_path):
    full = frames()
    little = Frames(full.people, full.bouts.sample(frac=0.05, random_state=1).sort_index(),
                    full.surveys[full.surveys["region"] == "NECK"])  # fmt: skip
    little.surveys.loc[little.surveys["month"] == FIRST.plus(2).first_day, "scale"] = "CR10"
    home = small_release(tmp_path, 1, content=little)
    with pytest.raises(ReleaseRefused, match="the settings now say discomfort of 6 or more"):
        publish(home, FIRST.plus(1), settings=settings(case_score=6))
    publish(home, FIRST.plus(1))
    with pytest.raises(ReleaseRefused, match="on CR10, the series is on NRS_0_10"):
        publish(home, FIRST.plus(2))
    with pinned(home) as release:
        method = release.table("method").drop_duplicates("key", keep="last").set_index("key")
    assert method.loc["health.case.short", "text"] == "discomfort of 4 or more out of 10"
    assert method.loc["health.case.surveillance", "status"] == "from memory"
    assert "asked unstated" in method.loc["health.asked", "text"]


def test_the_method_table_says_which_definition_is_in_use_and_its_status(con):
    used = settings(
        definition="surveillance", series=[{"since": "2026-04", "definition": "trouble_7d"}]
    ).symptoms
    march = {m.key: m for m in case_methods(con, Month(2026, 3), used)}
    april = {m.key: m for m in case_methods(con, Month(2026, 4), used)}
    assert (march["health.case"].status, april["health.case"].status) == ("from memory", "published (quoted)")
    assert "another series" in april["health.case"].text
    assert case_words(rule_of(used, "2026-04")) == april["health.case.short"].text
    assert "health.case.score" in march


def test_each_month_says_how_it_was_counted_and_what_it_may_be_compared_with():
    later = {"since": "2026-04", "scale": "CR10", "case_score": 3}
    used = settings(series=[later, {"since": "2026-07", "definition": "trouble_7d"}]).symptoms
    assert [case_rule_row(Month(2026, month), used) for month in (3, 4, 7)] == [
        ("2026-03", "score", "NRS_0_10", "discomfort of 4 or more out of 10 on the 0 to 10 rating", ""),
        (
            "2026-04",
            "score",
            "CR10",
            "discomfort of 3 or more out of 10 on the category-ratio scale",
            "2026-04",
        ),
        ("2026-07", "trouble_7d", "", "trouble in the last 7 days", "2026-07"),
    ]
    bridged = settings(series=[later | {"bridged": True}]).symptoms
    assert case_rule_row(Month(2026, 4), bridged)[-1] == "", "a bridged series goes on"


def test_limits_of_the_settings_come_first_and_say_so():
    found = Setup(Limits(11.0, 2.4, 2.8), DEFAULT_WANDER, Habits(), 0.7, 0.1, 2.6, 0.4, 2.3, 1500)
    texts = [m.text for m in health_flag_methods(found, Limits(20.0, 2.4, 2.8))]
    assert "flagged at 20 or more" in texts[0]
    assert "The settings ask for other limits" in texts[1]
    assert "The settings ask" not in health_flag_methods(found, found.limits)[1].text


def test_questions_left_out_are_counted_among_those_who_answered_anything(con):
    people = [(f"p{k:03d}", k) for k in range(120)]
    for person, k in people:
        con.execute(
            "insert into core.people (file_id, row_number, person, team, valid_from) "
            "values (1, 2, ?, 'T1', date '2026-01-01')",
            [person],
        )
        rated(con, person, MARCH, k % 11)
        if k % 4:
            con.execute(
                "insert into core.surveys (file_id, row_number, person, month, region, side, score, scale, "
                "questionnaire, version, mode) select 1, 3, person, month, 'KNEE', side, 0, scale, "
                "questionnaire, version, mode from core.surveys where person = ? and region = 'NECK'",
                [person],
            )
    build_facts(con, Settings())
    job = Job(con, Month(2026, 3), 1, Settings(), SecretKey("test", b"k" * 32))
    assert [row[3:] for row in item_rows(job)] == [("KNEE", 75, None), ("NECK", 100, None)]
    con.execute("delete from facts.symptom where person > 'p010'")
    assert {row[5] for row in item_rows(job)} == {TOO_SMALL}
