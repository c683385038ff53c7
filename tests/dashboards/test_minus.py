"""No text a reader sees prints a hyphen where it means a minus, whatever the sentences of a release say."""

import dataclasses
import io
import re
import shutil
from collections.abc import Iterator
from pathlib import Path
from typing import Any
from xml.etree import ElementTree

import duckdb
import openpyxl
import pandas as pd
import panel as pn
import pytest

from dashboards.brief.compose import compose
from dashboards.brief.to_html import to_html
from dashboards.data import ReleaseFrames
from dashboards.state import ROOMS, RoomState
from dashboards.views.rooms import CONTROLS, Rooms
from dashboards.views.table import Tools
from etl.release_door import open_release

TODAY = pd.Timestamp("2026-11-25")
# Ends every sentence of the planted release; the last three are no minus.
TOLD = " Moved by -5 points (-10 to -1), 10-19 people, T-01, 2026-10."
SENTENCES = (
    "sentence", "settle", "checks", "weaker", "cost", "method_words", "detail", "calibration", "assumptions",
    "adjusted", "averaged", "cannot", "cost_words", "text", "why", "look_next", "guide_words", "meaning",
    "remedy", "note", "best_change",
)  # fmt: skip
MINUS = re.compile(r"(?<![\w-])-(?=\d)")


def planted(source: Path, target: Path) -> Path:
    """Copy a release and end every sentence in it with negative numbers and with what only looks like one."""
    shutil.copy(source, target)
    target.chmod(0o600)
    with duckdb.connect(str(target)) as con:
        texts = con.execute(
            "select table_name, column_name from information_schema.columns where data_type = 'VARCHAR'"
        ).fetchall()
        for table, column in texts:
            if column in SENTENCES:
                con.execute(
                    f"update {table} set {column} = {column} || ? where coalesce({column}, '') <> ''", [TOLD]
                )
    return target


@pytest.fixture(scope="module", params=["invented", "demo"])
def negative(
    request: pytest.FixtureRequest, release_file: Path, tmp_path_factory: pytest.TempPathFactory
) -> ReleaseFrames:
    """The two hold words in different tables: only together do they fill all."""
    source = release_file
    if request.param == "demo":
        source = request.getfixturevalue("demo_home").current_release.resolve()
    path = planted(source, tmp_path_factory.mktemp("negative") / "release.duckdb")
    return ReleaseFrames(open_release(path).pin())


def texts_of(value: Any) -> Iterator[str]:
    """Yield every text in a plot's description."""
    if isinstance(value, str):
        yield value
    elif isinstance(value, pd.DataFrame):
        # What is drawn or stands at the pointer; the other columns are rows of the release.
        for name in {"label", "printed", "text"} & set(value.columns):
            yield from value[name].dropna().astype(str)
    elif dataclasses.is_dataclass(value):
        for entry in dataclasses.fields(value):
            yield from texts_of(getattr(value, entry.name))
    elif isinstance(value, dict):
        for key, inner in value.items():
            yield from (str(key), *texts_of(inner))
    elif isinstance(value, list | tuple):
        for inner in value:
            yield from texts_of(inner)


def shown(rooms: Rooms) -> Iterator[str]:
    """Yield all a reader of the open room can read: markup, open tables, plots, words in files."""
    page = rooms.__panel__()
    for tools in page.select(Tools):
        tools.open = True
    for pane in page.select(pn.pane.HTML):
        yield str(pane.object or "")
    for tools in page.select(Tools):
        yield from (tools.figure, tools.sentence)
        yield from texts_of(dataclasses.replace(tools.behind, rows=pd.DataFrame()))


def complaints(texts: Iterator[str]) -> list[str]:
    """Return each hyphen that means a minus, with what stands around it."""
    return [
        text[max(0, found.start() - 90) : found.end() + 20]
        for text in texts
        # Style and drawing instructions of markup have minuses of their own.
        for text in [re.sub(r"<(style|svg)\b.*?</\1>", " ", text, flags=re.DOTALL)]
        for found in MINUS.finditer(text)
    ]


def test_no_text_of_a_room_prints_a_hyphen_for_a_minus(negative: ReleaseFrames) -> None:
    state = RoomState(negative.choices())
    rooms = Rooms(negative, state, TODAY)
    telling = set()
    for room in ROOMS:
        state.room = room
        for name in CONTROLS[room]:
            for value in list(state.param[name].objects)[:3]:
                setattr(state, name, value)
                texts = list(shown(rooms))
                assert complaints(iter(texts)) == [], room
                # In their right form, and what is no minus as it was.
                if "\u22125 points (\u221210 to \u22121), 10-19 people, T-01, 2026-10." in " ".join(texts):
                    telling.add(room)
    # The planted words did come to readers; the invented release has no sentence for the Month room.
    assert telling >= set(ROOMS) - {"Month"}


def test_no_drawing_or_workbook_taken_away_does(negative: ReleaseFrames) -> None:
    state = RoomState(negative.choices())
    rooms = Rooms(negative, state, TODAY)
    state.room = "Drivers"
    texts, files = "", 0
    for part in rooms.room.parts:
        behind = part.table.behind
        if "svg" in behind.kinds():
            texts += " ".join(ElementTree.fromstring(behind.file("svg")).itertext())
            files += 1
        if "xlsx" in behind.kinds():
            about = openpyxl.load_workbook(io.BytesIO(behind.file("xlsx")))["About"]
            texts += " ".join(str(cell.value) for row in about.iter_rows() for cell in row)
            files += 1
    assert files > 10
    assert complaints(iter([texts])) == []
    assert "\u22125 points" in texts


def test_the_brief_does_not(negative: ReleaseFrames) -> None:
    page = to_html(compose(negative, "2026-10"))
    assert complaints(iter([page])) == []
    assert "Moved by \u22125 points" in page


def test_the_search_finds_a_minus_and_nothing_else() -> None:
    assert len(complaints(iter([TOLD]))) == 3
    assert complaints(iter(["10-19 people of T-01, 2026-10 to 2026-12, \u22123 points"])) == []
