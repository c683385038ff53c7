"""A plot that is fed shows what a plot drawn anew shows, and no part of the page is exchanged for it."""

import dataclasses
import gc
import weakref
from collections.abc import Iterator
from contextlib import ExitStack
from types import SimpleNamespace
from typing import Any

import holoviews as hv
import numpy as np
import pandas as pd
from bokeh.core.property.vectorization import Field, Value
from bokeh.document import Document
from bokeh.models import Plot
from panel.io.state import set_curdoc

from dashboards import theme
from dashboards.app import build
from dashboards.data import ReleaseFrames
from dashboards.figures import calendar, dose_curve, parts, register, rows, series
from dashboards.figures.drawing import Drawing
from dashboards.figures.fed import feed
from dashboards.figures.holo import overlay
from dashboards.figures.standing import standing
from dashboards.readings import changes, drivers, exposure, groups, moved, quality, reach, roll_out
from dashboards.state import Chosen
from dashboards.views.bar import Bar
from dashboards.views.live import LiveFigure
from etl.release_door import open_release

theme.use()


def with_(chosen: Chosen, **more: str) -> Chosen:
    return dataclasses.replace(chosen, **more)


def emptied(plot: Any) -> Any:
    return dataclasses.replace(plot, frame=plot.frame.iloc[:0])


def pairs(frames: ReleaseFrames, chosen: Chosen) -> Iterator[tuple[str, Drawing, Drawing]]:
    """Two unlike descriptions of each kind of figure: other rows, other marks, hidden ones, none at all."""
    team, other = with_(chosen, unit="team.QC1"), with_(chosen, unit="team.PUR", measure="micro_rests")
    months = exposure.trend(frames, team).plot, exposure.trend(frames, other).plot
    yield "months", series.draw(months[0]), series.draw(months[1])
    yield "no month", series.draw(emptied(months[0])), series.draw(months[1])
    marked = [
        reach.discomfort(frames, with_(chosen, change=c, region="WRIST_HAND")).plot for c in ("C1", "C2")
    ]
    yield "marked", series.draw(marked[0]), series.draw(marked[1])
    share = quality.response(frames, team).plot
    yield "guide gone", series.draw(months[0]), series.draw(share)
    teams = groups.standings(frames, team).plot, groups.standings(frames, other).plot
    yield "groups", rows.draw(teams[0]), rows.draw(teams[1])
    yield "no group", rows.draw(emptied(teams[0])), rows.draw(teams[1])
    yield "symmetric", rows.draw(teams[0]), rows.draw(moved.moved(frames, chosen).plot)
    tasks = [groups.parts(frames, c, "task").plot for c in (chosen, team)]
    yield "parts", parts.draw(tasks[0]), parts.draw(tasks[1])
    done = changes.register(frames, chosen).plot
    fewer = dataclasses.replace(done, frame=done.frame.iloc[:2])
    yield "register", register.draw(done), register.draw(fewer)
    plan = roll_out.calendar(frames, with_(chosen, region="WRIST_HAND")).plot
    yield (
        "calendar",
        calendar.draw(plan),
        calendar.draw(dataclasses.replace(plan, frame=plan.frame.iloc[1:6])),
    )
    curve = drivers.curve(frames, chosen).plot
    low = dataclasses.replace(
        curve, frame=curve.frame.iloc[:4], marks=curve.marks[:1], rug=curve.rug.iloc[:1]
    )
    yield "curve", dose_curve.draw(curve), dose_curve.draw(low)


def said(spec: Any) -> Any:
    """A property of a mark, however it is written: one value for all, or the column that holds it."""
    return spec.value if isinstance(spec, Value) else spec.field if isinstance(spec, Field) else spec


def seen(figure: Any) -> dict[str, Any]:
    """What a reader sees of a plot."""

    def values(column: Any) -> list[Any]:
        return [v.item() if isinstance(v, np.generic) else v for v in np.asarray(column)]

    layers = []
    for layer in figure.renderers:
        glyph = layer.glyph
        looks = {
            name: said(getattr(glyph, name))
            for name in ("line_color", "line_dash", "fill_color", "marker", "text_align")
            if hasattr(glyph, name)
        }
        layers.append((type(glyph), looks, {k: values(v) for k, v in layer.data_source.data.items()}))
    axes = [
        (axis.axis_label, getattr(axis.ticker, "ticks", None), axis.major_label_overrides)
        for axis in (*figure.below, *figure.left, *figure.right)
    ]
    ends = [(r.start, r.end) for r in (figure.x_range, figure.y_range)]
    return {"layers": layers, "axes": axes, "ends": ends, "height": figure.height, "name": figure.title.text}


def drawn(layers: Any) -> Any:
    """The plot that the drawing library makes, with nothing of ours between."""
    return hv.renderer("bokeh").get_plot(layers).state


def test_fed_and_drawn_anew_are_the_same(frames: ReleaseFrames, chosen: Chosen) -> None:
    names = []
    for name, first, second in pairs(frames, chosen):
        for old, new in ((first, second), (second, first)):
            plot = standing(old)
            feed(plot, new)
            anew = seen(drawn(overlay(new)))
            np.testing.assert_equal(seen(plot), anew, err_msg=name)
            assert anew["layers"] != seen(drawn(overlay(old)))["layers"], name
        names.append(name)
    assert len(names) == 11


def test_the_library_places_marks_where_the_drawing_says(frames: ReleaseFrames, chosen: Chosen) -> None:
    """Without our feeding, the plot of the library itself has the same places: the feed adds no error."""
    drawing = series.draw(exposure.trend(frames, with_(chosen, unit="team.QC1")).plot)
    own = overlay(drawing).opts(hooks=[])
    for layer, mark in zip(drawn(own).renderers, drawing.marks, strict=True):
        data = layer.data_source.data
        for name in mark.at:
            np.testing.assert_array_equal(pd.Series(data[name]), pd.Series(mark.frame[name].to_numpy()))


