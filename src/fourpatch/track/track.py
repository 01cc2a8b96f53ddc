"""What a track is: its line, and the road along it."""

from typing import Annotated, Literal

from pydantic import Field, InstanceOf

from fourpatch.document.part import Part
from fourpatch.track.builder import SectionLine
from fourpatch.track.curvature_line import CurvatureLine
from fourpatch.track.drawn_line import renamed
from fourpatch.track.points import PointLine
from fourpatch.track.surface_profile import SurfaceProfile
from fourpatch.track.track_kerb import OTHER_EDGE, Distance, TrackKerb
from fourpatch.units import Unit

HalfWidth = Annotated[float, Unit("m", "m", 0.0, 40.0)]


class Width(Part):
    """How wide the road is at a place; even in between."""

    distance: Distance
    """Along the centre line."""
    left: HalfWidth
    """From the centre line to the left edge."""
    right: HalfWidth
    """From the centre line to the right edge."""


class Banking(Part):
    """How the road leans at a place; smooth in between."""

    distance: Distance
    """Along the centre line."""
    angle: Annotated[float, Unit("rad", "deg", -0.7, 0.7)]
    """Positive where the left edge is the higher one, as in a right-hand bowl."""


class Elevation(Part):
    """How high the road lies at a place; smooth in between, so it may swing beyond both."""

    distance: Distance
    """Along the centre line."""
    height: Annotated[float, Unit("m", "m", -1000.0, 5000.0)]
    """Of the centre line, above any level."""


class ClassSurface(Part):
    """A random surface of a class of ISO 8608, at its geometric mean."""

    kind: Literal["road-class"] = "road-class"
    start: Distance
    """Where it begins; it ends where the next begins."""
    road_class: Literal["A", "B", "C", "D", "E", "F", "G", "H"]
    """A is the smoothest."""


class SpectrumSurface(Part):
    """A random surface of given roughness."""

    kind: Literal["spectrum"] = "spectrum"
    start: Distance
    """Where it begins; it ends where the next begins."""
    roughness: Annotated[float, Unit("m**3", "m**3", 1e-8, 1.0)]
    """Displacement spectral density at 0.1 cycle/m, as ISO 8608 quotes it."""
    waviness: Annotated[float, Unit("1", "1", 1.0, 4.0)] = 2.0
    """By which power the density falls with spatial frequency."""


class MeasuredSurface(Part):
    """A surface as it was measured."""

    kind: Literal["profile"] = "profile"
    start: Distance
    """Where it begins, and the file's distance counts from; it ends where the next begins."""
    file: str = Field(min_length=1)
    """CSV beside the track file with the columns distance, left and right."""
    slowest_speed: Annotated[float, Unit("m/s", "km/h", 0.5, 110.0)] = 10.0
    """Slowest at which it is driven: decides how fine the file must be."""
    profile: InstanceOf[SurfaceProfile]
    """What that file holds."""


Surface = ClassSurface | SpectrumSurface | MeasuredSurface


class Road(Part):
    """The road along the line; every place is a distance along the centre line from the start line."""

    width: list[Width] = Field(min_length=1)
    """One for a road of even width."""
    banking: list[Banking] = Field(default_factory=list)
    """None for a road that does not lean."""
    elevation: list[Elevation] = Field(default_factory=list)
    """None for a level road."""
    surface: list[Annotated[Surface, Field(discriminator="kind")]] = Field(min_length=1)
    """From the start line on, each up to the next."""
    kerbs: list[TrackKerb] = Field(default_factory=list)
    """In any order."""


class CornerName(Part):
    """What a corner is called."""

    distance: Distance
    """About where its apex is, along the centre line."""
    name: str = Field(min_length=1, max_length=40)
    """Shown beside its number."""


class Track(Part):
    """A road to drive along: a lap, or from a start to an end."""

    name: str = Field(min_length=1, max_length=80)
    """What the track is called."""
    note: str = ""
    """Anything worth knowing about it."""
    centre_line: Annotated[SectionLine | PointLine | CurvatureLine, Field(discriminator="kind")]
    """The line along which distance is counted."""
    road: Road
    """Widths, banking, elevation, surface and kerbs along it."""
    corner_names: list[CornerName] = Field(default_factory=list)
    """Of the corners that have one, each of the corner nearest to its place."""


def mirrored(track: Track) -> Track:
    """Return a track with left and right exchanged."""
    road = track.road
    return Track(
        name=track.name,
        note=track.note,
        centre_line=track.centre_line.mirrored(),
        road=Road(
            width=[Width(distance=one.distance, left=one.right, right=one.left) for one in road.width],
            banking=[Banking(distance=one.distance, angle=-one.angle) for one in road.banking],
            elevation=road.elevation,
            surface=[_mirrored_surface(one) for one in road.surface],
            kerbs=[one.model_copy(update={"side": OTHER_EDGE[one.side]}) for one in road.kerbs],
        ),
        corner_names=track.corner_names,
    )


def reversed_direction(track: Track) -> Track:
    """Return a track driven the other way, from its end to its start; a lap keeps its start line.

    Raises
    ------
    TrackError
        If the line of the track cannot be drawn.
    """
    line, road = track.centre_line.draw().line, track.road
    length = line.length

    def place(distance: float) -> float:
        """Return a distance counted from the other end; the start line of a lap stays at 0."""
        return 0.0 if line.closed and distance == 0.0 else max(length - distance, 0.0)

    ends = [*(one.start for one in road.surface[1:]), length]
    return Track(
        name=track.name,
        note=track.note,
        centre_line=track.centre_line.reversed(),
        road=Road(
            width=sorted(
                (Width(distance=place(one.distance), left=one.right, right=one.left) for one in road.width),
                key=lambda one: one.distance,
            ),
            banking=sorted(
                (Banking(distance=place(one.distance), angle=-one.angle) for one in road.banking),
                key=lambda one: one.distance,
            ),
            elevation=sorted(
                (Elevation(distance=place(one.distance), height=one.height) for one in road.elevation),
                key=lambda one: one.distance,
            ),
            surface=[
                _reversed_surface(one, start=max(length - end, 0.0), length=end - one.start)
                for one, end in zip(reversed(road.surface), reversed(ends), strict=True)
            ],
            kerbs=[_reversed_kerb(one, track_length=length) for one in road.kerbs],
        ),
        corner_names=sorted(
            (CornerName(distance=place(one.distance), name=one.name) for one in track.corner_names),
            key=lambda one: one.distance,
        ),
    )


def _mirrored_surface(surface: Surface) -> Surface:
    if not isinstance(surface, MeasuredSurface):
        return surface
    return surface.model_copy(
        update={"file": renamed(surface.file, "mirrored"), "profile": surface.profile.mirrored()}
    )


def _reversed_surface(surface: Surface, *, start: float, length: float) -> Surface:
    if not isinstance(surface, MeasuredSurface):
        return surface.model_copy(update={"start": start})
    return surface.model_copy(
        update={
            "start": start,
            "file": renamed(surface.file, "reversed"),
            "profile": surface.profile.reversed(length),
        }
    )


def _reversed_kerb(kerb: TrackKerb, *, track_length: float) -> TrackKerb:
    start = (track_length - kerb.start - kerb.length) % track_length
    return kerb.model_copy(
        update={"side": OTHER_EDGE[kerb.side], "start": start, "reversed": not kerb.reversed}
    )
