"""A car's numbers changed in the text of its file."""

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from fourpatch.car.car import Car
from fourpatch.car.editing import GENERAL, edited_car, edited_text
from fourpatch.car.paths import parameter, parameters
from fourpatch.car.provenance import origin
from fourpatch.errors import FieldsError
from fourpatch.notebook.kinds import CAR, Written, demo_texts

DEMOS = demo_texts("car")
CARS = [CAR.read(written, CAR.name) for written in DEMOS]


def demo(name: str) -> tuple[Written, Car]:
    return next((w, car) for w, car in zip(DEMOS, CARS, strict=True) if car.name == name)


def read(text: str) -> Car:
    return CAR.read(Written(text=text), CAR.name)


def test_only_the_line_of_the_number_changes_and_where_it_came_from_is_said() -> None:
    written, car = demo("Demo GT")
    text = edited_text(written.text, car, edited_car(car, {"chassis.mass": "1335 kg"}))
    old, new = written.text.splitlines(), text.splitlines()
    assert [line for line in new if line not in old] == [
        'mass = "1335 kg"',
        '"chassis.mass" = {source = "given"}',
    ]
    assert [line for line in old if line not in new] == ['mass = "1320 kg"']
    assert "# with driver, without fuel" in text
    assert origin(read(text), "chassis.mass").source == "given"
    assert origin(read(text), "chassis.wheelbase").source == "demo"


def test_an_adjuster_that_gives_the_value_stands_where_it_gives_it() -> None:
    written, car = demo("Demo GT")
    edited = edited_car(car, {"front.tyre.pressure": "1.9 bar"})
    (one,) = (a for a in edited.adjusters if "front.tyre.pressure" in a.targets)
    assert one.baseline == 1.9
    assert read(edited_text(written.text, car, edited)) == edited


@settings(max_examples=60, deadline=None, suppress_health_check=[HealthCheck.too_slow])
@given(
    place=st.integers(0, len(CARS) - 1),
    chosen=st.lists(st.integers(0, 10_000), min_size=1, max_size=4, unique=True),
    factor=st.sampled_from([0.9, 0.99, 1.01, 1.1]),
)
def test_whatever_can_be_is_read_back_and_nothing_else_differs(
    place: int, chosen: list[int], factor: float
) -> None:
    written, car = DEMOS[place], CARS[place]
    known = list(parameters(car))
    wanted = {found.path: found for found in (known[number % len(known)] for number in chosen)}
    texts = {path: found.unit.show(found.value * factor or 1e-3) for path, found in wanted.items()}
    faults: dict[str, str] = {}
    try:
        edited = edited_car(car, texts)
    except FieldsError as error:
        faults = error.fields
    if faults:
        assert set(faults) <= {*texts, GENERAL}
        return
    assert read(edited_text(written.text, car, edited)) == edited
    untouched = {found.path: found.value for found in known if found.path not in texts}
    assert untouched == {path: parameter(edited, path).value for path in untouched}


@pytest.mark.parametrize(
    ("path", "text", "said"),
    [
        ("chassis.mass", "1335", "without a unit"),
        ("chassis.mass", "7 bananas", "not a unit known here"),
        ("chassis.mass", "7 kg", "outside 50 to 5000 kg"),
        ("chassis.mass", "nan kg", "not a number"),
        ("fuel.distance_behind_front_axle", "5000 mm", "off the car"),
        ("front.spring.rate", "175 N/mm", 'adjuster "front spring", whose steps give 130 N/mm to 230 N/mm'),
        ("driveline.engine_speed.2", "1 rpm", "must rise from point to point"),
        ("front.springs.rate", "175 N/mm", "Did you mean front.spring.rate"),
    ],
)
def test_what_cannot_be_is_said_of_its_field(path: str, text: str, said: str) -> None:
    _, car = demo("Demo GT")
    with pytest.raises(FieldsError) as refused:
        edited_car(car, {path: text})
    assert list(refused.value.fields) == [path]
    assert said in refused.value.fields[path]


def test_what_two_fields_together_cannot_be_is_said_of_both() -> None:
    _, car = demo("Demo single-seater")
    wanted = {"front.heave.gap": "3 mm", "front.heave.preload": "100 N"}
    with pytest.raises(FieldsError, match="carries no preload") as refused:
        edited_car(car, wanted)
    assert set(refused.value.fields) == set(wanted)
