"""The committee brief says what the release says, for any month, and nothing else."""

import pandas as pd
import pytest

from dashboards.brief.asof import known_by
from dashboards.brief.content import Grid, Multiples, Picture, Points, Words
from dashboards.brief.paper import brief_of
from etl.errors import EvenhandError
from etl.release_door import open_release
from tests.support.fake_release import FrameDoor


@pytest.fixture(scope="module")
def october(release_file):
    return brief_of(open_release(release_file).pin(), "2026-10").brief


def section(brief, start: str):
    return next(s for s in brief.sections if s.title.startswith(start))


def grid(brief, start: str) -> Grid:
    return next(block for block in section(brief, start).blocks if isinstance(block, Grid))


def words(brief) -> str:
    """Return all words of a brief."""
    said = [brief.headline, brief.lead, brief.caution]
    for part in brief.sections:
        for block in part.blocks:
            said += [block.text] if isinstance(block, Words) else []
            said += block.items if isinstance(block, Points) else []
            said += [cell for row in block.rows for cell in row] if isinstance(block, Grid) else []
            said += [block.words] if isinstance(block, Picture) else []
            said += [p.words for p in block.pictures] if isinstance(block, Multiples) else []
    return "\n".join(said)


def test_it_has_every_part_a_committee_needs(october) -> None:
    titles = [s.title for s in october.sections]
    assert titles == [
        "What moved", "Flags", "Exposure over guide", "Changes, and whether they helped", "Actions due",
        "What next", "Data quality and response", "Cautions",
    ]  # fmt: skip
    assert "diagnoses nobody" in october.caution
    assert "Edition 28 of October 2026" in october.edition
    assert october.content_hash == "3f9c" * 16


def test_what_moved_is_the_trend_table(october, sql) -> None:
    rows = sql(
        "select word, points, low, high from trend where unit = 'ORG' and period = '2026-10' "
        "and points is not null"
    )
    assert len(rows) == 9
    for word, points, low, high in rows:
        assert f"{points} ({low} to {high}), {word}".replace("-", "\u2212") in words(october)


def test_each_region_shows_its_newest_interval(october, sql) -> None:
    captions = next(b.captions for b in section(october, "What moved").blocks if isinstance(b, Multiples))
    for percent, low, high in sql(
        "select percent, low, high from health where unit = 'ORG' and period = '2026-10'"
    ):
        assert f"{percent} % ({low} to {high} %), October 2026" in captions


def test_teams_over_guide_are_those_of_the_release(october, sql) -> None:
    over = sql(
        "select u.name, e.value, e.low, e.high, e.n_band from exposure e join unit u using (level, unit) "
        "where e.level = 'team' and e.period = '2026-10' and e.standing = 'over guide'"
    )
    rows = grid(october, "Exposure").rows
    assert len(rows) == min(len(over), 12)
    printed = {(row[0], row[2].split(" ")[0], row[4]) for row in rows}
    assert printed <= {(name, f"{value:.{d}f}", band) for name, value, _, _, band in over for d in (0, 1)}


def test_changes_carry_the_published_verdict(october, sql) -> None:
    cells = {row[0]: row[3] for row in grid(october, "Changes").rows}
    for title, word, points, low, high in sql(
        "select c.title, e.word, e.points, e.low, e.high from change_effect e join change c using (change) "
        "where e.points is not null"
    ):
        assert f"{word}, {points} points ({low} to {high})".replace("-", "\u2212") in cells[title]
    untold = sql("select title from change where change not in (select change from change_effect)")
    assert untold
    for (title,) in untold:
        assert cells[title] == "no statement yet"


def test_actions_due_come_from_the_register(october) -> None:
    told = {row[0]: row[1:] for row in grid(october, "Actions").rows}
    assert told["Start or put off: Adjustable bench <b>trial</b> (Stem cell culture)"] == (
        "01 Dec 2026", "lab manager",
    )  # fmt: skip
    late = "Say when it will be complete: Rotation between benches (Vector production), started 01 Aug 2026"
    assert told[late] == ("now", "lab manager")


def test_response_and_rows_set_aside_are_those_of_the_release(october, sql) -> None:
    rows = {row[0]: row[1:] for row in grid(october, "Data quality").rows}
    ((percent, answered, invited),) = sql(
        "select percent, answered_band, invited_band from response where unit = 'ORG' and period = '2026-10'"
    )
    assert rows["Answered the survey, October 2026"] == (f"{percent} %", f"{answered} of {invited} people")
    ((aside,),) = sql("select sum(rows_set_aside) from data_quality")
    assert rows["Rows set aside, all files so far"][0] == f"{int(aside):,}".replace(",", "\u2009")


@pytest.mark.parametrize("month", ["2024-07", "2025-08"])
def test_a_month_with_little_to_show_says_so(release_file, month: str) -> None:
    brief = brief_of(open_release(release_file).pin(), month).brief
    assert not [text for text in words(brief).split() if text in ("nan", "None", "NaT", "<NA>")]
    assert "No July 2023 in this release to compare with." in words(brief) or month != "2024-07"


def test_a_month_of_which_everything_is_hidden_is_still_a_paper(door: FrameDoor) -> None:
    small = "not shown: group too small"
    numbers = {
        "health": ["percent", "low", "high", "count_rounded", "n_band"],
        "health_average": ["percent", "low", "high"],
        "exposure": ["value", "low", "high", "n_band", "standing"],
        "response": ["percent", "invited_band", "answered_band"],
        "coverage": ["people_band", "logged_percent", "force_known_percent"],
    }
    for name, columns in numbers.items():
        rows = door.frames[name].assign(reason=small)
        for column in columns:
            rows[column] = pd.Series([None] * len(rows), dtype=rows[column].dtype, index=rows.index)
        door.frames[name] = rows
    for name in ("trend", "flag", "change", "change_effect", "change_reach", "weighted", "exposure_part"):
        door.frames[name] = door.frames[name].iloc[:0]
    paper = brief_of(door, "2026-10")
    assert small in words(paper.brief)
    assert "No change is registered." in words(paper.brief)
    assert paper.pdf().startswith(b"%PDF")


@pytest.mark.parametrize(
    ("month", "said"),
    [
        ("2026-13", "'2026-13' is not a month (--period). Write it like 2026-10."),
        ("last month", "'last month' is not a month (--period). Write it like 2026-10."),
        ("2031-01", "No month 2031-01 in the release (edition 28). It holds 2024-07 to 2026-10."),
    ],
)
def test_a_wrong_month_is_one_clear_line(release_file, month: str, said: str) -> None:
    with pytest.raises(EvenhandError) as caught:
        brief_of(open_release(release_file).pin(), month)
    assert str(caught.value) == said


def test_a_committee_of_the_past_reads_what_it_could_know() -> None:
    day = pd.Timestamp
    rows = pd.DataFrame(
        {
            "change": ["done", "running", "later", "plan"],
            "planned": [day("2025-01-01"), day("2025-01-01"), day("2025-08-01"), day("2025-09-01")],
            "started": [day("2025-02-01"), day("2025-03-01"), day("2025-09-01"), pd.NaT],
            "completed": [day("2025-03-31"), day("2025-04-01"), pd.NaT, pd.NaT],
            "status": ["COMPLETE", "COMPLETE", "STARTED", "PLANNED"],
        }
    )
    known = known_by(rows, "2025-03").set_index("change")
    assert list(known["status"]) == ["COMPLETE", "STARTED", "PLANNED"]
    assert "later" not in known.index
    assert pd.isna(known.loc["running", "completed"])
