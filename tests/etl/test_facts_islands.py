"""Islands of work: joined as a graph library joins them, and numbers of spells that run on without a gap."""

import numpy as np
from hypothesis import given
from hypothesis import strategies as st
from scipy.sparse import coo_array
from scipy.sparse.csgraph import connected_components

from etl.facts_islands import NEVER, Stretches, find_islands, moves, staying

REST = 10
# Steps from the end of one spell to the next, and its length: always a rest or more between.
spells = st.lists(st.tuples(st.integers(REST, 40), st.integers(0, 30)), max_size=8)
others = st.lists(st.tuples(st.integers(0, 400), st.integers(0, 60)), max_size=4)
people = st.lists(st.tuples(spells, others, others), min_size=1, max_size=3)


def stretches(drawn) -> Stretches:
    """Old spells numbered in time, old bouts left out that meet a spell, and touched stretches."""
    rows = [(0, 5_000, 5_001, -1)]
    for no, (steps, left_out, touched) in enumerate(drawn):
        at = 0
        for number, (step, length) in enumerate(steps, start=1):
            rows.append((no, at + step, at + step + length, number))
            at += step + length
        rows += [(no, at, at + length, 0) for at, length in left_out]
        rows += [(no, at, at + length, -1) for at, length in touched]
    return Stretches(*np.array(rows, dtype=np.int64).T)


def components(work: Stretches) -> np.ndarray:
    """Label what hangs together, by SciPy's connected components of the graph of near stretches."""
    near = (
        (work.no[:, None] == work.no)
        & (work.from_us[:, None] - work.to_us < REST)
        & (work.from_us - work.to_us[:, None] < REST)
    )
    return connected_components(coo_array(near), directed=False)[1]


@given(people)
def test_islands_are_the_components_that_hold_a_touched_stretch(drawn):
    work = stretches(drawn)
    label = components(work)
    held = np.unique(label[work.spell < 0])
    expected = sorted(
        (
            int(work.no[label == k][0]), int(work.from_us[label == k].min()),
            int(work.to_us[label == k].max()), int((work.spell[label == k] > 0).sum()),
        )
        for k in held
    )  # fmt: skip
    found = find_islands(work, REST)
    columns = (found.no, found.from_us, found.to_us, found.gone)
    assert [tuple(map(int, row)) for row in zip(*columns, strict=True)] == expected
    inside = np.isin(label, held)
    assert found.met == bool((inside & (work.spell >= 0)).any())
    assert found.left_out == bool((inside & (work.spell == 0)).any())


@given(people)
def test_rests_around_an_island_reach_to_the_next_old_spells(drawn):
    work = stretches(drawn)
    found = find_islands(work, REST)
    for k, (no, first, last) in enumerate(zip(found.no, found.from_us, found.to_us, strict=True)):
        own = (work.no == no) & (work.spell > 0)
        before, after = own & (work.from_us < first), own & (work.from_us > last)
        assert found.before[k] == work.spell[before].max(initial=0)
        assert found.rest_before_us[k] == (first - work.to_us[before].max() if before.any() else NEVER)
        assert found.rest_after_us[k] == (work.from_us[after].min() - last if after.any() else NEVER)


@given(people, st.data())
def test_numbers_of_old_and_new_spells_run_on_without_a_gap(drawn, data):
    work = stretches(drawn)
    found = find_islands(work, REST)
    size = found.no.size
    new = np.array(data.draw(st.lists(st.integers(0, 3), min_size=size, max_size=size)), dtype=np.int64)
    moved = moves(found, new)
    for no in np.unique(work.no):
        numbered = []
        old = (work.no == no) & (work.spell > 0)
        for begin, number in zip(work.from_us[old], work.spell[old], strict=True):
            islands = (found.no == no) & (found.from_us <= begin) & (found.to_us >= begin)
            if islands.any():
                continue
            ruled = (moved.no == no) & (moved.after < number) & (moved.upto >= number)
            assert ruled.sum() <= 1
            numbered.append((int(begin), int(number + moved.shift[ruled].sum())))
        own = 0
        for k in np.flatnonzero(found.no == no):
            # New spells are numbered along the person's islands, and count on from the old ones that stay.
            for _ in range(new[k]):
                own += 1
                numbered.append((int(found.from_us[k]), own + int(staying(found)[k])))
        assert [number for _, number in sorted(numbered)] == list(range(1, len(numbered) + 1))
