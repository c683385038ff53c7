"""Longer words at an axis lay out that figure alone, and as the whole page would have laid it out."""

import pytest

from tests.support.serve import eventually
from tests.ui.conftest import Visit

pytestmark = pytest.mark.browser
WATCH = """() => {
  window.figures = []
  const walk = view => {
    if (view.model.type === "Figure") { window.figures.push(view) }
    (view.child_views ?? []).forEach(walk)
  }
  window.whole = 0
  for (const root of Bokeh.index) {
    walk(root)
    const lay = root.compute_layout
    root.compute_layout = function() { window.whole += 1; return lay.call(this) }
  }
  window.fed = new Set()
  window.figures.forEach((view, number) => view.model.renderers.forEach(layer =>
    layer.data_source.properties.data.change.connect(() => window.fed.add(number))))
}"""
# What stands inside each figure.
INSIDES = """() => window.figures.map(view => {
  const {inner_width, inner_height, outer_width, outer_height} = view.model
  const {left_panel, right_panel} = view.layout
  return [inner_width, inner_height, outer_width, outer_height, right_panel.bbox.left, left_panel.bbox.width]
})"""
WHOLE = "() => { for (const root of Bokeh.index) { root.compute_layout() } window.whole = 0 }"


def _still(visit: Visit) -> list[list[float]]:
    seen: list[list[list[float]]] = []

    def same_twice() -> bool:
        visit.page.wait_for_timeout(400)
        seen.append(visit.page.evaluate(INSIDES))
        return len(seen) > 1 and seen[-1] == seen[-2]

    eventually(same_twice, 30)
    return seen[-1]


def test_a_choice_lays_out_only_figures_and_leaves_nothing_to_lay_out(visit: Visit) -> None:
    visit.open("room=Load&who=team.QC1")
    visit.page.evaluate(WATCH)
    before = _still(visit)
    assert len(before) > 4
    whose = visit.page.get_by_role("combobox", name="Who", exact=True)
    for who in ("team.SEQ", "team.VIR", "team.QC1"):
        visit.page.evaluate("() => window.fed.clear()")
        whose.select_option(who)
        # The months above, and the weeks, which are sent last.
        eventually(lambda: set(visit.page.evaluate("() => [...window.fed]")) >= {0, 2}, 60)
        after = _still(visit)
        assert visit.page.evaluate("() => window.whole") == 0
        assert after != before
        visit.page.evaluate(WHOLE)
        assert _still(visit) == after
        before = after
