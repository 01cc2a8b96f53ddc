"""A kerb taken at constant speed, by one side of the car or by both."""

from typing import Annotated, Literal, Self

from pydantic import model_validator

from fourpatch.car.car import Car
from fourpatch.document.part import Part
from fourpatch.errors import TrackError
from fourpatch.events.motion import RigMotion, half_steps, straight_inputs
from fourpatch.events.phase import Phase
from fourpatch.track.kerb import (
    FlatToppedKerb,
    HalfSineKerb,
    Kerb,
    RampedKerb,
    SausageKerb,
    SawToothKerb,
    Side,
    kerbed_straight,
)
from fourpatch.units import Unit

_BEFORE = 0.1  # quiet driving before the kerb [s]


class KerbStrike(Part):
    """Drive straight over a kerb."""

    kind: Literal["kerb-strike"] = "kerb-strike"
    speed: Annotated[float, Unit("m/s", "km/h", 2.0, 110.0)] = 30.0
    """Held throughout."""
    shape: Literal["flat-topped", "ramped", "saw-tooth", "sausage", "half-sine"] = "ramped"
    """Cross-section along the road."""
    height: Annotated[float, Unit("m", "mm", 1e-3, 0.3)] = 0.05
    """Of the highest point."""
    length: Annotated[float, Unit("m", "m", 0.2, 50.0)] = 1.5
    """Along the road."""
    tooth_length: Annotated[float, Unit("m", "m", 0.1, 10.0)] = 0.5
    """Of one tooth of a saw-tooth kerb; the others have none."""
    side: Literal["left", "right", "both"] = "left"
    """Wheels that cross it."""
    recovery: Annotated[float, Unit("s", "s", 0.2, 10.0)] = 1.2
    """Time observed after the rear wheels have left it."""

    @model_validator(mode="after")
    def _kerb_can_be(self) -> Self:
        try:
            self.kerb()
        except TrackError as error:
            raise ValueError(str(error)) from None
        return self

    def kerb(self) -> Kerb:
        """Return the cross-section."""
        match self.shape:
            case "flat-topped":
                return FlatToppedKerb(height=self.height, length=self.length)
            case "ramped":
                return RampedKerb(height=self.height, length=self.length)
            case "saw-tooth":
                return SawToothKerb(height=self.height, length=self.length, tooth_length=self.tooth_length)
            case "sausage":
                return SausageKerb(height=self.height, length=self.length)
            case "half-sine":
                return HalfSineKerb(height=self.height, length=self.length)

    def motion(self, car: Car, step: float) -> RigMotion:
        """Return what the rig does, at half steps of ``step`` [s]."""
        start = _BEFORE * self.speed + 0.5
        reached = start / self.speed
        left = (start + self.length + car.chassis.wheelbase + car.rear.tyre.contact_length) / self.speed
        time = half_steps(left + self.recovery, step)
        profile = kerbed_straight(
            kerb=self.kerb(),
            start=start,
            side=Side(self.side),
            length=start + self.length + 2.0,
            spacing=0.01,
        )
        return RigMotion(
            name=f"{self.shape} kerb of {self.height * 1e3:g} mm at {self.speed * 3.6:.0f} km/h",
            step=step,
            inputs=straight_inputs(car, profile, time=time, speed=self.speed),
            store_every=max(1, round(1e-3 / step)),
            phases=(
                Phase("straight", 0.0, reached),
                Phase("kerb", reached, left),
                Phase("recovery", left, float(time[-1]) + step),
            ),
        )
