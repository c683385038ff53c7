"""What moved, what is flagged, and where exposure stands over its guide."""

from dashboards.brief.content import Block, Grid, Multiples, Picture, Points, Section, Words
from dashboards.data import ReleaseFrames
from dashboards.figures.small import SmallPlot
from dashboards.kinds import Frame
from dashboards.labels import AVERAGE, MEASURES, REGIONS, month_label, number, region_label
from dashboards.paper.sheet import drawing
from dashboards.paper.small import draw_small
from dashboards.readings import counting, flags, groups, health, moved
from dashboards.readings.base import Reading
from dashboards.readings.exposure import guide_words, value_words
from dashboards.readings.moved import trend_rows
from dashboards.state import Chosen

MOST_FLAGS, MOST_OVER = 8, 12
WIDE = 640.0


def picture(reading: Reading, title: str) -> tuple[Block, ...]:
    """Return a reading as sentence, figure and foot, or the notice in their place.

    Parameters
    ----------
    reading : Reading
        What a room would show.
    title : str
        Title of the figure.

    Returns
    -------
    tuple of Block
        Blocks of a section.
    """
    plot = reading.plot
    drawn = drawing(plot, WIDE)
    if plot is None or drawn is None:
        return (Words(reading.notice or reading.sentence, "notice"),)
    rows = "; ".join(str(text) for text in plot.frame.get("text", ()))
    return (
        Words(reading.sentence),
        Picture(title, drawn, f"{title}. {rows or reading.sentence}"),
        Words(reading.foot, "small"),
    )


def what_moved(frames: ReleaseFrames, chosen: Chosen) -> Section:
    """Return the month against a year before, and every region over the months.

    Parameters
    ----------
    frames : ReleaseFrames
        The release.
    chosen : Chosen
        Month and unit.

    Returns
    -------
    Section
        The section.
    """
    first = picture(moved.moved(frames, chosen), "Change since the same month last year, by body region")
    words = dict(zip(*(trend_rows(frames, chosen)[name] for name in ("region", "word")), strict=True))
    top = health.common_top(frames, chosen)
    readings = {code: health.region(frames, chosen, code, top) for code in (AVERAGE[0], *REGIONS)}
    drawn = {c: r for c, r in readings.items() if isinstance(r.plot, SmallPlot)}
    if not drawn:
        return Section("What moved", (*first, Words("No month of discomfort is shown.", "notice")))
    pictures = tuple(
        Picture(_headed(region_label(c), str(words.get(c, ""))), draw_small(r.plot), r.plot.words)
        for c, r in drawn.items()
    )
    captions = tuple(r.sentence for r in drawn.values())
    missing = [region_label(c).lower() for c in readings if c not in drawn]
    gone = f" Not shown: {', '.join(missing)}." if missing else ""
    counted = counting.case_words(frames, chosen.period)
    case = f"People with {counted}, as a share of those who answered, month by month."
    foot = Words(health.regions_foot(frames, chosen) + gone, "small")
    return Section("What moved", (*first, Words(case), Multiples(pictures, captions), foot))


def _headed(name: str, word: str) -> str:
    return f"{name}: {word}" if word else name


def flagged(frames: ReleaseFrames, chosen: Chosen) -> Section:
    """Return what has worsened against its own past.

    Parameters
    ----------
    frames : ReleaseFrames
        The release.
    chosen : Chosen
        Month and unit.

    Returns
    -------
    Section
        The section.
    """
    reading = flags.flags(frames, chosen)
    if reading.notice:
        return Section("Flags", (Words(reading.notice, "notice"),))
    blocks: list[Block] = [Words(reading.sentence)]
    if len(reading.rows):
        rows = reading.rows.head(MOST_FLAGS).to_dict("records")
        cells = tuple(
            (r["name"], r["topic_words"], r["since_words"] or "\u2013", r["sentence"]) for r in rows
        )
        heads = ("Who", "What", "Since about", "What was seen, how sure")
        blocks.append(Grid("Series flagged against their own past", heads, cells, (16, 18, 13, 53)))
        more = len(reading.rows) - len(rows)
        blocks += [Words(f"{more} more stand in the Month room.", "small")] if more > 0 else []
    blocks.append(Words(reading.foot, "small"))
    return Section("Flags", tuple(blocks))


