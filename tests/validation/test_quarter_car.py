"""A car that falls apart into quarter cars, against the closed forms of the quarter car.

A symmetric car without bars, its inertias those of four point masses over its wheels (I_yy = m a b, I_xx = m
(t/2)^2), is a quarter car in heave, in pitch and in roll. (In warp, which a rigid body cannot follow, its
wheels move alone.)

Sources: m_s z'' and m_u z'' of two masses, solved apart from this project's code.

- Invariant points: derived from m_s z_s'' + m_u z_u'' = k_t (z_r - z_u); Hedrick & Butsuen, Proc. IMechE D
  204 (1990) (from memory).
- Variances on a road of white velocity: from A P + P A' + W B B' = 0 symbolically; such formulas are
  published in Gobbi & Mastinu, J. Sound and Vibration 245 (2001) 457-481 (abstract seen).
- Numbers of the worked example: scipy 1.17.1 `solve_continuous_lyapunov`, the closed forms agreeing to 9
  digits.
"""

from collections.abc import Callable, Mapping
from typing import Any

import numpy as np
import pytest
from numpy.testing import assert_allclose
from numpy.typing import NDArray
from scipy.integrate import quad
from scipy.linalg import solve_continuous_lyapunov

from fourpatch.analysis.frequency_response import RoadPattern, frequency_response
from fourpatch.analysis.linear_model import LinearModel, linearise
from fourpatch.analysis.modes import modes
from fourpatch.analysis.statics import damping, ride
from fourpatch.car.car import Car
from fourpatch.car.pack import pack
from fourpatch.events.motion import RigMotion
from fourpatch.events.run import run_rig
from fourpatch.physics.layout import N_INPUT, N_POSITION, I, O
from fourpatch.track.road import RoadClass, rough_road

Array = NDArray[np.float64]
CarWith = Callable[[Mapping[str, Any]], Car]
DamperOf = Callable[[float], dict[str, Any]]

SPRUNG, UNSPRUNG, SPRING, TYRE, DAMPING = 300.0, 40.0, 30e3, 200e3, 2000.0
SPEED, INTENSITY = 30.0, 3.78992809e-4  # class B, geometric mean [m/s], [m^2/s]
HALF_WHEELBASE, HALF_TRACK = 1.3, 0.75

PATTERNS: dict[RoadPattern, tuple[Array, str, float]] = {
    "in phase": (np.array([1.0, 1.0, 1.0, 1.0]), "heave_acceleration", 1.0),
    "left against right": (np.array([1.0, -1.0, 1.0, -1.0]), "roll_acceleration", HALF_TRACK),
    # Pitch is positive with the nose down.
    "front against rear": (np.array([1.0, 1.0, -1.0, -1.0]), "pitch_acceleration", -HALF_WHEELBASE),
}
"""Road under the wheels, and which acceleration times which arm is that of the body over FL."""


@pytest.fixture(scope="module")
def four_quarters(car_with: CarWith, straight_damper: DamperOf) -> Callable[..., Array]:
    """Pack four quarter cars under one body, with other spring or damping if asked."""

    def packed(*, spring: float = SPRING, slope: float = DAMPING) -> Array:
        axle = {
            "track_width": 2.0 * HALF_TRACK,
            "unsprung_mass": UNSPRUNG,
            # On a roll axis through the sprung centre of gravity its weight does not lean over.
            "geometry.roll_centre_height": {"value": 0.5},
            "spring.rate": spring,
            "damper": straight_damper(slope),
            "tyre.vertical_rate": TYRE,
        }
        sprung, total = 4.0 * SPRUNG, 4.0 * (SPRUNG + UNSPRUNG)
        return pack(
            car_with(
                {
                    "chassis.mass": total,
                    "chassis.cg_height": (sprung * 0.5 + 4.0 * UNSPRUNG * 0.3) / total,
                    "chassis.wheelbase": 2.0 * HALF_WHEELBASE,
                    "chassis.roll_inertia": sprung * HALF_TRACK**2,
                    "chassis.pitch_inertia": sprung * HALF_WHEELBASE**2,
                    **{f"{end}.{name}": value for end in ("front", "rear") for name, value in axle.items()},
                }
            )
        )

    return packed


def linear(vector: Array) -> LinearModel:
    return linearise(vector, np.zeros(N_INPUT))


# Modes


def test_eigenvalues(four_quarters: Callable[..., Array]) -> None:
    found = np.linalg.eigvals(linear(four_quarters()).A)
    upper = sorted((s for s in found if s.imag > 0.0), key=abs)
    # Half a unit of the last printed figure.
    assert_allclose(upper[:3], [-2.608882 + 9.179345j] * 3, rtol=0.0, atol=7.1e-7)
    wheels = sorted(upper[3:], key=lambda s: s.real)
    assert_allclose(wheels[:3], [-25.724451 + 69.489120j] * 3, rtol=0.0, atol=7.1e-7)
    # In warp the body stands still: m_u s^2 + c s + k_s + k_t = 0, rounding of the differences.
    alone = np.roots([UNSPRUNG, DAMPING, SPRING + TYRE])
    assert_allclose(wheels[3], alone[alone.imag > 0.0][0], rtol=1e-9)


