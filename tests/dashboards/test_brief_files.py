"""The brief as files: two to four tagged pages, one page of HTML naming no other, text that stays text."""

import io
import re
from html.parser import HTMLParser
from pathlib import Path

import pytest
from pypdf import PdfReader
from typer.testing import CliRunner

from dashboards.brief.paper import Paper, brief_of
from dashboards.cli import app
from etl.errors import EvenhandError
from etl.release_door import open_release
from tests.support.fake_release import FrameDoor

EVIL = '<script>alert(1)</script> #emph[x] *b* $y$ @z \\ "q" ]#pagebreak()'


@pytest.fixture(scope="module")
def paper(release_file) -> Paper:
    return brief_of(open_release(release_file).pin(), "2026-10")


@pytest.fixture(scope="module")
def pdf(paper: Paper) -> PdfReader:
    return PdfReader(io.BytesIO(paper.pdf()))


def flat(text: str) -> str:
    """Return text without white space: a PDF breaks lines where it likes."""
    return re.sub(r"\s", "", text)


def structure(node, found: list) -> list:
    """Return the structure elements of a tagged document."""
    node = node.get_object()
    if isinstance(node, dict):
        found.append(node)
        kids = node.get("/K", [])
        for kid in kids if isinstance(kids, list) else [kids]:
            if not isinstance(kid, int):
                structure(kid, found)
    return found


def test_two_to_four_pages_with_the_edition_on_each(pdf: PdfReader) -> None:
    assert 2 <= len(pdf.pages) <= 4
    for place, page in enumerate(pdf.pages, start=1):
        text = page.extract_text()
        assert f"Page {place} of {len(pdf.pages)}" in text
        assert "Edition 28 of October 2026" in text
        assert "diagnoses nobody" in text


def test_the_pages_hold_the_numbers_of_the_release(pdf: PdfReader, sql) -> None:
    text = flat("".join(page.extract_text() for page in pdf.pages))
    assert "3f9c" * 16 in text
    ((points, low, high),) = sql(
        "select points, low, high from trend where unit = 'ORG' and period = '2026-10' "
        "and region = 'SHOULDER'"
    )
    assert flat(f"{points} ({low} to {high}), rising") in text
    ((value, least, most),) = sql(
        "select value, low, high from exposure where unit = 'QC1' and period = '2026-10' "
        "and measure = 'hours_per_week'"
    )
    assert flat(f"{value:.1f} h a week ({least:.1f} to {most:.1f})") in text


def test_the_pdf_is_tagged_and_every_figure_has_words(pdf: PdfReader) -> None:
    root = pdf.trailer["/Root"]
    assert root["/MarkInfo"]["/Marked"]
    assert str(root["/Lang"]).startswith("en")
    assert "pdfuaid" in root["/Metadata"].get_object().get_data().decode()
    nodes = structure(root["/StructTreeRoot"], [])
    kinds = [node.get("/S") for node in nodes]
    assert {"/H1", "/H2", "/Table", "/TH", "/L", "/Figure"} <= set(kinds)
    figures = [node for node in nodes if node.get("/S") == "/Figure"]
    assert len(figures) == 12
    assert all(len(str(figure["/Alt"])) > 40 for figure in figures)


def test_the_same_edition_gives_the_same_bytes(paper: Paper, release_file: Path) -> None:
    again = brief_of(open_release(release_file).pin(), "2026-10")
    assert paper.pdf() == again.pdf()
    assert paper.html() == again.html()


class Outside(HTMLParser):
    """Collects what a page would fetch or run."""

    def __init__(self) -> None:
        super().__init__()
        self.found: list[str] = []

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        names = ("src", "href", "xlink:href", "srcset", "action", "data")
        self.found += [f"{tag} {name}" for name, _ in attrs if name in names or name.startswith("on")]
        self.found += [tag] if tag in ("script", "link", "iframe", "object", "img") else []


def test_the_page_names_no_other(paper: Paper) -> None:
    page = paper.html()
    reader = Outside()
    reader.feed(page)
    assert not reader.found
    assert not re.search(r"https?:|url\(|@import", page)
    assert page.count("<svg") == page.count('role="img" aria-label="') == 12
    assert 'aria-label=""' not in page


def test_markup_in_names_and_titles_stays_text(door: FrameDoor) -> None:
    unit, change = door.frames["unit"], door.frames["change"]
    unit.loc[unit["unit"].isin(["ORG", "QC1", "CELL"]), "name"] = EVIL
    change["title"], change["why"], change["owner_role"] = EVIL, EVIL, EVIL
    paper = brief_of(door, "2026-10")
    page = paper.html()
    assert "<script" not in page
    assert page.count("&lt;script&gt;alert(1)&lt;/script&gt;") > 3
    text = flat("".join(p.extract_text() for p in PdfReader(io.BytesIO(paper.pdf())).pages))
    assert text.count(flat(EVIL)) > 3


def test_a_notebook_shows_the_page_in_a_closed_frame(paper: Paper) -> None:
    shown = paper._repr_html_()
    assert shown.startswith("<iframe")
    assert " sandbox " in shown
    assert "<h1" not in shown


def test_a_file_of_another_kind_is_refused(paper: Paper, tmp_path: Path) -> None:
    with pytest.raises(EvenhandError, match=r"Write \.pdf or \.html"):
        paper.save(tmp_path / "paper.docx")


@pytest.mark.parametrize(("form", "start"), [("pdf", b"%PDF-1.7"), ("html", b"<!doctype html>")])
def test_the_command_writes_the_paper(release_file: Path, tmp_path: Path, form: str, start: bytes) -> None:
    folder = tmp_path / "release"
    folder.mkdir()
    (folder / "current.duckdb").symlink_to(release_file)
    target = tmp_path / f"paper.{form}"
    words = ["brief", "--period", "2026-10", "--to", form, "--out", str(target), "--home", str(tmp_path)]
    done = CliRunner().invoke(app, words, catch_exceptions=False)
    assert done.exit_code == 0
    assert "Edition 28 of October 2026" in done.stdout
    assert target.read_bytes().startswith(start)


def test_a_file_that_cannot_be_written_is_one_clear_line(release_file: Path, tmp_path: Path) -> None:
    (tmp_path / "release").mkdir()
    (tmp_path / "release" / "current.duckdb").symlink_to(release_file)
    words = ["brief", "--period", "2026-10", "--to", "html", "--out", str(tmp_path / "no" / "x.html")]
    done = CliRunner().invoke(app, [*words, "--home", str(tmp_path)])
    assert isinstance(done.exception, EvenhandError)
    assert "Name another file with --out." in str(done.exception)
