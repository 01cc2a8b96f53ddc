"""Where numbers came from, and how far they may be off."""

import math

import pytest
from pydantic import ValidationError

from fourpatch.car.car import Car
from fourpatch.car.provenance import (
    GIVEN,
    Provenance,
    of_other_axle,
    origin,
    provenance_faults,
    spread,
)


def test_closest_name_decides(saloon: Car) -> None:
    assert origin(saloon, "front.tyre.vertical_rate").source == "identified"
    assert origin(saloon, "front.tyre.radius").source == "estimated"
    assert origin(saloon, "front.tyre.grip.peak_friction").source == "estimated"
    assert origin(saloon, "front.spring.rate").source == "demo"
    assert origin(saloon, "chassis.mass").source == "given"


def test_without_any_entry_the_user_gave_it(saloon: Car) -> None:
    assert origin(saloon.model_copy(update={"provenance": {}}), "front.spring.rate") == GIVEN


def test_a_name_that_only_begins_alike_does_not_count(saloon: Car) -> None:
    car = saloon.model_copy(update={"provenance": {"front.tyre.radius_of": GIVEN, "fro": GIVEN, "car": DEMO}})
    assert origin(car, "front.tyre.radius").source == "demo"


DEMO = Provenance(source="demo")


def with_spread(car: Car, path: str, text: str) -> Car:
    """Return a car with the spread of one parameter said."""
    return car.model_copy(update={"provenance": {path: Provenance(source="given", spread=text)}})


@pytest.mark.parametrize(
    ("path", "text", "expected"),
    [
        ("chassis.mass", "10 %", 132.0),
        ("chassis.mass", "11 lb", 11 * 0.45359237),
        ("front.ride_height", "5 mm", 0.005),
        ("front.tyre.temperature", "9 degF", 5.0),  # a difference: no zero point
        ("front.tyre.temperature", "5 K", 5.0),
        ("chassis.front_weight_share", "10 %", 0.054),  # of the value
        ("chassis.front_weight_share", "0.02", 0.02),  # in points
        ("front.camber", "10 %", 0.25 * math.pi / 180),  # of its size, whatever its sign
        ("front.toe", "10 %", 0.0),
        ("front.camber", "0.5 deg", 0.5 * math.pi / 180),
    ],
)
def test_spread_is_of_the_value_or_in_its_unit(saloon: Car, path: str, text: str, expected: float) -> None:
    car = with_spread(saloon, path, text)
    assert provenance_faults(car) == []
    assert spread(car, path) == pytest.approx(expected, rel=1e-12)


def test_nothing_said_is_no_spread(saloon: Car) -> None:
    assert spread(saloon, "front.spring.rate") == 0.0


@pytest.mark.parametrize(
    ("path", "text", "says"),
    [
        ("chassis.mass", "5 mm", '"5 mm", which measures something else'),
        ("chassis.mass", "5", '"5", without a unit'),
        ("chassis.mass", "-5 kg", '"-5 kg", below zero'),
        ("chassis.mass", "-5 %", '"-5 %", outside 0 to 300 %'),
        ("chassis.mass", "a lot", '"a lot", not a number'),
        ("front.tyre", "5 mm", 'a share such as "20 %"'),
        ("car", "5 mm", 'a share such as "20 %"'),
    ],
)
def test_spread_that_does_not_fit_is_refused(saloon: Car, path: str, text: str, says: str) -> None:
    (fault,) = provenance_faults(with_spread(saloon, path, text))
    assert fault.key == ("provenance", path, "spread")
    assert says in fault.text


def test_unknown_name_is_refused(saloon: Car) -> None:
    (fault,) = provenance_faults(saloon.model_copy(update={"provenance": {"front.tire": GIVEN}}))
    assert fault.key == ("provenance", "front.tire")
    assert '"front.tire" is not a parameter of this car' in fault.text


@pytest.mark.parametrize(
    ("source", "missing"), [("estimated", "method and spread"), ("identified", "recording and spread")]
)
def test_what_was_not_given_says_how_it_was_found(source: str, missing: str) -> None:
    with pytest.raises(ValidationError, match=f'source = "{source}" without {missing}. Add'):
        Provenance(source=source)  # type: ignore[arg-type]


@pytest.mark.parametrize(
    ("entries", "said"),
    [
        ({"front.tyre": "90 %", "rear.tyre": "80 %"}, "Both axles must say the same"),
        ({"front.tyre": "90 %", "rear.tyre": ""}, "Both axles must say the same"),
        ({"chassis.mass": "90 %"}, "not of one axle"),
        ({"front.tyre": "120 %", "rear.tyre": "120 %"}, "0 to 100 %"),
        ({"front.tyre": "much", "rear.tyre": "much"}, "0 to 100 %"),
    ],
)
def test_what_is_alike_on_both_axles_is_checked(saloon: Car, entries: dict[str, str], said: str) -> None:
    written = {name: Provenance(source="given", spread="10 %", alike=text) for name, text in entries.items()}
    faults = provenance_faults(saloon.model_copy(update={"provenance": written}))
    assert any(said in one.text and one.key[-1] == "alike" for one in faults)


def test_a_tyre_that_was_measured_may_stand_beside_one_that_is_alike(saloon: Car) -> None:
    guessed = Provenance(source="given", spread="10 %", alike="90 %")
    assert provenance_faults(saloon.model_copy(update={"provenance": {"rear.tyre.radius": guessed}})) == []


@pytest.mark.parametrize(
    ("path", "other"),
    [
        ("front.tyre.radius", "rear.tyre.radius"),
        ("aero.map.rear_downforce.constant", "aero.map.front_downforce.constant"),
        ("chassis.mass", ""),
    ],
)
def test_the_same_number_of_the_other_axle(path: str, other: str) -> None:
    assert of_other_axle(path) == other
