"""Settings of the driver analysis: the question declared beforehand, and what is adjusted for."""

from pydantic import BaseModel, ConfigDict, Field


class DriverSettings(BaseModel):
    """Section ``[drivers]`` of the settings file.

    ``region`` is the body region of the main question; all others are exploratory. Changing it begins a new
    main question and leaves published statements as they are. ``least_months`` of answers are waited for.
    ``rise_points`` is the rise of prevalence that the hours budget stands for.
    """

    model_config = ConfigDict(frozen=True, extra="forbid")

    region: str = Field(default="WRIST_HAND", pattern=r"^[A-Z_]+$")
    least_months: int = Field(default=12, ge=12)
    rise_points: float = Field(default=10.0, ge=5.0, le=30.0)
