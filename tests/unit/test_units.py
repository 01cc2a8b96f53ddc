"""Quantities: read in any unit, written so that they read back, refused with a remedy."""

import math
import sys
from typing import Annotated

import pint
import pytest
from numpy.testing import assert_allclose
from pydantic import BaseModel, ValidationError
from scipy import constants

from fourpatch import units
from fourpatch.units import FROM_FILE, Unit, to_si

RATE = Unit("N/m", "N/mm", 1e3, 2e6)
MASS = Unit("kg", "kg", 50.0, 5000.0)
SHARE = Unit("1", "%", 0.2, 0.8)
RATIO = Unit("1", "1", 0.1, 3.0)
PRESSURE = Unit("Pa", "bar", 5e4, 6e5)
TEMPERATURE = Unit("K", "degC", 233.15, 473.15)
ANGLE = Unit("rad", "deg", -0.3, 0.3)
LENGTH = Unit("m", "mm", -2.0, 2.0)


@pytest.mark.parametrize(
    ("text", "unit", "expected"),
    [
        # scipy.constants, which cites NIST Special Publication 811 for its factors
        ("540 lbf/in", RATE, 540 * constants.lbf / constants.inch),
        ("9.5 kgf/mm", RATE, 9.5 * constants.kgf / constants.milli),
        ("28 psi", PRESSURE, 28 * constants.psi),
        ("2800 lb", MASS, 2800 * constants.pound),
        ("120 mph", Unit("m/s", "km/h", 0, 100), 120 * constants.mph),
        ("200 km/h", Unit("m/s", "km/h", 0, 100), 200 * constants.kmh),
        ("-2.5 deg", ANGLE, -2.5 * constants.degree),
        ("7000 rpm", Unit("rad/s", "rpm", 0, 2500), 7000 * 2 * constants.pi / constants.minute),
        ("300 lbf*ft", Unit("N*m", "N*m", 0, 5000), 300 * constants.lbf * constants.foot),
        ("176 degF", TEMPERATURE, constants.convert_temperature(176, "F", "K")),
        ("80 degC", TEMPERATURE, constants.convert_temperature(80, "C", "K")),
    ],
)
def test_units_of_the_trade_agree_with_another_library(text: str, unit: Unit, expected: float) -> None:
    # rounding of two multiplications and of an offset
    assert_allclose(unit.parse(text), expected, rtol=1e-14, atol=0)


def test_usual_units_agree_with_the_unit_library() -> None:
    registry = pint.UnitRegistry(autoconvert_offset_to_baseunit=True)
    for si, usual in units._USUAL.items():
        for unit in usual:
            for number in (0.0, 1.0, -37.5):
                expected = registry.Quantity(number, registry.Unit(unit)).to(si).magnitude
                # rounding of a product of a few factors, and of an offset near 300 K
                assert_allclose(to_si(number, unit, si), expected, rtol=1e-13, atol=1e-12, err_msg=unit)


def test_power_as_data_sheets_write_it() -> None:
    """Exact definitions: PS and CV are 75 kgf m/s, a horsepower 550 lbf ft/s; scipy names the latter."""
    power = Unit("W", "kW", 2e4, 1.5e6)
    for text, watts in (
        ("230 PS", 230 * 75 * constants.g),
        ("230 CV", 230 * 75 * constants.g),
        ("230 hp", 230 * constants.hp),
        ("230 bhp", 230 * constants.hp),
    ):
        # scipy's horsepower is the product of the same three; rounding
        assert_allclose(power.parse(text), watts, rtol=1e-14)
    with pytest.raises(ValueError, match="Use kW or W or hp or PS or CV or bhp"):
        power.parse("230 N")


def test_usual_units_do_not_load_the_unit_library() -> None:
    units._scale.cache_clear()
    loaded = sys.modules.pop("pint", None)
    try:
        for si, usual in units._USUAL.items():
            for unit in usual:
                to_si(1.0, unit, si)
        assert "pint" not in sys.modules
    finally:
        if loaded:
            sys.modules["pint"] = loaded


@pytest.mark.parametrize(
    ("text", "expected"),
    [
        ("95 N/mm", 95e3),
        ("95N/mm", 95e3),
        (" 9.5e1  N / mm ", 95e3),
        ("95000 N m^-1", 95e3),
        ("0.095 kN/mm", 95e3),
        ("95 N per mm", 95e3),
        ("+95 newton/millimeter", 95e3),
    ],
)
def test_spellings_of_one_quantity_are_the_same(text: str, expected: float) -> None:
    assert RATE.parse(text) == pytest.approx(expected, rel=1e-14)


