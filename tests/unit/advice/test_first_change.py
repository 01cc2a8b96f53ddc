"""The first change and what follows it; back to what was good; plain levers; opposed complaints."""

from dataclasses import replace

import numpy as np
import pytest
from numpy.testing import assert_allclose

from fourpatch.advice.answered import answered
from fourpatch.advice.asked_back import asked_back
from fourpatch.advice.change_set import changed_setup, steps_left
from fourpatch.advice.complaint_numbers import complaint_numbers
from fourpatch.advice.complaint_text import read_complaint
from fourpatch.advice.cure import Cure, cure
from fourpatch.advice.good_before import way_back
from fourpatch.advice.guard import Guard, guards
from fourpatch.advice.next_changes import halved
from fourpatch.advice.plain_lever import never_against, plain_first
from fourpatch.advice.sets import Question, too_much
from fourpatch.advice.target import FELT
from fourpatch.car.car import Car
from fourpatch.car.demo import demo_car
from fourpatch.car.setup import Setup, apply_setup, baseline_setup
from fourpatch.errors import AdviceError
from fourpatch.events.corner import Corner

KEPT = ("front bar", "rear bar", "front rebound, low speed", "brake bias", "rear toe")
MID = read_complaint("pushes at mid-corner in medium corners").complaints


@pytest.fixture(scope="module")
def car() -> Car:
    whole = demo_car("gt")
    return whole.model_copy(update={"adjusters": [one for one in whole.adjusters if one.name in KEPT]})


def place(car: Car, name: str) -> int:
    return [one.name for one in car.adjusters].index(name)


@pytest.fixture(scope="module")
def spoiled(car: Car) -> Setup:
    """The baseline, which was good, with a stiffer front bar and less rear bar."""
    steps = ((place(car, "front bar"), 2), (place(car, "rear bar"), -1))
    return changed_setup(baseline_setup(car), car.adjusters, steps, "spoiled")


@pytest.fixture(scope="module")
def back(car: Car, spoiled: Setup) -> Cure:
    return cure(car, spoiled, MID, good=baseline_setup(car))


@pytest.fixture(scope="module")
def first(car: Car, spoiled: Setup) -> Cure:
    return cure(car, spoiled, MID)


def test_with_a_good_set_up_told_changes_lead_back_and_no_farther(
    car: Car, spoiled: Setup, back: Cure
) -> None:
    way = dict(way_back(spoiled, baseline_setup(car), back.table))
    assert way == {place(car, "front bar"): -2, place(car, "rear bar"): 1}
    assert back.sets
    for one in back.sets:
        for adjuster, steps in one.changes:
            assert 0 < steps * np.sign(way[adjuster]) <= abs(way[adjuster])


def test_with_a_good_set_up_told_as_much_is_wanted_as_was_lost(car: Car, spoiled: Setup, back: Cure) -> None:
    """What was lost, computed without the cure, in the motion of the car as it stands."""
    standing, good = apply_setup(car, spoiled), apply_setup(car, baseline_setup(car))
    numbers = complaint_numbers(standing, [standing, good], list(back.targets), back.table.events)[:, 0]
    # The same runs in another batch: rounding of 1e3 samples of some tens of points.
    assert_allclose(back.wanted[0], numbers[0] - numbers[1], rtol=1e-6)
    assert back.sized_by == ("good",)


def test_all_the_way_back_wins_all_back_and_harms_nothing(back: Cure) -> None:
    whole = next(one for one in (*back.sets, back.next and back.next.more) if one and len(one.changes) == 2)
    assert_allclose(whole.progress[0], 1.0, rtol=1e-6)
    # What is as it was with the good set-up is no harm, whatever it was with the spoiled one.
    assert all(worse <= 1e-6 for _, worse in whole.worse)


def test_a_good_set_up_that_is_no_better_does_not_lead(car: Car) -> None:
    """A front bar made softer frees mid-corner: going back to the stiffer one would not."""
    steps = ((place(car, "front bar"), -2),)
    softer = changed_setup(baseline_setup(car), car.adjusters, steps, "softer")
    found = cure(car, softer, MID, good=baseline_setup(car))
    assert found.good is not None
    assert not found.good.helps
    assert found.sized_by == ("felt",)
    assert found.wanted == (FELT,)


