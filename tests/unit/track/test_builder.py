"""Centre lines from sections: joined, closed by the least change, mirrored, reversed."""

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from numpy.testing import assert_allclose
from scipy.optimize import minimize

from fourpatch.errors import TrackError
from fourpatch.track.builder import (
    ArcSection,
    ClothoidSection,
    Section,
    SectionLine,
    StraightSection,
    chain_of,
    close_sections,
    corner,
)
from fourpatch.track.centre_line import ClothoidChain, LineSample

OVAL: list[Section] = [
    StraightSection(length=203.0),
    *corner(radius=50.0, angle=math.radians(91.0), direction="left", easement=20.0),
    StraightSection(length=100.0),
    *corner(radius=50.0, angle=math.radians(89.5), direction="left", easement=20.0),
    StraightSection(length=199.0),
    *corner(radius=50.0, angle=math.radians(90.0), direction="left", easement=20.0),
    StraightSection(length=101.0),
    *corner(radius=50.0, angle=math.radians(89.0), direction="left", easement=20.0),
]
"""Nearly closes."""


@st.composite
def any_sections(draw: st.DrawFn) -> list[Section]:
    """Straights and eased corners to both sides, an open line."""
    sections: list[Section] = []
    for _ in range(draw(st.integers(1, 6))):
        radius = draw(st.floats(10.0, 300.0))
        angle = draw(st.floats(0.2, 3.0))
        sections.append(StraightSection(length=draw(st.floats(1.0, 500.0))))
        sections += corner(
            radius=radius,
            angle=angle,
            direction=draw(st.sampled_from(["left", "right"])),
            easement=draw(st.sampled_from([0.0, 0.5 * radius * angle, 0.9 * radius * angle])),
        )
    return [*sections, StraightSection(length=5.0)]


def lengths(sections: list[Section]) -> np.ndarray:
    return np.array(
        [one.radius * one.angle if isinstance(one, ArcSection) else one.length for one in sections]
    )


def read(sections: list[Section]) -> tuple[np.ndarray, LineSample]:
    chain = chain_of(sections, closed=False)
    distance = np.linspace(0.0, chain.length, 401)
    return distance, chain.at(distance)


@given(sections=any_sections())
def test_heading_is_the_integral_of_curvature_and_position_that_of_heading(sections: list[Section]) -> None:
    chain = chain_of(sections, closed=False)
    # Piece by piece, so that no piece's rule runs over a jump of curvature.
    nodes, weights = np.polynomial.legendre.leggauss(40)
    for begin, end in zip(chain.starts[:-1], chain.starts[1:], strict=True):
        half = 0.5 * (end - begin)
        line = chain.at(np.array([begin, *(begin + half * (1.0 + nodes)), end * (1.0 - 1e-15)]))
        # rounding: coordinates up to some 3000 m, 2e-16 each, a hundred times over
        assert_allclose(line.heading[-1] - line.heading[0], half * weights @ line.curvature[1:-1], atol=1e-10)
        assert_allclose(line.x[-1] - line.x[0], half * weights @ np.cos(line.heading[1:-1]), atol=1e-10)
        assert_allclose(line.y[-1] - line.y[0], half * weights @ np.sin(line.heading[1:-1]), atol=1e-10)


@given(sections=any_sections())
def test_mirrored_line_is_the_mirror_image(sections: list[Section]) -> None:
    _, line = read(sections)
    _, mirror = read(SectionLine(closed=False, sections=sections).mirrored().sections)
    # the same operations with the sign changed: exact
    assert_allclose(mirror.x, line.x, rtol=0, atol=0)
    assert_allclose(mirror.y, -line.y, rtol=0, atol=0)
    assert_allclose(mirror.curvature, -line.curvature, rtol=0, atol=0)


