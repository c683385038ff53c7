"""Files that cannot be accepted: one line with code, place and remedy; nothing of them is loaded."""

import zipfile

import openpyxl
import pytest

from etl.errors import EvenhandError
from etl.home import Home
from etl.profile import load_profile
from etl.store import open_store
from tests.support.load_files import home_before, load, load_table, plain_profile, registers, surveys

HEADER = b"team,team_name,cluster,cluster_name,site\n"
GOOD = HEADER + b"T1,Team 1,C1,Cluster,S1\n"

REFUSED = [
    ("empty", "teams.csv", b"", "E_EMPTY"),
    ("blank header", "teams.csv", b"\n\n", "E_EMPTY"),
    ("latin-1", "teams.csv", HEADER + "T1,Zürich,C1,C,S1\n".encode("latin-1"), "E_ENCODING"),
    ("utf-16", "teams.csv", GOOD.decode().encode("utf-16"), "E_ENCODING"),
    ("png", "teams.csv", b"\x89PNG\r\n\x1a\n" + b"\x00" * 50, "E_CONTAINER"),
    ("gzip", "teams.csv", b"\x1f\x8b\x08\x00" + b"a" * 50, "E_CONTAINER"),
    ("noise", "teams.csv", bytes(range(32)) * 20, "E_CONTAINER"),
    ("workbook named csv", "teams.csv", b"PK\x03\x04" + b"a" * 50, "E_CONTAINER"),
    ("text named xlsx", "teams.xlsx", GOOD, "E_CONTAINER"),
    ("text named parquet", "teams.parquet", GOOD, "E_CONTAINER"),
    ("broken zip", "teams.xlsx", b"PK\x03\x04" + b"a" * 50, "E_XLSX"),
    ("broken parquet", "teams.parquet", b"PAR1" + b"a" * 50, "E_SHAPE"),
    ("other ending", "teams.json", b"{}", "E_CONTAINER"),
    ("missing column", "teams.csv", GOOD.replace(b"team_name,", b"", 1), "E_HEADER"),
    ("renamed column", "teams.csv", GOOD.replace(b"cluster_name", b"clustername", 1), "E_HEADER"),
    ("twice", "teams.csv", GOOD.replace(b"site", b"site,site", 1), "E_HEADER"),
    ("extra", "teams.csv", GOOD.replace(b"site", b"site,weather", 1), "E_EXTRA"),
    ("semicolons", "teams.csv", GOOD.replace(b",", b";"), "E_HEADER"),
    ("name", "teams.csv", GOOD.replace(b"site", b"site,surname", 1), "E_PII"),
    ("e-mail header", "teams.csv", GOOD.replace(b"site", b"site,E-Mail", 1), "E_PII"),
    ("e-mail value", "teams.csv", GOOD.replace(b"Team 1", b"jo@example.org"), "E_PII"),
    ("long row", "teams.csv", GOOD + b"T2,a,C1,C,S1,more\n", "E_SHAPE"),
    ("short row", "teams.csv", GOOD + b"T2,a\n", "E_SHAPE"),
    ("open quote", "teams.csv", GOOD + b'T2,"a,C1,C,S1\n', "E_SHAPE"),
    ("mixed line ends", "teams.csv", GOOD + b"T2,a,C1,C,S1\r\n", "E_SHAPE"),
    ("huge line", "teams.csv", GOOD + b"T2," + b"a" * 3_000_000 + b",C1,C,S1\n", "E_SIZE"),
    ("many columns", "teams.csv", b",".join(b"c%d" % i for i in range(201)) + b"\n", "E_SIZE"),
    ("no source", "notes.csv", GOOD, "E_NOSOURCE"),
]  # fmt: skip


@pytest.mark.parametrize(
    ("name", "content", "code"), [row[1:] for row in REFUSED], ids=[r[0] for r in REFUSED]
)
def test_file_is_refused_in_one_line_and_leaves_nothing(tmp_path, name, content, code):
    path = tmp_path / name
    path.write_bytes(content)
    summary = load(tmp_path, [path])
    record = summary.refused[0]
    assert record.code == code, record.message
    assert summary.exit_code == 1
    assert name in record.message
    assert record.message.isprintable()
    with open_store(Home(tmp_path / "home"), write=False) as con:
        assert con.execute("select count(*) from core.file_ledger").fetchone() == (0,)
        assert con.execute("select count(*) from core.teams").fetchone() == (0,)


def test_lines_are_named_where_they_are_known(tmp_path):
    path = tmp_path / "teams.csv"
    path.write_bytes(GOOD + b"T2,a,C1,C,S1\nT3,a\n")
    assert "Line 4 has 2 columns, the header 5" in load(tmp_path, [path]).refused[0].message
    path.write_bytes(GOOD + b"T2,\xff,C1,C,S1\n")
    assert "Line 3" in load(tmp_path, [path]).refused[0].message


def test_symbolic_link_folder_and_missing_file_are_refused(tmp_path):
    (tmp_path / "real.csv").write_bytes(GOOD)
    (tmp_path / "teams_link.csv").symlink_to(tmp_path / "real.csv")
    (tmp_path / "teams_folder.csv").mkdir()
    summary = load(tmp_path, [tmp_path / f"teams_{one}.csv" for one in ("link", "folder", "gone")])
    assert {one.file: one.code for one in summary.refused} == {
        "teams_link.csv": "E_CONTAINER", "teams_folder.csv": "E_CONTAINER", "teams_gone.csv": "E_NOFILE",
    }  # fmt: skip


