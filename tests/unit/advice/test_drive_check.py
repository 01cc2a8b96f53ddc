"""What the drive is asked: as near to the corner as all cars hold, and said where nobody was asked."""

import pytest

from fourpatch.advice import drive_check as module
from fourpatch.advice.complaint_text import read_complaint
from fourpatch.advice.course import Course, standard_course
from fourpatch.advice.drive_check import DriveAsked, drive_check
from fourpatch.advice.target import target_of
from fourpatch.advice.turns_held import SHARES
from fourpatch.car.car import Car
from fourpatch.car.demo import demo_car
from fourpatch.errors import SolveError
from fourpatch.events.trial import lateral_acceleration

MID = read_complaint("pushes at mid-corner in medium corners").complaints[0]


@pytest.fixture(scope="module")
def gt() -> Car:
    return demo_car("gt")


@pytest.fixture(scope="module")
def course(gt: Car) -> Course:
    return standard_course(gt)


def asked_below(patch: pytest.MonkeyPatch, most: float) -> list[float]:
    """Let steady turns be found up to a lateral acceleration alone; return those that are sought."""
    sought, settle = [], module.settle_drive

    def settle_below(*cars, lateral_acceleration, **rest):
        sought.append(lateral_acceleration)
        if lateral_acceleration > most:
            raise SolveError("steady turn: none")
        return settle(*cars, lateral_acceleration=lateral_acceleration, **rest)

    patch.setattr(module, "settle_drive", settle_below)
    return sought


def steady_rows(gt: Car, course: Course) -> list[module.DriveNumber]:
    target = target_of(MID, gt, course)
    found = drive_check(gt, [gt], [target], course, [DriveAsked(steady=("medium corner",), of=1)])
    return [one for one in found if "medium corner" in one.name]


def test_lower_shares_are_tried_until_one_is_held(
    gt: Car, course: Course, monkeypatch: pytest.MonkeyPatch
) -> None:
    whole = lateral_acceleration(course.corners["medium corner"])
    sought = asked_below(monkeypatch, 0.7 * whole)
    (row,) = steady_rows(gt, course)
    assert sought == pytest.approx([share * whole for share in SHARES if share > 0.65] + [0.65 * whole])
    assert f"{0.65 * whole:.1f} m/s²" in row.name
    assert row.before is not None
    assert row.after == pytest.approx([row.before])


def test_it_is_said_where_the_drive_was_not_asked(
    gt: Car, course: Course, monkeypatch: pytest.MonkeyPatch
) -> None:
    asked_below(monkeypatch, 0.0)
    (row,) = steady_rows(gt, course)
    assert row.name == "medium corner: the drive was not asked, no steady turn is found there"
    assert row.before is None
    assert row.agrees == (None,)
