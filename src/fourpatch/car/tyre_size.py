"""What a tyre's size text says: its dimensions, and what follows from them and its pressure."""

import re
from dataclasses import dataclass
from math import pi, sqrt

_INCH = 0.0254
_ASPECT = re.compile(r"(?:P|LT)?(\d{3})/(\d{2})(?:ZR|[RBD-])(\d{2}(?:\.5)?)(?:\(?\d{2,3}[A-Z]\)?)?(?:XL|RF)?")
_DIAMETER_MM = re.compile(r"(\d{3})/(\d{3})(?:ZR|[RBD-])(\d{2}(?:\.5)?)")
_TWO_NUMBERS = re.compile(r"(\d{1,2}(?:\.\d+)?)[/X×](\d{1,2}(?:\.\d+)?)[RBD-](\d{2}(?:\.5)?)")
_ROLLING_CIRCUMFERENCE = 3.05  # of a radial tyre, over its overall diameter
_KILOPOND_PER_MM = 9806.65  # N/m
TREAD_SHARE = 0.8  # tread width over section width


@dataclass(frozen=True, slots=True, kw_only=True)
class TyreSize:
    """The three lengths that a size text gives."""

    section_width: float
    """[m]"""
    overall_diameter: float
    """Unloaded. [m]"""
    rim_diameter: float
    """[m]"""

    @property
    def aspect_ratio(self) -> float:
        """Sidewall height over section width."""
        return (self.overall_diameter - self.rim_diameter) / (2.0 * self.section_width)

    @property
    def free_radius(self) -> float:
        """Unloaded radius, in metres."""
        return self.overall_diameter / 2.0

    @property
    def rolling_radius(self) -> float:
        """Effective rolling radius under its usual load, in metres.

        Notes
        -----
        Rolling circumference 3.05 times the overall diameter: 0.971 of the free radius.

        Source: the tyre makers' dimension standard for radial tyres (from memory).
        """
        return self.overall_diameter * _ROLLING_CIRCUMFERENCE / (2.0 * pi)

    def vertical_rate(self, pressure: float) -> float:
        """Vertical rate [N/m] of a belted radial tyre at an inflation pressure [Pa].

        Notes
        -----
        In the formula's own units, kgf/mm, kPa and mm:
        0.00028 p sqrt((1.03 - 0.4 aspect) width diameter) + 3.45.

        Source: Rhyne, "Development of a Vertical Stiffness Relationship for Belted Radial Tires",
        Tire Science and Technology 33 (2005) 136-155 (abstract seen; formula seen quoted in public
        source code, paper not opened). Road tyres; for racing tyres it is an extrapolation.
        """
        area = (1.03 - 0.4 * self.aspect_ratio) * self.section_width * self.overall_diameter * 1e6
        return (0.00028 * pressure / 1e3 * sqrt(area) + 3.45) * _KILOPOND_PER_MM

    def pressure_share_of_rate(self, pressure: float) -> float:
        """Relative change of vertical rate per relative change of pressure [Pa]."""
        return 1.0 - 3.45 * _KILOPOND_PER_MM / self.vertical_rate(pressure)

    def contact_length(self, *, load: float, pressure: float) -> float:
        """Length of the contact patch [m] at a load [N] and a pressure [Pa].

        Notes
        -----
        Load over pressure and tread width, taken as 0.8 of the section width: what the carcass
        itself carries (some 5 to 15 %) and the tread's grooves are left out, and work against each
        other. Common practice, no published source.
        """
        return load / (pressure * TREAD_SHARE * self.section_width)


def tyre_size(text: str) -> TyreSize:
    """Read a size text.

    Understood are section width in mm, aspect ratio in percent and rim in inches (``205/55R16``, with
    or without load index and speed letter); section width and overall diameter in mm (``250/650R18``)
    or in cm (``24/57-13``); overall diameter and width in inches (``20.0x7.5-13``).

    Raises
    ------
    ValueError
        If the text is none of these, or gives a sidewall no tyre has.

    Examples
    --------
    >>> size = tyre_size("205/55R16")
    >>> size.section_width, size.overall_diameter, size.rim_diameter
    (0.205, 0.6319, 0.4064)
    """
    plain = re.sub(r"\s+", "", text.upper())
    if match := _ASPECT.fullmatch(plain):
        width, rim = float(match[1]) * 1e-3, float(match[3]) * _INCH
        diameter = rim + 2.0 * width * float(match[2]) / 100.0
    elif match := _DIAMETER_MM.fullmatch(plain):
        width, diameter, rim = float(match[1]) * 1e-3, float(match[2]) * 1e-3, float(match[3]) * _INCH
    elif match := _TWO_NUMBERS.fullmatch(plain):
        first, second, rim = float(match[1]), float(match[2]), float(match[3]) * _INCH
        width, diameter = (second * _INCH, first * _INCH) if first > second else (first * 1e-2, second * 1e-2)
    else:
        raise ValueError(
            f'"{text}" is not a tyre size known here; write for example "205/55R16", "250/650R18" (width/'
            'diameter in mm), "24/57-13" (in cm) or "20.0x7.5-13" (diameter x width in inches)'
        )
    sidewall = (diameter - rim) / 2.0
    if not 0.015 <= sidewall <= 0.2:
        raise ValueError(
            f'"{text}" gives an overall diameter of {diameter * 1e3:.0f} mm on a rim of {rim * 1e3:.0f} mm, '
            f"a sidewall of {sidewall * 1e3:.0f} mm; car tyres have 15 to 200 mm. Check the order of the "
            "numbers."
        )
    return TyreSize(section_width=width, overall_diameter=diameter, rim_diameter=rim)
