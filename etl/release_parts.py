"""What the hours of a unit are made of: task, instrument, weekday, class of force; protected both ways."""

from collections.abc import Mapping
from datetime import date

import pandas as pd

from etl.release_exposure import Lattice, exposure_rule
from etl.release_measures import HOUR_US
from etl.release_rows import Job, Row, name_of, parent_of
from etl.sqlfiles import sql
from models.disclosure import TOO_SMALL, band_text
from models.suppression import Cell, Rule, cell_of, suppress, verdict


def part_rows(
    job: Job, units: Lattice, weeks: Mapping[tuple[str, str], float], classes: pd.DataFrame
) -> list[Row]:
    """Return the rows of table ``exposure_part`` for the month.

    Parameters
    ----------
    job : Job
        Edition in the making; ``release_group`` holds all units.
    units : mapping
        (level, unit) to the unit above.
    weeks : mapping
        (level, unit) to the person-weeks worked, the denominator of hours per person and week.
    classes : pandas.DataFrame
        Time by class of thumb force; see `etl.release_dose_work.class_parts`.

    Returns
    -------
    list of tuple
        Rows without the edition number.
    """
    span: dict[str, date] = {"from": job.month.first_day, "to": job.month.plus(1).first_day}
    found = pd.concat([job.con.execute(sql("release/090_part"), span).df(), classes], ignore_index=True)
    rule = exposure_rule(job.settings)
    rows: list[Row] = []
    for kind, of_kind in found.groupby("part_kind", sort=True):
        rows += _of_kind(str(job.month), str(kind), of_kind, units, weeks, rule)
    return rows


def _of_kind(
    period: str,
    kind: str,
    found: pd.DataFrame,
    units: Lattice,
    weeks: Mapping[tuple[str, str], float],
    rule: Rule,
) -> list[Row]:
    tables: dict[tuple[str, str], pd.DataFrame] = {
        (str(level), str(unit)): group.pivot(index="person", columns="part", values="us")
        .fillna(0)
        .astype("int64")
        for (level, unit), group in found.groupby(["level", "unit"], sort=False)  # pyright: ignore
    }
    hidden = hide_parts({name_of(*key): table for key, table in tables.items()}, _parents(units), rule)
    rows: list[Row] = []
    for (level, unit), table in tables.items():
        whole = int(table.to_numpy().sum())
        for part in table.columns:
            contributions = table[part].to_numpy()
            people = int((contributions > 0).sum())
            words = hidden[name_of(level, unit), part]
            head = (period, level, unit, kind, part)
            if words is not None:
                rows.append((*head, None, None, None, words))
                continue
            spent = int(contributions.sum())
            share, hours = round(100 * spent / whole), spent / HOUR_US
            rows.append((*head, share, round(hours / weeks[level, unit], 2), band_text(people), None))
    return rows


def _parents(units: Lattice) -> dict[str, str | None]:
    return {name_of(*key): parent_of(key[0], parent) for key, parent in units.items()}


def hide_parts(
    tables: Mapping[str, pd.DataFrame], parents: Mapping[str, str | None], rule: Rule
) -> dict[tuple[str, str], str | None]:
    """Decide which cells of units by parts are shown.

    Each part is a nested table over the units, and each unit is a sum over its parts; what is hidden
    has to pass the rule in both directions, so hiding goes on until neither direction asks for more.

    Parameters
    ----------
    tables : mapping of str to pandas.DataFrame
        Unit name to whole microseconds of work, one row a person and one column a part.
    parents : mapping of str to str or None
        Unit name to the name of the unit above.
    rule : Rule
        Floor and dominance limits.

    Returns
    -------
    dict
        (unit name, part) to None (shown) or the words shown in its place.
    """
    cells = {
        (unit, part): cell_of(unit, parents[unit], hours[hours > 0].tolist())
        for unit, table in tables.items()
        for part, hours in zip(table.columns, table.to_numpy().T, strict=True)
    }
    whole = {
        unit: verdict(cell_of(unit, None, table.to_numpy().sum(axis=1).tolist()), rule)
        for unit, table in tables.items()
    }
    hidden = {(unit, part): whole[unit] or verdict(cell, rule) for (unit, part), cell in cells.items()}
    while True:
        before = sum(words is not None for words in hidden.values())
        for part in sorted({part for _, part in cells}):
            _over_units(part, cells, hidden, parents, rule)
        for unit, table in tables.items():
            _over_parts(unit, table, cells, hidden, rule)
        if sum(words is not None for words in hidden.values()) == before:
            return hidden


def _over_units(part: str, cells: dict, hidden: dict, parents: Mapping[str, str | None], rule: Rule) -> None:
    column = [cells.get((unit, part), Cell(unit, parent, 0)) for unit, parent in parents.items()]
    already = {unit: hidden[unit, part] for unit in parents if hidden.get((unit, part))}
    for unit, words in suppress(column, rule, already).items():
        if (unit, part) in hidden:
            hidden[unit, part] = words


def _over_parts(unit: str, table: pd.DataFrame, cells: dict, hidden: dict, rule: Rule) -> None:
    while True:
        out = [part for part in table.columns if hidden[unit, part]]
        shown = [part for part in table.columns if not hidden[unit, part]]
        if not out or not shown:
            return
        rest = table[out].to_numpy().sum(axis=1)
        if verdict(cell_of(unit, None, rest[rest > 0].tolist()), rule) is None:
            return
        smallest = min(shown, key=lambda part: (cells[unit, part].n, part))
        hidden[unit, smallest] = TOO_SMALL
