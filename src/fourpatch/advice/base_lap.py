"""The driven lap of a set-up beside that of the set-up it began from, each after practice."""

from dataclasses import dataclass, replace
from math import pi, sqrt

import numpy as np
from numpy.typing import NDArray
from scipy.special import stdtrit

from fourpatch.advice.occasion import Occasion
from fourpatch.analysis.driver_plan import DriverPlan, driver_plan
from fourpatch.analysis.found_hands import found_hands
from fourpatch.analysis.lap_drive import DRIVER_MARGIN
from fourpatch.analysis.lap_summary import car_width
from fourpatch.analysis.limits_map import LimitsMap, limits_map
from fourpatch.analysis.pace_search import search_pace
from fourpatch.analysis.practice import MOST_ROUNDS, PACE_STEP, Practice, practise
from fourpatch.car.car import Car
from fourpatch.errors import EventError, SolveError, TrackError
from fourpatch.events.drive_inputs import DriveRoad
from fourpatch.events.lap import lay_lap_road
from fourpatch.track.builder import Direction, Section, SectionLine, StraightSection, corner
from fourpatch.track.layout import lay_out
from fourpatch.track.racing_line import least_curvature_line
from fourpatch.track.track import ClassSurface, Road, Track, Width
from fourpatch.track.track_road import track_road

Array = NDArray[np.float64]

_ROUNDS = 4  # of practice with each set-up on each road
_CHANCE = 0.05
_SEEDS = (1, 2, 3)  # of the road's random surface: every set-up meets the same three
_STRAIGHT = 150.0  # between corners: long enough to brake and to settle [m]
_EASEMENT = 0.5  # of the path of a corner that its two clothoids take [1]
_ROOM = 0.4  # beyond the driver's margin on either side, so that the line stays near the corner's radius [m]
_TURNS: tuple[Direction, ...] = ("left", "right")


@dataclass(frozen=True, slots=True, kw_only=True)
class Laps:
    """Driven laps of one course."""

    course: str
    """As shown."""
    given: float | None
    """Of the set-up that was given; None if its lap refuses. [s]"""
    found: float | None
    """Of the set-up that was found. [s]"""
    uncertainty: float
    """By what the two laps must differ to be told apart. [s]"""
    refused: str = ""
    """Why there is no lap."""

    @property
    def slower(self) -> bool:
        """Whether the set-up is slower beyond the uncertainty, or not driven where the given one is."""
        if self.given is None:
            return self.found is None
        return self.found is None or self.found > self.given + self.uncertainty


def standard_course(occasion: Occasion, car: Car) -> Track:
    """Return a road of an occasion's corners, each a quarter turn, as narrow as the driver bears.

    Notes
    -----
    Straights of 150 m between them; half of a corner's turn is taken in its clothoids. The same corners that
    a set-up without a track is made for, on its class of road.
    """
    sections: list[Section] = [StraightSection(length=_STRAIGHT)]
    for place, one in enumerate(occasion.corners.values()):
        easement = _EASEMENT * 0.5 * pi * one.radius
        turn = _TURNS[place % 2]
        sections += corner(radius=one.radius, angle=0.5 * pi, direction=turn, easement=easement)
        sections.append(StraightSection(length=_STRAIGHT))
    half = 0.5 * car_width(car) + DRIVER_MARGIN + _ROOM
    return Track(
        name="a road of the three corners",
        centre_line=SectionLine(closed=False, sections=sections),
        road=Road(
            width=[Width(distance=0.0, left=half, right=half)],
            surface=[ClassSurface(start=0.0, kind="road-class", road_class=occasion.road.road_class)],
        ),
    )


class Course:
    """A course on which the set-ups of one car are driven, the given one first.

    Notes
    -----
    Each is driven by its own plan, from its own limits, by a driver who practises (`practise`) on three roads
    that differ in their bumps alone; its lap is the mean. Line, roads and driver are the same for all; what
    he learned with the given set-up on the first road he begins with everywhere, so that a set-up is not
    quicker for being practised longer. Two laps are told apart if the mean of their three differences is
    farther from nought than 5 % of pure chance would bring it (one-sided t test), and than a step of his
    pace.
    """

    def __init__(self, given: Car, track: Track) -> None:
        self.name = track.name
        self._width = car_width(given)
        self._layout = lay_out(track)
        self._line = least_curvature_line(track, car_width=self._width, margin=DRIVER_MARGIN)
        across = given.front.track_width
        profiles = [track_road(track, self._line, seed=seed, track_width=across) for seed in _SEEDS]
        self._roads = [lay_lap_road(given, one, closed=self._line.closed) for one in profiles]
        self._near: LimitsMap | None = None
        self._learned: DriverPlan | None = None
        self._given, self._refused = self._laps(given)
        self.given = None if self._given is None else float(self._given.mean())

    def beside(self, car: Car) -> Laps:
        """Drive another set-up of the car."""
        times, refused = self._laps(car)
        return Laps(
            course=self.name,
            given=self.given,
            found=None if times is None else float(times.mean()),
            uncertainty=self._uncertainty(times),
            refused=refused or self._refused,
        )

    def unchanged(self) -> Laps:
        """Return the given set-up beside itself."""
        return Laps(
            course=self.name,
            given=self.given,
            found=self.given,
            uncertainty=self._uncertainty(self._given),
            refused=self._refused,
        )

    def _uncertainty(self, times: Array | None) -> float:
        """By what the mean lap must differ from the given one's. [s]"""
        if times is None or self._given is None:
            return 0.0
        apart = times - self._given
        chance = stdtrit(apart.size - 1, 1.0 - _CHANCE) * apart.std(ddof=1) / sqrt(apart.size)
        return float(max(chance, PACE_STEP * self._given.mean()))

    def _laps(self, car: Car) -> tuple[Array | None, str]:
        """Return a lap time on each road, (roads,) [s], or why there is none."""
        try:
            limits = limits_map(car, near=self._near)
            self._near = self._near or limits
            plan = driver_plan(car, self._line, limits=limits)
            if self._learned is None:
                hands = found_hands(plan, self._roads[0], self._layout, car_width=self._width)
                self._learned = self._practised(hands, self._roads[0], MOST_ROUNDS).plan
            plan = replace(plan, learned=self._learned.learned, habits=self._learned.habits)
            found = [self._practised(plan, road, _ROUNDS) for road in self._roads]
        except (EventError, SolveError, TrackError) as error:
            return None, str(error)
        return np.array([one.lap_time for one in found]), ""

    def _practised(self, plan: DriverPlan, road: DriveRoad, rounds: int) -> Practice:
        start = search_pace(plan, road, self._layout, car_width=self._width).best
        return practise(plan, road, self._layout, start=start, car_width=self._width, rounds=rounds)
