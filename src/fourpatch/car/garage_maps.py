"""What a scale of a garage screen does to the car: by its unit, or plausibly where nobody knows one."""

import math
from collections.abc import Mapping
from dataclasses import replace
from typing import Any, Final

from fourpatch.car.adjusters import Adjuster
from fourpatch.car.car import Car
from fourpatch.car.estimation.aero import OTHER_AXLE, WING_DRAG
from fourpatch.car.garage_settings import Setting
from fourpatch.car.paths import parameter
from fourpatch.car.provenance import Provenance
from fourpatch.errors import FieldsError

RAMP_LOCK: Final = 0.5
"""Locking share = this x cotangent of the ramp's angle: 0.5 at 45 deg, 0.29 at 60, 0.13 at 75, for the usual
number of plates (common practice, no published source)."""

_ROOM = 0.999  # of the way to the ends of a parameter's range, for rounding
_STEEPEST, _FLATTEST = 10.0, 89.0  # of ramps [deg]


_SHARE = "a share of pressure, of which each axle's brakes make the same torque as now"


def share_map(car: Car, path: str, *, lowest: float, now: float, highest: float) -> dict[str, Any]:
    """Return the map of a brake bias that is a share of pressure where the car's is one of torque.

    Parameters
    ----------
    lowest, now, highest : of the scale. [%]

    Notes
    -----
    Each axle's torque is proportional to its pressure, so that front over rear goes with p / (1 - p) of the
    share p shown. What stands now is the car's own: a front circuit of another size explains the difference.
    """
    own = parameter(car, path).value
    gain = own / (1.0 - own) * (100.0 - now) / now
    ends = [lowest + (highest - lowest) * place / 8.0 for place in range(9)]
    steps = sorted({round(one, 9) for one in (*ends, now)})
    values = [100.0 * gain * one / (gain * one + 100.0 - one) for one in steps]
    said = [f"{one:.9g} %" for one in values]
    return {"map": {"kind": "table", "steps": steps, "values": said}, "provenance": _guess(_SHARE, "20 %")}


def is_share(one: Adjuster) -> bool:
    """Say whether a scale is a share of pressure, made here."""
    return bool(one.provenance and one.provenance.method.startswith(_SHARE))


def counted_map(unit: str) -> dict[str, Any]:
    """Return the map of a scale that counts a unit from where it stands.

    As with a ride height that is measured elsewhere.
    """
    method = "counted from where it stands, for the shown number may be measured elsewhere"
    return {"map": {"kind": "rate", "rate": f"1 {unit}"}, "provenance": _guess(method, "20 %")}


def plausible_values(car: Car, setting: Setting) -> dict[str, float]:
    """Return what a car has, SI, of a setting that its garage shows although the car as it is has none of it.

    A bar of three tenths of the spring's rate, a preload of 50 N m: common practice, no published source.
    """
    found = {}
    for path in setting.targets:
        if parameter(car, path).value <= 0.0:
            end = path.split(".")[0]
            bar = path.endswith("bar.rate")
            found[path] = 0.3 * parameter(car, f"{end}.spring.rate").value if bar else _PRELOAD
    return found if setting.key.endswith((" bar", " preload")) else {}


_PRELOAD = 50.0  # N m


def wing_values(car: Car, end: str) -> dict[str, float]:
    """Return what a degree of a wing adds on a car of which nothing is known of it, SI.

    Notes
    -----
    A wing of 0.25 m² and aspect ratio 6 gains 2 pi / (1 + 2 / 6) per radian (Prandtl's lifting line,
    elliptical span), 0.02 m² per degree; half of it in the stream that a car leaves to it (common practice,
    no published source). Its other effects are the shares that `fourpatch.car.estimation.aero` takes.
    """
    if getattr(getattr(car.aero, f"{end}_wing"), f"{end}_downforce_area_per_angle"):
        return {}
    stem, other = f"aero.{end}_wing", "rear" if end == "front" else "front"
    gain = 0.5 * 0.25 * 2.0 * math.pi / (1.0 + 2.0 / 6.0)
    return {
        f"{stem}.{end}_downforce_area_per_angle": gain,
        f"{stem}.{other}_downforce_area_per_angle": -OTHER_AXLE * gain,
        f"{stem}.drag_area_per_angle": WING_DRAG * gain,
    }


