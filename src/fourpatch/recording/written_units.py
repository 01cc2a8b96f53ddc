"""Units as recorders write them, turned to SI."""

from typing import Final

from fourpatch.units import UnknownUnitError, to_si

STANDARD_GRAVITY: Final = 9.80665
"""[m/s^2], ISO 80000-3."""

_SPELLED: Final = {
    "kph": "km/h",
    "kmh": "km/h",
    "km/hr": "km/h",
    "kmph": "km/h",
    "m/s2": "m/s**2",
    "m/s/s": "m/s**2",
    "dps": "deg/s",
    "deg/sec": "deg/s",
    "°/sec": "deg/s",
    "°/s": "deg/s",
    "°": "deg",
    "degrees": "deg",
    "u/min": "rpm",
    "1/min": "rpm",
    "min-1": "rpm",
    "min^-1": "rpm",
    "r/min": "rpm",
    "°c": "degC",
    "c": "degC",
    "degc": "degC",
    "deg c": "degC",
    "°f": "degF",
    "f": "degF",
    "degf": "degF",
    "k": "K",
    "sec": "s",
    "seconds": "s",
    "psi": "psi",
    "l": "liter",
    "gal": "gallon",
    "n": "N",
    "kn": "kN",
    "dan": "daN",
    "hpa": "hPa",
    "kpa": "kPa",
    "pa": "Pa",
    "mpa": "MPa",
    "": "1",
    "-": "1",
    "ratio": "1",
}


def scale_of(unit: str, si: str) -> tuple[float, float] | None:
    """Return factor and offset that turn numbers of a written unit to SI; None if it measures something else.

    Parameters
    ----------
    unit : as a recorder writes it: ``kph``, ``°/s``, ``g`` of an acceleration.
    si : what the channel is in.

    >>> scale_of("g", "m/s**2"), scale_of("°C", "K"), scale_of("bar", "m")
    ((9.80665, 0.0), (1.0, 273.15), None)
    """
    text = unit.strip()
    if text.lower() == "g" and si == "m/s**2":
        return STANDARD_GRAVITY, 0.0
    if si == "K" and text.lower() in ("c", "degc", "°c", "deg c"):
        return 1.0, 273.15
    try:
        spelled = _SPELLED.get(text.lower(), text)
        offset = to_si(0.0, spelled, si)
        return to_si(1.0, spelled, si) - offset, offset
    except (UnknownUnitError, ValueError):
        return None
