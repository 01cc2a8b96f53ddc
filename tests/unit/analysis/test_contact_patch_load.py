"""Contact-patch load over bumps, against cases whose answer is known."""

import dataclasses

import numpy as np
import pytest
from numpy.testing import assert_allclose

from fourpatch.analysis.contact_patch_load import contact_patch_load
from fourpatch.car.pack import pack, static_tyre_loads
from fourpatch.events.kerb_strike import KerbStrike
from fourpatch.events.motion import RigMotion, half_steps, steady_inputs
from fourpatch.events.phase import Phase
from fourpatch.events.rough_road import RoughRoad
from fourpatch.events.run import run_rig, stacked
from fourpatch.physics.grip import lagged_grip, peak_lateral
from fourpatch.physics.layout import CORNER_BASE, N_CORNER, N_OUTPUT, C, I, O, Y

DOWNFORCE = {"constant": 2.0, "f": -10.0, "ff": 40.0}
"""Lift area of an invented floor: 2 - 10 f + 40 f^2 with f the front height above its reference. [m^2]"""


def _measured(cars, motion):
    vectors = stacked([pack(car) for car in cars])
    names = [str(k) for k in range(len(cars))]
    return contact_patch_load(vectors, run_rig(vectors, motion), motion, names, since=motion.phases[1].start)


def _road(car, duration, height):
    time = half_steps(duration, 1e-3)
    inputs = np.tile(steady_inputs(car, speed=20.0), (time.size, 1))
    inputs[:, I.road : I.road + 4] = height(time)[:, None]
    inputs[:, I.road_speed : I.road_speed + 4] = np.gradient(height(time), time)[:, None]
    phases = (Phase("lead-in", 0.0, 4.0), Phase("road", 4.0, duration))
    return RigMotion(name="road", step=1e-3, inputs=inputs, store_every=1, phases=phases)


def test_flat_road_takes_nothing(full_car):
    found = _measured([full_car], _road(full_car, 6.0, lambda time: 0.0 * time))
    for name in ("load_variation", "grip_lost", "time_off_ground", "longest_flight", "body_acceleration_rms"):
        # Settled: rounding.
        assert_allclose(found[name], 0.0, atol=1e-7, err_msg=name)


def test_variation_over_a_sine_is_the_amplitude_of_the_transfer(car_with):
    """A car whose corners are alike is a quarter car: |F/z| = k_t |1 - Z_u/Z_r| at one frequency."""
    car = car_with({})
    omega, amplitude = 2.0 * np.pi * 6.0, 1e-3
    found = _measured([car], _road(car, 12.0, lambda time: amplitude * np.sin(omega * time)))
    sprung, wheel, spring, damping, tyre = 270.0, 30.0, 50e3, 3000.0, 250e3
    link = spring + 1j * omega * damping
    matrix = np.array([[link - sprung * omega**2, -link], [-link, link + tyre - wheel * omega**2]])
    transfer = tyre * abs(1.0 - np.linalg.solve(matrix, [0.0, tyre])[1])
    expected = transfer * amplitude / np.sqrt(2.0) / (300.0 * 9.81)
    # 48 whole waves; 4 s of settling leave e^-15; the slow mean takes 1e-4 of a 6 Hz wave.
    assert_allclose(found.load_variation, expected, rtol=1e-3)
    # Its grip is linear in a small load variation but for the lag, so nearly nothing is lost.
    assert np.all(np.abs(found.grip_lost) < 0.02)


def test_rougher_road_costs_more_grip(full_car):
    motions = [RoughRoad(road_class=name).motion(full_car, 1e-3) for name in "ABC"]
    lost = np.array([_measured([full_car], motion).grip_lost.values[0] for motion in motions])
    assert np.all(np.diff(lost, axis=0) > 0.0)
    assert np.all(lost > 0.0)


@pytest.mark.parametrize("side", ["left", "right", "both"])
def test_flight_and_share_of_time_agree(car_with, side):
    car = car_with({})
    motion = KerbStrike(side=side, height=0.08, length=0.8, speed=35.0).motion(car, 1e-3)
    found = _measured([car], motion)
    observed = motion.duration - motion.phases[1].start
    flying = {"left": ["FL", "RL"], "right": ["FR", "RR"], "both": ["FL", "FR", "RL", "RR"]}[side]
    for corner in flying:
        one = found.sel(corner=corner)
        assert 0.0 < one.longest_flight.item() <= one.time_off_ground.item() * observed + 1e-3
        assert one.least_load.item() == 0.0
        assert one.largest_load.item() > 1.2 * one.mean_load.item()
    assert found.body_throw.item() > 0.0


