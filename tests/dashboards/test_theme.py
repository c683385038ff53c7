"""Colours can be read on both surfaces and told apart by colour-blind eyes."""

import itertools

import numpy as np
import pytest

from dashboards import theme

# Brettel-type simulation matrices for linear RGB, severity 1.0: Machado, Oliveira & Fernandes 2009,
# IEEE Trans Vis Comput Graph 15:1291, Table 1.
MACHADO = {
    "red-blind": [
        [0.152286, 1.052583, -0.204868],
        [0.114503, 0.786281, 0.099216],
        [-0.003882, -0.048116, 1.051998],
    ],
    "green-blind": [
        [0.367322, 0.860646, -0.227968],
        [0.280085, 0.672501, 0.047413],
        [-0.011820, 0.042940, 0.968881],
    ],
    "blue-blind": [
        [1.255528, -0.076749, -0.178779],
        [-0.078411, 0.930809, 0.147602],
        [0.004733, 0.691367, 0.303900],
    ],
}
HUES = {"ink": theme.INK, "soil": theme.SOIL, "plum": theme.PLUM, "ash": theme.ASH}
SURFACES = [theme.PALETTE[mode]["paper"] for mode in ("light", "dark")]


def linear(colour: str) -> np.ndarray:
    channels = np.array([int(colour[i : i + 2], 16) for i in (1, 3, 5)]) / 255
    return np.where(channels <= 0.04045, channels / 12.92, ((channels + 0.055) / 1.055) ** 2.4)


def contrast(one: str, two: str) -> float:
    """WCAG 2.2, definition of contrast ratio."""
    light, dark = sorted((linear(c) @ [0.2126, 0.7152, 0.0722] for c in (one, two)), reverse=True)
    return (light + 0.05) / (dark + 0.05)


def lab(rgb: np.ndarray) -> np.ndarray:
    """CIE 1976 L*a*b* from linear sRGB, white D65 (IEC 61966-2-1)."""
    xyz = np.array([[0.4124, 0.3576, 0.1805], [0.2126, 0.7152, 0.0722], [0.0193, 0.1192, 0.9505]]) @ rgb
    f = np.cbrt(np.clip(xyz / [0.9505, 1.0, 1.089], 1e-6, None))
    return np.array([116 * f[1] - 16, 500 * (f[0] - f[1]), 200 * (f[1] - f[2])])


@pytest.mark.parametrize("surface", SURFACES)
@pytest.mark.parametrize("name", sorted(HUES))
def test_marks_reach_three_to_one(name: str, surface: str) -> None:
    """WCAG 2.2, success criterion 1.4.11: at least 3:1 for graphical objects."""
    assert contrast(HUES[name], surface) >= 3.0


@pytest.mark.parametrize("mode", ["light", "dark"])
def test_text_reaches_four_and_a_half_to_one(mode: str) -> None:
    """WCAG 2.2, success criterion 1.4.3."""
    palette = theme.PALETTE[mode]
    for role in ("text", "muted", "primary"):
        assert contrast(palette[role], palette["paper"]) >= 4.5


@pytest.mark.parametrize("sight", ["all", *MACHADO])
def test_ink_and_soil_stay_apart_for_every_eye(sight: str) -> None:
    """2.3 in L*a*b* is just noticeable (Mahy 1994, Color Res Appl 19:105); 20 is plain to see."""
    seen = {
        name: lab(np.clip(np.array(MACHADO[sight]) @ linear(hue), 0, 1) if sight != "all" else linear(hue))
        for name, hue in HUES.items()
    }
    assert np.linalg.norm(seen["ink"] - seen["soil"]) >= 20
    for one, two in itertools.combinations(seen, 2):
        assert np.linalg.norm(seen[one] - seen[two]) >= 6, (one, two)


def test_every_hue_has_a_shape_and_a_word() -> None:
    from dashboards.figures.rows import LOOK
    from dashboards.labels import STANDING, TREND

    assert set(TREND) <= set(LOOK)
    assert len({LOOK[word][0] for word in TREND}) == len(TREND)
    assert len(set(STANDING.values())) == len(STANDING)
