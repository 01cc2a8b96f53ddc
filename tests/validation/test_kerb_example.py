"""A kerb under a quarter car with a damper unlike in bump and rebound, wheel free to leave the road.

Source: the project's reference values, section 11.2: a quarter car (300/40 kg, 30/200 kN/m) over half-sine
kerbs 50 mm high at 25 m/s, computed apart from this project's code, printed to 0.01 m/s^2, 0.1 mm, 0.1 ms.
"""

import numpy as np
import pytest

from fourpatch.car.pack import pack
from fourpatch.events.motion import RigMotion, half_steps, steady_inputs
from fourpatch.events.run import run_rig
from fourpatch.physics.layout import I, O, Y

SPEED, HEIGHT, STEP = 25.0, 0.05, 2.5e-4

# bump, rebound [N s/m]: long kerb (3 m) acceleration [m/s^2], rise [mm], flight [ms]; short kerb (0.8 m)
# the same
TABLE = {
    (500.0, 750.0): (6.82, 27.2, 0.0, 7.63, 15.8, 71.6),
    (1000.0, 1500.0): (8.03, 24.5, 0.0, 10.31, 12.7, 45.9),
    (1500.0, 2250.0): (9.15, 26.2, 9.0, 12.58, 12.8, 45.4),
    (2000.0, 3000.0): (10.09, 29.0, 35.8, 14.45, 13.1, 45.6),
    (3000.0, 4500.0): (11.56, 35.0, 66.2, 17.30, 13.9, 47.4),
    (4000.0, 6000.0): (12.64, 40.6, 89.5, 19.32, 14.7, 50.1),
    (1000.0, 4000.0): (8.03, 17.9, 34.6, 10.31, 9.7, 61.5),
    (4000.0, 1000.0): (12.64, 59.0, 0.0, 19.32, 34.6, 27.0),
}


def _quarter_car(car_with, bump, rebound):
    """Four equal corners that only heave are four quarter cars."""
    damper = {
        "kind": "two-slope",
        "bump": {"low_speed": bump, "knee_speed": 1.0, "high_speed": bump},
        "rebound": {"low_speed": rebound, "knee_speed": 1.0, "high_speed": rebound},
    }
    changes = {"chassis.mass": 1360.0}
    for end in ("front", "rear"):
        changes |= {
            f"{end}.unsprung_mass": 40.0,
            f"{end}.spring.rate": 30e3,
            f"{end}.damper": damper,
            f"{end}.tyre.vertical_rate": 200e3,
        }
    return car_with(changes)


def _strike(car, length):
    time = half_steps(1.5, STEP)
    inputs = np.tile(steady_inputs(car, speed=SPEED), (time.size, 1))
    along = SPEED * (time - 0.05)
    on = (along > 0.0) & (along < length)
    phase = np.pi * along / length
    inputs[:, I.road : I.road + 4] = np.where(on, HEIGHT * np.sin(phase), 0.0)[:, None]
    inputs[:, I.road_speed : I.road_speed + 4] = np.where(
        on, HEIGHT * np.pi / length * SPEED * np.cos(phase), 0.0
    )[:, None]
    motion = RigMotion(name="half-sine kerb", step=STEP, inputs=inputs, store_every=1)
    history = run_rig(pack(car)[None, :], motion)
    acceleration = history.outputs[0, :, O.heave_acceleration].max()
    rise = 1e3 * history.states[0, :, Y.heave].max()
    flight = 1e3 * STEP * np.count_nonzero(history.outputs[0, :, O.tyre_load] <= 0.0)
    return acceleration, rise, flight


@pytest.mark.parametrize(("bump", "rebound"), TABLE)
def test_kerb_table(car_with, bump, rebound):
    car = _quarter_car(car_with, bump, rebound)
    found = np.array([*_strike(car, 3.0), *_strike(car, 0.8)])
    # Half a unit of the last printed digit, and a quarter-millisecond sample at each end of two flights.
    rounding = np.array([0.005, 0.05, 0.05, 0.005, 0.05, 0.05])
    sampling = np.array([0.002, 0.01, 1.0, 0.005, 0.01, 1.0])
    assert np.all(np.abs(found - TABLE[bump, rebound]) <= rounding + sampling), found
