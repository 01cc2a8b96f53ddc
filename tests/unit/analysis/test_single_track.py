"""The single-track model against published parameter sets.

Sources of the parameters: Abe, Vehicle Handling Dynamics, example 3.7 (files of
yuya-onozuka/automotive_vehicle_dynamics following the book, seen); Rajamani, Vehicle Dynamics and Control,
page 52 (a public script naming the page, seen). Results worked out from them apart from this project's code,
checked there against numerical steady states.
"""

import numpy as np
import pytest
from numpy.testing import assert_allclose

from fourpatch.analysis.quantity import Axles
from fourpatch.analysis.single_track import SingleTrack, YawMotion, single_track, yaw_motion

# Cornering stiffness is given per tyre.
ABE = {"mass": 1500.0, "a": 1.1, "b": 1.6, "front": 55e3, "rear": 60e3}
RAJAMANI = {"mass": 1573.0, "a": 1.1, "b": 1.58, "front": 80e3, "rear": 80e3}


def found(given: dict[str, float]) -> SingleTrack:
    return single_track(
        mass=given["mass"],
        cg_to_front=given["a"],
        cg_to_rear=given["b"],
        cornering_stiffness=Axles(2.0 * given["front"], 2.0 * given["rear"]),
    )


@pytest.mark.parametrize(
    ("given", "gradient", "per_g", "margin", "speed"),
    [
        (ABE, 2.9882155e-3, 1.679591, 0.114332, 30.059097),
        (RAJAMANI, 1.7608209e-3, 0.989707, 0.089552, 39.013041),
    ],
)
def test_understeering_cars(
    given: dict[str, float], gradient: float, per_g: float, margin: float, speed: float
) -> None:
    car = found(given)
    # Half a unit of the last printed figure.
    assert_allclose(car.understeer_gradient, gradient, rtol=0.0, atol=5e-11)
    assert_allclose(np.degrees(car.understeer_gradient) * 9.81, per_g, rtol=0.0, atol=5e-7)
    assert_allclose(car.static_margin, margin, rtol=0.0, atol=5e-7)
    assert car.characteristic_speed is not None
    assert_allclose(car.characteristic_speed, speed, rtol=0.0, atol=5e-7)
    assert car.critical_speed is None


def test_oversteering_car() -> None:
    """The second set with a and b exchanged; one eigenvalue crosses zero at the critical speed."""
    car = found({**RAJAMANI, "a": 1.58, "b": 1.1})
    assert_allclose(car.understeer_gradient, -1.7608209e-3, rtol=0.0, atol=5e-11)
    assert car.characteristic_speed is None
    assert car.critical_speed is not None
    assert_allclose(car.critical_speed, 39.013041, rtol=0.0, atol=5e-7)
    v, c = car.critical_speed, 160e3
    # v' and yaw acceleration of the linear model, signs of ISO 8855; its determinant vanishes there.
    model = [
        [-2.0 * c / (1573.0 * v), -c * (1.58 - 1.1) / (1573.0 * v) - v],
        [-c * (1.58 - 1.1) / (2873.0 * v), -c * (1.58**2 + 1.1**2) / (2873.0 * v)],
    ]
    largest, smallest = np.sort(np.abs(np.linalg.eigvals(model)))[::-1]
    # Rounding.
    assert smallest < 1e-9 * largest


def test_neutral_car_has_neither_speed() -> None:
    car = found({"mass": 1000.0, "a": 1.25, "b": 1.25, "front": 50e3, "rear": 50e3})
    assert car.understeer_gradient == 0.0
    assert car.characteristic_speed is None
    assert car.critical_speed is None


@pytest.mark.parametrize("speed", [10.0, 30.0, 60.0])
@pytest.mark.parametrize(("given", "inertia"), [(ABE, 2500.0), (RAJAMANI, 2873.0)])
def test_yaw_motion_is_that_of_the_eigenvalues(given: dict[str, float], inertia: float, speed: float) -> None:
    """Of sideways speed and yaw rate, written from the forces of both axles."""
    m, a, b, front, rear = given["mass"], given["a"], given["b"], 2.0 * given["front"], 2.0 * given["rear"]

    def rates(sideways: float, yaw_rate: float) -> list[float]:
        forces = -front * (sideways + a * yaw_rate) / speed, -rear * (sideways - b * yaw_rate) / speed
        return [sum(forces) / m - speed * yaw_rate, (a * forces[0] - b * forces[1]) / inertia]

    values = np.linalg.eigvals(np.column_stack([rates(1.0, 0.0), rates(0.0, 1.0)]))
    found = yaw_motion(
        mass=m, yaw_inertia=inertia, cg_to_front=a, cg_to_rear=b, stiffness=Axles(front, rear), speed=speed
    )
    natural = np.sqrt(np.prod(values).real)
    assert found.natural_frequency is not None
    # rounding of an eigenvalue
    assert_allclose(2.0 * np.pi * found.natural_frequency, natural, rtol=1e-12)
    assert_allclose(found.damping_ratio, -values.sum().real / (2.0 * natural), rtol=1e-12)


def test_yaw_has_no_frequency_beyond_the_critical_speed() -> None:
    given = {**RAJAMANI, "a": 1.58, "b": 1.1}
    critical = found(given).critical_speed
    assert critical is not None

    def at(speed: float) -> YawMotion:
        return yaw_motion(
            mass=1573.0,
            yaw_inertia=2873.0,
            cg_to_front=1.58,
            cg_to_rear=1.1,
            stiffness=Axles(160e3, 160e3),
            speed=speed,
        )

    assert at(1.001 * critical) == (None, None)
    assert at(0.999 * critical).natural_frequency is not None