@given(sections=any_sections())
def test_reversed_line_is_the_same_curve_from_its_end(sections: list[Section]) -> None:
    _, line = read(sections)
    _, backward = read(SectionLine(closed=False, sections=sections).reversed().sections)
    # carried to the end of the line and turned about
    turn = np.exp(1j * (line.heading[-1] + math.pi))
    moved = line.x[-1] + 1j * line.y[-1] + turn * (backward.x + 1j * backward.y)
    # rounding: coordinates up to some 3000 m, 2e-16 each, a hundred times over
    assert_allclose(moved[::-1], line.x + 1j * line.y, rtol=0, atol=1e-10)


def test_twice_mirrored_and_twice_reversed_are_as_before() -> None:
    line = SectionLine(sections=OVAL)
    assert line.mirrored().mirrored() == line
    assert line.reversed().reversed() == line


def test_clothoid_takes_its_curvatures_from_its_neighbours() -> None:
    sections: list[Section] = [
        ArcSection(radius=50.0, angle=0.5, direction="left"),
        ClothoidSection(length=30.0),
        ArcSection(radius=25.0, angle=0.0, direction="right"),
        ClothoidSection(length=20.0),
    ]
    chain = chain_of(sections, closed=False)
    assert_allclose(chain.start_curvature, [0.02, 0.02, -0.04, -0.04], rtol=1e-15)
    assert_allclose(chain.end_curvature, [0.02, -0.04, -0.04, 0.0], rtol=1e-15)
    assert_allclose(chain_of(sections, closed=True).end_curvature[-1], 0.02, rtol=1e-15)


def test_closing_is_the_least_change_that_closes() -> None:
    closing = close_sections(OVAL)
    chain = chain_of(closing.sections, closed=True)
    assert abs(chain.end) < 1e-8
    assert_allclose(chain.heading_change, 2.0 * math.pi, rtol=0, atol=1e-10)
    start = lengths(OVAL)
    given_chain = chain_of(OVAL, closed=True)

    def missed(share: np.ndarray) -> np.ndarray:
        other = ClothoidChain(
            lengths=start * (1.0 + share),
            start_curvature=given_chain.start_curvature,
            end_curvature=given_chain.end_curvature,
            closed=True,
        )
        return np.array([other.end.real, other.end.imag, 100.0 * (other.heading_change - 2.0 * math.pi)])

    independent = minimize(
        lambda share: 1e3 * np.sum(start / np.sum(start) * share**2),
        np.zeros(start.size),
        method="SLSQP",
        constraints={"type": "eq", "fun": missed},
        options={"ftol": 1e-13, "maxiter": 300},
    )
    share = lengths(closing.sections) / start - 1.0
    assert 0.005 < np.max(np.abs(share)) < 0.1
    # SLSQP differentiates numerically: it stops some 1e-4 of the change short
    assert_allclose(share, independent.x, rtol=0, atol=1e-3 * np.max(np.abs(share)))
    assert_allclose(closing.largest_change, np.max(np.abs(share)), rtol=1e-9)


def test_closing_does_not_depend_on_how_a_section_is_written() -> None:
    split = [StraightSection(length=50.0), StraightSection(length=153.0), *OVAL[1:]]
    # the iteration ends within 1e-9 m of closed
    assert_allclose(close_sections(split).largest_change, close_sections(OVAL).largest_change, rtol=1e-7)


def test_line_that_closes_is_left_alone() -> None:
    closed = close_sections(OVAL).sections
    again = close_sections(closed)
    assert again.largest_change < 1e-9
    assert str(again) == "closes as given"


def test_lap_goes_on_over_the_start_line() -> None:
    line = SectionLine(sections=OVAL, largest_change=0.1).draw().line
    distance = np.array([-10.0, 3.0])
    before, after = line.at(distance), line.at(distance + line.length)
    # closed to 1e-9 m
    assert_allclose(after.x, before.x, rtol=0, atol=1e-8)
    assert_allclose(after.y, before.y, rtol=0, atol=1e-8)
    assert_allclose(after.heading - before.heading, 2.0 * math.pi, rtol=1e-12)


