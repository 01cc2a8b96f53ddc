"""Evidence typed in seconds, listed with what it taught, taken back."""

import json
from pathlib import Path

import pytest
from click.testing import CliRunner, Result

from fourpatch.car.car import Car
from fourpatch.car.estimate import CarBrief, estimate_car
from fourpatch.car.files import load_car, save_car
from fourpatch.cli.root import root


@pytest.fixture(scope="module")
def estimated() -> Car:
    brief = CarBrief(
        name="Invented",
        mass=900.0,
        front_weight_share=0.48,
        wheelbase=2.4,
        driven="rear",
        power=150e3,
        front_tyre="205/50R16",
        rear_tyre="225/45R17",
        grip="semi-slick",
        body="sports",
    )
    return estimate_car(brief)


@pytest.fixture
def file(estimated: Car, tmp_path: Path) -> str:
    save_car(estimated, tmp_path / "my_car.toml")
    return str(tmp_path / "my_car.toml")


def fourpatch(*words: str) -> Result:
    return CliRunner().invoke(root, list(words))


def test_kept_listed_and_taken_back(file: str) -> None:
    for words in (
        ("reading", file, "RL corner weight", "250"),
        ("words", file, "a little loose on exit in slow corners", "--with", "front bar=+1"),
    ):
        kept = fourpatch("evidence", *words)
        assert kept.exit_code == 0, kept.stderr
        assert "Kept as evidence" in kept.stderr
    first, second = load_car(file).evidence
    assert (first.kind, getattr(first, "place", ""), getattr(first, "value", "")) == (
        "reading",
        "RL",
        "250 kg",
    )
    assert list(second.setup) == ["front bar"]
    told = json.loads(fourpatch("analyse", "evidence", file, "--json").stdout)
    weight, exit_balance = told["evidence"]
    assert weight["after"]["spread"]["value"] < 0.6 * weight["before"]["spread"]["value"]
    assert weight["after"]["middle"] == {"value": pytest.approx(250.0, abs=5.0), "unit": "kg"}
    assert exit_balance["after"]["middle"]["value"] < exit_balance["before"]["middle"]["value"] - 5.0
    assert told["cars"]["effective"]["value"] >= 24.0
    back = fourpatch("evidence", "take-back", file, "1")
    assert back.exit_code == 0, back.stderr
    assert "1 left" in back.stderr
    assert load_car(file).evidence == [second]


@pytest.mark.parametrize(
    ("words", "text"),
    [
        (("reading", "colour", "red"), "It can be corner weight"),
        (("reading", "top speed", "5 kg"), "km/h"),
        (("words", "hops over bumps"), "no line from which"),
        (("comparison", "loose on exit", "worse", "--change", "nonsense=+1"), "is not an adjuster"),
        (("words", "loose on exit", "--with", "front bar=99"), "front bar"),
    ],
)
def test_what_cannot_be_meant_is_refused_and_nothing_is_written(
    file: str, words: tuple[str, ...], text: str
) -> None:
    before = Path(file).read_text(encoding="utf-8")
    refused = fourpatch("evidence", words[0], file, *words[1:])
    assert refused.exit_code == 2
    assert text in refused.stderr
    assert Path(file).read_text(encoding="utf-8") == before


def test_a_demo_car_is_nobodys_to_write_in() -> None:
    refused = fourpatch("evidence", "words", "gt", "loose on exit")
    assert refused.exit_code == 2
    assert "export car gt" in refused.stderr


def test_without_evidence_it_is_said_how_to_begin(file: str) -> None:
    told = fourpatch("analyse", "evidence", file)
    assert told.exit_code == 0
    assert "fourpatch evidence words" in " ".join(told.stdout.split())


def test_a_cure_asks_the_cars_that_show_what_was_observed(file: str) -> None:
    complaint = ("advise", "cure", file, "loose on exit in slow corners", "--draws", "8", "--json")
    before = json.loads(fourpatch(*complaint).stdout)
    assert fourpatch("evidence", "reading", file, "top speed", "150 km/h").exit_code == 0
    after = json.loads(fourpatch(*complaint).stdout)
    assert before["levers"] == after["levers"] or before.keys() == after.keys()
    assert before != after
