"""Where complaints happen: the corners, bumps and kerbs behind them, standard ones or those of a track."""

from collections.abc import Collection, Sequence
from dataclasses import dataclass
from functools import cached_property

import numpy as np

from fourpatch.advice.complaint import Complaint, numbered
from fourpatch.advice.occasion import kerb_strike, raise_no_corner, track_kerb, track_surface
from fourpatch.analysis.event_measures import CORNER_PHASES
from fourpatch.analysis.lap_summary import LapCorner, LapStudy, study_lap
from fourpatch.analysis.limits_map import Margins
from fourpatch.analysis.standard_events import (
    BRAKING,
    CORNER_RADII,
    CORNERING,
    standard_corners,
    standard_kerb,
    standard_road,
)
from fourpatch.analysis.steady_limits import top_speed
from fourpatch.analysis.track_corners import corner_on_lap
from fourpatch.car.car import Car
from fourpatch.car.pack import pack
from fourpatch.errors import AdviceError
from fourpatch.events.rough_road import RoughRoad
from fourpatch.events.run import stable_step, stacked
from fourpatch.events.track_stretch import track_stretch
from fourpatch.events.trial import BumpTrial, CornerTrial, Trial, slowest_speed
from fourpatch.track.road import FloatArray, RoadProfile
from fourpatch.track.track import Track
from fourpatch.track.track_kerb import TrackKerb
from fourpatch.track.track_road import track_road

ROAD, KERB = "rough road", "kerb"
"""Names of the bumps that every cure is guarded by."""

BUMPY = "bumpy part"
"""Name of the roughest stretch of a track."""

_BEFORE, _BEYOND = 50.0, 30.0  # of a corner's ends within which its bumps and kerbs lie [m]
_ROUGHEST = 200.0  # length of the bumpy part [m]
_BASE = 1.0  # over which slope is taken to tell rough from smooth [m]
_SEED = 1  # of a track's random surfaces


