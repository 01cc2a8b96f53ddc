"""The linearised car against Lagrange's equations, derived symbolically here, and python-control.

Kinetic energy, potential energy and Rayleigh's dissipation of the seven masses are written down from the
car's parameters and differentiated by sympy; nothing of the project's equations of motion is used. The linear
motion is then M q'' + C q' + K q = f. Frequency responses of that model are computed by python-control.

Source: Lagrange's equations with Rayleigh's dissipation function, textbook; sympy and python-control as
installed. The energy of the body's weight leaning over its roll axis, -m_s g d phi^2 / 2, is the usual one of
roll steady states (from memory: Gillespie, Fundamentals of Vehicle Dynamics, 1992, chapter 6).
"""

from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace
from functools import cache
from typing import Any

import control
import numpy as np
import pytest
import sympy
from numpy.testing import assert_allclose
from numpy.typing import NDArray

from fourpatch.analysis.frequency_response import frequency_response
from fourpatch.analysis.linear_model import LinearDampers, LinearModel, linearise
from fourpatch.analysis.modes import modes
from fourpatch.car.car import Car
from fourpatch.car.pack import pack
from fourpatch.physics.layout import N_INPUT

Array = NDArray[np.float64]
CarWith = Callable[[Mapping[str, Any]], Car]
DamperOf = Callable[[float], dict[str, Any]]

G = 9.81


@dataclass(frozen=True, kw_only=True)
class Axle:
    track: float
    wheel: float
    wheel_height: float
    roll_centre: float
    spring: float
    ratio: tuple[float, float, float]
    damper: float
    damper_ratio: tuple[float, float, float]
    bar: float
    heave_rate: float
    heave_preload: float
    heave_damping: float
    tyre: float
    tyre_damping: float


FRONT = Axle(
    track=1.56,
    wheel=36.0,
    wheel_height=0.31,
    roll_centre=0.05,
    spring=92e3,
    ratio=(0.93, 0.6, 1.5),
    damper=3400.0,
    damper_ratio=(0.96, 0.3, 0.5),
    bar=15e3,
    heave_rate=20e3,
    heave_preload=500.0,
    heave_damping=400.0,
    tyre=262e3,
    tyre_damping=120.0,
)
REAR = Axle(
    track=1.52,
    wheel=33.0,
    wheel_height=0.30,
    roll_centre=0.09,
    spring=84e3,
    ratio=(0.88, -0.4, 0.8),
    damper=2900.0,
    damper_ratio=(0.9, 0.0, 0.0),
    bar=6e3,
    heave_rate=0.0,
    heave_preload=0.0,
    heave_damping=0.0,
    tyre=248e3,
    tyre_damping=90.0,
)


@dataclass(frozen=True, kw_only=True)
class Given:
    """One car in plain numbers, from which both the symbolic model and the engine's car are made. SI."""

    mass: float = 1250.0
    front_share: float = 0.54
    lateral: float = 0.0
    cross: float = 0.5
    height: float = 0.47
    wheelbase: float = 2.62
    inertia: tuple[float, float] = (390.0, 1620.0)
    front: Axle = FRONT
    rear: Axle = REAR


SYMMETRIC = Given()
UNSYMMETRIC = Given(lateral=0.045, cross=0.53)


def engine_car(given: Given, car_with: CarWith, straight_damper: DamperOf) -> Array:
    changes: dict[str, Any] = {
        "chassis.mass": given.mass,
        "chassis.front_weight_share": given.front_share,
        "chassis.cg_lateral_offset": given.lateral,
        "chassis.cross_weight_share": given.cross,
        "chassis.cg_height": given.height,
        "chassis.wheelbase": given.wheelbase,
        "chassis.roll_inertia": given.inertia[0],
        "chassis.pitch_inertia": given.inertia[1],
    }
    for end, axle in (("front", given.front), ("rear", given.rear)):
        names = ("value", "slope", "curvature")
        changes |= {
            f"{end}.track_width": axle.track,
            f"{end}.unsprung_mass": axle.wheel,
            f"{end}.unsprung_cg_height": axle.wheel_height,
            f"{end}.geometry.roll_centre_height": {"value": axle.roll_centre},
            f"{end}.geometry.spring_motion_ratio": dict(zip(names, axle.ratio, strict=True)),
            f"{end}.geometry.damper_motion_ratio": dict(zip(names, axle.damper_ratio, strict=True)),
            f"{end}.spring.rate": axle.spring,
            f"{end}.damper": straight_damper(axle.damper),
            f"{end}.bar.rate": axle.bar,
            f"{end}.heave": {
                "rate": axle.heave_rate,
                "preload": axle.heave_preload,
                "bump": axle.heave_damping,
                "rebound": axle.heave_damping,
            },
            f"{end}.tyre.vertical_rate": axle.tyre,
            f"{end}.tyre.vertical_damping": axle.tyre_damping,
        }
    return pack(car_with(changes))