def over_guide(frames: ReleaseFrames, chosen: Chosen) -> Section:
    """Return where exposure stands over its guide this month.

    Parameters
    ----------
    frames : ReleaseFrames
        The release.
    chosen : Chosen
        Month and unit.

    Returns
    -------
    Section
        The section.
    """
    names = {u.key: u.name for u in frames.units("team")}
    rows = _team_rows(frames, chosen, names)
    if rows.empty:
        words = f"No exposure of a team is published for {month_label(chosen.period)}."
        return Section("Exposure over guide", (Words(words, "notice"),))
    guided = rows[rows["guide"].notna()]
    over = guided[guided["standing"] == "over guide"]
    teams, hidden = rows["key"].nunique(), rows.loc[rows["reason"] != "", "key"].nunique()
    sentence = f"{over['key'].nunique()} of {teams} teams stand over a guide on at least one measure" + (
        f"; numbers of {hidden} are not shown in part or in whole." if hidden else "."
    )
    blocks: list[Block] = [Words(sentence), *_over_table(over, names)]
    shown = groups.standings(frames, chosen) if chosen.measure in set(guided["measure"]) else None
    if shown is not None and shown.plot is not None:
        blocks += picture(
            shown, f"{MEASURES[chosen.measure].title} of each team, {month_label(chosen.period)}"
        )
    guides = [f"{MEASURES[m].title}: {guide_words(frames, m)}" for m in dict.fromkeys(guided["measure"])]
    blocks.append(Words(" ".join([*guides, _GUIDE]), "small"))
    return Section("Exposure over guide", tuple(blocks))


def _team_rows(frames: ReleaseFrames, chosen: Chosen, names: dict[str, str]) -> Frame:
    rows = frames.frame("exposure", period=chosen.period, period_kind="month")
    rows = rows.assign(key=rows["level"] + "." + rows["unit"])
    return rows[rows["key"].isin(names) & rows["measure"].isin(MEASURES)]


def evening(frames: ReleaseFrames, chosen: Chosen) -> Points | None:
    """Return what the hours of the teams furthest over guide are made of, for sharing work out.

    Parameters
    ----------
    frames : ReleaseFrames
        The release.
    chosen : Chosen
        Month and unit.

    Returns
    -------
    Points or None
        At most three teams; None where no team is over a guide.
    """
    names = {u.key: u.name for u in frames.units("team")}
    rows = _team_rows(frames, chosen, names)
    over = _furthest(rows[rows["standing"] == "over guide"]).drop_duplicates("key").head(3)
    told = []
    for row in over.to_dict("records"):
        parts = frames.frame("exposure_part", period=chosen.period, level="team", unit=row["unit"])
        parts = parts[parts["share_percent"].notna()].sort_values("share_percent", ascending=False)
        first = parts.drop_duplicates("part_kind").set_index("part_kind")["part"].to_dict()
        share = parts.drop_duplicates("part_kind").set_index("part_kind")["share_percent"].to_dict()
        most = [
            f"{kind} {first[kind]} ({number(share[kind])} % of its hours)"
            for kind in ("task", "instrument")
            if kind in first
        ]
        told.append(
            f"{names[row['key']]}, over guide in {MEASURES[row['measure']].title.lower()}: "
            f"{'most of its work is ' + ' and '.join(most) if most else 'its parts are not shown'}."
        )
    return Points(tuple(told)) if told else None


_GUIDE = (
    "A guide is a working value from a source, not a limit of safety; work within it can still hurt, and "
    "work over it need not."
)


def _furthest(over: Frame) -> Frame:
    # As a multiple of the guide, because measures have different units; the multiple is not printed.
    far = (over["value"] / over["guide"]).astype(float)
    return over.assign(far=far).sort_values("far", ascending=False, kind="stable")


def _over_table(over: Frame, names: dict[str, str]) -> list[Block]:
    if over.empty:
        return []
    far = _furthest(over)
    cells = tuple(
        (
            names[r["key"]],
            MEASURES[r["measure"]].title,
            value_words(r, MEASURES[r["measure"]]),
            number(r["guide"], 1),
            str(r["n_band"]),
        )
        for r in far.head(MOST_OVER).to_dict("records")
    )
    heads = ("Team", "Measure", "Value (95 % interval)", "Guide", "People")
    table: list[Block] = [Grid("Teams over guide, furthest over first", heads, cells, (24, 22, 32, 9, 13))]
    more = len(far) - len(cells)
    return [*table, Words(f"{more} more stand in the Load room.", "small")] if more > 0 else table


def look_next(frames: ReleaseFrames, chosen: Chosen) -> Points | None:
    """Return what the flags of the month ask to look at, each once.

    Parameters
    ----------
    frames : ReleaseFrames
        The release.
    chosen : Chosen
        Month and unit.

    Returns
    -------
    Points or None
        None without a flag.
    """
    rows = flags.flags(frames, chosen).rows
    asked = list(
        dict.fromkeys(f"{r['name']}: {r['look_next']}" for r in rows.to_dict("records") if r["look_next"])
    )
    return Points(tuple(asked[:6])) if asked else None
