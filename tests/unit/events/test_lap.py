"""The car under a driver who follows a line: slopes, banking, symmetry, a circle."""

from collections.abc import Callable

import numpy as np
import pytest
from numpy.testing import assert_allclose
from numpy.typing import NDArray

from fourpatch.car.car import Car
from fourpatch.car.demo import demo_car
from fourpatch.car.gravity import GRAVITY
from fourpatch.errors import SolveError
from fourpatch.events.drive import made_ready
from fourpatch.events.drive_inputs import LEVEL_ROAD
from fourpatch.events.driver_style import DriverStyle
from fourpatch.events.lap import Handling, LapRun, PacePlan, drive_lap, habits_of, handling_of, lay_lap_road
from fourpatch.events.steady_circle import SteadyCircle, steady_circle
from fourpatch.physics.layout import O, P, X
from fourpatch.track.line import Line
from fourpatch.track.road import RoadProfile

Array = NDArray[np.float64]

CAR = demo_car("coupe")
TURNS = steady_circle(CAR, SteadyCircle(speed=25.0))
HANDLING = handling_of(TURNS, growth=0.0)
HABITS = habits_of(DriverStyle(), TURNS)


def line(
    length: float,
    *,
    curvature: Callable[[Array], Array] = np.zeros_like,
    banking: float = 0.0,
    gradient: float = 0.0,
    vertical_curvature: float = 0.0,
    closed: bool = False,
) -> Line:
    """Return a line by its curvature; what it does not need to be true in the plane is left at 0."""
    distance = np.linspace(0.0, length, round(length) + 1)
    even = np.ones_like(distance)
    return Line(
        closed=closed,
        distance=distance,
        station=distance.copy(),
        offset=0.0 * even,
        x=0.0 * even,
        y=0.0 * even,
        heading=0.0 * even,
        curvature=curvature(distance),
        banking=banking * even,
        gradient=gradient * even,
        vertical_curvature=vertical_curvature * even,
    )


def driven(along: Line, speed: float, *, cars: int = 4, unsteadiness: float = 0.0) -> LapRun:
    """Drive the coupe at one planned speed."""
    even = np.full(along.distance.size, speed)
    return drive_lap(
        made_ready([CAR] * cars),
        along,
        PacePlan(speed=even, ceiling=even, traction=0.0 * even + 5.0, unsteadiness=0.0 * even + unsteadiness),
        habits=HABITS,
        handling=HANDLING,
        road=LEVEL_ROAD,
    )


def last(run: LapRun, slot: int) -> float:
    """Return an output of the first car shortly before its end."""
    return float(run.history.outputs[0, -20, slot])


def loads(run: LapRun) -> float:
    """Return the sum of the tyre loads shortly before the end. [N]"""
    return float(run.history.outputs[0, -20, O.tyre_load : O.tyre_load + 4].sum())


def downforce(run: LapRun) -> float:
    """Return the downforce shortly before the end. [N]"""
    return last(run, O.front_downforce) + last(run, O.rear_downforce)


def mass(run: LapRun) -> float:
    """Return the mass of the car. [kg]"""
    return float(run.driven.parameters[0, P.total_mass])


def test_a_straight_is_driven_straight_at_the_planned_speed():
    run = driven(line(400.0), 25.0)
    # The coupe's toe, camber and bars are alike on both sides: nothing turns it.
    assert_allclose(run.history.states[0, :-2, X.offset], 0.0, atol=1e-6)
    # A driver who asks for 3 /s of the difference holds the speed up to what drag asks of that: 0.1 m/s.
    assert_allclose(run.history.states[0, -20, X.forward_velocity], 25.0, atol=0.1)


@pytest.mark.parametrize("gradient", [0.08, -0.05])
def test_a_slope_is_carried_by_tyres_and_weight(gradient):
    run = driven(line(600.0, gradient=gradient), 25.0)
    slope = np.arctan(gradient)
    drag = last(run, O.drag)
    along = run.history.outputs[0, -20, O.longitudinal_force : O.longitudinal_force + 4].sum()
    # At a steady speed the tyres carry drag and gravity's part along; 0.03 m/s^2 of speed still settling.
    assert_allclose(along, drag + mass(run) * GRAVITY * np.sin(slope), atol=0.03 * mass(run))
    # Square to the road stands cos t of the weight; the body is at rest on its springs to a newton or so.
    assert_allclose(loads(run) - downforce(run), mass(run) * GRAVITY * np.cos(slope), rtol=1e-3)


