"""Settings of one institute: thresholds, guides and working rules, each with a cited default."""

import re
import tomllib
from pathlib import Path
from typing import Literal

from pydantic import BaseModel, ConfigDict, Field, ValidationError, field_validator

from etl.errors import EvenhandError
from etl.settings_dose import DoseSettings
from etl.settings_driver import DriverSettings
from models.scales import SCALES


class _Frozen(BaseModel):
    model_config = ConfigDict(frozen=True, extra="forbid")


class PrivacySettings(_Frozen):
    """Floors of disclosure control. They may be raised, never lowered."""

    health_floor_team: int = Field(default=10, ge=10)
    health_floor_month: int = Field(default=20, ge=20)
    exposure_floor: int = Field(default=5, ge=5)
    largest_share: float = Field(default=0.50, gt=0, le=0.50)
    two_largest_share: float = Field(default=0.75, gt=0, le=0.75)
    rounding_base: int = Field(default=5, ge=5)
    cluster_floor: int = Field(default=20, ge=20)


class ExposureSettings(_Frozen):
    """Working rules of exposure. Sources stand in the ``method`` table of each release."""

    rest_seconds: int = Field(default=180, ge=60, le=900)
    long_rest_seconds: int = Field(default=300, ge=180)
    spell_guide_minutes: float = 20.0
    long_spell_minutes: float = 60.0
    yearly_hours_guide: float = 300.0
    working_weeks_per_year: float = 44.0
    thumb_force_guide_n: float = 19.6133
    near_guide_fraction: float = Field(default=0.8, gt=0, lt=1)
    overlap_clip_seconds: int = 60


class CaseRule(_Frozen):
    """Which answers count as discomfort from a month on: ``[[symptoms.series]]`` in the settings file.

    ``since`` is the first month of a quarter, so that no quarter mixes two rules. ``bridged`` says that the
    mark on the new scale was read off people who answered on both (``evenhand bridge``): then the series goes
    on. Without it a new series starts, and nothing is compared across.
    """

    since: str = Field(default="", pattern=r"^(|\d{4}-(01|04|07|10))$")
    definition: Literal["score", "trouble_7d", "surveillance"] = "score"
    scale: str = "NRS_0_10"
    case_score: int = Field(default=4, ge=1, le=10)
    bridged: bool = False

    @field_validator("scale")
    @classmethod
    def _known(cls, scale: str) -> str:
        if scale not in SCALES:
            raise ValueError(f"'{scale}' is none of {', '.join(SCALES)}")
        return scale


class SymptomSettings(_Frozen):
    """Which answer counts as discomfort, and how strict flags on it are.

    ``definition`` is ``score`` (a rating of ``case_score`` or more), ``trouble_7d`` or ``surveillance``; see
    `models.cases`. ``series`` holds later rules, each from the first month of a quarter on.
    ``flag_limit`` and ``flag_limit_together`` are decision limits of published quarters, one region by
    itself (a CUSUM) and all together (in standard errors); left out, they are found by simulation from the
    institute's own published numbers when flags begin (`models.flag_setup`). ``baseline_restarts`` names the
    first quarter of a team's new baseline, a decision on record.
    """

    definition: Literal["score", "trouble_7d", "surveillance"] = "score"
    scale: str = "NRS_0_10"
    case_score: int = Field(default=4, ge=1, le=10)
    series: tuple[CaseRule, ...] = ()
    flag_limit: float | None = Field(default=None, ge=5.0, le=40.0)
    flag_limit_together: float | None = Field(default=None, ge=1.5, le=4.9)
    baseline_restarts: dict[str, str] = Field(default_factory=dict)

    @field_validator("baseline_restarts")
    @classmethod
    def _quarters(cls, restarts: dict[str, str]) -> dict[str, str]:
        for team, quarter in restarts.items():
            if not re.fullmatch(r"\d{4}-Q[1-4]", quarter):
                raise ValueError(f"{team}: '{quarter}' is no quarter such as 2026-Q3")
        return restarts

    @field_validator("series")
    @classmethod
    def _in_order(cls, series: tuple[CaseRule, ...]) -> tuple[CaseRule, ...]:
        starts = [rule.since for rule in series]
        if "" in starts or sorted(set(starts)) != starts:
            raise ValueError("each series needs a since of its own, oldest first, such as 2026-10")
        return series

    def rules(self) -> tuple[CaseRule, ...]:
        """Return all rules, oldest first; the first one has no beginning."""
        first = CaseRule(definition=self.definition, scale=self.scale, case_score=self.case_score)
        return first, *self.series


class RetentionSettings(_Frozen):
    """How long person-level rows are kept; `evenhand retain` applies it.

    Two years and the current month carry the comparison with the same month a year before, and an
    evaluation with a year on either side; storage limitation asks for no more than that. Fewer than 15
    months would break the yearly comparison of a quarter.
    """

    person_months: int = Field(default=24, ge=15, le=120)
    delivered_days: int = Field(default=90, ge=30, le=90)


class Settings(_Frozen):
    """All settings of one institute."""

    institute: str = "Organisation"
    privacy: PrivacySettings = PrivacySettings()
    exposure: ExposureSettings = ExposureSettings()
    dose: DoseSettings = DoseSettings()
    symptoms: SymptomSettings = SymptomSettings()
    retention: RetentionSettings = RetentionSettings()
    drivers: DriverSettings = DriverSettings()


def load_settings(path: Path) -> Settings:
    """Read settings from a TOML file; a missing file means the defaults.

    Parameters
    ----------
    path : Path
        The settings file of a data home.

    Returns
    -------
    Settings
        Validated settings.

    Raises
    ------
    EvenhandError
        If the file is not TOML or a value is unknown or out of bounds.
    """
    if not path.exists():
        return Settings()
    try:
        return Settings.model_validate(tomllib.loads(path.read_text(encoding="utf-8")))
    except tomllib.TOMLDecodeError as error:
        raise EvenhandError(f"Not valid TOML: {error}", str(path), "Correct the line named.") from error
    except ValidationError as error:
        first = error.errors()[0]
        key = ".".join(str(part) for part in first["loc"])
        raise EvenhandError(
            f"Setting {key}: {first['msg']}", str(path), "Correct or remove that setting."
        ) from error
