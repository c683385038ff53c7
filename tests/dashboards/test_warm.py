"""What is read ahead is what a reader asks for, each edition once, and a fault of it stops nothing."""

from collections.abc import Callable
from typing import Any

import pandas as pd
import pytest

from dashboards.access import COMMITTEE, Grant
from dashboards.data import ReleaseFrames
from dashboards.state import RoomState
from dashboards.views.rooms import Rooms
from dashboards.warm import LOOK_EVERY, keep_warm, read_ahead
from etl.errors import EvenhandError
from etl.release_door import open_release


class Loop:
    """A server's loop that runs what is due when a test says so."""

    def __init__(self) -> None:
        self.due: list[tuple[float, Callable[..., None], tuple[Any, ...]]] = []

    def call_later(self, seconds: float, act: Callable[..., None], *args: Any) -> None:
        self.due.append((seconds, act, args))

    def run(self) -> int:
        """Run all that is due before the next look; return how many steps that took."""
        steps = 0
        while self.due and self.due[0][0] < LOOK_EVERY:
            _, act, args = self.due.pop(0)
            act(*args)
            steps += 1
        return steps

    def wait(self) -> None:
        """Let the time of the next look come."""
        self.due = [(0.0, act, args) for _, act, args in self.due]


@pytest.fixture
def own(release_file) -> ReleaseFrames:
    return ReleaseFrames(open_release(release_file).pin())


def test_a_reader_finds_what_was_read_ahead(own: ReleaseFrames) -> None:
    views = list(read_ahead(own, None))
    assert len(views) == len(set(views)) == 2 * len(own.units())
    made = own._made.cache_info().misses
    state = RoomState(own.choices())
    Rooms(own, state, pd.Timestamp.now())
    state.param.update(room="Load", unit="team.QC1")
    state.unit = "cluster.BIO"
    assert own._made.cache_info().misses == made


def test_each_edition_is_read_once_and_the_next_one_too(release_file, own: ReleaseFrames) -> None:
    newest = {"frames": own}
    loop = Loop()
    keep_warm(loop, lambda _grant: newest["frames"], (None,))
    assert loop.run() > len(own.units())
    loop.wait()
    assert loop.run() == 1, "one look, which finds nothing new"
    newest["frames"] = ReleaseFrames(open_release(release_file).pin())
    loop.wait()
    assert loop.run() > len(own.units())


def test_without_an_edition_the_looking_goes_on(own: ReleaseFrames) -> None:
    answers: list[Any] = [EvenhandError("No edition", "here", "Publish one."), own]

    def newest(_grant: Grant | None) -> ReleaseFrames:
        answer = answers.pop(0)
        if isinstance(answer, EvenhandError):
            raise answer
        return answer

    loop = Loop()
    keep_warm(loop, newest, (COMMITTEE,))
    loop.run()
    loop.wait()
    assert loop.run() > len(own.units())


def test_a_page_on_its_way_goes_first(own: ReleaseFrames) -> None:
    """Else each file of a page would wait for a view that nobody has asked for yet."""
    on_its_way = [True]
    loop = Loop()
    keep_warm(loop, lambda _grant: own, (None,), lambda _seconds: on_its_way[0])
    for _ in range(3):
        _, act, args = loop.due.pop(0)
        act(*args)
        assert own._made.cache_info().misses == 0
    on_its_way[0] = False
    loop.run()
    assert own._made.cache_info().misses > 0


def test_pages_without_end_do_not_keep_the_reading_off(own: ReleaseFrames) -> None:
    loop = Loop()
    keep_warm(loop, lambda _grant: own, (None,), lambda _seconds: True)
    loop.run()
    assert own._made.cache_info().misses > 0