@pytest.mark.parametrize("vertical_curvature", [1e-3, -2e-3])
def test_dips_press_the_car_down_and_crests_lift_it(vertical_curvature):
    run = driven(line(600.0, vertical_curvature=vertical_curvature), 25.0)
    speed = run.history.states[0, -20, X.forward_velocity]
    pressed = mass(run) * (GRAVITY + speed**2 * vertical_curvature)
    # The car has long settled; its speed moves by 0.1 %.
    assert_allclose(loads(run) - downforce(run), pressed, rtol=1e-3)


@pytest.mark.parametrize("banking", [0.0, 0.06, -0.04])
def test_banking_takes_its_part_of_the_side_force(banking):
    """Source: closed form, derived here; v^2 k cos b + n sin b as in the quasi-steady lap."""
    radius, speed = 100.0, 20.0
    along = line(700.0, curvature=lambda s: np.clip(s / 100.0, 0.0, 1.0) / radius, banking=banking)
    run = driven(along, speed)
    state = run.history.states[0, -20]
    # Left turn; the left side higher is banked the wrong way, so tyres must do more.
    exact = state[X.forward_velocity] * state[X.yaw_rate] + GRAVITY * np.sin(banking)
    assert_allclose(last(run, O.lateral_acceleration), exact, atol=0.02)
    pressed = GRAVITY * np.cos(banking) - state[X.forward_velocity] ** 2 / radius * np.sin(banking)
    # Side forces at roll centres lift the body a little while it still settles: 0.2 %.
    assert_allclose(loads(run) - downforce(run), mass(run) * pressed, rtol=2e-3)


def test_a_bend_is_held_within_a_hand():
    """Half the grip: a driver who knows his car's steady turns is off his line by what roll and lags cost."""
    radius, speed = 80.0, 20.0
    along = line(600.0, curvature=lambda s: np.clip((s - 100.0) / 60.0, 0.0, 1.0) / radius)
    run = driven(along, speed)
    assert np.nanmax(np.abs(run.history.states[0, :, X.offset])) < 0.15
    # In the bend the car turns with the line: speed x curvature, to the settled sideslip's share.
    assert_allclose(run.history.states[0, -20, X.yaw_rate], speed / radius, rtol=0.01)


def test_left_and_right_are_mirror_images():
    bend = lambda s: 0.01 * np.sin(s / 40.0) * np.clip(s / 100.0, 0.0, 1.0)  # noqa: E731 - one line either way
    left, right = (driven(line(400.0, curvature=lambda s, k=k: k * bend(s)), 22.0) for k in (1.0, -1.0))
    rows = slice(0, min(left.history.states.shape[1], right.history.states.shape[1]) - 2)
    for slot in (X.offset, X.heading, X.yaw_rate):
        # Rounding, grown by the driver's gain over 18 s.
        assert_allclose(left.history.states[0, rows, slot], -right.history.states[0, rows, slot], atol=1e-7)


def test_lanes_and_a_single_car_do_the_same():
    along = line(200.0, curvature=lambda s: np.clip(s / 100.0, 0.0, 1.0) / 90.0)
    several, one = driven(along, 20.0), driven(along, 20.0, cars=1)
    rows = slice(0, min(several.history.states.shape[1], one.history.states.shape[1]) - 2)
    # The same arithmetic in another order of instructions: rounding, grown by the driver's gain.
    assert_allclose(several.history.states[3, rows], one.history.states[0, rows], rtol=1e-7, atol=1e-7)


def test_an_unsteady_hand_moves_the_steer():
    calm, shaky = driven(line(200.0), 25.0), driven(line(200.0), 25.0, unsteadiness=2e-3)
    assert_allclose(calm.hands[0, 50, 0], 0.0, atol=1e-7)
    assert shaky.hands[0, 1, 0] > 1e-5


def test_a_lap_is_timed_from_line_to_line():
    radius, speed = 60.0, 18.0
    length = 2.0 * np.pi * radius
    along = line(length, curvature=lambda s: np.full_like(s, 1.0 / radius), closed=True)
    run = driven(along, speed)
    assert run.finished.all()
    # Steady after the run-up; the driver's speed is within 0.1 m/s, and the car's path as long as the line
    # to its offset of 0.1 m or less: 0.6 % and 0.2 %.
    assert_allclose(run.lap_time, length / speed, rtol=8e-3)
    assert_allclose(run.crossing(2.0 * along.length) - run.crossing(along.length), run.lap_time)


