"""Who is where: the invented institute's sites, clusters, teams, instruments and the part each team plays."""

from dataclasses import dataclass

import numpy as np

TASKS = ("PCR_SETUP", "PLATE_FILL", "DILUTION", "CELL_CULTURE", "ALIQUOT", "QC_ASSAY")
# Strokes per minute while a bout lasts, one figure a task.
STROKES_PER_MINUTE = np.array([4.4, 3.8, 4.2, 2.2, 6.0, 3.2])
REGIONS = (
    "NECK", "SHOULDER", "UPPER_BACK", "ELBOW", "WRIST_HAND", "LOW_BACK", "HIP_THIGH", "KNEE", "ANKLE_FOOT",
)  # fmt: skip
SIDED = ("SHOULDER", "ELBOW", "WRIST_HAND", "HIP_THIGH", "KNEE", "ANKLE_FOOT")
SITES = ("NORTH", "BRACK", "QUILL")
ZONES = {"NORTH": "Europe/Vienna", "BRACK": "Europe/Helsinki", "QUILL": "Europe/Helsinki"}
KGF_IN_N = 9.80665


@dataclass(frozen=True)
class Team:
    """One team: its place, its size in seats, and how heavy its pipetting is.

    Attributes
    ----------
    code, name : str
        Code in the exports and words for readers.
    cluster, site : str
        Where it belongs.
    seats : int
        People the team has when every place is filled.
    load : float
        Multiplier on the number of bouts a day.
    """

    code: str
    name: str
    cluster: str
    site: str
    seats: int
    load: float


@dataclass(frozen=True)
class Instrument:
    """One model of pipette with its TRUE thumb forces in newtons; ``measured`` says which were measured."""

    code: str
    kind: str
    channels: int
    plunger: float
    blow_out: float
    tip_mount: float
    ejection: float
    volume_change: float
    press_ms: int
    eject_ms: int
    mass_g: float
    length_mm: float
    site: str
    measured: str = "all"

    @property
    def peak_thumb(self) -> float:
        """Largest of plunger, blow-out and ejection force, N."""
        return max(self.plunger, self.blow_out, self.ejection)


@dataclass(frozen=True)
class Plan:
    """One scale of the institute: its teams, their parts in the story and its calendar.

    Attributes
    ----------
    teams : tuple of Team
        All teams; a team's index is its number in every array.
    months : int
        Months of data, ending with 2026-10.
    bouts_per_day : float
        Bouts on a person's full working day, before all multipliers.
    bout_median_s : float
        Median length of a bout, seconds.
    parts : dict
        Team codes by part: overloaded, chance, night, stroke_log, helped_force, helped_hours,
        no_effect, outcome_candidates, staggered.
    """

    teams: tuple[Team, ...]
    months: int
    bouts_per_day: float
    bout_median_s: float
    parts: dict[str, tuple[str, ...]]

    def index(self, code: str) -> int:
        """Return the number of the team with this code."""
        return [team.code for team in self.teams].index(code)

    def of_part(self, part: str) -> np.ndarray:
        """Return the numbers of the teams that play ``part``."""
        return np.array([self.index(code) for code in self.parts[part]])

    @property
    def first_month(self) -> np.datetime64:
        """First month of data."""
        return np.datetime64("2026-10", "M") - (self.months - 1)

    @property
    def month_list(self) -> np.ndarray:
        """All months, datetime64[M]."""
        return self.first_month + np.arange(self.months)


CLUSTER_NAMES = {
    "MOLBIO": "Molecular methods", "BIOAN": "Bioanalysis", "CELLS": "Cell systems",
    "DIAG": "Diagnostics", "PROT": "Protein work", "SCREEN": "Screening",
}  # fmt: skip

_FULL = (
    Team("T01", "Amplification", "MOLBIO", "NORTH", 28, 0.95),
    Team("T02", "Sequencing prep", "MOLBIO", "NORTH", 12, 0.85),
    Team("T03", "Archive and storage", "MOLBIO", "NORTH", 8, 0.55),
    Team("T04", "Sample intake", "BIOAN", "NORTH", 16, 1.75),
    Team("T05", "Night analysis", "BIOAN", "NORTH", 14, 1.05),
    Team("T06", "Cell lines", "CELLS", "BRACK", 24, 1.10),
    Team("T07", "Tissue models", "CELLS", "BRACK", 13, 0.60),
    Team("T08", "Serology", "DIAG", "BRACK", 20, 1.20),
    Team("T09", "Reference testing", "DIAG", "BRACK", 11, 0.90),
    Team("T10", "Panel assays", "DIAG", "BRACK", 15, 0.90),
    Team("T11", "Expression", "PROT", "QUILL", 22, 0.80),
    Team("T12", "Structure", "PROT", "QUILL", 4, 0.50),
    Team("T13", "Purification", "PROT", "QUILL", 10, 0.70),
    Team("T14", "Compound store", "SCREEN", "QUILL", 18, 0.95),
    Team("T15", "Assay building", "SCREEN", "QUILL", 14, 1.00),
    Team("T16", "Hit follow-up", "SCREEN", "QUILL", 12, 0.80),
)
_SMALL = (
    Team("T01", "Sample intake", "BIOAN", "NORTH", 18, 2.90),
    Team("T02", "Night analysis", "BIOAN", "NORTH", 8, 1.00),
    Team("T03", "Serology", "DIAG", "BRACK", 14, 1.20),
    Team("T04", "Cell lines", "DIAG", "BRACK", 12, 1.10),
    Team("T05", "Expression", "CELLS", "BRACK", 17, 0.70),
    Team("T06", "Panel assays", "CELLS", "BRACK", 12, 0.90),
    Team("T07", "Structure", "SCREEN", "QUILL", 4, 0.55),
    Team("T08", "Compound store", "SCREEN", "QUILL", 24, 0.90),
)
_FULL_PARTS = {
    "overloaded": ("T04",), "chance": ("T10",), "night": ("T05",), "stroke_log": ("T09",),
    "helped_force": ("T08",), "helped_hours": ("T06",), "no_effect": ("T11",),
    "outcome_candidates": ("T01", "T02", "T07", "T14"), "staggered": ("T16", "T03", "T15", "T13"),
}  # fmt: skip
_SMALL_PARTS = {
    "overloaded": ("T01",), "chance": ("T06",), "night": ("T02",), "stroke_log": ("T04",),
    "helped_force": ("T03",), "helped_hours": ("T04",), "no_effect": ("T05",),
    "outcome_candidates": ("T05", "T08"), "staggered": ("T02", "T07"),
}  # fmt: skip


def plan(scale: str) -> Plan:
    """Return the institute at one scale.

    Parameters
    ----------
    scale : {'full', 'small'}
        ``full`` is the demonstration; ``small`` keeps every part of it in a size for tests.

    Returns
    -------
    Plan
        Teams, parts and calendar.

    Raises
    ------
    ValueError
        If ``scale`` is neither word.
    """
    if scale == "full":
        return Plan(_FULL, 36, 11.0, 430.0, _FULL_PARTS)
    if scale == "small":
        return Plan(_SMALL, 15, 2.4, 900.0, _SMALL_PARTS)
    raise ValueError(f"scale must be 'full' or 'small', not {scale!r}")