def test_modes_by_name(four_quarters: Callable[..., Array]) -> None:
    found = {mode.name: mode for mode in modes(linear(four_quarters()))}
    for name in ("heave", "pitch", "roll"):
        # Half a unit of the last printed figure.
        assert_allclose(found[name].undamped_frequency, 1.482421, rtol=0.0, atol=5e-7)
        assert_allclose(found[name].damped_frequency, 9.179345 / (2.0 * np.pi), rtol=0.0, atol=8e-8)
        assert_allclose(found[name].damping_ratio, 0.273385, rtol=0.0, atol=5e-7)
        assert_allclose(found[name].decay_rate, 2.608882, rtol=0.0, atol=5e-7)
    hops = [mode for name, mode in found.items() if name.startswith(("front", "rear"))]
    frequencies = sorted(mode.undamped_frequency for mode in hops)
    assert_allclose(frequencies[1:], [12.082411] * 3, rtol=0.0, atol=5e-7)
    assert_allclose(frequencies[0], np.sqrt((SPRING + TYRE) / UNSPRUNG) / (2.0 * np.pi), rtol=1e-9)


def test_single_mass_frequencies_lie_as_near_as_stated(four_quarters: Callable[..., Array]) -> None:
    found = ride(four_quarters())
    # Against the coupled undamped modes, as the docstring of `ride` says; half a unit of its last figure.
    assert_allclose(found.ride_frequency.front / 1.482421 - 1.0, 0.0012, rtol=0.0, atol=5e-5)
    assert_allclose(found.wheel_hop_frequency.rear / 12.082411 - 1.0, -0.00115, rtol=0.0, atol=5e-6)
    # zeta = c / (2 sqrt(k_s m_s)), by hand.
    expected = DAMPING / (2.0 * np.sqrt(SPRING * SPRUNG))
    assert_allclose(damping(four_quarters(), damper_speed=0.0).mean_ratio, [expected] * 2, rtol=1e-12)


# Points no damper can move


def transmissibility(model: LinearModel, pattern: RoadPattern, frequency: float) -> tuple[float, float]:
    """|Z_s / Z_r| of the body over FL and |(Z_s - Z_u) / Z_r|."""
    _, name, arm = PATTERNS[pattern]
    found = frequency_response(model, np.array([frequency]), pattern=pattern)
    body = found[name].values[0] * arm / (2j * np.pi * frequency) ** 2
    return abs(complex(body)), abs(complex(found["travel"].values[0, 0]))


@pytest.mark.parametrize("pattern", PATTERNS)
@pytest.mark.parametrize(("spring", "slope"), [(30e3, 2000.0), (30e3, 500.0), (90e3, 6000.0)])
def test_points_no_spring_or_damper_moves(
    spring: float, slope: float, pattern: RoadPattern, four_quarters: Callable[..., Array]
) -> None:
    model = linear(four_quarters(spring=spring, slope=slope))
    body, _ = transmissibility(model, pattern, np.sqrt(TYRE / UNSPRUNG) / (2.0 * np.pi))
    _, travel = transmissibility(model, pattern, np.sqrt(TYRE / (SPRUNG + UNSPRUNG)) / (2.0 * np.pi))
    # Rounding of the differences.
    assert_allclose(body, UNSPRUNG / SPRUNG, rtol=1e-8)
    assert_allclose(travel, (SPRUNG + UNSPRUNG) / SPRUNG, rtol=1e-8)


@pytest.mark.parametrize("pattern", PATTERNS)
@pytest.mark.parametrize("slope", [300.0, 2000.0, 9000.0])
def test_points_no_damper_moves(
    slope: float, pattern: RoadPattern, four_quarters: Callable[..., Array]
) -> None:
    model = linear(four_quarters(slope=slope))
    # m_s m_u w^4 - (m_s k_t + 2 k_s (m_s + m_u)) w^2 + 2 k_s k_t = 0; printed 1.966936 and 12.878049 Hz.
    both = SPRUNG + UNSPRUNG
    roots = np.roots([SPRUNG * UNSPRUNG, -(SPRUNG * TYRE + 2.0 * SPRING * both), 2.0 * SPRING * TYRE])
    low, high = np.sqrt(sorted(roots)) / (2.0 * np.pi)
    assert_allclose([low, high], [1.966936, 12.878049], rtol=0.0, atol=5e-7)
    # Half a unit of the last printed figure.
    assert_allclose(transmissibility(model, pattern, low)[0], 1.350713, rtol=0.0, atol=5e-7)
    assert_allclose(transmissibility(model, pattern, high)[0], 0.0987133, rtol=0.0, atol=5e-8)


# Variances on a random road

WHITE = {
    "acceleration": 1.07905057,
    "travel": 5.67577209e-3,
    "damper_speed": 0.137657693,
    "tyre_load": 484.409926,
}
"""Standard deviations on white road velocity, of the worked example. [m/s^2], [m], [m/s], [N]"""


