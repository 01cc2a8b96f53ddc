"""Centre lines from points that are off and from drifting curvature, against the line they came from."""

import math

import numpy as np
import pytest
from numpy.testing import assert_allclose
from scipy.spatial import cKDTree

from fourpatch.errors import TrackError
from fourpatch.track.builder import Section, StraightSection, chain_of, close_sections, corner
from fourpatch.track.curvature_line import CurvatureLine, CurvatureTable
from fourpatch.track.points import PointLine, Points
from fourpatch.track.smooth_line import SmoothLine, smooth_line


def bend(radius: float, angle: float, side: str, easement: float) -> tuple[Section, ...]:
    return corner(radius=radius, angle=math.radians(angle), direction=side, easement=easement)  # type: ignore[arg-type]


RADII = (60.0, 20.0, 30.0, 30.0, 120.0, 15.0)
LAP = chain_of(
    close_sections(
        [
            StraightSection(length=400.0),
            *bend(60.0, 100.0, "left", 30.0),
            StraightSection(length=200.0),
            *bend(20.0, 80.0, "left", 12.0),
            StraightSection(length=150.0),
            *bend(30.0, 60.0, "right", 15.0),
            StraightSection(length=20.0),
            *bend(30.0, 80.0, "left", 15.0),
            StraightSection(length=180.0),
            *bend(120.0, 70.0, "left", 50.0),
            StraightSection(length=150.0),
            *bend(15.0, 90.0, "left", 8.0),
        ]
    ).sections,
    closed=True,
)
"""An invented lap with radii of 15 to 120 m."""


def points_of_lap(*, spacing: float, off: float, seed: int = 1) -> Points:
    count = round(LAP.length / spacing)
    line = LAP.at(np.arange(count) * LAP.length / count)
    random = np.random.default_rng(seed)
    return Points(x=line.x + off * random.normal(size=count), y=line.y + off * random.normal(size=count))


def distance_from_lap(line: SmoothLine) -> np.ndarray:
    """How far the line lies off the lap, at many places; the lap's own points are 0.04 m apart."""
    true = LAP.at(np.linspace(0.0, LAP.length, 40001))
    found = line.at(np.linspace(0.0, line.length, 2001))
    return np.asarray(
        cKDTree(np.column_stack((true.x, true.y))).query(np.column_stack((found.x, found.y)))[0]
    )


@pytest.mark.parametrize(("spacing", "off", "accuracy"), [(5.0, 0.0, 0.01), (5.0, 0.1, 0.1), (2.0, 0.1, 0.1)])
def test_line_along_points_lies_nearer_the_road_than_the_points(
    spacing: float, off: float, accuracy: float
) -> None:
    points = points_of_lap(spacing=spacing, off=off)
    line = smooth_line(points.x, points.y, accuracy=accuracy, closed=True)
    away = distance_from_lap(line)
    # points are off by sqrt(2) `off`, half of it across; exact ones leave what the spline cannot follow
    # in the tightest corner, measured 12 mm RMS
    assert np.sqrt(np.mean(away**2)) < max(0.7 * off, 0.02)
    assert_allclose(line.heading_change, 2.0 * math.pi, rtol=1e-12)
    assert_allclose(line.length, LAP.length, rtol=3e-4)


def test_curvature_of_points_that_are_off_stays_quiet_on_straights_and_tells_radii() -> None:
    points = points_of_lap(spacing=5.0, off=0.1)
    line = smooth_line(points.x, points.y, accuracy=0.1, closed=True)
    share = np.linspace(0.0, 1.0, 4001)[:-1]
    true, found = LAP.at(share * LAP.length).curvature, line.at(share * line.length).curvature
    interpolated = 0.1 * math.sqrt(6.0) / 5.0**2
    middle_of_first_straight = share * LAP.length < 380.0
    # the noise a line through the points would have, 1/102 m: at least ten times less
    assert np.std(found[middle_of_first_straight & (share * LAP.length > 30.0)]) < 0.1 * interpolated
    bounds = LAP.starts
    arcs = [at for at in range(LAP.lengths.size) if LAP.start_curvature[at] == LAP.end_curvature[at] != 0.0]
    for at, radius in zip(arcs, RADII, strict=True):
        near = (share * LAP.length > bounds[at] - 5.0) & (share * LAP.length < bounds[at + 1] + 5.0)
        # the smoothing's stated limits: radii come out up to some 10 % small
        assert_allclose(1.0 / np.max(np.abs(found[near])), radius, rtol=0.15)
        assert_allclose(np.sign(found[near][np.argmax(np.abs(found[near]))]), np.sign(true[near][0]))