@dataclass(frozen=True, kw_only=True)
class Lagrangian:
    """M q'' + C q' + K q = K_r z_r + C_r z_r', q = heave, roll, pitch, four wheels."""

    M: Array
    C: Array
    K: Array
    K_road: Array
    C_road: Array
    travel: Array
    """Wheel travel of each corner per q, (4, 7)."""
    residual: Array
    """Force left at rest, which must vanish."""


@cache
def lagrangian(given: Given) -> Lagrangian:
    q = sympy.symbols("z phi theta w0:4")
    v = sympy.symbols("dz dphi dtheta dw0:4")
    r, dr = sympy.symbols("r0:4"), sympy.symbols("dr0:4")
    axles = (given.front, given.front, given.rear, given.rear)
    unsprung = sum(axle.wheel for axle in axles)
    sprung = given.mass - unsprung
    moment = given.mass * (1.0 - given.front_share) - 2.0 * given.rear.wheel
    behind = moment * given.wheelbase / sprung
    aside = given.lateral * given.mass / sprung
    sprung_height = (given.mass * given.height - sum(a.wheel * a.wheel_height for a in axles)) / sprung
    x = [behind, behind, behind - given.wheelbase, behind - given.wheelbase]
    y = [side * axle.track / 2.0 - aside for side, axle in zip((1, -1, 1, -1), axles, strict=True)]
    loads = static_loads(given, axles)

    kinetic = sprung * v[0] ** 2 + given.inertia[0] * v[1] ** 2 + given.inertia[1] * v[2] ** 2
    kinetic += sum(axle.wheel * v[3 + k] ** 2 for k, axle in enumerate(axles))
    fall = (given.rear.roll_centre - given.front.roll_centre) / given.wheelbase
    arm = sprung_height - (given.front.roll_centre + fall * behind)
    potential = sprung * G * q[0] - sprung * G * arm * q[1] ** 2 / 2
    dissipation = 0
    travels, speeds = [], []
    for k, axle in enumerate(axles):
        travel = q[3 + k] - (q[0] - x[k] * q[2] + y[k] * q[1])
        speed = v[3 + k] - (v[0] - x[k] * v[2] + y[k] * v[1])
        travels.append(travel)
        speeds.append(speed)
        a, b, c = axle.ratio
        spring_travel = a * travel + b * travel**2 / 2 + c * travel**3 / 3
        force = (loads[k] - axle.wheel * G - axle.heave_preload / 2) / a
        potential += force * spring_travel + axle.spring * spring_travel**2 / 2
        potential += axle.wheel * G * q[3 + k]
        potential += axle.tyre * (loads[k] / axle.tyre + r[k] - q[3 + k]) ** 2 / 2
        a, b, c = axle.damper_ratio
        dissipation += axle.damper * ((a + b * travel + c * travel**2) * speed) ** 2 / 2
        dissipation += axle.tyre_damping * (dr[k] - v[3 + k]) ** 2 / 2
    for left, axle in ((0, given.front), (2, given.rear)):
        mean, mean_speed = (travels[left] + travels[left + 1]) / 2, (speeds[left] + speeds[left + 1]) / 2
        potential += axle.bar * (travels[left] - travels[left + 1]) ** 2 / 2
        potential += axle.heave_preload * mean + axle.heave_rate * mean**2 / 2
        dissipation += axle.heave_damping * mean_speed**2 / 2

    everything = (*q, *v, *r, *dr)

    def at_rest(expressions: Any) -> Array:
        found = sympy.lambdify(everything, expressions)(*np.zeros(len(everything)))
        return np.array(found, dtype=float)

    def second(energy: Any, one: Any, other: Any) -> Array:
        slopes = [sympy.diff(energy, a) for a in one]
        return at_rest([[sympy.diff(slope, b) for b in other] for slope in slopes])

    return Lagrangian(
        M=second(kinetic / 2, v, v),
        C=second(dissipation, v, v),
        K=second(potential, q, q),
        K_road=-second(potential, q, r),
        C_road=-second(dissipation, v, dr),
        travel=at_rest([[sympy.diff(t, a) for a in q] for t in travels]),
        residual=at_rest([sympy.diff(potential, a) for a in q]),
    )


