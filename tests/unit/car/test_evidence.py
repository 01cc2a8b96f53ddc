"""Evidence in a car's file: read, refused, written, taken back, all else as it was typed."""

import re
from pathlib import Path

import pytest

from fourpatch.car.car import Car
from fourpatch.car.checks import car_faults
from fourpatch.car.demo import demo_car
from fourpatch.car.evidence import OBSERVABLES, Comparison, Item, Reading, Words, read_value
from fourpatch.car.evidence_editing import with_evidence, without_evidence
from fourpatch.car.files import load_car, save_car
from fourpatch.errors import CarError, FileError

ITEMS: list[Item] = [
    Reading(quantity="corner weight", place="FL", value="372 kg", spread="2 kg"),
    Words(text="loose on exit", nothing=True, setup={"front bar": 2.0}, note="Saturday"),
    Comparison(changes=["front bar=+1"], text="pushes on entry", outcome="no difference"),
]


@pytest.fixture
def car() -> Car:
    return demo_car("gt")


def test_a_car_with_evidence_reads_back_the_same(car: Car, tmp_path: Path) -> None:
    bar = car.adjusters[0].name
    items = [one.model_copy(update={"setup": {bar: car.adjusters[0].lowest}}) for one in ITEMS]
    observed = car.model_copy(update={"evidence": items})
    save_car(observed, tmp_path / "car.toml")
    assert load_car(tmp_path / "car.toml") == observed


def test_an_item_added_and_taken_back_leaves_the_file_as_typed(car: Car, tmp_path: Path) -> None:
    path = tmp_path / "car.toml"
    save_car(car, path)
    typed = "# my own remark\n" + path.read_text(encoding="utf-8")
    one = with_evidence(typed, ITEMS[0])
    two = with_evidence(one, ITEMS[2])
    assert one.startswith(typed.rstrip("\n"))
    path.write_text(two, encoding="utf-8")
    assert load_car(path).evidence == [ITEMS[0], ITEMS[2]]
    path.write_text(without_evidence(two, 1), encoding="utf-8")
    assert load_car(path).evidence == [ITEMS[2]]
    assert without_evidence(one, 1).rstrip() == typed.rstrip()


@pytest.mark.parametrize("number", [0, 2])
def test_what_is_not_there_cannot_be_taken_back(car: Car, tmp_path: Path, number: int) -> None:
    save_car(car.model_copy(update={"evidence": ITEMS[:1]}), tmp_path / "car.toml")
    text = (tmp_path / "car.toml").read_text(encoding="utf-8")
    with pytest.raises(CarError, match=f"no evidence {number} .*has 1 items"):
        without_evidence(text, number)


def test_a_reading_has_its_value_and_error_in_si() -> None:
    value, spread = read_value(Reading(quantity="top speed", value="216 km/h", spread="2 %"))
    assert value == pytest.approx(60.0)
    # Its own 2 % and the model's 1 %, of 60 m/s.
    assert spread == pytest.approx(60.0 * (0.02**2 + 0.01**2) ** 0.5)


@pytest.mark.parametrize(
    ("said", "text"),
    [
        ({"quantity": "colour", "value": "3"}, "It can be corner weight, total weight"),
        ({"quantity": "corner weight", "value": "300 kg"}, "Write one of FL, FR, RL, RR"),
        ({"quantity": "corner weight", "place": "FL", "value": "3 N/mm"}, "N/mm"),
        ({"quantity": "corner weight", "place": "FL", "value": "9000 kg"}, "20 to 3000 kg"),
        ({"quantity": "top speed", "place": "FL", "value": "200 km/h"}, "Leave place out"),
        ({"quantity": "top speed", "value": "200 km/h", "spread": "0 km/h"}, "above zero"),
        ({"quantity": "top speed", "value": "200 km/h", "spread": "red"}, 'spread is "red"'),
        ({"quantity": "top speed", "value": "200 km/h", "radius": 40.0}, "radius"),
        ({"quantity": "bend speed", "value": "80 km/h"}, "radius is due"),
    ],
)
def test_a_reading_that_cannot_be_meant_says_why(said: dict[str, object], text: str) -> None:
    with pytest.raises(ValueError, match=re.escape(text)):
        read_value(Reading.model_validate(said))


def test_a_faulty_item_is_refused_with_its_place_in_the_file(car: Car, tmp_path: Path) -> None:
    save_car(car, tmp_path / "car.toml")
    text = (tmp_path / "car.toml").read_text(encoding="utf-8")
    bad = with_evidence(text, Reading(quantity="top speed", value="20 kg"))
    bad = with_evidence(bad, Words(text="loose", setup={"nonsense": 1.0}))
    (tmp_path / "car.toml").write_text(bad, encoding="utf-8")
    with pytest.raises(FileError, match=r"(?s)20 kg.*nonsense.*is no adjuster of this car"):
        load_car(tmp_path / "car.toml")


def test_a_position_between_two_steps_is_a_fault(car: Car) -> None:
    one = car.adjusters[0]
    words = Words(text="loose", setup={one.name: one.lowest + 0.4 * one.step})
    faults = car_faults(car.model_copy(update={"evidence": [words]}))
    assert [fault.key for fault in faults] == [("evidence", 0, "setup", one.name)]


def test_every_number_that_can_be_read_has_a_range_and_a_meaning() -> None:
    for name, one in OBSERVABLES.items():
        assert one.meaning, name
        assert one.unit.low < one.unit.high, name
        assert one.spread > 0.0, name
