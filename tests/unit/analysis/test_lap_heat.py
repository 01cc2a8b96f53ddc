"""Heat of brakes and tyres: what comes in goes out, and one stop heats by its energy."""

import numpy as np
import pytest
from numpy.testing import assert_allclose

from fourpatch.analysis.lap_heat import Lump, hardest_stop

DISC = Lump(capacity=4000.0, conductance=25.0)


def test_a_steady_power_leads_to_where_as_much_is_given_off() -> None:
    # Closed form: P = G T; exact but for rounding.
    assert_allclose(DISC.lap_rise(np.full(500, 10e3), 0.1), 10e3 / 25.0, rtol=1e-12)
    assert_allclose(DISC.steady_rise(10e3), 400.0, rtol=1e-15)


@pytest.mark.parametrize("seed", [1, 2, 3])
def test_over_a_lap_what_comes_in_goes_out(seed: int) -> None:
    random = np.random.default_rng(seed)
    power = np.where(random.random(900) < 0.2, 80e3 * random.random(900), 0.0)
    rise = DISC.lap_rise(power, 0.1)
    # After many laps a lap stores nothing: G times the mean rise is the mean power, but for rounding.
    assert_allclose(25.0 * rise.mean(), power.mean(), rtol=1e-11)


def test_a_lap_ends_as_it_began() -> None:
    power = np.zeros(700)
    power[100:130] = 60e3
    twice = DISC.lap_rise(np.tile(power, 2), 0.1)
    assert_allclose(twice[:700], twice[700:], rtol=1e-10)
    assert_allclose(twice[700:], DISC.lap_rise(power, 0.1), rtol=1e-10)


def test_a_stop_heats_by_its_energy_and_cools_by_its_time_constant() -> None:
    interval, tau = 0.05, DISC.time_constant
    power = np.zeros(round(30.0 * tau / interval))  # so long that nothing is left of the stop before
    power[10:50] = 100e3
    rise = DISC.lap_rise(power, interval)
    heat, duration = 100e3 * 40 * interval, 40 * interval
    # Q / (m c), less what is given off meanwhile: half of duration / tau, and no more.
    assert_allclose(rise[49], heat / 4000.0, rtol=0.51 * duration / tau)
    assert rise[49] < heat / 4000.0
    later = 49 + round(tau / interval)
    # e^-1 after one time constant, which is a whole number of intervals: exact but for rounding.
    assert_allclose(rise[later] / rise[49], np.exp(-1.0), rtol=1e-10)


def test_the_hardest_stop() -> None:
    power, braking = np.zeros((100, 4)), np.zeros(100, dtype=bool)
    for start, end, watts in ((0, 10, 500.0), (40, 60, 400.0), (95, 100, 900.0)):
        power[start:end] = watts * np.array([1.0, 1.0, 0.5, 0.25])
        braking[start:end] = True
    # 20 intervals of 0.1 s at 400 W are the most: 800 J.
    assert_allclose(hardest_stop(power, braking, 0.1), [800.0, 800.0, 400.0, 200.0], rtol=1e-12)
    assert_allclose(hardest_stop(power, np.zeros(100, dtype=bool), 0.1), 0.0)
