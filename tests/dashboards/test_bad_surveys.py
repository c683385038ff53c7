"""Surveys as they should not come, from store to Month room: words where there is no number, never NaN.

Reversed scales and duplicate answers are held or set aside before they reach the store; see
`tests.etl.test_load_holds` and `tests.etl.test_load_corpus`.
"""

import re

import numpy as np
import pandas as pd
import panel as pn
import pytest

from dashboards.data import ReleaseFrames
from dashboards.state import RoomState
from dashboards.views.rooms import Rooms
from etl.home import Home
from etl.release_door import open_release
from tests.support.small_store import FIRST, Frames, frames, small_release

NEVER, NOBODY, EVERYBODY, ONE_ANSWER = "ANKLE_FOOT", "KNEE", "NECK", "ELBOW"
SILENT, ALONE, LAST = (FIRST.plus(k) for k in (1, 2, 3))
NO_NUMBER = re.compile(r"\b(nan|NaN|NaT|None|inf)\b|<NA>")


def bad_surveys(surveys: pd.DataFrame) -> pd.DataFrame:
    """A region never asked, a month nobody answered, a month of one respondent, everybody and nobody."""
    rows = surveys[surveys["region"] != NEVER]
    rows = rows[rows["month"] != SILENT.first_day]
    first = rows["person"].min()
    rows = rows[(rows["month"] != ALONE.first_day) | (rows["person"] == first)]
    single = rows["region"].eq(ONE_ANSWER) & rows["person"].ne(first)
    rows = rows[~single].copy()
    rows.loc[rows["region"] == NOBODY, "score"] = 0
    rows.loc[rows["region"] == EVERYBODY, "score"] = 9
    return rows


@pytest.fixture(scope="module")
def released(tmp_path_factory: pytest.TempPathFactory) -> Home:
    full = frames()
    few = full.bouts.sample(frac=0.1, random_state=1).sort_index()
    return small_release(
        tmp_path_factory.mktemp("bad"), 4, content=Frames(full.people, few, bad_surveys(full.surveys))
    )


@pytest.fixture(scope="module")
def release(released: Home) -> ReleaseFrames:
    return ReleaseFrames(open_release(released))


@pytest.mark.parametrize("period", [str(FIRST), str(SILENT), str(ALONE), str(LAST)])
@pytest.mark.parametrize("unit", ["organisation.ORG", "cluster.ANALYT", "team.A-ONE", "team.P-TWO"])
def test_no_month_and_no_group_prints_a_missing_number(
    release: ReleaseFrames, period: str, unit: str
) -> None:
    state = RoomState(release.choices())
    rooms = Rooms(release, state, pd.Timestamp("2026-06-15"))
    state.param.update(room="Month", unit=unit, period=period)
    text = "\n".join(pane.object for pane in rooms.__panel__().select(pn.pane.HTML) if pane.object)
    assert "<h1>" in text
    assert not NO_NUMBER.search(text), NO_NUMBER.search(text)


def test_what_cannot_be_said_is_said_in_words(release: ReleaseFrames) -> None:
    whole = release.frame("health", level="organisation", period_kind="month")
    shown = whole[whole["reason"] == ""].set_index(["period", "region"])
    assert NEVER not in set(whole["region"])
    assert str(SILENT) not in set(whole["period"])
    assert set(whole.loc[whole["period"] == str(ALONE), "reason"]) == {"not shown: group too small"}
    assert set(whole.loc[whole["region"] == ONE_ANSWER, "reason"]) == {"not shown: group too small"}
    assert shown.loc[(str(LAST), NOBODY), "count_rounded"] == 0
    assert shown.loc[(str(LAST), EVERYBODY), "percent"] >= 90
    assert (whole.loc[whole["reason"] == "", ["low", "high"]].astype(float).apply(np.isfinite)).all().all()
    trend = release.frame("trend")
    assert set(trend["word"]) == {"too few answers"}
