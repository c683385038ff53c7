"""What each site exports: clean sheets of text under the site's own headers, before any dirt."""

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np
import pyarrow as pa

from demo_data.catalogue import CHANNELS, INSTRUMENTS, Station
from demo_data.days import Calendar
from demo_data.dialect import Dialect, dialect
from demo_data.institute import TASKS, Plan
from demo_data.people import AGE_BANDS, People
from demo_data.strokes import ACTIONS, StrokeLog
from demo_data.work import Bouts

_HANDS = ("RIGHT", "LEFT")


@dataclass(frozen=True)
class Sheet:
    """One file to be: its name, contract, profile source, and clean rows as text.

    Attributes
    ----------
    site, contract, source, name : str
        Site code, contract, source in the profile, and file name.
    table : pyarrow.Table
        Text cells under the site's headers.
    answers : int
        Rows that the loader counts for one line: 1, or the number of answers of a wide survey's line.
    bouts : Bouts or None
        The bouts behind a sheet of bouts, row by row.
    """

    site: str
    contract: str
    source: str
    name: str
    table: pa.Table
    answers: int = 1
    bouts: Bouts | None = None

    @property
    def dialect(self) -> Dialect:
        """How the site writes."""
        return dialect(self.site)

    def column(self, field: str) -> str:
        """Return the site's header of a contract field."""
        return self.dialect.fields(self.source)[field]["column"]


def people_sheet(site: str, plan: Plan, cal: Calendar, staff: People) -> Sheet:
    """Write the spells that belong to a site's teams.

    Parameters
    ----------
    site, plan, cal, staff
        The site, the institute, its days and its people.

    Returns
    -------
    Sheet
        One row a spell.
    """
    way = dialect(site)
    spells = [spell for spell in staff.spells if plan.teams[spell.team].site == site]
    first = cal.days[[spell.first for spell in spells]]
    last = [np.datetime64("NaT") if spell.last is None else cal.days[spell.last] for spell in spells]
    columns = {
        "person": [str(staff.pseudonym[spell.person]) for spell in spells],
        "team": [plan.teams[spell.team].code for spell in spells],
        "valid_from": way.dates(first),
        "valid_to": way.dates(np.array(last, "datetime64[D]")),
        "age_band": [AGE_BANDS[staff.age[spell.person]] for spell in spells],
    }
    return Sheet(site, "people", "people", f"{site.lower()}_people.csv", way.headed("people", columns))


def instrument_sheet(site: str) -> Sheet:
    """Write a site's instrument catalogue with what was measured, in the site's units.

    Parameters
    ----------
    site : str
        Site code.

    Returns
    -------
    Sheet
        One row an instrument.
    """
    way = dialect(site)
    items = [item for item in INSTRUMENTS if item.site == site]
    known = np.array([item.measured != "none" for item in items])
    columns: dict[str, object] = {
        "instrument": [item.code for item in items],
        "kind": way.coded("instruments", "kind", tuple(item.kind for item in items)),
        "channels": [str(item.channels) for item in items],
    }
    for field, attribute in (
        ("plunger_force", "plunger"), ("blow_out_force", "blow_out"), ("tip_mount_force", "tip_mount"),
        ("ejection_force", "ejection"), ("volume_change_force", "volume_change"),
    ):  # fmt: skip
        values = np.where(known, [getattr(item, attribute) for item in items], np.nan)
        if attribute == "blow_out":
            values[[item.measured == "no blow-out" for item in items]] = np.nan
        columns[field] = way.quantity("instruments", field, values)
    for field, attribute in (
        ("press_duration", "press_ms"), ("eject_duration", "eject_ms"), ("mass", "mass_g"),
        ("length", "length_mm"),
    ):  # fmt: skip
        columns[field] = way.quantity(
            "instruments", field, np.array([getattr(item, attribute) for item in items])
        )
    name = f"{site.lower()}_instruments.csv"
    return Sheet(site, "instruments", "instruments", name, way.headed("instruments", columns))


