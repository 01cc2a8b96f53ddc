from collections.abc import Callable, Mapping
from typing import Any

import numpy as np
import pytest
from numpy.testing import assert_allclose
from pydantic import ValidationError

from fourpatch.analysis.steady_cornering import UNITS, steady_cornering, steady_cornering_values
from fourpatch.car.car import Car
from fourpatch.car.demo import demo_car, demo_names
from fourpatch.errors import EventError, SolveError
from fourpatch.events.drive_start import packed, steady_residuals, unpacked
from fourpatch.events.equilibrium import along_equation, newton
from fourpatch.events.steady_circle import SteadyCircle, SteadyTurns, steady_circle, steady_turn
from fourpatch.physics.layout import O, X

CarWith = Callable[[Mapping[str, Any]], Car]


def gripping(front: float, rear: float) -> dict[str, Any]:
    """Tyres whose grip is in proportion to load, on a low, wide car."""
    changes: dict[str, Any] = {"chassis.cg_height": 0.1, "driveline.front_drive_share": 1.0}
    for end, friction in (("front", front), ("rear", rear)):
        changes |= {
            f"{end}.track_width": 2.5,
            f"{end}.unsprung_cg_height": 0.1,
            f"{end}.tyre.grip": {
                "kind": "compact", "nominal_load": 3000.0, "peak_friction": friction, "load_sensitivity": 0.0,
                "peak_slip_angle": 0.12, "cornering_stiffness": 22.0, "camber_stiffness": 0.0,
            },
        }  # fmt: skip
    return changes


def ended(turns: SteadyTurns) -> tuple[str, float]:
    values = steady_cornering_values(turns, steady_cornering(turns))
    return values.ended_by, values.largest_lateral_acceleration


# Limits


def side_over_load(turns: SteadyTurns, first: int) -> float:
    """Side force over load of the axle whose left wheel is ``first``, in the last turn."""
    outputs = turns.history.outputs[0, -1]
    side, load = (outputs[slot + first : slot + first + 2].sum() for slot in (O.lateral_force, O.tyre_load))
    return float(side / load)


def test_the_rear_axle_gives_up_at_its_friction(car_with: CarWith) -> None:
    """Neither steered nor driven, it delivers mu F_z."""
    turns = steady_circle(car_with(gripping(1.5, 1.1)), SteadyCircle(radius=100.0))
    series = steady_cornering(turns)
    values = steady_cornering_values(turns, series)
    assert values.ended_by == "rear axle"
    # Inner and outer tyre slip by half a track over the radius apart, a tenth of the slip angle of the peak
    # either way, where the curve falls by a tenth of its square: 1e-3. The last step is 5e-4.
    assert_allclose(side_over_load(turns, 2), 1.1, rtol=2e-3)
    assert_allclose(values.use_at_largest.rear, 1.0, rtol=2e-3)
    assert values.use_at_largest.front < 0.9
    assert_allclose(np.abs(series.axle_slip_angle.values[-1, 1]), 0.12, rtol=0.05)
    # The car slides at beta: its acceleration has a part beta a_y h / L of g along it, which moves load; and
    # longitudinal forces turn it as well.
    neglected = abs(turns.sideslip[-1]) * 1.1 * 0.1 / 1.3 + 0.003
    assert_allclose(values.largest_lateral_acceleration, 1.1 * 9.81, rtol=neglected)


def test_the_front_axle_gives_up_at_its_friction(car_with: CarWith) -> None:
    """Driven from behind, the front pulls across its wheels alone: mu F_z cos(steer)."""
    car = car_with({**gripping(1.1, 1.6), "driveline.front_drive_share": 0.0})
    turns = steady_circle(car, SteadyCircle(radius=100.0))
    assert ended(turns)[0] == "front axle"
    # as above
    assert_allclose(side_over_load(turns, 0), 1.1 * np.cos(turns.start.steer[-1]), rtol=2e-3)
    # wound on more and more for less and less
    assert turns.understeer_gradient[-1] > 10.0 * turns.understeer_gradient[0]


