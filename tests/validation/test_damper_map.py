"""The damper map against the closed forms of the quarter car.

Source: variance of tyre load on a road of white velocity and the damping at which it is least, derived from
A P + P A' + W B B' = 0 (the project's reference values, sections 2.3 to 2.5); such formulas are published in
Gobbi & Mastinu, J. Sound and Vibration 245 (2001) 457-481 (abstract seen). A symmetric car whose wheels all
meet the same road is four quarter cars.
"""

import numpy as np
import pytest
from numpy.testing import assert_allclose
from scipy.integrate import quad

from fourpatch.analysis.damper_map import best_damping, damper_map, valley
from fourpatch.events.motion import RigMotion, half_steps, steady_inputs
from fourpatch.events.phase import Phase
from fourpatch.physics.layout import I
from fourpatch.track.road import RoadClass, rough_road

SPRUNG, UNSPRUNG, SPRING, TYRE, DAMPING = 300.0, 40.0, 30e3, 200e3, 2000.0
BEST = 2375.02140  # for least tyre load [N s/m]
SPEED, LENGTH, SETTLING = 30.0, 600.0, 5.0  # [m/s], [m], [s]
LONGEST, SHORTEST = 60.0, 0.3  # [m]


class SameRoadUnderAllWheels:
    """One period of a class A road, the same under every wheel at once, after some seconds of itself."""

    kind = "same-road"

    def motion(self, car, step):
        road = rough_road(
            roughness=RoadClass.A,
            length=LENGTH,
            spacing=0.05,
            seed=11,
            track_width=1.5,
            longest_wavelength=LONGEST,
            shortest_wavelength=SHORTEST,
        )
        time = half_steps(SETTLING + LENGTH / SPEED, step)
        lines = np.fft.rfft(road.left[:-1])
        points = round(2.0 * LENGTH / SPEED / step)
        place = np.arange(time.size) % points
        omega = 2.0 * np.pi * np.arange(lines.size) * SPEED / LENGTH
        inputs = np.tile(steady_inputs(car, speed=SPEED), (time.size, 1))
        scale = points / (road.left.size - 1)
        for slot, spectrum in ((I.road, lines), (I.road_speed, 1j * omega * lines)):
            inputs[:, slot : slot + 4] = (np.fft.irfft(spectrum, points) * scale)[place, None]
        phases = (Phase("settling", 0.0, SETTLING), Phase("road", SETTLING, float(time[-1]) + step))
        return RigMotion(name="class A road", step=step, inputs=inputs, store_every=2, phases=phases)


@pytest.fixture(scope="module")
def found(car_with, straight_damper):
    axle = {
        "unsprung_mass": UNSPRUNG,
        "spring.rate": SPRING,
        "damper": straight_damper(DAMPING),
        "tyre.vertical_rate": TYRE,
    }
    total = 4.0 * (SPRUNG + UNSPRUNG)
    car = car_with(
        {
            "chassis.mass": total,
            "chassis.pitch_inertia": 4.0 * SPRUNG * 1.3**2,
            **{f"{end}.{name}": value for end in ("front", "rear") for name, value in axle.items()},
        }
    )
    # Varying the front alone couples the axles through the body; with I_yy = m a b a wheel feels its own end
    # only.
    return damper_map(car, SameRoadUnderAllWheels(), axle="front", size=9)


def variation(damping):
    """RMS tyre load over mean load between the road's longest and shortest wave."""

    def density(f):
        s = 2j * np.pi * f
        link = SPRING + damping * s
        matrix = [[SPRUNG * s**2 + link, -link], [-link, UNSPRUNG * s**2 + link + TYRE]]
        load = TYRE * (1.0 - np.linalg.solve(matrix, [0.0, TYRE])[1])
        about_slow_mean = 1.0 - 0.5 ** (0.5 * (f / 0.5) ** 2)  # Gaussian mean, 3 dB down at 0.5 Hz
        return abs(load * about_slow_mean) ** 2 * 16e-6 * (f / SPEED / 0.1) ** -2 / SPEED

    ends = SPEED / LONGEST, SPEED / SHORTEST
    return np.sqrt(quad(density, *ends, points=[1.5, 12.0], limit=400)[0]) / ((SPRUNG + UNSPRUNG) * 9.81)


def test_along_equal_bump_and_rebound_it_is_the_closed_form(found):
    factors = found.bump.values
    expected = [variation(factor * DAMPING) for factor in factors]
    # Lines stand for cells of the spectrum, the first of them 10 from the end of the band: 0.25 % of its
    # share; the slow mean of a stretch of 20 s sees it mirrored at its ends: one wave in some 40.
    assert_allclose(np.diagonal(found.load_variation), expected, rtol=0.005)


def test_it_is_least_at_the_closed_forms_damping_and_nearly_equal_sides(found):
    best = best_damping(found, "load_variation")
    step = found.bump.values[1] / found.bump.values[0]
    # Points lie 32 % apart: half a step of either side moves their mean by up to 16 %.
    assert_allclose(0.5 * (best.bump + best.rebound), BEST / DAMPING, rtol=0.16)
    assert 1.0 / step <= best.rebound / best.bump * (1.0 + 1e-9) <= step * (1.0 + 1e-8)
    assert not best.at_edge


def test_the_valley_keeps_the_total_damping(found):
    """To first order a damper's two sides count alike: along the valley bump + rebound stays near 2 c."""
    best = best_damping(found, "load_variation")
    near = np.abs(np.log(found.bump.values / best.bump)) < np.log(1.4)
    total = (found.bump.values + valley(found, "load_variation"))[near] / (2.0 * best.bump)
    # The map's points lie 32 % apart, so half a step, 15 %, of one side.
    assert_allclose(total, 1.0, atol=0.16)