@pytest.mark.parametrize("pattern", PATTERNS)
def test_variances_on_white_road_velocity(pattern: RoadPattern, four_quarters: Callable[..., Array]) -> None:
    model = linear(four_quarters())
    signs, name, arm = PATTERNS[pattern]
    heights, rates = model.columns_of("road"), model.columns_of("road speed")
    # Road heights wander off for ever; the car is counted from where it would stand on the road as it is now,
    # q = Q z_r + e, so that only the road's velocity drives it: e' = q' - Q z_r'.
    follows = -np.linalg.solve(model.A[N_POSITION:, :N_POSITION], model.B[N_POSITION:, heights] @ signs)
    driven = np.concatenate([-follows, model.B[N_POSITION:, rates] @ signs])
    covariance = solve_continuous_lyapunov(model.A, -INTENSITY * np.outer(driven, driven))
    rows = {
        "acceleration": model.C[model.rows_of(name)[0]] * arm,
        "travel": model.C[model.rows_of("travel")[0]],
        "damper_speed": model.C[model.rows_of("damper_speed")[0]],
        "tyre_load": model.C[model.rows_of("tyre_load")[0]],
    }
    for what, row in rows.items():
        # Nine printed figures, and rounding of the differences.
        assert_allclose(np.sqrt(row @ covariance @ row), WHITE[what], rtol=2e-8)


def gain(what: str, omega: float) -> float:
    """|output / road velocity|^2 of the textbook's two masses."""
    s = 1j * omega
    suspension = SPRING + DAMPING * s
    matrix = [[SPRUNG * s**2 + suspension, -suspension], [-suspension, UNSPRUNG * s**2 + suspension + TYRE]]
    body, wheel = np.linalg.solve(matrix, [0.0, TYRE / s])
    answers = {
        "acceleration": s**2 * body,
        "travel": wheel - body,
        "damper_speed": s * (wheel - body),
        "tyre_load": TYRE * (1.0 / s - wheel),
    }
    return float(abs(answers[what]) ** 2)


def test_variances_of_the_engine_on_a_rough_road(four_quarters: Callable[..., Array]) -> None:
    # One period of a random road whose lines carry the variance of the class exactly, whatever the seed: a
    # linear car that has forgotten its start answers one whole period with an exact mean square, free of
    # sample scatter.
    length, step, longest, shortest = 300.0, 0.5e-3, 100.0, 0.2
    road = rough_road(
        roughness=RoadClass.B,
        length=length,
        spacing=0.05,
        seed=7,
        track_width=1.5,
        longest_wavelength=longest,
        shortest_wavelength=shortest,
    )
    period = round(length / SPEED / step)
    lines = np.fft.rfft(road.left[:-1]) / (road.left.size - 1)
    omega = 2.0 * np.pi * np.arange(lines.size) * SPEED / length
    height = np.fft.irfft(lines, 2 * period) * 2 * period
    rate = np.fft.irfft(1j * omega * lines, 2 * period) * 2 * period
    settling = round(6.0 / step)  # e^(-2.6 x 6) = 2e-7 of what the start stirs up is left
    place = np.arange(2 * (settling + period) + 1) % (2 * period)
    inputs = np.zeros((place.size, N_INPUT))
    inputs[:, I.road : I.road + 4] = height[place, None]
    inputs[:, I.road_speed : I.road_speed + 4] = rate[place, None]
    motion = RigMotion(name="class B road", step=step, inputs=inputs, store_every=1)
    outputs = run_rig(four_quarters()[None], motion, threads=1).outputs[0, settling + 1 :]
    assert outputs[:, O.tyre_load].min() > 0.0
    series = {
        "acceleration": outputs[:, O.heave_acceleration],
        "travel": outputs[:, O.travel],
        "damper_speed": outputs[:, O.damper_speed],
        "tyre_load": outputs[:, O.tyre_load],
    }
    power = 2.0 * np.abs(omega * lines) ** 2  # of the road's velocity, at each line [m^2/s^2]
    used = np.flatnonzero(power > 1e-12 * power.max())
    low, high = (2.0 * np.pi * SPEED / wave for wave in (longest, shortest))
    for what, values in series.items():
        square = sum(power[k] * gain(what, omega[k]) for k in used)
        # Runge-Kutta at 0.5 ms against the textbook's transfer function at the road's own lines: measured
        # 4e-8.
        assert_allclose(np.var(values, axis=0), square, rtol=1e-6)
        # White velocity has no ends: what the band leaves out is added. A line stands for its cell of the
        # spectrum; the first one, k = 3, is too strong by 1 / (4 k^2), 2.8 %, of its share of at most 3 %.
        left_out = quad(lambda w, what=what: gain(what, w), 1e-6, low)[0]
        left_out += quad(lambda w, what=what: gain(what, w), high, np.inf)[0]
        whole = square + INTENSITY / np.pi * left_out
        assert_allclose(whole, WHITE[what] ** 2, rtol=1e-3)
