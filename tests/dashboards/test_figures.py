"""Each number on a figure is a row of the release; hidden ones are words; layers never change."""

import dataclasses
import re

import holoviews as hv
import numpy as np
import pandas as pd
import pytest

from dashboards import theme
from dashboards.data import ReleaseFrames
from dashboards.figures import axes, bullet, parts, register, rows, series, small
from dashboards.figures.drawing import Drawing
from dashboards.figures.holo import overlay
from dashboards.labels import safe
from dashboards.paper.rows import draw_rows
from dashboards.readings import changes, exposure, groups, health, moved, quality, reach
from dashboards.state import Chosen
from dashboards.views.month import Regions
from tests.support import fake_places

theme.use()
UNITS = ["organisation.ORG", "cluster.BIO", "team.QC1", "team.PUR"]


def with_(chosen: Chosen, **more: str) -> Chosen:
    return dataclasses.replace(chosen, **more)


def layers(drawn: Drawing, kind: str) -> list[pd.DataFrame]:
    return [mark.frame for mark in drawn.marks if mark.kind == kind]


def pairs(frame: pd.DataFrame, *columns: str) -> set[tuple[float, ...]]:
    return {tuple(round(float(v), 6) for v in row) for row in frame[list(columns)].itertuples(index=False)}


def test_moved_draws_the_trend_rows(frames: ReleaseFrames, chosen: Chosen, sql) -> None:
    drawn = rows.draw(moved.moved(frames, chosen).plot)
    published = sql("select points, low, high from trend where unit = 'ORG' and period = '2026-10'")
    _, bars = layers(drawn, "segments")
    (dots,) = layers(drawn, "points")
    assert sorted(dots["value"]) == sorted(float(p) for p, _, _ in published)
    assert pairs(bars, "x0", "x1") == {(float(low), float(high)) for _, low, high in published}


def test_moved_keeps_the_order_of_the_body_and_a_shape_for_each_word(
    frames: ReleaseFrames, chosen: Chosen
) -> None:
    plot = moved.moved(frames, chosen).plot
    assert list(plot.frame["label"])[:2] == ["Neck", "Shoulder"]
    (dots,) = layers(rows.draw(plot), "points")
    shapes = dict(zip(dots["text"].str.split(":").str[0], dots["shape"], strict=True))
    assert (shapes["Shoulder"], shapes["Wrist and hand"], shapes["Neck"]) == (
        "triangle",
        "inverted_triangle",
        "square",
    )


@pytest.mark.parametrize("unit", UNITS)
@pytest.mark.parametrize("kind", ["month", "week"])
def test_trend_draws_every_shown_row_and_no_other(
    frames: ReleaseFrames, chosen: Chosen, sql, unit: str, kind: str
) -> None:
    plot = exposure.trend(frames, with_(chosen, unit=unit), kind).plot
    published = sql(
        "select value, low, high from exposure where unit = ? and measure = 'hours_per_week' "
        "and period_kind = ? and reason is null order by period desc limit 36",
        unit.split(".")[1],
        kind,
    )
    drawn = series.draw(plot)
    dots, crosses = layers(drawn, "points")
    assert sorted(dots["value"].round(9)) == sorted(round(v, 9) for v, _, _ in published)
    bars = layers(drawn, "segments")[-1]
    assert pairs(bars, "y0", "y1") == {(round(low, 6), round(high, 6)) for _, low, high in published}
    assert len(crosses) == (1 if unit == "team.PUR" and kind == "month" else 0)


def test_a_hidden_month_breaks_the_line_and_says_why(frames: ReleaseFrames, chosen: Chosen) -> None:
    reading = exposure.trend(frames, with_(chosen, unit="team.PUR"))
    drawn = series.draw(reading.plot)
    line = layers(drawn, "curve")[1]
    assert np.isnan(line["value"].iloc[-1])
    assert "Crosses: 1 of 28 not shown (one or two people do most of it)." in reading.foot
    assert reading.sentence.startswith("September 2026")


