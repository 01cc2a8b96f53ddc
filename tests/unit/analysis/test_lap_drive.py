"""A driven lap: against the closed form on a circle, and its numbers against each other."""

from pathlib import Path

import numpy as np
import pytest
from numpy.testing import assert_allclose

from fourpatch.analysis.driven_lap import LapRows
from fourpatch.analysis.driver_plan import driver_plan
from fourpatch.analysis.lap_drive import LapDrive, study_drive
from fourpatch.analysis.lap_heat import brake_power
from fourpatch.car.demo import demo_car
from fourpatch.errors import TrackError
from fourpatch.events.driver_style import DriverStyle
from fourpatch.events.lap import lay_lap_road
from fourpatch.physics.layout import O, P, X
from fourpatch.runs.history import lap_dataset
from fourpatch.track.files import load_track
from fourpatch.track.layout import lay_out
from fourpatch.track.racing_line import least_curvature_line, with_kerbs
from fourpatch.track.track_road import track_road

CIRCLE = """name = "circle, invented"
[centre_line]
kind = "sections"
closed = true
sections = [{ kind = "arc", radius = "70 m", angle = "360 deg", direction = "left" }]
[road]
width = [{ distance = "0 m", left = "4 m", right = "4 m" }]
surface = [{ kind = "road-class", start = "0 m", road_class = "A" }]
"""


def test_a_circle_at_a_pace(tmp_path: Path) -> None:
    path = tmp_path / "circle.toml"
    path.write_text(CIRCLE, encoding="utf-8")
    track, car, paces = load_track(path), demo_car("gt"), np.array([0.75, 0.8, 0.85, 0.9])
    line = least_curvature_line(track, margin=1.0)
    # The straightest line is the outermost one: half the car and the margin from the edge.
    radius = 70.0 + 4.0 - 1.0 - 0.95
    # The line is found within 1 cm.
    assert_allclose(line.length, 2.0 * np.pi * radius, rtol=0.01 / radius)
    plan, style = driver_plan(car, line), DriverStyle()
    road = lay_lap_road(car, track_road(track, line, seed=1, track_width=car.front.track_width), closed=True)
    run = plan.drive(plan.at_pace(paces), road)
    # On a circle nothing but sqrt(a R) limits: the quasi-steady speed is one.
    limit = float(plan.profile.speed.mean())
    assert_allclose(plan.profile.speed, limit, rtol=1e-4)
    closed_form = 2.0 * np.pi * radius / (paces * limit)
    for at, (pace, expected) in enumerate(zip(paces, closed_form, strict=True)):
        rows = LapRows(run, at)
        pull = rows.outputs[:, O.front_drive_force] + rows.outputs[:, O.rear_drive_force]
        unforeseen = float((pull - rows.outputs[:, O.drag]).mean()) / rows.parameters[P.total_mass]
        # He foresees the drag of the air. What else resists, tyres that corner, he meets by asking for
        # urgency x (speed wanted - speed), so he is slower by as much as that takes.
        slower = unforeseen / (style.urgency * pace * limit)
        assert 0.001 < slower < 0.02
        # He goes by the forward velocity; the car moves along its path by 1 / cos(sideslip) faster.
        askew = float(np.cos(rows.sideslip.mean()))
        # Beside the line the way is longer by offset / R; the time is 1 / (1 - slower), its square left out;
        # the limit is even within 1e-4.
        aside = float(np.abs(rows.states[:, X.offset]).max()) / radius
        desired = expected * (1.0 + slower) * askew
        assert_allclose(run.lap_time[at], desired, rtol=aside + 2.0 * slower**2 + 1e-4)


@pytest.fixture(scope="module")
def driven(oval_file: Path) -> LapDrive:
    return study_drive(demo_car("gt"), load_track(oval_file), margin=0.3, pace=0.9)


def test_sectors_add_up_to_the_lap(driven: LapDrive) -> None:
    found = driven.summary
    # Sums of differences of the same crossings: rounding.
    assert_allclose(sum(one.time for one in found.sectors), found.lap_time, rtol=1e-12)
    steady = sum(one.quasi_steady_time for one in found.sectors)
    assert_allclose(steady, found.quasi_steady_lap_time, rtol=1e-12)
    assert found.lap_time > found.quasi_steady_lap_time
    assert found.trouble == ""


