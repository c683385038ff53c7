"""The two tables of dose and stations: every number is a release row, hidden and unknown ones are words."""

import re

from dashboards.data import ReleaseFrames
from dashboards.readings import dose
from dashboards.state import Chosen, RoomState
from dashboards.views.dose import Dose, Stations


def at(state: RoomState, unit: str, period: str = "2026-10") -> Chosen:
    state.param.update(room="Load", unit=unit, period=period)
    return state.settings()


def shown(view: Dose | Stations, frames: ReleaseFrames, chosen: Chosen) -> str:
    view.show(frames, chosen)
    return str(view.body.object)


def test_each_measure_stands_in_one_line_with_guide_method_and_standing_of_the_source(frames, state, sql):
    text = shown(Dose(), frames, at(state, "team.QC1"))
    value, low, high, guide = sql(
        "select value, low, high, guide from dose where unit = 'QC1' and period = '2026-10'"
        " and measure = 'strain_index'"
    )[0]
    assert f"{value:.1f} index ({low:.1f} to {high:.1f})" in text
    assert f"over guide {guide:.0f}" in text
    assert "from memory" in text
    assert "72 % of the time known" in text
    assert "action limit &lt;2.8&gt;" in text
    assert "50 % women &amp; men" in text
    rows = dose.dose(frames, at(state, "team.QC1"))
    assert rows["measure"].tolist() == [key for key in dose.ORDER if key in set(rows["measure"])]


def test_hidden_figures_keep_their_method_and_show_the_reason(frames, state):
    text = shown(Dose(), frames, at(state, "team.PUR"))
    assert text.count("measured forces cover less than 50 % of the time") == 3
    assert "h/year" in text
    assert not re.search(r"\b(nan|None)\b|<NA>", text)
    tiny = shown(Dose(), frames, at(state, "team.TINY"))
    assert tiny.count("group too small") == 5


def test_a_team_sees_its_stations_a_cluster_those_of_its_teams(frames, state):
    own = shown(Stations(), frames, at(state, "team.SEQ"))
    assert "SEQ-B1" in own
    assert "QC1-B1" not in own
    cluster = dose.stations(frames, at(state, "cluster.ANALYT"))
    assert set(cluster["station"]) == {"QC1-B1", "QC2-B1", "SEQ-B1"}
    assert len(dose.stations(frames, at(state, "organisation.ORG"))) == 8
    whole = shown(Stations(), frames, at(state, "organisation.ORG"))
    assert "bench height not measured" in whole
    assert "not measured" in whole
    assert "edge of 20 mm: 80 % seated" in whole
    assert "nothing that was tried" in whole


def test_a_month_before_these_tables_says_so(frames, state):
    assert "nothing published for this month" in shown(Dose(), frames, at(state, "team.QC1", "2024-07"))
    assert "nothing published for this month" in shown(Stations(), frames, at(state, "team.QC1", "2024-07"))


def test_an_older_release_without_the_tables_opens(door, state):
    del door.frames["dose"], door.frames["station_fit"]

    class Older:
        def table(self, name, **equals):
            from etl.errors import EvenhandError

            if name not in door.frames:
                raise EvenhandError(f"No table '{name}'", "release", "")
            return door.table(name, **equals)

    older = ReleaseFrames(Older())
    chosen = at(state, "team.QC1")
    assert "nothing published" in shown(Dose(), older, chosen)
    assert "nothing published" in shown(Stations(), older, chosen)


def test_the_time_by_class_of_force_is_told_in_order_and_what_is_hidden_is_counted(frames, state):
    told = dose.force_classes(frames, at(state, "team.QC1"))
    assert told == (
        "Time by thumb force: no press 78 %, 5-10 %MVC 1 %, 30-50 %MVC 3 %, not measured 18 %; "
        "1 class not shown: group too small."
    )
    assert told in shown(Dose(), frames, at(state, "team.QC1"))
    assert dose.force_classes(frames, at(state, "team.TINY")) == ""
