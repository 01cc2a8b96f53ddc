"""A corner in which the driver is turned: its shape, and what is measured against plain sums."""

import numpy as np
import pytest

from fourpatch.advice.lessons.hands import (
    RADIUS,
    THROTTLE,
    TRAIL,
    TURN_IN,
    Run,
    bend,
    drive_hands,
    driven_measures,
    measured_hands,
)
from fourpatch.events.driver_style import DriverStyle
from fourpatch.face.standing_car import car
from fourpatch.physics.layout import O, X

WAYS = [{TRAIL.name: 0.0}, {TRAIL.name: 100.0}, {THROTTLE.name: 2.5}]


@pytest.fixture(scope="module")
def runs() -> list[Run]:
    return drive_hands(car("gt").standing, WAYS)


@pytest.mark.parametrize("turn_in", TURN_IN.positions())
def test_every_turn_in_turns_by_a_right_angle(turn_in: float) -> None:
    # Curvature is linear piece by piece; a metre of spacing rounds its corners by 1 / (8 R) at most.
    assert bend(turn_in).line.heading[-1] == pytest.approx(0.5 * np.pi, abs=1.0 / (8.0 * RADIUS))


def _values(runs: list[Run], name: str) -> list[float]:
    place = [one.name for one in driven_measures()].index(f"driven corner.{name}")
    return [float(one) for one in measured_hands(runs)[:, place]]


def test_time_and_speed_are_those_of_the_way_driven(runs: list[Run]) -> None:
    for one, time, speed in zip(runs, _values(runs, "time"), _values(runs, "entry.speed"), strict=True):
        states = one.run.history.states[one.car]
        at, forward = states[:, X.distance], states[:, X.forward_velocity]
        begin, end = one.phases["entry"].begin - 200.0, one.phases["exit"].end + 100.0
        inside = (at >= begin) & (at <= end)
        # Sum of ds / v; the car drifts and stands askew by up to 0.06 rad, which is 0.2 % of the way.
        assert np.trapezoid(1.0 / forward[inside], at[inside]) == pytest.approx(time, rel=5e-3)
        assert speed == pytest.approx(forward[np.nanargmin(np.abs(at - begin - 200.0))], abs=0.2)


def test_in_the_middle_the_path_asks_for_the_grip_that_is_used(runs: list[Run]) -> None:
    """The force across both axles, over the mass, is v^2 / R of the arc."""
    one = runs[0]
    states, outputs = one.run.history.states[one.car], one.run.history.outputs[one.car]
    arc = one.phases["mid"]
    at = states[:, X.distance]
    inside = (at >= arc.begin + 10.0) & (at <= arc.end - 5.0)
    asked = states[inside, X.forward_velocity] ** 2 / RADIUS
    # The driver is off his line by half a metre of 60 m, and still gathers yaw at the arc's beginning.
    assert np.mean(outputs[inside, O.lateral_acceleration]) == pytest.approx(np.mean(asked), rel=0.03)


def test_habits_do_what_they_are_called(runs: list[Run]) -> None:
    none, all_of_it, slow = runs
    brakes = []
    for one in (none, all_of_it):
        at = one.run.history.states[one.car, :, X.distance]
        entry = one.phases["entry"]
        brakes.append(float(np.mean(one.run.hands[one.car, (at > entry.begin + 10.0) & (at < entry.end), 2])))
    assert brakes[1] > 2.0 * brakes[0]
    throttle = slow.run.hands[slow.car, :, 1]
    # From nothing to all in 2.5 s, at stored instants; a step more for rounding.
    assert np.nanmax(np.diff(throttle)) <= 1.01 * slow.run.interval / 2.5
    usual = all_of_it.run.hands[all_of_it.car, :, 1]
    assert np.nanmax(np.diff(usual)) <= 1.01 * all_of_it.run.interval * DriverStyle().throttle_rate
    assert _values(runs, "time")[1] < _values(runs, "time")[0]
