"""The same content as CSV, Parquet and Excel, in other notations and wide, gives the same store."""

import datetime as dt
from decimal import Decimal

import duckdb
import openpyxl
import pytest

from etl.contracts import CONTRACTS
from etl.home import Home
from etl.store import content_hash, open_store
from etl.units import convert
from tests.support.load_files import (
    PROFILE_HEAD,
    bouts,
    home_before,
    load,
    load_table,
    people,
    plain_profile,
    registers,
    surveys,
    write_csv,
)  # fmt: skip


@pytest.fixture(scope="module")
def templates(tmp_path_factory):
    """Folder of stores that hold the registers, made once."""
    return tmp_path_factory.mktemp("templates")


def _query(folder, statement):
    with open_store(Home(folder / "home"), write=False) as con:
        return con.execute(statement).fetchall()


def _hash(folder):
    with open_store(Home(folder / "home"), write=False) as con:
        return content_hash(con)


@pytest.fixture
def csv_hash(templates, tmp_path):
    """Hash of the store after the small institute's bouts came as CSV."""
    folder = home_before("bouts", templates, tmp_path / "csv")
    load_table(folder, "bouts", bouts(200))
    return _hash(folder)


def _typed(row):
    whole = {field.name for field in CONTRACTS["bouts"].fields if field.kind == "integer"}
    return {
        name: None if text == "" else int(text) if name in whole
        else dt.datetime.fromisoformat(text) if name in ("start", "end") else text
        for name, text in row.items()
    }  # fmt: skip


def test_parquet_with_typed_columns_says_the_same_as_csv(templates, tmp_path, csv_hash):
    folder = home_before("bouts", templates, tmp_path / "parquet")
    source = write_csv(folder / "typed.csv", bouts(200))
    duckdb.execute(
        f'copy (select * replace (start::timestamp as start, "end"::timestamp as "end", strokes::double as'
        f" strokes, tips::decimal(9,1) as tips, channels::smallint as channels) from"
        f" read_csv('{source}', all_varchar = true)) to '{folder / 'bouts.parquet'}'"
    )
    record = load(folder, [folder / "bouts.parquet"]).files[0]
    assert (record.rows_accepted, record.reasons) == (200, ())
    assert _hash(folder) == csv_hash


def test_workbook_with_typed_cells_says_the_same_as_csv(templates, tmp_path, csv_hash):
    folder = home_before("bouts", templates, tmp_path / "xlsx")
    book = openpyxl.Workbook()
    book.active.append(list(bouts(1)[0]))
    for row in bouts(200):
        book.active.append(list(_typed(row).values()))
    book.save(folder / "bouts.xlsx")
    # The sign of text numbers is a comma here; typed numbers of the workbook must not mind.
    record = load(folder, [folder / "bouts.xlsx"], plain_profile(PROFILE_HEAD + 'decimal = ","\n')).files[0]
    assert (record.rows_accepted, record.reasons) == (200, ())
    assert _hash(folder) == csv_hash


def test_another_notation_says_the_same_as_csv(templates, tmp_path, csv_hash):
    folder = home_before("bouts", templates, tmp_path / "other")
    rows = []
    for row in bouts(200):
        changed = dict(row)
        for name in ("start", "end"):
            changed[name] = dt.datetime.fromisoformat(row[name]).strftime("%d.%m.%Y %H:%M:%S")
        changed |= {"task": f"Ansatz {row['task'].lower()}", "volume_changes": "k.A.", "hand": "rechts"}
        rows.append(changed)
    text = ";".join(rows[0]) + "\r\n" + "\r\n".join(";".join(row.values()) for row in rows) + "\r\n"
    (folder / "bouts.csv").write_bytes(text.replace("person", "Größe").encode("cp1252"))
    head = PROFILE_HEAD + (
        'encoding = "cp1252"\ndelimiter = ";"\ndecimal = ","\nmissing = ["k.A."]\n'
        'datetime_format = "%d.%m.%Y %H:%M:%S"\n'
    )
    profile = plain_profile(head, ["bouts"]).replace('column = "person"', 'column = "Größe"')
    profile = profile.replace(
        'column = "task"', 'column = "task", map = { "Ansatz pcr" = "PCR", "Ansatz elisa" = "ELISA" }'
    ).replace('column = "hand"', 'column = "hand", map = { "rechts" = "RIGHT" }')
    record = load(folder, [folder / "bouts.csv"], profile).files[0]
    assert (record.rows_accepted, record.reasons) == (200, ())
    assert _hash(folder) == csv_hash


