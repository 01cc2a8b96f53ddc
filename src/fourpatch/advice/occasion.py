"""What a set-up is for: the corners, the surface and the kerb it will meet, and how much each counts."""

from collections.abc import Sequence
from dataclasses import dataclass
from math import sqrt

from fourpatch.analysis.lap_summary import LapCorner, LapStudy, study_lap
from fourpatch.analysis.limits_map import Margins
from fourpatch.analysis.standard_events import (
    BRAKING,
    CORNERING,
    standard_corners,
    standard_kerb,
    standard_road,
)
from fourpatch.analysis.steady_limits import braking_limit, corner_speed, top_speed, traction_limit
from fourpatch.car.car import Car
from fourpatch.events.corner import Corner
from fourpatch.events.kerb_strike import KerbStrike
from fourpatch.events.rough_road import RoughRoad
from fourpatch.track.road import RoadClass
from fourpatch.track.track import ClassSurface, SpectrumSurface, Track
from fourpatch.track.track_kerb import FlatTopped, SawTooth, TrackKerb

KERB_SHARE = 0.03
"""Share of the time on kerbs that counts where no track is named, or the track does not tell better."""

_USE = 0.97
_LONG_ENOUGH, _LONGEST = 3.0, 50.0  # of a kerb on the rig [m]
_BRAKED = 1.3  # time at full deceleration that a braking and an entry amount to [s]


@dataclass(frozen=True, slots=True, kw_only=True)
class Occasion:
    """What a set-up is for."""

    name: str
    """As shown."""
    corners: dict[str, Corner]
    """One for each speed class there is."""
    weights: dict[str, float]
    """Share of the time in corners that each stands for; they sum to 1."""
    road: RoughRoad
    kerb: KerbStrike
    kerb_share: float
    """Share of the time on kerbs."""
    fastest: float
    """Highest speed. [m/s]"""
    notes: tuple[str, ...] = ()
    """What was taken for what."""
    study: LapStudy | None = None
    """The lap behind it, if there is a track."""


def generic_occasion(car: Car) -> Occasion:
    """Return the standard corners alike in weight, a class B road and a kerb, scaled to the car."""
    corners = standard_corners(car)
    return Occasion(
        name="the standard corners, a class B road and a kerb",
        corners=corners,
        weights=dict.fromkeys(corners, 1.0 / len(corners)),
        road=standard_road(car),
        kerb=standard_kerb(car),
        kerb_share=KERB_SHARE,
        fastest=0.9 * top_speed(car),
        notes=(f"Kerbs are taken for {100.0 * KERB_SHARE:g} % of the time (a choice, no published source).",),
    )


def track_occasion(car: Car, track: Track) -> Occasion:
    """Return what a car meets on a track.

    Notes
    -----
    Of each speed class the corner of middle speed stands for all, with the radius its lap holds where it is
    slowest and the time spent in the class. The surface is the class of ISO 8608 that covers most of the
    track, at the mean speed of the lap; the kerb is the highest that a car of this clearance would be put
    over.
    """
    study = study_lap(car, track, use=Margins(braking=_USE, lateral=_USE, driving=_USE))
    chosen = _representatives(study.summary.corners)
    if not chosen:
        raise_no_corner(track)
    time = {name: sum(one.time for one in group) for name, (_, group) in chosen.items()}
    road_class, road_note = track_surface(track, study.line.length)
    kerb, kerb_note = track_kerb(car, track, study)
    return Occasion(
        name=track.name,
        corners={name: _corner(car, one) for name, (one, _) in chosen.items()},
        weights={name: seconds / sum(time.values()) for name, seconds in time.items()},
        road=RoughRoad(speed=min(study.summary.mean_speed, 0.8 * top_speed(car)), road_class=road_class),
        kerb=kerb,
        kerb_share=KERB_SHARE,
        fastest=study.summary.highest_speed,
        notes=(*(_said(name, one, group) for name, (one, group) in chosen.items()), road_note, kerb_note),
        study=study,
    )


def raise_no_corner(track: Track) -> None:
    """Refuse a track without a corner.

    Raises
    ------
    EventError
    """
    from fourpatch.errors import EventError

    raise EventError(
        f"track: {track.name} has no corner (a radius below 400 m that turns by 10 deg), so there is no "
        "balance to set up for. Leave the track out, or take another."
    )


_Group = tuple[LapCorner, list[LapCorner]]


