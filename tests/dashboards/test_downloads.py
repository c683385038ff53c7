"""Files behind each figure: release rows and words only, no cell that runs, no file that was not offered."""

import base64
import io
import re
import struct
from xml.etree import ElementTree

import openpyxl
import pandas as pd
import panel as pn
import pytest

from dashboards.data import ReleaseFrames
from dashboards.files import Behind
from dashboards.readings import exposure, moved
from dashboards.state import ROOMS, RoomState
from dashboards.tables import as_csv, tamed
from dashboards.views.rooms import Rooms
from dashboards.views.table import TableBehind, Tools

EVIL = ["=1+1", "+1", "-1+2", "@SUM(A1)", "\t=1", "\r=1", "\n=1", " =1", "\uff1d1", "=HYPERLINK(1)"]


@pytest.fixture
def behind(frames: ReleaseFrames, state: RoomState) -> Behind:
    reading = moved.moved(frames, state.settings())
    return Behind("What moved", reading.rows, reading.sentence, reading.foot, reading.plot, frames.edition())


@pytest.mark.parametrize("text", EVIL)
def test_text_that_looks_like_a_formula_is_tamed(text: str) -> None:
    assert str(tamed(text)).startswith("'")
    frame = pd.DataFrame({"title": [text], "points": [-3]})
    back = pd.read_csv(io.StringIO(as_csv(frame)), keep_default_na=False)
    assert back["title"][0].startswith("'")
    assert back["points"][0] == -3
    book = openpyxl.load_workbook(io.BytesIO(Behind("t", frame).file("xlsx")))
    cells = [cell for page in book.worksheets for row in page.iter_rows() for cell in row]
    assert "f" not in {cell.data_type for cell in cells}
    assert str(book["Rows"]["A2"].value).startswith("'")
    assert book["Rows"]["B2"].value == -3


def test_harmless_cells_stay_as_they_are() -> None:
    for value in ("rising", "3 to 4", "\u22123", 5, -2.5, None):
        assert tamed(value) is value or tamed(value) == value


def test_workbook_holds_the_rows_and_where_they_come_from(behind: Behind, sql) -> None:
    book = openpyxl.load_workbook(io.BytesIO(behind.file("xlsx")))
    head, *rows = book["Rows"].iter_rows(values_only=True)
    told = {(row[head.index("region")], row[head.index("points")], row[head.index("low")]) for row in rows}
    assert told == set(sql("select region, points, low from trend where unit = 'ORG' and period = '2026-10'"))
    about = {row[0]: row[1] for row in book["About"].iter_rows(values_only=True)}
    assert about["Source"] == "Evenhand, edition 28 of October 2026, hash 3f9c3f9c3f9c3f9c"
    assert "diagnoses nobody" in about["Caution"]
    assert about["Reading"] == behind.sentence


def test_the_drawing_stands_alone(behind: Behind) -> None:
    text = behind.file("svg").decode()
    said = "".join(ElementTree.fromstring(text).itertext())
    for words in ("What moved", "edition 28 of October 2026", "diagnoses nobody"):
        assert words in said
    assert not re.search(r"https?://(?!www\.w3\.org/2000/svg\")", text)
    image = behind.file("png")
    assert image[:8] == b"\x89PNG\r\n\x1a\n"
    width, height = struct.unpack(">II", image[16:24])
    assert width > 1000
    assert height > 400


def test_a_table_without_a_figure_offers_no_drawing(behind: Behind) -> None:
    bare = Behind("Measures", behind.rows)
    assert bare.kinds() == ("csv", "xlsx")
    with pytest.raises(KeyError):
        bare.file("png")


def test_a_figure_without_rows_offers_nothing(behind: Behind, monkeypatch: pytest.MonkeyPatch) -> None:
    nothing = Behind("What moved", behind.rows.iloc[:0])
    assert nothing.kinds() == ()
    table = TableBehind("What moved", "evenhand_moved.csv")
    table.show(behind.rows, moved.TREND_COLUMNS)
    table.tools.open = True
    assert table._table.visible
    table.show(nothing.rows, moved.TREND_COLUMNS)
    assert not table.tools.offers_table
    assert table.tools.kinds == []
    assert not table._table.visible
    sent: list[dict[str, str]] = []
    monkeypatch.setattr(table.tools, "_send_msg", sent.append)
    table.tools._handle_msg({"kind": "csv"})
    assert sent == []
    # The reader asked for the table once: with the next choice that has rows it is back.
    table.show(behind.rows, moved.TREND_COLUMNS)
    assert table.tools.offers_table
    assert table._table.visible
    assert "Shoulder" in table._table.object


def test_every_figure_of_every_room_offers_what_it_has(frames: ReleaseFrames, state: RoomState) -> None:
    """Rows that are hidden count: why a number is not shown can be taken away too."""
    rooms = Rooms(frames, state, pd.Timestamp("2026-11-25"))
    empty = full = 0
    for room in ROOMS:
        state.room = room
        for unit in ("organisation.ORG", "team.TINY"):
            state.unit = unit
            for tools in rooms.__panel__().select(Tools):
                rows = len(tools.behind.rows)
                assert {"csv", "xlsx"} & set(tools.kinds) == ({"csv", "xlsx"} if rows else set()), (
                    tools.figure
                )
                assert rows or not tools.offers_table, tools.figure
                empty, full = empty + (not rows), full + bool(rows)
    assert empty > 0
    assert full > 0


def test_a_browser_gets_only_what_is_offered(behind: Behind, monkeypatch: pytest.MonkeyPatch) -> None:
    tools = Tools(behind, "evenhand_moved")
    sent: list[dict[str, str]] = []
    monkeypatch.setattr(tools, "_send_msg", sent.append)
    for forged in ({"kind": "exe"}, {"kind": "../x"}, {"kind": ["csv"]}, {}, "csv", None):
        tools._handle_msg(forged)
    assert sent == []
    tools._handle_msg({"kind": "csv"})
    assert sent[0]["name"] == "evenhand_moved.csv"
    assert base64.b64decode(sent[0]["content"]).decode().startswith("edition,period,compared_with")


def test_no_two_figures_of_a_room_share_a_name(frames: ReleaseFrames, state: RoomState) -> None:
    rooms = Rooms(frames, state, pd.Timestamp("2026-11-25"))
    for room in ROOMS:
        state.room = room
        names = [tools.figure for tools in rooms.__panel__().select(Tools)]
        assert all(names)
        assert len(set(names)) == len(names)


def test_files_follow_the_choice(frames: ReleaseFrames, state: RoomState) -> None:
    table = TableBehind("Hours", "evenhand_hours.csv")
    for unit in ("team.QC1", "cluster.BIO"):
        state.param.update(unit=unit, measure="hours_per_week")
        reading = exposure.trend(frames, state.settings())
        table.show(reading.rows, reading.columns, reading, frames.edition())
        text = table.behind.file("csv").decode()
        assert set(pd.read_csv(io.StringIO(text))["unit"]) == {unit.partition(".")[2]}
    assert isinstance(table.__panel__(), pn.Column)