def test_a_wholly_hidden_group_has_words_in_place_of_a_figure(frames: ReleaseFrames, chosen: Chosen) -> None:
    reading = exposure.trend(frames, with_(chosen, unit="team.TINY"))
    assert reading.plot is None
    assert reading.notice == fake_places.SMALL


def test_standings_put_hidden_groups_last_with_their_reason(
    frames: ReleaseFrames, chosen: Chosen, sql
) -> None:
    plot = groups.standings(frames, chosen).plot
    assert list(plot.frame["printed"])[-2:] == [fake_places.DOMINANT, fake_places.SMALL]
    assert not plot.frame["value"].tail(2).notna().any()
    ((guide,),) = sql("select distinct guide from exposure where measure = 'hours_per_week'")
    assert plot.mark == guide
    mark, _ = layers(rows.draw(plot), "segments")
    assert list(mark["x0"]) == [guide]


def test_short_rests_are_sorted_fewest_first(frames: ReleaseFrames, chosen: Chosen) -> None:
    """Fewer short rests are the heavier load."""
    values = groups.standings(frames, with_(chosen, measure="micro_rests")).plot.frame["value"].dropna()
    assert list(values) == sorted(values)


@pytest.mark.parametrize("kind", list(groups.PARTS))
def test_parts_draw_the_published_hours(frames: ReleaseFrames, chosen: Chosen, sql, kind: str) -> None:
    plot = groups.parts(frames, chosen, kind).plot
    published = sql(
        "select hours_per_person_week from exposure_part where unit = 'ORG' and period = '2026-10' "
        "and part_kind = ? and reason is null",
        kind,
    )
    drawn = parts.draw(plot)
    (bars,) = layers(drawn, "rectangles")
    assert sorted(bars["x1"].round(9)) == sorted(round(h, 9) for (h,) in published)
    assert (bars["x0"] == 0).all()


def test_weekdays_stand_in_the_order_of_the_week(frames: ReleaseFrames, chosen: Chosen) -> None:
    assert list(groups.parts(frames, chosen, "weekday").plot.frame["label"])[:2] == ["Monday", "Tuesday"]


def test_reach_draws_before_and_after_of_both_sides(frames: ReleaseFrames, chosen: Chosen, sql) -> None:
    reading = reach.reach(frames, with_(chosen, change="C1"))
    published = sql("select value from change_reach where change = 'C1' and measure = 'hours_per_week'")
    assert sorted(reading.plot.frame["value"]) == sorted(v for (v,) in published)
    assert list(reading.plot.frame["label"]) == [
        "Changed teams, before",
        "Changed teams, after",
        "Other teams, before",
        "Other teams, after",
    ]
    assert "before 7.9 h a week; after 6.1 h a week" in reading.sentence


def test_reach_of_a_hidden_side_says_so(frames: ReleaseFrames, chosen: Chosen) -> None:
    sentence = reach.reach(frames, with_(chosen, change="C2")).sentence
    assert "before 7.9 h a week; after not shown (group too small)" in sentence


def test_reach_before_a_start_is_a_sentence(frames: ReleaseFrames, chosen: Chosen) -> None:
    assert reach.reach(frames, with_(chosen, change="C4")).notice.startswith(
        "No before and after is published"
    )


def test_discomfort_marks_the_start_day(frames: ReleaseFrames, chosen: Chosen) -> None:
    reading = reach.discomfort(frames, with_(chosen, change="C1", region="WRIST_HAND"))
    assert reading.plot.marks == ((pd.Timestamp("2025-03-01"), "started"),)
    marks = layers(series.draw(reading.plot), "segments")[1]
    assert list(marks["x0"]) == [pd.Timestamp("2025-03-01")]
    assert "does not evaluate" in reading.foot


