"""Damper-speed histogram, on series whose shares are known."""

import numpy as np
import pytest
from numpy.testing import assert_allclose
from scipy import stats

from fourpatch.analysis.damper_speed import BIN_WIDTH, REACH, damper_speed
from fourpatch.car.pack import pack
from fourpatch.events.motion import RigMotion
from fourpatch.events.rough_road import RoughRoad
from fourpatch.events.run import empty_history, run_rig, stacked
from fourpatch.physics.layout import N_INPUT, O


def _found(speed, *, split=0.025, since=0.0):
    """Summary of given damper speeds (samples, 4), 1 ms apart."""
    history = empty_history(1, speed.shape[0])
    history.outputs[:] = 0.0
    history.outputs[0, :, O.damper_speed : O.damper_speed + 4] = speed
    motion = RigMotion(
        name="given", step=1e-3, inputs=np.zeros((2 * speed.shape[0] - 1, N_INPUT)), store_every=1
    )
    return damper_speed(history, motion, ["given"], since=since, split=split).isel(setup=0)


def test_a_sine_has_its_arcsine_shares():
    """Of A sin(w t) the share of time below s is 2/pi arcsin(s/A)."""
    time = np.arange(100_000) / 100_000
    sizes = np.array([0.05, 0.1, 0.2, 0.4])
    found = _found(sizes * np.sin(2.0 * np.pi * 50.0 * time)[:, None])
    low = np.arcsin(0.025 / sizes) / np.pi
    # 2000 instants a wave: each share is counted to a few instants in 1e5.
    assert_allclose(found.low_bump, low, atol=1e-3)
    assert_allclose(found.low_rebound, low, atol=1e-3)
    assert_allclose(found.high_bump, 0.5 - low, atol=1e-3)
    assert_allclose(found.high_rebound, 0.5 - low, atol=1e-3)
    assert_allclose(found.rms_speed, sizes / np.sqrt(2.0), rtol=1e-9)  # whole waves: rounding
    assert_allclose(found.mean_bump_speed, 2.0 * sizes / np.pi, rtol=1e-3)
    assert_allclose(found.mean_rebound_speed, 2.0 * sizes / np.pi, rtol=1e-3)
    assert_allclose(found.skew, 0.0, atol=1e-9)
    edges = (np.arange(-25, 26) * BIN_WIDTH)[:, None]
    expected = np.diff(np.arcsin(np.clip(edges / sizes, -1.0, 1.0)), axis=0) / np.pi
    assert_allclose(found.share.values.T, expected, atol=1e-3)


def test_summary_of_a_skewed_series_is_that_of_scipy():
    draws = np.random.default_rng(4).gamma(2.0, 0.05, (5000, 4)) - 0.1
    found = _found(draws)
    # The same sums in another order: rounding.
    assert_allclose(found.skew, stats.skew(draws), rtol=1e-12)
    assert_allclose(found.median_speed, np.median(draws, axis=0), rtol=1e-12)
    assert np.all(found["skew"] > 0.5)


def test_the_outermost_bins_hold_all_beyond_and_shares_add_up():
    speed = np.tile([-5.0, -0.3, 0.3, 5.0], (100, 1))
    found = _found(speed)
    assert_allclose(found.share.sum("damper_speed"), 1.0, rtol=1e-12)
    assert found.share.sel(corner="FL").values[0] == 1.0
    assert found.share.sel(corner="RR").values[-1] == 1.0
    assert_allclose(found.damper_speed.values[[0, -1]], [BIN_WIDTH / 2 - REACH, REACH - BIN_WIDTH / 2])


def test_lead_in_is_left_out_and_rest_is_low_speed_bump():
    speed = np.zeros((200, 4))
    speed[:100] = -1.0
    found = _found(speed, since=0.1)
    assert_allclose(found.low_bump, 1.0)
    assert_allclose(found["skew"], 0.0)


@pytest.mark.parametrize("split", [0.025, 0.05])
def test_four_shares_are_all_of_the_time_on_a_road(full_car, split):
    vectors = stacked([pack(full_car)])
    motion = RoughRoad(duration=4.0).motion(full_car, 1e-3)
    found = damper_speed(
        run_rig(vectors, motion), motion, ["one"], since=motion.phases[1].start, split=split
    ).isel(setup=0)
    total = found.low_bump + found.high_bump + found.low_rebound + found.high_rebound
    assert_allclose(total, 1.0, rtol=1e-12)
    assert_allclose(found.share.sum("damper_speed"), 1.0, rtol=1e-12)
    in_bump = found.share.values[:, found.damper_speed.values > 0.0].sum(axis=1)
    assert_allclose(in_bump, found.low_bump + found.high_bump, rtol=1e-12)
    # Stiffer in rebound, a damper returns more slowly and takes longer over it: less of the time is bump.
    assert np.all(found.low_bump + found.high_bump < 0.5)


def test_a_damper_of_equal_sides_on_random_bumps_is_gaussian(car_with):
    """A linear car on a Gaussian road: shares follow the error function of speed over RMS speed."""
    car = car_with({})
    vectors = stacked([pack(car)])
    motion = RoughRoad(road_class="A", duration=60.0).motion(car, 1e-3)
    found = damper_speed(run_rig(vectors, motion), motion, ["one"], since=motion.phases[1].start).isel(
        setup=0
    )
    expected = stats.norm.cdf(0.025 / found.rms_speed.values) - 0.5
    # 60 s of speeds that decorrelate in about 1/20 s hold some 1200 independent ones: binomial scatter of
    # 1.3 %, three deviations.
    assert_allclose(found.low_bump, expected, atol=0.04)
    assert_allclose(found.low_rebound, expected, atol=0.04)
    assert_allclose(found["skew"], 0.0, atol=3.0 * np.sqrt(6.0 / 1200.0))
