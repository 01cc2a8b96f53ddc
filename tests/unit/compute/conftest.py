"""A few short drives of a small invented car, as tasks."""

from collections.abc import Callable

import numpy as np
import pytest

from fourpatch.analysis.driver_plan import DriverPlan, driver_plan
from fourpatch.car.car import Car
from fourpatch.compute.lap_task import LapTask
from fourpatch.events.drive import made_ready
from fourpatch.events.drive_inputs import DriveRoad
from fourpatch.events.lap import lay_lap_road
from fourpatch.events.lap_sums import lap_gates, lay_summed_laps, room_beside
from fourpatch.physics.layout import CORNER_BASE, N_CORNER, C, P
from fourpatch.track.corners import find_corners
from fourpatch.track.files import load_track
from fourpatch.track.layout import TrackLayout, lay_out
from fourpatch.track.racing_line import least_curvature_line
from fourpatch.track.track_road import track_road

CAR_WIDTH = 1.8


class Course:
    """A car, its driver's plan and the road, once for all tests."""

    def __init__(self, car: Car, track_file) -> None:
        track = load_track(track_file)
        self.car = car
        self.layout: TrackLayout = lay_out(track)
        self.corners = tuple(find_corners(self.layout))
        line = least_curvature_line(track, car_width=CAR_WIDTH, margin=0.6)
        self.plan: DriverPlan = driver_plan(car, line)
        profile = track_road(track, line, seed=1, track_width=car.front.track_width)
        self.road: DriveRoad = lay_lap_road(car, profile, closed=line.closed)
        self.gates = lap_gates(line, self.corners)

    def task(self, paces: np.ndarray, *, vary: bool = False, rough: bool = True) -> LapTask:
        """Laps at paces, of cars that differ in springs, dampers and brake share if so asked."""
        driven = made_ready([self.car] * paces.size)
        if vary:
            some = np.random.default_rng(7)
            for corner in range(4):
                c = CORNER_BASE + corner * N_CORNER
                for slot in (C.spring_rate, C.bump_slope, C.tyre_rate):
                    driven.parameters[:, c + slot] *= some.uniform(0.9, 1.1, paces.size)
            driven.parameters[:, P.brake_front_share] *= some.uniform(0.97, 1.03, paces.size)
        road = self.road if rough else DriveRoad(stretches=np.zeros((1, 4, 4)), spacing=1.0, origin=0.0)
        line = self.plan.line
        return lay_summed_laps(
            driven,
            line,
            self.plan.at_pace(paces),
            habits=self.plan.habits,
            handling=self.plan.handling,
            road=road,
            gates=self.gates,
            room=room_beside(line, self.layout, car_width=CAR_WIDTH),
        )


@pytest.fixture(scope="session")
def course(full_car: Car, oval_file) -> Course:
    return Course(full_car, oval_file)


@pytest.fixture(scope="session")
def task_of(course: Course) -> Callable[..., LapTask]:
    return course.task