def test_register_draws_every_date_once(frames: ReleaseFrames, chosen: Chosen) -> None:
    drawn = register.draw(changes.register(frames, chosen).plot)
    planned, started, complete = layers(drawn, "points")
    assert (len(planned), len(started), len(complete)) == (4, 3, 1)


def test_small_multiples_hold_a_point_for_each_row(frames: ReleaseFrames, chosen: Chosen, sql) -> None:
    unit = frames.unit("cluster.BIO")
    reading = health.region(frames, with_(chosen, unit=unit.key), "NECK", 60.0)
    markup = small.draw(reading.plot)
    titles = re.findall(r"<title>([^<]*)</title>", markup)
    published = sql(
        "select percent, low, high from health where unit = 'BIO' and region = 'NECK' order by period"
    )
    assert len(titles) == len(published)
    hidden = [title for title in titles if fake_places.SMALL in title]
    assert hidden == [f"August 2025: {fake_places.SMALL}"]
    for title, (percent, low, high) in zip(titles, published, strict=True):
        assert percent is None or title.endswith(f"{percent} % ({low} to {high} %)")
    # Two runs of the line: a drawn line through the hidden month would invent a value.
    assert markup.count('stroke-width="1.8"') == 2


def test_small_multiples_follow_the_published_line_not_the_points(
    frames: ReleaseFrames, chosen: Chosen, sql
) -> None:
    reading = health.region(frames, chosen, "NECK", 100.0)
    drawn = re.findall(r'<polyline points="([^"]+)"', small.draw(reading.plot))
    heights = [float(point.split(",")[1]) for run in drawn for point in run.split()]
    line = sql("select percent from smooth where unit = 'ORG' and region = 'NECK' order by period")
    span = small.HEIGHT - small.TOP - small.BOTTOM
    wanted = [small.TOP + span * (1 - value / 100) for (value,) in line]
    assert heights == pytest.approx(wanted, abs=0.06)


def test_small_multiples_place_values_by_scale(frames: ReleaseFrames, chosen: Chosen) -> None:
    plot = small.SmallPlot(
        pd.DataFrame(
            {
                "series": "own",
                "x": pd.to_datetime(["2026-01-01", "2026-02-01"]),
                "value": [0.0, 50.0],
                "low": [np.nan] * 2,
                "high": [np.nan] * 2,
                "text": ["a", "b<c"],
            }
        ),
        50.0,
        "words",
    )
    markup = small.draw(plot)
    heights = [float(y) for y in re.findall(r'cy="([\d.]+)"', markup)]
    assert heights == [small.HEIGHT - small.BOTTOM, small.TOP]
    assert "b&lt;c" in markup


def test_bullet_starts_at_zero_and_keeps_proportions() -> None:
    markup = bullet.draw(10.0, 8.0, 12.0, 20.0, 5.0)
    ring, dot = (float(x) - 4 for x in re.findall(r'cx="([\d.]+)"', markup))
    assert dot == pytest.approx(2 * ring, abs=0.11)
    assert "nan" not in markup


def _ratios(*found: tuple[float, float, float]) -> rows.RowsPlot:
    frame = pd.DataFrame(found, columns=["value", "low", "high"]).assign(kind="own", text="", printed="")
    frame["label"] = [f"{n} months back" for n in range(len(frame))]
    return rows.RowsPlot(frame, "Odds ratio", "Month", 1.0, "no difference", from_zero=False, ratio=True)


def test_half_and_double_lie_equally_far_from_no_difference() -> None:
    drawn = rows.draw(_ratios((2.0, 1.0, 4.0), (0.5, 0.25, 1.0)))
    (points,) = layers(drawn, "points")
    intervals = layers(drawn, "segments")[1]
    assert points["value"].tolist() == pytest.approx([np.log(2), -np.log(2)])
    assert (intervals["x1"] - intervals["x0"]).tolist() == pytest.approx([np.log(4)] * 2)
    assert layers(drawn, "segments")[0]["x0"].tolist() == [0.0]
    assert isinstance(drawn.x_ticks, list)
    assert {"0.5", "1", "2"} <= {text for _, text in drawn.x_ticks}
    assert all(np.exp(at) == pytest.approx(float(text)) for at, text in drawn.x_ticks)


