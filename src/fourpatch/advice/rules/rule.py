"""What a rule of thumb says, written so that it can be computed: a change, and what it is said to do."""

import re
from dataclasses import dataclass
from typing import Literal, NamedTuple

from fourpatch.analysis.damper_map import Part
from fourpatch.car.car import Car
from fourpatch.car.paths import parameter
from fourpatch.errors import CarError

SOURCE = "common practice, no published source"
"""Where every rule comes from."""

About = Literal["load", "lateral share", "attitude", "grip"]
"""What a claim is about: load of an axle; load moved across it; how the body stands; grip used or left."""

Way = Literal["rises", "falls", "stays", "costs little", "smoother is wider"]
"""How a number is said to answer a change."""

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
    way: Way
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

    def lacks(self, car: Car) -> str:
        """Return what a car lacks for the rule to apply; empty if nothing."""
        missing = [text for shift in self.change.shifts if (text := _lacking(car, shift.path))]
        ends = [one.split()[1] for one in missing if one.endswith("anti-roll bar")]
        if ends:
            return f"no {' or '.join(ends)} anti-roll bar"
        return missing[0] if missing else ""


def _lacking(car: Car, path: str) -> str:
    """Return what a car lacks of what a parameter is of; empty if nothing."""
    end, _, rest = path.partition(".")
    if rest == "bar.rate":
        return f"no {end} anti-roll bar" if parameter(car, path).value == 0.0 else ""
    if wing := re.match(r"aero\.(front|rear)_wing\.", path):
        slope = f"{wing[1]}_downforce_area_per_angle"
        has = getattr(getattr(car.aero, f"{wing[1]}_wing"), slope, 0.0)
        return "" if has else f"no adjustable {wing[1]} wing"
    if path.startswith("driveline.rear_differential.") and car.driveline.front_drive_share == 1.0:
        return "no plate differential at the rear"
    try:
        parameter(car, path)
    except CarError:
        plates = path.startswith("driveline.rear_differential.")
        return "no plate differential at the rear" if plates else f"no {path}"
    return ""
