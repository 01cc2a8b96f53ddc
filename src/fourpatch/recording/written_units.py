"""Units as recorders write them, turned to SI."""

import math
from typing import Final

from fourpatch.units import UnknownUnitError, to_si

STANDARD_GRAVITY: Final = 9.80665
"""[m/s^2], ISO 80000-3."""

_TURN = 2.0 * math.pi
_DEGREE = _TURN / 360.0

_FACTORS: Final[dict[str, dict[str, float]]] = {
    "s": {"s": 1.0, "sec": 1.0, "seconds": 1.0, "ms": 1e-3, "us": 1e-6, "µs": 1e-6, "ns": 1e-9, "min": 60.0}
    | {"h": 3600.0},
    "m/s": {"m/s": 1.0, "mph": 0.44704, "mm/s": 1e-3, "in/s": 0.0254}
    | dict.fromkeys(("km/h", "kph", "kmh", "km/hr"), 1 / 3.6)
    | dict.fromkeys(("kt", "kts", "knots"), 1852 / 3600),
    "m/s**2": dict.fromkeys(("m/s**2", "m/s2", "m/s²", "m/s^2", "m/s/s"), 1.0) | {"g": STANDARD_GRAVITY},
    "m": {"m": 1.0, "mm": 1e-3, "cm": 1e-2, "km": 1e3, "in": 0.0254, "ft": 0.3048, "mi": 1609.344},
    "rad": {"rad": 1.0} | dict.fromkeys(("deg", "°", "degrees"), _DEGREE),
    "rad/s": {"rad/s": 1.0}
    | dict.fromkeys(("deg/s", "°/s", "dps", "deg/sec", "°/sec"), _DEGREE)
    | dict.fromkeys(("rpm", "1/min", "u/min", "min-1", "min^-1", "r/min"), _TURN / 60.0),
    "rad/s**2": {"rad/s**2": 1.0} | dict.fromkeys(("deg/s**2", "deg/s2", "°/s²"), _DEGREE),
    "Pa": {
        "pa": 1.0,
        "hpa": 100.0,
        "mbar": 100.0,
        "kpa": 1e3,
        "bar": 1e5,
        "mpa": 1e6,
        "psi": 6894.757293168361,
    },
    "N": {"n": 1.0, "dan": 10.0, "kn": 1e3, "lbf": 4.4482216152605, "kgf": STANDARD_GRAVITY},
    "K": dict.fromkeys(("k", "c", "°c", "degc", "deg c"), 1.0) | dict.fromkeys(("f", "°f", "degf"), 5 / 9),
    "1": {"%": 0.01} | dict.fromkeys(("1", "", "-", "ratio", "#", "no", "gear", "count", "bool", "lap"), 1.0),
    "m**3": {"m**3": 1.0, "l": 1e-3, "ml": 1e-6, "gal": 3.785411784e-3},
    "1/m": {"1/m": 1.0, "1/km": 1e-3},
    "other": dict.fromkeys(("v", "mv", "a", "ma", "w", "kw", "hz", "nm", "n*m", "kg", "l/h", "lambda"), 1.0),
}
"""By SI unit and by unit in small letters. Exact definitions, the gallon that of the United States."""

_ZERO: Final = {"c": 273.15, "°c": 273.15, "degc": 273.15, "deg c": 273.15} | dict.fromkeys(
    ("f", "°f", "degf"), 459.67 * 5 / 9
)
_NAMES_TOO: Final = {"", "gear", "lap", "count", "no", "bool", "lambda"}
"""What is as often the name of a column."""

_MEASURED: Final = {unit: si for si, units in _FACTORS.items() for unit in units}


def is_unit(text: str) -> bool:
    """Say whether a text is a unit, as recorders write it.

    >>> is_unit("km/h"), is_unit("°/s"), is_unit("front left")
    (True, True, False)
    """
    return text.strip().lower() in _MEASURED.keys() - _NAMES_TOO


def measured_by(unit: str) -> str | None:
    """Return the SI unit of what a unit measures, "other" for what no channel is; None if it is no unit."""
    return _MEASURED.get(unit.strip().lower())


def scale_of(unit: str, si: str) -> tuple[float, float] | None:
    """Return factor and offset that turn numbers of a written unit to SI; None if it measures something else.

    Parameters
    ----------
    unit : as a recorder writes it: ``kph``, ``°/s``, ``g`` of an acceleration.
    si : what the channel is in.

    >>> scale_of("g", "m/s**2"), scale_of("°C", "K"), scale_of("bar", "m")
    ((9.80665, 0.0), (1.0, 273.15), None)
    """
    text = unit.strip().lower()
    if text in _FACTORS.get(si, {}):
        return _FACTORS[si][text], _ZERO.get(text, 0.0)
    if text in _MEASURED:
        return None
    try:
        offset = to_si(0.0, unit.strip(), si)
        return to_si(1.0, unit.strip(), si) - offset, offset
    except (UnknownUnitError, ValueError):
        return None
