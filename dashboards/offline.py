"""Pages and notebook output that draw without asking another host."""

import base64
import functools
from importlib import resources
from typing import Any

import panel as pn
from bokeh.models import ImportedStyleSheet
from panel.io.resources import CDN_DIST, LOCAL_DIST


def use_own_server() -> None:
    """Have the page being made take its styles from the server it comes from; nothing outside a server.

    The library sees to that when it answers the request for a page. On a slow line the server has given
    that page up by the time the scripts are there, and makes it anew for the connection, with styles
    from a content network.
    """
    document = pn.state.curdoc
    if document is not None and document.session_context is not None:
        place = f"{pn.state.rel_path}/{LOCAL_DIST}" if pn.state.rel_path else LOCAL_DIST
        document.template_variables.setdefault("dist_url", place)


@functools.cache
def use_inline() -> None:
    """Load the notebook's scripts and styles from this machine; further calls do nothing.

    Some files have no inline form in the library and would come from a content network: the loader of
    script modules and the styles of whatever is redrawn after a choice, which are handed out as data instead.
    """
    from panel.models.esm import ReactiveESM

    shims = next(iter(_below(resources.files("panel") / "dist" / "bundled" / "reactiveesm", "shims.min.js")))
    esm: Any = ReactiveESM
    esm.__javascript_raw__ = [_as_data(shims, "text/javascript")]
    _hand_out_styles()
    pn.extension(inline=True)


def _hand_out_styles() -> None:
    # The library writes styles into the page when a view is first shown, and links them when it is redrawn.
    from panel.reactive import Syncable

    anyone: Any = Syncable
    linked = anyone._process_param_change

    def handed_out(self: Any, params: dict[str, Any]) -> dict[str, Any]:
        properties = linked(self, params)
        for sheet in properties.get("stylesheets", ()):
            place = sheet.url.partition("?")[0] if isinstance(sheet, ImportedStyleSheet) else ""
            # A place on a server of the library's own becomes the content network's on the way.
            for start in (CDN_DIST, LOCAL_DIST):
                if place.startswith(start):
                    sheet.url = _style(place.removeprefix(start))
        return properties

    anyone._process_param_change = handed_out


@functools.cache
def _style(name: str) -> str:
    return _as_data(resources.files("panel") / "dist" / name, "text/css")


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
