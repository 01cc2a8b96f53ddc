"""Kerbs as a wheel crosses them: cross-sections along the direction of travel, laid on a straight.

Every height is continuous: where a real kerb has an upright lip, the cross-section has a short ramp of a
stated length.  A circle of radius R that meets the top of a lip of height h has the slope
sqrt(2 R h - h²) / (R - h) there; a steeper ramp lies within the circle and is never touched (shorter than
0.075 m for R = 0.30 and h = 0.05 m), so for `contact_filter.tyre_path` only the place of the top matters.

Heights and lengths are the user's; no published source gives them for kerbs of racing circuits.
"""

from dataclasses import dataclass
from enum import Enum
from typing import ClassVar, Final, Protocol

import numpy as np

from fourpatch.errors import TrackError
from fourpatch.track.road import (
    SPACING_ROUNDING,
    FloatArray,
    RoadProfile,
    require_positive,
    straight_distance,
)

EDGE_LENGTH: Final = 0.05
"""Ramp that stands for an upright edge unless another is stated; chosen here, no published source. [m]"""

INTERVALS_PER_PIECE: Final = 2
"""Fewest spacings on the shortest piece of a cross-section, so that its ends are seen apart."""


class Side(Enum):
    """Wheels that cross a kerb."""

    LEFT = "left"
    RIGHT = "right"
    BOTH = "both"


class Kerb(Protocol):
    """What every kerb cross-section offers."""

    name: ClassVar[str]

    @property
    def length(self) -> float:
        """Extent [m] along the direction of travel."""

    @property
    def shortest_piece(self) -> float:
        """Length [m] of the shortest piece that points must tell apart."""

    def height_at(self, distance: FloatArray) -> FloatArray:
        """Height [m] at distances [m] from the kerb's start; 0 before and beyond the kerb."""


@dataclass(frozen=True, slots=True, kw_only=True)
class FlatToppedKerb:
    """Ramp up, flat, ramp down: a wheel runs along the top.

    Raises
    ------
    TrackError
        If a number is not positive or the two ramps are longer than the kerb.
    """

    name: ClassVar[str] = "flat-topped"
    height: float
    """Of the flat top. [m]"""
    length: float
    """Overall, both ramps included. [m]"""
    ramp_length: float = EDGE_LENGTH
    """Of each ramp, along the road. [m]"""

    def __post_init__(self) -> None:
        """Refuse a kerb that cannot be."""
        _require_size(self.name, self.height, self.length)
        _require_edge(self.name, "ramp length", self.ramp_length)
        if 2.0 * self.ramp_length > self.length:
            raise TrackError(
                f"{self.name} kerb: two ramps of {self.ramp_length:g} m do not fit into a length of "
                f"{self.length:g} m; the length includes them. Shorten the ramps or lengthen the kerb."
            )

    @property
    def shortest_piece(self) -> float:
        """Length [m] of the shortest piece that points must tell apart."""
        return self.ramp_length

    def height_at(self, distance: FloatArray) -> FloatArray:
        """Height [m] at distances [m] from the kerb's start; 0 before and beyond the kerb."""
        corners = (0.0, self.ramp_length, self.length - self.ramp_length, self.length)
        return _straight_between(distance, corners, (0.0, self.height, self.height, 0.0))


@dataclass(frozen=True, slots=True, kw_only=True)
class RampedKerb:
    """One slope up, then a drop.

    Raises
    ------
    TrackError
        If a number is not positive or the drop is not shorter than the kerb.
    """

    name: ClassVar[str] = "ramped"
    height: float
    """At the top of the slope. [m]"""
    length: float
    """Overall, the drop included. [m]"""
    edge_length: float = EDGE_LENGTH
    """Of the ramp that stands for the drop. [m]"""

    def __post_init__(self) -> None:
        """Refuse a kerb that cannot be."""
        _require_size(self.name, self.height, self.length)
        _require_edge(self.name, "edge length", self.edge_length)
        _require_drop_fits(self.name, self.edge_length, "length", self.length)

    @property
    def shortest_piece(self) -> float:
        """Length [m] of the shortest piece that points must tell apart."""
        return min(self.edge_length, self.length - self.edge_length)

    def height_at(self, distance: FloatArray) -> FloatArray:
        """Height [m] at distances [m] from the kerb's start; 0 before and beyond the kerb."""
        corners = (0.0, self.length - self.edge_length, self.length)
        return _straight_between(distance, corners, (0.0, self.height, 0.0))


