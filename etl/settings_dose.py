"""Settings of the dose figures: strength, editions, limits; section ``[dose]`` of the settings file."""

from typing import Literal, Self

from pydantic import BaseModel, ConfigDict, Field, model_validator

Pair = tuple[float, float]


class DoseSettings(BaseModel):
    """What dose figures are held against. Sources and status stand in the ``method`` table of each release.

    Attributes
    ----------
    share_women : float
        Share of women among those who pipette, 0 to 1: the site's mix, never a person's sex.
    strength_percentile : float
        Which end of the population forces are held against: 0.05 is the person whom 5 % are weaker than.
    pinch : {"thumb", "key", "palmar", "tip"}
        Strength norm; ``thumb`` is key pinch as the nearest to a thumb push.
    hand_activity_edition : {"2001", "2018"}
        Edition of the threshold limit value for hand activity.
    hand_activity_least_hours : float
        Hours of hand work a day from which that limit holds.
    strain_limit : float
        Strain Index above which a day counts as over; from memory.
    strain_order : {"free", "index"}
        How parts of a day are ranked: ``index`` as printed, ``free`` so that added work never lowers it.
    wrist_degrees : float
        Wrist angle taken for all work, flexion positive, extension negative; nobody measures it.
    kept_up_percent : float
        Guide for peak thumb force, percent of strength.
    mean_load_percent, sustained_load_percent : float
        Guides for mean load of intermittent and of unbroken work, %MVC.
    shift_hours : float
        Length of a working day.
    rest_due_minutes : float
        Latest time since the last rest by which a micro-break is due.
    static_percent, median_percent, peak_percent : tuple of float
        Loads that should not, and must not, be exceeded, %MVC.
    damage_intercept, damage_slope : float
        Line of cycles to failure by stress; from memory.
    least_known_percent : float
        Share of the time whose exertions must be known before a figure that needs them is shown.
    """

    model_config = ConfigDict(frozen=True, extra="forbid")

    share_women: float = Field(default=0.5, ge=0, le=1)
    strength_percentile: float = Field(default=0.05, ge=0.01, le=0.5)
    pinch: Literal["thumb", "key", "palmar", "tip"] = "thumb"
    hand_activity_edition: Literal["2001", "2018"] = "2018"
    hand_activity_least_hours: float = Field(default=4.0, ge=0, le=12)
    strain_limit: float = Field(default=10.0, gt=0, le=100)
    strain_order: Literal["free", "index"] = "free"
    wrist_degrees: float = Field(default=0.0, ge=-90, le=90)
    kept_up_percent: float = Field(default=30.0, gt=0, le=100)
    mean_load_percent: float = Field(default=14.0, gt=0, le=100)
    sustained_load_percent: float = Field(default=7.9, gt=0, le=100)
    shift_hours: float = Field(default=8.0, ge=1, le=16)
    rest_due_minutes: float = Field(default=30.0, ge=5, le=120)
    static_percent: Pair = (2.0, 5.0)
    median_percent: Pair = (10.0, 14.0)
    peak_percent: Pair = (50.0, 70.0)
    damage_intercept: float = Field(default=101.25, gt=0, le=200)
    damage_slope: float = Field(default=14.83, gt=0, le=100)
    least_known_percent: float = Field(default=50.0, ge=0, le=100)

    @model_validator(mode="after")
    def _in_order(self) -> Self:
        for name in ("static_percent", "median_percent", "peak_percent"):
            should, must = getattr(self, name)
            if not 0 <= should <= must <= 100:
                raise ValueError(f"{name}: what should not be exceeded comes first, between 0 and 100")
        if self.sustained_load_percent > self.mean_load_percent:
            raise ValueError("sustained_load_percent must not be above mean_load_percent")
        return self