def test_time_off_the_ground_is_finer_than_the_stored_instants(car_with):
    """The same run stored every millisecond and every tenth of one: the ends of a flight lie in between."""
    car = car_with({})
    event = KerbStrike(height=0.08, length=0.8, speed=35.0)
    coarse, fine = event.motion(car, 1e-3), event.motion(car, 1e-4)
    fine = dataclasses.replace(fine, store_every=1)
    rough, exact = (_measured([car], motion) for motion in (coarse, fine))
    assert exact.longest_flight.max() > 0.02
    # Straight lines over 1 ms of a load that swings at 15 Hz miss a crossing by under (w dt)^2 / 8 of 1 ms;
    # the damping's kink at lift-off adds a part of an instant. A whole instant, 1 ms, is what it was before.
    assert_allclose(rough.longest_flight, exact.longest_flight, atol=0.2e-3)
    observed = coarse.duration - coarse.phases[1].start
    assert_allclose(rough.time_off_ground * observed, exact.time_off_ground * observed, atol=0.3e-3)


def test_what_bumps_leave_is_the_grip_at_the_mean_load_less_what_they_take(full_car):
    found = _measured([full_car], RoughRoad(road_class="C", duration=4.0).motion(full_car, 1e-3))
    at_mean = np.empty((1, 4))
    peak_lateral(pack(full_car)[None, :], np.ascontiguousarray(found.mean_load.values), at_mean)
    # The definitions: rounding.
    left = at_mean * (1.0 - found.grip_lost.values) / static_tyre_loads(full_car)
    assert_allclose(found.grip_left, left, rtol=1e-12)


def test_mean_load_is_the_static_load(car_with):
    car = car_with({})
    found = _measured([car], RoughRoad(duration=20.0).motion(car, 1e-3))
    # The wheel never leaves a class B road; what is left of the mean is one body wave in 20 s.
    assert_allclose(found.mean_load.values[0], static_tyre_loads(car), rtol=5e-3)


def test_lagged_grip_of_a_load_step(full_car):
    """Load lost takes grip at once; load that comes back brings it over the relaxation length."""
    vector = pack(full_car)[None, :]
    outputs = np.zeros((1, 3001, N_OUTPUT))
    load = np.full(3001, 4000.0)
    load[1000:2000] = 2000.0
    outputs[0, :, O.tyre_load] = load
    grip = np.empty((1, 3001, 4))
    lagged_grip(vector, outputs, np.full(3001, 20.0), 1e-4, grip)
    force = grip[0, :, 0]
    high, low = force[0], force[1500]
    assert_allclose(force[:1000], high, rtol=1e-12)
    assert_allclose(force[1000:2000], low, rtol=1e-12)
    assert force[2000] < low + 0.02 * (high - low)
    # Exponential with v / sigma(4 kN); implicit Euler at 0.1 ms of 15 ms: 0.7 % of the rise.
    rise = (force[2000:2600] - low) / (high - low)
    slope = -np.polyfit(np.arange(100, 500) * 1e-4, np.log1p(-rise[100:500]), 1)[0]
    from fourpatch.physics.layout import CORNER_BASE, TYRE_BASE, C
    from fourpatch.physics.tyre import cornering_stiffness

    static = vector[0, CORNER_BASE + C.tyre_rate] * vector[0, CORNER_BASE + C.tyre_static_deflection]
    ratio = cornering_stiffness(vector[0], TYRE_BASE, 0, 1, 4000.0, 0.0) / cornering_stiffness(
        vector[0], TYRE_BASE, 0, 1, static, 0.0
    )
    assert_allclose(slope, 20.0 / (0.3 * ratio), rtol=0.01)


def test_felt_acceleration_of_a_sine_is_its_factor_times_the_whole(car_with):
    car = car_with({})
    omega = 2.0 * np.pi * 8.0
    found = _measured([car], _road(car, 16.0, lambda time: 1e-3 * np.sin(omega * time)))
    # 8 Hz: 1.036 in the standard's table, half a digit; 4 s of settling.
    assert_allclose(found.body_acceleration_felt / found.body_acceleration_rms, 1.036, rtol=1e-3)


