"""Dose figures of an edition: strain, hand activity, load and damage, protected as other exposure is."""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

import numpy as np
import pandas as pd

from etl.release_dose_measures import MEASURES, DoseMeasure, status_of
from etl.release_dose_work import CLASS_NAMES, strength_of
from etl.release_exposure import Lattice, exposure_rule
from etl.release_measures import NOT_MEASURED
from etl.release_rows import Job, Row, name_of, parent_of
from etl.settings import Settings
from models.day_dose import CLASS_EDGES
from models.disclosure import band_text
from models.groupmean import ratio_over_people
from models.guides import standing
from models.hand_activity import EDITIONS, hand_activity_limits, hand_activity_standing
from models.load_distribution import LoadLevels, LoadLimits, load_standing
from models.load_interval import load_levels_of_people
from models.suppression import cell_of, suppress

RELATIVE = "fatigue_damage"
LOAD_LEVELS = ("static", "median", "peak")
_ORGANISATION = ("organisation", "ORG")


@dataclass(frozen=True)
class _Found:
    value: float
    low: float
    high: float
    people: int


def dose_rows(job: Job, units: Lattice, people: pd.DataFrame, doses: pd.DataFrame) -> list[Row]:
    """Return the rows of table ``dose`` for the month.

    Parameters
    ----------
    job : Job
        Edition in the making.
    units : mapping
        (level, unit) to the unit above.
    people : pandas.DataFrame
        From `etl.release_exposure.people_sums`, the month's.
    doses : pandas.DataFrame
        From `etl.release_dose_work.dose_of_people`, the month's.

    Returns
    -------
    list of tuple
        Rows without the edition number. What needs forces is hidden where less of the time is known than the
        settings ask for, and otherwise says how much is.
    """
    maker = _Maker(job.settings, str(job.month), units, _joined(people, doses, job.settings))
    rows: list[Row] = []
    for measure in MEASURES:
        rows += maker.rows(measure)
        if measure.key == "mean_load":
            rows += maker.load_rows()
    return rows


def _joined(people: pd.DataFrame, doses: pd.DataFrame, settings: Settings) -> pd.DataFrame:
    key = ["level", "unit", "person"]
    wanted = people[[*key, "pipetting_us", "week_days", "peak_mn_us", "peak_known_us"]]
    frame: Any = wanted.merge(doses, on=key, how="left").fillna(0.0)
    known = frame["peak_known_us"]
    return frame.assign(
        peak_known_seconds=known / 1e6,
        peak_n=frame["peak_mn_us"] / known.where(known > 0, 1) / 1000,
        strength_n=strength_of(settings.dose),
        working_weeks=settings.exposure.working_weeks_per_year,
    )


