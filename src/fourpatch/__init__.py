"""Fourpatch: what a set-up does to the four contact patches.

>>> import fourpatch as fp
>>> gt = fp.car("gt")
>>> gt.turn(front_rebound_low_speed=+3)
<Demo GT, set-up front rebound, low speed +3>

``fp.car`` and ``fp.track`` take a demo's name or a file, ``fp.KerbStrike`` and other events their settings;
all else is asked of what they return. docs/python.md shows it.
"""

import sys
from importlib import import_module
from types import ModuleType
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from fourpatch.errors import FourpatchError as FourpatchError
    from fourpatch.events.braking import Braking as Braking
    from fourpatch.events.braking_in_a_turn import BrakingInATurn as BrakingInATurn
    from fourpatch.events.corner import Corner as Corner
    from fourpatch.events.kerb_strike import KerbStrike as KerbStrike
    from fourpatch.events.measured_motion import MeasuredMotion as MeasuredMotion
    from fourpatch.events.measured_road import MeasuredRoad as MeasuredRoad
    from fourpatch.events.rough_road import RoughRoad as RoughRoad
    from fourpatch.events.steady_circle import SteadyCircle as SteadyCircle
    from fourpatch.events.step_steer import StepSteer as StepSteer
    from fourpatch.events.straight_acceleration import StraightAcceleration as StraightAcceleration
    from fourpatch.events.straight_braking import StraightBraking as StraightBraking
    from fourpatch.face.standing_car import car as car
    from fourpatch.face.standing_car import track as track

__version__ = "0.1.0"

_EVENTS = (
    "Braking",
    "BrakingInATurn",
    "Corner",
    "KerbStrike",
    "MeasuredMotion",
    "MeasuredRoad",
    "RoughRoad",
    "SteadyCircle",
    "StepSteer",
    "StraightAcceleration",
    "StraightBraking",
)
_FROM = {
    "FourpatchError": "fourpatch.errors",
    "car": "fourpatch.face.standing_car",
    "track": "fourpatch.face.standing_car",
    **dict.fromkeys(_EVENTS, "fourpatch.face.events"),
}
"""Where each word of the face comes from; nothing of it is loaded before it is used."""

__all__ = ["__version__", *_FROM]


class _AlsoAWord(ModuleType):
    """A package that is also a word: ``fourpatch.car`` holds what a car is, ``fp.car("gt")`` returns one."""

    def __call__(self, *given: Any, **named: Any) -> Any:
        word = self.__name__.rpartition(".")[2]
        return getattr(import_module(_FROM[word]), word)(*given, **named)


class _Face(ModuleType):
    """The package itself: lets a package below it be called where its name is a word too."""

    def __setattr__(self, name: str, value: object) -> None:
        if name in _FROM and isinstance(value, ModuleType):
            value.__class__ = _AlsoAWord
        super().__setattr__(name, value)


sys.modules[__name__].__class__ = _Face


def __getattr__(name: str) -> Any:
    """Return a word of the face, loading what it needs."""
    if name not in _FROM:
        raise AttributeError(f"module {__name__} has no attribute {name}")
    if name in ("car", "track"):
        return import_module(f"{__name__}.{name}")
    return getattr(import_module(_FROM[name]), name)


def __dir__() -> list[str]:
    """Return the words of the face, for whoever presses tab."""
    return sorted(__all__)