def test_moving_heights_cost_what_the_curvature_of_the_map_says(car_with):
    """Of a quadratic map the mean over motion differs from the value at the mean by q (1/2) A'' var(h)."""
    car = car_with({"aero.map.front_downforce": DOWNFORCE})
    omega = 2.0 * np.pi * 1.5
    found = _measured([car], _road(car, 16.0, lambda time: 4e-3 * np.sin(omega * time)))
    pressure = 0.5 * car.aero.air_density * 20.0**2
    # Mean of 40 (h - mean)^2 over whole waves and of nothing else; the map is quadratic: rounding, and 4 s of
    # settling.
    assert_allclose(
        found.front_downforce_lost_to_motion, -pressure * 40.0 * found.front_height_rms**2, rtol=1e-6
    )
    assert_allclose(found.rear_downforce, 0.0, atol=1e-9)


def test_downforce_lost_is_nothing_on_a_smooth_road(car_with):
    car = car_with({"aero.map.front_downforce": DOWNFORCE})
    found = _measured([car], _road(car, 6.0, lambda time: 0.0 * time))
    for axle in ("front", "rear"):
        # Settled: rounding of forces of some 400 N.
        assert_allclose(found[f"{axle}_downforce_lost"], 0.0, atol=1e-6)
        assert_allclose(found[f"{axle}_downforce_lost_to_motion"], 0.0, atol=1e-6)


def test_floor_strikes_and_stop_hits_are_counted(car_with):
    """Given heights and travels: the front floor dips below the road, the left wheels meet their stops."""
    car = car_with({f"{end}.bump_stop": {"gap": 0.02, "rate": 1e4} for end in ("front", "rear")})
    vectors, motion = stacked([pack(car)]), _road(car, 7.0, lambda time: 0.0 * time)
    history = run_rig(vectors, motion)
    time = np.arange(history.outputs.shape[1]) * 1e-3
    wave = np.sin(2.0 * np.pi * time)
    history.outputs[0, :, O.front_ride_height] = 0.05 + 0.06 * wave
    history.outputs[0, :, [O.travel, O.travel + 2]] = 0.05 * wave
    found = contact_patch_load(vectors, history, motion, ["given"], since=4.0)
    assert_allclose(found.front_floor_strikes, 3.0)
    assert_allclose(found.rear_floor_strikes, 0.0)
    assert_allclose(found.stop_hits.values[0], [3.0, 0.0, 3.0, 0.0])
    # 0.05 sin > 0.02 for 1/2 - arcsin(0.4) / pi of the time, to an instant either side of each crossing.
    share = 0.5 - np.arcsin(0.4) / np.pi
    assert_allclose(found.stop_contact.values[0], [share, 0.0, share, 0.0], atol=2e-3)


def test_flights_end_where_the_load_between_two_instants_would_cross_zero(full_car):
    """A settled car whose front right wheel is held up for a while: whole intervals and parts."""
    vectors, motion = stacked([pack(full_car)]), _road(full_car, 5.0, lambda time: 0.0 * time)
    history = run_rig(vectors, motion)
    load = history.outputs[0, -1, O.tyre_load + 1]
    lift = 3.0 * load / vectors[0, CORNER_BASE + N_CORNER + C.tyre_rate]  # would pull twice its load
    for first, last in ((4100, 4112), (4300, 4337), (4994, 5001)):
        history.states[0, first:last, Y.wheel + 1] += lift
    found = contact_patch_load(vectors, history, motion, ["given"], since=4.0).isel(setup=0)
    # Two thirds of the interval on either side; the last flight does not land. Settled: rounding.
    assert_allclose(found.longest_flight, [0.0, (36 + 4 / 3) * 1e-3, 0.0, 0.0], atol=1e-9)
    whole = (11 + 4 / 3) + (36 + 4 / 3) + (6 + 2 / 3)
    assert_allclose(found.time_off_ground, [0.0, whole / 1000, 0.0, 0.0], atol=1e-9)


def test_to_begin_in_a_state_counts_as_one_entry():
    from fourpatch.analysis.body_ride import entries

    inside = np.array([[1, 1, 0, 1, 0, 0, 1], [0, 0, 0, 0, 0, 0, 0]], dtype=bool)
    assert_allclose(entries(inside), [3, 0])
