"""A plan for the next session: what is changed, how many laps, what to watch."""

import pytest
from numpy.testing import assert_allclose

from fourpatch.advice.change_text import read_changes
from fourpatch.advice.laps_needed import laps_needed
from fourpatch.advice.trial_plan import SessionPlan, session_plan
from fourpatch.car.car import Car
from fourpatch.car.demo import demo_car
from fourpatch.car.setup import Setup, baseline_setup
from fourpatch.errors import FourpatchError
from fourpatch.track.demo import demo_track


@pytest.fixture(scope="module")
def car() -> Car:
    return demo_car("gt")


def plan(car: Car, *texts: str, scatter: float = 0.1) -> SessionPlan:
    setup = baseline_setup(car)
    return session_plan(car, setup, read_changes(car, setup, texts), scatter=scatter)


@pytest.mark.parametrize(
    ("text", "name", "position"),
    [
        ("front bar=+2", "front bar", 6.0),
        ("front bar=-1", "front bar", 3.0),
        ("front bar = 7", "front bar", 7.0),
        ("front toe=to -0.2", "front toe", -0.2),
        ("front rebound, low speed=+4", "front rebound, low speed", 13.0),
    ],
)
def test_changes_are_read(car: Car, text: str, name: str, position: float) -> None:
    assert read_changes(car, baseline_setup(car), [text]).values[name] == position


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("front bar", "must say an adjuster and a number"),
        ("front bra=+1", "Did you mean"),
        ("front bar=stiff", "is no number"),
        ("front bar=+1.5", "whole number of steps"),
        ("front bar=+9", "that many steps are not left"),
        ("front bar=12", "is outside 1 to 7"),
    ],
)
def test_what_cannot_be_read_is_refused(car: Car, text: str, said: str) -> None:
    with pytest.raises(FourpatchError, match=said):
        read_changes(car, baseline_setup(car), [text])


def test_a_change_of_nothing_is_refused(car: Car) -> None:
    setup: Setup = baseline_setup(car)
    with pytest.raises(FourpatchError, match="nothing to test"):
        session_plan(car, setup, setup, scatter=0.3)


def test_laps_follow_the_effect_and_are_driven_before_and_after(car: Car) -> None:
    found = plan(car, "rear bar=-3", scatter=0.05)
    assert found.laps == laps_needed(effect=found.effect, scatter=0.05)
    assert found.laps is not None
    assert found.before + found.back >= found.laps
    assert found.back >= 1


def test_a_stiffer_front_bar_is_watched_as_understeer_where_the_car_has_set(car: Car) -> None:
    found = plan(car, "front bar=+3")
    first = found.watched[0]
    assert first.phase == "mid"
    assert first.balance > 0.0


def test_a_rearward_bias_warns_of_the_brakes(car: Car) -> None:
    assert plan(car, "brake bias=62").rear_first
    assert not plan(car, "brake bias=75").rear_first


def test_with_a_track_the_quasi_steady_lap_counts(car: Car) -> None:
    setup = baseline_setup(car)
    lighter = read_changes(car, setup, ["fuel=-4"])
    found = session_plan(car, setup, lighter, scatter=0.2, track=demo_track("chicanes"))
    assert found.computed_by == "quasi-steady"
    assert found.steady_effect is not None
    assert found.steady_effect < 0.0  # 20 kg less
    assert_allclose(found.effect, found.steady_effect)
