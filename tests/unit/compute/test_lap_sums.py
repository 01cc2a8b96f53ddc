"""A lap summed up while it is driven tells what its history would."""

from dataclasses import replace

import numpy as np
from numpy.testing import assert_allclose

from fourpatch.analysis.driven_lap import LapRows, corner_times, driven_lap, in_hand
from fourpatch.events.lap_sums import lane_sums, summed
from fourpatch.physics.layout import P

PACES = np.linspace(0.7, 1.0, 9)  # more than a block of lanes, the fastest beyond what the car bears


def test_sums_are_those_of_the_history(course):
    run = course.plan.drive(course.plan.at_pace(PACES), course.road, interval=0.01)
    found = summed(lane_sums(course.task(PACES), single=False), course.gates)
    # Rounding: the same instants, times counted as multiples of the step here and of the interval there.
    close = {"rtol": 1e-9, "atol": 1e-9}
    assert_allclose(found.lap_time, run.lap_time, **close)
    assert (found.finished == run.finished).all()
    for car in range(PACES.size):
        if not LapRows(run, car).distance.size:
            continue  # lost before the start line
        lap = driven_lap(run, car, course.layout, course.corners, (), car_width=1.8)
        rows = LapRows(run, car)
        assert_allclose(
            found.corner_time[car], [one.time for one in corner_times(rows, course.corners)], **close
        )
        assert_allclose(found.largest_sideslip[car], lap.largest_sideslip, **close)
        # 1 mm: the edges are read along the line here, along the centre line there.
        assert_allclose(found.least_room[car], lap.least_room, atol=1e-3)
        assert_allclose(found.locked[car], lap.locked, **close)
        assert_allclose(found.spinning[car], lap.spinning, **close)
        assert_allclose(found.tyre_work[car], lap.tyre_work, rtol=1e-9)
        # Speeds between two instants, 10 ms apart, where the history is cut at a corner's ends.
        slowest = [one.slowest_speed for one in lap.corners]
        assert_allclose(found.slowest_speed[car], slowest, atol=0.05)
    good = found.finished & (found.least_room >= 0.0) & (np.degrees(found.largest_sideslip) <= 15.0)
    assert good.tolist() == [in_hand(run, car, course.layout, car_width=1.8) for car in range(PACES.size)]
    assert not good.all()
    assert good.any()


def test_a_car_does_not_hang_on_who_drove_in_its_lane_before(course):
    together = lane_sums(course.task(PACES), single=False, threads=1)
    alone = lane_sums(course.task(PACES[-1:]), single=False)
    assert (together.lap[-1] == alone.lap[0]).all()


def test_a_car_that_is_no_number_shows_and_spoils_no_other(course):
    task = course.task(PACES[:5])
    parameters = task.parameters.copy()
    parameters[2, P.front_bar_rate] = np.nan
    sound, spoiled = (
        lane_sums(task, single=False),
        lane_sums(replace(task, parameters=parameters), single=False),
    )
    assert np.isfinite(spoiled.lap).all(axis=1).tolist() == [True, True, False, True, True]
    others = [0, 1, 3, 4]
    assert (spoiled.lap[others] == sound.lap[others]).all()
    assert (spoiled.gates[others] == sound.gates[others]).all()