@pytest.mark.parametrize("differential", [None, {"kind": "open"}, {"kind": "locked"}])
@pytest.mark.parametrize("radius", [30.0, 120.0])
@pytest.mark.parametrize("name", demo_names())
def test_the_axle_named_is_the_one_that_slides(
    name: str, radius: float, differential: dict[str, str] | None
) -> None:
    """Wound on without end it is the front that slides, wound off the rear: alpha_f - alpha_r = delta - L/R.

    Whatever the axles use of the grip that both their tyres have, of which neither can use more.
    """
    car = with_differential(demo_car(name), differential)
    turns = steady_circle(car, SteadyCircle(radius=radius))
    series = steady_cornering(turns)
    values = steady_cornering_values(turns, series)
    if values.ended_by in ("front axle", "rear axle"):
        assert values.ended_by == ("front axle" if turns.understeer_gradient[-1] > 0.0 else "rear axle")
    # Peaks of the ellipse's own axes, found to a per mille
    assert series.use.max() < 1.001


def with_differential(car: Car, differential: dict[str, str] | None) -> Car:
    """Put a differential into the driven axle; none leaves the car as it is."""
    if differential is None:
        return car
    data = car.model_dump()
    end = "front" if car.driveline.front_drive_share > 0.5 else "rear"
    data["driveline"][f"{end}_differential"] = differential
    return Car.model_validate(data)


def test_an_inner_wheel_spins_up_on_an_open_differential(car_with: CarWith) -> None:
    """Each side has half of the drive, and the lighter wheel holds no more than its friction."""
    changes: dict[str, Any] = {
        "aero.map.drag": {"constant": 1.2},
        "aero.drag_height": 0.3,
        "rear.bar": {"rate": 60e3},
        "rear.tyre.grip": {
            "kind": "compact", "nominal_load": 3000.0, "peak_friction": 1.4, "load_sensitivity": 0.0,
            "peak_slip_angle": 0.12, "cornering_stiffness": 22.0, "camber_stiffness": 0.0,
        },
    }  # fmt: skip
    # At 130 km/h and 3 to 6 m/s^2 drag takes 960 N, slip angles some more.
    turns = steady_circle(car_with(changes), SteadyCircle(speed=36.0))
    values = steady_cornering_values(turns, steady_cornering(turns))
    assert values.spins_up == "rear"
    outputs = turns.history.outputs[0, -1]
    along, across, load = (
        outputs[slot + 2 : slot + 4] for slot in (O.longitudinal_force, O.lateral_force, O.tyre_load)
    )
    # the same drive on both sides, of wheels that spin steadily
    assert_allclose(along[0], along[1], rtol=0.03)  # toe and caster turn them by less than 0.03 rad
    assert_allclose(np.hypot(along[0], across[0]), 1.4 * load[0], rtol=0.05)
    locked = steady_circle(with_differential(turns.car, {"kind": "locked"}), SteadyCircle(speed=36.0))
    held = steady_cornering_values(locked, steady_cornering(locked))
    assert held.spins_up == "none"
    assert held.largest_lateral_acceleration > values.largest_lateral_acceleration


def test_no_limit_is_seen_where_tyres_begin_to_slide(car_with: CarWith) -> None:
    """Slips beyond 0.1 are forgotten faster than built up; turns go on until the slope has no end."""
    turns = steady_circle(car_with(gripping(1.5, 1.1)), SteadyCircle(radius=250.0))
    assert abs(turns.start.states[-1, X.slip_angle + 2]) > 0.11
    assert turns.understeer_gradient[-1] < 4.0 * turns.understeer_gradient[-3] < 0.0


def test_the_engine_gives_up_first(car_with: CarWith) -> None:
    turns = steady_circle(car_with({"aero.map.drag": {"constant": 8.0}}), SteadyCircle(radius=300.0))
    which, largest = ended(turns)
    assert which == "engine"
    assert turns.start.throttle[-1] > 0.98
    # drag and 1/2 rho C_D A v^2: full power at that speed, cornering drag apart
    assert largest < 9.0


def test_a_tall_car_tips(car_with: CarWith) -> None:
    changes: dict[str, Any] = {"chassis.cg_height": 0.9, "driveline.rear_differential": {"kind": "locked"}}
    for end in ("front", "rear"):
        changes |= {f"{end}.track_width": 1.2, f"{end}.spring.rate": 300e3, f"{end}.bar": {"rate": 50e3}}
    turns = steady_circle(car_with(changes), SteadyCircle(speed=20.0))
    which, largest = ended(turns)
    assert which == "tipping"
    rigid = 9.81 * 0.5 * 1.2 / 0.9
    assert 0.85 * rigid < largest < rigid


def test_it_stops_where_it_is_asked_to(full_car: Car) -> None:
    turns = steady_circle(full_car, SteadyCircle(step=1.0, largest_lateral_acceleration=4.5))
    assert_allclose(turns.lateral_acceleration, [1.0, 2.0, 3.0, 4.0, 4.5], rtol=1e-9)
    assert ended(turns)[0] == "request"


