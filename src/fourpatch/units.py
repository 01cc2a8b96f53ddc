"""Quantities at the edge: text with a unit in, SI inside, text with a unit out.

The only file that knows the unit library. A number's unit, its plausible range and how it is shown
are said once, in the `Unit` of its annotation; parser, error text, form and word list read it there.
Error texts here are the end of a sentence whose subject, the key, is put before them by the caller.
"""

import difflib
import itertools
import math
import re
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from functools import lru_cache
from typing import TYPE_CHECKING, Any

from pydantic import GetCoreSchemaHandler
from pydantic_core import PydanticCustomError, core_schema

if TYPE_CHECKING:
    import pint

FROM_FILE = {"from_file": True}
"""Validation context under which a bare number is refused where a unit is due."""

_NUMBER = re.compile(r"^\s*([-+]?(?:\d+\.?\d*|\.\d+)(?:[eE][-+]?\d+)?)\s*(.*?)\s*$")
_ABOUT = re.compile(r"^(?:about|around|approximately|approx\.?|circa|ca\.?|roughly|~|≈)\s*", re.IGNORECASE)
_SPOKEN = (
    {"lbs": "lb", "pounds": "lb", "kilos": "kg", "inch": "in", "inches": "in", '"': "in", "feet": "ft"}
    | dict.fromkeys(("kph", "kmh", "km/hr"), "km/h")
    | {
        "lbs/in": "lb/in",
        "lb/inch": "lb/in",
        "lbs/inch": "lb/in",
        "ft-lb": "lb*ft",
        "ftlb": "lb*ft",
        "lbft": "lb*ft",
    }
    | {"horsepower": "hp", "percent": "%", "degrees": "deg", "degree": "deg", "°c": "degC", "°f": "degF"}
)
"""Units as they are spoken and written on paper, by the small letters of a text without blanks."""
_ANGLE = re.compile(r"(radian|degree|turn|revolution|arcminute|arcsecond|grade|revolutions_per_\w+)$")
_LONGEST = 200
"""Signs of a number with its unit."""
_COMMA = re.compile(r"^\s*([-+]?\d+),(\d+)\s*([^\d,]*?)\s*$")
_SPELLINGS = {"·": "*", "⋅": "*", "²": "**2", "³": "**3", "^": "**", "°": "deg", "\N{MINUS SIGN}": "-"}

# Exact definitions: international inch, pound and mile, standard gravity (tests check them).
_INCH, _FOOT, _MILE, _POUND, _GRAVITY, _DEGREE = 0.0254, 0.3048, 1609.344, 0.45359237, 9.80665, math.pi / 180
_POUND_FORCE = _POUND * _GRAVITY
_HORSEPOWER, _METRIC_HORSEPOWER = 550.0 * _FOOT * _POUND_FORCE, 75.0 * _GRAVITY

