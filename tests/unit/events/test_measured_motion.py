"""A motion of one's own: the same motion again, its smoothing in closed form, its phases, its refusals."""

from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from numpy.testing import assert_allclose
from numpy.typing import NDArray

from fourpatch.analysis.phase_balance import phase_numbers, phase_series
from fourpatch.analysis.within_grip import run_possible
from fourpatch.car.pack import pack
from fourpatch.document.refusals import read_part
from fourpatch.errors import EventError
from fourpatch.events.corner import Corner
from fourpatch.events.files import load_event
from fourpatch.events.measured_motion import MeasuredMotion
from fourpatch.events.motion import RigMotion
from fourpatch.events.run import run_rig, stable_step, stacked
from fourpatch.physics.layout import I

Array = NDArray[np.float64]
Written = Callable[..., str]
STEP = 1e-3
HEADING = "time [s], speed [m/s], longitudinal_acceleration [m/s^2], lateral_acceleration [m/s^2]"


@pytest.fixture
def written(tmp_path: Path) -> Written:
    """Write a motion to a file and return its name."""

    def write(time: Array, speed: Array, along: Array, across: Array, heading: str = HEADING) -> str:
        rows = np.column_stack(np.broadcast_arrays(time, speed, along, across))
        text = "\n".join([heading, *(", ".join(f"{value:.17g}" for value in row) for row in rows)])
        (tmp_path / "mine.csv").write_text(text, encoding="utf-8")
        return str(tmp_path / "mine.csv")

    return write


def as_written(written: Written, motion: RigMotion) -> str:
    time = 0.5 * motion.step * np.arange(motion.inputs.shape[0])
    columns = (I.speed, I.longitudinal_acceleration, I.lateral_acceleration)
    return written(time[::10], *(motion.inputs[::10, slot] for slot in columns))


def test_the_motion_of_a_corner_is_the_corner(full_car, written):
    parameters = stacked([pack(full_car)])
    corner = Corner(radius=80.0, speed=24.0).motion(full_car, stable_step(parameters))
    again = MeasuredMotion(file=as_written(written, corner), cutoff=20.0).motion(full_car, corner.step)
    again = replace(again, store_every=corner.store_every)
    expected, found = (run_rig(parameters, motion).outputs[0, :, :4] for motion in (corner, again))
    # A Gaussian of 6.6 ms takes half its square of the second derivative: 9 m/s^2 within 0.3 s, a half
    # cosine, has at most 500 m/s^4, so 0.011 m/s^2 of 1250 kg moves 5 N between two wheels.
    assert_allclose(found[: expected.shape[0]], expected[: found.shape[0]], rtol=0.0, atol=10.0)


def test_faster_changes_are_smoothed_away(car_with, written):
    time = np.arange(0.0, 10.0, 0.01)
    for frequency, gain in ((2.0, 1.0 / np.sqrt(2.0)), (4.0, 0.25), (0.2, 0.5**0.005)):
        file = written(time, 30.0, 0.0, 5.0 * np.sin(2.0 * np.pi * frequency * time))
        inputs = MeasuredMotion(file=file, cutoff=2.0).motion(car_with({}), STEP).inputs
        middle = inputs[5000:15000]  # 2.5 to 7.5 s, whole waves of each
        # exp(-(2 pi f s)^2 / 2) is 1 / sqrt 2 at the cutoff and so 2^(-(f / cutoff)^2 / 2); the Gaussian is
        # sampled four times per width, straight lines between points of 10 ms lose 0.5 % at 4 Hz.
        assert_allclose(np.ptp(middle[:, I.lateral_acceleration]) / 10.0, gain, rtol=8e-3)
        assert_allclose(middle[:, I.path_curvature], middle[:, I.lateral_acceleration] / 900.0, rtol=1e-12)
        rate = np.gradient(middle[:, I.lateral_acceleration] / 30.0, STEP / 2.0)[1:-1]
        assert_allclose(middle[1:-1, I.yaw_acceleration], rate, rtol=0.0, atol=1e-9)


def s_bend(time: Array) -> Array:
    """Straight, 6 m/s^2 to the left from 2 to 4 s, the same to the right to 6 s, straight."""
    left, back, straight = (np.clip((time - start) / 0.1, 0.0, 1.0) for start in (2.0, 4.0, 6.0))
    return 6.0 * (left - 2.0 * back + straight)


def test_phases_are_its_turns_straights_and_brakings(car_with, written):
    time = np.arange(0.0, 9.0, 0.02)
    slowing = np.where((time > 1.0) & (time < 2.0), -5.0, 0.0)
    twitch = 3.0 * np.exp(-(((time - 7.5) / 0.05) ** 2))  # too short for a turn
    motion = MeasuredMotion(file=written(time, 30.0, slowing, s_bend(time) + twitch)).motion(
        car_with({}), STEP
    )
    names = [phase.name for phase in motion.phases]
    assert names == ["straight 1", "braking 1", "left turn 1", "right turn 1", "straight 2"]
    # Where the smoothed acceleration passes 1 m/s^2, on ramps of 0.1 s.
    assert_allclose([phase.start for phase in motion.phases], [0.0, 1.0, 2.0, 4.05, 6.08], atol=0.04)
    for earlier, later in zip(motion.phases, motion.phases[1:], strict=False):
        assert earlier.end == later.start


