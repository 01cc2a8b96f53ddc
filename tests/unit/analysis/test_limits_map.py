"""A car's limits in all directions, against closed forms and the same limits sought one by one."""

import numpy as np
import pytest
from numpy.testing import assert_allclose

from fourpatch.analysis.limits_map import GRAVITIES, Along, Margins, limits_map
from fourpatch.analysis.steady_limits import SteadyCar, braking_limit, corner_speed
from fourpatch.car.adjusters import adjuster
from fourpatch.car.demo import demo_car, demo_names
from fourpatch.car.engine_curve import driven_radius, wheel_torque
from fourpatch.car.setup import apply_setup, baseline_setup, step
from fourpatch.errors import EventError, SolveError

FRICTION = 1.4
PLAIN_GRIP = {
    "kind": "compact",
    "nominal_load": 3000.0,
    "peak_friction": FRICTION,
    "longitudinal_to_lateral": 1.0,
    "load_sensitivity": 0.0,
    "peak_slip_angle": 0.031,
    "cornering_stiffness": 59.0,
    "camber_stiffness": 0.0,
}
"""Of next to no slip angle: a turned wheel's drag would do part of the braking."""

# As near a point mass as a car may be: low, all four wheels braked and driven alike.
POINT_MASS = {
    "front.tyre.grip": PLAIN_GRIP,
    "rear.tyre.grip": PLAIN_GRIP,
    "chassis.cg_height": 0.1,
    "front.unsprung_cg_height": 0.05,
    "rear.unsprung_cg_height": 0.05,
    "brakes.front_share": 0.5,
    "driveline.front_drive_share": 0.5,
    "driveline.overrun_torque": 0.0,
}


def test_a_nearly_point_like_mass_has_nearly_a_circle(car_with):
    """The lighter axle carries half: a / 2 = mu (g / 2 - a |sin| h / L), a = mu g / (1 + 2 mu |sin| h / L).

    As h goes to 0 that is the circle of radius mu g.
    """
    limits = limits_map(car_with(POINT_MASS))
    lean = 2.0 * FRICTION * 0.1 / 2.6 * np.abs(np.sin(limits.direction))
    # Braking, and driving straight ahead; in a bend an open differential waits for the inner wheel.
    known = limits.direction < 1e-9
    known[-1] = True
    expected = FRICTION * limits.gravity[:, None, None] / (1.0 + lean[known])
    found = limits.size[0][:, :, known]
    # The two tyres of an axle peak at nearly one slip (1e-3); the search stops at 3e-4.
    assert_allclose(found[..., [0, -1]], np.broadcast_to(expected, found.shape)[..., [0, -1]], rtol=2e-3)
    # In a bend the car points 2 deg inward of its path, and its lean with it: 0.4 %; the turned wheels' drag
    # is of the sharing out of brakes, as much again. On a radius under 60 m wheels also turn apart.
    assert_allclose(found[:2, 3:], np.broadcast_to(expected, found.shape)[:2, 3:], rtol=0.01)
    # Pressed by 1.5 g they lean more, 0.6 %.
    assert_allclose(found[:, 3:], np.broadcast_to(expected, found.shape)[:, 3:], rtol=0.02)
    assert np.all(limits.size[0, 1, :, -1] < limits.size[0, 1, :, 8])


def test_limits_are_those_sought_one_by_one():
    car = demo_car("gt")
    limits = limits_map(car)
    flat = GRAVITIES.index(9.81)
    for k in (1, 5):
        speed = float(limits.speed[k])
        # Both searches stop within 5e-4.
        assert_allclose(limits.size[0, flat, k, 0], braking_limit(car, speed=speed), rtol=1e-3)
        lateral = limits.size[0, flat, k, 8]
        held = corner_speed(car, radius=speed**2 / lateral, fastest=2.0 * speed)
        assert_allclose(held, speed, rtol=1e-3)  # half of it in the speed


def test_the_worse_axle_is_used_up_in_every_direction():
    car = demo_car("single-seater")
    limits, steady = limits_map(car), SteadyCar(car)
    flat, k = GRAVITIES.index(9.81), 4
    for m in range(0, limits.direction.size, 2):
        size, toward = limits.size[1, flat, k, m], limits.direction[m]
        front, rear = steady.use(
            speed=float(limits.speed[k]),
            lateral_acceleration=-size * np.cos(toward),
            longitudinal_acceleration=size * np.sin(toward),
        )
        assert_allclose(max(front, rear), 1.0, atol=1e-3)  # the search stops at 3e-4, on either side
        assert (front > rear) == (limits.balance[1, flat, k, m] > 0.0)


def test_margins_are_the_use_of_the_worse_axle():
    car, margins = demo_car("coupe"), Margins(braking=0.8, lateral=0.9, driving=0.7)
    limits, steady = limits_map(car, use=margins), SteadyCar(car)
    flat, k = GRAVITIES.index(9.81), 2
    for m, expected in ((0, 0.8), (8, 0.9), (16, 0.7)):
        size, toward = limits.size[0, flat, k, m], limits.direction[m]
        use = steady.use(
            speed=float(limits.speed[k]),
            lateral_acceleration=size * np.cos(toward),
            longitudinal_acceleration=size * np.sin(toward),
        )
        assert_allclose(max(use), expected, rtol=1e-3)  # as above


