"""The quasi-steady lap against closed forms of a point mass, and what must hold for any lap."""

from collections.abc import Callable
from dataclasses import replace
from typing import Any

import numpy as np
import pytest
from numpy.testing import assert_allclose
from numpy.typing import NDArray

from fourpatch.analysis.lap_profile import DOING, LIMITS, lap_profile
from fourpatch.analysis.limits_map import TURNING_SHARES, LimitsMap, Margins, limits_map
from fourpatch.car.demo import demo_car
from fourpatch.errors import EventError, SolveError
from fourpatch.track.line import Line

FRICTION, GRAVITY = 1.2, 9.81
GRIP = FRICTION * GRAVITY

Array = NDArray[np.float64]
Row = float | Array | Callable[[Array], Array]


def point_mass(*, driving: float = 1e3, braking: float = 1e3, fastest: float = 100.0) -> LimitsMap:
    """Return a mass whose grip is friction times what presses it on the road, with a steady engine."""
    speed, gravity = np.linspace(10.0, fastest, 4), np.array([5.0, 9.81, 15.0])
    direction = np.linspace(-0.5 * np.pi, 0.5 * np.pi, 9)
    size = np.broadcast_to(FRICTION * gravity[None, :, None, None], (2, 3, 4, 9)).copy()
    at = np.array([0.0, fastest])
    return LimitsMap(
        speed=speed,
        gravity=gravity,
        direction=direction,
        size=size,
        balance=np.full_like(size, 0.1),
        engine_speed=at,
        engine=np.full(2, driving),
        brakes=np.full(2, braking),
        turning_drag=np.zeros((speed.size, len(TURNING_SHARES))),
        stance=np.zeros((*size.shape, 7)),
        growth=np.ones_like(size),
    )


def line_of(
    length: float,
    curvature: Row = 0.0,
    *,
    closed: bool = False,
    spacing: float = 1.0,
    banking: Row = 0.0,
    gradient: Row = 0.0,
    vertical_curvature: Row = 0.0,
) -> Line:
    """Return a line of given rows; only what a lap reads is true."""
    distance = np.linspace(0.0, length, round(length / spacing) + 1)

    def row(given: Row) -> Array:
        value = given(distance) if callable(given) else given
        return np.broadcast_to(np.asarray(value, dtype=np.float64), distance.shape).copy()

    return Line(
        closed=closed,
        distance=distance.copy(),
        station=distance.copy(),
        offset=row(0.0),
        x=row(0.0),
        y=row(0.0),
        heading=row(0.0),
        curvature=row(curvature),
        banking=row(banking),
        gradient=row(gradient),
        vertical_curvature=row(vertical_curvature),
    )


def circle(radius: float, *, way: float = 1.0, **rows: Any) -> Line:
    return line_of(2.0 * np.pi * radius, way / radius, closed=True, **rows)


@pytest.mark.parametrize("way", [1.0, -1.0])
def test_a_circle_takes_its_length_over_its_speed(way: float) -> None:
    lap = lap_profile(point_mass(), circle(60.0, way=way))
    speed = np.sqrt(GRIP * 60.0)
    # Halved six times in 4 m/s, then a straight line: (0.06 m/s / v)^2 / 8 is 6e-7 of the speed.
    assert_allclose(lap.speed, speed, rtol=1e-6)
    assert_allclose(lap.lap_time, 2.0 * np.pi * 60.0 / speed, rtol=1e-6)
    assert_allclose(lap.lateral_acceleration, way * GRIP, rtol=2e-6)
    assert {DOING[k] for k in lap.doing} == {"cornering"}
    assert {LIMITS[k] for k in lap.limit} == {"front axle"}


@pytest.mark.parametrize("angle", [np.radians(8.0), np.radians(20.0), np.radians(-5.0)])
@pytest.mark.parametrize("way", [1.0, -1.0])
def test_a_banked_circle(angle: float, way: float) -> None:
    """v^2 = g R (mu + tan b) / (1 - mu tan b), the outer side being the higher one."""
    radius = 80.0
    lap = lap_profile(point_mass(), circle(radius, way=way, banking=-way * angle))
    square = GRAVITY * radius * (FRICTION + np.tan(angle)) / (1.0 - FRICTION * np.tan(angle))
    assert_allclose(lap.speed, np.sqrt(square), rtol=1e-6)  # as above


