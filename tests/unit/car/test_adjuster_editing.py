"""An adjuster of a car's file written anew, added and taken out; all else of the file stays."""

import pytest
import tomlkit

from fourpatch.car.adjuster_editing import adjuster_fields, with_adjuster, with_note, without_adjuster
from fourpatch.car.car import Car
from fourpatch.errors import FieldsError
from fourpatch.notebook.kinds import CAR, Written, demo_texts

DEMOS = demo_texts("car")


def read(text: str, like: Written) -> Car:
    return CAR.read(Written(text=text, beside=like.beside), CAR.name)


@pytest.fixture(params=range(len(DEMOS)))
def demo(request: pytest.FixtureRequest) -> tuple[Written, Car]:
    written = DEMOS[request.param]
    return written, CAR.read(written, CAR.name)


def test_every_adjuster_saved_as_it_is_changes_nothing(demo: tuple[Written, Car]) -> None:
    written, car = demo
    for place, one in enumerate(car.adjusters):
        assert with_adjuster(written.text, place, adjuster_fields(one)) == written.text, one.name


def test_one_line_changes_with_a_range(demo: tuple[Written, Car]) -> None:
    written, car = demo
    place, one = next((k, a) for k, a in enumerate(car.adjusters) if a.map.kind == "direct")
    wider = f"{one.highest + one.step:.10g}"
    text = with_adjuster(written.text, place, adjuster_fields(one) | {"highest": wider})
    old, new = written.text.splitlines(), text.splitlines()
    assert len(old) == len(new)
    assert sum(a != b for a, b in zip(old, new, strict=True)) == 1
    assert read(text, written).adjusters[place].highest == pytest.approx(one.highest + one.step)


def test_an_adjuster_taken_out_and_added_again_is_the_same(demo: tuple[Written, Car]) -> None:
    written, car = demo
    plain = [(k, a) for k, a in enumerate(car.adjusters) if a.provenance is None]
    place, one = plain[0]
    without = without_adjuster(written.text, place)
    assert read(without, written).adjusters == [a for a in car.adjusters if a is not one]
    again = read(with_adjuster(without, None, adjuster_fields(one)), written)
    assert again.adjusters[-1] == one


@pytest.mark.parametrize(
    ("fields", "field", "said"),
    [
        ({"lowest": "a few"}, "lowest", "is no number"),
        ({"highest": "-100"}, "highest", "is not above lowest"),
        ({"baseline": "1e5"}, "baseline", "is outside"),
        ({"targets": "front.sprng.rate"}, "targets", "front.spring"),
        ({"map.unit": "furlong"}, "map.unit", "furlong"),
        ({"map.kind": "unknown", "map.at_lowest": "1 bar", "map.at_highest": "2 bar"}, "spread", "unsure"),
    ],
)
def test_what_cannot_be_is_said_of_its_field(fields: dict[str, str], field: str, said: str) -> None:
    written = DEMOS[0]
    car = CAR.read(written, CAR.name)
    place, one = next((k, a) for k, a in enumerate(car.adjusters) if a.map.kind == "direct")
    with pytest.raises(FieldsError) as refused:
        with_adjuster(written.text, place, adjuster_fields(one) | fields)
    assert said in refused.value.fields[field], refused.value.fields


def test_a_note_is_written_and_taken_back(demo: tuple[Written, Car]) -> None:
    written, car = demo
    noted = with_note(written.text, 'Two "sets" of springs\nin the van')
    assert read(noted, written).note == 'Two "sets" of springs\nin the van'
    assert read(with_note(noted, car.note), written) == car


def test_a_note_of_a_file_without_one_stands_before_its_tables() -> None:
    written = DEMOS[0]
    document = tomlkit.parse(written.text)
    del document["note"]
    assert read(with_note(tomlkit.dumps(document), "mine"), written).note == "mine"


def test_what_is_left_out_of_a_form_stays(demo: tuple[Written, Car]) -> None:
    written, car = demo
    assert with_adjuster(written.text, 0, {}) == written.text
    said = with_adjuster(written.text, 0, {"more_means": "something else"})
    assert read(said, written).adjusters[0] == car.adjusters[0].model_copy(
        update={"more_means": "something else"}
    )


def test_a_new_one_of_nothing_and_one_that_is_not_there_are_refused(demo: tuple[Written, Car]) -> None:
    written, car = demo
    with pytest.raises(FieldsError) as refusal:
        with_adjuster(written.text, None, {})
    assert {"name", "targets", "map.kind"} <= set(refusal.value.fields)
    for place in (-1, len(car.adjusters)):
        with pytest.raises(FieldsError, match="has no adjuster"):
            with_adjuster(written.text, place, {"step": "1"})
