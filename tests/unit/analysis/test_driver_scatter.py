"""Laps of a driver who scatters: what he scatters by is what comes out, and laps that are kept are whole."""

from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from numpy.testing import assert_allclose, assert_array_equal
from numpy.typing import NDArray

from fourpatch.analysis import driver_scatter
from fourpatch.analysis.driven_lap import LapRows
from fourpatch.analysis.driver_scatter import ScatteredLaps, scattered_laps, scattered_plan
from fourpatch.analysis.lap_drive import ReadyToDrive, ready_to_drive, study_drive
from fourpatch.analysis.lap_scatter import ScatterStudy, study_scatter
from fourpatch.car.demo import demo_car
from fourpatch.errors import SolveError, Stopped
from fourpatch.events.drive import made_ready
from fourpatch.events.driver_style import DriverScatter
from fourpatch.events.lap import drive_lap
from fourpatch.physics.layout import X
from fourpatch.track.corners import find_corners
from fourpatch.track.files import load_track
from fourpatch.track.racing_line import FLAT_KERB

Array = NDArray[np.float64]

PACE, MARGIN = 0.85, 0.3
NONE = DriverScatter(brake_point=0.0, corner_speed=0.0, steering=0.0)


@pytest.fixture(scope="module")
def ready(oval_file: Path) -> ReadyToDrive:
    track = load_track(oval_file)
    return ready_to_drive(
        demo_car("gt"),
        track,
        style=None,
        pace=PACE,
        margin=MARGIN,
        kerb_share=0.0,
        flat_kerb=FLAT_KERB,
        seed=1,
    )


def driven(ready: ReadyToDrive, scatter: DriverScatter, *, laps: int = 8, seed: int = 1) -> ScatteredLaps:
    """Laps on the oval."""
    corners = tuple(find_corners(ready.layout))
    return scattered_laps(
        ready.plan, PACE, scatter, ready.road, ready.layout, corners,
        laps=laps, seed=seed, car_width=ready.car_width,
    )  # fmt: skip


def test_without_scatter_every_lap_is_that_of_run_lap(ready: ReadyToDrive, oval_file: Path) -> None:
    found = driven(ready, NONE)
    assert_array_equal(found.lap_time, found.lap_time[0])
    assert_array_equal(found.corner_reserve, np.broadcast_to(found.corner_reserve[0], (8, 2)))
    lap = study_drive(demo_car("gt"), load_track(oval_file), margin=MARGIN, pace=PACE).summary
    # Crossings lie between instants 50 ms apart there and 10 ms here: a straight line through a motion that
    # is accelerated by a is wrong by a t^2 / 8 in distance. At most 10 m/s^2, at least 20 m/s, two ends.
    between = 2.0 * (10.0 * 0.05**2 / 8.0) / 20.0
    assert_allclose(found.lap_time[0], lap.lap_time, rtol=0.0, atol=between)
    assert_allclose(found.corner_time[0], [one.time for one in lap.corners], rtol=0.0, atol=between)


def test_the_seed_fixes_the_laps_and_their_number_does_not(ready: ReadyToDrive) -> None:
    usual = DriverScatter()
    some, more = (scattered_plan(ready.plan, PACE, usual, laps=laps, seed=1) for laps in (3, 7))
    assert_array_equal(some.ceiling, more.ceiling[:3])
    assert_array_equal(some.unsteadiness, more.unsteadiness[:3])
    other = scattered_plan(ready.plan, PACE, usual, laps=3, seed=2)
    assert not np.any(np.all(other.ceiling == some.ceiling, axis=1))
    assert_array_equal(driven(ready, usual).lap_time, driven(ready, usual).lap_time)


def on_the_oval(ready: ReadyToDrive, scatter: DriverScatter, laps: int) -> list[LapRows]:
    """Laps with instants close together."""
    plan = ready.plan
    run = drive_lap(
        made_ready([plan.car] * laps),
        plan.line,
        scattered_plan(plan, PACE, scatter, laps=laps, seed=1),
        habits=plan.habits,
        handling=plan.handling,
        road=ready.road,
        interval=0.005,
    )
    return [LapRows(run, car) for car in range(laps)]


def braking_places(ready: ReadyToDrive, laps: list[LapRows]) -> Array:
    """Where the brake is first pressed for each of the two corners, (laps, corners). [m]"""
    halves = (0.0, 0.5 * ready.plan.line.length)
    return np.array(
        [
            [
                one.distance[np.flatnonzero((one.distance >= begin) & (one.hands[:, 2] > 0.1))[0]]
                for begin in halves
            ]
            for one in laps
        ]
    )


def test_he_brakes_as_far_apart_as_his_scatter_says(ready: ReadyToDrive) -> None:
    laps = 48  # instants are a quarter of a metre apart: of so many places that is a hundredth of the answer
    (usual,) = on_the_oval(ready, NONE, 1)
    ((_, place),) = braking_places(ready, [usual])
    # He speeds up by g a metre on the straight (its own corner alone: the first begins at the start line) and
    # his limit falls by q a metre. Moved by d, it meets his speed at d q / (q + g).
    speed = usual.states[:, X.forward_velocity]
    gained = np.polyfit(*np.array([usual.distance, speed])[:, usual.between(place - 30.0, place - 8.0)], 1)[0]
    line = ready.plan.line
    after = (line.distance > place) & (line.distance < place + 15.0)
    falls = -np.polyfit(line.distance[after], ready.plan.at_pace(np.array([PACE])).ceiling[0, after], 1)[0]
    assert 0.6 < falls / (falls + gained) < 0.9
    # The draws of each lap: how far earlier the place of each corner is, in standard deviations.
    draws = np.array([np.random.default_rng([1, lap]).standard_normal((2, 2))[0, 1] for lap in range(laps)])
    for size in (2.0, 6.0):
        found = braking_places(ready, on_the_oval(ready, replaced(brake_point=size), laps))[:, 1]
        # Both slopes change by a few per cent over the metres between the places.
        answer = np.polyfit(draws, place - found, 1)[0]
        assert_allclose(answer, size * falls / (falls + gained), rtol=0.05)


