"""A car's evidence, from its file to the cars that are left."""

import numpy as np
import pytest

from fourpatch.analysis.statics import weights
from fourpatch.car.car import Car
from fourpatch.car.demo import demo_car
from fourpatch.car.evidence import Comparison, Item, Reading, Words
from fourpatch.car.gravity import GRAVITY
from fourpatch.car.pack import pack
from fourpatch.errors import AdviceError
from fourpatch.evidence.believed import Believed, believed, quantiles
from fourpatch.evidence.observed import observed


def with_items(car: Car, *items: Item) -> Car:
    return car.model_copy(update={"evidence": list(items)})


LEFT_HEAVY = (
    Reading(quantity="corner weight", place="FL", value="385 kg"),
    Reading(quantity="corner weight", place="FR", value="333 kg"),
)


@pytest.fixture(scope="module")
def left_heavy(estimated: Car) -> Believed:
    return believed(with_items(estimated, *LEFT_HEAVY), first=128)


def test_a_car_heavier_on_its_left_has_its_mass_to_the_left(left_heavy: Believed) -> None:
    lateral = next(one for one in left_heavy.narrowed if one.name == "chassis.cg_lateral_offset")
    assert lateral.moved > 1.0
    assert lateral.left < 0.7
    assert left_heavy.narrowed[0] is lateral


def test_cars_that_are_left_show_what_was_read(left_heavy: Believed) -> None:
    cars = [left_heavy.unknowns.base(one) for one in left_heavy.drawn(24)]
    loads = np.array([weights(pack(car)).corner_load for car in cars if car is not None]) / GRAVITY
    assert len(loads) == 24
    # 3 kg is said of a corner weight, 0.5 kg of the model; three of their standard errors over 24 cars, and
    # what the other two corners pull.
    assert loads[:, 0].mean() == pytest.approx(385.0, abs=4.0)
    assert loads[:, 1].mean() == pytest.approx(333.0, abs=4.0)


def test_a_driver_who_says_it_is_loose_changes_the_cars_mind(estimated: Car) -> None:
    said = believed(with_items(estimated, Words(text="loose on exit in fast corners")), first=128)
    taught = said.taught[0]
    assert taught.unit == "points"
    assert taught.after[0] > taught.before[0] + 5.0
    opposite = believed(with_items(estimated, Words(text="pushes badly on exit in fast corners")), first=128)
    # Each number is toward what its own words name.
    assert taught.after[0] > -opposite.taught[0].after[0] + 5.0


def test_taken_back_it_is_as_if_it_had_never_been_said(estimated: Car, left_heavy: Believed) -> None:
    more = with_items(estimated, *LEFT_HEAVY, Reading(quantity="top speed", value="200 km/h"))
    back = believed(more.model_copy(update={"evidence": more.evidence[:2]}), first=128)
    np.testing.assert_array_equal(back.weighed.weights, left_heavy.weighed.weights)


def test_a_change_that_nobody_feels_teaches_nothing(estimated: Car) -> None:
    one = Comparison(
        changes=["front bar=+1"], text="pushes on entry in slow corners", outcome="no difference"
    )
    found = believed(with_items(estimated, one), first=128)
    assert found.narrowed == ()
    assert found.effective > 0.9 * 128


def test_a_number_that_no_such_car_has_is_held_against_the_item(estimated: Car) -> None:
    scales = [
        Reading(quantity="total weight", value="1900 kg", spread="1 kg"),
        Reading(quantity="front weight", value="45 %"),
    ]
    found = believed(with_items(estimated, *scales), first=128)
    assert found.weighed.wider > 5.0
    assert max(abs(one.beyond) for one in found.taught) > 2.0


def test_the_same_seed_draws_the_same_cars(left_heavy: Believed) -> None:
    np.testing.assert_array_equal(left_heavy.drawn(10, seed=4), left_heavy.drawn(10, seed=4))
    one = left_heavy.plausible(3, seed=4)
    assert one == left_heavy.plausible(3, seed=4)
    assert one[0].scores.keys() == left_heavy.unknowns.groups.keys()


def test_a_car_that_states_no_spread_says_what_to_do() -> None:
    with pytest.raises(AdviceError, match=r"how far it may be off.*spread = \"5 %\""):
        believed(with_items(demo_car("gt"), *LEFT_HEAVY))


@pytest.mark.parametrize(
    ("item", "text"),
    [
        (Words(text="hops over bumps"), "no line from which on a driver feels it"),
        (Words(text="loose on exit and pushes on entry"), "says several things"),
        (Words(text="loose on exit in corner 3", track="nowhere"), "track nowhere is not at hand"),
        (Words(text="loose over kerbs"), "not of kerbs and bumps"),
        (Comparison(changes=["wing=+1"], text="loose on exit", outcome="worse"), "is not an adjuster"),
        (Words(text="purple"), "does not say"),
    ],
)
def test_what_has_no_number_is_refused_with_its_place(estimated: Car, item: Item, text: str) -> None:
    with pytest.raises(AdviceError, match=f"(?s)evidence 1: .*{text}"):
        believed(with_items(estimated, item), first=16)


def test_every_number_that_can_be_read_can_be_computed(estimated: Car) -> None:
    from fourpatch.car.evidence import OBSERVABLES
    from fourpatch.evidence.unknowns import Unknowns

    unknowns = Unknowns.of(estimated)
    scores = np.zeros((1, len(unknowns.names)))
    for name, kind in OBSERVABLES.items():
        for place in kind.places or ("",):
            radius = {"radius": 40.0} if name == "bend speed" else {}
            middle = kind.unit.show(0.5 * (kind.unit.low + kind.unit.high))
            item = Reading(quantity=name, place=place, value=middle, **radius)
            number = observed(estimated, item, {}).numbers(unknowns, scores, [unknowns.base(scores[0])])
            assert kind.unit.low < number[0] < kind.unit.high, name


def test_quantiles_of_equal_weights_are_those_of_numpy() -> None:
    numbers = np.random.default_rng(2).standard_normal(201)
    found = quantiles(numbers, np.full(201, 1.0 / 201.0), (0.1, 0.5, 0.9))
    # Hazen's definition is the same: middles of the steps.
    expected = np.quantile(numbers, [0.1, 0.5, 0.9], method="hazen")
    np.testing.assert_allclose(found, expected, rtol=1e-9)
