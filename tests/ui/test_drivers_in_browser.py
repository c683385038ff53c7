"""The Drivers room served: published numbers on the first screen, the rows behind the curve, the address."""

import re

import pytest

from tests.support.serve import eventually

pytestmark = pytest.mark.browser


def test_drivers_numbers_are_release_rows_and_the_address_reopens_them(visit, sql) -> None:
    visit.open("room=Drivers")
    assert visit.headline() == "Wrist and hand: more pipetting goes with more discomfort."
    text = visit.text()
    ((points, low, high),) = sql(
        "select points, points_low, points_high from driver_effect "
        "where region = 'WRIST_HAND' and exposure = 'hours' and question = 'prevalence'"
    )
    assert f"+{points:.0f} points" in text
    assert f"{low:.0f} to {high:.0f} (95 % interval)" in text
    ((hours,),) = sql("select hours from driver_budget where kind = 'added'")
    assert f"{hours:.0f} h a week" in text
    assert "An association, not a cause" in text
    assert "Home <b>and</b> leisure" in text, "markup in a node's name stays text"
    visit.page.get_by_role("button", name=re.compile("^Table")).first.click()
    table = visit.page.get_by_role("table").first
    table.wait_for(timeout=30_000)
    ((x, percent),) = sql("select x, percent from driver_curve where kind = 'average' order by x limit 1")
    # Tables of words stand there from the start; the one asked for comes before them.
    eventually(lambda: f"{x:.1f}" in table.inner_text(), 30, table.inner_text)
    assert f"{percent}" in table.inner_text()
    eventually(lambda: "room=Drivers" in visit.url() and "month=2026-10" in visit.url(), 60, visit.url)
    visit.open("room=Drivers&month=2026-08")
    assert visit.headline() == "What goes with discomfort is not stated yet."
