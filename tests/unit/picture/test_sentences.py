"""Sentences of the advice over all demo cars: no minus before nothing, no one of many, nothing twice."""

import re
from collections.abc import Iterator
from itertools import cycle

import pytest

from fourpatch.advice.base_setup import base_setup
from fourpatch.advice.because import reasons
from fourpatch.advice.complaint_text import read_complaint
from fourpatch.advice.cure import cure
from fourpatch.advice.drive_check import drive_check
from fourpatch.advice.rules.check import check_rules
from fourpatch.advice.trial_plan import session_plan
from fourpatch.car.car import Car
from fourpatch.car.demo import demo_car, demo_names
from fourpatch.car.scale_words import standing_at
from fourpatch.car.setup import apply_setup, baseline_setup, step
from fourpatch.picture.base_first import first_of_base
from fourpatch.picture.base_words import base_meaning, because_text, targets_text
from fourpatch.picture.cure_first import first_of_cure
from fourpatch.picture.cure_words import (
    changes_text,
    drive_cells,
    drive_notes,
    drive_where,
    lap_text,
    lever_name,
    lever_notes,
    limits_text,
    measured_text,
    outcome,
)
from fourpatch.picture.first_change_words import first_change, question_text, sized_text, what_then
from fourpatch.picture.rules_first import first_of_rules
from fourpatch.picture.rules_words import on_what, rule_row, why_in_short
from fourpatch.picture.trial_plan_words import plan_sections

COMPLAINTS = (
    "pushes on entry in slow corners",
    "loose at mid-corner",
    "thrown off kerbs",
    "hops over bumps",
    "bottoms on the straight",
    "slow to answer",
    "locks rears under braking",
    "pushes",
    "pushes mid, loose on exit",
)

COUNTED = "point|click|position|hole|ramp|shim|packer|turn|lap|step|set|grade|compound"

WRONG = {
    "a sign before nothing": r"(?<![\w.])[-+−]0(\.0+)?(?![\w.])",
    "one of many": rf"(?<![\w.,-])1 ({COUNTED})s\b",
    "many of one": rf"(?<![\w.,-])([2-9]|\d+\.\d+|[1-9]\d+) ({COUNTED})\b",
    "the same instead of the same": r"([\d.]+) (N|%)[^.]{0,20} instead of \1 \2",
    "towards, with a sign": r"by [-+−][\d.]+ points towards",
    "a word twice": r"\b(\w+) \1\b",
    "a space before a stop": r" [.,;:](\s|$)",
}


def refuse(texts: Iterator[str]) -> None:
    """Fail with the first text that reads wrongly, and why."""
    said = 0
    for text in texts:
        said += 1
        for fault, pattern in WRONG.items():
            found = re.search(pattern, text)
            assert not found, f"{fault}: “{found.group()}” in: {text}"
    assert said


@pytest.mark.parametrize(
    ("fault", "text"),
    [
        ("a sign before nothing", "moves by -0.00 points"),
        ("a sign before nothing", "Lap: +0.00 s."),
        ("one of many", "1 points more"),
        ("many of one", "set to 4 position"),
        ("the same instead of the same", "uses 69.7 % instead of 69.7 % of its grip"),
        ("towards, with a sign", "moves by -0.79 points towards oversteer"),
        ("a word twice", "RMS RMS"),
    ],
)
def test_what_is_wrong_is_found(fault: str, text: str) -> None:
    assert re.search(WRONG[fault], text)


@pytest.mark.parametrize(
    "text", ["-0.05 deg", "0 packers", "+0.01 points", "from 0.1 to 0.35", "11 points", "1.1 points"]
)
def test_what_is_right_is_let_through(text: str) -> None:
    assert not [fault for fault, pattern in WRONG.items() if re.search(pattern, text)]


def of_cure(car: Car, text: str) -> Iterator[str]:
    setup = baseline_setup(car)
    found = cure(car, setup, read_complaint(text).complaints)
    yield from (measured_text(found, place) for place in range(len(found.targets)))
    yield from (lever_name(found, one) for one in found.levers)
    yield from lever_notes(found)
    yield from limits_text(found)
    yield from (sized_text(found, place) for place in range(len(found.targets)))
    yield from first_change(found)
    yield from what_then(found)
    yield question_text(found)
    for one in found.sets:
        yield changes_text(found, one)
        yield from outcome(found, one)
        yield from (reason.sentence for reason in reasons(car, setup, found, one))
    changed = [apply_setup(car, one.setup) for one in found.sets]
    drive = drive_check(apply_setup(car, setup), changed, found.targets, found.course, found.driven)
    yield from (cell for one in drive for cell in drive_cells(one))
    yield from drive_where(found)
    yield from drive_notes(drive, [f"Set {k}" for k in range(1, 1 + len(changed))])
    first = first_of_cure(found, drive=drive, complete=True)
    assert first is not None
    yield from (first.sentence, first.because)


@pytest.mark.parametrize(("text", "name"), list(zip(COMPLAINTS, cycle(demo_names()), strict=False)))
def test_sentences_of_a_cure(text: str, name: str) -> None:
    refuse(of_cure(demo_car(name), text))


@pytest.mark.parametrize("name", demo_names())
def test_sentences_of_the_rules(name: str) -> None:
    car = demo_car(name)
    checked = check_rules(car, baseline_setup(car))
    first = first_of_rules(checked)
    refuse(iter((first.sentence, first.because)))
    refuse(
        text
        for one in checked
        for text in (*rule_row(one), on_what(one), one.why.sentence, why_in_short(one))
    )


@pytest.mark.parametrize("name", demo_names())
def test_sentences_of_a_base_setup(name: str) -> None:
    car = demo_car(name)
    few = car.model_copy(update={"adjusters": car.adjusters[1::5]})
    found = base_setup(few, baseline_setup(few))
    refuse(
        text
        for text in (
            targets_text(found),
            base_meaning(found),
            first_of_base(found).sentence,
            first_of_base(found).because,
            *(because_text(one) for one in found.values),
            *(standing_at(one.position, one.adjuster.unit) for one in found.values),
        )
    )


@pytest.mark.parametrize("name", demo_names())
def test_sentences_of_a_test_plan(name: str) -> None:
    car = demo_car(name)
    setup = baseline_setup(car)
    for one in car.adjusters[::7]:
        changed = step(setup, one, 1) or step(setup, one, -1)
        assert changed
        for scatter in (0.05, 0.3):
            plan = session_plan(car, setup, changed, scatter=scatter)
            refuse(text for heading, said in plan_sections(plan) for text in (heading, *said))


def test_a_lap_that_stays_to_a_hundredth_has_no_sign() -> None:
    assert "the same to a hundredth" in lap_text(-0.004)
    assert "-0.01 s" in lap_text(-0.0051)
