"""Words of the first change: each behaviour has its own, and too far is the opposite as it is read."""

from typing import get_args

import pytest

from fourpatch.advice.complaint import OPPOSED, Behaviour, Complaint, PhaseName
from fourpatch.advice.complaint_text import read_complaint
from fourpatch.picture.first_change_words import LOOK_FOR, TOO_MUCH, look_for, still, too_far

OPPOSITE = {one: other for pair in OPPOSED for one, other in (pair, pair[::-1])}


@pytest.mark.parametrize("behaviour", get_args(Behaviour))
def test_what_it_still_does_is_read_as_the_complaint(behaviour: Behaviour) -> None:
    (read,) = read_complaint(still(Complaint(behaviour=behaviour))).complaints
    assert read.behaviour == behaviour


@pytest.mark.parametrize("behaviour", OPPOSITE)
@pytest.mark.parametrize("phase", ["", "mid", "exit"])
def test_too_far_is_read_as_the_opposite_in_the_same_place(behaviour: Behaviour, phase: PhaseName) -> None:
    if behaviour not in ("understeer", "oversteer"):
        phase = ""
    complaint = Complaint(behaviour=behaviour, phase=phase)
    (read,) = read_complaint(too_far(complaint)).complaints
    assert (read.behaviour, read.phase) == (OPPOSITE[behaviour], phase)


def test_every_behaviour_has_something_to_look_for() -> None:
    assert set(LOOK_FOR) == set(get_args(Behaviour))
    assert set(TOO_MUCH) >= set(OPPOSITE)
    assert look_for(Complaint(behaviour="oversteer", phase="exit")).startswith(
        "the rear should stay behind you on exit"
    )
