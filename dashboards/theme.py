"""The looks: palette, type, page theme, styles and the drawing defaults, set once a process."""

import functools
import importlib.resources
import string

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

# Roles of the page's colours -> light and dark value; properties of the page, see page.css.
PALETTE: dict[str, dict[str, str]] = {
    "light": {
        "primary": "#22556d",
        "paper": "#fcfbf8",
        "text": "#1c2328",
        "muted": "#535d64",
        "rule": "#dcd9d0",
    },
    "dark": {
        "primary": "#8cc3da",
        "paper": "#12171a",
        "text": "#e8e6e0",
        "muted": "#a9b1b6",
        "rule": "#333b40",
    },
}

CSS = string.Template(
    importlib.resources.files("dashboards").joinpath("style.css").read_text(encoding="utf-8")
).substitute(
    font=FONT,
    ink=INK,
    soil=SOIL,
    # Outside our page (a notebook) the page's colours are not defined; the fallbacks suit both.
    text="var(--ev-text, currentColor)",
    muted="var(--ev-muted, #737b81)",
    rule="var(--ev-rule, #a8adb1)",
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


def page_css(template: str) -> str:
    """Return the styles of the page with our colours and type.

    Parameters
    ----------
    template : str
        Styles with ``$light``, ``$dark`` and ``$font``.

    Returns
    -------
    str
        Styles.
    """
    looks = {
        mode: " ".join(f"--ev-{role}: {colour};" for role, colour in colours.items())
        + f" color-scheme: {mode};"
        for mode, colours in PALETTE.items()
    }
    looks["paper"] = looks["light"].replace(PALETTE["light"]["paper"], "#ffffff")
    return string.Template(template).substitute(font=FONT, **looks)