def test_what_is_not_driven_is_not_a_number():
    slow = driven(line(200.0), 20.0)
    assert slow.finished.all()
    assert np.isfinite(slow.history.states[0, : round(9.0 / slow.interval)]).all()
    assert np.isnan(slow.crossing(1e6)).all()


def test_a_car_that_turns_over_ends_its_lap_there_and_the_others_go_on():
    radius, speed = 40.0, 18.0
    half_track = 0.25 * (CAR.front.track_width + CAR.rear.track_width)
    # On rigid tyres it tips at g t / (2 h), and it is asked for a tenth more.
    tall = GRAVITY * half_track * radius / (1.1 * speed**2)
    high = CAR.model_copy(update={"chassis": CAR.chassis.model_copy(update={"cg_height": tall})})
    into_a_bend = line(200.0, curvature=lambda s: np.clip((s - 40.0) / 40.0, 0.0, 1.0) / radius)
    even = np.full(into_a_bend.distance.size, speed)
    plan = PacePlan(speed=even, ceiling=even, traction=0.0 * even + 5.0, unsteadiness=0.0 * even)

    def lap(cars: list[Car]) -> LapRun:
        made = made_ready(cars)
        return drive_lap(made, into_a_bend, plan, habits=HABITS, handling=HANDLING, road=LEVEL_ROAD)

    run = lap([CAR, high, CAR])
    assert run.finished.tolist() == [True, False, True]
    where = run.history.states[1, :, X.distance]
    # It needs no grip of the tyres beyond what the lower car has: it tips once it is in the bend.
    assert 40.0 < np.nanmax(where) < 200.0
    assert np.isnan(where[-1])
    with pytest.raises(SolveError, match=r"lap: from \d+\.\d\d s on set-up 1 stands .* it turns over"):
        lap([high, high, high])


def test_a_lap_road_goes_round():
    distance = np.linspace(0.0, 50.0, 1001)
    heights = 0.01 * np.sin(2.0 * np.pi * distance / 25.0)
    road = lay_lap_road(CAR, RoadProfile(distance=distance, left=heights, right=heights), closed=True)
    ways = np.array([3.0, 53.0, 103.0])
    assert_allclose(road.height_under(ways, 0), road.height_under(ways, 0)[0], atol=1e-9)
    # A wave of 25 m over a contact patch of some 0.1 m keeps its height to (pi 0.1 / 25)^2 / 6, 3e-5.
    assert_allclose(np.ptp(road.height_under(distance, 0)), 0.02, rtol=1e-3)


def test_handling_carries_the_steady_turns():
    handling: Handling = HANDLING
    lateral = np.abs(TURNS.lateral_acceleration)
    beyond = np.abs(TURNS.start.steer) - CAR.chassis.wheelbase * np.abs(TURNS.curvature)
    shares = np.linspace(0.0, 1.0, handling.understeer.shape[1])
    # Straight between 32 places: within 1 % of what is read, up to where the front begins to give up.
    well = lateral < 0.85 * lateral[-1]
    read = np.interp(lateral / lateral[-1], shares, handling.understeer[0])
    assert_allclose(read[well], beyond[well], rtol=0.01, atol=2e-5)
    assert_allclose(handling.understeer[0, -1], beyond[-1])
    assert_allclose(handling.grip[0, 0], lateral[-1])


@pytest.mark.parametrize("speed", [25.0, 70.0])
def test_different_cars_start_together_as_each_would_alone(speed: float):
    cars = [CAR, demo_car("gt"), demo_car("hatchback")]
    even = np.full(3, speed)  # at 70 m/s a car's engine does not hold it, and it starts slower
    along = line(2.0)
    plan = PacePlan(speed=even, ceiling=even, traction=0.0 * even + 5.0, unsteadiness=0.0 * even)
    start = [
        drive_lap(made_ready(some), along, plan, habits=HABITS, handling=HANDLING, road=LEVEL_ROAD).start
        for some in (cars, *([one] * 3 for one in cars))
    ]
    for place, alone in enumerate(start[1:]):
        # Newton ends at steps of 1e-10 in its own scales; angles of 1e-2 rad.
        assert_allclose(start[0].steer[place], alone.steer[0], atol=1e-8)
        assert_allclose(start[0].throttle[place], alone.throttle[0], atol=1e-8)
        assert_allclose(start[0].states[place], alone.states[0], rtol=1e-7, atol=1e-7)
