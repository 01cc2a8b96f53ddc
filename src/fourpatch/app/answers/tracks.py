"""Tracks: which there are, and one from above with its edges, kerbs, surfaces and corners."""

import numpy as np
from numpy.typing import NDArray
from pydantic import BaseModel, Field

from fourpatch.track.corner_names import names_of
from fourpatch.track.corners import Corner, find_corners
from fourpatch.track.layout import TrackLayout, lay_out
from fourpatch.track.plan import beside, kerb_middle, number_place
from fourpatch.track.road import RoadClass
from fourpatch.track.track import ClassSurface, Road, SpectrumSurface, Track

_EVERY = 3  # metres of the layout between two points of an edge


class TrackEntry(BaseModel):
    """A track that can be chosen."""

    id: int = Field(description="In the notebook.")
    name: str
    note: str = Field(description="Anything worth knowing about it.")
    length: float = Field(description="Of the centre line. [m]")
    closed: bool = Field(description="Whether it is a lap.")
    corners: int = Field(description="How many there are.")


class Path(BaseModel):
    """Points of a line in a level plane, y to the left of x. [m]"""

    x: list[float]
    y: list[float]


class KerbOnMap(BaseModel):
    """A kerb along an edge."""

    kerb: str = Field(description="Its number, in the order of the track's file.")
    side: str = Field(description="Edge it lies along, left or right in driving direction.")
    shape: str = Field(description="Cross-section along the road.")
    height: float = Field(description="[m]")
    start: float = Field(description="Along the centre line. [m]")
    end: float = Field(description="Along the centre line. [m]")
    middle: Path


class SurfaceSection(BaseModel):
    """A stretch of one surface."""

    start: float = Field(description="Along the centre line. [m]")
    end: float = Field(description="Along the centre line. [m]")
    surface: str = Field(description="Road class of ISO 8608, roughness, or the file it was measured into.")
    coarseness: int = Field(description="Nearest class: 0 for A, 1 for B ...; -1 if measured.")


class CornerOnMap(BaseModel):
    """A corner of the centre line."""

    corner: str = Field(description="Its number, counted from the start line.")
    name: str = Field(description="What it is called; empty if nothing.")
    direction: str = Field(description="Which way it turns: left or right.")
    start: float = Field(description="Where the radius falls below 400 m, along the centre line. [m]")
    apex: float = Field(description="Where the radius is smallest. [m]")
    end: float = Field(
        description="Where the radius is beyond 400 m again; before `start` over the line. [m]"
    )
    length: float = Field(description="[m]")
    radius: float = Field(description="Smallest of the centre line. [m]")
    angle: float = Field(description="By which it turns. [rad]")
    length_class: str = Field(description="Short or long.")
    chicane: int | None = Field(description="Number of the chicane it belongs to.")
    place: tuple[float, float] = Field(description="Outer edge at the apex: x, y. [m]")
    outward: tuple[float, float] = Field(description="Unit vector away from the road there.")


class TrackMap(BaseModel):
    """A track from above."""

    track: TrackEntry
    centre: Path
    left: Path
    right: Path
    distance: list[float] = Field(description="Along the centre line, of each point of the three. [m]")
    kerbs: list[KerbOnMap]
    surfaces: list[SurfaceSection]
    corners: list[CornerOnMap]


def track_map(id: int, track: Track) -> TrackMap:
    """Return a track from above."""
    layout = lay_out(track)
    corners = find_corners(layout)
    names = names_of(track, corners, length=layout.length)
    keep = np.unique(np.append(np.arange(0, layout.distance.size, _EVERY), layout.distance.size - 1))
    still = np.zeros(layout.distance.size)
    centre, left, right = (
        _path(beside(layout, offset)[keep]) for offset in (still, layout.left, -layout.right)
    )
    return TrackMap(
        track=_entry(id, track, layout, corners),
        centre=centre,
        left=left,
        right=right,
        distance=layout.distance[keep].round(1).tolist(),
        kerbs=_kerbs(track.road, layout),
        surfaces=_surfaces(track.road, layout.length),
        corners=[_corner(layout, one, names.get(one.number, "")) for one in corners],
    )


def _entry(id: int, track: Track, layout: TrackLayout, corners: list[Corner]) -> TrackEntry:
    return TrackEntry(
        id=id,
        name=track.name,
        note=track.note,
        length=layout.length,
        closed=layout.closed,
        corners=len(corners),
    )


def _path(points: NDArray[np.complex128]) -> Path:
    return Path(x=points.real.round(2).tolist(), y=points.imag.round(2).tolist())


def _kerbs(road: Road, layout: TrackLayout) -> list[KerbOnMap]:
    return [
        KerbOnMap(
            kerb=str(number),
            side=kerb.side,
            shape=kerb.shape.kind,
            height=kerb.shape.height,
            start=kerb.start,
            end=kerb.start + kerb.length,
            middle=_path(kerb_middle(layout, kerb)),
        )
        for number, kerb in enumerate(road.kerbs, start=1)
    ]


def _surfaces(road: Road, length: float) -> list[SurfaceSection]:
    ends = [*(one.start for one in road.surface[1:]), length]
    sections = []
    for surface, end in zip(road.surface, ends, strict=True):
        if isinstance(surface, ClassSurface):
            text, coarse = f"class {surface.road_class}", list(RoadClass).index(RoadClass[surface.road_class])
        elif isinstance(surface, SpectrumSurface):
            text = f"roughness {surface.roughness:.3g} m³"
            means = np.array([one.value for one in RoadClass])
            coarse = int(np.argmin(np.abs(np.log(surface.roughness / means))))
        else:
            text, coarse = f"measured, {surface.file}", -1
        sections.append(SurfaceSection(start=surface.start, end=end, surface=text, coarseness=coarse))
    return sections


def _corner(layout: TrackLayout, corner: Corner, name: str) -> CornerOnMap:
    edge, outward = number_place(layout, corner)
    return CornerOnMap(
        corner=str(corner.number),
        name=name,
        direction=corner.direction,
        start=corner.start,
        apex=corner.apex,
        end=corner.end,
        length=corner.length,
        radius=corner.apex_radius,
        angle=corner.angle,
        length_class=corner.length_class,
        chicane=corner.chicane,
        place=(edge.real, edge.imag),
        outward=(outward.real, outward.imag),
    )