def test_a_change_exchanges_no_part_of_the_page(frames: ReleaseFrames, chosen: Chosen) -> None:
    document = Document()
    with set_curdoc(document):
        live = LiveFigure()
        live.show(rows.draw(groups.standings(frames, chosen).plot))
        document.add_root(live.__panel__().get_root(document))
        parts_before = {model.id for model in document.models}
        sent: list[Any] = []
        document.on_change(sent.append)
        later = groups.standings(frames, with_(chosen, period="2026-09")).plot
        live.show(rows.draw(later))
        assert {model.id for model in document.models} == parts_before
        assert sent
        told = len(sent)
        live.show(rows.draw(later))
        assert len(sent) == told, "the same numbers again are no news"
        (axis,) = document.select_one({"type": Plot}).right
    printed = [text.replace("\n", " ") for text in axis.major_label_overrides.values()]
    assert printed == list(later.frame["printed"])


def test_each_place_a_figure_stands_at_is_fed(frames: ReleaseFrames, chosen: Chosen) -> None:
    """A notebook shows one view in several cells; a place made later starts with the present numbers."""
    first, second = Document(), Document()
    live = LiveFigure()
    live.show(rows.draw(groups.standings(frames, chosen).plot))
    first.add_root(live.__panel__().get_root(first))
    later = rows.draw(groups.standings(frames, with_(chosen, period="2026-09")).plot)
    live.show(later)
    second.add_root(live.__panel__().get_root(second))
    last = rows.draw(groups.standings(frames, with_(chosen, period="2026-08")).plot)
    for drawing in (later, last):
        live.show(drawing)
        for document in (first, second):
            (figure,) = document.select({"type": Plot})
            assert list(figure.right[0].ticker.ticks) == [at for at, _ in drawing.beside]
            assert figure.y_range.end == drawing.y_range[1]
            sources = [tuple(r.data_source.data.get("value", ())) for r in figure.renderers]
            assert tuple(drawing.marks[2].frame["value"]) in sources


def shown_and_left(drawing: Drawing) -> weakref.ref[LiveFigure]:
    """Show a figure in a session, and do what the server does when the session has ended."""
    document = Document()
    live = LiveFigure()
    live.show(drawing)
    with set_curdoc(document):
        live.__panel__().server_doc(document)
    for callback in document.session_destroyed_callbacks:
        callback(SimpleNamespace(_document=document, id="left"))
    document.clear()
    return weakref.ref(live)


def test_figures_that_nobody_shows_any_more_are_forgotten(frames: ReleaseFrames, chosen: Chosen) -> None:
    """The library keeps hooks of its own; through them it kept the pages of readers who had left.

    It may hold on to the last ones it drew, in stores of bounded size; not to every one.
    """
    drawing = rows.draw(groups.standings(frames, chosen).plot)
    left = [shown_and_left(drawing) for _ in range(6)]
    gc.collect()
    assert sum(figure() is not None for figure in left) <= 2


def test_copies_share_no_part_and_carry_no_looks_for_selection(frames: ReleaseFrames, chosen: Chosen) -> None:
    """Two copies on one page; the second is of another group, so nothing of the pattern's numbers is left."""
    first = rows.draw(groups.standings(frames, chosen).plot)
    second = rows.draw(groups.standings(frames, with_(chosen, period="2026-09")).plot)
    one, two = standing(first), standing(second)
    assert not {model.id for model in one.references()} & {model.id for model in two.references()}
    np.testing.assert_equal(seen(two), seen(drawn(overlay(second))))
    assert all(r.selection_glyph is r.nonselection_glyph is r.muted_glyph is None for r in two.renderers)
    document = Document()
    document.add_root(one)
    document.add_root(two)
    assert document.to_json()


def test_unlike_layers_get_patterns_of_their_own(frames: ReleaseFrames, chosen: Chosen) -> None:
    """Feeding changes numbers, not widths and dashes: those must not come from another figure's pattern."""
    base = series.draw(exposure.trend(frames, with_(chosen, unit="team.QC1")).plot)
    thick = dataclasses.replace(base.marks[0], style={**base.marks[0].style, "line_width": 9})
    other = dataclasses.replace(base, marks=(thick, *base.marks[1:]))
    assert said(standing(base).renderers[0].glyph.line_width) != 9
    assert said(standing(other).renderers[0].glyph.line_width) == 9


def test_a_choice_changes_words_and_no_style_and_counts_no_parts_anew(release_file, monkeypatch) -> None:
    """With twenty readers, counting all parts of a page at each changed text took seconds a choice."""
    document = Document()
    with set_curdoc(document):
        page = build(open_release(release_file))
        page.server_doc(document)
        rooms = next(part for part in page.main.select(Bar))._state
        rooms.room = "Load"
        # Without a reader's connection the library keeps what is held back to itself.
        monkeypatch.setattr("dashboards.views.room.held", lambda _building: ExitStack())
        counted: list[int] = []
        monkeypatch.setattr(type(document.models), "recompute", lambda _self: counted.append(1))
        sent: list[Any] = []
        document.on_change(sent.append)
        parts_of_page = [model for model in document.models if hasattr(model, "stylesheets")]
        styles = {model.id: list(model.stylesheets) for model in parts_of_page}
        rooms.unit = "team.QC1"
    assert any(event.attr == "text" for event in sent)
    assert [event.model for event in sent if event.attr == "stylesheets"] == []
    assert {model.id: list(model.stylesheets) for model in parts_of_page} == styles
    assert counted == []