WING_GUESS: Final = Provenance(
    source="estimated", method="a small wing in the stream behind a car, by its span and chord", spread="60 %"
)
"""Where the values of a wing come from."""


def unknown_map(car: Car, setting: Setting, *, share: float, length: float) -> dict[str, Any]:
    """Return the map of a scale of which nobody knows the unit, kept within what its targets can be.

    Parameters
    ----------
    share : of the scale, at which it stands now and the car is as it is.
    length : of the scale, in its own numbers.

    Raises
    ------
    FieldsError
        If the car has nothing of it that a share could be taken of.
    """
    targets = [parameter(car, path) for path in setting.targets]
    low, _, high = setting.ends.partition(" to ")
    method = f"from one end to the other {setting.ends}, the car as it is where it stands now"
    guess = _guess(method, setting.spread)
    if not high:
        whole = min(
            _within(
                one.unit.parse_difference(low), one.value - one.unit.low, one.unit.high - one.value, share
            )
            for one in targets
        )
        return {"map": {"kind": "rate", "rate": targets[0].unit.show(whole / length)}, "provenance": guess}
    if any(one.value <= 0.0 for one in targets):
        raise FieldsError(
            {"unit": "is not known, and the car has none of it yet: no share can be taken. Choose a unit."}
        )
    whole = math.log(_percent(high) / _percent(low))
    size = abs(whole)
    for one in targets:
        down = math.log(one.value / one.unit.low) if one.unit.low > 0.0 else math.inf
        up = math.log(one.unit.high / one.value)
        below, above = (down, up) if whole > 0.0 else (up, down)
        size = _within(size, below, above, share)
    ends = [100.0 * math.exp(math.copysign(size, whole) * (end - share)) for end in (0.0, 1.0)]
    return {
        "sets": "factor",
        "map": {"kind": "unknown", "at_lowest": f"{ends[0]:.6g} %", "at_highest": f"{ends[1]:.6g} %"},
        "provenance": guess,
    }


def ramp_map(lowest: float, highest: float) -> dict[str, Any]:
    """Return the map from the angle of a ramp [deg] to a locking share."""
    if not _STEEPEST <= lowest < highest <= _FLATTEST:
        raise FieldsError(
            {"lowest": f"is {lowest:g}: ramps go from {_STEEPEST:g} to {_FLATTEST:g} deg, from the axis."}
        )
    steps = [lowest + (highest - lowest) * place / 8.0 for place in range(9)]
    values = [min(RAMP_LOCK / math.tan(math.radians(one)), 1.0) for one in steps]
    return {
        "map": {"kind": "table", "steps": steps, "values": [f"{100.0 * one:.6g} %" for one in values]},
        "provenance": _guess("locking share half the cotangent of the ramp's angle", "40 %"),
    }


def require_in_range(car: Car, one: Adjuster, values: Mapping[str, float]) -> None:
    """Refuse a scale whose ends the car cannot have, in the scale's own words.

    Parameters
    ----------
    values : of the car where the scale stands now, SI, as far as they differ from the car's own.
    """
    for path in one.targets:
        own = parameter(car, path)
        target = replace(own, value=values.get(path, own.value))
        unit = target.unit
        for field, end in (("lowest", one.lowest), ("highest", one.highest), ("now", one.baseline)):
            if unit.low <= (value := one.value(end, target)) <= unit.high:
                continue
            fits = [place for place in one.positions() if unit.low <= one.value(place, target) <= unit.high]
            own_value = (
                ""
                if one.overwrites() and not is_share(one)
                else (f" (where it stands now, {one.baseline:g}, this car has {unit.brief(target.value, 3)})")
            )
            said = (
                f"is {end:g}, which would be {unit.brief(value, 3)}{own_value}; {unit.range()} is possible."
            )
            near = min(fits, key=lambda place: abs(place - end), default=None)
            raise FieldsError({field: said if near is None else f"{said} The nearest that fits is {near:g}."})


def _within(whole: float, below: float, above: float, share: float) -> float:
    """Shorten a whole range so that its parts below and above where it stands have room."""
    room = (below / share if share > 0.0 else math.inf, above / (1.0 - share) if share < 1.0 else math.inf)
    return min(whole, _ROOM * min(room))


def _percent(text: str) -> float:
    return float(text.removesuffix("%"))


def _guess(method: str, spread: str) -> Provenance:
    said = f"{method}; common practice, no published source"
    return Provenance(source="estimated", method=said, spread=spread)
