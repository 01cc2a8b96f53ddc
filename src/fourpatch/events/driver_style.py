"""How a driver drives: what he looks at, how quick his hands and feet are, how far he dares."""

from typing import Annotated

from fourpatch.document.part import Part
from fourpatch.units import Unit

PedalRate = Annotated[float, Unit("1/s", "1/s", 0.2, 50.0)]


class DriverStyle(Part):
    """A driver's habits. Rates are of the steering wheel and of pedals from nothing to all."""

    preview: Annotated[float, Unit("s", "s", 0.2, 3.0)] = 0.5
    """How far ahead he aims to be on his line again."""
    yaw_share: Annotated[float, Unit("1", "1", 0.0, 3.0)] = 2.5
    """Steer he adds for a car that turns too slowly or too fast, over what would turn it at once."""
    arm_lag: Annotated[float, Unit("s", "s", 0.01, 0.5)] = 0.06
    """Time his arms take to follow what he wants."""
    steering_rate: Annotated[float, Unit("rad/s", "deg/s", 0.5, 40.0)] = 14.0
    """Fastest he turns the steering wheel."""
    anticipation: Annotated[float, Unit("s", "s", 0.0, 1.0)] = 0.1
    """How far ahead he reads the speed a place can be taken at."""
    urgency: Annotated[float, Unit("1/s", "1/s", 0.2, 20.0)] = 3.0
    """Acceleration he asks for per difference of speed."""
    throttle_rate: PedalRate = 4.0
    """Opening the throttle."""
    brake_rate: PedalRate = 8.0
    """Pressing the brake."""
    release_rate: PedalRate = 5.0
    """Letting go of the brake."""
    trail_braking: Annotated[float, Unit("1", "%", 0.0, 1.0)] = 1.0
    """How much of the grip that cornering leaves he uses to brake while he turns in."""
    spin: Annotated[float, Unit("1", "%", 0.01, 1.0)] = 0.10
    """Slip of a driven wheel from which he eases the throttle."""
    lock: Annotated[float, Unit("1", "%", 0.01, 1.0)] = 0.10
    """Slip of a braked wheel from which he eases the brake."""


class DriverScatter(Part):
    """By how much a driver's laps differ: one standard deviation of each."""

    brake_point: Annotated[float, Unit("m", "m", 0.0, 50.0)] = 3.0
    """Spread of where he means to brake for a corner. Where he brakes later he arrives faster and meets his
    limit sooner, so the places where he does brake are a quarter less far apart on a straight."""
    corner_speed: Annotated[float, Unit("1", "%", 0.0, 0.2)] = 0.006
    """Spread of the speed he judges right for a corner."""
    steering: Annotated[float, Unit("rad", "deg", 0.0, 0.5)] = 0.02
    """Spread of the steering wheel about where he means to hold it."""
