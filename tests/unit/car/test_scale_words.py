"""What an adjuster's scale counts, said as a driver says it."""

import pytest

from fourpatch.car.scale_words import counted, from_to, standing_at


@pytest.mark.parametrize(
    ("number", "unit", "said", "stands"),
    [
        (1, "clicks", "1 click", "1 click"),
        (-1, "clicks", "-1 click", "-1 click"),
        (3, "clicks", "3 clicks", "3 clicks"),
        (0, "packers", "0 packers", "0 packers"),
        (1, "position", "1 position", "position 1"),
        (4, "position", "4 positions", "position 4"),
        (2, "hole", "2 holes", "hole 2"),
        (0.5, "turns", "0.5 turns", "0.5 turns"),
        (3, "notch", "3 notches", "notch 3"),
        (1, "notches", "1 notch", "1 notch"),
        (2.05, "bar", "2.05 bar", "2.05 bar"),
        (-2.5, "deg", "-2.5 deg", "-2.5 deg"),
        (80, "N*m", "80 N·m", "80 N·m"),
        (50, "%", "50 %", "50 %"),
        (2, "", "2", "2"),
    ],
)
def test_one_is_singular_and_a_place_has_its_number_behind(
    number: float, unit: str, said: str, stands: str
) -> None:
    assert counted(number, unit) == said
    assert standing_at(number, unit) == stands


@pytest.mark.parametrize(
    ("unit", "said"),
    [("position", "from position 4 to 1"), ("clicks", "from 4 to 1 click"), ("deg", "from 4 to 1 deg")],
)
def test_a_change_names_its_unit_once(unit: str, said: str) -> None:
    assert from_to(4, 1, unit) == said
