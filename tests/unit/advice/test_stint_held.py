"""What holds the balance over a stint, and how sure a stint is."""

import numpy as np
import pytest
from numpy.testing import assert_allclose

from fourpatch.advice.stint_draws import stint_spread, unknown_over_laps
from fourpatch.advice.stint_held import WORTH_A_WORD, holding, parts_of_drift
from fourpatch.analysis.stint import Conditions, Stint, run_stint, stint_line
from fourpatch.car.demo import demo_car
from fourpatch.car.paths import replace_parameters
from fourpatch.car.setup import baseline_setup
from fourpatch.face.named import track_by_name

FRONT_GOES = {
    "front.tyre.stint.life": 15e6,
    "front.tyre.stint.friction_loss_worn": 0.09,
    "rear.tyre.stint.friction_loss_worn": 0.0,
}
"""A car whose front tyres go off."""


@pytest.fixture(scope="module")
def stint() -> Stint:
    car = replace_parameters(demo_car("gt"), FRONT_GOES)
    line = stint_line(car, track_by_name("chicanes"))
    return run_stint(car, line, Conditions(laps=16, air=293.15, start=293.15, pace=0.9))


def test_front_tyres_that_go_off_push(stint: Stint) -> None:
    assert stint.drift > WORTH_A_WORD
    parts = parts_of_drift(stint)
    assert parts.wear > WORTH_A_WORD
    assert max(parts) == parts.wear


def test_what_holds_it_brings_the_end_back(stint: Stint) -> None:
    found = holding(stint.car, baseline_setup(stint.car), stint)
    assert found
    for one in found:
        assert one.after != one.before
        assert abs(one.last_balance - stint.warm.alike.balance) <= 0.5 * abs(stint.drift)
        # A change acts on warm and on worn tyres alike: toward oversteer, here.
        assert one.warm_balance < stint.warm.alike.balance
    times = [one.stint.total_time for one in found]
    assert times == sorted(times)


def test_what_is_ours_has_our_spread_and_what_is_measured_has_none() -> None:
    car = replace_parameters(demo_car("gt"), {"front.tyre.stint.life": 61e6})
    groups = unknown_over_laps(car)
    assert "front.tyre.stint.life" not in groups
    [one] = groups["rear.tyre.stint.life"]
    # Stated: half of 70 MJ.
    assert_allclose(one.size, 35e6, rtol=1e-12)


def test_the_same_seed_asks_the_same_cars(stint: Stint) -> None:
    one, same = stint_spread(stint, count=2), stint_spread(stint, count=2)
    assert one is not None
    assert same is not None
    assert_allclose(one.drift, same.drift, rtol=1e-12)
    assert np.ptp(one.worn[:, 0]) > 0.0
    assert stint_spread(stint, count=0) is None
