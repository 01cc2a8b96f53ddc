"""No base set-up may swing round, or be slower, where the one it began from is not: the drive is asked."""

import numpy as np
import pytest

from fourpatch.advice import base_borne
from fourpatch.advice.base_borne import borne
from fourpatch.advice.base_lap import Laps
from fourpatch.advice.occasion import Occasion, generic_occasion
from fourpatch.advice.turns_held import TurnCheck, half_back
from fourpatch.car.car import Car
from fourpatch.car.demo import demo_car
from fourpatch.car.setup import Setup, apply_setup, baseline_setup
from fourpatch.events.drive import made_ready
from fourpatch.events.drive_start import drive_instant
from fourpatch.events.steady_circle import steady_turn
from fourpatch.physics.layout import N_DRIVE, X

BY_THE_RIG = {
    "front camber shims": 0.0,
    "rear camber shims": 0.0,
    "front ride height": 52.0,
    "front spring": 140.0,
    "rear spring": 230.0,
    "front bar": 2.0,
    "rear bar": 7.0,
    "dive planes": -1.0,
}
"""What the search on the rig made of the GT for a neutral balance, dampers and packers apart."""


@pytest.fixture(scope="module")
def asked() -> tuple[Car, Setup, Setup, Occasion, TurnCheck]:
    car = demo_car("gt")
    given = baseline_setup(car)
    found = given.model_copy(update={"values": {**given.values, **BY_THE_RIG}})
    occasion = generic_occasion(car)
    return car, given, found, occasion, TurnCheck(car, given, occasion)


def swings_round(car: Car, *, radius: float, lateral_acceleration: float) -> bool:
    """Say whether a nudge of the yaw rate has grown after two seconds, steer and throttle held.

    The drive's own rates, stepped here by a fourth-order Runge-Kutta method; no eigenvalue is computed.
    """
    turn = steady_turn(car, radius=radius, lateral_acceleration=lateral_acceleration)
    ready = made_ready([car, car])
    hands = np.tile([turn.start.steer[0], 1.0, turn.start.throttle[0]], (2, 1))
    states = np.repeat(turn.start.states[:1], 2, axis=0)
    states[1, X.yaw_rate] += 1e-4
    speed = np.zeros(N_DRIVE)

    def rates(at: np.ndarray) -> np.ndarray:
        found = drive_instant(ready.parameters, at, ready.engines, hands).rates[:, 0].copy()
        # The car's speed is held, as a driver's foot would: what is asked is whether it turns in.
        found[:, X.forward_velocity] = speed[X.forward_velocity]
        return found

    step, count = 5e-4, 4000
    apart = []
    for _ in range(count):
        one = rates(states)
        two = rates(states + 0.5 * step * one)
        three = rates(states + 0.5 * step * two)
        four = rates(states + step * three)
        states = states + step / 6.0 * (one + 2.0 * two + 2.0 * three + four)
        apart.append(abs(states[1, X.yaw_rate] - states[0, X.yaw_rate]))
    return bool(apart[-1] > apart[count // 2])


def test_what_the_rig_found_swings_round_in_the_fast_corner(
    asked: tuple[Car, Setup, Setup, Occasion, TurnCheck],
) -> None:
    _, given, found, _, check = asked
    assert check.bears(given)
    assert not check.bears(found)


def test_it_goes_back_as_far_as_the_drive_asks_and_no_further(
    asked: tuple[Car, Setup, Setup, Occasion, TurnCheck],
) -> None:
    car, given, found, occasion, check = asked
    back = check.brought_back(found, given, car.adjusters)
    assert back.values != given.values
    for one in car.adjusters:
        ends = sorted((given.position(one), found.position(one)))
        assert ends[0] <= back.position(one) <= ends[1]
    corner = occasion.corners["fast corner"]
    asked_for = {"radius": corner.radius, "lateral_acceleration": corner.speed**2 / corner.radius}
    assert swings_round(apply_setup(car, found), **asked_for)
    assert not swings_round(apply_setup(car, back), **asked_for)


def test_by_halves_every_adjuster_comes_home() -> None:
    car = demo_car("gt")
    given = baseline_setup(car)
    setup = given.model_copy(update={"values": {**given.values, **BY_THE_RIG}})
    for _ in range(8):
        setup = half_back(setup, given, car.adjusters)
        apply_setup(car, setup)  # refuses what is off a step
    assert setup.values == given.values


class Slow:
    """A course on which whatever differs from the given set-up is slower, or refuses."""

    name = "course"

    def __init__(self, found: float | None) -> None:
        self._found = found
        self.driven = 0

    def beside(self, car: Car) -> Laps:
        self.driven += 1
        return Laps(course="course", given=60.0, found=self._found, uncertainty=0.2)

    def unchanged(self) -> Laps:
        return Laps(course="course", given=60.0, found=60.0, uncertainty=0.2)


@pytest.mark.parametrize("lap", [60.3, None], ids=["slower", "refused"])
def test_what_is_slower_or_refuses_its_lap_is_not_shown(
    asked: tuple[Car, Setup, Setup, Occasion, TurnCheck],
    monkeypatch: pytest.MonkeyPatch,
    lap: float | None,
) -> None:
    car, given, _, occasion, check = asked
    found = given.model_copy(update={"values": {**given.values, "front rebound, low speed": 12.0}})
    course = Slow(lap)
    monkeypatch.setattr(base_borne, "_course", lambda *_: (course, ""))
    setup, word = borne(car, given, found, occasion, check)
    assert setup.values == given.values
    assert word.given_back
    assert word.slower
    assert word.put_back == ("front rebound, low speed",)
    assert word.laps == course.unchanged()
    assert course.driven >= 1


def test_what_is_as_quick_as_can_be_told_stays(
    asked: tuple[Car, Setup, Setup, Occasion, TurnCheck], monkeypatch: pytest.MonkeyPatch
) -> None:
    car, given, _, occasion, check = asked
    found = given.model_copy(update={"values": {**given.values, "front rebound, low speed": 12.0}})
    monkeypatch.setattr(base_borne, "_course", lambda *_: (Slow(60.19), ""))
    setup, word = borne(car, given, found, occasion, check)
    assert setup == found
    assert not word.put_back
    assert not word.slower
