"""The settings that cars usually have: what each acts on, its usual unit, and what it plausibly does.

What a scale without a unit plausibly does is common practice, no published source.
"""

from collections.abc import Iterator, Mapping
from typing import Final, Literal, NamedTuple

from fourpatch.car.car import Car
from fourpatch.car.parameters import MeasuredDamper, PlateDifferential
from fourpatch.car.paths import parameter
from fourpatch.errors import CarError

UNKNOWN: Final = "not known"
"""In the place of a unit."""

RAMP: Final = "deg ramp"
"""Angle of a ramp that presses the plates together, from the axis: the flatter, the less."""

RATIO: Final = "ratio"
"""A plain number."""

KEPT: Final = "as it is"
"""In the place of a unit: what a step does stays as somebody has said it, for a scale of the same steps."""

ENDS: Final = ("front", "rear")

UNITS: Final[Mapping[str, tuple[str, ...]]] = {
    "bar": ("bar", "psi", "kPa"),
    "deg": ("deg",),
    "mm": ("mm", "in"),
    "N/mm": ("N/mm", "lbf/in", "kgf/mm"),
    "%": ("%",),
    "N*m": ("N*m", "lbf*ft"),
    "kg": ("kg", "lb"),
}
"""In which a scale may be, by the first of them."""

_MEASURES: Final = {"bar": "Pa", "deg": "rad", "mm": "m", "N/mm": "N/m", "%": "1", "N*m": "N*m", "kg": "kg"}
_BIAS = (45.0, 65.0, 1.0)
_CLICKS = (1.0, 11.0, 1.0)


class Setting(NamedTuple):
    """A setting that cars usually have."""

    key: str
    """By which it is called here, and the adjuster too."""
    system: str
    targets: tuple[str, ...]
    unit: str
    """In which its number may be the value; empty if nobody knows a unit for it."""
    ends: str
    """Without a unit: how many times the car's own value the ends give, or how far they are apart."""
    more: str
    """What a higher number does."""
    spread: str = "50 %"
    """How unsure `ends` is."""
    stiffer: Literal["up", "down", "none"] = "none"
    known: Literal["value", "counted", "share"] = "value"
    """With a unit, whether the number is the value, counts changes of it from where it stands, or is a share
    of pressure."""
    scale: tuple[float, float, float] = (1.0, 10.0, 1.0)
    """Lowest, highest and step of a scale without a unit, as a first proposal."""

    @property
    def axle(self) -> Literal["front", "rear", "car"]:
        """The end of the car it acts on."""
        first = self.targets[0].split(".")[0]
        return "front" if first == "front" else "rear" if first == "rear" else "car"


def settings_of(car: Car) -> tuple[Setting, ...]:
    """Return the settings that a car may have, in the order of a garage screen."""
    found = [one for end in ENDS for one in (*_wheel(end), *_springs(end), *_dampers(car, end), *_wing(end))]
    found = [*found, *_brakes_and_drive(car)]
    order = list(dict.fromkeys(one.system for one in found))
    found.sort(key=lambda one: order.index(one.system))
    return tuple(one for one in found if _exists(car, one))


def units_for(setting: Setting) -> tuple[str, ...]:
    """Return the units that may be chosen for a setting."""
    known = UNITS.get(setting.unit, (setting.unit,)) if setting.unit else ()
    return (*known, UNKNOWN)


def si_of(unit: str) -> str:
    """Return the SI unit of what a unit of a scale measures."""
    return next(_MEASURES[first] for first, others in UNITS.items() if unit in others)


def _wheel(end: str) -> Iterator[Setting]:
    hot = "hot: a stiffer tyre with a shorter contact patch"
    pressure, angles = (f"{end}.tyre.pressure",), "camber and toe"
    yield Setting(f"{end} tyre pressure", "tyres", pressure, "bar", "85 % to 118 %", hot, "30 %", "up")
    yield Setting(f"{end} camber", angles, (f"{end}.camber",), "deg", "4 deg", "wheels more upright")
    yield Setting(f"{end} toe", angles, (f"{end}.toe",), "deg", "0.6 deg", "more toe-in at each wheel")


