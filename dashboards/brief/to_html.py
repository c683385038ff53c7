"""The brief as one HTML file that names no other."""

import functools
import importlib.resources

from dashboards.brief.content import Block, Brief, Grid, Multiples, Picture, Points, Section, Words
from dashboards.labels import safe


def to_html(brief: Brief) -> str:
    """Return the brief as a self-contained page with a print style.

    Parameters
    ----------
    brief : Brief
        The brief.

    Returns
    -------
    str
        HTML; every word of the release is escaped.
    """
    css = importlib.resources.files("dashboards").joinpath("brief/brief.css").read_text(encoding="utf-8")
    facts = "".join(
        f"<div><dt>{safe(name)}</dt><dd>{safe(value)}<small>{safe(behind)}</small></dd></div>"
        for name, value, behind in brief.facts
    )
    return (
        '<!doctype html>\n<html lang="en"><head><meta charset="utf-8">'
        '<meta name="viewport" content="width=device-width, initial-scale=1">'
        f"<title>{safe(brief.title)}: {safe(brief.institute)}</title><style>{css}</style></head><body><main>"
        f'<p class="eyebrow">{safe(brief.institute)} \u00b7 {safe(brief.title)}</p>'
        f'<h1>{safe(brief.headline)}</h1><p>{safe(brief.lead)}</p><dl class="facts">{facts}</dl>'
        f"{''.join(_section(s) for s in brief.sections)}</main>"
        f'<footer><p class="small">{safe(brief.caution)}</p><p class="small">{safe(brief.edition)}. '
        f"Hash <code>{safe(brief.content_hash)}</code></p></footer></body></html>\n"
    )


def _section(section: Section) -> str:
    return f"<section><h2>{safe(section.title)}</h2>{''.join(_block(b) for b in section.blocks)}</section>"


@functools.singledispatch
def _block(block: Block) -> str:
    raise TypeError(f"no markup for {type(block).__name__}")


@_block.register
def _(block: Words) -> str:
    kind = "" if block.kind == "text" else f' class="{safe(block.kind)}"'
    return f"<p{kind}>{safe(block.text)}</p>"


@_block.register
def _(block: Points) -> str:
    return f"<ul>{''.join(f'<li>{safe(item)}</li>' for item in block.items)}</ul>"


@_block.register
def _(block: Picture) -> str:
    caption = f"<figcaption><b>{safe(block.title)}</b></figcaption>"
    # A region that may scroll on a narrow screen must be reachable with the keyboard.
    return f'<figure tabindex="0">{caption}{_inline(block)}</figure>'


@_block.register
def _(block: Multiples) -> str:
    cells = "".join(
        f"<figure><figcaption><b>{safe(picture.title)}</b><br>{safe(caption)}</figcaption>"
        f"{_inline(picture)}</figure>"
        for picture, caption in zip(block.pictures, block.captions, strict=True)
    )
    return f'<div class="multiples">{cells}</div>'


@_block.register
def _(block: Grid) -> str:
    head = "".join(f'<th scope="col">{safe(name)}</th>' for name in block.heads)
    body = "".join(
        f'<tr><th scope="row">{safe(row[0])}</th>{"".join(f"<td>{safe(cell)}</td>" for cell in row[1:])}</tr>'
        for row in block.rows
    )
    return (
        f'<div class="scroll" tabindex="0" role="region" aria-label="{safe(block.caption)}"><table>'
        f"<caption>{safe(block.caption)}</caption>"
        f"<thead><tr>{head}</tr></thead><tbody>{body}</tbody></table></div>"
    )


def _inline(picture: Picture) -> str:
    # Inside HTML a drawing needs no namespace, and a reader finds no address in the file.
    return picture.drawing.svg(picture.words).replace(' xmlns="http://www.w3.org/2000/svg"', "", 1)
