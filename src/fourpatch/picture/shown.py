"""How a number of a result is shown to a reader: in which unit, with how many decimals."""

import math

from fourpatch.analysis.quantity import ANGLE, FORCE, FREQUENCY, LENGTH, SHARE, SPEED, Measure

_SHOWN = {
    "N": (FORCE, 0),
    "m": (LENGTH, 1),
    "rad": (ANGLE, 3),
    "1": (SHARE, 2),
    "points": (Measure("points", "points"), 2),
    "m/s": (SPEED, 1),
    "m/s**2": (Measure("m/s**2", "m/s**2"), 2),
    "s": (Measure("s", "ms", 1e-3), 0),
    "Hz": (FREQUENCY, 2),
    "count": (Measure("count", "times"), 0),
}


def measure_of(unit: str) -> Measure:
    """Return how a quantity of an SI unit is shown; in SI if nobody is used to another unit."""
    return _SHOWN[unit][0] if unit in _SHOWN else Measure(unit, unit)


def shown(value: float, unit: str, *, signed: bool = False) -> str:
    """Write an SI value in its usual unit, without the unit.

    Parameters
    ----------
    signed : for a change: with its sign, and 0 for one that is smaller than the last decimal.
    """
    if math.isnan(value):
        return "-"
    decimals = _SHOWN[unit][1] if unit in _SHOWN else 3
    return rounded(value / measure_of(unit).scale, decimals, signed=signed)


def rounded(number: float, decimals: int, *, signed: bool = False) -> str:
    """Write a number with so many decimals, and no sign where they are all zero.

    Parameters
    ----------
    signed : for a change or a direction: with its sign, and a bare 0 if it is smaller than the last decimal.
    """
    text = f"{number:+.{decimals}f}" if signed else f"{number:.{decimals}f}"
    if float(text) == 0.0:
        return "0" if signed else text.lstrip("-+")
    return text


def pretty(unit: str) -> str:
    """Spell a unit as in print: ``N·s/m``, ``m/s²``."""
    return unit.replace("**", "^").replace("^2", "²").replace("^3", "³").replace("*", "·")


def words(name: str) -> str:
    """Turn the name of a quantity into words."""
    return name.replace("_", " ")


def lap_time_text(seconds: float) -> str:
    """Write a time of a minute or more as minutes and seconds."""
    minutes, rest = divmod(round(seconds, 2), 60.0)
    return f"{minutes:.0f} min {rest:05.2f} s" if minutes else f"{rest:.2f} s"