def _springs(end: str) -> Iterator[Setting]:
    height, spring, bar = (f"{end}.ride_height",), (f"{end}.spring.rate",), (f"{end}.bar.rate",)
    higher, roll = "this end of the car higher over the road", "more roll stiffness at this end"
    travel = "more force per travel in roll, heave and pitch"
    yield Setting(f"{end} ride height", "ride height", height, "mm", "30 mm", higher, known="counted")
    yield Setting(f"{end} spring", "springs", spring, "N/mm", "65 % to 160 %", travel, "40 %", "up")
    scale = (1.0, 5.0, 1.0)
    yield Setting(
        f"{end} bar", "anti-roll bars", bar, "N/mm", "35 % to 260 %", roll, "50 %", "up", "value", scale
    )


def _dampers(car: Car, end: str) -> Iterator[Setting]:
    measured = isinstance(getattr(car, end).damper, MeasuredDamper)
    stem = f"{end}.damper"

    def knob(name: str, targets: tuple[str, ...], more: str) -> Setting:
        force = f"more force against the wheel moving {more}"
        ends = "40 % to 250 %"
        return Setting(f"{end} {name}", "dampers", targets, "", ends, force, "50 %", "up", "value", _CLICKS)

    def of(moves: str) -> tuple[str, ...]:
        speeds = tuple(f"{stem}.{moves}.{speed}_speed" for speed in ("low", "high"))
        return (f"{stem}.{moves}_factor",) if measured else speeds

    yield knob("damper", (*of("bump"), *of("rebound")), "either way")
    for moves, way in (("bump", "up"), ("rebound", "down")):
        yield knob(moves, of(moves), way)
        for speed, how in (("low", "slowly"), ("high", "fast")) if not measured else ():
            yield knob(f"{moves}, {speed} speed", (f"{stem}.{moves}.{speed}_speed",), f"{way} {how}")


def _wing(end: str) -> Iterator[Setting]:
    angle, more = (f"aero.{end}_wing.angle",), "more downforce at this end, and drag"
    yield Setting(f"{end} wing", "aero", angle, "deg", "12 deg", more, known="counted")


def _brakes_and_drive(car: Car) -> Iterator[Setting]:
    share, forward = ("brakes.front_share",), "more of the braking in front"
    yield Setting("brake bias", "brakes", share, "%", "16 %", forward, "40 %", "none", "share", _BIAS)
    for end in ENDS:
        if isinstance(getattr(car.driveline, f"{end}_differential"), PlateDifferential):
            yield from _plates(end)
    final, scale = ("driveline.final_drive",), (1.0, 5.0, 1.0)
    short, gears = "shorter: more pull, less speed in each gear", "88 % to 114 %"
    yield Setting("final drive", "gears", final, RATIO, gears, short, "30 %", "none", "value", scale)
    for gear in range(1, len(car.driveline.gear_ratios) + 1):
        own, gears = (f"driveline.gear_ratios.{gear}",), "96 % to 104 %"
        yield Setting(f"gear {gear}", "gears", own, RATIO, gears, "a shorter gear", "30 %", scale=scale)
    yield Setting("fuel", "fuel", ("fuel.mass",), "kg", "20 kg", "a heavier car")


def _plates(end: str) -> Iterator[Setting]:
    stem, name, system = f"driveline.{end}_differential", f"{end} differential", "differential"
    scale = (1.0, 5.0, 1.0)
    preload = (f"{stem}.preload",)
    free, flat = "locked more without torque", "a flatter ramp: locked less"
    yield Setting(f"{name} preload", system, preload, "N*m", "40 % to 250 %", free, scale=scale)
    for part, when in (("power", "under power"), ("coast", "on the overrun")):
        lock, more = (f"{stem}.{part}_lock",), f"locked more {when}"
        yield Setting(f"{name} {part} lock", system, lock, "%", "50 % to 200 %", more, scale=scale)
        yield Setting(f"{name} {part} ramp", system, lock, RAMP, "200 % to 50 %", flat, scale=scale)


def _exists(car: Car, one: Setting) -> bool:
    """Say whether a car has what a setting changes."""
    try:
        return all(parameter(car, path).path for path in one.targets)
    except CarError:
        return False
