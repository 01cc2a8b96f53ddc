"""What a driver knows of a car without measuring it."""

from typing import Annotated, Literal, Self

from pydantic import Field, field_validator, model_validator

from fourpatch.car.estimation.classes import Body, Downforce, Grip
from fourpatch.car.parameters import Area
from fourpatch.car.tyre_size import tyre_size
from fourpatch.document.part import Part
from fourpatch.units import Unit

_NOT_KNOWN = {"", "?", "-", "not known", "unknown", "i don't know", "don't know", "no idea"}
"""What people write for a number that they do not know."""


class CarBrief(Part):
    """What a driver knows of a car without measuring it."""

    name: str = Field(min_length=1, max_length=80)
    """What the car is called."""
    mass: Annotated[float, Unit("kg", "kg", 250.0, 4000.0)]
    """Whole car with driver, without fuel."""
    front_weight_share: Annotated[float, Unit("1", "%", 0.3, 0.7)] | None = None
    """Share of the weight on the front axle; guessed if left open."""
    wheelbase: Annotated[float, Unit("m", "mm", 1.5, 4.0)]
    """Front to rear axle."""
    driven: Literal["front", "rear", "all"]
    """Driven wheels."""
    power: Annotated[float, Unit("W", "kW", 2e4, 1.5e6)] | None = None
    """Largest power of the engine; guessed if left open."""
    front_tyre: str | None = None
    """Size text, such as 205/55R16; guessed if left open."""
    rear_tyre: str | None = None
    """Size text; guessed if left open."""
    grip: Grip
    """Class of the tyres."""
    body: Body
    """Kind of the car; a saloon stands for coupes and estates, sports for mid-engined and GT cars."""
    downforce: Downforce = "none"
    """Level of downforce: low for a lip and a small wing, high for a car made for it."""
    front_downforce_area: Area | None = None
    """Downforce over dynamic pressure at the front axle, where known; then give the rear one too."""
    rear_downforce_area: Area | None = None
    """Downforce over dynamic pressure at the rear axle, where known."""
    top_speed: Annotated[float, Unit("m/s", "km/h", 25.0, 130.0)] | None = None
    """Speed the car is geared for; without it, the speed at which drag takes all power."""

    @field_validator("front_weight_share", "power", "front_tyre", "rear_tyre", mode="before")
    @classmethod
    def _may_be_unknown(cls, value: object) -> object:
        return None if isinstance(value, str) and value.strip().lower().rstrip(".") in _NOT_KNOWN else value

    @field_validator("front_tyre", "rear_tyre")
    @classmethod
    def _is_a_size(cls, text: str | None) -> str | None:
        if text is not None:
            tyre_size(text)
        return text

    @model_validator(mode="after")
    def _both_areas_or_none(self) -> Self:
        if (self.front_downforce_area is None) != (self.rear_downforce_area is None):
            raise ValueError("give front_downforce_area and rear_downforce_area together, or neither")
        return self