def static_loads(given: Given, axles: tuple[Axle, ...]) -> Array:
    """Tyre loads at rest from force, two moments and the cross weight."""
    weight, halves = given.mass * G, [axle.track / 2.0 for axle in axles]
    equations = [
        [1.0, 1.0, 1.0, 1.0],
        [1.0, 1.0, 0.0, 0.0],
        [halves[0], -halves[1], halves[2], -halves[3]],
        [0.0, 1.0, 1.0, 0.0],
    ]
    return np.linalg.solve(equations, weight * np.array([1.0, given.front_share, given.lateral, given.cross]))


@pytest.fixture(scope="module", params=[SYMMETRIC, UNSYMMETRIC], ids=["symmetric", "unsymmetric"])
def both(
    request: pytest.FixtureRequest, car_with: CarWith, straight_damper: DamperOf
) -> tuple[Lagrangian, LinearModel]:
    given: Given = request.param
    vector = engine_car(given, car_with, straight_damper)
    return lagrangian(given), linearise(vector, np.zeros(N_INPUT))


Both = tuple[Lagrangian, LinearModel]


def first_order(derived: Lagrangian) -> tuple[Array, Array]:
    """A and B of the derived car; inputs are four road heights, then their rates."""
    inverse = np.linalg.inv(derived.M)
    A = np.block([[np.zeros((7, 7)), np.eye(7)], [-inverse @ derived.K, -inverse @ derived.C]])
    B = np.vstack([np.zeros((7, 8)), inverse @ np.hstack([derived.K_road, derived.C_road])])
    return A, B


def test_the_derived_car_stands_at_rest(both: Both) -> None:
    # Rounding of forces of some kN.
    assert_allclose(both[0].residual, 0.0, atol=1e-9)


def test_eigenvalues(both: Both) -> None:
    derived, model = both
    expected = np.linalg.eigvals(first_order(derived)[0])
    found = np.linalg.eigvals(model.A)
    nearest = np.abs(found[:, None] - expected).argmin(axis=1)
    assert sorted(nearest) == list(range(14))
    # Central differences round to about 1e-10.
    assert_allclose(found, expected[nearest], rtol=1e-8)


def test_whole_matrices(both: Both) -> None:
    derived, model = both
    A, B = first_order(derived)
    # The same, against the largest element of a row.
    assert_allclose(model.A, A, rtol=1e-8, atol=1e-9 * np.abs(A).max())
    assert_allclose(model.B[:, :8], B, rtol=1e-8, atol=1e-9 * np.abs(B).max())


def test_undamped_modes(both: Both) -> None:
    derived, model = both
    stiffness = np.linalg.eigvals(np.linalg.solve(derived.M, derived.K))
    found = sorted(mode.undamped_frequency for mode in modes(model))
    # Differences round to 1e-10; a frequency is a square root.
    assert_allclose(found, np.sort(np.sqrt(stiffness.real)) / (2.0 * np.pi), rtol=1e-8)


def test_mode_shapes_solve_the_derived_equations(both: Both) -> None:
    derived, model = both
    for mode in modes(model):
        body, wheel = (
            np.array(size) * np.exp(1j * np.array(phase))
            for size, phase in ((mode.body, mode.body_phase), (mode.wheel, mode.wheel_phase))
        )
        size = mode.damped_frequency * 2.0 * np.pi / np.sqrt(1.0 - mode.damping_ratio**2)
        s = size * (-mode.damping_ratio + 1j * np.sqrt(1.0 - mode.damping_ratio**2))
        # Travel = wheel - body at each corner gives back heave, roll and pitch.
        q = np.concatenate([np.linalg.lstsq(-derived.travel[:, :3], body, rcond=None)[0], wheel])
        forces = np.array([derived.M * s**2 @ q, derived.C * s @ q, derived.K @ q])
        # Eigenvectors of matrices that agree to 1e-9, amplified by the gaps between near frequencies.
        assert_allclose(forces.sum(axis=0), 0.0, atol=1e-6 * np.abs(forces).max())


