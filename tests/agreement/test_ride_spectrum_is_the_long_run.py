"""The linear car times the road's spectrum, against long runs of the same car in time and a closed form."""

from collections.abc import Callable, Mapping
from typing import Any

import numpy as np
import pytest
from numpy.testing import assert_allclose
from numpy.typing import NDArray
from scipy.integrate import quad
from scipy.stats import norm

from fourpatch.analysis.body_vibration import vertical_weighting
from fourpatch.analysis.contact_patch_load import contact_patch_load, gain_about_slow_mean
from fourpatch.analysis.linear_model import linearise
from fourpatch.analysis.ride_spectrum import (
    NUMBERS,
    RoadSpectrum,
    answer_spectrum,
    equivalent_slopes,
    measured_spectrum,
    ride_numbers,
    ride_spectrum,
)
from fourpatch.car.car import Car
from fourpatch.car.demo import demo_car
from fourpatch.car.pack import pack
from fourpatch.events.rough_road import RoughRoad
from fourpatch.events.run import run_rig, stacked
from fourpatch.physics.layout import CORNER_BASE, N_INPUT, C
from fourpatch.track.contact_filter import tyre_path

Array = NDArray[np.float64]
CarWith = Callable[[Mapping[str, Any]], Car]

DURATION = 110.0


@pytest.fixture(scope="module")
def linear_car(car_with: CarWith) -> Car:
    """Unlike at its ends, with bars and tyre damping: still linear."""
    return car_with(
        {
            "chassis.front_weight_share": 0.56,
            "front.bar": {"rate": 30e3},
            "front.spring.rate": 40e3,
            "rear.unsprung_mass": 42.0,
            "rear.track_width": 1.5,
            "front.tyre.vertical_damping": 150.0,
        }
    )


def relative_scatter(density: Array, frequency: Array) -> float:
    """Standard deviation of a mean square over DURATION, over itself: sqrt(int S^2 / T) / int S, Gaussian."""
    return float(np.sqrt(np.trapezoid(density**2, frequency) / DURATION) / np.trapezoid(density, frequency))


@pytest.mark.parametrize("speed", [20.0, 45.0])
def test_numbers_are_those_of_a_long_run(speed: float, linear_car: Car) -> None:
    event = RoughRoad(road_class="A", speed=speed, duration=DURATION, seed=5)
    spectrum = ride_spectrum(linear_car, event)
    vectors, motion = stacked([pack(linear_car)]), event.motion(linear_car, 1e-3)
    run = contact_patch_load(
        vectors, run_rig(vectors, motion), motion, ["one"], since=motion.phases[1].start
    ).isel(setup=0)
    found, frequency = ride_numbers(spectrum), spectrum.frequency.values
    density = {
        "load_variation": spectrum.tyre_load.values[:, 0] * gain_about_slow_mean(frequency) ** 2,
        "body_acceleration_rms": spectrum.heave_acceleration.values,
        "body_acceleration_felt": spectrum.heave_acceleration.values
        * np.abs(vertical_weighting(frequency)) ** 2,
        "front_height_rms": spectrum.front_ride_height.values,
        "rear_height_rms": spectrum.rear_ride_height.values,
    }
    for name, values in density.items():
        # Three standard deviations of a root, half those of its mean square; and what the linear model
        # leaves out of the road: the first line stands for a cell of its spectrum (0.1 %), wheels bridge
        # hollows (0.2 %).
        room = 1.5 * relative_scatter(values, frequency) + 3e-3
        assert room < 0.1
        assert_allclose(run[name], found[name], rtol=room, err_msg=name)
    # What is left of the mean is a body wave in 110 s.
    assert_allclose(run.mean_load, found.mean_load, rtol=2e-3)
    assert set(NUMBERS) == set(map(str, found.data_vars)) == {*density, "mean_load"}


def test_spectrum_is_that_of_the_run_band_by_band(linear_car: Car) -> None:
    event = RoughRoad(road_class="A", speed=30.0, duration=DURATION, seed=2)
    spectrum = ride_spectrum(linear_car, event)
    vectors, motion = stacked([pack(linear_car)]), event.motion(linear_car, 1e-3)
    measured = measured_spectrum(run_rig(vectors, motion), motion, since=motion.phases[1].start)
    for low, high in ((1.5, 3.0), (3.0, 6.0), (6.0, 10.0), (10.0, 16.0), (16.0, 25.0)):
        inside = [(one.frequency >= low) & (one.frequency <= high) for one in (measured, spectrum)]
        for corner in ("FL", "RR"):
            ours, model = (
                np.trapezoid(one.tyre_load.sel(corner=corner).where(part, drop=True), one.frequency[part])
                for one, part in zip((measured, spectrum), inside, strict=True)
            )
            # A band of width b over T holds b T independent squares: three deviations of 1 / sqrt(b T), 9 to
            # 23 %, and the half hertz that a line of the measured spectrum reaches beyond its band.
            assert_allclose(ours, model, rtol=3.0 / np.sqrt((high - low) * DURATION) + 0.03)


