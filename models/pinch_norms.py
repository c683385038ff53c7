"""Norms of pinch strength by kind of pinch, sex and age, as records that a user can replace.

None of them measures a plunger stroke; key pinch is the nearest to a thumb push. Printed in pounds-force.
"""

from dataclasses import dataclass
from math import fsum
from typing import Literal

from models.force import NEWTON_PER_UNIT
from models.sourced import Status

Pinch = Literal["tip", "palmar", "key"]
Sex = Literal["F", "M"]

_NEWTON_PER_POUND = float(NEWTON_PER_UNIT["lbf"])
_MATHIOWETZ = "Mathiowetz et al. 1985, Arch Phys Med Rehabil 66(2):69-74, PMID 3970660"
_JANSEN = "Stegink Jansen et al. 2003, J Hand Ther 16:326-336, neutral forearm, right hand"


@dataclass(frozen=True)
class PinchNorm:
    """Strength of one kind of pinch in one sex and age group, right or dominant hand.

    Attributes
    ----------
    pinch : {"tip", "palmar", "key"}
        Kind of pinch; palmar is the three-jaw chuck, key the lateral pinch.
    sex : {"F", "M"}
        Whose norm.
    ages : tuple of int
        Youngest and oldest age, years.
    mean_lb, sd_lb : float, float or None
        Mean and standard deviation, lbf; no SD where sources contradict each other.
    source : str
        Author, year, journal.
    status : Status
        How sure the values are.
    """

    pinch: Pinch
    sex: Sex
    ages: tuple[int, int]
    mean_lb: float
    sd_lb: float | None
    source: str
    status: Status


@dataclass(frozen=True)
class Strength:
    """Maximum strength of a population, taken as normally distributed.

    Attributes
    ----------
    mean_n, sd_n : float
        Mean and standard deviation, N.
    source : str
        Where they come from.
    status : Status
        How sure they are.
    """

    mean_n: float
    sd_n: float
    source: str
    status: Status

    def __post_init__(self) -> None:
        """Refuse a distribution that cannot be."""
        if not (self.mean_n > 0 and self.sd_n > 0):
            raise ValueError(
                f"strength {self.mean_n:g} N (SD {self.sd_n:g}). Give a mean and an SD above 0, in newtons."
            )


def _five_year_groups(
    pinch: Pinch, sex: Sex, cells: str, status: Status, source: str = _MATHIOWETZ
) -> tuple[PinchNorm, ...]:
    """Read "mean/SD" cells of the age groups 20-24, 25-29, ... 70-74 and 75 on."""
    norms = []
    for age, cell in zip(range(20, 80, 5), cells.split(), strict=True):
        mean, _, sd = cell.partition("/")
        oldest = 120 if age == 75 else age + 4
        norms.append(
            PinchNorm(pinch, sex, (age, oldest), float(mean), float(sd) if sd else None, source, status)
        )
    return tuple(norms)


def _ten_year_groups(sex: Sex, cells: tuple[tuple[float, float], ...]) -> tuple[PinchNorm, ...]:
    """Read mean and SD of palmar pinch of the age groups 20-29, 30-39, ... 60-69."""
    return tuple(
        PinchNorm("palmar", sex, (age, age + 9), mean, sd, _MATHIOWETZ, "published (quoted)")
        for age, (mean, sd) in zip(range(20, 70, 10), cells, strict=True)
    )


