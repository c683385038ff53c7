"""A measure in one table cell: value, interval, guide and the organisation on one line."""

from dashboards import theme

WIDTH, HEIGHT = 130, 20


def draw(value: float, low: float, high: float, guide: float | None, other: float | None) -> str:
    """Return a small drawing as markup; the words stand in the cells beside it.

    Parameters
    ----------
    value : float
        The group's value.
    low, high : float
        Its 95 % interval.
    guide : float or None
        Guide value, drawn as an upright.
    other : float or None
        The organisation's value, drawn as a ring.

    Returns
    -------
    str
        SVG; it starts at zero and holds numbers only, no text of the release.
    """
    ends = [v for v in (value, high, guide, other) if v is not None and v == v and v > 0]
    scale = (WIDTH - 12) / (max(ends) * 1.04) if ends else 0.0

    def x(number: float) -> str:
        return f"{4 + max(number, 0.0) * scale:.1f}"

    middle = HEIGHT / 2
    marks = [
        f'<line x1="4" y1="{middle}" x2="{WIDTH - 4}" y2="{middle}" stroke="{theme.ASH}" opacity=".35"/>'
    ]
    if guide is not None:
        marks.append(
            f'<line x1="{x(guide)}" y1="1" x2="{x(guide)}" y2="{HEIGHT - 1}" stroke="{theme.SOIL}" '
            'stroke-width="2" stroke-dasharray="3 2"/>'
        )
    if low == low and high == high:
        marks.append(
            f'<line x1="{x(low)}" y1="{middle}" x2="{x(high)}" y2="{middle}" stroke="{theme.INK}" '
            'stroke-width="5" opacity=".4"/>'
        )
    if other is not None:
        marks.append(
            f'<circle cx="{x(other)}" cy="{middle}" r="4" fill="none" '
            f'stroke="{theme.ASH}" stroke-width="1.6"/>'
        )
    marks.append(f'<circle cx="{x(value)}" cy="{middle}" r="4.2" fill="{theme.INK}"/>')
    return (
        f'<svg width="{WIDTH}" height="{HEIGHT}" viewBox="0 0 {WIDTH} {HEIGHT}" aria-hidden="true">'
        f"{''.join(marks)}</svg>"
    )
