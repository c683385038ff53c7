"""The looks: palette, type, page theme, styles and the drawing defaults, set once a process."""

import functools
import importlib.resources
import string
from typing import Any

import holoviews as hv

# Hues were chosen for about equal contrast on white and on the dark surface (at least 3:1 on both)
# and stay apart for red-blind, green-blind and blue-blind eyes; none stands for good or bad.
INK = "#2f7391"  # the chosen unit: petrol
SOIL = "#b8672a"  # attention, a guide, a marked start: burnt sienna
PLUM = "#8a6bb1"  # the second group
ASH = "#7d858c"  # comparison: the organisation, last year
MARK = {"rising": "triangle", "steady": "square", "easing": "inverted_triangle", "too few answers": "diamond"}
HUE = {"rising": SOIL, "steady": ASH, "easing": INK, "too few answers": ASH}
STANDING_HUE = {"within guide": INK, "near guide": PLUM, "over guide": SOIL}

FONT = '"Source Sans 3", "Segoe UI", Roboto, "Helvetica Neue", Arial, sans-serif'

FOCUS_LINE = {"outline": "2px solid currentColor", "outlineOffset": "2px"}
STILL = {"transition": "none !important", "animation": "none !important"}

PAGE_THEME: dict[str, Any] = {
    "light": {
        "palette": {
            "primary": {"main": "#22556d", "contrastText": "#ffffff"},
            "background": {"default": "#fcfbf8", "paper": "#fcfbf8"},
            "text": {"primary": "#1c2328", "secondary": "#535d64"},
            "divider": "#dcd9d0",
        }
    },
    "dark": {
        "palette": {
            "primary": {"main": "#8cc3da", "contrastText": "#0e1418"},
            "background": {"default": "#12171a", "paper": "#12171a"},
            "text": {"primary": "#e8e6e0", "secondary": "#a9b1b6"},
            "divider": "#333b40",
        }
    },
}
for _mode in PAGE_THEME.values():
    _mode["typography"] = {"fontFamily": FONT, "button": {"textTransform": "none", "fontWeight": 500}}
    _mode["shape"] = {"borderRadius": 3}
    # No ripples: they move, and they are the library's only mark of the keyboard's place. Ours is a line.
    _mode["components"] = {
        "MuiButtonBase": {
            "defaultProps": {"disableRipple": True},
            "styleOverrides": {
                "root": {"&.Mui-focusVisible": FOCUS_LINE, "@media (prefers-reduced-motion: reduce)": STILL}
            },
        },
        "MuiInputLabel": {"styleOverrides": {"root": {"@media (prefers-reduced-motion: reduce)": STILL}}},
        "MuiSvgIcon": {"styleOverrides": {"root": {"@media (prefers-reduced-motion: reduce)": STILL}}},
        "MuiSelect": {"styleOverrides": {"select": {"&:focus-visible": FOCUS_LINE}}},
    }

# The waiting veil of the page: our surface and a word instead of a dark curtain.
RAW_CSS = """
#loader { background: #fcfbf8 !important; color: #535d64; }
#loader::after { content: "Opening the release"; font: 15px sans-serif; }
#loader.error::after { content: ""; }
.spinner { width: 28px !important; height: 28px !important; border-width: 3px !important;
  border-color: #dcd9d0 !important; border-top-color: #22556d !important; }
@page { margin: 14mm 12mm; }
@media (prefers-color-scheme: dark) { #loader { background: #12171a !important; color: #a9b1b6; } }
@media (prefers-reduced-motion: reduce) { .spinner { animation: none !important; } }
"""

PAGE_SX: dict[str, Any] = {
    # A quiet strip instead of a coloured bar: the page belongs to the numbers.
    "& header.MuiAppBar-root": {
        "backgroundColor": "background.default",
        "backgroundImage": "none",
        "color": "text.primary",
        "boxShadow": "none",
        "borderBottom": "1px solid",
        "borderColor": "divider",
    },
    "& header .MuiToolbar-root": {"minHeight": "52px !important"},
    # The library draws its busy sign even where it is told not to.
    "& header [role=progressbar]": {"display": "none"},
    "@media (prefers-reduced-motion: reduce)": {"& *": STILL},
    "@media print": {
        "display": "block",
        "height": "auto",
        "overflow": "visible",
        # The strip names the edition; it stands once, and its switch is of no use on paper.
        "& header.MuiAppBar-root": {"position": "static !important", "padding": 0},
        "& header button, & main .MuiToolbar-root": {"display": "none"},
        "& main, & .main-content": {"overflow": "visible !important", "height": "auto"},
    },
}

CSS = string.Template(
    importlib.resources.files("dashboards").joinpath("style.css").read_text(encoding="utf-8")
).substitute(
    font=FONT,
    ink=INK,
    soil=SOIL,
    # Outside our page (a notebook) the page's colours are not defined; the fallbacks suit both.
    text="var(--mui-palette-text-primary, currentColor)",
    muted="var(--mui-palette-text-secondary, #737b81)",
    rule="var(--mui-palette-divider, #a8adb1)",
)


@functools.cache
def use() -> None:
    """Load the drawing backend and set its defaults; further calls do nothing."""
    hv.extension("bokeh", logo=False, inline=True)
    # A few dozen marks draw faster on a plain canvas; a WebGL context a figure runs out at sixteen.
    hv.renderer("bokeh").param.update(webgl=False)
    quiet = {"toolbar": None, "default_tools": [], "active_tools": []}
    frame = {"responsive": True, "show_legend": False, "show_grid": False, "fontscale": 1, **quiet}
    hv.opts.defaults(
        hv.opts.Overlay(**frame),
        hv.opts.Curve(**quiet),
        hv.opts.Points(**quiet),
        hv.opts.Scatter(**quiet),
        hv.opts.Segments(**quiet),
        hv.opts.Rectangles(**quiet),
        hv.opts.Labels(**quiet),
    )


def css_vars() -> dict[str, str]:
    """Return the hues by role, for tests of contrast.

    Returns
    -------
    dict of str to str
        Role -> hexadecimal colour.
    """
    return {"ink": INK, "soil": SOIL, "plum": PLUM, "ash": ASH}