@dataclass(frozen=True, slots=True, kw_only=True)
class SawToothKerb:
    """A row of teeth, each one slope up and a drop.

    Raises
    ------
    TrackError
        If a number is not positive, the drop is not shorter than a tooth, or the kerb does not hold a whole
        number of teeth.
    """

    name: ClassVar[str] = "saw-tooth"
    height: float
    """Of the teeth. [m]"""
    length: float
    """Overall, a whole number of teeth. [m]"""
    tooth_length: float
    """Of one tooth, its drop included. [m]"""
    edge_length: float = EDGE_LENGTH
    """Of the ramp that stands for the drop of a tooth. [m]"""

    def __post_init__(self) -> None:
        """Refuse a kerb that cannot be."""
        _require_size(self.name, self.height, self.length)
        _require_edge(self.name, "tooth length", self.tooth_length)
        _require_edge(self.name, "edge length", self.edge_length)
        _require_drop_fits(self.name, self.edge_length, "tooth length", self.tooth_length)
        teeth = self.length / self.tooth_length
        if self.teeth < 1 or abs(teeth - self.teeth) > 1e-6:
            raise TrackError(
                f"{self.name} kerb: length {self.length:g} m is {teeth:g} teeth of {self.tooth_length:g} m; "
                "it must be a whole number of them, because a cut tooth would end in an upright step. "
                f"Take a length of {max(self.teeth, 1) * self.tooth_length:g} m."
            )

    @property
    def teeth(self) -> int:
        """Number of teeth."""
        return round(self.length / self.tooth_length)

    @property
    def shortest_piece(self) -> float:
        """Length [m] of the shortest piece that points must tell apart."""
        return min(self.edge_length, self.tooth_length - self.edge_length)

    def height_at(self, distance: FloatArray) -> FloatArray:
        """Height [m] at distances [m] from the kerb's start; 0 before and beyond the kerb."""
        feet = np.arange(self.teeth + 1) * self.tooth_length
        tops = feet[1:] - self.edge_length
        corners = np.append(np.column_stack((feet[:-1], tops)).ravel(), feet[-1])
        heights = np.append(np.tile((0.0, self.height), self.teeth), 0.0)
        return _straight_between(distance, tuple(corners), tuple(heights))


@dataclass(frozen=True, slots=True, kw_only=True)
class SausageKerb:
    """A rounded hump: the cap of a circle.

    Notes
    -----
    The circle through both feet and the top has the radius (length²/4 + height²) / (2 height); it leaves the
    ground at twice the angle whose tangent is 2 height / length.  At the limit, height = length/4, that is 53
    degrees; a higher cap would need an edge as steep as a step.

    Raises
    ------
    TrackError
        If a number is not positive or the height exceeds a quarter of the length.
    """

    name: ClassVar[str] = "sausage"
    height: float
    """Of the top. [m]"""
    length: float
    """From foot to foot. [m]"""

    def __post_init__(self) -> None:
        """Refuse a kerb that cannot be."""
        _require_size(self.name, self.height, self.length)
        if self.height > 0.25 * self.length:
            raise TrackError(
                f"{self.name} kerb: height {self.height:g} m on a length of {self.length:g} m; a rounded "
                "hump may be at most a quarter as high as it is long, or its foot becomes a step. Use a "
                "flat-topped kerb with short ramps, or lengthen the hump."
            )

    @property
    def radius(self) -> float:
        """Radius [m] of the circle."""
        return (0.25 * self.length**2 + self.height**2) / (2.0 * self.height)

    @property
    def shortest_piece(self) -> float:
        """Length [m] of the shortest piece that points must tell apart: a quarter of the hump."""
        return 0.25 * self.length

    def height_at(self, distance: FloatArray) -> FloatArray:
        """Height [m] at distances [m] from the kerb's start; 0 before and beyond the kerb."""
        from_top = np.clip(distance - 0.5 * self.length, -0.5 * self.length, 0.5 * self.length)
        above_ground = np.sqrt(self.radius**2 - from_top**2) - (self.radius - self.height)
        return np.asarray(np.maximum(above_ground, 0.0), dtype=np.float64)


