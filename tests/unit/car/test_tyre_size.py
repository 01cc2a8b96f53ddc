"""Size texts: what they say, and what is refused."""

import pytest
from numpy.testing import assert_allclose

from fourpatch.car.tyre_size import tyre_size

INCH = 25.4e-3


@pytest.mark.parametrize(
    ("text", "width", "diameter", "rim"),
    [
        # width mm / aspect percent R rim inches: diameter = rim + 2 width aspect, by definition of the code
        ("205/55R16", 0.205, 16 * INCH + 2 * 0.205 * 0.55, 16 * INCH),
        ("P205/55 R16 91V", 0.205, 16 * INCH + 2 * 0.205 * 0.55, 16 * INCH),
        ("245/35 zr 18 (92Y) XL", 0.245, 18 * INCH + 2 * 0.245 * 0.35, 18 * INCH),
        # width / overall diameter, both in mm, both in cm; then overall diameter x width in inches
        ("250/650R18", 0.250, 0.650, 18 * INCH),
        ("24/57-13", 0.24, 0.57, 13 * INCH),
        ("20.0x7.5-13", 7.5 * INCH, 20 * INCH, 13 * INCH),
    ],
)
def test_a_size_text_is_read_exactly(text: str, width: float, diameter: float, rim: float):
    size = tyre_size(text)
    found = (size.section_width, size.overall_diameter, size.rim_diameter)
    assert_allclose(found, (width, diameter, rim), rtol=1e-12)  # rounding
    assert_allclose(size.free_radius, 0.5 * diameter, rtol=1e-12)
    assert_allclose(size.aspect_ratio, (diameter - rim) / (2.0 * width), rtol=1e-12)


@pytest.mark.parametrize("text", ["", "205-55-16", "205/55R", "wide", "R16 205/55"])
def test_what_is_no_size_is_refused_with_models_to_follow(text: str):
    with pytest.raises(ValueError, match='is not a tyre size known here; write for example "205/55R16"'):
        tyre_size(text)


def test_a_sidewall_no_tyre_has_is_refused():
    with pytest.raises(ValueError, match="a sidewall of -6 mm; car tyres have 15 to 200 mm"):
        tyre_size("250/445R18")


def test_the_rate_is_that_of_the_formula_in_its_own_units():
    """By hand for 205/60R15 at 220 kPa: 0.00028 x 220 x sqrt(0.79 x 205 x 627) + 3.45 = 23.0793 kgf/mm."""
    # The hand result has six digits.
    assert_allclose(tyre_size("205/60R15").vertical_rate(2.2e5), 23.0793 * 9806.65, rtol=1e-5)


def test_the_rate_rises_with_pressure_as_its_slope_says():
    size, pressure, step = tyre_size("205/55R16"), 2.2e5, 1.0
    slope = (size.vertical_rate(pressure + step) - size.vertical_rate(pressure - step)) / (2.0 * step)
    relative = slope * pressure / size.vertical_rate(pressure)
    assert_allclose(size.pressure_share_of_rate(pressure), relative, rtol=1e-7)  # rounding of the difference


def test_contact_carries_the_load_at_the_pressure():
    size, pressure = tyre_size("205/55R16"), 2.2e5
    length = size.contact_length(load=4000.0, pressure=pressure)
    assert_allclose(length * 0.8 * 0.205 * pressure, 4000.0, rtol=1e-12)  # rounding