def test_frequency_responses_of_python_control(both: Both) -> None:
    derived, model = both
    A, B = first_order(derived)
    tyre = np.array([SYMMETRIC.front.tyre] * 2 + [SYMMETRIC.rear.tyre] * 2)
    tyre_damping = np.array([SYMMETRIC.front.tyre_damping] * 2 + [SYMMETRIC.rear.tyre_damping] * 2)
    wheels = np.hstack([np.zeros((4, 3)), np.eye(4)])
    load = -np.hstack([np.diag(tyre) @ wheels, np.diag(tyre_damping) @ wheels])
    rows = np.vstack([load, np.hstack([derived.travel, np.zeros((4, 7))]), A[7:10]])
    direct = np.vstack([np.hstack([np.diag(tyre), np.diag(tyre_damping)]), np.zeros((4, 8)), B[7:10]])
    system = control.ss(A, B, rows, direct)
    frequency, speed = np.array([0.3, 1.1, 2.0, 3.5, 8.0, 13.0, 25.0]), 33.0
    found = frequency_response(model, frequency, pattern="driven over", speed=speed)
    for n, f in enumerate(frequency):
        s = 2j * np.pi * f
        road = np.exp(-s * np.array([0.0, 0.0, SYMMETRIC.wheelbase, SYMMETRIC.wheelbase]) / speed)
        expected = control.evalfr(system, s) @ np.concatenate([road, s * road])
        # Rounding of the differences, against the largest of a kind.
        for name, part in (("tyre_load", expected[:4]), ("travel", expected[4:8])):
            assert_allclose(found[name].values[n], part, rtol=1e-7, atol=1e-8 * np.abs(part).max())
        for k, name in enumerate(("heave_acceleration", "roll_acceleration", "pitch_acceleration")):
            largest = np.abs(expected[8:]).max()
            assert_allclose(found[name].values[n], expected[8 + k], rtol=1e-7, atol=1e-8 * largest)


@pytest.mark.parametrize(("side", "share"), [("bump", 1.0), ("rebound", 2.5), ("mean", 1.75)])
def test_chosen_side_of_a_damper(
    side: Any, share: float, car_with: CarWith, straight_damper: DamperOf
) -> None:
    """The dissipation scaled by the side's slope, kinks at rest and friction notwithstanding."""
    derived = lagrangian(SYMMETRIC)
    slope = {"front": SYMMETRIC.front.damper, "rear": SYMMETRIC.rear.damper}

    def lopsided(end: str) -> dict[str, Any]:
        bump, rebound = (
            {"low_speed": c, "knee_speed": 0.05, "high_speed": 0.3 * c}
            for c in (slope[end], 2.5 * slope[end])
        )
        return {"kind": "two-slope", "bump": bump, "rebound": rebound, "friction": 60.0}

    dampers = iter([lopsided("front"), lopsided("rear")])
    vector = engine_car(SYMMETRIC, car_with, lambda _: next(dampers))
    for speed, softened in ((0.0, 1.0), (0.05, 0.3), (0.4, 0.3)):
        model = linearise(vector, np.zeros(N_INPUT), dampers=LinearDampers(side=side, speed=speed))
        # What is not a corner damper (tyres, heave damper) is not scaled.
        others = lagrangian_without_dampers().C
        expected = share * softened * (derived.C - others) + others
        found = -derived.M @ model.A[7:, 7:]
        assert_allclose(found, expected, rtol=1e-8, atol=1e-7 * np.abs(expected).max())


def lagrangian_without_dampers() -> Lagrangian:
    return lagrangian(
        replace(
            SYMMETRIC, front=replace(SYMMETRIC.front, damper=0.0), rear=replace(SYMMETRIC.rear, damper=0.0)
        )
    )
