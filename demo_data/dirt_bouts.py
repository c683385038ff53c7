"""What is wrong on purpose among bouts: codes, clocks, numbers, repeats and overlaps."""

from collections.abc import Callable, Iterator
from dataclasses import dataclass, field

import numpy as np

from demo_data.institute import ZONES
from demo_data.planting import NO_PERSON, Bed, Row
from demo_data.sheets import Sheet
from demo_data.work import Bouts

# The hour that clocks skip in spring and repeat in autumn, by zone.
_ODD_HOUR = {"Europe/Vienna": 2, "Europe/Helsinki": 3}
_FAR_FUTURE = 1_953_500_400  # 2031-11-26 23:00


def _sunday(seconds: int) -> int:
    """Return 05:00 on the first Sunday after the day of ``seconds``: nobody works then."""
    day = seconds // 86_400
    return (day + (2 - day) % 7 + 1) * 86_400 + 5 * 3600


def _clock_change(sheet: Sheet, month: int) -> int | None:
    """Return midnight of the last Sunday of ``month`` if the sheet's quarter ends or holds it."""
    # A shift counts to the day it began on: twelve hours back is that day or the one before.
    days = np.unique((sheet.bouts.start - 43_200) // 86_400) if sheet.bouts else np.array([], int)
    months = np.unique(days.astype("datetime64[D]").astype("datetime64[M]"))
    found = [one for one in months if int(one.astype(int)) % 12 + 1 == month]
    if not found:
        return None
    last = int((found[0] + 1).astype("datetime64[D]").astype(int)) - 1
    return (last - (last - 3) % 7) * 86_400


@dataclass
class _Clock:
    """Writes rows at times of its own, so that a planted row never repeats the key of a clean one."""

    sheet: Sheet
    quiet: int
    minutes: Iterator[int] = field(default_factory=lambda: iter(range(100_000)))

    def at(self, row: Row, start: int, seconds: int) -> Row:
        """Return the row moved to a start, lasting some seconds."""
        texts = self.sheet.dialect.instants(np.array([start, start + seconds])).to_pylist()
        return row | {self.sheet.column("start"): texts[0], self.sheet.column("end"): texts[1]}

    def next(self, row: Row, base: int, seconds: int = 600, every: int = 100_000) -> Row:
        """Return the row moved to the next free minute after a base."""
        return self.at(row, base + 60 * (next(self.minutes) % every), seconds)

    def quietly(self, row: Row, seconds: int = 600, **cells: str | None) -> Row:
        """Return the row moved to a quiet Sunday, with some cells changed."""
        moved = self.next(row, self.quiet, seconds)
        return moved | {self.sheet.column(name): text for name, text in cells.items()}


Defect = tuple[str, str, Callable[[Row], Row]]


def _cell_defects(clock: _Clock) -> list[Defect]:
    quietly = clock.quietly
    return [
        ("unknown person", "E_PERSON", lambda row: quietly(row, person=NO_PERSON)),
        ("unknown instrument", "E_CODE", lambda row: quietly(row, instrument="X-MAN-9")),
        ("unknown task", "E_CODE", lambda row: quietly(row, task="SORTING")),
        ("negative duration", "E_DURATION", lambda row: quietly(row, -420)),
        ("bout of 30 hours", "E_DURATION", lambda row: quietly(row, 30 * 3600)),
        ("negative strokes", "E_RANGE", lambda row: quietly(row, strokes="-12")),
        ("strokes not a number", "E_RANGE", lambda row: quietly(row, strokes="nan")),
        ("empty start", "E_REQUIRED", lambda row: quietly(row, start=None)),
        ("zero-width sign in a code", "E_CTRL", lambda row: quietly(row, station="A\u200b1")),
        ("spreadsheet formula", "E_FORMULA", lambda row: quietly(row, station="=1+1")),
        ("date in the future", "E_FUTURE", lambda row: clock.next(row, _FAR_FUTURE)),
    ]


def _text_defects(clock: _Clock) -> list[Defect]:
    """Return the defects that only text files have."""
    sheet = clock.sheet
    header: Row = {name: name for name in sheet.table.column_names}
    total: Row = dict.fromkeys(header) | {sheet.column("person"): "Total", sheet.column("strokes"): "48211"}
    return [
        ("spreadsheet serial date", "E_SERIAL", lambda row: clock.quietly(row, start="46054")),
        ("Total row", "E_NOTDATA", lambda _: dict(total)),
        ("repeated header", "E_NOTDATA", lambda _: dict(header)),
    ]


def _clock_defects(clock: _Clock) -> list[Defect]:
    """Return local times that do not exist or exist twice, where the quarter has such a night."""
    odd = _ODD_HOUR[ZONES[clock.sheet.site]] * 3600
    found: list[Defect] = []
    spring, autumn = _clock_change(clock.sheet, 3), _clock_change(clock.sheet, 10)
    if spring is not None:
        found.append(("skipped hour", "E_DSTGAP", lambda row: clock.next(row, spring + odd, every=45)))
    if autumn is not None:
        found.append(("repeated hour", "E_DSTFOLD", lambda row: clock.next(row, autumn + odd, every=45)))
    return found


def bout_defects(bed: Bed, each: int) -> None:
    """Plant defects of every kind among bouts.

    Parameters
    ----------
    bed : Bed
        The sheet of bouts.
    each : int
        Rows of each kind.
    """
    bouts = bed.sheet.bouts
    if bouts is None:
        raise ValueError(f"{bed.sheet.name} is not a sheet of bouts")
    clock = _Clock(bed.sheet, _sunday(int(bouts.start[0])))
    defects = _cell_defects(clock) + _clock_defects(clock)
    if bed.sheet.name.endswith(".csv"):
        defects += _text_defects(clock)
    for kind, reason, spoil in defects:
        for _ in range(each):
            number, row = bed.template()
            bed.plant(kind, reason, number, spoil(row))
    strokes = bed.sheet.column("strokes")
    for _ in range(each):
        number, row = bed.template()
        bed.plant("exact repeat", "D_ROW", number, row)
        number, row = bed.template()
        other = {strokes: str(int(row[strokes] or 0) + 7)}
        bed.plant("conflicting repeat", "E_CONFLICT", number, row | other, rows=2)
        bed.planted.clean_lost += 1
    _overlaps(bed, bouts, clock, each)


def _overlaps(bed: Bed, bouts: Bouts, clock: _Clock, each: int) -> None:
    """Plant bouts inside another one, and bouts that start a minute before another one ends."""
    length = bouts.end - bouts.start
    same = np.append(bouts.person[1:] == bouts.person[:-1], False)
    room = np.where(same, np.append(bouts.start[1:], 0) - bouts.end, 0)
    left = {"bout inside another": each, "starts a minute early": each}
    while any(left.values()):
        number, row = bed.template()
        start, end = int(bouts.start[number]), int(bouts.end[number])
        inside = int(length[number]) // 60 * 60
        if left["bout inside another"] and length[number] >= 720:
            kind, planted = (
                "bout inside another",
                clock.at(row, start + 300, inside - 600),
            )
        elif left["starts a minute early"] and room[number] >= 600:
            kind, planted = "starts a minute early", clock.at(row, end - 60, 300)
        else:
            continue
        left[kind] -= 1
        bed.plant(kind, "", number, planted)
