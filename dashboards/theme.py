"""The looks: palette, type, page theme, styles and the drawing defaults, set once a process."""

import functools
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

# The waiting veil of the page: our surface and a word instead of a dark curtain.
RAW_CSS = """
#loader { background: #fcfbf8 !important; color: #535d64; }
#loader::after { content: "Opening the release"; font: 15px sans-serif; }
#loader.error::after { content: ""; }
.spinner { width: 28px !important; height: 28px !important; border-width: 3px !important;
  border-color: #dcd9d0 !important; border-top-color: #22556d !important; }
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
    "@media print": {
        "display": "block",
        "height": "auto",
        "overflow": "visible",
        "& header": {"display": "none"},
        "& main, & .main-content": {"overflow": "visible !important", "height": "auto"},
    },
}

_TEXT = "var(--mui-palette-text-primary, currentColor)"
_MUTED = "var(--mui-palette-text-secondary, #6b747a)"
_RULE = "var(--mui-palette-divider, #cfcfca)"

CSS = f"""
:host {{ font-family: {FONT}; color: {_TEXT}; font-size: 15px; line-height: 1.45; }}
* {{ box-sizing: border-box; }}
h1 {{ font-size: clamp(22px, 2.5vw, 30px); line-height: 1.15; font-weight: 700; letter-spacing: -0.01em; margin: 2px 0 6px; }}
h2 {{ font-size: 17px; line-height: 1.25; font-weight: 700; margin: 0 0 2px; }}
h3 {{ font-size: 14px; font-weight: 700; margin: 10px 0 2px; }}
p {{ margin: 0 0 4px; max-width: 100ch; }}
.eyebrow {{ color: {_MUTED}; font-size: 13px; margin: 0; }}
.foot, .caution {{ color: {_MUTED}; font-size: 12.5px; line-height: 1.4; max-width: 110ch; }}
p.lead {{ font-size: 16px; max-width: 104ch; }}
.notice {{ border-left: 3px solid {SOIL}; padding: 4px 0 4px 12px; margin: 4px 0; max-width: 92ch; }}
.empty {{ border: 1px dashed {_RULE}; padding: 22px 18px; color: {_MUTED}; text-align: center; }}
.facts {{ display: flex; flex-wrap: wrap; gap: 6px 40px; margin: 8px 0 2px; padding: 0; }}
.facts div {{ min-width: 150px; max-width: 260px; }}
.facts dt {{ color: {_MUTED}; font-size: 12.5px; }}
.facts dd {{ margin: 0; font-size: 21px; font-weight: 700; font-variant-numeric: tabular-nums; line-height: 1.25; }}
.facts dd small {{ display: block; font-size: 12.5px; font-weight: 400; color: {_MUTED}; line-height: 1.35; }}
.scroll {{ overflow-x: auto; max-width: 100%; }}
.scroll.tall {{ max-height: 340px; overflow-y: auto; }}
.scroll:focus-visible {{ outline: 2px solid {INK}; outline-offset: 2px; }}
table {{ border-collapse: collapse; font-size: 13.5px; font-variant-numeric: tabular-nums; min-width: min(100%, 320px); }}
table.close td, table.close th {{ padding: 4px 12px 4px 0; white-space: nowrap; }}
table.close tbody th {{ white-space: normal; min-width: 120px; }}
@media (max-width: 640px) {{ table.close .drawn {{ display: none; }} table.close td {{ white-space: normal; }} }}
table svg {{ display: block; }}
.brand {{ font-size: 19px; font-weight: 700; letter-spacing: -0.01em; }}
.strip {{ display: flex; flex-wrap: wrap; align-items: baseline; gap: 0 18px; }}
.multiples {{ display: grid; grid-template-columns: repeat(auto-fill, minmax(min(100%, 236px), 1fr)); gap: 8px 22px; margin-top: 4px; }}
.multiples h3 {{ margin: 4px 0 0; }}
h3 .foot {{ font-weight: 400; }}
.pair {{ display: flex; flex-wrap: wrap; gap: 14px 44px; align-items: flex-start; }}
.pair > div {{ max-width: 100%; }}
svg.small {{ width: 100%; max-width: 340px; height: auto; font-size: 10.5px; }}
svg text {{ fill: {_MUTED}; }}
svg .grid {{ stroke: {_RULE}; stroke-width: .8; }}
svg .tick {{ stroke: {_MUTED}; stroke-width: .8; }}
caption {{ text-align: left; color: {_MUTED}; font-size: 12.5px; padding-bottom: 4px; }}
th, td {{ text-align: left; padding: 4px 14px 4px 0; border-bottom: 1px solid {_RULE}; vertical-align: top; }}
th {{ font-weight: 600; color: {_MUTED}; white-space: nowrap; }}
tbody th {{ color: {_TEXT}; white-space: normal; }}
td.n, th.n {{ text-align: right; white-space: nowrap; }}
td.why {{ color: {_MUTED}; font-style: italic; }}
ul.plain {{ list-style: none; padding: 0; margin: 0; }}
ul.plain li {{ padding: 5px 0; border-bottom: 1px solid {_RULE}; }}
ul.plain li small {{ display: block; color: {_MUTED}; font-size: 12.5px; }}
.shape {{ display: inline-block; width: 1.2em; color: {SOIL}; }}
.shape.calm {{ color: {INK}; }}
.shape.grey {{ color: {_MUTED}; }}
code {{ font-size: 12.5px; overflow-wrap: anywhere; }}
@media print {{ .scroll, .scroll.tall {{ max-height: none; overflow: visible; }} }}
"""


@functools.cache
def use() -> None:
    """Load the drawing backend and set its defaults; further calls do nothing."""
    hv.extension("bokeh")
    # A few dozen marks draw faster on a plain canvas; a WebGL context a figure runs out at sixteen.
    hv.renderer("bokeh").webgl = False
    quiet = {"toolbar": None, "default_tools": [], "active_tools": []}
    frame = {"responsive": True, "show_legend": False, "show_grid": False, "fontscale": 1, **quiet}
    hv.opts.defaults(
        hv.opts.Overlay(**frame),
        hv.opts.Curve(**quiet),
        hv.opts.Points(**quiet),
        hv.opts.Scatter(**quiet),
        hv.opts.Segments(**quiet),
        hv.opts.Area(**quiet),
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