def test_header_only_loads_no_rows_and_bom_is_accepted(tmp_path):
    (tmp_path / "teams_a.csv").write_bytes(HEADER)
    (tmp_path / "teams_b.csv").write_bytes(b"\xef\xbb\xbf" + GOOD)
    summary = load(tmp_path, sorted(tmp_path.glob("teams*.csv")))
    assert [(one.outcome, one.rows_in) for one in summary.files] == [("loaded", 0), ("loaded", 1)]


def test_column_order_is_free(tmp_path):
    (tmp_path / "teams.csv").write_text("site,cluster,cluster_name,team_name,team\nS1,C1,Cluster,Team 1,T1\n")
    assert load(tmp_path, [tmp_path / "teams.csv"]).rows_accepted == 1
    with open_store(Home(tmp_path / "home"), write=False) as con:
        row = con.execute("select team, team_name, cluster, cluster_name, site from core.teams").fetchone()
    assert row == ("T1", "Team 1", "C1", "Cluster", "S1")


def test_other_files_load_beside_a_refused_one(tmp_path):
    folder = home_before("surveys", tmp_path / "t", tmp_path)
    (tmp_path / "teams_bad.csv").write_bytes(b"")
    rows = surveys(40)
    load_table(folder, "surveys", rows)
    summary = load(folder, [tmp_path / "teams_bad.csv", tmp_path / "in" / "surveys.csv"])
    assert [one.outcome for one in summary.files] == ["refused", "already loaded"]
    assert summary.exit_code == 1


def test_ignored_column_is_not_kept_but_still_searched_for_identifiers(tmp_path):
    text = plain_profile(contracts=["teams"]).replace("files =", 'ignore = ["memo"]\nfiles =')
    path = tmp_path / "teams.csv"
    path.write_bytes(GOOD.replace(b"site\n", b"site,memo\n").replace(b"S1\n", b"S1,fine\n"))
    assert load(tmp_path, [path], text).rows_accepted == 1
    path.write_bytes(path.read_bytes().replace(b"fine", b"ask jo@example.org"))
    refused = load(tmp_path, [path], text).refused[0]
    assert refused.code == "E_PII"
    assert "jo@" not in refused.message


def _workbook(path, rows, sheets=1):
    book = openpyxl.Workbook()
    for row in rows:
        book.active.append(row)
    for _ in range(sheets - 1):
        book.create_sheet()
    book.save(path)
    book.close()
    return path


ROW = ["T1", "Team 1", "C1", "Cluster", "S1"]


def test_workbook_with_two_sheets_needs_a_name(tmp_path):
    path = _workbook(tmp_path / "teams.xlsx", [HEADER.decode().strip().split(","), ROW], sheets=2)
    assert load(tmp_path, [path]).refused[0].code == "E_XLSX"
    named = plain_profile(contracts=["teams"]).replace("files =", 'sheet = "Sheet"\nfiles =')
    assert load(tmp_path, [path], named).rows_accepted == 1
    wrong = plain_profile(contracts=["teams"]).replace("files =", 'sheet = "Log"\nfiles =')
    assert load(tmp_path / "b", [path], wrong).refused[0].code == "E_HEADER"


def test_formula_cells_are_set_aside_whatever_result_they_carry(tmp_path):
    header = HEADER.decode().strip().split(",")
    path = _workbook(tmp_path / "teams.xlsx", [header, ROW, ["T2", "=A2", "C1", "Cluster", "S1"]])
    record = load(tmp_path, [path]).files[0]
    assert [(one.reason, one.column) for one in record.reasons] == [("E_FORMULA", "team_name")]


@pytest.mark.parametrize(
    ("part", "content"),
    [
        ("xl/vbaProject.bin", b"x"),
        ("xl/externalLinks/externalLink1.xml", b"<x/>"),
        ("xl/more.xml", b'<!DOCTYPE a [<!ENTITY b "c">]><a/>'),
        ("xl/zeros.bin", bytes(5_000_000)),
    ],
    ids=["macros", "external links", "entities", "ratio"],
)
def test_unwanted_workbook_parts_are_refused_unread(tmp_path, part, content):
    path = _workbook(tmp_path / "teams.xlsx", [HEADER.decode().strip().split(","), ROW])
    with zipfile.ZipFile(path, "a", zipfile.ZIP_DEFLATED) as packed:
        packed.writestr(part, content)
    assert load(tmp_path, [path]).refused[0].code == "E_XLSX"


@pytest.mark.parametrize(
    ("change", "named"),
    [
        (("time_zone =", "timezone ="), "timezone"),
        (("Europe/Zurich", "Mars/Base"), "time_zone"),
        (('profile = "plain"', 'profile = "plain"\ndelimiter = "x"'), "delimiter"),
        (('profile = "plain"', 'profile = "plain"\ndate_format = "%q"'), "%q"),
        (('contract = "teams"', 'contract = "cats"'), "cats"),
        (('team_name = { column = "team_name" }', ""), "fields.team_name"),
        (('{ column = "plunger_force", unit = "N" }', '"force"'), "plunger_force"),
        (('unit = "N"', 'unit = "stone"'), "stone"),
        (('{ column = "team_name" }', '{ column = "a", value = "b" }'), "team_name"),
        (('[sources.teams]', '[sources.teams'), "TOML"),
    ],
)  # fmt: skip
def test_a_wrong_profile_is_refused_in_one_line_that_names_the_key(tmp_path, change, named):
    path = tmp_path / "p.toml"
    path.write_text(plain_profile().replace(*change, 1), encoding="utf-8")
    with pytest.raises(EvenhandError) as caught:
        load_profile(path)
    assert caught.value.code == "E_PROFILE"
    assert named in str(caught.value)
    assert "\n" not in str(caught.value)


def test_registers_named_here_are_those_of_the_contracts():
    assert list(registers()) == ["teams", "people", "instruments", "stations"]