@pytest.mark.parametrize("bend", [-1.0 / 300.0, 1.0 / 300.0])
def test_a_crest_lightens_and_a_dip_presses(bend: float) -> None:
    """v^2 k = mu (g + v^2 k_v)."""
    radius = 80.0
    lap = lap_profile(point_mass(), circle(radius, vertical_curvature=bend))
    assert_allclose(lap.speed, np.sqrt(GRIP / (1.0 / radius - FRICTION * bend)), rtol=1e-6)
    assert_allclose(lap.tyre_normal, GRAVITY + lap.speed**2 * bend, rtol=1e-9)


def test_a_straight_between_two_corners() -> None:
    """Speed up by a, brake by b: v_top^2 = (2 a b L + b v_0^2 + a v_1^2) / (a + b)."""
    driving, first, straight, spacing = 6.0, 15.0, 400.0, 0.25
    slow = np.sqrt(GRIP * 40.0)

    def bend(distance: Array) -> Array:
        return np.where(distance >= straight, 1.0 / 40.0, 0.0)

    line = line_of(420.0, bend, spacing=spacing)
    lap = lap_profile(point_mass(driving=driving), line, start_speed=first)
    # The bend begins within the last stretch of the straight: half of that is braked, at its mean.
    braked = straight - 0.5 * spacing
    top = np.sqrt((2.0 * driving * GRIP * braked + GRIP * first**2 + driving * slow**2) / (driving + GRIP))
    # The peak lies between two places, less than the larger change of speed over half a place below.
    assert_allclose(lap.speed.max(), top, atol=0.5 * GRIP * spacing / top)
    time = (top - first) / driving + (top - slow) / GRIP + 20.0 / slow + 0.5 * spacing / slow
    # Times of a stretch take the mean of its ends' speeds: the two beside the peak, and the last one.
    assert_allclose(lap.lap_time, time, atol=2.0 * spacing * GRIP * spacing / slow**3)
    switch = (top**2 - first**2) / (2.0 * driving)
    assert_allclose(lap.line.distance[np.argmax(lap.speed)], switch, atol=spacing)


def test_uphill_takes_its_share_of_the_engine() -> None:
    slope = 0.1
    lap = lap_profile(point_mass(driving=4.0), line_of(200.0, gradient=slope), start_speed=20.0)
    angle = np.arctan(slope)
    way = 200.0 / np.cos(angle)
    # Constant acceleration: Heun is exact.
    assert_allclose(lap.speed[-1], np.sqrt(20.0**2 + 2.0 * (4.0 - GRAVITY * np.sin(angle)) * way), rtol=1e-12)
    assert_allclose(lap.tyre_longitudinal, 4.0, rtol=1e-9)
    assert {LIMITS[k] for k in lap.limit} == {"engine"}


def test_brakes_may_be_weaker_than_tyres() -> None:
    def bend(distance: Array) -> Array:
        return np.where(distance >= 300.0, 1.0 / 20.0, 0.0)

    lap = lap_profile(point_mass(braking=5.0), line_of(310.0, bend), start_speed=40.0)
    assert_allclose(lap.longitudinal_acceleration.min(), -5.0, rtol=1e-9)
    assert LIMITS[lap.limit[np.argmin(lap.longitudinal_acceleration)]] == "brakes"


def waves(distance: Array) -> Array:
    """Left and right bends down to 30 m, with straights, over 1000 m."""
    return 1.0 / 30.0 * np.sin(2.0 * np.pi * distance / 250.0) ** 3


def test_accelerating_out_of_a_bend_shares_a_circle_of_grip() -> None:
    lap = lap_profile(point_mass(), line_of(1000.0, waves, closed=True, spacing=0.5))
    total = np.hypot(lap.tyre_longitudinal, lap.tyre_lateral)
    # Where speed is not held down by the curve alone, the circle is used up. Between places the limit is
    # read from 24 speeds: 1/8 of a squared step of pi/46 times the curvature 1 of a circle, and Heun: 1 %.
    inside = (lap.doing != DOING.index("cornering")) & (np.abs(lap.longitudinal_acceleration) > 1.0)
    assert_allclose(np.median(total[inside]), GRIP, rtol=2e-3)
    assert total.max() < 1.02 * GRIP


