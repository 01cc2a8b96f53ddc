"""Kerbs of a track: where they lie along an edge, and how they are shaped."""

from typing import Annotated, Final, Literal, Self

import numpy as np
from pydantic import Field, model_validator

from fourpatch.document.part import Part
from fourpatch.errors import TrackError
from fourpatch.track.kerb import (
    EDGE_LENGTH,
    FlatToppedKerb,
    HalfSineKerb,
    Kerb,
    RampedKerb,
    SausageKerb,
    SawToothKerb,
)
from fourpatch.track.road import FloatArray
from fourpatch.units import Unit

Distance = Annotated[float, Unit("m", "m", 0.0, 50000.0)]
KerbHeight = Annotated[float, Unit("m", "mm", 1e-3, 0.3)]
KerbLength = Annotated[float, Unit("m", "m", 0.2, 500.0)]
EdgeLength = Annotated[float, Unit("m", "mm", 0.005, 2.0)]
TrackSide = Literal["left", "right"]

OTHER_EDGE: Final[dict[TrackSide, TrackSide]] = {"left": "right", "right": "left"}


class FlatTopped(Part):
    """Ramp up, flat, ramp down."""

    kind: Literal["flat-topped"] = "flat-topped"
    height: KerbHeight
    """Of the flat top."""
    length: KerbLength
    """Along the road, both ramps included."""
    ramp_length: EdgeLength = EDGE_LENGTH
    """Of each ramp."""

    def cross_section(self) -> Kerb:
        """Return the shape along the road."""
        return FlatToppedKerb(height=self.height, length=self.length, ramp_length=self.ramp_length)


class Ramped(Part):
    """One slope up, then a drop."""

    kind: Literal["ramped"] = "ramped"
    height: KerbHeight
    """At the top of the slope."""
    length: KerbLength
    """Along the road, the drop included."""
    edge_length: EdgeLength = EDGE_LENGTH
    """Of the short ramp that stands for the drop."""

    def cross_section(self) -> Kerb:
        """Return the shape along the road."""
        return RampedKerb(height=self.height, length=self.length, edge_length=self.edge_length)


class SawTooth(Part):
    """A row of teeth, each one slope up and a drop."""

    kind: Literal["saw-tooth"] = "saw-tooth"
    height: KerbHeight
    """Of the teeth."""
    length: KerbLength
    """Along the road, a whole number of teeth."""
    tooth_length: Annotated[float, Unit("m", "m", 0.1, 10.0)]
    """Of one tooth, its drop included."""
    edge_length: EdgeLength = EDGE_LENGTH
    """Of the short ramp that stands for the drop of a tooth."""

    def cross_section(self) -> Kerb:
        """Return the shape along the road."""
        return SawToothKerb(
            height=self.height,
            length=self.length,
            tooth_length=self.tooth_length,
            edge_length=self.edge_length,
        )


class Sausage(Part):
    """A rounded hump: the cap of a circle."""

    kind: Literal["sausage"] = "sausage"
    height: KerbHeight
    """Of the top."""
    length: KerbLength
    """Along the road, from foot to foot."""

    def cross_section(self) -> Kerb:
        """Return the shape along the road."""
        return SausageKerb(height=self.height, length=self.length)


class HalfSine(Part):
    """A hump of half a sine wave."""

    kind: Literal["half-sine"] = "half-sine"
    height: KerbHeight
    """Of the top."""
    length: KerbLength
    """Along the road, from foot to foot."""

    def cross_section(self) -> Kerb:
        """Return the shape along the road."""
        return HalfSineKerb(height=self.height, length=self.length)


KerbShape = FlatTopped | Ramped | SawTooth | Sausage | HalfSine


class TrackKerb(Part):
    """A kerb along an edge of the road."""

    side: TrackSide
    """Edge it lies along, seen in driving direction."""
    start: Distance
    """Where it begins along the centre line."""
    offset: Annotated[float, Unit("m", "m", -10.0, 10.0)] = 0.0
    """From the edge of the road outward to the near side of the kerb; negative: on the road."""
    width: Annotated[float, Unit("m", "m", 0.1, 10.0)]
    """Across the road, from near to far side."""
    side_ramp: Annotated[float, Unit("m", "mm", 0.01, 2.0)] = 0.1
    """Across the road, over which the kerb rises from either side."""
    reversed: bool = False
    """Laid the other way round: the drop comes first."""
    shape: Annotated[KerbShape, Field(discriminator="kind")]
    """Cross-section along the road."""

    @model_validator(mode="after")
    def _can_be(self) -> Self:
        try:
            self.shape.cross_section()
        except TrackError as error:
            raise ValueError(str(error)) from None
        if 2.0 * self.side_ramp > self.width:
            raise ValueError(
                f"two side ramps of {self.side_ramp:g} m do not fit into a width of {self.width:g} m. "
                "Shorten side_ramp, or widen the kerb."
            )
        return self

    @property
    def length(self) -> float:
        """Extent [m] along the centre line."""
        return self.shape.length

    @property
    def far_side(self) -> float:
        """Distance [m] from the edge of the road outward to the far side."""
        return self.offset + self.width

    def height_at(self, distance: FloatArray, beyond_edge: FloatArray) -> FloatArray:
        """Height of the kerb under points of the road.

        Parameters
        ----------
        distance : from the start of the kerb, shape (n,). [m]
        beyond_edge : from the edge of the road on the kerb's side, outward, shape (n,). [m]

        Returns
        -------
        FloatArray
            Height above the road, shape (n,); 0 beside the kerb. [m]
        """
        along = self.length - distance if self.reversed else distance
        across = np.minimum(beyond_edge - self.offset, self.far_side - beyond_edge) / self.side_ramp
        return self.shape.cross_section().height_at(along) * np.clip(across, 0.0, 1.0)
