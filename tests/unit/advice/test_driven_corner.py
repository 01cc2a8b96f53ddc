"""A corner of the rig, driven: the same path and speeds, and what changes do there against the rig."""

import numpy as np
import pytest
from numpy.testing import assert_allclose

from fourpatch.advice.change_set import changed_setup
from fourpatch.advice.complaint_text import read_complaint
from fourpatch.advice.course import Course, standard_course, track_course
from fourpatch.advice.drive_check import MOST_CORNERS, contradicted, drive_asked, drive_check
from fourpatch.advice.driven_corner import PACE, DrivenCorner, driven_corner, level_line
from fourpatch.advice.sensitivity import sensitivity
from fourpatch.advice.target import target_of
from fourpatch.advice.throttle_on import throttle_on
from fourpatch.car.car import Car
from fourpatch.car.demo import demo_car
from fourpatch.car.setup import apply_setup, baseline_setup
from fourpatch.events.trial import slowest_speed
from fourpatch.physics.layout import X
from fourpatch.track.demo import demo_track

FEW = ("front bar", "rear bar", "differential preload", "brake bias")


@pytest.fixture(scope="module")
def gt() -> Car:
    car = demo_car("gt")
    return car.model_copy(update={"adjusters": [one for one in car.adjusters if one.name in FEW]})


@pytest.fixture(scope="module")
def course(gt: Car) -> Course:
    return standard_course(gt, ["slow corner"])


@pytest.fixture(scope="module")
def slow(gt: Car, course: Course) -> DrivenCorner:
    return driven_corner(gt, course.corners["slow corner"], "slow corner")


def test_a_line_of_constant_curvature_is_a_circle() -> None:
    distance = np.arange(0.0, 100.0, 0.5)
    line = level_line(distance, np.full_like(distance, 0.02))
    # Trapezoids of 0.5 m on a circle of 50 m: a share of (k ds)^2 / 12 = 8e-6.
    assert_allclose(np.hypot(line.x, line.y - 50.0), 50.0, rtol=2e-5)


def test_the_car_goes_where_and_as_fast_as_the_rig(gt: Car, course: Course, slow: DrivenCorner) -> None:
    run = slow.drive([gt])
    assert run.finished.all()
    middle = 0.5 * sum(slow.phases["mid"])
    at = int(np.argmin(np.abs(run.history.states[0, :, X.distance] - middle)))
    speed = run.history.states[0, at, X.forward_velocity]
    # A driver corrects the speed by 3 m/s^2 for each m/s, and holds it to a few per cent.
    assert_allclose(speed, PACE * slowest_speed(course.corners["slow corner"]), rtol=0.03)
    # Straight ahead at both ends, so it has turned as far as the line; 1 % is a degree left to unwind.
    ended = np.isfinite(run.history.states[0, :, X.yaw_rate])
    turned = np.trapezoid(run.history.states[0, ended, X.yaw_rate], dx=run.interval)
    assert_allclose(turned, slow.line.heading[-1], rtol=0.01)
    assert np.nanmax(np.abs(run.history.states[0, :, X.offset])) < 1.0


def test_at_mid_corner_balance_moves_as_load_transfer_says(gt: Car, slow: DrivenCorner) -> None:
    """Statics, not the rig: roll stiffness moved to the rear moves lateral transfer and use to the rear."""
    setup = baseline_setup(gt)
    names = [one.name for one in gt.adjusters]
    cars = [gt]
    for name, steps in (("front bar", -1), ("front bar", 1), ("rear bar", -1), ("rear bar", 1)):
        changes = ((names.index(name), steps),)
        cars.append(apply_setup(gt, changed_setup(setup, gt.adjusters, changes, "one")))
    found = slow.answers(cars, ["mid"])
    balance, steer = (row[1:] - row[0] for row in found)
    assert_allclose(np.sign(balance), (-1.0, 1.0, 1.0, -1.0))
    assert_allclose(np.sign(steer), (-1.0, 1.0, 1.0, -1.0))


def test_drive_and_rig_agree_which_way_entry_and_exit_move(
    gt: Car, course: Course, slow: DrivenCorner
) -> None:
    """Two computations of the same car: prescribed motion and free motion under a driver."""
    setup = baseline_setup(gt)
    event = {"slow corner": course.corners["slow corner"]}
    table = sensitivity(gt, setup, events=event)
    places = [(k, way) for k in range(len(gt.adjusters)) for way in (0, 1)]
    cars = [
        apply_setup(gt, changed_setup(setup, gt.adjusters, ((k, 2 * way - 1),), "one")) for k, way in places
    ]
    for phase in ("entry", "exit"):
        found = slow.answers([gt, *cars], [phase]).balance
        rig = np.array(
            [table.effects[k, way, table.index(f"slow corner.{phase}.balance")] for k, way in places]
        )
        clear = np.abs(rig) > 0.05
        assert clear.sum() >= 2
        assert_allclose(np.sign(found[1:] - found[0])[clear], np.sign(rig)[clear])