def test_load_moves_to_the_outer_side_in_either_turn(car_with, written):
    """A car alike on both sides: the same transfer to either side, m a h / t over both axles."""
    car, time = car_with({}), np.arange(0.0, 8.0, 0.02)
    motion = MeasuredMotion(file=written(time, 30.0, 0.0, s_bend(time))).motion(car, STEP)
    parameters = stacked([pack(car)])
    history = run_rig(parameters, motion)
    numbers = phase_numbers(phase_series(parameters, history, motion), motion)
    left, right = (numbers["lateral_transfer"][0, k].sum() for k in (1, 2))
    assert left > 0.0
    # The way into the first turn is from straight on, into the second from the other side: of 2 s, tenths.
    assert_allclose(left, right, rtol=0.1)
    assert_allclose(left, 1200.0 * 6.0 * 0.5 / 1.5, rtol=0.1)


def test_a_part_of_the_file_is_driven_with_a_second_before_it(car_with, written):
    time = np.arange(0.0, 20.0, 0.05) + 100.0
    file = written(time, 20.0 + 0.1 * (time - 100.0), 0.1, 0.0)
    motion = MeasuredMotion(file=file, start=105.0, end=110.0).motion(car_with({}), STEP)
    assert [(phase.name, phase.start) for phase in motion.phases] == [("lead-in", 0.0), ("straight 1", 1.0)]
    # The smoothing keeps a straight line.
    assert_allclose(motion.inputs[[0, -1], I.speed], [20.4, 21.0], rtol=1e-6)
    whole = MeasuredMotion(file=file).motion(car_with({}), STEP)
    assert whole.phases[0] == ("straight 1", 0.0, whole.duration + STEP)


def test_units_of_the_heading_are_read(car_with, written):
    time = np.arange(0.0, 3.0, 0.05)
    heading = "lateral_acceleration [g_0]; speed [km/h]; longitudinal_acceleration [m/s²]; time [ms]"
    file = written(0.5 + 0.0 * time, 108.0, 0.0, 1e3 * time, heading=heading).replace(",", ";")
    Path(file).write_text(Path(file).read_text(encoding="utf-8").replace(",", ";"), encoding="utf-8")
    inputs = MeasuredMotion(file=file).motion(car_with({}), STEP).inputs
    assert_allclose(inputs[:, I.speed], 30.0, rtol=1e-12)
    assert_allclose(inputs[:, I.lateral_acceleration], 0.5 * 9.80665, rtol=1e-12)


@pytest.mark.parametrize(
    ("start", "end", "said"),
    [
        (5.0, 1.0, "runs from 0 to 9.95 s, and start and end ask for 5 to 1 s"),
        (None, 99.0, "ask for 0 to 99 s"),
        (1.0, 1.2, "are 0.2 s; a run takes 0.5 to 300 s. Ask for more"),
    ],
)
def test_a_part_that_is_not_there_is_refused(car_with, written, start, end, said):
    time = np.arange(0.0, 10.0, 0.05)
    event = MeasuredMotion(file=written(time, 30.0, 0.0, 0.0), start=start, end=end)
    with pytest.raises(EventError, match=said):
        event.motion(car_with({}), STEP)


def test_gaps_and_times_that_fall_are_refused_with_their_lines(written):
    time = np.arange(0.0, 10.0, 0.05)
    time[50:] += 0.5
    time[100] = time[98]
    _, faults = read_part(MeasuredMotion, {"file": written(time, 30.0, 0.0, 0.0)})
    assert "mine.csv, line 52: this point is 0.55 s after the one above" in faults[0].text
    assert "line 102: this point is 0.05 s before the one above" in faults[0].text
    _, faults = read_part(MeasuredMotion, {"file": written(time, 0.5, 0.0, 0.0)})
    assert "line 2: speed is 1.8 km/h, outside 7.2 to 432 km/h" in faults[0].text


def test_what_no_tyre_could_do_is_refused(full_car, written):
    time = np.arange(0.0, 3.0, 0.05)
    event = MeasuredMotion(file=written(time, 30.0, 0.0, 45.0))
    parameters = stacked([pack(full_car)])
    with pytest.raises(EventError, match="Check the units and signs of its accelerations"):
        run_possible(full_car, event, event.motion(full_car, STEP), parameters)


def test_an_event_file_names_a_motion_beside_it(written, tmp_path):
    written(np.arange(0.0, 3.0, 0.05), 30.0, 0.0, 0.0)
    event = tmp_path / "mine.toml"
    event.write_text('kind = "measured-motion"\nfile = "mine.csv"\nstart = "1 s"\n', encoding="utf-8")
    found = load_event(event)
    assert isinstance(found, MeasuredMotion)
    assert found.start == 1.0
