"""A slow and obvious reckoning of exposure facts, row by row in Python, to hold the SQL against."""

from collections import defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from datetime import date, datetime, timedelta
from itertools import groupby, pairwise
from zoneinfo import ZoneInfo

from etl.settings import Settings
from tests.support.person_rows import Bout, Instrument, Stroke, instant

SECOND = 1_000_000
BUCKET = 180 * SECOND


@dataclass(frozen=True)
class Piece:
    bout: Bout
    origin: str
    spell: int
    local_date: date
    start_us: int
    end_us: int
    strokes: int
    tips: int | None
    beyond_us: int
    force_time: int | None
    peak: int | None


@dataclass(frozen=True)
class Reckoned:
    pieces: list[Piece]
    spells: list[tuple]
    overlaps: list[tuple]
    person_days: list[tuple]


def bouts_of_events(events: Iterable[Stroke], rest_us: int) -> list[Bout]:
    """Spells of one person's events found event by event, then shared out among buckets and instruments."""
    bouts: list[Bout] = []
    spell: list[Stroke] = []
    for event in [*sorted(events, key=lambda e: e.at_us), None]:
        if spell and (event is None or event.at_us - spell[-1].at_us >= rest_us):
            bouts += _bouts_of_spell(spell, min(rest_us, BUCKET))
            spell = []
        if event is not None:
            spell.append(event)
    return bouts