# What is usual for each measure: proposed in error texts, and converted without loading the unit
# library, which takes about a second. The library decides everything else, and a test holds these to it.
_USUAL: dict[str, dict[str, float]] = {
    "1": {"1": 1.0, "%": 0.01},
    "kg": {"kg": 1.0, "lb": _POUND},
    "m": {"mm": 1e-3, "m": 1.0, "cm": 1e-2, "in": _INCH, "ft": _FOOT},
    "m**2": {"m**2": 1.0, "ft**2": _FOOT**2},
    "m**3": {"m**3": 1.0},
    "N": {"N": 1.0, "kN": 1e3, "lbf": _POUND_FORCE, "kgf": _GRAVITY},
    "N*m": {"N*m": 1.0, "kN*m": 1e3, "lbf*ft": _POUND_FORCE * _FOOT, "kgf*m": _GRAVITY},
    "N/m": {"N/mm": 1e3, "N/m": 1.0, "lbf/in": _POUND_FORCE / _INCH, "kgf/mm": _GRAVITY * 1e3},
    "N/m**2": {"N/mm**2": 1e6, "N/m**2": 1.0},
    "N*s/m": {"N*s/m": 1.0, "N*s/mm": 1e3, "lbf*s/in": _POUND_FORCE / _INCH, "kgf*s/m": _GRAVITY},
    "N*m*s/rad": {"N*m*s/rad": 1.0},
    "kg*m**2": {"kg*m**2": 1.0},
    "kg/m**3": {"kg/m**3": 1.0},
    "rad": {"deg": _DEGREE, "rad": 1.0},
    "rad/s": {"rpm": math.pi / 30, "rad/s": 1.0},
    "rad/m": {"deg/m": _DEGREE, "deg/mm": _DEGREE * 1e3, "rad/m": 1.0},
    "rad/m**2": {"deg/m**2": _DEGREE, "rad/m**2": 1.0},
    "1/rad": {"1/deg": 1 / _DEGREE, "1/rad": 1.0},
    "m**2/rad": {"m**2/deg": 1 / _DEGREE, "m**2/rad": 1.0},
    "Pa": {"bar": 1e5, "kPa": 1e3, "psi": _POUND_FORCE / _INCH**2, "Pa": 1.0},
    "K": {"degC": 1.0, "K": 1.0, "degF": 5 / 9},
    "1/K": {"1/K": 1.0},
    "m/s": {"m/s": 1.0, "mm/s": 1e-3, "km/h": 1 / 3.6, "mph": _MILE / 3600, "in/s": _INCH},
    "W": {"kW": 1e3, "W": 1.0, "hp": _HORSEPOWER},
    "m/m": {"m/m": 1.0, "mm/mm": 1.0},
    "1/m": {"1/m": 1.0},
    "1/m**2": {"1/m**2": 1.0},
    "m**2/m": {"m**2/m": 1.0},
    "m**2/m**2": {"m**2/m**2": 1.0},
}
_OF_THE_TRADE: dict[str, dict[str, float]] = {
    "W": {"PS": _METRIC_HORSEPOWER, "CV": _METRIC_HORSEPOWER, "bhp": _HORSEPOWER},
}
"""As written in data sheets, where the library knows nothing of the name, or something else (petaseconds)."""
_FAMILIES = ({"km/h", "mph"}, {"mm/s", "in/s"})
"""Units of speeds of cars, and of dampers: who means the one kind never writes the other."""
_EDGE, _WELL_INSIDE = 0.05, 0.2
"""Shares of a range, in factors, within which a bare number is doubted, and beyond which another reading is
likely. Of a car's speed, 2 to 110 m/s: above 90 m/s, and 4.5 to 49 m/s."""
_ZERO = {"degC": 273.15, "degF": 459.67 * 5 / 9}


def _usual(si: str) -> dict[str, float]:
    """Return what is usual for a measure, with the names of the trade."""
    return _USUAL.get(si, {}) | _OF_THE_TRADE.get(si, {})


@lru_cache(maxsize=1)
def _registry() -> "pint.UnitRegistry[float]":
    import pint

    return pint.UnitRegistry(autoconvert_offset_to_baseunit=True)


def _angles(unit: "pint.Unit") -> float:
    """Return the power of plane angle in a unit; the library counts an angle as a plain number."""
    powers: Any = _registry().Quantity(1.0, unit).unit_items()
    return float(sum(power for name, power in powers if _ANGLE.search(name)))


@lru_cache(maxsize=512)
def _scale(unit: str, si: str) -> tuple[float, float]:
    """Return factor and offset that turn a number in ``unit`` into one in ``si``.

    Raises
    ------
    ValueError
        If ``unit`` is unknown (`UnknownUnitError`) or measures something else than ``si``.
    """
    spelled = _spelled(unit)
    usual = _usual(si)
    if spelled in usual:
        return usual[spelled], _ZERO.get(spelled, 0.0)
    if len(spelled) > 40 or re.search(r"\*\*[^*/]*\*\*|\d\d\d", spelled):
        # A tower of powers would keep the library busy for ever.
        raise UnknownUnitError(f"'{unit}' is not a unit known here")
    import pint

    registry = _registry()
    try:
        parsed = registry.Unit(spelled)
        zero = registry.Quantity(0.0, parsed).to(si).magnitude
        hundred = registry.Quantity(100.0, parsed).to(si).magnitude
    except pint.DimensionalityError:
        raise ValueError(f"'{unit}' does not measure the same thing as '{si}'") from None
    except Exception:
        # The library's parser fails in many ways on text that is not a unit; all mean the same here.
        raise UnknownUnitError(f"'{unit}' is not a unit known here") from None
    if _angles(parsed) != _angles(registry.Unit(si)):
        raise ValueError(f"'{unit}' does not measure the same thing as '{si}'")
    return (hundred - zero) / 100.0, zero


class UnknownUnitError(ValueError):
    """A text that is no unit at all, rather than one of another measure."""


