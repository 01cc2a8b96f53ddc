"""What to observe next: what tells most of a balance, and of what is known already nothing."""

import numpy as np
import pytest

from fourpatch.car.car import Car
from fourpatch.car.evidence import Reading, Words
from fourpatch.errors import AdviceError
from fourpatch.evidence import next_look
from fourpatch.evidence.believed import Believed, believed
from fourpatch.evidence.next_look import Look, next_looks
from fourpatch.picture.evidence_words import evidence_blocks
from fourpatch.picture.next_look_words import look_text

ABOUT = "loose on exit in fast corners"


def offered(monkeypatch: pytest.MonkeyPatch, found: Believed, *items: Words | Reading) -> dict[str, float]:
    monkeypatch.setattr(next_look, "_candidates", lambda car, about: iter(items))
    monkeypatch.setattr(next_look, "LEAST", -1.0)
    return {look_text(one.item): one.settles for one in next_looks(found, ABOUT).looks}


@pytest.fixture(scope="module")
def unknown(estimated: Car) -> Believed:
    return believed(estimated, first=128)


def test_words_on_the_balance_itself_settle_more_than_a_weight(
    unknown: Believed, monkeypatch: pytest.MonkeyPatch
) -> None:
    itself = Words(text=ABOUT)
    weight = Reading(quantity="corner weight", place="FL", value="300 kg")
    found = offered(monkeypatch, unknown, itself, weight)
    variance = next_looks(unknown, ABOUT).spread ** 2
    # Closed form of jointly normal numbers: V / (V + neutral^2 + e^2), neutral and words 4 each and a class
    # of 6 wide; 64 cars tell r^2 to about a tenth.
    expected = variance / (variance + 4.0**2 + 4.0**2 + 6.0**2 / 12.0)
    assert found[look_text(itself)] == pytest.approx(expected, abs=0.15)
    assert found[look_text(weight)] < 0.3


def test_what_was_said_already_settles_less(
    estimated: Car, unknown: Believed, monkeypatch: pytest.MonkeyPatch
) -> None:
    said = estimated.model_copy(update={"evidence": [Words(text=ABOUT), Words(text=f"a little {ABOUT}")]})
    before, after = (
        offered(monkeypatch, one, Words(text=ABOUT))[look_text(Words(text=ABOUT))]
        for one in (unknown, believed(said, first=128))
    )
    assert after < before - 0.1


def test_looks_are_sorted_and_the_same_for_a_seed(unknown: Believed, monkeypatch: pytest.MonkeyPatch) -> None:
    items = [
        Reading(quantity="top speed", value="200 km/h"),
        Words(text="pushes on exit in fast corners"),
        Words(text="pushes on entry in slow corners"),
    ]
    monkeypatch.setattr(next_look, "_candidates", lambda car, about: iter(items))
    one, same = (next_looks(unknown, ABOUT) for _ in range(2))
    assert one == same
    settles = [look.settles for look in one.looks]
    assert settles == sorted(settles, reverse=True)
    assert all(isinstance(look, Look) and 0.05 <= look.settles <= 1.0 for look in one.looks)
    assert one.tried == 3


def test_every_adjuster_and_every_reading_is_compared(unknown: Believed) -> None:
    items = list(next_look._candidates(unknown.car, ABOUT))
    assert sum(item.kind == "comparison" for item in items) == len(unknown.car.adjusters)
    assert sum(item.kind == "words" for item in items) == 9


def test_a_question_about_no_balance_is_refused(unknown: Believed) -> None:
    with pytest.raises(AdviceError, match="no line from which"):
        next_looks(unknown, "hops over bumps")


def test_what_cannot_be_told_apart_is_said(estimated: Car) -> None:
    found = believed(estimated.model_copy(update={"evidence": [Words(text=ABOUT)]}), first=128)
    said = str(evidence_blocks(found)[-1])
    assert "cannot tell" in said
    assert "tyre" in said
    # A ridge: along it the straight law does not move.
    slope = found.weighed.law.slope[0]
    first, second = np.argsort(-np.abs(slope))[:2]
    other = -slope[first] / slope[second]
    assert ("other higher" in said) == (other > 0.0)