def test_corner_turns_by_its_angle() -> None:
    for easement in (0.0, 10.0, 60.0):
        chain = chain_of(
            [
                StraightSection(length=1.0),
                *corner(radius=50.0, angle=1.3, direction="right", easement=easement),
                StraightSection(length=1.0),
            ],
            closed=False,
        )
        assert_allclose(chain.heading_change, -1.3, rtol=1e-14)
        assert_allclose(np.min(chain.at(np.linspace(0.0, chain.length, 999)).curvature), -0.02, rtol=1e-12)


REFUSALS: list[tuple[list[Section], list[str]]] = [
    (
        OVAL,
        [
            "does not close: the end lies",
            "m from the start",
            "%, more than",
            "= 0.1 %",
            "or allow it: largest",
        ],
    ),
    (  # far off: allowing it is not proposed
        [StraightSection(length=360.0), *OVAL[1:]],
        ["lengths of sections would change by up to 2", "and directions."],
    ),
    ([*OVAL[:4], StraightSection(length=900.0), *OVAL[5:]], ["no small change closes it"]),
    ([StraightSection(length=100.0)], ["add up to 0 deg", "360 deg", "closed = false"]),
    (  # a figure of eight turns left as much as right
        [
            StraightSection(length=100.0),
            ArcSection(radius=30.0, angle=1.5 * math.pi, direction="left"),
            StraightSection(length=60.0),
            ArcSection(radius=30.0, angle=1.5 * math.pi, direction="right"),
        ],
        ["add up to 0 deg", "does not cross itself"],
    ),
    (
        [*OVAL[:3], ClothoidSection(length=10.0), ClothoidSection(length=10.0), *OVAL[4:]],
        ["sections 4 and 5 are two clothoids that meet", "Put between them the arc"],
    ),
    (
        [
            ArcSection(radius=30.0, angle=math.pi, direction="left"),
            ArcSection(radius=30.0, angle=3.0, direction="left"),
        ],
        ["no small change closes it"],
    ),
    (
        [ArcSection(radius=10.0, angle=1.0, direction="left"), ClothoidSection(length=90.0)],
        ["piece 2, 90 m long with a radius down to 10 m, turns by more than 360 deg", "Shorten"],
    ),
]


@pytest.mark.parametrize(("sections", "says"), REFUSALS)
def test_refusal_says_what_and_what_to_do(sections: list[Section], says: list[str]) -> None:
    with pytest.raises(TrackError) as error:
        SectionLine(sections=sections).draw()
    for part in says:
        assert part in str(error.value)


def test_proposed_largest_change_closes_the_line() -> None:
    with pytest.raises(TrackError) as error:
        SectionLine(sections=OVAL).draw()
    proposed = float(str(error.value).split('largest_change = "')[1].split(" %")[0]) / 100.0
    SectionLine(sections=OVAL, largest_change=proposed).draw()


def test_corner_without_room_for_its_clothoids_is_refused() -> None:
    with pytest.raises(TrackError, match="Shorten them to 50 m or less"):
        corner(radius=50.0, angle=1.0, direction="left", easement=60.0)


def test_place_off_an_open_line_is_refused() -> None:
    chain = chain_of([StraightSection(length=100.0)], closed=False)
    with pytest.raises(TrackError, match="runs from 0 to 100 m"):
        chain.at(np.array([50.0, 101.0]))
    with pytest.raises(TrackError, match="runs forward"):
        ClothoidChain(
            lengths=np.array([1.0, -1.0]),
            start_curvature=np.zeros(2),
            end_curvature=np.zeros(2),
            closed=False,
        )
    with pytest.raises(TrackError, match="finite"):
        ClothoidChain(
            lengths=np.array([np.nan]), start_curvature=np.zeros(1), end_curvature=np.zeros(1), closed=False
        )
    with pytest.raises(TrackError, match="same length"):
        ClothoidChain(
            lengths=np.ones(2), start_curvature=np.zeros(1), end_curvature=np.zeros(2), closed=False
        )