def _spelled(unit: str) -> str:
    """Rewrite a unit the way the table and the library spell it."""
    for sign, plain in _SPELLINGS.items():
        unit = unit.replace(sign, plain)
    unit = re.sub(r"\bN(?=[ms]\b)", "N*", unit.strip())  # Nm, Ns: else nanometres, or nothing
    unit = re.sub(r"\s*(\bper\b|/)\s*", "/", unit)
    return re.sub(r"\s*(\*\*?)\s*", r"\1", unit).replace(" ", "*") or "1"


def to_si(number: float, unit: str, si: str) -> float:
    """Convert a number with its unit to the SI unit ``si``.

    Raises
    ------
    ValueError
        If ``unit`` is unknown or measures something else than ``si``; the text says which.
    """
    factor, offset = _scale(unit, si)
    return _times(number, factor) + offset if offset else _times(number, factor)


def _times(number: float, factor: float) -> float:
    # Dividing by a whole reciprocal keeps 100 mm at 0.1, where 100 * 0.001 would not everywhere.
    inverse = 1.0 / factor
    whole = factor < 1.0 and abs(inverse - round(inverse)) < 1e-9 * inverse
    return number / round(inverse) if whole else number * factor


@dataclass(frozen=True, slots=True)
class Unit:
    """The unit of a number: SI inside, how it is shown, and the range in which it can be meant."""

    si: str
    shown: str
    low: float
    high: float

    def parse(self, text: str) -> float:
        """Read text such as ``"95 N/mm"`` into SI.

        Raises
        ------
        ValueError
            If there is no number, no unit where one is due, or the unit measures something else.
        """
        number, unit = self._split(text)
        if not unit and self.si != "1":
            raise ValueError(self._bare(number, quoted=True))
        factor, zero = self._scale_of(number, unit)
        return _times(float(number), factor) + zero if zero else _times(float(number), factor)

    def completed(self, text: str) -> str:
        """Return what somebody typed into a field beside which the unit stands, as `parse` takes it.

        ``about 45`` and ``45`` are 45 of the shown unit, ``1,5`` is 1.5, and units are taken as they are
        spoken: ``lbs``, ``kph``, ``lb/in`` of a spring. What is no such thing is returned as it is, to be
        refused there.

        >>> Unit("1", "%", 0.3, 0.7).completed("about 45")
        '45 %'
        >>> Unit("N/m", "N/mm", 5e3, 1e6).completed("540 lb/in")
        '540 lbf/in'
        """
        plain = _ABOUT.sub("", text.strip().replace("\N{MINUS SIGN}", "-"))
        comma = _COMMA.match(plain)
        if comma and len(comma[2]) != 3:  # 1,500 may be either
            plain = f"{comma[1]}.{comma[2]} {comma[3]}".strip()
        match = _NUMBER.match(plain)
        if not match or re.match(r",|\d", match[2]):
            return text.strip()
        unit = match[2]
        spoken = _SPOKEN.get(unit.lower().replace(" ", ""), unit)
        if self.si in ("N", "N/m", "N*m", "N*s/m"):  # of forces, pounds and kilograms are those of force
            spoken = re.sub(r"\blb\b", "lbf", re.sub(r"\bkg\b", "kgf", spoken))
        shown = "" if self.shown == "1" else self.shown
        return f"{match[1]} {spoken or shown}".strip()

    def parse_difference(self, text: str) -> float:
        """Read a change or a spread of such a quantity, ``"5 degC"`` being five kelvin, into SI.

        Raises
        ------
        ValueError
            As `parse`.
        """
        number, unit = self._split(text)
        if not unit and self.si != "1":
            units = dict.fromkeys((self.shown, self.si))
            remedy = " or ".join(f'"{number} {unit}"' for unit in units)
            raise ValueError(f'is "{text}", without a unit. Write {remedy}.')
        return _times(float(number), self._scale_of(number, unit)[0])

    def show(self, value: float) -> str:
        """Write an SI value so that it reads back exactly: in the shown unit, else in SI."""
        factor, offset = _scale(self.shown, self.si)
        for digits in range(6, 18):
            text = f"{(value - offset) / factor:.{digits}g}"
            if to_si(float(text), self.shown, self.si) == value:
                break
        else:
            text = ""  # no decimal in the shown unit reads back exactly; one in SI always does
        plain = _shortest(value)
        # 0.035 rad, rather than the seventeen digits it has in degrees.
        if not text or len(text) > max(len(plain), 10):
            return f"{plain}{self._suffix(self.si)}"
        return f"{text}{self._suffix(self.shown)}"

    def brief(self, value: float, digits: int = 4) -> str:
        """Write an SI value in the shown unit, rounded for reading."""
        return f"{self._rounded(value, digits)}{self._suffix(self.shown)}"

    def range(self) -> str:
        """Write what is allowed: ``1 to 2000 N/mm``."""
        return f"{self._rounded(self.low, 4)} to {self.brief(self.high)}"

    def example(self) -> str:
        """Return a value from the middle of the range, as a model to follow."""
        middle = (self.low * self.high) ** 0.5 if self.low > 0 else 0.5 * (self.low + self.high)
        return self.brief(middle, 2)

    def usual_units(self) -> list[str]:
        """Return the units this quantity is usually written in, the shown one first."""
        others = set().union(*(family for family in _FAMILIES if self.shown not in family))
        usual = [unit for unit in _usual(self.si) if unit not in others or self.shown == self.si]
        return list(dict.fromkeys((self.shown, *usual, self.si)))

    def check(self, value: float, *, written: str = "") -> float:
        """Return ``value`` if it lies in the range; ``written`` is how the user put it, if as text.

        Raises
        ------
        ValueError
            With the range and, where another unit or sign would mend it, that reading.
        """
        if self.low <= value <= self.high:
            return value
        plain = f"{value:.15g}" if self.si == "1" else self.brief(value, 6)
        found = f'"{written}"' if written else plain
        remedy = ""
        if math.isfinite(value):
            number, unit = self._split(written or plain)
            units = (self.si, *self.usual_units())
            likely = (*self._readings(number, units, besides=unit), *self._mirrored(number, unit))
            remedy = f" Did you mean {likely[0]}?" if likely else ""
        raise ValueError(f"is {found}, outside {self.range()}.{remedy}")

    def bare(self, number: float) -> str:
        """Return a number that somebody typed without a unit as text with its unit in SI.

        Raises
        ------
        ValueError
            If as SI it is all but out of range, and well within it in a unit in which people write it: 110
            for 110 km/h, which as 110 m/s is 396. Out of range it is refused when it is read.
        """
        text = _shortest(number)
        doubted = self.si != "1" and self.low <= number <= self.high and self._inward(number) < _EDGE
        for unit in self.usual_units() if doubted else ():
            if self._inward(to_si(number, unit, self.si)) > _WELL_INSIDE:
                raise ValueError(
                    f"is {text}, without a unit, and in SI that is {self.brief(number)}. Did you mean "
                    f'"{text} {unit}"? If not, write "{text} {self.si}".'
                )
        return f"{text}{self._suffix(self.si)}"

    def _inward(self, value: float) -> float:
        """Return how far within the range a value lies, as a share of it in factors: 0.5 in the middle."""
        if self.low <= 0.0 or value <= 0.0:
            return math.inf if self.low <= value <= self.high else -math.inf  # nothing is known of its middle
        return math.log(min(self.high / value, value / self.low)) / math.log(self.high / self.low)

    def read(self, value: object, *, from_file: bool) -> float:
        """Read text, or a bare number in SI, and check its range.

        Raises
        ------
        ValueError
            As `parse` and `check`; also for a bare number from a file where a unit is due.
        """
        if isinstance(value, str):
            return self.check(self.parse(value), written=value)
        if isinstance(value, int | float) and not isinstance(value, bool):
            number = _as_float(value)
            if from_file and self.si != "1":
                raise ValueError(self._bare(f"{number:.15g}", quoted=False))
            return self.check(number)
        raise ValueError(f'is {_named(value)}, not a quantity. Write for example "{self.example()}".')

    def _split(self, text: str) -> tuple[str, str]:
        """Part a text into number and unit."""
        if len(text) > _LONGEST:
            raise ValueError(
                f'is "{text[:_LONGEST]}...", of {len(text)} signs: not a number with a unit. Write for '
                f'example "{self.example()}".'
            )
        match = _NUMBER.match(text.replace("\N{MINUS SIGN}", "-"))
        if match and not re.match(r",|\d(?!/)", match[2]):
            return match[1], match[2]
        comma = _COMMA.match(text)
        if comma is None:
            raise ValueError(f'is "{text}", not a number with a unit. Write for example "{self.example()}".')
        unit = f" {comma[3]}" if comma[3] else ""
        remedy = f'"{comma[1]}.{comma[2]}{unit}"'
        if len(comma[2]) == 3:
            remedy += f' or "{comma[1]}{comma[2]}{unit}", whichever is meant'
        raise ValueError(
            f'is "{text}", with a comma. A decimal point is due, and nothing between thousands: write '
            f"{remedy}."
        )

    def _scale_of(self, number: str, unit: str) -> tuple[float, float]:
        try:
            return _scale(unit, self.si)
        except UnknownUnitError:
            raise ValueError(
                f'is "{number} {unit}", and "{unit}" is not a unit known here.{self._near_unit(number, unit)}'
            ) from None
        except ValueError:
            raise ValueError(
                f'is "{number} {unit}", which measures something else.{self._near_unit(number, unit)}'
            ) from None

    def _near_unit(self, number: str, unit: str) -> str:
        """Say which units are due and, for a slip of the pen, the one that was meant."""
        due = f" Use {' or '.join('a plain number' if u == '1' else u for u in self.usual_units())}."
        forces = re.sub(
            r"\b(lbs?|pounds?)\b", "lbf", re.sub(r"\bkg\b", "kgf", unit)
        )  # lb/in is said of springs
        spelled = {u.lower(): u for u in self.usual_units()}
        near = difflib.get_close_matches(_spelled(unit).lower(), spelled, n=1, cutoff=0.6)
        for meant in (forces, *(spelled[u] for u in near)):
            try:
                self.check(to_si(float(number), meant, self.si))
            except ValueError:
                continue
            return f'{due} Did you mean "{number} {meant}"?'
        return due

    def _readings(self, number: str, units: Iterable[str], *, besides: str) -> Iterator[str]:
        """Yield a number with each unit that brings it into range."""
        for unit in dict.fromkeys(units):
            value = to_si(float(number), unit, self.si)
            if _spelled(unit) != _spelled(besides) and self.low <= value <= self.high:
                same = "" if unit == self.shown else f" (= {self.brief(value)})"
                yield f'"{number}{self._suffix(unit)}"{same}'

    def _mirrored(self, number: str, unit: str) -> Iterator[str]:
        """Yield a number with the other sign if that brings it into range."""
        other = number.lstrip("-+") if number.startswith("-") else f"-{number}"
        if self.low <= to_si(float(other), unit, self.si) <= self.high:
            yield f'"{other}{self._suffix(unit)}"'

    def _bare(self, number: str, *, quoted: bool) -> str:
        found = f'"{number}"' if quoted else number
        units = (self.shown, self.si, *self.usual_units())
        likely = itertools.islice(self._readings(number, units, besides="1"), 2)
        remedy = " or ".join(likely) or f'for example "{self.example()}"'
        return f"is {found}, without a unit. Write {remedy}."

    def _rounded(self, value: float, digits: int) -> str:
        factor, offset = _scale(self.shown, self.si)
        text = f"{(value - offset) / factor:.{digits}g}"
        return f"{float(text):.0f}" if "e+0" in text else text  # 2.2e+03 is 2200 to a reader

    @staticmethod
    def _suffix(unit: str) -> str:
        return "" if unit in ("1", "") else f" {unit}"

    def __get_pydantic_core_schema__(
        self, source: Any, handler: GetCoreSchemaHandler
    ) -> core_schema.CoreSchema:
        """Let a model field carry this unit: text is parsed, numbers are SI, the range is checked."""

        def read(value: Any, info: core_schema.ValidationInfo) -> Any:
            try:
                return self.read(value, from_file=bool(info.context and info.context.get("from_file")))
            except ValueError as error:
                raise PydanticCustomError("quantity", "{reason}", {"reason": str(error)}) from None

        def write(value: float, info: core_schema.SerializationInfo) -> Any:
            if not (info.context and info.context.get("from_file")):
                return value
            text = self.show(value)
            return value if _NUMBER.fullmatch(text) and self._suffix(self._split(text)[1]) == "" else text

        return core_schema.with_info_before_validator_function(
            read,
            handler(source),
            serialization=core_schema.plain_serializer_function_ser_schema(write, info_arg=True),
        )


def _as_float(value: float) -> float:
    """Return a number as a float; a whole one beyond all floats is infinite."""
    try:
        return float(value)
    except OverflowError:
        return math.inf if value > 0 else -math.inf


def _shortest(value: float) -> str:
    """Write a float in the fewest digits that read back exactly."""
    for digits in range(6, 18):
        text = f"{value:.{digits}g}"
        if float(text) == value:
            return text
    return repr(value)


def _named(value: object) -> str:
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, dict | list):
        return "a table" if isinstance(value, dict) else "a list"
    return str(value)