class _Maker:
    """Makes the rows of one month; people with the same contributors are judged once.

    Parameters
    ----------
    settings : Settings
        Settings in force.
    period : str
        Month.
    units : mapping
        (level, unit) to the unit above.
    people : pandas.DataFrame
        One row a unit and person.
    """

    def __init__(self, settings: Settings, period: str, units: Lattice, people: pd.DataFrame) -> None:
        self.settings, self.period, self.units, self.people = settings, period, units, people
        self._hidden: dict[bytes, dict[tuple[str, str], str | None]] = {}
        grouped: Any = people.groupby(["level", "unit"], sort=False).indices
        self._places: Mapping[tuple[str, str], np.ndarray] = grouped
        self._level: dict[tuple[str, str], float] = {}

    def hidden(self, counted: np.ndarray) -> dict[tuple[str, str], str | None]:
        """Say which units are hidden where these people are counted."""
        key = counted.tobytes()
        if key not in self._hidden:
            hours = self.people["pipetting_us"].to_numpy()
            cells = []
            for (level, unit), parent in self.units.items():
                places = self._of(level, unit)
                own = hours[places[counted[places]]].tolist()
                cells.append(cell_of(name_of(level, unit), parent_of(level, parent), own))
            words = suppress(cells, exposure_rule(self.settings))
            self._hidden[key] = {(level, unit): words[name_of(level, unit)] for level, unit in self.units}
        return self._hidden[key]

    def _of(self, level: str, unit: str) -> np.ndarray:
        return self._places.get((level, unit), np.array([], dtype=np.int64))

    def rows(self, measure: DoseMeasure) -> list[Row]:
        """Return a measure's rows."""
        above = np.asarray(measure.numerator(self.people), dtype=float)
        below = np.asarray(measure.denominator(self.people), dtype=float)
        hidden, known = self._judged(below > 0, measure.known if measure.needs_force else None)
        scale = 1.0
        if measure.key == RELATIVE:
            places = self._of(*_ORGANISATION)
            scale = below[places].sum() / above[places].sum() if above[places].sum() > 0 else 1.0
        rows: list[Row] = []
        for (level, unit), words in hidden.items():
            places = self._of(level, unit)
            found = None
            if words is None:
                figure = ratio_over_people(above[places] * scale, below[places], most=measure.most)
                assert figure is not None, "the floor lets no group below five people through"
                value, low, high = (
                    float(np.round(x, measure.digits)) for x in (figure.value, figure.low, figure.high)
                )
                found = _Found(value, low, high, figure.people)
            guide, word, says = self._against(measure, (level, unit), found)
            rows.append(self._row(
                (level, unit), measure.key, found, measure.unit, guide, word, words,
                known.get((level, unit)), says,
                measure.basis(self.settings.dose), status_of(measure, self.settings.dose),
            ))  # fmt: skip
        return rows

    def _against(
        self, measure: DoseMeasure, place: tuple[str, str], found: _Found | None
    ) -> tuple[float | None, str | None, str]:
        """Guide, standing and words of a figure."""
        dose, value = self.settings.dose, found.value if found else None
        if measure.key == "hand_activity" and value is not None:
            self._level[place] = value
        if measure.key == "peak_force":
            edition = EDITIONS[dose.hand_activity_edition]
            if value is None or place not in self._level:
                return None, None, ""
            limits = hand_activity_limits(self._level[place], edition)
            word = hand_activity_standing(value, self._level[place], edition)
            says = f"TLV at the group's hand activity; action limit {float(limits.action):.1f}"
            return round(float(limits.threshold), 1), word, says
        guide = measure.guide(self.settings)
        if guide is None:
            return None, None, measure.guide_words(dose)
        word = standing(value, guide, self.settings.exposure.near_guide_fraction)
        return guide.value, word, measure.guide_words(dose)

    def _judged(
        self, counted: np.ndarray, known: str | None
    ) -> tuple[dict[tuple[str, str], str | None], dict[tuple[str, str], int]]:
        """Words of hidden units, and the share of the time that is known, percent, where that matters."""
        if known is None:
            return self.hidden(counted), {}
        if not counted.any():
            return dict.fromkeys(self.units, NOT_MEASURED), {}
        words, shares = dict(self.hidden(counted)), {}
        least = self.settings.dose.least_known_percent
        whole, part = (self.people[name].to_numpy(dtype=float) for name in ("seconds", known))
        for place in self.units:
            places = self._of(*place)
            if whole[places].sum() > 0:
                shares[place] = round(100 * part[places].sum() / whole[places].sum())
            if words[place] is None and shares.get(place, 0) < least:
                words[place] = f"not shown: measured forces cover less than {least:g} % of the time"
        return words, shares

    def load_rows(self) -> list[Row]:
        """Return the rows of static, median and peak load."""
        dose = self.settings.dose
        pairs = [getattr(dose, f"{level}_percent") for level in LOAD_LEVELS]
        limits = LoadLimits(
            should_not_exceed=tuple(p[0] for p in pairs), must_not_exceed=tuple(p[1] for p in pairs)
        )  # pyright: ignore[reportArgumentType]
        seconds = self.people[list(CLASS_NAMES)].to_numpy(dtype=float)
        hidden, known = self._judged(seconds.sum(axis=1) > 0, "known_seconds")
        rows: list[Row] = []
        for place, words in hidden.items():
            own = seconds[self._of(*place)]
            found = load_levels_of_people(CLASS_EDGES, own, limits=limits) if words is None else None
            values = [float(np.round(level.value, 1)) for level in found] if found else [np.nan] * 3
            told = load_standing(LoadLevels(*values), limits)
            for k, level in enumerate(LOAD_LEVELS):
                figure = None
                if found:
                    ends = (round(found[k].low, 1), round(found[k].high, 1))
                    figure = _Found(values[k], *ends, int((own.sum(axis=1) > 0).sum()))
                rows.append(self._row(
                    place, f"load_{level}", figure, "%MVC", pairs[k][1], told[level], words,
                    known.get(place), f"should stay under {pairs[k][0]:g}",
                    "Jonsson 1982, work over 1 h; thumb alone, at rest between presses",
                    "limits published (quoted); percentiles and strength from memory",
                ))  # fmt: skip
        return rows

    def _row(
        self, place: tuple[str, str], key: str, found: _Found | None, unit: str, guide: float | None,
        word: str | None, words: str | None, known: int | None, says: str, basis: str, status: str,
    ) -> Row:  # fmt: skip
        numbers = (found.value, found.low, found.high) if found else (None, None, None)
        return (
            self.period, "month", *place, key, *numbers, unit, band_text(found.people) if found else None,
            guide, word, f"dose.{key}", words, known if found else None, says, basis, status,
        )  # fmt: skip