def test_a_lopsided_car_has_a_better_side(car_with):
    leaning = limits_map(car_with({"chassis.cg_lateral_offset": 0.05}))
    # Weight on the left: a right turn loads the left tyres further, a left turn evens out.
    assert np.all(leaning.size[0, 1, :, 8] > leaning.size[1, 1, :, 8])
    other = limits_map(car_with({"chassis.cg_lateral_offset": -0.05}))
    assert_allclose(other.size, leaning.size[::-1], rtol=1e-3)  # two searches to 3e-4 each
    even = limits_map(car_with({}))
    assert_allclose(even.size[0], even.size[1], rtol=0.0)


def test_engine_and_brakes(car_with):
    car = car_with({"aero.map.drag": {"constant": 1.0}})
    limits = limits_map(car)
    speed = 30.0
    drag = 0.5 * 1.2 * 1.0 * speed**2 / 1200.0
    pull = wheel_torque(car, np.array([speed]))[0] / driven_radius(car) / 1200.0
    # Of even spacing 0.25 m/s, 30 m/s is one place.
    assert_allclose(np.interp(speed, limits.engine_speed, limits.engine), pull - drag, rtol=1e-6)
    overrun = 50.0 * (speed / 0.3 * 7.0) / 700.0 * 7.0 / 0.3 / 1200.0
    brakes = 6000.0 / 0.3 / 1200.0 + overrun + drag
    assert_allclose(np.interp(speed, limits.engine_speed, limits.brakes), brakes, rtol=1e-6)


def test_reading_between_the_points():
    limits = limits_map(demo_car("coupe"))
    k = 3
    here = {"speed": limits.speed[[k]], "gravity": np.array([9.81]), "left": np.array([True])}
    lateral, _ = limits.lateral(**here)
    assert_allclose(lateral, limits.size[0, 1, k, 8], rtol=1e-12)
    driving, braking = limits.along(Along(share=np.array([0.0]), **here))[0]
    # A point of the map; read from a curve of half-degree steps: (0.5 deg)^2 / 8 is 1e-5.
    assert_allclose(driving, limits.size[0, 1, k, -1], rtol=1e-4)
    assert_allclose(braking, -limits.size[0, 1, k, 0], rtol=1e-4)
    # A point on the slant, 45 deg: its own lateral share gives its longitudinal part.
    size = limits.size[0, 1, k, 12]
    share = size * np.cos(np.pi / 4) / lateral
    # Interpolated linearly between 33 angles: (pi/64)^2 / 8 is 3e-4 of a circle.
    assert_allclose(limits.along(Along(share=share, **here))[0, 0], size * np.sin(np.pi / 4), rtol=2e-3)
    slow, _ = limits.lateral(speed=np.array([2.0]), gravity=np.array([9.81]), left=np.array([True]))
    assert_allclose(slow, limits.size[0, 1, 0, 8], rtol=1e-12)


@pytest.mark.parametrize("name", ["braking", "lateral", "driving"])
def test_margins_refused(name):
    with pytest.raises(EventError, match=rf"use, {name}: 130 % of the grip.*between 0.05 and 1"):
        Margins(**{name: 1.3})


def test_a_car_without_a_steady_place_is_refused(car_with):
    # Lift outgrows the weight below 10 % above top speed.
    with pytest.raises(SolveError, match=r"\d+ km/h"):
        limits_map(car_with({"aero.map.front_downforce": {"constant": -5.0}}))


def test_limits_sought_from_those_of_nearly_the_same_car_are_the_same():
    """Two roads to one map: from rest, and from the map of the car before a click of its front bar."""
    car = demo_car("gt")
    bar = adjuster(car, "front bar")
    other = apply_setup(car, step(baseline_setup(car), bar, 1))
    alone, beside = limits_map(other), limits_map(other, near=limits_map(car))
    flat = GRAVITIES.index(9.81)
    # Both stop within 3e-4 of the use sought, which grows about as the acceleration does.
    apart = np.abs(beside.size / alone.size - 1.0)[:, flat]
    assert np.quantile(apart, 0.98) < 6e-4
    # Where a tyre passes its peak, what its slip angle drags leaps, and use has two values.
    assert apart.max() < 0.01
    # Where a wheel lifts or a differential slips, balance jumps by some hundredths within those 3e-4.
    apart = np.abs(beside.balance - alone.balance)[:, flat]
    assert np.quantile(apart, 0.95) < 3e-3
    assert apart.max() < 0.1


def test_a_hasty_look_comes_nearer_to_the_limits_than_those_it_began_with():
    car = demo_car("gt")
    other = apply_setup(car, step(baseline_setup(car), adjuster(car, "fuel"), 5))
    before = limits_map(car)
    exact, hasty = limits_map(other, near=before), limits_map(other, near=before, hasty=True)
    flat = GRAVITIES.index(9.81)
    began = np.median(np.abs(before.size - exact.size)[:, flat])
    # A first-order correction leaves the error of its slope, 1.2 for 1 to 1.5: a quarter. On the median, for
    # where use jumps (a wheel lifts, a differential slips) no slope tells how far the limit moves.
    assert np.median(np.abs(hasty.size - exact.size)[:, flat]) < 0.25 * began


@pytest.mark.parametrize("name", demo_names())
def test_a_step_of_any_adjuster_leaves_the_limits_to_be_found(name: str) -> None:
    """A step of fuel took the single-seater onto its stops at 278 km/h, beyond a quick search."""
    car = demo_car(name)
    setup = baseline_setup(car)
    ways = [step(setup, one, way) for one in car.adjusters for way in (1, -1)]
    near = limits_map(car)
    for changed in ways:
        if changed is not None:
            assert (limits_map(apply_setup(car, changed), near=near).size > 0.0).all()