@pytest.mark.parametrize(
    ("unit", "text", "expected"),
    [
        (Unit("N*m", "N*m", 0, 1e4), "300 Nm", 300.0),
        (Unit("N*s/m", "N*s/m", 0, 1e5), "3000 Ns/m", 3000.0),
        (Unit("N*s/m", "N*s/m", 0, 1e5), "3000 N·s/m", 3000.0),
        (Unit("kg*m**2", "kg*m**2", 0, 1e4), "420 kg·m²", 420.0),
        (Unit("kg*m**2", "kg*m**2", 0, 1e4), "420 kg m^2", 420.0),
        (ANGLE, "−2.5°", -2.5 * math.pi / 180),
        (TEMPERATURE, "80 °C", 353.15),
        (SHARE, "52 %", 0.52),
        (SHARE, "52%", 0.52),
        (SHARE, "0.52", 0.52),
    ],
)
def test_signs_as_people_type_them_are_understood(unit: Unit, text: str, expected: float) -> None:
    assert unit.parse(text) == pytest.approx(expected, rel=1e-14)


def test_whole_numbers_of_millimetres_are_the_nearest_float() -> None:
    for number in range(-2000, 2001):
        assert LENGTH.parse(f"{number} mm") == number / 1000


def test_difference_has_no_zero_point() -> None:
    assert TEMPERATURE.parse_difference("5 degC") == 5.0
    assert TEMPERATURE.parse_difference("9 degF") == pytest.approx(5.0, rel=1e-14)
    with pytest.raises(ValueError, match=r'is "5", without a unit\. Write "5 degC" or "5 K"'):
        TEMPERATURE.parse_difference("5")


@pytest.mark.parametrize(
    ("unit", "value", "text"),
    [
        (RATE, 95000.0, "95 N/mm"),
        (LENGTH, 0.1, "100 mm"),
        (SHARE, 0.52, "52 %"),
        (RATIO, 0.95, "0.95"),
        (TEMPERATURE, 353.15, "80 degC"),
        (MASS, 1234.5678901, "1234.5678901 kg"),
        (ANGLE, 0.035, "0.035 rad"),  # 2.0053522829578814 deg says no more
    ],
)
def test_values_are_written_as_people_do(unit: Unit, value: float, text: str) -> None:
    assert unit.show(value) == text
    assert unit.parse(text) == value


def test_reading_is_not_rounded_into_powers_of_ten() -> None:
    assert LENGTH.brief(1.9999) == "2000 mm"
    assert MASS.brief(1320.0, 2) == "1300 kg"
    assert Unit("m", "mm", 1.0, 5.0).example() == "2200 mm"


# Each refusal says what was found, what is allowed, and what to do.
REFUSALS = [
    (RATE, "90000 N/mm", ['is "90000 N/mm", outside 1 to 2000 N/mm', 'mean "90000 N/m" (= 90 N/mm)?']),
    (MASS, "-1320 kg", ['is "-1320 kg", outside 50 to 5000 kg', 'mean "1320 kg"?']),
    (SHARE, 54, ["is 54, outside 20 to 80 %", 'mean "54 %"?']),
    (SHARE, "1.2", ['is "1.2", outside 20 to 80 %.']),
    (PRESSURE, "28 bar", ["outside 0.5 to 6 bar", 'mean "28 psi" (= 1.931 bar)?']),
    (ANGLE, "-3 rad", ["outside -17.19 to 17.19 deg", 'mean "-3 deg"?']),
    (RATIO, 0, ["is 0, outside 0.1 to 3."]),
    (RATIO, math.nan, ["is nan, outside 0.1 to 3."]),
    (RATIO, math.inf, ["is inf, outside 0.1 to 3."]),
    (RATIO, 10**400, ["is inf, outside 0.1 to 3."]),
    (MASS, -(10**400), ["is -inf, without a unit"]),
    (MASS, "1e999 kg", ['is "1e999 kg", outside 50 to 5000 kg.']),
    (RATE, 95, ["is 95, without a unit", '"95 N/mm"']),
    (RATE, "95000", ['is "95000", without a unit', '"95000 N/m" (= 95 N/mm)']),
    (RATE, 1e9, ["is 1000000000, without a unit", 'for example "45 N/mm"']),
    (RATE, "95 kg", ['is "95 kg", which measures something else', "Use N/mm or N/m or lbf/in or kgf/mm."]),
    (RATE, "540 lb/in", ["measures something else", 'mean "540 lbf/in"?']),
    (RATE, "95 N/mmm", ['"N/mmm" is not a unit known here', 'mean "95 N/mm"?']),
    (PRESSURE, "27.5 PSI", ['"PSI" is not a unit known here', 'mean "27.5 psi"?']),
    (RATE, "95,5 N/mm", ["with a comma", 'write "95.5 N/mm".']),
    (RATE, "95,000 N/m", ["with a comma", '"95.000 N/m" or "95000 N/m"']),
    (RATE, "stiff", ['is "stiff", not a number with a unit', 'for example "45 N/mm"']),
    (RATE, "", ['is "", not a number with a unit']),
    (RATE, "95 5 N/mm", ['is "95 5 N/mm", not a number with a unit']),
    (RATE, "95 m**9**9**9**9", ["is not a unit known here"]),
    (RATE, "95 N/mm)(", ["is not a unit known here"]),
    (RATIO, "0.95 turn", ["measures something else"]),
    (Unit("rad/s", "rpm", 0.0, 2500.0), "100 Hz", ["measures something else", "Use rpm or rad/s."]),
    (Unit("rad/m", "deg/m", -10.0, 10.0), "-0.4 1/m", ["measures something else"]),
    (RATIO, "0.95 mm", ["measures something else", "Use a plain number or %."]),
    (RATE, True, ["is true, not a quantity", 'for example "45 N/mm"']),
    (RATE, [95], ["is a list, not a quantity"]),
    (RATE, {}, ["is a table, not a quantity"]),
    (RATE, None, ["is None, not a quantity"]),
]