def test_a_mass_that_drives_as_it_brakes_is_as_fast_the_other_way() -> None:
    line = line_of(1000.0, waves, closed=True)
    back = line_of(1000.0, lambda distance: -waves(1000.0 - distance), closed=True)
    there, again = lap_profile(point_mass(), line), lap_profile(point_mass(), back)
    # The two passes are one in a mirror of time, up to which of them is cut by the other.
    assert_allclose(again.lap_time, there.lap_time, rtol=1e-6)


def test_more_grip_or_engine_is_nowhere_slower() -> None:
    line = line_of(1000.0, waves, closed=True)
    base = point_mass(driving=5.0)
    plain = lap_profile(base, line)
    for changed in (
        point_mass(driving=6.0),
        replace(base, size=1.05 * base.size),
    ):
        assert np.all(lap_profile(changed, line).speed >= plain.speed * (1.0 - 1e-9))


def test_a_mirrored_line_takes_a_symmetric_car_as_long() -> None:
    limits = limits_map(demo_car("hatchback"))
    lap = lap_profile(limits, line_of(1000.0, waves, closed=True))
    mirrored = lap_profile(limits, line_of(1000.0, lambda distance: -waves(distance), closed=True))
    assert_allclose(mirrored.speed, lap.speed, rtol=1e-12)


def test_a_lap_ends_as_fast_as_it_begins() -> None:
    def late(distance: Array) -> Array:
        return waves((distance + 60.0) % 1000.0)

    lap = lap_profile(point_mass(driving=3.0), line_of(1000.0, late, closed=True))
    shifted = lap_profile(point_mass(driving=3.0), line_of(1000.0, waves, closed=True))
    assert_allclose(lap.speed[0], lap.speed[-1], rtol=1e-12)
    # The start line is nowhere special.
    assert_allclose(lap.speed[:940], shifted.speed[60:1000], rtol=1e-9)
    assert_allclose(lap.lap_time, shifted.lap_time, rtol=1e-9)


def test_less_use_of_lateral_grip_is_slower_by_its_root(car_with: Any) -> None:
    car = demo_car("coupe")
    full, half = limits_map(car), limits_map(car, use=Margins(lateral=0.64))
    line = circle(40.0)
    fast, slow = lap_profile(full, line), lap_profile(half, line)
    # Use grows a little faster than acceleration, as load moves to the outer tyres: 0.64 gives 0.8 or more.
    assert 0.8 <= slow.speed[0] / fast.speed[0] < 0.84


def test_what_cannot_be_driven() -> None:
    with pytest.raises(SolveError, match=r"at 0 m the car cannot stay on the road at any speed.*banking 60"):
        lap_profile(point_mass(), circle(50.0, banking=np.radians(60.0)))
    with pytest.raises(SolveError, match=r"comes to rest at .* gradient of 40 %"):
        lap_profile(point_mass(driving=2.0), line_of(400.0, gradient=0.4), start_speed=20.0)
    with pytest.raises(EventError, match="the line is a lap"):
        lap_profile(point_mass(), circle(50.0), start_speed=10.0)
    with pytest.raises(EventError, match="can be taken at 4 to 87 km/h"):
        lap_profile(point_mass(), line_of(100.0, 1.0 / 50.0), start_speed=60.0)

    def bend(distance: Array) -> Array:
        return np.where(distance >= 20.0, 1.0 / 20.0, 0.0)

    # sqrt(2 mu g 19.5 m + mu g 20 m), the last metre braked by half, is 94.9 km/h.
    with pytest.raises(EventError, match="cannot slow down for what follows; it can from 95 km/h"):
        lap_profile(point_mass(), line_of(30.0, bend), start_speed=40.0)


def test_stickier_tyres_are_nowhere_slower(car_with: Any) -> None:
    line = line_of(1000.0, waves, closed=True)
    laps = [
        lap_profile(
            limits_map(car_with({f"{end}.tyre.grip.peak_friction": mu for end in ("front", "rear")})), line
        )
        for mu in (1.4, 1.47)
    ]
    # 5 % of friction: the limits themselves are found to 3e-4.
    assert np.all(laps[1].speed >= laps[0].speed * (1.0 - 3e-4))
    assert laps[1].lap_time < 0.99 * laps[0].lap_time