def test_the_set_up_complained_of_cannot_be_the_good_one(car: Car, spoiled: Setup) -> None:
    with pytest.raises(AdviceError, match="is the one complained of"):
        cure(car, spoiled, MID, good=spoiled)


def test_without_an_amount_the_first_change_is_what_is_felt_and_not_much_more(first: Cure) -> None:
    assert first.sized_by == ("felt",)
    assert first.wanted == (FELT,)
    # Enough to feel, and not so much that a driver who lacked half of it ends on the other side.
    assert 0.7 <= first.sets[0].progress[0] <= 1.4


def test_what_follows_begins_with_the_first_change_or_is_part_of_it(first: Cure) -> None:
    chosen, then = dict(first.sets[0].changes), first.next
    assert then is not None
    assert then.more is not None
    more = dict(then.more.changes)
    assert all(more[adjuster] * steps >= steps * steps for adjuster, steps in chosen.items())
    assert then.more.progress[0] > first.sets[0].progress[0]
    assert then.less is not None
    # Of the same adjusters it is a part; others only where a single step is too coarse to be halved.
    own = {adjuster: steps for adjuster, steps in then.less.changes if adjuster in chosen}
    assert all(0 < steps * chosen[adjuster] <= chosen[adjuster] ** 2 for adjuster, steps in own.items())
    assert 0.0 < then.less.progress[0] < first.sets[0].progress[0]


def test_who_hardly_feels_the_first_change_is_led_farther_than_who_does(first: Cure) -> None:
    then = first.next
    assert then is not None
    assert then.more is not None
    assert then.far is not None
    assert then.far.progress[0] > then.more.progress[0] > first.sets[0].progress[0]
    far = dict(then.far.changes)
    assert all(far[adjuster] * steps >= steps * steps for adjuster, steps in first.sets[0].changes)


def test_half_of_a_change() -> None:
    assert halved(((3, -4),)) == [((3, -2),)]
    assert halved(((3, 1),)) == []
    assert halved(((0, 3), (5, -1))) == [((0, 1),), ((5, -1),), ((0, 3),)]


def test_a_balance_that_crosses_neutral_is_worse_by_what_it_is_then() -> None:
    guard = Guard(
        label="balance", event="e", terms=(("b", 1.0),), harm="away from zero", tolerance=0.5, unit="points"
    )
    assert_allclose(guard.worsening(2.0, np.array(-2.0)), 2.0)
    assert_allclose(guard.worsening(2.0, np.array(3.0)), 1.0)
    assert_allclose(guard.worsening(-2.0, np.array(-1.0)), -1.0)


def test_the_plain_lever_comes_first_for_locking(car: Car) -> None:
    """Trade fact, common practice, no published source: brake bias is the lever of locking."""
    found = cure(car, baseline_setup(car), read_complaint("locks rears").complaints)
    bias = place(car, "brake bias")
    assert bias in dict(found.sets[0].changes) or bias in [one.adjuster for one in found.passed_over]
    assert dict(found.sets[0].changes).get(bias, 0) > 0  # towards the front
    assert not found.passed_over


def test_one_step_of_the_plain_lever_comes_first_also_if_it_is_coarse(car: Car) -> None:
    """Else brake bias that moves too much at once loses to five clicks of what hardly has to do with it."""
    found = cure(car, baseline_setup(car), read_complaint("locks rears").complaints)
    question = Question(
        table=found.table,
        targets=found.targets,
        wanted=found.wanted,
        guards=found.guards,
        left=steps_left(found.table.adjusters, found.setup),
    )
    bias, had = place(car, "brake bias"), (2.3,)
    one = replace(found.sets[0], changes=((bias, 1),), progress=had, cost=1.0 + too_much(np.array(had)))
    two = replace(one, changes=((bias, 2),))
    clicks = replace(one, changes=((0, 2), (1, -3)), progress=(1.0,), cost=1.5)
    shown, over = plain_first(question, [clicks], {one.changes: one}, never_against)
    assert [each.changes for each in shown] == [one.changes]
    assert not over
    # Two steps could have been one: then too much is too much.
    shown, (passed,) = plain_first(question, [clicks], {two.changes: two}, never_against)
    assert shown == [clicks]
    assert passed.adjuster == bias