def test_distance_heading_and_curvature_of_a_smooth_line_belong_together() -> None:
    points = points_of_lap(spacing=5.0, off=0.1)
    line = smooth_line(points.x, points.y, accuracy=0.1, closed=True)
    step = 1e-3
    at = np.linspace(0.0, line.length, 500)
    before, here, after = (line.at(at + shift) for shift in (-step, 0.0, step))
    # central differences: step² times third derivatives, and the table of distance, 1e-9
    assert_allclose(np.hypot(after.x - before.x, after.y - before.y), 2.0 * step, rtol=1e-5)
    assert_allclose((after.heading - before.heading) / (2.0 * step), here.curvature, rtol=0, atol=1e-5)
    assert_allclose(np.diff(here.heading).sum(), line.heading_change, rtol=1e-12)


def test_straight_points_make_a_straight_line() -> None:
    x = np.arange(0.0, 100.0, 4.0)
    line = smooth_line(x, 0.5 * x, accuracy=0.05, closed=False)
    sample = line.at(np.linspace(0.0, line.length, 50))
    # rounding of the penalised normal equations: condition about 1e9 times 1e-16
    assert_allclose(sample.curvature, 0.0, atol=1e-6)
    assert_allclose(line.length, 96.0 * math.hypot(1.0, 0.5), rtol=1e-6)


def test_reversed_and_mirrored_points_are_the_same_line() -> None:
    part = PointLine(file="lap.csv", points=points_of_lap(spacing=5.0, off=0.1))
    line, backward, mirror = (one.draw().line for one in (part, part.reversed(), part.mirrored()))
    at = np.linspace(0.0, line.length, 300)
    # the normal equations are solved in another order: rounding times their condition, about 1e-8
    assert_allclose(backward.length, line.length, rtol=1e-9)
    assert_allclose(backward.at(backward.length - at).x, line.at(at).x, rtol=0, atol=1e-5)
    assert_allclose(mirror.at(at).curvature, -line.at(at).curvature, rtol=0, atol=1e-9)
    assert part.reversed().file == "lap-reversed.csv"
    assert part.reversed().reversed() == part
    assert part.mirrored().mirrored() == part


CIRCLE = np.exp(2j * np.pi * np.arange(40) / 40.0) * 50.0
POINT_REFUSALS = [
    (CIRCLE[:4], True, ["point 4 is the last", "6 points or more"]),
    (np.insert(CIRCLE, 7, np.nan), True, ["point 8 is not a finite number"]),
    (np.insert(CIRCLE, 7, CIRCLE[7]), True, ["point 9 lies on the one before", "Delete one"]),
    (np.append(CIRCLE, CIRCLE[0]), True, ["point 41 is the last and lies on the first", "Delete it"]),
    (CIRCLE[:30], True, ["point 30 is the last and lies", "the lap does not close", "closed = false"]),
    (np.insert(CIRCLE, 7, CIRCLE[20]), True, ["turns back", "Put it in its place or delete it"]),
    (CIRCLE[::8], False, ["6 points or more"]),
    (CIRCLE[::6], True, ["the line turns by", "45 deg is the most", "apart or less there"]),
]


@pytest.mark.parametrize(("points", "closed", "says"), POINT_REFUSALS)
def test_points_that_cannot_be_a_line_are_refused(points: np.ndarray, closed: bool, says: list[str]) -> None:
    with pytest.raises(TrackError) as error:
        smooth_line(points.real, points.imag, accuracy=0.05, closed=closed)
    for part in says:
        assert part in str(error.value)


def test_points_of_a_figure_of_eight_are_refused() -> None:
    t = np.linspace(0.0, 2.0 * math.pi, 120)[:-1]
    eight = PointLine(file="8.csv", points=Points(x=100.0 * np.sin(t), y=60.0 * np.sin(2.0 * t)))
    with pytest.raises(TrackError, match=r"turns by -?0 deg in a lap"):
        eight.draw()