@dataclass(frozen=True, slots=True, kw_only=True)
class HalfSineKerb:
    """A hump of half a sine wave.

    Raises
    ------
    TrackError
        If a number is not positive.
    """

    name: ClassVar[str] = "half-sine"
    height: float
    """Of the top. [m]"""
    length: float
    """From foot to foot. [m]"""

    def __post_init__(self) -> None:
        """Refuse a kerb that cannot be."""
        _require_size(self.name, self.height, self.length)

    @property
    def shortest_piece(self) -> float:
        """Length [m] of the shortest piece that points must tell apart: a quarter of the hump."""
        return 0.25 * self.length

    def height_at(self, distance: FloatArray) -> FloatArray:
        """Height [m] at distances [m] from the kerb's start; 0 before and beyond the kerb."""
        from_foot = np.clip(np.minimum(distance, self.length - distance), 0.0, None)
        return np.asarray(self.height * np.sin(np.pi * from_foot / self.length), dtype=np.float64)


def kerbed_straight(*, kerb: Kerb, start: float, side: Side, length: float, spacing: float) -> RoadProfile:
    """Lay a kerb on a flat straight.

    Parameters
    ----------
    kerb : its cross-section.
    start : of the kerb, from the start of the straight, not negative. [m]
    side : wheels that cross it.
    length : of the straight, rounded to a whole number of spacings. [m]
    spacing : between points, at most half the kerb's shortest piece. [m]

    Returns
    -------
    RoadProfile
        Flat but for the kerb.  Add a rough road of the same length and spacing to it with `+`.

    Raises
    ------
    TrackError
        If a number is not positive, the kerb reaches beyond the straight, or the spacing is too coarse.

    Notes
    -----
    The cross-section is sampled at the points: a corner that lies between two points is cut, by at most
    spacing * s1 s2 / (s1 + s2) for a top between slopes s1 and s2 (0.5 mm for a tooth 0.02 m high and 0.4 m
    long with its drop over 0.05 m, at 0.01 m).  Let spacing divide start and pieces to avoid it.
    """
    distance = straight_distance(length=length, spacing=spacing)
    room = SPACING_ROUNDING * length
    if not 0.0 <= start <= distance[-1] - kerb.length + room:
        raise TrackError(
            f"{kerb.name} kerb: {kerb.length:g} m long, starting at {start:g} m, on a straight of "
            f"{distance[-1]:g} m; the whole kerb must lie on the straight, or it would begin or end in a "
            "step. Move the kerb or lengthen the straight."
        )
    if spacing * INTERVALS_PER_PIECE > kerb.shortest_piece * (1.0 + SPACING_ROUNDING):
        raise TrackError(
            f"{kerb.name} kerb: spacing is {spacing:g} m, the shortest piece of the kerb "
            f"{kerb.shortest_piece:g} m; at least {INTERVALS_PER_PIECE} spacings must fit on it, or its "
            f"shape is lost. Take a spacing of {kerb.shortest_piece / INTERVALS_PER_PIECE:g} m or less."
        )
    height = kerb.height_at(distance - start)
    flat = np.zeros_like(height)
    return RoadProfile(
        distance=distance,
        left=flat if side is Side.RIGHT else height,
        right=flat if side is Side.LEFT else height,
    )


def _straight_between(
    distance: FloatArray, corners: tuple[float, ...], heights: tuple[float, ...]
) -> FloatArray:
    return np.asarray(np.interp(distance, corners, heights, left=0.0, right=0.0), dtype=np.float64)


def _require_size(name: str, height: float, length: float) -> None:
    require_positive(height, name=f"{name} kerb: height", unit="m", remedy="Give the height of its top.")
    require_positive(length, name=f"{name} kerb: length", unit="m", remedy="Give its extent along the road.")


def _require_edge(name: str, what: str, value: float) -> None:
    require_positive(
        value, name=f"{name} kerb: {what}", unit="m", remedy="An upright edge needs a short ramp, say 0.05 m."
    )


def _require_drop_fits(name: str, edge_length: float, what: str, length: float) -> None:
    if edge_length >= length:
        raise TrackError(
            f"{name} kerb: edge length {edge_length:g} m, {what} {length:g} m; the drop must be shorter than "
            "what it ends. Shorten the edge."
        )