def test_what_moves_the_driven_corner_the_wrong_way_is_contradicted(gt: Car, course: Course) -> None:
    target = target_of(read_complaint("pushes on entry in slow corners").complaints[0], gt, course)
    table = sensitivity(gt, baseline_setup(gt), events=course.corners)
    asked = drive_asked(gt, [target], course, names=table.names, present=table.present)
    assert [one.name for one in asked[0].driven] == ["slow corner"]
    place = [one.name for one in gt.adjusters].index("differential preload")
    less, more = (
        apply_setup(gt, changed_setup(baseline_setup(gt), gt.adjusters, ((place, steps),), "one"))
        for steps in (-2, 2)
    )
    # More locking on the overrun resists turning in: trade fact, common practice, no published source.
    helps = np.ones((2, 1), dtype=bool)
    assert contradicted(gt, [less, more], [target], course, asked, credited=helps) == [False, True]
    found = drive_check(gt, [less, more], [target], course, asked)
    assert {one.agrees for one in found if one.name.startswith("balance")} == {(True, False)}


def test_a_differential_must_show_in_the_driven_corner_what_the_rig_credits(gt: Car, course: Course) -> None:
    """What the driven balance moves is read from the corner itself, and only a real gain lets it pass."""
    setup, names = baseline_setup(gt), [one.name for one in gt.adjusters]
    steps = [((names.index("differential preload"), n),) for n in (-3, 3)]
    cars = [apply_setup(gt, changed_setup(setup, gt.adjusters, one, "preload")) for one in steps]
    target = target_of(read_complaint("loose on exit in slow corners").complaints[0], gt, course)
    table = sensitivity(gt, setup, events=course.events)
    asked = drive_asked(gt, [target], course, names=table.names, present=table.present)
    balance = asked[0].driven[0].answers([gt, *cars], ["exit"]).balance
    gained = balance[1:] - balance[0]  # towards understeer, which is what the complaint asks for
    credited = np.ones((2, 1), dtype=bool)
    found = contradicted(
        gt, cars, [target], course, asked, credited=credited, must_show=np.ones(2, dtype=bool)
    )
    opened = throttle_on([gt, *cars], course.corners[asked[0].throttled])
    assert opened is not None
    # Out of a steady turn the rear must not come round more than before, either: 0.002 of turning is none.
    kept = target.sign * (opened.turning[1:] - opened.turning[0])
    # 0.02 points are a fifth of what can be measured.
    assert found == [not (gain > 0.02 and by > -0.002) for gain, by in zip(gained, kept, strict=True)]
    without = contradicted(gt, cars, [target], course, asked, credited=credited)
    assert without == [not gain > -0.02 for gain in gained]


def test_only_balance_is_asked_of_corners_and_only_entry_and_exit_are_driven(gt: Car, course: Course) -> None:
    table = sensitivity(gt, baseline_setup(gt), events=course.corners)
    for text, steady in (("pushes at mid-corner in slow corners", ("slow corner",)), ("hops over bumps", ())):
        target = target_of(read_complaint(text).complaints[0], gt, course)
        [asked] = drive_asked(gt, [target], course, names=table.names, present=table.present)
        assert asked.driven == ()
        assert asked.steady == steady


@pytest.mark.parametrize(
    ("text", "named"),
    [
        ("pushes at mid-corner in turns 2, 5 and 8", {"corner 2", "corner 5", "corner 8"}),
        ("pushes at mid-corner", None),
    ],
)
def test_the_drive_is_asked_in_all_corners_named_up_to_four_and_the_worst_is_among_them(
    gt: Car, text: str, named: set[str] | None
) -> None:
    on_track = track_course(gt, demo_track("chicanes"))
    target = target_of(read_complaint(text).complaints[0], gt, on_track)
    table = sensitivity(gt, baseline_setup(gt), events=on_track.corners)
    [asked] = drive_asked(gt, [target], on_track, names=table.names, present=table.present)
    corners = {corner for corner, _ in target.phases()}
    balance = {name: table.present[table.index(f"{name}.mid.balance")] for name in corners}
    assert asked.steady[0] == max(balance, key=lambda name: balance[name])
    assert len(set(asked.steady)) == len(asked.steady) <= MOST_CORNERS
    assert asked.of == len(corners)
    if named:
        assert set(asked.steady) == named
    else:
        assert {on_track.classes[name] for name in asked.steady} == set(on_track.classes.values())
