"""A driver finds the hands that hold a car, and keeps his own where they do."""

from pathlib import Path

import pytest
from numpy.testing import assert_array_equal

from fourpatch.analysis.found_hands import ANSWER, found_hands
from fourpatch.analysis.lap_drive import ReadyToDrive, ready_to_drive
from fourpatch.analysis.pace_search import search_pace
from fourpatch.car.demo import demo_car
from fourpatch.events.driver_style import DriverStyle
from fourpatch.physics.driver import B
from fourpatch.track.files import load_track
from fourpatch.track.racing_line import FLAT_KERB


def ready(oval_file: Path, style: DriverStyle) -> ReadyToDrive:
    return ready_to_drive(
        demo_car("gt"),
        load_track(oval_file),
        style=style,
        pace=0.8,
        margin=0.3,
        kerb_share=0.0,
        flat_kerb=FLAT_KERB,
        seed=1,
    )


@pytest.mark.parametrize("answer", [0.3, 2.5])
def test_the_pace_found_is_no_lower_and_weak_hands_find_a_higher_one(oval_file: Path, answer: float) -> None:
    one = ready(oval_file, DriverStyle(yaw_share=answer))
    plan = found_hands(one.plan, one.road, one.layout, car_width=one.car_width)
    ratio = plan.habits[B.yaw_share] / one.plan.habits[B.yaw_share]
    assert min(abs(ratio - each) for each in ANSWER) < 1e-12
    usual, found = (
        search_pace(each, one.road, one.layout, car_width=one.car_width).best for each in (one.plan, plan)
    )
    # Both searches step by 0.4 %.
    assert found >= usual - 0.004
    assert (answer == 2.5) or found > usual
    others = [k for k in range(plan.habits.size) if k not in (B.preview, B.yaw_share)]
    assert_array_equal(plan.habits[others], one.plan.habits[others])