def _representatives(corners: Sequence[LapCorner]) -> dict[str, _Group]:
    found: dict[str, _Group] = {}
    for speed_class in ("slow", "medium", "fast"):
        group = sorted((c for c in corners if c.speed_class == speed_class), key=lambda c: c.slowest_speed)
        if group:
            found[f"{speed_class} corner"] = (group[len(group) // 2], group)
    return found


def _said(name: str, one: LapCorner, group: list[LapCorner]) -> str:
    numbers = ", ".join(c.corner for c in group)
    return f"Corner {one.corner} stands for the {name}s ({numbers})."


def _corner(car: Car, one: LapCorner) -> Corner:
    """Return a corner of the lap as the rig drives it, at the use of the standard corners."""
    fastest = 0.95 * top_speed(car)
    radius = min(max(one.slowest_speed**2 / max(one.lateral_acceleration, 1.0), 5.0), 2000.0)
    speed = corner_speed(car, radius=radius, use=CORNERING, fastest=0.9 * fastest)
    arriving = max(one.entry_speed, speed)
    wanted = (arriving - speed) / _BRAKED
    return Corner(
        radius=radius,
        speed=speed,
        direction="left" if one.direction == "left" else "right",
        deceleration=min(
            braking_limit(car, speed=speed, use=BRAKING), max(wanted, 1.0), (fastest - speed) / _BRAKED
        ),
        acceleration=traction_limit(car, speed=speed, use=BRAKING),
    )


def track_surface(track: Track, length: float) -> tuple[str, str]:
    """Return the road class that covers most of a track, and a sentence."""
    covered: dict[str, float] = {}
    measured = 0.0
    surfaces = track.road.surface
    ends = [*(one.start for one in surfaces[1:]), length]
    for one, end in zip(surfaces, ends, strict=True):
        extent = max(end - one.start, 0.0)
        if isinstance(one, ClassSurface):
            covered[one.road_class] = covered.get(one.road_class, 0.0) + extent
        elif isinstance(one, SpectrumSurface):
            name = _nearest_class(one.roughness)
            covered[name] = covered.get(name, 0.0) + extent
        else:
            measured += extent
    if measured > sum(covered.values()):
        return "B", "The surface is measured; bumps are computed on class B instead."
    largest = max(covered, key=lambda name: covered[name])
    share = 100.0 * covered[largest] / max(sum(covered.values()) + measured, 1e-9)
    return largest, f"Class {largest} is the surface of {share:.0f} % of the track and stands for all of it."


def _nearest_class(roughness: float) -> str:
    ratios = {one.name: max(one.value / roughness, roughness / one.value) for one in RoadClass}
    return min(ratios, key=lambda name: sqrt(ratios[name]))


def track_kerb(car: Car, track: Track, study: LapStudy) -> tuple[KerbStrike, str]:
    """Return the highest kerb that the car's clearance allows, and a sentence."""
    standard = standard_kerb(car)
    kerbs: list[TrackKerb] = track.road.kerbs
    if not kerbs:
        return standard, "The track has no kerbs; the standard one is taken."
    highest = max(kerbs, key=lambda one: one.shape.height)
    station = study.line.station
    place = int(abs(station - highest.start).argmin())
    speed = float(study.profile.speed[place])
    strike = kerb_strike(car, highest, speed=speed)
    lower = strike.height < highest.shape.height
    held = f", held to {1e3 * strike.height:.0f} mm by the car's clearance" if lower else ""
    return (
        strike,
        f"The highest kerb, {1e3 * highest.shape.height:.0f} mm at {highest.start:.0f} m{held}, stands for "
        f"{100.0 * KERB_SHARE:g} % of the time (a choice).",
    )


def kerb_strike(car: Car, kerb: TrackKerb, *, speed: float) -> KerbStrike:
    """Return a kerb of a track as the rig takes it: straight on, no higher than the car's clearance allows.

    Parameters
    ----------
    speed : of the lap there. [m/s]

    Notes
    -----
    A flat top or a row of teeth is cut to about 3 m; a ramp or a hump keeps its length, and so its slope.
    """
    shape = kerb.shape
    length, tooth = shape.length, {}
    if isinstance(shape, SawTooth):
        teeth = max(min(round(shape.length / shape.tooth_length), int(_LONG_ENOUGH / shape.tooth_length)), 1)
        length, tooth = teeth * shape.tooth_length, {"tooth_length": shape.tooth_length}
    elif isinstance(shape, FlatTopped):
        length = min(length, _LONG_ENOUGH)
    return KerbStrike(
        speed=min(max(speed, 5.0), 0.9 * top_speed(car)),
        shape=shape.kind,
        height=min(shape.height, standard_kerb(car).height),
        length=min(length, _LONGEST),
        side=kerb.side,
        **tooth,
    )
