"""What is known, and the book in which each estimate is written down with its method and spread."""

from typing import Any, Literal, NamedTuple

import numpy as np

from fourpatch.car.estimation.brief import CarBrief
from fourpatch.car.estimation.classes import BodyKind, DownforceLevel, GripClass
from fourpatch.car.gravity import GRAVITY
from fourpatch.car.provenance import GIVEN, Provenance
from fourpatch.car.tyre_size import TyreSize

End = Literal["front", "rear"]

ENDS: tuple[End, End] = ("front", "rear")
PRACTICE = "common practice, no published source"
OPEN_CARS = "three open vehicle data sets (CommonRoad: Vehicle Models, 2020)"
TYRE_SETS = "published tyre sets of 1987 and 2006"

AIR_DENSITY = 1.2
_DOWNFORCE_SPEED = 50.0  # m/s at which tyres and brakes are sized
_ROLLING_RESISTANCE = 0.013


class Known(NamedTuple):
    """The brief, read."""

    brief: CarBrief
    front_weight_share: float
    """Of the brief, or guessed where that does not know it."""
    power: float
    """Likewise. [W]"""
    grip: GripClass
    body: BodyKind
    level: DownforceLevel
    tyres: dict[End, TyreSize]


class Book:
    """Values by dotted name, and where each came from."""

    def __init__(self) -> None:
        self.values: dict[str, Any] = {}
        self.provenance: dict[str, Provenance] = {}

    def __getitem__(self, path: str) -> Any:
        """Return a value written before."""
        return self.values[path]

    def given(self, path: str, value: Any) -> None:
        """Write down what the brief says."""
        self.values[path] = value
        self.provenance[path] = GIVEN

    def estimate(self, path: str, value: Any, spread: str, method: str, *, alike: str = "") -> None:
        """Write down an estimate with one standard deviation, how it was made, how alike both axles are."""
        self.values[path] = value
        self.provenance[path] = Provenance(source="estimated", method=method, spread=spread, alike=alike)

    def nested(self) -> dict[str, Any]:
        """Return the values as tables within tables, as the car's model reads them."""
        tree: dict[str, Any] = {}
        for path, value in self.values.items():
            *parts, last = path.split(".")
            table = tree
            for part in parts:
                table = table.setdefault(part, {})
            table[last] = value
        return tree


def at_end(pair: tuple[float, float], end: End) -> float:
    """Return the front or the rear of a pair."""
    return pair[ENDS.index(end)]


def wheel_load(known: Known, end: End) -> float:
    """Return the static load of one wheel [N]."""
    front = known.front_weight_share
    return 0.5 * known.brief.mass * GRAVITY * (front if end == "front" else 1.0 - front)


def mean_load(book: Book, known: Known) -> float:
    """Return the mean wheel load with downforce at 50 m/s [N]."""
    downforce = sum(max(book[f"aero.map.{end}_downforce.constant"], 0.0) for end in ENDS)
    return float(0.25 * (known.brief.mass * GRAVITY + 0.5 * AIR_DENSITY * _DOWNFORCE_SPEED**2 * downforce))


def sprung_mass(book: Book, known: Known) -> float:
    """Return the mass of the car without its wheels [kg]."""
    return float(known.brief.mass - 2.0 * sum(book[f"{end}.unsprung_mass"] for end in ENDS))


def sprung_corner_mass(book: Book, known: Known, end: End) -> float:
    """Return the mass that one corner's spring carries [kg]."""
    return float(wheel_load(known, end) / GRAVITY - book[f"{end}.unsprung_mass"])


def ride_frequency(known: Known, end: End) -> float:
    """Return the ride frequency of the class, tyre in series [Hz]."""
    front = known.grip.ride_frequency + known.level.added_frequency
    return front * (known.grip.rear_to_front_frequency if end == "rear" else 1.0)


def top_speed(book: Book, known: Known) -> float:
    """Return the speed at which drag and rolling resistance take all power [m/s]."""
    drag = 0.5 * AIR_DENSITY * book["aero.map.drag.constant"]
    rolling = _ROLLING_RESISTANCE * known.brief.mass * GRAVITY
    roots = np.roots([drag, 0.0, rolling, -book["driveline.efficiency"] * known.power])
    return float(roots[np.abs(roots.imag) < 1e-9].real.max())
