"""A bench with its chair, and when it counts as fitting a person."""

from dataclasses import dataclass

from models.sourced import Sourced, Status, measured

SHOES = Sourced(25.0, "mm", "convention for flat shoes", "from memory")

SEAT_BOUNDS = (200.0, 1200.0)
"""Seat heights that are taken as plausible input, mm."""


@dataclass(frozen=True)
class FitRule:
    """When a bench fits a person.

    Attributes
    ----------
    standing_elbow_above : tuple of float
        Least and most height of the elbow above the bench, standing, mm.
    seated_elbow_above : tuple of float
        The same, seated, mm.
    thigh_gap : float
        Free room between thigh and bench, mm.
    shoes : Sourced
        What shoes add, mm.
    source : str
        What the standing rule rests on.
    status : Status
        How sure the standing rule is; the seated rule and the gap are this project's own.
    """

    standing_elbow_above: tuple[float, float] = (50.0, 100.0)
    seated_elbow_above: tuple[float, float] = (0.0, 100.0)
    thigh_gap: float = 20.0
    shoes: Sourced = SHOES
    source: str = "Pheasant & Haslegrave 2006, Bodyspace, 3rd ed.: light work 5-10 cm below the elbow"
    status: Status = "published (quoted)"


FIT_RULE = FitRule()


@dataclass(frozen=True)
class Bench:
    """A bench with its chair.

    Attributes
    ----------
    height : float
        Working surface above the floor, mm.
    edge_thickness : float
        Surface to underside where the thighs go, mm.
    chair_low, chair_high : float
        Lowest and highest seat, mm.
    foot_support : bool or None
        Whether footring or footrest is there; None where unknown.
    cut_out_thickness : float or None
        Thickness where the edge is cut out above the thighs, mm; None without a cut-out.
    platform : float
        Height of a platform to stand on, mm.
    """

    height: float
    edge_thickness: float
    chair_low: float
    chair_high: float
    foot_support: bool | None
    cut_out_thickness: float | None = None
    platform: float = 0.0

    def __post_init__(self) -> None:
        """Refuse measures that no bench has."""
        unit = "Give millimetres."
        measured("bench height (mm)", self.height, low=400.0, high=1600.0, remedy=unit)
        measured("edge thickness (mm)", self.edge_thickness, low=0.0, high=400.0, remedy=unit)
        measured(
            "lowest and highest seat (mm)",
            (self.chair_low, self.chair_high),
            low=SEAT_BOUNDS[0],
            high=SEAT_BOUNDS[1],
            remedy=unit,
        )
        measured("platform (mm)", self.platform, low=0.0, high=500.0, remedy=unit)
        if self.cut_out_thickness is not None:
            measured("cut-out thickness (mm)", self.cut_out_thickness, low=0.0, high=400.0, remedy=unit)
        if self.chair_low > self.chair_high:
            raise ValueError(
                f"lowest seat {self.chair_low:g} mm is above the highest {self.chair_high:g}. Swap them."
            )

    @property
    def thickness(self) -> float:
        """Thickness above the thighs, mm."""
        return self.edge_thickness if self.cut_out_thickness is None else self.cut_out_thickness