@pytest.mark.parametrize(("unit", "value", "parts"), REFUSALS)
def test_refusal_says_value_limit_and_remedy(unit: Unit, value: object, parts: list[str]) -> None:
    with pytest.raises(ValueError, match=r"^is ") as refusal:
        unit.read(value, from_file=True)
    for part in parts:
        assert part in str(refusal.value)
    assert "{" not in str(refusal.value)


class Spring(BaseModel):
    rate: Annotated[float, RATE]


def test_model_reads_text_anywhere_and_bare_si_only_from_python() -> None:
    assert Spring(rate=95e3) == Spring.model_validate({"rate": "95 N/mm"}, context=FROM_FILE)
    with pytest.raises(ValidationError, match="without a unit"):
        Spring.model_validate({"rate": 95e3}, context=FROM_FILE)
    with pytest.raises(ValidationError, match="outside 1 to 2000 N/mm"):
        Spring(rate=1.0)


def test_model_writes_si_for_python_and_text_for_a_file() -> None:
    assert Spring(rate=95e3).model_dump() == {"rate": 95e3}
    assert Spring(rate=95e3).model_dump(context=FROM_FILE) == {"rate": "95 N/mm"}


@pytest.mark.parametrize(
    ("si", "shown", "typed", "value"),
    [
        ("1", "%", "about 45", 0.45),
        ("1", "%", "45", 0.45),
        ("1", "%", "45 %", 0.45),
        ("1", "1", "0.95", 0.95),
        ("W", "kW", "200 hp", 200.0 * 550.0 * 0.3048 * 0.45359237 * 9.80665),
        ("kg", "kg", "2500 lbs", 2500.0 * 0.45359237),
        ("m", "mm", "2,5", 0.0025),
        ("m", "mm", "4 inches", 0.1016),
        ("m", "mm", '4"', 0.1016),
        ("Pa", "bar", "27.5 psi", 27.5 * 0.45359237 * 9.80665 / 0.0254**2),
        ("Pa", "bar", "190 kPa", 190e3),
        ("N/m", "N/mm", "540 lb/in", 540.0 * 0.45359237 * 9.80665 / 0.0254),
        ("N/m", "N/mm", "9.6 kg/mm", 9.6 * 9.80665e3),
        ("m/s", "km/h", "~ 100 mph", 44.704),
        ("m/s", "km/h", "160 kph", 160.0 / 3.6),
        ("N*m", "N*m", "100 ft-lb", 100.0 * 0.3048 * 0.45359237 * 9.80665),
        ("rad", "deg", "−2,5°", -2.5 * math.pi / 180.0),
    ],
)
def test_what_is_typed_beside_a_unit_is_read_as_it_is_meant(
    si: str, shown: str, typed: str, value: float
) -> None:
    unit = Unit(si, shown, -1e12, 1e12)
    # exact definitions: inch, foot, pound, mile, standard gravity
    assert math.isclose(unit.parse(unit.completed(typed)), value, rel_tol=1e-12)


@pytest.mark.parametrize("typed", ["soft", "", "1,500", "5 bananas", "1 2"])
def test_what_is_no_quantity_is_still_refused(typed: str) -> None:
    unit = Unit("m", "mm", 0.0, 1e3)
    with pytest.raises(ValueError, match=r"^is "):
        unit.parse(unit.completed(typed))
