"""Tracks made of points that are off, against the closed forms that the points were taken from.

Sources: circle, clothoid and oval are closed forms; what the clothoid's points should be is checked against
Fresnel integrals in test_track_curves.py. The time of a point mass round a circle is 2 pi sqrt(R / a).
Noise is drawn here. What docs/validation.md says of errors is held here.
"""

import math

import numpy as np
import pytest
from numpy.testing import assert_allclose

from fourpatch.track.builder import (
    ArcSection,
    ClothoidSection,
    SectionLine,
    StraightSection,
    chain_of,
    corner,
)
from fourpatch.track.centre_line import CentreLine
from fourpatch.track.points import PointLine
from fourpatch.track.racing_line import least_curvature_line
from fourpatch.track.rough_points import ACCURACY, rough_line
from fourpatch.track.track import ClassSurface, Road, Track, Width

RADIUS = 50.0
CIRCLE = SectionLine(sections=[ArcSection(radius=RADIUS, angle=2.0 * math.pi, direction="left")])
OVAL = SectionLine(
    sections=[
        StraightSection(length=300.0),
        *corner(radius=60.0, angle=math.pi, direction="left", easement=40.0),
    ]
    * 2
)


def track_line(true: CentreLine, *, spacing: float, off: float, seed: int) -> PointLine:
    """The centre line made of points along another, each coordinate off by a normal number."""
    count = round(true.length / spacing)
    at = np.linspace(0.0, true.length, count + 1)
    read = true.at(at[:-1] if true.closed else at)
    noise = off * np.random.default_rng(seed).normal(size=(2, read.x.size))
    line = rough_line(read.x + noise[0], read.y + noise[1], closed=true.closed)
    return PointLine(closed=true.closed, accuracy=ACCURACY, file="p.csv", points=line.points)


def curvature_error(found: CentreLine, true: CentreLine, *, first: float = 0.0, last: float = 1.0) -> float:
    """Root of the mean squared difference of curvature at equal shares of both lengths. [1/m]"""
    share = np.linspace(first, last, 2001)
    return float(
        np.sqrt(
            np.mean((found.at(share * found.length).curvature - true.at(share * true.length).curvature) ** 2)
        )
    )


def point_mass_time(line: CentreLine, acceleration: float) -> float:
    """Time round at a lateral acceleration, as if speed could follow at once. [s]"""
    distance = np.linspace(0.0, line.length, round(line.length) + 1)
    speed = np.sqrt(acceleration / np.abs(line.at(distance).curvature))
    return float(np.trapezoid(1.0 / speed, distance))


@pytest.mark.parametrize(
    ("spacing", "off", "most"), [(5.0, 0.0, 0.001), (5.0, 0.1, 0.006), (1.0, 0.5, 0.012), (1.0, 2.0, 0.03)]
)
def test_circle(spacing: float, off: float, most: float) -> None:
    true = CIRCLE.draw().line
    for seed in range(3):
        found = track_line(true, spacing=spacing, off=off, seed=seed).draw().line
        # the stated error of curvature, as a share of it: measured at 0.35, 0.7 and 1.8 % over five draws
        assert curvature_error(found, true) < most / RADIUS
        # time goes with the root of curvature, and lengths are known better: a quarter of that and less
        exact = 2.0 * math.pi * math.sqrt(RADIUS / 12.0)
        assert_allclose(point_mass_time(found, 12.0), exact, rtol=max(0.25 * most, 1e-3))


@pytest.mark.parametrize(("spacing", "off", "most"), [(5.0, 0.0, 0.006), (5.0, 0.1, 0.03), (1.0, 0.5, 0.05)])
def test_clothoid(spacing: float, off: float, most: float) -> None:
    true = chain_of(
        [
            StraightSection(length=100.0),
            ClothoidSection(length=100.0),
            ArcSection(radius=40.0, angle=0.8, direction="left"),
        ],
        closed=False,
    )
    for seed in range(3):
        found = track_line(true, spacing=spacing, off=off, seed=seed).draw().line
        inside = (100.0 / true.length, 200.0 / true.length)
        # the stated error on the clothoid, as a share of the curvature that it ends with
        assert curvature_error(found, true, first=inside[0], last=inside[1]) < most / 40.0


@pytest.mark.parametrize(("spacing", "off", "most"), [(5.0, 0.1, 0.03), (1.0, 0.5, 0.04), (1.0, 2.0, 0.07)])
def test_oval_and_the_time_of_the_line_driven_on_it(spacing: float, off: float, most: float) -> None:
    true = OVAL.draw().line
    exact = _cornering_time(OVAL)
    for seed in range(3):
        line = track_line(true, spacing=spacing, off=off, seed=seed)
        assert curvature_error(line.draw().line, true) < most / 60.0
        assert_allclose(line.draw().line.length, true.length, rtol=1e-3)
        # the stated error of a lap's time along the line of least curvature
        assert_allclose(_cornering_time(line), exact, rtol=0.015)


def _cornering_time(centre: SectionLine | PointLine) -> float:
    """Time of a point mass along the line of least curvature on a road 10 m wide. [s]

    It corners at 12 m/s2, gains 4 m/s2 and brakes with 10 m/s2: speed squared is the least of what each place
    allows and of what can be reached from there (forward and backward, twice round).
    """
    road = Road(
        width=[Width(distance=0.0, left=5.0, right=5.0)], surface=[ClassSurface(start=0.0, road_class="A")]
    )
    line = least_curvature_line(Track(name="invented", centre_line=centre, road=road))
    step = line.length / (line.distance.size - 1)
    square = np.minimum(12.0 / np.maximum(np.abs(line.curvature[:-1]), 1e-9), 60.0**2)
    for way, most in ((1, 4.0), (-1, 10.0)):
        row = np.tile(square, 3)[::way].copy()
        for place in range(1, row.size):
            row[place] = min(row[place], row[place - 1] + 2.0 * most * step)
        square = row[::way][square.size : 2 * square.size]
    return float(np.sum(step / np.sqrt(square)))


def test_a_line_of_half_a_circle_is_found_where_it_may_be_shifted_at_no_cost() -> None:
    # Round half a circle the line of least curvature may be shifted at next to no cost: steps of a round
    # that gain a millionth each are no reason to refuse it.
    for seed in range(2):
        line = track_line(OVAL.draw().line, spacing=5.0, off=0.1, seed=seed)
        assert _cornering_time(line) > 0.0