@pytest.mark.parametrize("ends", [(1.9, 2.0, 2.1), (0.9, 0.8, 1.3), (3.0, 0.0, 40.0), (1.0, 1.0, 1.0)])
def test_an_axis_of_ratios_names_three_of_them_and_bears_a_limit_of_nought(
    ends: tuple[float, float, float],
) -> None:
    drawn = rows.draw(_ratios(ends))
    assert np.isfinite(drawn.x_range).all()
    assert 3 <= len(drawn.x_ticks) <= 8
    assert all(drawn.x_range[0] <= at <= drawn.x_range[1] for at, _ in drawn.x_ticks)
    markup = draw_rows(_ratios(ends), 600).marks
    assert "nan" not in markup
    assert all(f">{text}<" in markup for _, text in drawn.x_ticks)


@pytest.mark.parametrize("months", [2, 7, 15, 36, 61])
def test_time_axis_has_few_labels_and_none_past_the_data(months: int) -> None:
    first = pd.Timestamp("2023-04-01")
    last = first + pd.DateOffset(months=months - 1)
    ticks = axes.month_ticks(first, last)
    assert 1 <= len(ticks) <= 6
    assert all(first.timestamp() * 1000 <= at <= last.timestamp() * 1000 for at, _ in ticks)
    assert ticks[0][1].splitlines()[1].startswith("20")


@pytest.mark.parametrize("unit", UNITS)
def test_layers_stay_the_same_for_every_choice(frames: ReleaseFrames, chosen: Chosen, unit: str) -> None:
    """A redraw feeds a plot; other layers would make the library build a new one."""
    here = with_(chosen, unit=unit)
    for reading, draw in (
        (exposure.trend(frames, here), series.draw),
        (groups.standings(frames, here), rows.draw),
        (groups.parts(frames, here, "task"), parts.draw),
        (quality.response(frames, here), series.draw),
        (quality.coverage(frames, here), rows.draw),
    ):
        first = [(mark.kind, mark.style) for mark in draw(reading.plot).marks]
        empty = dataclasses.replace(reading.plot, frame=reading.plot.frame.iloc[:0])
        assert [(mark.kind, mark.style) for mark in draw(empty).marks] == first


@pytest.mark.parametrize("unit", UNITS)
def test_every_axis_has_a_name_and_the_toolbar_is_away(
    frames: ReleaseFrames, chosen: Chosen, unit: str
) -> None:
    here = with_(chosen, unit=unit)
    for reading, draw in (
        (exposure.trend(frames, here), series.draw),
        (groups.standings(frames, here), rows.draw),
        (groups.parts(frames, here, "instrument"), parts.draw),
        (changes.register(frames, here), register.draw),
        (reach.discomfort(frames, here), series.draw),
    ):
        figure = hv.render(overlay(draw(reading.plot)))
        assert figure.title.text
        assert figure.xaxis[0].axis_label
        assert figure.toolbar_location is None
        assert figure.sizing_mode == "stretch_width"
        assert all(tool.__class__.__name__ == "HoverTool" for tool in figure.tools)


def test_a_wholly_withheld_team_has_one_sentence_and_a_way_on(frames: ReleaseFrames, chosen: Chosen) -> None:
    view = Regions()
    view.show(frames, with_(chosen, unit="team.TINY"))
    text = view.body.object
    around = frames.cluster_of(frames.unit("team.TINY"))
    assert text.count('class="empty"') == 1
    assert f"{safe(around.name)}, which this team is part of, publishes each month" in text
    assert "Bars show" not in text