def test_corners_lie_within_the_lap(driven: LapDrive) -> None:
    first, second = driven.summary.corners
    assert (first.corner, second.corner) == ("1", "2")
    assert first.time + second.time < driven.summary.lap_time
    for one in (first, second):
        assert one.slowest_speed <= min(one.entry_speed, one.exit_speed)
        ends = one.quasi_steady_entry_speed, one.quasi_steady_exit_speed
        assert one.quasi_steady_slowest_speed <= min(ends)
    # The turns are alike: what differs is the bumps, worth less than a hundredth of the time.
    assert_allclose(first.time, second.time, rtol=0.01)


def test_the_kerb_is_met_where_it_lies(driven: LapDrive) -> None:
    (kerb,) = driven.summary.kerbs
    assert (kerb.kerb, kerb.side, kerb.wheels) == ("1", "right", "right")
    line = driven.line
    for station, at in ((270.0, kerb.start), (310.0, kerb.end)):
        # Where the line passes that station, but for the angle between line and road.
        assert_allclose(at, np.interp(station, line.station, line.distance), atol=0.5)
    assert_allclose(kerb.highest, 0.025, rtol=1e-9)
    assert kerb.largest_load > driven.plan.car.chassis.mass * 9.81 / 4.0


def test_the_left_turns_load_the_right_tyres(driven: LapDrive) -> None:
    found = driven.summary
    assert found.tyre_work_left < 0.5
    assert_allclose(found.tyre_work_front, sum(found.tyre_work[:2]) / sum(found.tyre_work), rtol=1e-12)


def test_heat_of_the_brakes_is_the_work_of_the_lap(driven: LapDrive) -> None:
    heat, lap = driven.heat, driven.lap
    assert heat is not None
    power = brake_power(lap, LapRows(driven.run, 0))
    # By its definition the mean power times the lap time is the work: rounding.
    assert_allclose(power.mean(axis=0) * lap.lap_time, lap.brake_work, rtol=1e-12)
    assert_allclose(np.array(heat.brake_power) * lap.lap_time, lap.brake_work, rtol=1e-12)
    assert all(peak > mean for peak, mean in zip(heat.brake_peak_rise, heat.brake_rise, strict=True))
    # Two like turns: one braking takes about half of the lap's heat, within what bumps and dabs change.
    assert_allclose(np.array(heat.hardest_stop), 0.5 * lap.brake_work, rtol=0.1)


def test_the_history_is_of_the_lap(driven: LapDrive) -> None:
    dataset = lap_dataset(driven.run, 0, driven.road, "baseline").squeeze()
    lap = dataset.isel(time=dataset.phase == "lap")
    step = float(dataset.time[1] - dataset.time[0])
    assert_allclose(lap.time.values[0], 0.0, atol=step)
    # Begun and ended between two instants.
    assert_allclose(lap.time.values[-1], driven.summary.lap_time, atol=step)
    assert_allclose(lap.distance.values[-1], driven.line.length, atol=step * float(lap.speed.max()))
    assert not dataset.isnull().any().to_array().any()
    # Positions an instant apart tell the speed: to the turn between two, and to the line's spacing.
    moved = np.hypot(np.diff(dataset.position_x), np.diff(dataset.position_y)) / step
    assert_allclose(moved, 0.5 * (dataset.speed.values[1:] + dataset.speed.values[:-1]), rtol=0.01)
    for name in ("throttle", "brake"):
        assert 0.0 <= float(dataset[name].min()) <= float(dataset[name].max()) <= 1.0
    # On the kerb the road under the right wheels is as high as the kerb, bumps of class A apart.
    on = lap.isel(time=(lap.distance > driven.summary.kerbs[0].start + 5.0).values)
    on = on.isel(time=(on.distance < driven.summary.kerbs[0].end - 5.0).values)
    right, left = (on.road_height.sel(corner=corner).mean() for corner in ("FR", "FL"))
    assert_allclose(right - left, 0.025, atol=0.01)


def test_kerbs_that_may_be_driven_count_as_road() -> None:
    from fourpatch.track.demo import demo_track

    track = demo_track("chicanes")
    layout = lay_out(track)
    widened = with_kerbs(layout, track, kerb_share=0.5)
    # The flat kerbs, 30 mm high and no higher, are 1.8 m wide beside the edge: half of that is gained.
    gained = np.concatenate([widened.left - layout.left, widened.right - layout.right])
    assert_allclose(np.unique(np.round(gained, 9)), [0.0, 0.9])
    assert_allclose(with_kerbs(layout, track, kerb_share=0.0).left, layout.left)


def test_a_margin_without_room_is_refused(oval_file: Path) -> None:
    with pytest.raises(TrackError, match=r"margin of 4\.5 m"):
        study_drive(demo_car("gt"), load_track(oval_file), margin=4.5)
