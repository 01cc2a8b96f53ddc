"""Centre lines against closed forms: clothoid, circle, stadium.

Sources:

- clothoid, circle, stadium: closed forms, computed apart from this project's code (section 10 of the
  project's reference values); the printed digits are those of that table.
- Fresnel integrals: scipy.special.fresnel (Cephes library), which the code under test does not use.
- one full turn of a simple closed curve: H. Hopf, Compositio Mathematica 2 (1935) (from memory).
"""

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from numpy.testing import assert_allclose
from scipy.special import fresnel

from fourpatch.track.builder import (
    ArcSection,
    ClothoidSection,
    SectionLine,
    StraightSection,
    chain_of,
    corner,
)
from fourpatch.track.centre_line import ClothoidChain


def one_piece(length: float, start_curvature: float, end_curvature: float) -> ClothoidChain:
    return ClothoidChain(
        lengths=np.array([length]),
        start_curvature=np.array([start_curvature]),
        end_curvature=np.array([end_curvature]),
        closed=False,
    )


def by_fresnel(length: float, start_curvature: float, end_curvature: float) -> complex:
    """End of a clothoid that starts at the origin along x, as x + i y.

    The heading is a square when counted from where the curvature is zero:
    theta = c (s + k0/c)² / 2 - k0² / (2 c), c the change of curvature per distance.
    """
    change = (end_curvature - start_curvature) / length
    scale = math.sqrt(abs(change) / math.pi)
    sine, cosine = fresnel(scale * (np.array([0.0, length]) + start_curvature / change))
    way = (np.diff(cosine)[0] + 1j * math.copysign(1.0, change) * np.diff(sine)[0]) / scale
    return complex(way * np.exp(-0.5j * start_curvature**2 / change))


def test_clothoid_of_the_reference_table() -> None:
    radius, length = 50.0, 40.0
    sections = [
        StraightSection(length=10.0),
        ClothoidSection(length=length),
        ArcSection(radius=radius, angle=0.5, direction="left"),
    ]
    chain = chain_of(sections, closed=False)
    end = complex(chain.corners[2]) - 10.0
    # tolerances: half a unit of the last printed digit
    assert_allclose(math.sqrt(radius * length), 44.721360, rtol=0, atol=5e-7)
    assert_allclose(chain.headings[2], 0.4, rtol=0, atol=1e-15)
    assert_allclose((end.real, end.imag), (39.364723, 5.272690), rtol=0, atol=5e-7)
    # the shift: how far the circle of the arc, carried back to the heading of the straight, lies inside it
    centre = end + radius * 1j * np.exp(0.4j)
    assert_allclose(centre.imag - radius, 1.325740, rtol=0, atol=5e-7)


@given(
    length=st.floats(1.0, 500.0),
    start_turn=st.floats(-2.0 * math.pi, 2.0 * math.pi),
    end_turn=st.floats(-2.0 * math.pi, 2.0 * math.pi),
)
def test_any_clothoid_ends_where_the_fresnel_integrals_say(
    length: float, start_turn: float, end_turn: float
) -> None:
    # turn: curvature times length.  Where it hardly changes the Fresnel form, not ours, loses digits:
    # its phase k0² / (2 c) is start_turn² / (2 (end_turn - start_turn)).
    if abs(end_turn - start_turn) < 0.05:
        end_turn = start_turn - math.copysign(0.05, start_turn)
    end = one_piece(length, start_turn / length, end_turn / length).end
    # rounding: phases up to (2 pi)²/0.1 = 400 rad, so 400 * 2e-16, a few times over
    expected = by_fresnel(length, start_turn / length, end_turn / length)
    assert_allclose(end / length, expected / length, rtol=0, atol=1e-12)


def test_circle() -> None:
    radius = 50.0
    chain = one_piece(2.0 * math.pi * radius, 1.0 / radius, 1.0 / radius)
    distance = np.linspace(0.0, chain.length, 37)
    line = chain.at(distance)
    expected = 1j * radius * (1.0 - np.exp(1j * distance / radius))
    # rounding: 300 m of 2e-16, some hundred times
    assert_allclose(line.x + 1j * line.y, expected, rtol=0, atol=1e-11)
    assert_allclose(line.heading, distance / radius, rtol=1e-14, atol=0)


def test_stadium() -> None:
    half_circle = ArcSection(radius=60.0, angle=math.pi, direction="left")
    straight = StraightSection(length=500.0)
    line = SectionLine(sections=[straight, half_circle, straight, half_circle]).draw().line
    # half a unit of the last printed digit
    assert_allclose(line.length, 1376.991118, rtol=0, atol=5e-7)
    assert_allclose(line.length, 1000.0 + 120.0 * math.pi, rtol=1e-14)
    top = line.at(np.array([250.0 + 500.0 + 60.0 * math.pi]))
    assert_allclose((top.x[0], top.y[0]), (250.0, 120.0), rtol=0, atol=1e-9)


@pytest.mark.parametrize("direction", ["left", "right"])
def test_a_lap_turns_exactly_once(direction: str) -> None:
    quarter = corner(radius=40.0, angle=math.pi / 2.0, direction=direction, easement=25.0)  # type: ignore[arg-type]
    sections = [
        one for length in (80.0, 120.0, 80.0, 120.0) for one in (StraightSection(length=length), *quarter)
    ]
    line = SectionLine(sections=sections).draw().line
    assert_allclose(
        line.heading_change, math.copysign(2.0 * math.pi, 1.0 if direction == "left" else -1.0), rtol=1e-12
    )
