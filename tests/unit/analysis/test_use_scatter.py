"""What a driver's unevenness changes of the use of grip: against differences, and a matrix exponential."""

import numpy as np
import pytest
from numpy.testing import assert_allclose
from scipy.linalg import expm

from fourpatch.analysis.axle_use import AxleUse, axle_use
from fourpatch.analysis.phase_balance import phase_window
from fourpatch.analysis.standard_events import standard_corners
from fourpatch.analysis.tyre_work import CornerSlips, corner_slips
from fourpatch.analysis.use_scatter import _hands, use_scatter
from fourpatch.car.demo import demo_car
from fourpatch.car.pack import pack
from fourpatch.events.driver_style import DriverScatter
from fourpatch.events.motion import RigMotion
from fourpatch.events.run import run_rig, stable_step
from fourpatch.physics.integrate import History
from fourpatch.physics.layout import P

Run = tuple[np.ndarray, RigMotion, History, AxleUse, CornerSlips]
RATIO = demo_car("gt").steering.ratio
NONE = {"brake_point": 0.0, "corner_speed": 0.0, "steering": 0.0}


@pytest.fixture(scope="module")
def run() -> Run:
    car = demo_car("gt")
    parameters = pack(car)[None]
    motion = standard_corners(car, ("medium corner",))["medium corner"].motion(car, stable_step(parameters))
    history = run_rig(parameters, motion)
    use = axle_use(parameters, history.outputs)
    return parameters, motion, history, use, corner_slips(parameters, history, motion)


def of(run: Run, **given: float) -> np.ndarray:
    parameters, motion, _, use, slips = run
    scatter = DriverScatter(**{**NONE, **given})
    return use_scatter(parameters, motion, use, slips, steering_ratio=RATIO, scatter=scatter)[0]


def test_a_driver_who_is_always_alike_scatters_nothing(run: Run) -> None:
    assert of(run).tolist() == [0.0, 0.0]


@pytest.mark.parametrize("source", ["brake_point", "corner_speed", "steering"])
def test_twice_the_unevenness_scatters_twice_as_much(run: Run, source: str) -> None:
    once = of(run, **{source: 0.01})
    assert (once > 0.0).all()
    # Linear: rounding.
    assert_allclose(of(run, **{source: 0.02}), 2.0 * once, rtol=1e-12)


def test_independent_errors_add_by_their_squares(run: Run) -> None:
    alone = [of(run, **{name: 0.01}) for name in NONE]
    together = of(run, **dict.fromkeys(NONE, 0.01))
    # Means over time of roots lie between the largest part and the parts' sum.
    assert (together >= np.max(alone, axis=0)).all()
    assert (together <= np.sum(alone, axis=0)).all()


def test_corner_speed_is_the_difference_of_use_at_two_speeds(run: Run) -> None:
    _, motion, history, use, slips = run
    share = 1e-4
    places = slips.places
    entry, left = (
        phase_window(motion, one, history.outputs.shape[1])
        for one in motion.phases
        if one.name in ("entry", "exit")
    )
    turning = places[(places >= entry.start) & (places < left.stop)]
    lateral = use.lateral_force[0, turning] / use.lateral_capacity[0, turning]
    # What is along the road is the rest of the use: U^2 = y^2 + x^2.
    along = use.use[0, turning] ** 2 - lateral**2
    faster = np.hypot(lateral * (1.0 + share) ** 2, np.sqrt(along))
    # A difference of 1e-4 is off by as much.
    assert_allclose(of(run, corner_speed=share), (faster - use.use[0, turning]).mean(axis=0), rtol=1e-3)


def test_hands_are_the_single_track_model_held_for_half_a_second(run: Run) -> None:
    parameters, _, _, _, slips = run
    steer, held = 1e-3, 0.5
    found = _hands(parameters, slips.speed, slips.slope, steer, held)[0]
    mass, inertia = parameters[0, [P.total_mass, P.yaw_inertia]]
    ahead, behind = parameters[0, [P.cg_to_front, P.cg_to_rear]]
    for place in range(0, slips.speed.size, 17):
        u, (front, rear) = slips.speed[place], slips.slope[0, place]
        system = np.zeros((3, 3))
        system[0, :2] = (front + rear) / (mass * u), (ahead * front - behind * rear) / (mass * u) - u
        system[1, :2] = (
            (ahead * front - behind * rear) / (inertia * u),
            (ahead**2 * front + behind**2 * rear) / (inertia * u),
        )
        system[:2, 2] = -front * steer / mass, -ahead * front * steer / inertia
        v, r = expm(system * held)[:2, 2]
        expected = front * ((v + ahead * r) / u - steer), rear * (v - behind * r) / u
        # Runge and Kutta's steps of 25 ms: 1e-4 of the answer.
        assert_allclose(found[place], expected, rtol=1e-3, atol=1e-3 * np.abs(expected).max())


def test_hands_held_for_long_turn_the_car_as_its_understeer_says(run: Run) -> None:
    """a_y = u^2 steer / (L + K u^2), K of the single-track model (Gillespie 1992, chapter 6, from memory)."""
    parameters = run[0]
    u, front, rear = 20.0, -9e4, -12e4
    mass, ahead, behind = parameters[0, [P.total_mass, P.cg_to_front, P.cg_to_rear]]
    length = ahead + behind
    gradient = mass * (behind / -front - ahead / -rear) / length
    found = _hands(parameters, np.array([u]), np.array([[[front, rear]]]), 1e-3, 1.5)[0, 0]
    acceleration = u**2 * 1e-3 / (length + gradient * u**2)
    # After 1.5 s less than 1e-4 of the swing is left.
    assert_allclose(found, mass * acceleration * np.array([behind, ahead]) / length, rtol=1e-3)