@dataclass(frozen=True, slots=True, kw_only=True)
class Course:
    """The corners, bumps and kerbs that complaints can be about, scaled to one car."""

    name: str
    """As shown."""
    corners: dict[str, CornerTrial]
    """By name, in the order of speed or of driving."""
    phases: dict[str, tuple[str, ...]]
    """Which phases each corner has."""
    classes: dict[str, str]
    """Of each corner: slow corner, medium corner or fast corner."""
    road: BumpTrial
    kerb: BumpTrial
    lap: "CourseLap | None" = None
    """The lap behind it, if it is a track."""
    notes: tuple[str, ...] = ()
    """What was taken for what."""

    @property
    def events(self) -> dict[str, Trial]:
        """What every cure is run in."""
        return {**self.corners, ROAD: self.road, KERB: self.kerb}

    def corners_of(self, complaint: Complaint) -> tuple[str, ...]:
        """Return the names of the corners a complaint is about.

        Raises
        ------
        AdviceError
            If it names a number or a class that there is not.
        """
        if complaint.corners:
            return tuple(f"corner {number}" for number in self._numbers(complaint))
        if not complaint.place.endswith("corner"):
            return tuple(self.corners)
        found = tuple(name for name, speed_class in self.classes.items() if speed_class == complaint.place)
        if not found:
            there = ", ".join(
                f"{one.removesuffix(' corner')} ({numbered(self._class_numbers(one))})"
                for one in CORNER_RADII
                if one in self.classes.values()
            )
            raise AdviceError(
                f'"{complaint.text()}": {self.name} has no {complaint.place} for this car. There are: '
                f"{there}. Name one of these, or a corner by its number."
            )
        return found

    def corners_with(self, complaint: Complaint, phases: Sequence[str]) -> dict[str, tuple[str, ...]]:
        """Return the corners a complaint is about that have any of some phases, each with those it has.

        Raises
        ------
        AdviceError
            As `corners_of`, and if none has one of them.
        """
        asked = self.corners_of(complaint)
        found = {name: tuple(phase for phase in phases if phase in self.phases[name]) for name in asked}
        found = {name: has for name, has in found.items() if has}
        if not found:
            have = "; ".join(f"{name}: {', '.join(self.phases[name])}" for name in asked)
            raise AdviceError(
                f'"{complaint.text()}": no such phase there as this car\'s lap goes ({have}). '
                + (
                    "A brake that is still pressed while the steering is on belongs to the entry. "
                    if "braking" in phases
                    else ""
                )
                + "Name another phase, or another corner."
            )
        return found

    def where(self, corners: Collection[str], complaint: Complaint) -> str:
        """Return corners in words: ``in the slow corner``, ``in corners 3 and 5``."""
        if self.lap is None:
            if complaint.place.endswith("corner"):
                return f"in the {complaint.place}"
            return "in slow, medium and fast corners"
        said = f"in {numbered([corner_number(name) for name in corners])}"
        if complaint.place.endswith("corner") and not complaint.corners:
            return f"{said}, the {complaint.place}s"
        return said

    def roads_of(self, complaint: Complaint) -> dict[str, BumpTrial]:
        """Return the bumps a complaint is about, by name.

        Raises
        ------
        AdviceError
            If it names a corner that there is not.
        """
        if self.lap is None:
            _refuse_numbers(complaint)
            return {ROAD: self.road}
        if complaint.corners:
            return {
                f"bumps in corner {number}": self.lap.bumps_at(number) for number in self._numbers(complaint)
            }
        return {BUMPY: self.lap.roughest()} if complaint.place == "bumpy" else {ROAD: self.road}

    def kerbs_of(self, complaint: Complaint) -> dict[str, BumpTrial]:
        """Return the kerbs a complaint is about, by name.

        Raises
        ------
        AdviceError
            If there is no kerb, or none at a corner it names.
        """
        if self.lap is None:
            _refuse_numbers(complaint)
        elif complaint.corners:
            return {
                f"kerb in corner {number}": self.lap.kerb_at(number) for number in self._numbers(complaint)
            }
        return {KERB: self.kerb}

    def speed_of(self, complaint: Complaint) -> float:
        """Return the speed of the corner in the middle of those a complaint is about. [m/s]"""
        if self.lap is None and not complaint.corners and not complaint.place.endswith("corner"):
            return slowest_speed(self.corners["medium corner"])
        speeds = sorted(slowest_speed(self.corners[name]) for name in self.corners_of(complaint))
        return speeds[len(speeds) // 2]

    def typical(self, corners: Collection[str]) -> tuple[str, ...]:
        """Return of some corners the middle one of each speed class."""
        found = []
        for speed_class in dict.fromkeys(self.classes[name] for name in corners):
            group = [name for name in corners if self.classes[name] == speed_class]
            group.sort(key=lambda name: slowest_speed(self.corners[name]))
            found.append(group[len(group) // 2])
        return tuple(found)

    def _numbers(self, complaint: Complaint) -> tuple[int, ...]:
        if self.lap is None:
            _refuse_numbers(complaint)
        there = [corner_number(name) for name in self.corners]
        unknown = [number for number in complaint.corners if number not in there]
        if unknown:
            raise AdviceError(
                f'"{complaint.text()}": {self.name} has no {numbered(unknown)}. There are '
                f"{numbered(there)}, counted from the start line in driving direction; analyse track lists "
                "where each lies."
            )
        return complaint.corners

    def _class_numbers(self, speed_class: str) -> list[int]:
        return [corner_number(name) for name, one in self.classes.items() if one == speed_class]


def corner_number(name: str) -> int:
    """Return the number of a track's corner from its name."""
    return int(name.rsplit(" ", 1)[-1])


def _refuse_numbers(complaint: Complaint) -> None:
    if complaint.corners:
        raise AdviceError(
            f'"{complaint.text()}": a corner by its number needs its track. Name the track it was driven '
            "on, or say slow, medium or fast corner."
        )


@dataclass(frozen=True, kw_only=True, eq=False)
class CourseLap:
    """The lap of a track, and what lies along it."""

    car: Car
    study: LapStudy

    @cached_property
    def smooth(self) -> RoadProfile:
        """Surface along the line, without kerbs."""
        track = self.study.track
        bare = track.model_copy(update={"road": track.road.model_copy(update={"kerbs": []})})
        wheels_apart = max(self.car.front.track_width, self.car.rear.track_width)
        return track_road(bare, self.study.line, seed=_SEED, track_width=wheels_apart)

    def bumps_at(self, number: int) -> BumpTrial:
        """Return the road through a corner, at the mean speed of the lap there.

        Raises
        ------
        EventError
            If it is too short to say anything.
        """
        corner = self._corner(number)
        return self._stretch(corner.start - _BEFORE, corner.end + _BEYOND, f"bumps in corner {number}")

    def roughest(self) -> BumpTrial:
        """Return the stretch of 200 m whose slope over a metre has the largest RMS."""
        road = self.smooth
        over = max(round(_BASE / road.spacing), 1)
        square = np.zeros(road.distance.size - over)
        for heights in (road.left, road.right):
            square += ((heights[over:] - heights[:-over]) / (over * road.spacing)) ** 2
        places = min(round(_ROUGHEST / road.spacing), square.size - 1)
        total = np.cumsum(square)
        begin = int(np.argmax(total[places:] - total[:-places])) * road.spacing
        return self._along(begin, begin + places * road.spacing, BUMPY)

    def kerb_at(self, number: int) -> BumpTrial:
        """Return the highest kerb at a corner, as fast as the lap is there.

        Raises
        ------
        AdviceError
            If no kerb lies there.
        """
        found = self._kerbs_at(number)
        if not found:
            having = [one.corner for one in self.study.summary.corners if self._kerbs_at(int(one.corner))]
            there = f"Kerbs lie at {numbered([int(one) for one in having])}" if having else "It has no kerbs"
            raise AdviceError(
                f"kerb: {self.study.track.name} has none at corner {number}, from {_BEFORE:.0f} m before it "
                f"to {_BEYOND:.0f} m beyond it. {there}."
            )
        kerb = max(found, key=lambda one: one.shape.height)
        return kerb_strike(self.car, kerb, speed=self._speed_at(kerb.start))

    def _kerbs_at(self, number: int) -> list[TrackKerb]:
        """Return the kerbs within a corner's reach that are not nearer to another."""
        return [one for one in self.study.track.road.kerbs if self._nearest(one) == number]

    def _nearest(self, kerb: TrackKerb) -> int | None:
        lap = float(self.study.line.station.max())
        middle = kerb.start + 0.5 * kerb.length
        away = {
            int(one.corner): _outside(middle, one.start, one.end, lap, closed=self.study.line.closed)
            for one in self.study.summary.corners
        }
        nearest = min(away, key=lambda number: abs(away[number]))
        reach = (_BEFORE if away[nearest] < 0.0 else _BEYOND) + 0.5 * kerb.length
        return nearest if abs(away[nearest]) <= reach else None

    def _corner(self, number: int) -> LapCorner:
        return next(one for one in self.study.summary.corners if int(one.corner) == number)

    def _speed_at(self, station: float) -> float:
        line, profile = self.study.line, self.study.profile
        return float(profile.speed[int(np.argmin(np.abs(line.station - station)))])

    def _stretch(self, begin: float, end: float, name: str) -> BumpTrial:
        """Cut a stretch between stations."""
        line = self.study.line
        lap = float(line.station[-1])
        station = np.maximum.accumulate(line.station)
        at = [one % lap if line.closed else float(np.clip(one, 0.0, lap)) for one in (begin, end)]
        ends: FloatArray = np.interp(at, station, line.distance)
        return self._along(float(ends[0]), float(ends[1]), name)

    def _along(self, begin: float, end: float, name: str) -> BumpTrial:
        line, profile = self.study.line, self.study.profile
        inside = (line.distance >= begin) & (line.distance <= end)
        if end < begin:
            inside = (line.distance >= begin) | (line.distance <= end)
        speed = 1.0 / float(np.mean(1.0 / profile.speed[inside]))
        return track_stretch(self.smooth, begin=begin, end=end, closed=line.closed, speed=speed, name=name)


def _outside(at: float, start: float, end: float, lap: float, *, closed: bool) -> float:
    """How far a place lies outside of a corner: below zero before it, above zero beyond, zero within. [m]"""
    long = (end - start) % lap if closed else end - start
    after = (at - start) % lap if closed else at - start
    if 0.0 <= after <= long:
        return 0.0
    before = (start - at) % lap if closed else start - at
    beyond = after - long if after > long else np.inf
    return -before if 0.0 <= before < beyond else beyond


def standard_course(car: Car, only: Collection[str] = tuple(CORNER_RADII)) -> Course:
    """Return the standard corners, road and kerb, scaled to a car.

    Parameters
    ----------
    car : as it stands.
    only : corners that are wanted.
    """
    corners = standard_corners(car, only)
    return Course(
        name="the standard corners",
        corners=dict(corners),
        phases=dict.fromkeys(corners, CORNER_PHASES),
        classes={name: name for name in corners},
        road=standard_road(car),
        kerb=standard_kerb(car),
    )


def track_course(car: Car, track: Track, *, study: LapStudy | None = None) -> Course:
    """Return what a car meets on a track.

    Parameters
    ----------
    car : as it stands.
    study : of its lap with `MARGINS`, if it is known already.

    Raises
    ------
    EventError
        If the track has no corner.
    TrackError, SolveError
        As `study_lap`.

    Notes
    -----
    Corners are gone through as the quasi-steady lap with `MARGINS` goes through them, build-up of pedals and
    steering as of `Pace`: at the use of grip of the standard corners, so that the rig tells who would run
    out first. The road is the class that covers most of the track, the kerb its highest.
    """
    study = study or study_lap(car, track, use=MARGINS)
    summary = study.summary
    if not summary.corners:
        raise_no_corner(track)
    step = stable_step(stacked([pack(car)]))
    corners: dict[str, CornerTrial] = {}
    phases: dict[str, tuple[str, ...]] = {}
    for place, one in enumerate(summary.corners):
        event = corner_on_lap(study.profile, summary.corners, place)
        corners[event.name] = event
        phases[event.name] = tuple(phase.name for phase in event.motion(car, step).phases)
        assert event.name == f"corner {one.corner}"
    road_class, road_note = track_surface(track, study.line.length)
    kerb, kerb_note = track_kerb(car, track, study)
    return Course(
        name=track.name,
        corners=corners,
        phases=phases,
        classes={f"corner {one.corner}": f"{one.speed_class} corner" for one in summary.corners},
        road=RoughRoad(speed=min(summary.mean_speed, 0.8 * top_speed(car)), road_class=road_class),
        kerb=kerb,
        lap=CourseLap(car=car, study=study),
        notes=(road_note, kerb_note),
    )


MARGINS = Margins(braking=BRAKING, lateral=CORNERING, driving=BRAKING)
"""Of the lap that a track's corners are taken from: those of the standard corners."""
