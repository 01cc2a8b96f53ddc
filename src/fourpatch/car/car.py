"""A car: its parameters, what the driver may change of them, where they came from, what was observed."""

from pydantic import Field

from fourpatch.car.adjusters import Adjuster
from fourpatch.car.evidence import Item
from fourpatch.car.parameters import Aero, Axle, Brakes, Chassis, Driveline, Fuel, Steering
from fourpatch.car.provenance import Provenance
from fourpatch.document.part import Part


class Car(Part):
    """Everything that does not change between runs, and the adjusters that do."""

    name: str = Field(min_length=1, max_length=80)
    """What the car is called."""
    note: str = ""
    """Anything worth knowing about it."""
    chassis: Chassis
    fuel: Fuel = Fuel()
    front: Axle
    rear: Axle
    steering: Steering
    brakes: Brakes
    driveline: Driveline
    aero: Aero
    adjusters: list[Adjuster] = Field(default_factory=list)
    """What the driver may change, in the order they are shown."""
    provenance: dict[str, Provenance] = Field(default_factory=dict)
    """Where each parameter came from, by its dotted name; those not named are given by the user."""
    evidence: list[Item] = Field(default_factory=list, max_length=500)
    """What was observed of the real car, the oldest first."""
