"""The closed forms behind a base set-up, against hand calculations and other ways to the same number.

Sources: worked example of two masses (300, 40 kg, 30 and 200 kN/m, class B at 30 m/s) with variances from
scipy 1.17.1 `solve_continuous_lyapunov`, printed to nine digits; brake distribution worked by hand from
1200 kg, 2.60 m, centre of gravity 1.25 m behind the front axle and 0.50 m high, braking at 9 m/s^2, g 9.81:
8189.3077 of 11772 N in front. Both computed apart from this project's code.
"""

import numpy as np
import pytest
from numpy.testing import assert_allclose
from scipy.integrate import quad
from scipy.linalg import solve_continuous_lyapunov
from scipy.optimize import minimize_scalar

from fourpatch.advice.base_targets import platform_frequency
from fourpatch.advice.brake_share import laden_front_share
from fourpatch.advice.two_mass import TwoMass, high_speed_slope, road_intensity

EXAMPLE = TwoMass(sprung_mass=300.0, unsprung_mass=40.0, wheel_rate=30e3, tyre_rate=200e3)
INTENSITY = 3.78992809e-4
PRINTED = 1e-8  # nine digits are printed


def tyre_load(two: TwoMass, damping: float) -> float:
    """RMS tyre load of the linear model from its covariance. [N]"""
    s, u, k, t, c = two.sprung_mass, two.unsprung_mass, two.wheel_rate, two.tyre_rate, damping
    states = np.array(
        [[0, 1, 0, -1], [-k / s, -c / s, 0, c / s], [0, 0, 0, 1], [k / u, c / u, -t / u, -c / u]]
    )
    road = np.array([[0.0], [0.0], [-1.0], [0.0]])
    covariance = solve_continuous_lyapunov(states, -INTENSITY * road @ road.T)
    return t * float(np.sqrt(covariance[2, 2]))


def test_intensity_of_the_example() -> None:
    assert_allclose(road_intensity("B", 30.0), INTENSITY, rtol=PRINTED)


def test_speed_and_travel_of_the_example() -> None:
    assert_allclose(EXAMPLE.damper_speed(damping=2000.0, intensity=INTENSITY), 0.137657693, rtol=PRINTED)
    assert_allclose(EXAMPLE.travel(damping=2000.0, intensity=INTENSITY), 5.67577209e-3, rtol=PRINTED)


def test_damping_of_least_load_of_the_example() -> None:
    assert_allclose(EXAMPLE.least_load_damping(), 2375.02140, rtol=PRINTED)
    assert_allclose(EXAMPLE.least_load_damping() / EXAMPLE.critical_damping(), 0.395837, rtol=2e-6)


@pytest.mark.parametrize("wheel_rate", [20e3, 45e3, 120e3])
def test_damping_of_least_load_is_where_the_covariance_is_least(wheel_rate: float) -> None:
    two = TwoMass(sprung_mass=250.0, unsprung_mass=35.0, wheel_rate=wheel_rate, tyre_rate=240e3)
    found = minimize_scalar(lambda c: tyre_load(two, c), bounds=(200.0, 20e3), method="bounded")
    # A minimum is found to the root of what the Lyapunov solver rounds to.
    assert_allclose(two.least_load_damping(), found.x, rtol=1e-4)


@pytest.mark.parametrize("rms", [0.06, 0.12, 0.3])
def test_the_slope_beyond_the_knee_makes_the_line_wanted(rms: float) -> None:
    low, knee, wanted = 4000.0, 0.08, 3000.0
    high = high_speed_slope(wanted=wanted, low=low, knee=knee, rms_speed=rms)

    def force(speed: float) -> float:
        return low * min(speed, knee) + high * max(speed - knee, 0.0)

    def weight(speed: float) -> float:
        return float(np.exp(-0.5 * (speed / rms) ** 2))

    held, _ = quad(lambda v: force(v) * v * weight(v), 0.0, 12.0 * rms, points=[knee])
    square, _ = quad(lambda v: v * v * weight(v), 0.0, 12.0 * rms)
    if high > 0.25 * low:
        # Adaptive quadrature to 1e-8.
        assert_allclose(held / square, wanted, rtol=1e-7)
    else:
        assert held / square >= wanted


def test_brake_distribution_worked_by_hand() -> None:
    share = 1.35 / 2.6 + 9.0 / 9.81 * 0.5 / 2.6  # of the weight at rest, and (a / g) h / L moved forward
    # Printed to six digits.
    assert_allclose(share, 0.695660, atol=5e-7)
    assert_allclose(
        laden_front_share(front_load=6112.3846, rear_load=5659.6154, transfer=2076.9231), share, atol=5e-7
    )


def test_downforce_sinks_a_car_at_its_platform_frequency_as_far_as_asked() -> None:
    mass, share, sink = 250.0, 0.6, 0.012
    rate = mass * (2.0 * np.pi * platform_frequency(downforce_share=share, sink=sink)) ** 2
    # Rounding.
    assert_allclose(share * mass * 9.81 / rate, sink, rtol=1e-12)