def test_a_quarter_car_has_its_closed_form(car_with: CarWith) -> None:
    """Four quarter cars under one body, both tracks alike: heave and pitch alone, so every wheel is a
    quarter car.

    Textbook two-mass equations, solved here; parameters of tests/validation/test_quarter_car.py.
    """
    sprung, wheel, spring, tyre, damping = 300.0, 40.0, 30e3, 200e3, 2000.0
    side = {"low_speed": damping, "knee_speed": 1.0, "high_speed": damping}
    axle = {
        "unsprung_mass": wheel,
        "geometry.roll_centre_height": {"value": 0.5},
        "spring.rate": spring,
        "damper": {"kind": "two-slope", "bump": side, "rebound": side},
        "tyre.vertical_rate": tyre,
    }
    total = 4.0 * (sprung + wheel)
    car = car_with(
        {
            "chassis.mass": total,
            "chassis.cg_height": (4.0 * sprung * 0.5 + 4.0 * wheel * 0.3) / total,
            "chassis.roll_inertia": 4.0 * sprung * 0.75**2,
            "chassis.pitch_inertia": 4.0 * sprung * 1.3**2,
            **{f"{end}.{name}": value for end in ("front", "rear") for name, value in axle.items()},
        }
    )
    model = linearise(pack(car), np.zeros(N_INPUT))
    road = RoadSpectrum(roughness=64e-6, speed=30.0, track_width=1e-9, contact_lengths=np.full(4, 1e-9))
    frequency = road.frequencies(4000)
    spectra = answer_spectrum(model, road, frequency)

    def density(f: float, what: str) -> float:
        s = 2j * np.pi * f
        link = spring + damping * s
        matrix = [[sprung * s**2 + link, -link], [-link, wheel * s**2 + link + tyre]]
        body, hub = np.linalg.solve(matrix, [0.0, tyre])
        answer = {"tyre_load": tyre * (1.0 - hub), "damper_speed": s * (hub - body)}[what]
        return float(abs(answer) ** 2 * 64e-6 * (f / 30.0 / 0.1) ** -2 / 30.0)

    for what in ("tyre_load", "damper_speed"):
        found = np.trapezoid(spectra[:, model.rows_of(what)], frequency, axis=0)
        expected = quad(density, frequency[0], frequency[-1], (what,), limit=400, points=[1.5, 12.0])[0]
        # Trapezia between 4000 frequencies, whose wheelbase waves do not show at a wheel: second order, 1e-5.
        assert_allclose(found, expected, rtol=1e-4)


@pytest.mark.parametrize("wavelength", [0.3, 0.5, 1.0])
def test_tyres_average_waves_as_the_road_under_the_rig_does(wavelength: float, linear_car: Car) -> None:
    tyre, spacing = linear_car.front.tyre, 0.0025
    model = linearise(pack(linear_car), np.zeros(N_INPUT))
    frequency = np.array([30.0 / wavelength])
    loads = []
    for length in (tyre.contact_length, 1e-9):
        road = RoadSpectrum(roughness=1e-6, speed=30.0, track_width=1.5, contact_lengths=np.full(4, length))
        loads.append(answer_spectrum(model, road, frequency)[0, model.rows_of("tyre_load")])
    distance = np.arange(0.0, 8.0, spacing)
    wave = 1e-6 * np.sin(2.0 * np.pi * distance / wavelength)
    path = tyre_path(wave, spacing, contact_length=tyre.contact_length, tyre_radius=tyre.radius)
    inside = (distance > 1.0) & (distance < 7.0)  # whole waves, away from the ends
    # On waves of a micrometre no wheel bridges anything; straight pieces of 2.5 mm cut 3e-4 of the shortest.
    assert_allclose(np.sqrt(loads[0] / loads[1]), path[inside].std() / wave[inside].std(), rtol=2e-3)


def test_equivalent_slope_is_the_least_squares_line() -> None:
    vector = pack(demo_car("gt"))
    block = vector[CORNER_BASE:]
    sizes = np.linspace(-8.0, 8.0, 400_001)
    weight = norm.pdf(sizes)
    for rms in (0.01, 0.08, 0.3):
        speed = rms * sizes
        force = np.zeros_like(speed)
        for sign, slope, knots in (
            (1.0, C.bump_slope, C.bump_knots),
            (-1.0, C.rebound_slope, C.rebound_knots),
        ):
            one_way = np.maximum(sign * speed, 0.0)
            force += sign * block[slope] * one_way
            for knot in range(6):
                past = np.maximum(one_way - block[knots + knot], 0.0)
                force += sign * past * block[knots + 6 + knot]
        expected = np.sum(weight * speed * force) / np.sum(weight * speed**2)
        friction = block[C.damper_friction] * speed / np.sqrt(speed**2 + 2.5e-5)
        expected += np.sum(weight * speed * friction) / np.sum(weight * speed**2)
        # Sums over 4e5 speeds; the kinks cost their second order: 1e-6.
        assert_allclose(equivalent_slopes(vector, np.full(4, rms))[0], expected, rtol=1e-5)


@pytest.mark.parametrize("name", ["hatchback", "single-seater"])
def test_a_curved_car_on_a_smooth_road_is_near_its_own_line(name: str) -> None:
    """Real damper curves, rebound above bump, friction: the nearest line keeps the load variation."""
    car, event = demo_car(name), RoughRoad(road_class="A", duration=40.0)
    vectors, motion = stacked([pack(car)]), event.motion(car, 1e-3)
    run = contact_patch_load(
        vectors, run_rig(vectors, motion), motion, ["one"], since=motion.phases[1].start
    ).isel(setup=0)
    # 40 s scatter by 2 %; the rest of 4 % is room for what a line leaves out, measured here as under 2 %.
    assert_allclose(ride_numbers(ride_spectrum(car, event)).load_variation, run.load_variation, rtol=0.04)