PINCH_NORMS: tuple[PinchNorm, ...] = (
    # Men of 30-34: one text prints 17.4 (SD 6.7), another 17.6; the SD of the contradicted cell is left out.
    *_five_year_groups(
        "tip",
        "M",
        "18.0/3.0 18.3/4.4 17.6 18.0/3.6 17.8/4.0 18.7/4.9 "
        "18.3/4.0 16.6/3.3 15.8/3.9 17.0/4.2 13.8/2.6 14.0/3.4",
        "published (quoted)",
    ),
    *_five_year_groups(
        "tip",
        "F",
        "11.1/2.1 11.9/1.8 12.6/3.0 11.6/2.5 11.5/2.7 13.2/3.0 "
        "12.5/2.2 11.7/1.7 10.1/2.1 10.6/2.0 10.1/2.6 9.6/2.8",
        "published (quoted)",
    ),
    *_five_year_groups(
        "key",
        "M",
        "26.0/3.5 26.7/4.9 26.4/4.8 26.1/3.2 25.6/2.6 25.8/3.9 "
        "26.7/4.4 24.2/4.2 23.2/5.4 23.4/3.9 19.3/2.4 20.5/4.6",
        "from memory",
    ),
    *_five_year_groups(
        "key",
        "F",
        "17.6/2.0 17.7/2.1 18.7/3.0 16.6/2.0 16.7/3.1 17.6/3.2 "
        "16.7/2.5 15.7/2.5 15.5/2.7 15.0/2.6 14.5/2.9 12.6/2.3",
        "from memory",
    ),
    *_ten_year_groups("M", ((26.3, 4.8), (25.5, 4.5), (24.3, 3.8), (23.8, 5.1), (21.6, 3.2))),
    *_ten_year_groups("F", ((17.5, 2.8), (18.4, 4.7), (17.5, 3.1), (16.7, 3.2), (14.5, 3.1))),
)


def pinch_strength(
    pinch: Pinch,
    sex: Sex,
    ages: tuple[int, int] = (20, 59),
    norms: tuple[PinchNorm, ...] = PINCH_NORMS,
) -> Strength:
    """Return pinch strength of one sex over the age groups that lie inside a range.

    Age groups weigh alike: mean of means; variance = mean of variances + variance of means. Pinch strength
    is steady from 20 to 59 and falls after (Mathiowetz et al. 1985, Arch Phys Med Rehabil 66(2):69-74, PMID
    3970660), so the default needs nobody's age. Status: that of the norms (tip and palmar published
    (quoted), key from memory).

    Parameters
    ----------
    pinch : {"tip", "palmar", "key"}
        Kind of pinch.
    sex : {"F", "M"}
        Whose norm.
    ages : tuple of int
        Youngest and oldest age, years; age groups not wholly inside are left out.
    norms : tuple of PinchNorm
        The norms to pool.

    Returns
    -------
    Strength
        Mean and SD, N.

    Raises
    ------
    ValueError
        If no age group with an SD lies inside the range.
    """
    groups = [
        norm
        for norm in norms
        if norm.pinch == pinch and norm.sex == sex and ages[0] <= norm.ages[0] and norm.ages[1] <= ages[1]
    ]
    spreads = [norm.sd_lb for norm in groups if norm.sd_lb is not None]
    if not spreads:
        raise ValueError(
            f"no {pinch} pinch norm with an SD for sex {sex!r}, ages {ages[0]}-{ages[1]}. "
            "Choose tip, palmar or key, F or M, and a range that holds a whole age group."
        )
    mean = fsum(norm.mean_lb for norm in groups) / len(groups)
    between = fsum((norm.mean_lb - mean) ** 2 for norm in groups) / len(groups)
    within = fsum(sd**2 for sd in spreads) / len(spreads)
    return Strength(
        mean * _NEWTON_PER_POUND,
        (within + between) ** 0.5 * _NEWTON_PER_POUND,
        f"{groups[0].source}, {pinch} pinch, ages {ages[0]}-{ages[1]} pooled",
        groups[0].status,
    )


def _thumb_push(sex: Sex, mean_lb: float) -> Strength:
    key = pinch_strength("key", sex)
    return Strength(
        mean_lb * _NEWTON_PER_POUND,
        key.sd_n,
        f"key pinch as the nearest to a thumb push; mean: {_JANSEN} (published, quoted); SD: {key.source}",
        "from memory",
    )


THUMB_PUSH: dict[Sex, Strength] = {"F": _thumb_push("F", 16.03), "M": _thumb_push("M", 23.16)}
"""Strength to hold thumb forces against by default; as sure as its weaker half, the SD."""