WIDE = """
[sources.survey]
contract = "surveys"
files = ["wide*"]
[sources.survey.fields]
person = "who"
month = "when"
[sources.survey.wide]
neck = { region = "NECK" }
sh_l = { region = "SHOULDER", side = "LEFT", hindered = "sh_l_h" }
sh_r = { region = "SHOULDER", side = "RIGHT", hindered = "sh_r_h" }
"""


def _wide(folder, templates, changes):
    home_before("surveys", templates, folder)
    rows = [
        {"who": p, "when": "2026-05", "neck": "3", "sh_l": "0", "sh_l_h": "no", "sh_r": "", "sh_r_h": ""}
        for p in people()
    ]
    for at, cells in changes.items():
        rows[at] |= cells
    return load(folder, [write_csv(folder / "wide.csv", rows)], PROFILE_HEAD + WIDE).files[0]


def test_wide_survey_becomes_one_row_an_answer(templates, tmp_path):
    record = _wide(tmp_path, templates, {})
    assert (record.rows_in, record.rows_accepted) == (120, 120)
    assert _query(tmp_path, "select region, side, score, hindered, scale, count(*) from core.surveys"
                  " group by all order by all") == [
        ("NECK", "NONE", 3, None, "NRS_0_10", 40),
        ("SHOULDER", "LEFT", 0, False, "NRS_0_10", 40),
        ("SHOULDER", "RIGHT", None, None, "NRS_0_10", 40),
    ]  # fmt: skip


def test_wide_survey_sets_single_answers_aside_and_whole_lines_where_the_line_is_bad(templates, tmp_path):
    record = _wide(tmp_path, templates, {0: {"sh_l": "12"}, 1: {"who": "p999"}})
    assert (record.rows_in, record.rows_accepted, record.rows_set_aside) == (120, 116, 4)
    assert _query(tmp_path, "select row_number, column_name, reason, count(*) from core.set_aside"
                  " where counts_as_row group by all order by all") == [
        (2, "sh_l", "E_RANGE", 1), (3, "who", "E_PERSON", 3),
    ]  # fmt: skip


def test_forces_in_any_unit_are_stored_in_whole_millinewtons(tmp_path):
    # NIST SP 811 (2008), B.8: 1 kgf = 9.80665 N, 1 lbf = 4.448222 N (rounded there), 1 ozf = 0.2780139 N.
    assert convert(Decimal(1), "force", "kgf", "N") == Decimal("9.80665")
    assert round(convert(Decimal(1), "force", "lbf", "N"), 6) == Decimal("4.448222")
    assert round(convert(Decimal(1), "force", "ozf", "N"), 7) == Decimal("0.2780139")
    rows = registers()["instruments"]
    rows[0]["plunger_force"], rows[1]["plunger_force"] = "2", "0,5"
    profile = plain_profile(PROFILE_HEAD + 'decimal = ","\n', ["instruments"]).replace('"N"', '"kgf"', 1)
    for row in rows:
        row |= {name: row[name].replace(".", ",") for name in row}
    assert load(tmp_path, [write_csv(tmp_path / "instruments.csv", rows)], profile).rows_accepted == 2
    assert _query(tmp_path, "select plunger_mn, mass_g from core.instruments order by 1") == [
        (4903, 150.5), (19613, 90.0),
    ]  # fmt: skip


