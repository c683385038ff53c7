"""The library's looks left out: each part of the page gets our styles alone, and each of those travels once.

The library links three files of its own into the tree of every part, a hundred links on a page, and holds
each part's words back until they are there; our styles would stand in the message once a part.
"""

from typing import Any, ClassVar

from bokeh.models import InlineStyleSheet
from panel.theme.base import DefaultTheme, Design, Theme


class Bare(DefaultTheme):
    """No styles for the page; it has its own."""

    base_css = None
    css = None


class Plain(Design):
    """Our styles alone, one of each a page."""

    _themes: ClassVar[dict[str, type[Theme]]] = {"default": Bare, "dark": Bare}

    def _reapply(
        self,
        viewable: Any,
        root: Any,
        old_models: Any = None,
        isolated: bool = True,
        cache: Any = None,
        document: Any = None,
    ) -> None:
        shared = {} if cache is None else cache
        for part in viewable.select():
            model, _ = part._models.get(root.ref["id"], (None, None))
            if model is None or not hasattr(model, "stylesheets"):
                continue
            part._design = self
            own = [*type(part)._stylesheets, *part.stylesheets]
            new = [_one(shared, sheet) for sheet in own if _ours(sheet)]
            if list(model.stylesheets) != new:
                model.stylesheets = new


def _ours(sheet: Any) -> bool:
    return isinstance(sheet, str) and not sheet.endswith(".css")


def _one(shared: dict[Any, Any], text: str) -> InlineStyleSheet:
    key = ("own", text)
    if key not in shared:
        shared[key] = InlineStyleSheet(css=text)
    return shared[key]
