"""The smooth line of a release: a known average, hidden periods, a first value."""

from etl.release_smooth import smoothed


def test_the_line_is_the_published_recursion():
    """Roberts 1959: z = .25 x + .75 z, begun at the first value; 20, 40, 40 give 20, 25, 28.75."""
    points = [("2026-01", 20, 100), ("2026-02", 40, 100), ("2026-03", 40, 100)]
    assert [smoothed(points[: k + 1]) for k in range(3)] == [20.0, 25.0, 28.8]


def test_a_hidden_period_leaves_the_line_where_it_was():
    points = [("2026-01", 20, 100), ("2026-02", None, 7), ("2026-03", 40, 100)]
    assert smoothed(points) == 25.0


def test_a_line_begins_at_the_first_published_period():
    assert smoothed([("2026-01", None, 3), ("2026-02", 30, 100)]) == 30.0
