"""The palette: it can be read, and told apart by those who see fewer colours, and without colour at all."""

from itertools import combinations

import numpy as np
import pytest
from numpy.testing import assert_allclose
from numpy.typing import NDArray

from fourpatch.app import theme
from fourpatch.picture import palette
from fourpatch.picture.palette import BODY, DOWN, FRONT, GROUND, INK, QUIET, REAR, ROAD, SHADE, UP, Pen

Colour = NDArray[np.float64]

PENS = {"front": FRONT, "rear": REAR, "up": UP, "down": DOWN, "body": BODY, "road": ROAD}

MEETING = [
    ("front", "rear"),
    ("up", "down"),
    ("front", "body"),
    ("rear", "body"),
    ("front", "road"),
    ("body", "road"),
    ("up", "road"),
    ("down", "road"),
]
"""Inks that stand in one figure and must be told apart."""

# Linear RGB to what protan, deutan and tritan eyes see, complete loss: Machado, Oliveira & Fernandes, IEEE
# Trans. Visualization and Computer Graphics 15 (2009), table 1 (from memory).
EYES = {
    "protan": [
        [0.152286, 1.052583, -0.204868],
        [0.114503, 0.786281, 0.099216],
        [-0.003882, -0.048116, 1.051998],
    ],
    "deutan": [
        [0.367322, 0.860646, -0.227968],
        [0.280085, 0.672501, 0.047413],
        [-0.011820, 0.042940, 0.968881],
    ],
    "tritan": [
        [1.255528, -0.076749, -0.178779],
        [-0.078411, 0.930809, 0.147602],
        [0.004733, 0.691367, 0.303900],
    ],
}


def linear(colour: str) -> Colour:
    """Linear RGB of a colour, by the sRGB transfer of IEC 61966-2-1 as WCAG 2 writes it."""
    channels = np.array([int(colour[k : k + 2], 16) for k in (1, 3, 5)]) / 255.0
    return np.where(channels <= 0.04045, channels / 12.92, ((channels + 0.055) / 1.055) ** 2.4)


def luminance(colour: str) -> float:
    """Relative luminance of WCAG 2."""
    return float(linear(colour) @ [0.2126, 0.7152, 0.0722])


def contrast(one: str, other: str) -> float:
    """Contrast ratio of WCAG 2."""
    light, dark = sorted((luminance(one), luminance(other)), reverse=True)
    return (light + 0.05) / (dark + 0.05)


def lab(linear_rgb: Colour) -> Colour:
    """CIE L*a*b* under D65."""
    to_xyz = np.array([[0.4124, 0.3576, 0.1805], [0.2126, 0.7152, 0.0722], [0.0193, 0.1192, 0.9505]])
    ratio = to_xyz @ np.clip(linear_rgb, 0.0, 1.0) / [0.95047, 1.0, 1.08883]
    f = np.where(ratio > (6 / 29) ** 3, np.cbrt(ratio), ratio / (3 * (6 / 29) ** 2) + 4 / 29)
    return np.array([116 * f[1] - 16, 500 * (f[0] - f[1]), 200 * (f[1] - f[2])])


def test_the_measures_used_here_are_right() -> None:
    # Black on white is 21 to 1, white is L* = 100 without hue, by definition; the matrices have four digits.
    assert_allclose(contrast("#000000", "#ffffff"), 21.0, rtol=1e-12)
    assert_allclose(lab(linear("#ffffff")), [100.0, 0.0, 0.0], atol=0.02)
    # Each eye sees grey as grey: rows sum to one.
    for matrix in EYES.values():
        assert_allclose(np.sum(matrix, axis=1), 1.0, atol=2e-6)


@pytest.mark.parametrize("colour", [INK, QUIET, *(pen.color for pen in PENS.values())])
@pytest.mark.parametrize("ground", [GROUND, SHADE])
def test_text_and_inks_stand_out(colour: str, ground: str) -> None:
    assert contrast(colour, ground) >= 4.5  # WCAG 2, level AA, text of normal size


@pytest.mark.parametrize(("one", "other"), MEETING)
@pytest.mark.parametrize("eye", ["usual", *EYES])
def test_inks_that_meet_differ_for_every_eye_or_by_shape_and_width(one: str, other: str, eye: str) -> None:
    matrix = np.eye(3) if eye == "usual" else np.array(EYES[eye])
    apart = np.linalg.norm(lab(matrix @ linear(PENS[one].color)) - lab(matrix @ linear(PENS[other].color)))
    # About 2.3 is just noticeable (CIE 1976, common practice); ten is plain at a glance.
    assert apart > 10.0


@pytest.mark.parametrize("colours", [theme.LIGHT, theme.DARK], ids=["light", "dark"])
@pytest.mark.parametrize("ground", ["paper", "card"])
def test_the_app_can_be_read_by_day_and_by_night(colours: dict[str, str], ground: str) -> None:
    inks = ("ink", "ink-soft", "a", "b", "front", "rear", "fl", "fr", "rl", "rr", "warn", "road")
    faint = {ink: contrast(colours[ink], colours[ground]) for ink in inks}
    assert min(faint.values()) >= 4.5, faint  # WCAG 2, level AA, text of normal size
    assert contrast(colours["edge"], colours[ground]) >= 3.0  # the same, the edge of a control
    assert contrast(colours["on-b"], colours["b"]) >= 4.5


@pytest.mark.parametrize("colours", [theme.LIGHT, theme.DARK], ids=["light", "dark"])
@pytest.mark.parametrize(
    ("one", "other"), [("front", "rear"), ("a", "b"), ("b", "warn"), ("fl", "rl"), ("fr", "rr")]
)
@pytest.mark.parametrize("eye", ["usual", *EYES])
def test_what_the_app_sets_side_by_side_differs_for_every_eye(
    colours: dict[str, str], one: str, other: str, eye: str
) -> None:
    matrix = np.eye(3) if eye == "usual" else np.array(EYES[eye])
    apart = np.linalg.norm(lab(matrix @ linear(colours[one])) - lab(matrix @ linear(colours[other])))
    assert apart > 10.0


@pytest.mark.parametrize(("one", "other"), list(combinations(("front", "rear", "up", "down"), 2)))
def test_nothing_is_told_apart_by_colour_alone(one: str, other: str) -> None:
    def second_sign(pen: Pen) -> tuple[object, ...]:
        return (pen.dash, pen.marker, pen.filled)

    assert second_sign(PENS[one]) != second_sign(PENS[other])


def test_all_colours_are_in_the_palette_alone() -> None:
    import re
    from pathlib import Path

    for file in Path(palette.__file__).parent.glob("*.py"):
        if file.name != "palette.py":
            assert not re.search(r"#[0-9a-fA-F]{6}", file.read_text(encoding="utf-8")), file.name