def test_a_plain_lever_at_its_stop_is_named(car: Car) -> None:
    bias = car.adjusters[place(car, "brake bias")]
    values = {**baseline_setup(car).values, bias.name: bias.highest}
    most = baseline_setup(car).model_copy(update={"values": values})
    found = cure(car, most, read_complaint("locks rears").complaints)
    (over,) = found.passed_over
    assert (car.adjusters[over.adjuster].name, over.why, over.direction) == ("brake bias", "at its stop", 1)


def test_opposed_complaints_are_each_answered_and_none_is_made_worse_unsaid(car: Car) -> None:
    """On this car bars and rear toe move mid-corner and exit together, so only the trade-off is left."""
    both = read_complaint("pushes mid, loose on exit").complaints
    found = cure(car, baseline_setup(car), both)
    assert all(min(one.progress) >= -0.05 for one in found.sets)
    assert [one.place for one in answered(found)] == [0, 1]
    if not any(min(one.progress) >= 0.5 for one in found.sets):
        assert found.trade_offs
        for asked, one in found.trade_offs:
            assert one.progress[asked] > 0.0
        said = [one for one in answered(found) if one.verdict != "done"]
        assert said
        assert all(one.levers or one.verdict == "nothing does" for one in said)


def test_it_is_asked_where_if_the_first_change_would_differ(first: Cure) -> None:
    assert asked_back(first) is None
    target = first.targets[0]
    whole = replace(
        target,
        complaint=replace(target.complaint, phase=""),
        terms=tuple((f"medium corner.{phase}.balance", 1.0 / 3.0) for phase in ("entry", "mid", "exit")),
    )
    asked = asked_back(replace(first, targets=(whole,)))
    best = {}
    for phase in ("entry", "mid", "exit"):
        number = first.table.index(f"medium corner.{phase}.balance")
        usable = [one for one in first.levers if one.left and not one.against]
        moved = {
            (one.adjuster, one.direction): -first.table.effects[one.adjuster, int(one.direction > 0), number]
            for one in usable
        }
        most = max(moved, key=lambda one: moved[one])
        part = whole.in_phase(phase)
        assert part is not None
        if moved[most] > part.hardly:  # no lever of a phase is asked about that nobody would feel there
            best[phase] = most
    assert (asked is not None) == (len(set(best.values())) > 1)
    if asked is not None:
        assert {one.phase: (lever.adjuster, lever.direction) for one, lever in asked.first} == best


@pytest.mark.parametrize(
    ("present", "tolerance"), [(-8.0, 3.0), (-0.1, 3.0), (0.1, 2.9), (1.5, 1.5), (9.0, 0.25)]
)
def test_a_driver_whose_fronts_lock_is_believed_without_a_cliff(
    first: Cure, present: float, tolerance: float
) -> None:
    """The front is first by 3 points or more, says his word; what the model lacks of that is no harm."""
    locks = [replace(first.targets[0], complaint=read_complaint("locks fronts").complaints[0])]
    numbers = dict(zip(first.names, map(float, first.table.present), strict=True))
    event = next(name for name, test in first.table.events.items() if isinstance(test, Corner))
    numbers[f"{event}.braking.balance"] = present
    found = [one for one in guards(first.table.events, locks, [FELT], numbers) if one.event == event]
    (rear_first,) = [one for one in found if one.harm == "below zero"]
    assert_allclose(rear_first.tolerance, tolerance)


def test_the_coupe_whose_fronts_lock_is_told_a_step_of_brake_bias() -> None:
    """Not eight clicks of camber and the splitter, for a step that the model finds coarse."""
    coupe = demo_car("coupe")
    found = cure(coupe, baseline_setup(coupe), read_complaint("locks fronts").complaints)
    assert found.sets[0].changes == ((place(coupe, "brake bias"), -1),)
    # Half of a single step is no step: what else does it.
    assert found.next is not None
    assert found.next.less is not None
    assert found.next.less.progress[0] < 0.6 * found.sets[0].progress[0]