def station_sheet(site: str, plan: Plan, benches: tuple[Station, ...]) -> Sheet:
    """Write a site's benches.

    Parameters
    ----------
    site, plan, benches
        The site, the institute and all benches.

    Returns
    -------
    Sheet
        One row a bench.
    """
    way = dialect(site)
    here = [bench for bench in benches if plan.teams[plan.index(bench.team)].site == site]
    columns: dict[str, object] = {
        "station": [bench.code for bench in here],
        "team": [bench.team for bench in here],
        "observed_on": way.dates(np.array([bench.observed_on for bench in here], "datetime64[D]")),
    }
    for field in ("bench_height", "edge_thickness", "chair_min", "chair_max", "hood_sash"):
        values = [np.nan if getattr(bench, field) is None else getattr(bench, field) for bench in here]
        columns[field] = way.quantity("stations", field, np.array(values, float))
    for field in ("foot_support", "cut_out"):
        columns[field] = way.coded(
            "stations", field, tuple(str(getattr(bench, field)).lower() for bench in here)
        )
    return Sheet(
        site, "stations", "stations", f"{site.lower()}_stations.csv", way.headed("stations", columns)
    )


def _quarters(months: np.ndarray) -> dict[str, list[int]]:
    found: dict[str, list[int]] = {}
    for number, month in enumerate(months.astype(int)):
        found.setdefault(f"{1970 + month // 12}q{month % 12 // 3 + 1}", []).append(number)
    return found


def bout_sheets(
    site: str, plan: Plan, staff: People, benches: tuple[Station, ...], bouts: Bouts
) -> Iterator[Sheet]:
    """Write a site's bouts, one file a quarter.

    Parameters
    ----------
    site, plan, staff, benches, bouts
        The site, the institute, its people and benches, and the bouts to export.

    Yields
    ------
    Sheet
        One row a bout, in order of person and start.
    """
    way = dialect(site)
    ending = "parquet" if site == "QUILL" else "csv"
    at_site = np.array([team.site == site for team in plan.teams])[bouts.team]
    names = pa.array(staff.pseudonym.tolist(), pa.string())
    for quarter, months in _quarters(plan.month_list).items():
        part = bouts.take(at_site & np.isin(bouts.month, months))
        columns = {
            "person": names.take(pa.array(part.person)),
            "start": way.instants(part.start),
            "end": way.instants(part.end),
            "task": way.code("bouts", "task", TASKS, part.task),
            "instrument": pa.array([item.code for item in INSTRUMENTS]).take(pa.array(part.instrument)),
            "strokes": pa.array(part.strokes).cast(pa.string()),
            "tips": pa.array(part.tips).cast(pa.string()),
            "channels": pa.array(CHANNELS[part.instrument]).cast(pa.string()),
            "volume_changes": pa.array(part.volume_changes).cast(pa.string()),
            "station": pa.array([bench.code for bench in benches]).take(pa.array(part.station)),
            "hand": way.code("bouts", "hand", _HANDS, part.left.astype(int)),
        }
        name = f"{site.lower()}_bouts_{quarter}.{ending}"
        yield Sheet(site, "bouts", "bouts", name, way.headed("bouts", columns), bouts=part)


def stroke_sheet(site: str, month: np.datetime64, staff: People, log: StrokeLog) -> Sheet:
    """Write the stroke log.

    Parameters
    ----------
    site, month, staff, log
        Site and month of the log, the people and the events.

    Returns
    -------
    Sheet
        One row an event.
    """
    way = dialect(site)
    columns = {
        "person": pa.array(staff.pseudonym.tolist(), pa.string()).take(pa.array(log.person)),
        "at": way.instants(log.at // 1000, log.at % 1000),
        "instrument": pa.array([item.code for item in INSTRUMENTS]).take(pa.array(log.instrument)),
        "action": way.code("strokes", "action", ACTIONS, log.action),
    }
    return Sheet(
        site, "strokes", "strokes", f"{site.lower()}_strokes_{month}.csv", way.headed("strokes", columns)
    )
