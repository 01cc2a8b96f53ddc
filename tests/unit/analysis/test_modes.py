"""Names and kinds of modes; their values are checked in tests/validation/test_linear_modes.py and others."""

from collections.abc import Callable, Mapping
from typing import Any

import numpy as np
import pytest
from numpy.testing import assert_allclose

from fourpatch.analysis.linear_model import linearise
from fourpatch.analysis.modes import NAMES, car_modes, modes
from fourpatch.car.car import Car
from fourpatch.car.pack import pack
from fourpatch.physics.layout import N_INPUT, P

CarWith = Callable[[Mapping[str, Any]], Car]
DamperOf = Callable[[float], dict[str, Any]]


def test_each_mode_looks_like_its_name(car_with: CarWith) -> None:
    found = {mode.name: mode for mode in car_modes(car_with({"front.unsprung_mass": 40.0})).low_speed}
    assert tuple(found) == NAMES

    def phase(name: str, part: str, one: int, other: int) -> float:
        phases = getattr(found[name], f"{part}_phase")
        return float(np.cos(phases[one] - phases[other]))

    # A symmetric car: left and right move exactly alike or exactly against each other.
    assert_allclose(phase("heave", "body", 0, 1), 1.0)
    assert_allclose(phase("roll", "body", 0, 1), -1.0)
    assert_allclose(phase("front hop", "wheel", 0, 1), 1.0)
    assert_allclose(phase("front tramp", "wheel", 0, 1), -1.0)
    assert_allclose(phase("rear hop", "wheel", 2, 3), 1.0)
    assert_allclose(phase("rear tramp", "wheel", 2, 3), -1.0)
    assert phase("heave", "body", 0, 2) > 0.9
    assert phase("pitch", "body", 0, 2) < -0.9
    assert_allclose(found["front hop"].wheel.FL, 1.0)
    assert max(found["front hop"].wheel[2:]) < 0.5
    assert all(mode.participation > 0.5 for mode in found.values())


def test_heavily_damped_car_creeps(car_with: CarWith, straight_damper: DamperOf) -> None:
    """With c so large that the body and wheels move as one, what is left swings on the tyres."""
    stiff = straight_damper(60e3)
    found = {
        mode.name: mode
        for mode in car_modes(car_with({"front.damper": stiff, "rear.damper": stiff})).low_speed
    }
    creeping = [mode for mode in found.values() if mode.damped_frequency == 0.0]
    assert len(creeping) >= 1
    for mode in creeping:
        assert mode.damping_ratio is not None
        assert mode.damping_ratio > 1.0
        assert mode.decay_rate > 0.0


def test_all_eigenvalues_are_in_the_modes(full_car: Car) -> None:
    model = linearise(pack(full_car), np.zeros(N_INPUT))
    found = modes(model)
    # Sum of the eigenvalues is the trace: -2 zeta w over all modes. Rounding of the differences.
    decay = sum(
        2.0 * m.damping_ratio * 2.0 * np.pi * m.damped_frequency / np.sqrt(1.0 - m.damping_ratio**2)
        for m in found
        if m.damping_ratio is not None and m.damping_ratio < 1.0
    )
    assert all(m.damping_ratio is not None and m.damping_ratio < 1.0 for m in found)
    assert_allclose(decay, -np.trace(model.A), rtol=1e-9)


def test_downforce_that_grows_as_the_nose_falls_is_a_negative_spring(car_with: CarWith) -> None:
    map_ = {"constant": 1.0, "f": -20.0}
    car = car_with({"aero.map.front_downforce": map_, "aero.map.highest_front_height": 0.5})
    speed = 40.0
    softened, still = (car_modes(car, speed=v).low_speed for v in (speed, 0.0))
    # Sum of squared undamped frequencies = trace of M^-1 K; the front loses q |dA/df| of its rate in heave,
    # and that at the arm of half a wheelbase in pitch.
    loss = 0.5 * 1.2 * speed**2 * 20.0
    squares = [sum((2.0 * np.pi * m.undamped_frequency) ** 2 for m in found) for found in (still, softened)]
    behind = 2.6 / 2.0
    # Rounding of differences of the squares of the wheels' frequencies.
    assert_allclose(squares[0] - squares[1], loss * (1.0 / 1080.0 + behind**2 / 1500.0), rtol=1e-6)


def test_a_body_heavier_than_its_roll_stiffness_falls_over(car_with: CarWith) -> None:
    vector = pack(car_with({}))
    vector[P.gravity_roll_moment] = 2e5
    roll = {mode.name: mode for mode in modes(linearise(vector, np.zeros(N_INPUT)))}["roll"]
    assert roll.decay_rate < 0.0
    assert roll.undamped_frequency is None
    assert roll.damping_ratio is None
    assert roll.damped_frequency == 0.0


def test_dampers_are_read_at_the_stated_speeds(car_with: CarWith) -> None:
    digressive = {
        "kind": "two-slope",
        "bump": {"low_speed": 3000.0, "knee_speed": 0.1, "high_speed": 1000.0},
        "rebound": {"low_speed": 3000.0, "knee_speed": 0.1, "high_speed": 1000.0},
    }
    found = car_modes(car_with({"front.damper": digressive, "rear.damper": digressive}))
    for low, high in zip(found.low_speed, found.high_speed, strict=True):
        assert low.damping_ratio > 1.5 * high.damping_ratio
        assert low.undamped_frequency == pytest.approx(high.undamped_frequency, rel=1e-9)