def test_unit_of_each_row_comes_from_its_column(tmp_path):
    rows = [
        {"i": name, "force": "2", "u": unit}
        for name, unit in (("A", "kgf"), ("B", "N"), ("C", "stone"), ("D", ""))
    ]
    profile = """profile = "units"
[sources.x]
contract = "instruments"
files = ["*.csv"]
[sources.x.fields]
instrument = "i"
kind = { value = "MANUAL" }
channels = { value = "1" }
plunger_force = { column = "force", unit_column = "u" }
"""
    record = load(tmp_path, [write_csv(tmp_path / "x.csv", rows)], profile).files[0]
    assert [(one.reason, one.column, one.rows) for one in record.reasons] == [("E_UNIT", "force", 2)]
    assert _query(tmp_path, "select instrument, plunger_mn from core.instruments order by 1") == [
        ("A", 19613), ("B", 2000),
    ]  # fmt: skip


def test_missing_answer_is_not_zero(templates, tmp_path):
    folder = home_before("surveys", templates, tmp_path)
    rows = surveys(40)
    rows[0]["score"], rows[1]["score"] = "", "0"
    load_table(folder, "surveys", rows)
    stored = _query(folder, "select person, score from core.surveys where person <= 'p001' order by 1")
    assert stored == [("p000", None), ("p001", 0)]


def test_a_named_source_takes_a_file_of_any_name_and_progress_is_told(tmp_path):
    path = write_csv(tmp_path / "export 1.csv", registers()["teams"])
    told = []
    summary = load(tmp_path, [path], source="teams", progress=lambda *step: told.append(step))
    assert summary.rows_accepted == 4
    assert told == [("export 1.csv", 0, 1), ("", 1, 1)]


def test_the_engine_s_lenient_casts_are_never_asked(templates, tmp_path):
    # DuckDB 2.0 takes these as 1000, 6 and nan, and throws over read_csv where it should give null.
    taken = duckdb.execute("select try_cast('1_000' as integer), try_cast('5.7' as integer)").fetchone()
    assert taken == (1000, 6)
    folder = home_before("surveys", templates, tmp_path)
    rows = surveys(120)
    for at, text in enumerate(("1_0", "5.7", "nan", "inf", "1e0", " 7 ", "07")):
        rows[at]["score"] = text
    load_table(folder, "surveys", rows)
    stored = _query(folder, "select row_number, score from core.surveys where row_number < 9 order by 1")
    assert stored == [(7, 7), (8, 7)]


def test_a_name_that_looks_like_a_pattern_is_one_file(tmp_path):
    folder = tmp_path / "in [1]"
    folder.mkdir()
    rows = registers()["teams"]
    write_csv(folder / "teams_1.csv", rows[:2])
    summary = load(tmp_path, [write_csv(folder / "teams_*.csv", rows[2:])])
    assert summary.rows_in == 2
    assert _query(tmp_path, "select team from core.teams order by 1") == [("T2",), ("T3",)]


def test_items_of_a_wide_survey_have_columns_of_their_own_and_constants_say_how_it_was_asked(
    templates, tmp_path
):
    folder = home_before("surveys", templates, tmp_path)
    profile = """profile = "wide"
[sources.x]
contract = "surveys"
files = ["*.csv"]
[sources.x.fields]
person = "who"
month = "month"
mode = { value = "INTERVIEW" }
questionnaire = { value = "NINE_SITE" }
version = { value = "1987" }
[sources.x.wide]
neck = { region = "NECK", trouble_7d = "neck_7", trouble_12m = "neck_12", hindered_12m = "neck_h" }
knee = { region = "KNEE" }
"""
    row = {
        "who": "p001",
        "month": "2026-05",
        "neck": "",
        "neck_7": "no",
        "neck_12": "yes",
        "neck_h": "",
        "knee": "4",
    }
    other = row | {"who": "p002", "neck_12": "perhaps"}
    record = load(folder, [write_csv(tmp_path / "w.csv", [row, other])], profile).files[0]
    assert [(one.reason, one.rows) for one in record.reasons] == [("E_CODE", 1)]
    assert _query(
        folder, "select region, score, trouble_7d, trouble_12m, hindered_12m, mode, questionnaire, version "
        "from core.surveys where person = 'p001' order by 1",
    ) == [
        ("KNEE", 4, None, None, None, "INTERVIEW", "NINE_SITE", "1987"),
        ("NECK", None, False, True, None, "INTERVIEW", "NINE_SITE", "1987"),
    ]  # fmt: skip
