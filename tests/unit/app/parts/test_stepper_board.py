"""What stands beside a stepper: the unit of its own number, and of the number that says what it is."""

import pytest

from fourpatch.app.parts.stepper_board import board_rows, physicals
from fourpatch.car.demo import demo_car, demo_names
from fourpatch.car.scale_words import standing_at


def units(name: str) -> dict[str, str]:
    return {
        row["label"]: row["unit"].replace("\u00a0", " ") for row in board_rows(demo_car(name)) if row["label"]
    }


def test_a_position_is_not_given_the_unit_of_what_it_sets() -> None:
    gt, hatchback = units("gt"), units("hatchback")
    assert gt["Bar"] == "position = N/mm"
    assert gt["Bump, low speed"] == "clicks = N·s/mm"
    assert gt["Spring"] == "N/mm"
    assert gt["Packers"] == "mm"
    assert hatchback["Camber, camber shims"] == "deg / shims = deg"


@pytest.mark.parametrize("name", demo_names())
def test_every_stepper_has_a_unit_that_its_number_is_counted_in(name: str) -> None:
    car = demo_car(name)
    told = physicals(car)
    adjusters = {one.name: one for one in car.adjusters}
    for row in board_rows(car):
        for cell in row["cells"]:
            one = adjusters[cell["name"]]
            own = cell["scale"].split(" = ")[0]
            if told[one.name]["direct"]:
                assert own in told[one.name]["texts"][0] or not own
            elif cell["scale"]:
                assert own == cell["unit"]
            else:
                assert one.name.endswith(one.unit)
            standing = standing_at(2.0, one.unit)
            assert cell["numbered"] == (bool(one.unit) and standing == f"{one.unit} 2")