def replaced(**scatter: float) -> DriverScatter:
    """A driver who scatters in nothing else."""
    return NONE.model_copy(update=scatter)


@pytest.mark.parametrize("what", ["brake_point", "corner_speed", "steering"])
def test_small_scatter_spreads_in_proportion(ready: ReadyToDrive, what: str) -> None:
    size = {"brake_point": 1.0, "corner_speed": 0.002, "steering": 0.005}[what]
    single, double = (
        driven(ready, replaced(**{what: factor * size}), laps=16).lap_time for factor in (1.0, 2.0)
    )
    # The same draws, twice as large: what is left of the lap times after twice the smaller ones is of second
    # order. A tenth is what a curved answer leaves at these sizes.
    apart = (double - double.mean()) - 2.0 * (single - single.mean())
    assert single.std() > 0.0
    assert apart.std() < 0.25 * double.std()


def test_hands_are_as_unsteady_as_asked(ready: ReadyToDrive) -> None:
    scatter = replaced(steering=0.02)
    steer = scattered_plan(ready.plan, PACE, scatter, laps=200, seed=1).unsteadiness
    wheel = steer * ready.plan.car.steering.ratio
    # 200 laps of 600 m hold about 200 x 600 / (2 sqrt(pi) 15 m) = 2300 independent values: 1.5 % one sigma.
    assert_allclose(wheel.std(), 0.02, rtol=4.5 * 0.015)
    assert_allclose(wheel.mean(), 0.0, atol=3.0 * 0.02 / np.sqrt(2300.0))


def test_laps_that_are_kept_are_the_first_of_all(
    ready: ReadyToDrive, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(driver_scatter, "_AT_ONCE", 4)
    corners = tuple(find_corners(ready.layout))
    told: list[float] = []

    def drive(stop_at: float) -> ScatteredLaps:
        told.clear()
        return scattered_laps(
            ready.plan, PACE, DriverScatter(), ready.road, ready.layout, corners,
            laps=12, seed=1, car_width=ready.car_width,
            progress=lambda share, text: told.append(share),
            cancelled=lambda: bool(told) and told[-1] >= stop_at,
        )  # fmt: skip

    whole, part = drive(2.0), drive(0.6)
    assert (whole.stopped, part.stopped) == (False, True)
    assert part.lap_time.size == 8
    for name in ("lap_time", "good", "corner_time", "largest_sideslip", "corner_reserve"):
        assert_array_equal(getattr(part, name), getattr(whole, name)[:8])
    # Asked to stop when the last laps were already driven, nothing is missing.
    assert not drive(1.0).stopped


def test_progress_never_falls_and_ends_at_one(oval_file: Path) -> None:
    told: list[float] = []
    study = study_scatter(
        demo_car("gt"), load_track(oval_file), laps=4, margin=MARGIN, pace=PACE,
        progress=lambda share, text: told.append(share),
    )  # fmt: skip
    assert told == sorted(told)
    assert (told[0], told[-1]) == (0.0, 1.0)
    assert not study.stopped


@pytest.fixture(scope="module")
def study(oval_file: Path) -> ScatterStudy:
    return study_scatter(demo_car("gt"), load_track(oval_file), laps=8, margin=MARGIN, pace=PACE)


def test_its_numbers_are_those_of_the_laps(study: ScatterStudy) -> None:
    found, laps = study.summary, study.laps
    # Definitions, by the statistics of numpy: rounding.
    times = laps.lap_time[laps.good]
    assert_allclose(found.lap_time_spread, np.sqrt(((times - times.mean()) ** 2).sum() / (times.size - 1)))
    assert found.fastest <= found.lap_time <= found.slowest
    assert_allclose(laps.least_reserve, laps.corner_reserve.max(axis=1))
    for k, one in enumerate(found.corners):
        assert_allclose(one.spread, laps.corner_time[laps.good, k].std(ddof=1))
        assert_allclose(one.least_reserve, laps.corner_reserve[laps.good, k].mean())


def test_too_fast_for_his_scatter_is_refused(oval_file: Path) -> None:
    wild = DriverScatter(brake_point=20.0, corner_speed=0.1, steering=0.3)
    with pytest.raises(SolveError, match="a spread needs two"):
        study_scatter(demo_car("gt"), load_track(oval_file), laps=2, margin=MARGIN, pace=1.1, scatter=wild)


def test_stopped_before_the_first_lap_there_is_nothing(oval_file: Path) -> None:
    with pytest.raises(Stopped, match="nothing was driven yet"):
        study_scatter(
            demo_car("gt"), load_track(oval_file), laps=4, margin=MARGIN, pace=PACE, cancelled=lambda: True
        )


def test_a_lap_that_came_to_no_corner_has_no_reserve(study: ScatterStudy) -> None:
    lost = replace(study.laps, corner_reserve=np.array([[np.nan, np.nan], [np.nan, -3.0], [-2.0, -3.0]]))
    assert_array_equal(lost.least_reserve, [np.nan, -3.0, -2.0])
