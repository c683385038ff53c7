"""The brief as a tagged PDF, set by typst from a fixed template and plain data."""

import datetime
import functools
import importlib.resources
import json
from typing import Any

from dashboards.brief.content import Block, Brief, Grid, Multiples, Picture, Points, Words

SERIF = "Libertinus Serif"


def to_pdf(brief: Brief) -> bytes:
    """Return the brief as PDF/UA-1.

    The words go in as data, never as source: nothing in a name or a title can be read as markup.

    Parameters
    ----------
    brief : Brief
        The brief.

    Returns
    -------
    bytes
        The document, the same bytes for the same brief: own fonts only, dated by the edition.
    """
    return _set(brief, format="pdf", pdf_standards=["ua-1"])


def to_png(brief: Brief, ppi: float = 96.0) -> list[bytes]:
    """Return each page as an image, for looking at it.

    Parameters
    ----------
    brief : Brief
        The brief.
    ppi : float, default 96
        Pixels per inch.

    Returns
    -------
    list of bytes
        PNG files.
    """
    pages = _set(brief, format="png", ppi=ppi)
    return pages if isinstance(pages, list) else [pages]


def _set(brief: Brief, **output: Any) -> Any:
    import typst

    template = importlib.resources.files("dashboards").joinpath("brief/brief.typ").read_bytes()
    made = datetime.datetime.fromisoformat(brief.made_at).replace(tzinfo=datetime.UTC)
    compiler = typst.Compiler(ignore_system_fonts=True)
    data = json.dumps(as_data(brief), ensure_ascii=False)
    return compiler.compile(input=template, sys_inputs={"brief": data}, timestamp=made, **output)


def as_data(brief: Brief) -> dict[str, Any]:
    """Return the brief as the template reads it.

    Parameters
    ----------
    brief : Brief
        The brief.

    Returns
    -------
    dict
        Texts, lists and SVG documents.
    """
    return {
        "title": brief.title,
        "institute": brief.institute,
        "edition": brief.edition,
        "hash": brief.content_hash,
        "headline": brief.headline,
        "lead": brief.lead,
        "facts": [list(fact) for fact in brief.facts],
        "caution": brief.caution,
        "sections": [{"title": s.title, "blocks": [_data(b) for b in s.blocks]} for s in brief.sections],
    }


@functools.singledispatch
def _data(block: Block) -> dict[str, Any]:
    raise TypeError(f"no typesetting for {type(block).__name__}")


@_data.register
def _(block: Words) -> dict[str, Any]:
    return {"type": "words", "kind": block.kind, "text": block.text}


@_data.register
def _(block: Points) -> dict[str, Any]:
    return {"type": "points", "items": list(block.items)}


@_data.register
def _(block: Picture) -> dict[str, Any]:
    return {"type": "picture", **_picture(block)}


@_data.register
def _(block: Multiples) -> dict[str, Any]:
    pairs = zip(block.pictures, block.captions, strict=True)
    return {"type": "multiples", "pictures": [{**_picture(p), "caption": c} for p, c in pairs]}


@_data.register
def _(block: Grid) -> dict[str, Any]:
    widths = list(block.widths) or [1] * len(block.heads)
    rows = [list(row) for row in block.rows]
    return {
        "type": "grid",
        "caption": block.caption,
        "heads": list(block.heads),
        "rows": rows,
        "widths": widths,
    }


def _picture(picture: Picture) -> dict[str, Any]:
    return {"title": picture.title, "words": picture.words, "svg": picture.drawing.svg(font=SERIF)}