# Curvature


def table_of_lap(*, drift: float = 0.0) -> CurvatureTable:
    distance = np.linspace(0.0, LAP.length, 1601)
    return CurvatureTable(distance=distance, curvature=LAP.at(distance).curvature + drift)


def test_drift_of_recorded_curvature_is_taken_out() -> None:
    drawn = CurvatureLine(file="lap.csv", table=table_of_lap(drift=1e-4)).draw()
    at = np.linspace(0.0, LAP.length, 700)
    true, found = LAP.at(at), drawn.line.at(at)
    # 1e-4 1/m over the lap is 0.16 rad; left is where rows 1 m apart cut the joins of the lap, at most
    # 1/15/8 * 1/8 of it in curvature, and what closing mistakes for drift
    assert_allclose(found.heading, true.heading, rtol=0, atol=0.01)
    assert np.max(np.hypot(found.x - true.x, found.y - true.y)) < 1.0
    assert_allclose(drawn.line.heading_change, 2.0 * math.pi, rtol=1e-12)
    assert "closed by changing curvature by up to 0.0001" in drawn.adjustment


def test_closing_curvature_is_a_constant_and_terms_in_x_and_y() -> None:
    evenly = table_of_lap(drift=5e-5)
    kept = np.sort(np.concatenate((np.arange(0, 800, 2), np.arange(800, 1601))))  # steps of 2 m, then of 1 m
    table = CurvatureTable(distance=evenly.distance[kept], curvature=evenly.curvature[kept])
    line = CurvatureLine(file="lap.csv", table=table).draw().line
    change = line.at(table.distance[1:-1]).curvature - table.curvature[1:-1]
    place = line.at(table.distance[1:-1])
    basis = np.column_stack((np.ones_like(change), place.x, place.y))
    left_over = change - basis @ np.linalg.lstsq(basis, change, rcond=None)[0]
    # the condition of the least change, met where the iteration ended: 1e-9 m of some 100 m
    assert np.max(np.abs(left_over)) < 1e-6 * np.max(np.abs(change))


def test_reversed_and_mirrored_curvature() -> None:
    part = CurvatureLine(file="lap.csv", closed=False, table=table_of_lap())
    line, backward, mirror = (one.draw().line for one in (part, part.reversed(), part.mirrored()))
    assert_allclose(mirror.at(np.array([700.0])).y, -line.at(np.array([700.0])).y, rtol=0, atol=0)
    assert_allclose(backward.heading_change, -line.heading_change, rtol=1e-12)
    assert part.mirrored().mirrored() == part


def test_curvature_that_closes_too_far_off_is_refused() -> None:
    with pytest.raises(TrackError) as error:
        CurvatureLine(file="lap.csv", table=table_of_lap(drift=6e-4)).draw()
    for part in ("does not close: the end lies", "0.0006", "largest_change = 0.0002 1/m", "just one lap"):
        assert part in str(error.value)


TABLE_REFUSALS = [
    ([0.0, 1.0], [0.0, 0.0], "fewer than three"),
    ([1.0, 2.0, 3.0], [0.0, 0.0, 0.0], "point 1 lies at 1 m; distance counts from the start line"),
    ([0.0, 2.0, 1.0], [0.0, 0.0, 0.0], "point 3 lies 1 m before the one above"),
    ([0.0, 20.0, 40.0], [0.0, 0.2, 0.0], "turns by 115 deg between them"),
]


@pytest.mark.parametrize(("distance", "curvature", "says"), TABLE_REFUSALS)
def test_tables_that_cannot_be_a_line_are_refused(
    distance: list[float], curvature: list[float], says: str
) -> None:
    with pytest.raises(TrackError) as error:
        CurvatureTable(distance=np.array(distance), curvature=np.array(curvature))
    assert says in str(error.value)


def test_rows_of_unequal_length_are_refused() -> None:
    with pytest.raises(TrackError, match="same length"):
        Points(x=np.zeros(3), y=np.zeros(4))
    with pytest.raises(TrackError, match="same length"):
        CurvatureTable(distance=np.zeros(3), curvature=np.zeros(4))