def test_turns_at_walking_pace_are_passed_over(full_car: Car) -> None:
    turns = steady_circle(full_car, SteadyCircle(radius=10.0, step=0.2, largest_lateral_acceleration=1.0))
    assert_allclose(turns.lateral_acceleration, [0.6, 0.8, 1.0], rtol=1e-9)  # 2 m/s is 0.4 m/s^2


def test_a_turn_with_an_axle_past_its_peak_is_not_the_next_one(car_with: CarWith) -> None:
    """Below the limit lies a second state for every turn; the determinant's sign tells them apart."""
    turns = steady_circle(car_with(gripping(1.5, 1.1)), SteadyCircle(radius=100.0))
    driven, last = turns.driven, float(turns.lateral_acceleration[-1])
    residuals = steady_residuals(driven.parameters, driven.engines, turns.event.ties(last))
    start = turns.start
    here = packed(start.states[-1:], start.steer[-1:], start.throttle[-1:])
    slopes, sense = along_equation(residuals, here)
    # Near the limit states lie on a parabola: the other branch is four times as far as the limit, 5 mm/s^2.
    further = [newton(residuals, here + 4.0 * ahead * slopes) for ahead in (1e-3, 2e-3, 4e-3, 8e-3)]
    others = [found for found, settled in further if settled[0] and np.abs(found - here).max() > 1e-4]
    assert others
    for found in others:
        assert abs(unpacked(found)[0][0, X.slip_angle + 2]) > abs(start.states[-1, X.slip_angle + 2])
        assert along_equation(residuals, found)[1] == -sense


# Symmetry


def test_right_is_the_mirror_of_left(full_car: Car) -> None:
    left, right = (
        steady_circle(full_car, SteadyCircle(radius=50.0, direction=to, largest_lateral_acceleration=8.0))
        for to in ("left", "right")
    )
    # both ways are Newton's: its last step, 1e-10
    for name in ("lateral_acceleration", "sideslip", "curvature"):
        assert_allclose(getattr(left, name), -getattr(right, name), rtol=1e-6)
    assert_allclose(left.start.steer, -right.start.steer, rtol=1e-6)
    assert_allclose(left.understeer_gradient, right.understeer_gradient, rtol=1e-4)
    assert_allclose(left.stability_reserve(), right.stability_reserve(), rtol=1e-4)
    loads = [turns.history.outputs[0, :, O.tyre_load : O.tyre_load + 4] for turns in (left, right)]
    assert_allclose(loads[0], loads[1][:, [1, 0, 3, 2]], rtol=1e-6)
    assert np.all(left.lateral_acceleration > 0.0)
    assert np.all(left.start.states[:, X.yaw_rate] > 0.0)


# What is reported


def test_a_softer_front_bar_takes_understeer_away(car_with: CarWith) -> None:
    """Load sensitivity makes the axle that takes more of the roll give more slip angle."""
    gradients = []
    for rate in (0.0, 60e3):
        car = car_with({"front.bar": {"rate": rate}})
        gradients.append(steady_turn(car, lateral_acceleration=5.0, radius=100.0).understeer_gradient[0])
    assert gradients[0] < gradients[1]


def test_every_series_has_its_unit(full_car: Car) -> None:
    turns = steady_circle(full_car, SteadyCircle(step=2.0, largest_lateral_acceleration=4.0))
    series = steady_cornering(turns)
    assert {str(name): series[name].attrs["units"] for name in series} == {
        name: unit for name, (unit, _) in UNITS.items()
    }
    assert_allclose(series.steering_wheel_angle, 12.0 * series.road_wheel_angle)
    # turning left: leaning to the right, its left side up
    assert np.all(series["roll"] > 0.0)


# What cannot be


def test_it_holds_one_thing() -> None:
    with pytest.raises(ValidationError, match="radius and speed each say what is held"):
        SteadyCircle(radius=50.0, speed=20.0)


def test_a_largest_below_the_first_is_refused(full_car: Car) -> None:
    with pytest.raises(EventError, match=r"its first lateral acceleration would be 0.5 m/s², above the"):
        steady_circle(full_car, SteadyCircle(largest_lateral_acceleration=0.3))


def test_a_speed_the_car_cannot_hold_is_refused(car_with: CarWith) -> None:
    car = car_with({"aero.map.drag": {"constant": 3.0}})
    with pytest.raises(SolveError, match=r"^steady circle: set-up 1 of 1 has no steady start"):
        steady_circle(car, SteadyCircle(speed=50.0))
