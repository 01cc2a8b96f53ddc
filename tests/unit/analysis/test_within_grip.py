"""A motion no car can drive is refused, one just beyond grip is said to be, and the remedy is one."""

import pytest

from fourpatch.analysis.axle_use import axle_use
from fourpatch.analysis.within_grip import most_within_grip, remedy, run_possible
from fourpatch.car.car import Car
from fourpatch.car.demo import demo_car
from fourpatch.car.pack import pack
from fourpatch.errors import EventError
from fourpatch.events.braking import Braking
from fourpatch.events.corner import Corner
from fourpatch.events.run import stable_step, stacked

KMH = 1.0 / 3.6


def peak_use(car: Car, event: Corner | Braking) -> float:
    parameters = stacked([pack(car)])
    motion = event.motion(car, stable_step(parameters))
    history = run_possible(car, event, motion, parameters)
    return float(axle_use(parameters, history.outputs).use.max())


@pytest.fixture(scope="module")
def hatchback() -> Car:
    return demo_car("hatchback")


def test_what_is_within_grip_needs_no_remedy(hatchback: Car) -> None:
    event = Corner(speed=80.0 * KMH, deceleration=5.0, acceleration=1.0)
    assert peak_use(hatchback, event) < 1.0
    assert most_within_grip(hatchback, event) == {}


@pytest.mark.parametrize(
    "event",
    [
        Corner(speed=100.0 * KMH),
        Corner(speed=100.0 * KMH, deceleration=13.0, acceleration=6.0),
        Braking(deceleration=13.0),
    ],
)
def test_with_the_remedy_the_car_can_do_it_and_hardly_more(hatchback: Car, event: Corner | Braking) -> None:
    assert peak_use(hatchback, event) > 1.0
    mended = event.model_copy(update=most_within_grip(hatchback, event))
    # Sought at 0.995; the end of the search is a part in two thousand of the setting, thrice that of the use.
    assert 0.98 < peak_use(hatchback, mended) <= 1.0


def test_the_slower_speed_is_near_what_grip_gives_in_a_circle(hatchback: Car) -> None:
    """v^2 / r = F / m with the tyres' peak forces F at rest: no less than load transfer takes away."""
    found = most_within_grip(hatchback, Corner(radius=60.0, speed=30.0, deceleration=2.0, acceleration=0.5))
    # Load transfer, camber and the front's share of the work cost a front-driven car 0 to 25 % of that force.
    assert 0.75 < found["speed"] ** 2 / 60.0 / 12.5 < 1.0


@pytest.mark.parametrize(
    ("name", "event", "said"),
    [
        ("gt", Corner(radius=20.0, speed=200.0 * KMH), "Slow to about"),
        ("hatchback", Braking(deceleration=50.0, hold=0.3), "Brake by about"),
        ("single-seater", Corner(radius=5.0, speed=110.0, deceleration=0.0), "Slow to about"),
    ],
)
def test_what_is_far_beyond_is_refused_before_it_is_run(
    name: str, event: Corner | Braking, said: str
) -> None:
    with pytest.raises(EventError, match=r"asks for .* at the most") as refusal:
        peak_use(demo_car(name), event)
    assert said in str(refusal.value)


def test_a_body_that_would_lie_down_is_refused(hatchback: Car) -> None:
    soft = hatchback.model_copy(
        update={
            end: axle.model_copy(
                update={
                    "spring": axle.spring.model_copy(update={"rate": 8e3}),
                    "bar": axle.bar.model_copy(update={"rate": 0.0}),
                    "bump_stop": axle.bump_stop.model_copy(update={"gap": 0.3}),
                    "droop_stop": axle.droop_stop.model_copy(update={"gap": 0.3}),
                }
            )
            for end, axle in (("front", hatchback.front), ("rear", hatchback.rear))
        }
    )
    with pytest.raises(EventError, match=r"would roll by \d+ deg, .* up to about 10 deg\. Slow to about"):
        peak_use(soft, Corner(speed=95.0 * KMH))


def test_the_remedy_in_words_is_rounded_to_what_is_possible() -> None:
    assert (
        remedy({"speed": 60.9 * KMH, "deceleration": 7.99})
        == "slow to about 60 km/h, brake by about 7.9 m/s²"
    )
