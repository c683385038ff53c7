"""Notebook output that draws without asking another host."""

import base64
import functools
from importlib import resources
from typing import Any

import panel as pn


@functools.cache
def use_inline() -> None:
    """Load the notebook's scripts and styles from this machine; further calls do nothing.

    Two files have no inline form in the library and would come from a content network: the loader of
    script modules, which is handed out as data instead, and the typefaces of the page's widgets, for
    which the reader's own stand in.
    """
    from panel.models.esm import ReactiveESM
    from panel_material_ui.base import MaterialComponent

    shims = next(iter(_below(resources.files("panel") / "dist" / "bundled" / "reactiveesm", "shims.min.js")))
    esm: Any = ReactiveESM
    esm.__javascript_raw__ = [_as_data(shims, "text/javascript")]
    material: Any = MaterialComponent
    material._bundle_css = []
    pn.extension(inline=True)


def _below(folder: Any, ending: str) -> list[Any]:
    found: list[Any] = []
    for entry in folder.iterdir():
        if entry.is_dir():
            found += _below(entry, ending)
        elif entry.name.endswith(ending):
            found.append(entry)
    return found


def _as_data(file: Any, mime: str) -> str:
    return f"data:{mime};base64,{base64.b64encode(file.read_bytes()).decode('ascii')}"
