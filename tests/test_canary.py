"""Nothing of a person comes out: canaries planted in the files loaded are searched for in what leaves.

The canaries: pseudonyms, also in rows set aside, an e-mail address in a column that should hold none, the
random tokens and the release key. What leaves: what commands and logs say, the release folder, the rooms
and a notebook's output.
"""

import io
import logging
from collections.abc import Iterable
from pathlib import Path

import nbformat
import pandas as pd
import pytest
from bokeh.document import Document
from nbclient import NotebookClient

from dashboards.app import build
from dashboards.brief.paper import brief_of
from dashboards.cli import main
from dashboards.data import ReleaseFrames
from dashboards.files import Behind
from dashboards.state import ROOMS, RoomState
from dashboards.views.rooms import Rooms
from etl.home import Home
from etl.keys import read_key
from etl.release_door import open_release, pinned
from etl.store import open_store
from tests.support.keyed_institute import CANARY, NAMES, STRANGER, every_text, institute, loaded
from tests.support.load_files import load, write_all
from tests.test_notebooks import NOTEBOOKS

EMAIL = "canary.person@mail.example"
TODAY = pd.Timestamp("2026-11-25")


@pytest.fixture(scope="module")
def said(tmp_path_factory: pytest.TempPathFactory) -> Iterable[tuple[Home, str]]:
    """Load and publish by command, and keep all that was said."""
    patch, folder = pytest.MonkeyPatch(), tmp_path_factory.mktemp("canary")
    home = loaded(folder)
    told: list[str] = []

    class Listener(logging.Handler):
        def emit(self, record: logging.LogRecord) -> None:
            told.append(self.format(record))

    listener = Listener(logging.DEBUG)
    logging.getLogger().addHandler(listener)
    surveys = institute()["surveys"]
    mailed = [surveys[0] | {"month": "2026-09", "score": EMAIL}, *surveys]
    told.append(str(load(folder, write_all(folder / "mail", {"surveys": mailed}))))
    patch.setattr("dashboards.cli_release.say", told.append)
    for words in (["--period", "2026-05"], ["list"], ["show", "1"], ["verify"]):
        patch.setattr("sys.argv", ["evenhand", "release", *words, "--home", str(home.root)])
        with pytest.raises(SystemExit) as ended:
            main()
        assert not ended.value.code, told[-1:]
    logging.getLogger().removeHandler(listener)
    yield home, "\n".join(told)
    patch.undo()


@pytest.fixture(scope="module")
def secrets(said: tuple[Home, str]) -> tuple[str, ...]:
    home, _ = said
    with open_store(home, write=False) as con:
        tokens = [t for (t,) in con.execute("select token from release_private.token").fetchall()]
        assert EMAIL not in every_text(con)
    assert len(tokens) == len(NAMES)
    key = read_key(home.keys_dir / "release.key").secret.hex()
    return (*NAMES.values(), CANARY, STRANGER, EMAIL, *tokens, key)


def found(secrets: Iterable[str], text: str) -> list[str]:
    return [secret for secret in secrets if secret in text]


def test_the_canaries_are_in_what_was_loaded_and_the_search_finds_them(said, secrets) -> None:
    home, _ = said
    files = [path for name in ("in", "mail") for path in (home.root.parent / name).iterdir()]
    raw = "\n".join(path.read_text() for path in files)
    assert set(found(secrets, raw)) >= {CANARY, STRANGER, EMAIL}


def test_commands_and_logs_name_nobody(said, secrets) -> None:
    _, told = said
    assert "Edition 1" in told
    assert "E_PII" in told
    assert found(secrets, told) == []


def test_the_release_names_nobody(said, secrets) -> None:
    home, _ = said
    for path in home.release_dir.iterdir():
        data = path.read_bytes()
        assert not [secret for secret in secrets if secret.encode() in data]
    with pinned(home) as release:
        # Compressed columns hide a string from a byte search, so every value is read as well.
        text = "\n".join(release.table(name).to_csv() for name in release.tables())
    assert len(text) > 10_000
    assert found(secrets, text) == []


def test_no_room_names_anybody(said, secrets) -> None:
    home, _ = said
    whole = Document()
    build(open_release(home), TODAY).server_doc(whole)
    assert found(secrets, str(whole.to_json())) == []
    frames = ReleaseFrames(open_release(home).pin())
    state = RoomState(frames.choices())
    rooms = Rooms(frames, state, TODAY)
    sizes = set()
    for room in ROOMS[::3]:  # Each takes seconds; the whole page above holds the first.
        state.room = room
        document = Document()
        document.add_root(rooms.__panel__().get_root(document))
        text = str(document.to_json())
        sizes.add(len(text))
        assert found(secrets, text) == []
    assert min(sizes) > 10_000


def test_neither_the_brief_nor_a_download_names_anybody(said, secrets) -> None:
    home, _ = said
    with pinned(home) as release:
        html = brief_of(release, "2026-05").html()
        frames = {name: release.table(name) for name in ("unit", "health", "exposure", "coverage", "method")}
    assert len(html) > 5_000
    assert found(secrets, html) == []
    for name, frame in frames.items():
        behind = Behind(name, frame, sentence="read", foot="counted")
        assert len(frame), name
        assert found(secrets, behind.file("csv").decode()) == []
        # A workbook is a compressed archive, so its cells are read as well as its bytes.
        book = pd.read_excel(io.BytesIO(behind.file("xlsx")), sheet_name=None, header=None)
        assert {"Rows", "About"} <= set(book)
        assert found(secrets, "\n".join(sheet.to_csv() for sheet in book.values())) == []


@pytest.mark.parametrize("path", NOTEBOOKS[:1], ids=lambda path: path.stem)
def test_no_notebook_names_anybody(said, secrets, path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    home, _ = said
    monkeypatch.setenv("EVENHAND_HOME", str(home.root))
    notebook = nbformat.read(path, as_version=4)
    NotebookClient(notebook, timeout=180, resources={"metadata": {"path": str(path.parent)}}).execute()
    text = nbformat.writes(notebook)
    assert "text/html" in text
    assert found(secrets, text) == []
