"""What a rule of thumb says, written so that it can be computed: a change, and what it is said to do."""

from collections.abc import Callable
from dataclasses import dataclass
from typing import Literal, NamedTuple

from fourpatch.analysis.damper_map import Part
from fourpatch.car.car import Car

SOURCE = "common practice, no published source"
"""Where every rule comes from."""

About = Literal["load", "lateral share", "attitude", "grip"]
"""What a claim is about: load of an axle; load moved across it; how the body stands; grip used or left."""

Subject = Literal["dampers", "springs", "anti-roll bars", "geometry", "brakes", "differential", "aero"]

CORNERS = ("slow corner", "medium corner", "fast corner")
TURN_INS = ("slow turn-in", "medium turn-in", "fast turn-in")
"""The same corners entered at constant speed, without a brake to release."""
ROADS = ("class A road", "class B road", "class C road")
KERBS = ("short kerb", "long kerb")


class Damping(NamedTuple):
    """Factors on the damping of one axle."""

    axle: Literal["front", "rear"]
    bump: float = 1.0
    rebound: float = 1.0
    part: Part = "all"


class Shift(NamedTuple):
    """A change of one parameter, SI."""

    path: str
    amount: float
    how: Literal["times", "plus"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Change:
    """What is changed on the car, and how it is called."""

    name: str
    """As a driver would say it, with its size."""
    dampers: tuple[Damping, ...] = ()
    shifts: tuple[Shift, ...] = ()
    ratio: float | None = None
    """Rebound over bump given to both axles, the sum of the two kept. [1]"""


@dataclass(frozen=True, slots=True, kw_only=True)
class Claim:
    """One thing a rule says will happen."""

    says: str
    """Of the change as said, the rest of a sentence."""
    about: About
    quantity: str
    """One of `quantities.QUANTITIES`."""
    axle: Literal["", "front", "rear"] = ""
    way: Literal["rises", "falls", "stays", "costs little", "smoother is wider"]
    """How the number is said to answer the change."""
    events: tuple[str, ...]
    windows: tuple[str, ...] = ("",)
    """Phases, or halves of them: ``entry.early``; empty for a road or kerb."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Rule:
    """A rule of the trade, in our own words. Source: common practice, no published source."""

    name: str
    subject: Subject
    saying: str
    change: Change
    back: Change
    """The change the other way; it is said to do the opposite."""
    before: Change | None = None
    """From where both are counted, if not from the car as it stands."""
    claims: tuple[Claim, ...]
    """The first is what the rule is used for."""
    lacks: Callable[[Car], str] = lambda car: ""
    """What the car lacks for the rule to apply; empty if nothing."""
