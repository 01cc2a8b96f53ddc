"""Parameters by their dotted names."""

from collections.abc import Iterator
from typing import Any, get_args, get_origin

import pytest

from fourpatch.car import parameters as schema
from fourpatch.car.car import Car
from fourpatch.car.paths import parameter, parameters, replace_parameters
from fourpatch.document.meaning import meaning
from fourpatch.document.part import Part
from fourpatch.errors import CarError
from fourpatch.units import Unit

PARTS = [kind for kind in vars(schema).values() if isinstance(kind, type) and issubclass(kind, Part)]


def number_fields() -> Iterator[tuple[type[Part], str]]:
    """Yield every field of every part that is a number or holds numbers."""
    for kind in PARTS:
        for name, field in kind.model_fields.items():
            numbers = [a for a in get_args(field.annotation) if float in (a, *get_args(a))]
            if field.annotation is float or (get_origin(field.annotation) in (list, dict) and numbers):
                yield kind, name


@pytest.mark.parametrize(("kind", "name"), list(number_fields()))
def test_every_number_of_a_car_has_a_unit_a_range_and_a_sentence(kind: type[Part], name: str) -> None:
    field: Any = kind.model_fields[name]
    holders = [field, *(a for a in get_args(field.annotation) if hasattr(a, "__metadata__"))]
    found = [
        m
        for h in holders
        for m in getattr(h, "metadata", getattr(h, "__metadata__", ()))
        if isinstance(m, Unit)
    ]
    assert len(found) == 1
    assert found[0].low < found[0].high
    assert meaning(kind, name).endswith(".")


def test_all_numbers_are_found_by_name(saloon: Car) -> None:
    found = list(parameters(saloon))
    assert len({p.path for p in found}) == len(found) > 200
    for one in found:
        assert parameter(saloon, one.path) == one
    assert parameter(saloon, "front.spring.rate").value == 90e3
    assert parameter(saloon, "driveline.gear_ratios.1").value == 3.2
    assert parameter(saloon, "driveline.gear_ratios.6").value == 0.84
    assert parameter(saloon, "rear.damper.speed.2").value == 0.05


def test_numbers_go_with_their_unit_and_sentence(saloon: Car) -> None:
    rate = parameter(saloon, "front.spring.rate")
    assert (rate.unit.si, rate.unit.shown) == ("N/m", "N/mm")
    assert rate.meaning == "Force per spring travel."


@pytest.mark.parametrize(
    ("path", "says"),
    [
        ("front.spring.rat", "Did you mean front.spring.rate"),
        ("front.sprng.rate", "Did you mean front.spring.rate"),
        ("front.spring", "holds several numbers. Name one of them: front.spring.rate"),
        ("driveline.gear_ratios", "holds several numbers"),
        ("driveline.gear_ratios.0", "is not a parameter"),
        ("driveline.gear_ratios.7", "is not a parameter"),
        ("driveline.gear_ratios.first", "is not a parameter"),
        ("front.spring.rate.value", "is not a parameter"),
        ("name", "is not a parameter"),
        ("", "A name is like front.spring.rate"),
        ("front.damper.speed.1", 'front.damper.kind is "two-slope", which has no speed.1'),
    ],
)
def test_unknown_name_proposes_near_ones(saloon: Car, path: str, says: str) -> None:
    with pytest.raises(CarError) as error:
        parameter(saloon, path)
    assert f'"{path}"' in str(error.value)
    assert says in str(error.value)


def test_replacing_changes_that_number_and_no_other(saloon: Car) -> None:
    changes = {"front.spring.rate": 100e3, "driveline.gear_ratios.2": 2.0, "rear.damper.bump_force.1": 75.0}
    changed = replace_parameters(saloon, changes)
    for one in parameters(saloon):
        assert parameter(changed, one.path).value == changes.get(one.path, one.value)
    assert changed.adjusters == saloon.adjusters
    assert changed.provenance == saloon.provenance
    assert saloon.front.spring.rate == 90e3


def test_replacing_by_the_same_value_gives_an_equal_car(saloon: Car) -> None:
    assert replace_parameters(saloon, {p.path: p.value for p in parameters(saloon)}) == saloon


@pytest.mark.parametrize(
    ("path", "value", "says"),
    [
        ("front.spring.rate", 90e6, "front.spring.rate is 90000 N/mm, outside 1 to 2000 N/mm"),
        ("driveline.gear_ratios.2", 99.0, "driveline.gear_ratios.2 is 99, outside 0.2 to 10"),
        ("driveline.gear_ratios.2", 4.0, "gear_ratios must fall"),
        ("front.spring.rat", 1.0, "is not a parameter"),
    ],
)
def test_replaced_value_is_checked(saloon: Car, path: str, value: float, says: str) -> None:
    with pytest.raises(CarError) as error:
        replace_parameters(saloon, {path: value})
    assert says in str(error.value)
