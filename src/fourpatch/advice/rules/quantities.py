"""What the rules are measured by: each number's unit, and the change below which it is hardly measurable.

The rig has no noise of its own (two runs of one set-up differ by rounding), so the limits are those of what a
change is worth. A tenth of a point of balance is a thousandth of an axle's grip, a twentieth of a per cent of
corner speed: well below what a driver repeats. The other limits are set to weigh alike:

- grip lost over bumps: the same thousandth;
- load, and load moved across an axle: a thousandth of the axle's static load, for an axle that gives up so
  much of its load uses a thousandth more of its grip;
- ride height: a tenth of a millimetre, a tenth of the finest step that ride heights are set in;
- body thrown by a kerb: 0.5 mm, a hundredth of a 50 mm kerb; its acceleration: 0.1 m/s^2, a hundredth of g;
  flight: 2.5 ms, for kerb runs are stored every millisecond and rounding would decide at a whole one; yaw
  response: 2 ms, the interval at which the drive is stored;
- stability reserve: 0.05 1/s, which changes the time to halve of a disturbance that dies in a second by a
  thirtieth;
- width of a range of good ratios: what rounding leaves, for the ratios tried lie far further apart.

A driver's own scatter is larger still, so an effect above these limits need not be felt; one below them will
not be.

Source of the limits: derived here.
"""

from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from fourpatch.advice.paths import axle_sum, lateral_transfer
from fourpatch.advice.rules.rule import CORNERS, KERBS, ROADS, TURN_INS, About
from fourpatch.analysis.axle_use import axle_use
from fourpatch.analysis.contact_patch_load import contact_patch_load
from fourpatch.analysis.stability_reserve import stability_reserve
from fourpatch.analysis.statics import corner_loads
from fourpatch.events.motion import RigMotion
from fourpatch.physics.integrate import History
from fourpatch.physics.layout import O

Array = NDArray[np.float64]


class Kind(NamedTuple):
    """One number that rules speak of."""

    unit: str
    """SI, or points."""
    hardly: float
    """Change below which it is hardly measurable; of loads, as a share of the axle's static load."""
    meaning: str
    about: About = "grip"
    """What a claim on it is about."""
    by_axle: bool = True
    """Whether each axle has one; else the car has."""
    events: tuple[str, ...] = (*CORNERS, *TURN_INS)
    """Where it is measured."""
    usual: str = "corners"
    """Where it is looked at unless a rule says otherwise."""


QUANTITIES = {
    "balance": Kind("points", 0.1, "100 (U_front - U_rear), positive is understeer", by_axle=False),
    "use": Kind("1", 1e-3, "force the axle must deliver over the most it can deliver"),
    "axle_load": Kind("N", 1e-3, "load of the axle's two tyres", "load"),
    "lateral_transfer": Kind("N", 1e-3, "half the outer minus inner tyre load of the axle", "lateral share"),
    "inner_load": Kind("N", 1e-3, "load of the axle's inner tyre", "lateral share"),
    "ride_height": Kind(
        "m",
        1e-4,
        "underside over the road at the axle",
        "attitude",
        events=(*CORNERS, *TURN_INS, *ROADS, *KERBS),
    ),
    "downforce": Kind("N", 1e-3, "aerodynamic load at the axle", "load"),
    "grip_lost": Kind(
        "1",
        1e-3,
        "share of the lateral force at the mean load that bumps cost",
        events=(*ROADS, *KERBS),
        usual="roads",
    ),
    "body_throw": Kind(
        "m",
        5e-4,
        "highest rise of the body over a kerb",
        "attitude",
        by_axle=False,
        events=(*ROADS, *KERBS),
        usual="kerbs",
    ),
    "body_acceleration_peak": Kind(
        "m/s^2",
        0.1,
        "largest upward acceleration of the body",
        "load",
        by_axle=False,
        events=(*ROADS, *KERBS),
        usual="kerbs",
    ),
    "longest_flight": Kind(
        "s", 2.5e-3, "longest time an axle's tyre has no load", "load", events=(*ROADS, *KERBS), usual="kerbs"
    ),
    "stability_reserve": Kind(
        "1/s", 0.05, "slowest real part of the lateral dynamics: lower is steadier", by_axle=False
    ),
    "yaw_response_time": Kind(
        "s",
        2e-3,
        "from half of a step of steer to 90 % of the steady yaw rate",
        by_axle=False,
        events=("step steer",),
        usual="step steer",
    ),
    "ratio_width": Kind(
        "1",
        0.05,
        "highest over lowest ratio of rebound to bump that costs hardly any grip",
        by_axle=False,
        events=(),
    ),
}
"""The numbers of the rules."""

_LOADS = ("axle_load", "lateral_transfer", "inner_load", "downforce")


def hardly(quantity: str, axle: str, vector: Array) -> float:
    """Return the change of a number below which it is hardly measurable, in its unit.

    Parameters
    ----------
    vector : (N_PARAMETER,) of the car as it stands.
    """
    limit = QUANTITIES[quantity].hardly
    if quantity not in _LOADS:
        return limit
    loads = corner_loads(vector)
    return limit * float(loads[:2].sum() if axle == "front" else loads[2:].sum())


def corner_series(vectors: Array, history: History, motion: RigMotion) -> dict[str, Array]:
    """Return the numbers of a corner at every stored instant, (cars, samples) or (cars, samples, 2 axles)."""
    outputs = history.outputs
    found = axle_use(vectors, outputs)
    turn = 1.0 if outputs[0, :, O.lateral_acceleration].sum() >= 0.0 else -1.0
    inner = 0 if turn > 0.0 else 1
    return {
        "balance": found.balance,
        "use": found.use,
        "axle_load": axle_sum(outputs, O.tyre_load),
        "lateral_transfer": lateral_transfer(outputs, O.tyre_load, turn),
        "inner_load": outputs[:, :, [O.tyre_load + inner, O.tyre_load + inner + 2]],
        "ride_height": outputs[:, :, [O.front_ride_height, O.rear_ride_height]],
        "downforce": outputs[:, :, [O.front_downforce, O.rear_downforce]],
    }


def bump_numbers(vectors: Array, history: History, motion: RigMotion) -> dict[str, Array]:
    """Return the numbers of a road or a kerb, (cars,) or (cars, 2 axles)."""
    since = motion.phases[1].start
    found = contact_patch_load(
        vectors, history, motion, [str(k) for k in range(vectors.shape[0])], since=since
    )
    first = int(np.ceil(since / (motion.step * motion.store_every) - 1e-9))
    heights = history.outputs[:, first:, [O.front_ride_height, O.rear_ride_height]]
    grip, flight = found.grip_lost.values, found.longest_flight.values
    return {
        "grip_lost": 0.5 * (grip[:, [0, 2]] + grip[:, [1, 3]]),
        "longest_flight": np.maximum(flight[:, [0, 2]], flight[:, [1, 3]]),
        "body_throw": found.body_throw.values,
        "body_acceleration_peak": found.body_acceleration_peak.values,
        "ride_height": heights.mean(axis=1),
    }


def mid_reserve(vectors: Array, history: History, motion: RigMotion, sample: int) -> Array:
    """Return the stability reserve of each car at one stored instant, (cars,). [1/s]"""
    inputs = motion.inputs[2 * motion.store_every * sample]
    return stability_reserve(
        vectors,
        history.states[:, sample],
        history.outputs[:, sample],
        np.repeat(inputs[None], vectors.shape[0], axis=0),
    )