def _bouts_of_spell(spell: Sequence[Stroke], bucket_us: int) -> list[Bout]:
    bouts = []
    buckets = [list(group) for _, group in groupby(spell, key=lambda e: e.at_us // bucket_us)]
    ends = [bucket[0].at_us for bucket in buckets[1:]] + [spell[-1].at_us]
    for bucket, until in zip(buckets, ends, strict=True):
        opened, used = bucket[0].at_us, 0
        firsts = {name: min(e.at_us for e in bucket if e.instrument == name) for name in names(bucket)}
        for name in sorted(firsts, key=lambda n: (firsts[n], n)):
            own = [e for e in bucket if e.instrument == name]
            start = opened + (until - opened) * used // len(bucket)
            used += len(own)
            end = opened + (until - opened) * used // len(bucket)
            counts = [sum(e.action == action for e in own) for action in ("DISPENSE", "EJECT")]
            bouts.append(
                Bout(
                    own[0].person, start, end, min(e.tz for e in own), "UNKNOWN", name, *counts, station=None
                )
            )
    return bouts


def names(events: Iterable[Stroke]) -> set[str]:
    return {event.instrument for event in events}


def local_date(us: int, tz: str) -> date:
    return (
        (datetime(1970, 1, 1, tzinfo=ZoneInfo("UTC")) + timedelta(microseconds=us))
        .astimezone(ZoneInfo(tz))
        .date()
    )


def cut(bout: Bout) -> list[tuple[date, int, int]]:
    """Pieces of a bout by local date, each midnight looked up on the clock of the zone."""
    pieces, start = [], bout.start_us
    while True:
        day = local_date(start, bout.tz)
        midnight = instant(f"{day + timedelta(days=1)} 00:00:00", bout.tz)
        if bout.end_us <= midnight:
            return [*pieces, (day, start, bout.end_us)]
        pieces.append((day, start, midnight))
        start = midnight


def forces(bout: Bout, catalogue: dict[str, Instrument]) -> tuple[int | None, int | None]:
    """Force-time and peak of a whole bout, from the definitions."""
    entry = catalogue.get(bout.instrument)
    if entry is None:
        return (0 if bout.strokes == 0 and bout.tips == 0 else None), None
    peaks = [entry.plunger_mn, entry.blow_out_mn, entry.ejection_mn]
    peak = None if None in peaks else max(p for p in peaks if p is not None)
    total = 0
    if bout.strokes:
        if entry.plunger_mn is None or entry.blow_out_mn is None or entry.press_ms is None:
            return None, peak
        total += bout.strokes * (entry.plunger_mn + entry.blow_out_mn) * entry.press_ms
    if bout.tips is None:
        return None, peak
    if bout.tips:
        if entry.ejection_mn is None or entry.eject_ms is None:
            return None, peak
        total += bout.tips * entry.ejection_mn * entry.eject_ms
    return total, peak


def share(amount: int, bout: Bout, start: int, end: int) -> int:
    length = max(bout.end_us - bout.start_us, 1)
    if (start, end) == (bout.start_us, bout.end_us):
        return amount
    return amount * (end - bout.start_us) // length - amount * (start - bout.start_us) // length


def reckon(
    bouts: Iterable[Bout], strokes: Iterable[Stroke], instruments: Iterable[Instrument], settings: Settings
) -> Reckoned:
    """Pieces, spells, overlaps and person-days of all persons."""
    rest, long_rest = settings.exposure.rest_seconds * SECOND, settings.exposure.long_rest_seconds * SECOND
    guide = round(settings.exposure.spell_guide_minutes * 60) * SECOND
    clip = settings.exposure.overlap_clip_seconds * SECOND
    catalogue = {entry.instrument: entry for entry in instruments}
    events = defaultdict(list)
    for stroke in strokes:
        events[stroke.person].append(stroke)
    logs = defaultdict(list)
    for bout in bouts:
        logs[bout.person].append((bout, "bouts"))
    for person, own in events.items():
        logs[person] += [(bout, "strokes") for bout in bouts_of_events(own, rest)]
    out = Reckoned([], [], [], [])
    for person, log in sorted(logs.items()):
        kept = _without_overlap(log, clip, out.overlaps)
        spells: list[list[tuple[Bout, str]]] = []
        for bout, origin in kept:
            if not spells or bout.start_us - spells[-1][-1][0].end_us >= rest:
                spells.append([])
            spells[-1].append((bout, origin))
        pieces: list[Piece] = []
        edges = []
        for number, spell in enumerate(spells, start=1):
            start, end = spell[0][0].start_us, spell[-1][0].end_us
            out.spells.append((person, number, start, end, sum(b.end_us - b.start_us for b, _ in spell)))
            edges.append((start, end))
            for bout, origin in spell:
                force_time, peak = forces(bout, catalogue)
                for day, from_us, to_us in cut(bout):
                    beyond = max(0, to_us - max(from_us, start + guide))
                    shared = None if force_time is None else share(force_time, bout, from_us, to_us)
                    counted = share(bout.strokes, bout, from_us, to_us)
                    tips = None if bout.tips is None else share(bout.tips, bout, from_us, to_us)
                    pieces.append(
                        Piece(bout, origin, number, day, from_us, to_us, counted, tips, beyond, shared, peak)
                    )
        out.pieces.extend(pieces)
        out.person_days.extend(_days(person, pieces, edges, long_rest))
    return out


def _without_overlap(log: list[tuple[Bout, str]], clip: int, overlaps: list[tuple]) -> list[tuple[Bout, str]]:
    def order(entry: tuple[Bout, str]) -> tuple:
        bout, origin = entry
        gaps = (bout.tips is None, bout.tips or 0), bout.station is None, bout.station or ""
        return (bout.start_us, bout.end_us, origin, bout.task, bout.instrument, bout.strokes, *gaps, bout.tz)

    kept: list[tuple[Bout, str]] = []
    for bout, origin in sorted(log, key=order):
        reached = kept[-1][0].end_us if kept else bout.start_us
        early = reached - bout.start_us
        if early <= 0:
            kept.append((bout, origin))
        elif bout.end_us > reached and early <= clip:
            overlaps.append((bout.person, bout.start_us, bout.end_us, "W_CLIP", early))
            kept.append((replace(bout, start_us=reached), origin))
        else:
            inside = min(bout.end_us, reached) - bout.start_us
            overlaps.append((bout.person, bout.start_us, bout.end_us, "E_OVERLAP", inside))
    return kept


def _days(person: str, pieces: list[Piece], edges: list[tuple[int, int]], long_rest: int) -> list[tuple]:
    rests: dict[tuple[date, str], int] = defaultdict(int)
    dates = [[p.local_date for p in pieces if p.spell == number] for number in range(1, len(edges) + 1)]
    for number, ((_, end), (start, _)) in enumerate(pairwise(edges)):
        after, before = max(dates[number]), min(dates[number + 1])
        if start - end <= long_rest:
            rests[after, "micro"] += 1
        elif after == before:
            rests[after, "long"] += 1
    rows = []
    for day in sorted({piece.local_date for piece in pieces}):
        own = [piece for piece in pieces if piece.local_date == day]
        known = [piece for piece in own if piece.force_time is not None]
        peaks = [piece.peak for piece in own]
        rows.append(
            (
                person,
                day,
                sum(p.end_us - p.start_us for p in own),
                sum(p.strokes for p in own),
                max(edges[p.spell - 1][1] - edges[p.spell - 1][0] for p in own),
                sum(p.beyond_us for p in own),
                rests[day, "micro"],
                rests[day, "long"],
                sum(p.force_time or 0 for p in known) if len(known) == len(own) else None,
                sum(p.end_us - p.start_us for p in known),
                None if None in peaks else max(p for p in peaks if p is not None),
            )
        )
    return rows
