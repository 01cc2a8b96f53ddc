"""A line through rough points: laps found, gaps told, and every kind of bad points refused with its place."""

import math
from collections.abc import Callable

import numpy as np
import pytest
from numpy.testing import assert_allclose

from fourpatch.track.builder import ArcSection, SectionLine, StraightSection, corner
from fourpatch.track.rough_points import PointsError, RoughLine, rough_line

LINE = (
    SectionLine(
        sections=[
            StraightSection(length=200.0),
            *corner(radius=40.0, angle=math.pi / 2.0, direction="left", easement=20.0),
            StraightSection(length=120.0),
            *corner(radius=25.0, angle=math.pi / 2.0, direction="left", easement=15.0),
        ]
        * 2
    )
    .draw()
    .line
)


def points(*, laps: float = 1.0, spacing: float = 2.0, off: float = 0.5, start: float = 40.0) -> np.ndarray:
    """Points of the invented lap, as x + i y."""
    at = start + np.arange(0.0, laps * LINE.length, spacing)
    read = LINE.at(at)
    noise = np.random.default_rng(3).normal(size=(2, at.size))
    return np.asarray(read.x + 1j * read.y + off * (noise[0] + 1j * noise[1]))


def found(row: np.ndarray, *, closed: bool = True) -> RoughLine:
    return rough_line(row.real, row.imag, closed=closed)


@pytest.mark.parametrize("laps", [1.0, 1.3, 5.2])
def test_laps_are_told_and_put_together(laps: float) -> None:
    line = found(points(laps=laps))
    # The end is told to the spacing of the points and the reach of noise along the line.
    assert_allclose(line.laps, laps, atol=0.02)
    assert_allclose(line.line.length, LINE.length, rtol=3e-3)
    assert_allclose(line.scatter, 0.5, rtol=0.1)
    assert line.gap == 0.0
    assert "closes by itself" in str(line)


def test_five_laps_tell_more_than_one() -> None:
    def off(line: RoughLine) -> float:
        share = np.linspace(0.0, 1.0, 500)
        read = line.line.at(share * line.line.length)
        true = LINE.at(np.linspace(0.0, LINE.length, 20000))
        away = np.abs((read.x + 1j * read.y)[:, None] - (true.x + 1j * true.y)[None, :]).min(axis=1)
        return float(np.sqrt(np.mean(away**2)))

    assert off(found(points(laps=5.0))) < 0.7 * off(found(points(laps=1.0)))


def test_a_gap_is_bridged_and_said() -> None:
    line = found(points(laps=0.97))
    assert_allclose(line.gap, 0.03 * LINE.length, rtol=0.15)
    assert "were bridged" in str(line)
    assert_allclose(line.line.length, LINE.length, rtol=5e-3)


def test_single_points_far_off_are_left_out_and_named() -> None:
    row = points()
    row[[77, 200]] += 30.0j
    line = found(row)
    assert [one.point for one in line.left_out] == [78, 201]
    assert "point 78, 201" in str(line)
    assert_allclose(line.line.length, LINE.length, rtol=3e-3)


def jumping(row: np.ndarray) -> np.ndarray:
    return np.concatenate((row[:150], row[150:] + 400.0 - 300.0j))


def scattered(row: np.ndarray) -> np.ndarray:
    row[::9] += 60.0
    return row


def doubling_back(row: np.ndarray) -> np.ndarray:
    return np.concatenate((row[:160], row[159:120:-1], row[121:]))


def crossing(row: np.ndarray) -> np.ndarray:
    angle = np.linspace(0.0, 2.0 * math.pi, 400, endpoint=False)
    return np.asarray(300.0 * np.sin(angle) + 150.0j * np.sin(2.0 * angle))


def not_closing(row: np.ndarray) -> np.ndarray:
    return row[: row.size // 2]


def a_long_way(row: np.ndarray) -> np.ndarray:
    along = np.arange(0.0, 41e3, 20.0)
    return np.asarray(along + 30.0j * np.sin(along / 2e3))


def degrees(row: np.ndarray) -> np.ndarray:
    return row * 1e-5


def few(row: np.ndarray) -> np.ndarray:
    return row[:8]


@pytest.mark.parametrize(
    ("spoil", "said", "near"),
    [
        (jumping, "jumps by", lambda row: row[149]),
        (scattered, "lie far off the points around them", lambda row: row[9]),
        (doubling_back, "turns back at point", lambda row: row[159]),
        (crossing, "crosses itself at point", lambda row: 0.0),
        (not_closing, "does not close: the last point", lambda row: row[-1]),
        (a_long_way, "a road from place to place", lambda row: row[1499]),
        (degrees, "latitude and longitude", None),
        (few, "12 or more", None),
    ],
)
def test_bad_points_are_refused_with_the_place(
    spoil: Callable[[np.ndarray], np.ndarray], said: str, near: Callable[[np.ndarray], complex] | None
) -> None:
    row = spoil(points())
    with pytest.raises(PointsError, match=said) as refused:
        found(row)
    if near is not None:
        # Within what smoothing moves a place by.
        assert min(abs(complex(one.x, one.y) - near(row)) for one in refused.value.places) < 60.0


def test_an_open_road_keeps_its_ends() -> None:
    row = points(laps=0.6, off=0.2)
    line = found(row, closed=False)
    assert not line.line.closed
    ends = line.line.at(np.array([0.0, line.line.length]))
    assert_allclose(ends.x + 1j * ends.y, [row[0], row[-1]], atol=1.5)


def test_parallel_straights_are_not_mistaken_for_each_other() -> None:
    # 12 m apart, points 2 m off: which side is told by the way they go.
    hairpins = SectionLine(
        sections=[
            StraightSection(length=250.0),
            ArcSection(radius=6.0, angle=math.pi, direction="left"),
        ]
        * 2
    )
    line = hairpins.draw().line
    at = np.arange(0.0, line.length, 1.0) + 30.0
    read = line.at(at)
    noise = 1.0 * np.random.default_rng(1).normal(size=(2, at.size))
    made = rough_line(read.x + noise[0], read.y + noise[1])
    assert_allclose(made.line.length, line.length, rtol=0.01)
