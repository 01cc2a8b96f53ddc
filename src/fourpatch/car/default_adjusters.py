"""What a driver can usually change on a car, as a first list of adjusters to correct.

Where a setting is read in its own unit (pressure, angle, height, rate) the scale is that unit. Damper
knobs have clicks that nobody has labelled: theirs is an unknown map with a wide spread.
"""

from collections.abc import Iterator
from math import floor
from typing import NamedTuple

from fourpatch.car.adjusters import Adjuster, DirectMap, UnknownMap
from fourpatch.car.car import Car
from fourpatch.car.parameters import PlateDifferential
from fourpatch.car.paths import parameter
from fourpatch.car.provenance import Provenance
from fourpatch.units import to_si

_CLICKS = 20
_SOFTEST, _STIFFEST = "40 %", "250 %"


class _Scale(NamedTuple):
    """An adjuster read in its own unit, some steps below and above the car's own value."""

    name: str
    system: str
    axle: str
    target: str
    unit: str
    step: float
    below: int
    above: int
    stiffer: str
    more_means: str


def default_adjusters(car: Car) -> list[Adjuster]:
    """Return a first list of adjusters for a car, with the car's own values as their baseline.

    Notes
    -----
    Ranges and steps are common practice, no published source; a range ends where the parameter's own
    does. An adjuster of a part that the car has not (wing, plate differential) is left out.
    """
    scales = [scale for end in ("front", "rear") for scale in (*_wheel(end), *_springs(car, end))]
    dampers = [knob for end in ("front", "rear") for knob in _damper(end)]
    return [
        *(_direct(car, scale) for scale in scales),
        *dampers,
        *(_direct(car, scale) for scale in _rest(car)),
    ]


def _wheel(end: str) -> Iterator[_Scale]:
    tyres, angles = "tyres", "camber and toe"
    shorter = "hot: a stiffer tyre with a shorter contact patch"
    yield _Scale(
        f"{end} tyre pressure", tyres, end, f"{end}.tyre.pressure", "bar", 0.05, 10, 10, "up", shorter
    )
    yield _Scale(
        f"{end} camber", angles, end, f"{end}.camber", "deg", 0.1, 15, 15, "none", "wheels more upright"
    )
    yield _Scale(
        f"{end} toe", angles, end, f"{end}.toe", "deg", 0.05, 6, 6, "none", "more toe-in at each wheel"
    )


def _springs(car: Car, end: str) -> Iterator[_Scale]:
    rate = parameter(car, f"{end}.spring.rate").value / 1e3
    bar = parameter(car, f"{end}.bar.rate").value / 1e3
    height, higher = f"{end}.ride_height", "this end of the car higher over the road"
    stiffer = "more force per travel in roll, heave and pitch"
    in_roll = "more roll stiffness at this end, at the drop links; 0 is no bar"
    later = "more wheel travel before the bump stop: packers taken out"
    up = min(
        10, floor(0.8e3 * getattr(car, end).droop_stop.wheel_gap)
    )  # the body lifts off its springs there
    gap, step = f"{end}.bump_stop.gap", float(max(1, round(rate / 20.0)))
    bar_step = float(max(1, round((bar or 0.5 * rate) / 10.0)))
    yield _Scale(f"{end} ride height", "ride height", end, height, "mm", 1.0, 10, up, "none", higher)
    yield _Scale(f"{end} spring", "springs", end, f"{end}.spring.rate", "N/mm", step, 8, 10, "up", stiffer)
    yield _Scale(f"{end} bump-stop gap", "springs", end, gap, "mm", 1.0, 12, 12, "none", later)
    yield _Scale(
        f"{end} bar", "anti-roll bars", end, f"{end}.bar.rate", "N/mm", bar_step, 8, 10, "up", in_roll
    )


def _rest(car: Car) -> Iterator[_Scale]:
    forward = "more of the braking in front"
    yield _Scale("brake bias", "brakes", "car", "brakes.front_share", "%", 0.5, 16, 16, "none", forward)
    for end in ("front", "rear"):
        stem = f"driveline.{end}_differential"
        if isinstance(getattr(car.driveline, f"{end}_differential"), PlateDifferential):
            rows = (
                ("preload", "N*m", 10.0, "locked more without torque"),
                ("power_lock", "%", 5.0, "locked more under power"),
                ("coast_lock", "%", 5.0, "locked more on the overrun"),
            )
            for part, unit, step, more in rows:
                name = f"{end} differential {part.replace('_', ' ')}"
                yield _Scale(name, "differential", end, f"{stem}.{part}", unit, step, 10, 10, "none", more)
    for end, wing in (("front", car.aero.front_wing), ("rear", car.aero.rear_wing)):
        if getattr(wing, f"{end}_downforce_area_per_angle"):
            more = "more downforce at this end, and drag"
            yield _Scale(
                f"{end} wing", "aero", "car", f"aero.{end}_wing.angle", "deg", 1.0, 5, 5, "none", more
            )
    yield _Scale("fuel", "fuel", "car", "fuel.mass", "kg", 5.0, 4, 12, "none", "a heavier car")


def _direct(car: Car, scale: _Scale) -> Adjuster:
    """Return the adjuster of a scale, kept within the range of its parameter."""
    found = parameter(car, scale.target)
    size = to_si(1.0, scale.unit, found.unit.si)
    own = found.value / size
    down = min(scale.below, floor((own - found.unit.low / size) / scale.step + 1e-6))
    up = min(scale.above, floor((found.unit.high / size - own) / scale.step + 1e-6))
    return Adjuster.model_validate(
        {
            "name": scale.name,
            "system": scale.system,
            "axle": scale.axle,
            "targets": [scale.target],
            "unit": scale.unit,
            "lowest": round(own - down * scale.step, 6),
            "highest": round(own + up * scale.step, 6),
            "step": scale.step,
            "baseline": round(own, 6),
            "stiffer": scale.stiffer,
            "more_means": scale.more_means,
            "map": DirectMap(kind="direct", unit=scale.unit),
        }
    )


def _damper(end: str) -> Iterator[Adjuster]:
    """Yield the four knobs of an axle's dampers, in clicks nobody has labelled."""
    guess = Provenance(
        source="estimated",
        method="ends of the knob at 0.4 and 2.5 times the estimate: common practice, no published source",
        spread="50 %",
    )
    for direction, moves in (("bump", "up"), ("rebound", "down")):
        for speed, how in (("low_speed", "slowly"), ("high_speed", "fast")):
            yield Adjuster.model_validate(
                {
                    "name": f"{end} {direction}, {speed.replace('_', ' ')}",
                    "system": "dampers",
                    "axle": end,
                    "targets": [f"{end}.damper.{direction}.{speed}"],
                    "sets": "factor",
                    "unit": "clicks",
                    "lowest": 0.0,
                    "highest": float(_CLICKS),
                    "baseline": float(_CLICKS // 2),
                    "stiffer": "up",
                    "more_means": f"more force against the wheel moving {moves} {how}",
                    "map": UnknownMap(kind="unknown", at_lowest=_SOFTEST, at_highest=_STIFFEST),
                    "provenance": guess,
                }
            )
