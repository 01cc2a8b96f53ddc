"""How numbers are shown."""

import math

import pytest

from fourpatch.picture.shown import pretty, rounded, shown, words


@pytest.mark.parametrize(
    ("value", "unit", "text"),
    [
        (0.0123, "m", "12.3"),
        (0.05, "1", "5.00"),
        (math.pi / 180.0, "rad", "1.000"),
        (1234.4, "N", "1234"),
        (0.033, "s", "33"),
        (math.nan, "N", "-"),
    ],
)
def test_values_are_in_the_usual_unit(value: float, unit: str, text: str) -> None:
    assert shown(value, unit) == text


@pytest.mark.parametrize(
    ("value", "text"), [(0.123, "+0.12"), (-0.5, "-0.50"), (0.004, "0"), (-0.004, "0"), (math.nan, "-")]
)
def test_changes_have_a_sign_and_vanish_below_the_last_decimal(value: float, text: str) -> None:
    assert shown(value, "points", signed=True) == text


def test_units_and_names_as_in_print() -> None:
    assert pretty("N*s/m") == "N·s/m"
    assert pretty("m/s**2") == pretty("m/s^2") == "m/s²"
    assert words("grip_lost") == "grip lost"


@pytest.mark.parametrize(
    ("number", "signed", "text"),
    [(-0.004, False, "0.00"), (-0.004, True, "0"), (0.004, True, "0"), (-1.0, False, "-1.00")],
)
def test_nothing_has_no_sign(number: float, signed: bool, text: str) -> None:
    assert rounded(number, 2, signed=signed) == text
