"""The highest pace held, found by halving: a driver of known limits, and faulty cars among good ones."""

import numpy as np
import pytest
from numpy.testing import assert_allclose

from fourpatch.analysis import held_pace
from fourpatch.analysis.driver_plan import driver_plan
from fourpatch.analysis.held_pace import LAPS, NEEDED, HeldCourse
from fourpatch.car.demo import demo_car
from fourpatch.compute.lap_task import LapSums
from fourpatch.errors import SolveError
from fourpatch.events.drive_inputs import DriveRoad
from fourpatch.events.driver_style import DriverScatter
from fourpatch.physics.layout import N_GATE, N_LAP, A, R
from fourpatch.track.demo import demo_track
from fourpatch.track.layout import lay_out
from fourpatch.track.racing_line import least_curvature_line

LEVEL = DriveRoad(stretches=np.zeros((1, 4, 4)), spacing=1.0, origin=0.0)


@pytest.fixture(scope="module")
def course() -> HeldCourse:
    car, track = demo_car("hatchback"), demo_track("chicanes")
    plan = driver_plan(car, least_curvature_line(track, margin=0.6))
    return HeldCourse(plan, DriverScatter(), LEVEL, lay_out(track), (), middle=0.9, seed=1, car_width=1.8)


def known_driver(limits: np.ndarray, *, spoiled: int | None = None):
    """Stay on the road below each car's limit, at it with just enough laps, beyond it with one less, none."""

    def drive(task):
        row = task.rows[0]
        car = np.repeat(np.arange(task.cars // LAPS), LAPS)
        number = row // LAPS  # of the pace
        gates = np.zeros((task.cars, task.marks.gates.size, N_GATE))
        gates[:, -1, R.time] = 100.0 - number + 0.01 * (row % LAPS)
        lap = np.zeros((task.cars, N_LAP))
        on_road = np.select(
            [number < limits[car], number == limits[car], number == limits[car] + 1],
            [LAPS, NEEDED, NEEDED - 1],
            default=0,
        )
        lap[:, A.room] = np.where(row % LAPS < on_road, 0.5, -0.1)
        if spoiled is not None:
            lap[car == spoiled] = np.nan
            gates[car == spoiled] = np.nan
        return LapSums(gates, lap, np.ones(task.cars, dtype=np.intp))

    return drive


def test_the_highest_pace_with_enough_laps_in_hand_is_found(course) -> None:
    limits = np.array([-1, 0, 7, 15, 16, 30])  # numbers of paces from the slowest on
    found = course.held([course.plan.car] * limits.size, known_driver(limits))
    assert np.isnan(found.pace[0])
    assert_allclose(found.pace[1:], course.paces[1 + limits[1:]], rtol=1e-15)
    # Mean and spread of the times on the road that the driver above gives: 100 - number + 0.00 to 0.14 s.
    assert_allclose(found.lap_time[1:], 100.0 - limits[1:] + 0.07, rtol=1e-12)
    assert_allclose(found.time_spread[1:], np.std(0.01 * np.arange(NEEDED), ddof=1), rtol=1e-9)
    assert found.not_finite == found.no_start == ()


def test_a_car_whose_numbers_are_not_finite_is_named_and_spoils_no_other(course) -> None:
    limits = np.array([5, 9, 20])
    found = course.held([course.plan.car] * 3, known_driver(limits, spoiled=1))
    assert found.not_finite == (1,)
    assert np.isnan(found.pace).tolist() == [False, True, False]
    assert_allclose(found.pace[[0, 2]], course.paces[[6, 21]], rtol=1e-15)


def test_a_car_without_a_steady_start_is_left_out(course, monkeypatch) -> None:
    good = course.plan.car
    lost = good.model_copy(update={"name": "cannot roll steadily"})
    lay = held_pace.lay_summed_laps

    def refuses(driven, *given, **named):
        if lost in driven.cars:
            raise SolveError("lap: no steady start")
        return lay(driven, *given, **named)

    monkeypatch.setattr(held_pace, "lay_summed_laps", refuses)
    found = course.held([good, lost, good], known_driver(np.array([5, 9])))
    assert found.no_start == (1,)
    assert np.isnan(found.pace[1])
    assert_allclose(found.pace[[0, 2]], course.paces[[6, 10]], rtol=1e-15)
    assert found.not_finite == ()
