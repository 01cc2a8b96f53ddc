"""The values that characterise the answer to a sudden steer, as in ISO 7401."""

from math import pi
from typing import Annotated

import numpy as np
from numpy.typing import NDArray

from fourpatch.analysis.quantity import (
    ACCELERATION,
    ANGLE,
    ANGLE_GRADIENT,
    DECAY,
    RATIO,
    SHARE,
    TIME,
    Findings,
    Measure,
)
from fourpatch.car.car import Car
from fourpatch.errors import SolveError
from fourpatch.events.drive import DriveRun
from fourpatch.events.steady_circle import steady_turn
from fourpatch.physics.layout import O, X

Array = NDArray[np.float64]

YAW_RATE = Measure("rad/s", "deg/s", pi / 180.0)
ACCELERATION_GAIN = Measure("m/s**2/rad", "m/s²/deg", 180.0 / pi)
TB = Measure("s*rad", "s deg", pi / 180.0)

_STEADY_TIME = 0.5  # at the end of the event, over which steady values are taken [s]
_NO_ANSWER = 0.05  # of its largest size, under which a quantity has no steady value to be compared with
_SHAPE = ("response_time", "peak_response_time", "overshoot")
_STEADY_CHANGE = 0.05  # of the yaw rate over that time, beyond which nothing is steady


class _Response(Findings):
    """How one quantity answers a step of steer."""

    response_time: Annotated[float, TIME]
    """From half of the steer to 90 % of the steady value; not a number without a steady value."""
    peak_response_time: Annotated[float, TIME]
    """From half of the steer to the peak; without one, to the end of the event."""
    overshoot: Annotated[float, SHARE]
    """Peak above steady value, over steady value."""


class YawResponse(_Response):
    """How the yaw rate answers."""

    steady: Annotated[float, YAW_RATE]
    """In the steady turn."""
    gain: Annotated[float, DECAY]
    """Steady value over steady road-wheel angle."""


class LateralResponse(_Response):
    """How the lateral acceleration answers."""

    steady: Annotated[float, ACCELERATION]
    """In the steady turn."""
    gain: Annotated[float, ACCELERATION_GAIN]
    """Steady value over steady road-wheel angle."""


class SideslipResponse(_Response):
    """How the sideslip angle answers."""

    steady: Annotated[float, ANGLE]
    """In the steady turn."""
    gain: Annotated[float, RATIO]
    """Steady value over steady road-wheel angle."""


class StepSteerValues(Findings):
    """Characteristic values of one car's step steer."""

    yaw_rate: YawResponse
    """How the yaw rate answers."""
    lateral_acceleration: LateralResponse
    """How the lateral acceleration answers."""
    sideslip: SideslipResponse
    """How the sideslip angle answers."""
    steering_wheel_angle: Annotated[float, ANGLE]
    """Held, from where the car ran straight."""
    understeer_gradient: Annotated[float, ANGLE_GRADIENT]
    """Of the steady turn at the speed and lateral acceleration of the end, as ISO 4138; not a number where
    there is no such turn: the car still slows, and to hold that speed would take more than its engine has."""
    tb_value: Annotated[float, TB]
    """Peak response time of the yaw rate times the size of the steady sideslip angle."""


def step_steer_values(run: DriveRun) -> list[StepSteerValues]:
    """Return the characteristic values of each car of a step steer.

    Raises
    ------
    SolveError
        If a car has not come to a steady turn by the end: it spins, slows or still swings.

    Notes
    -----
    Steady values are means over the last half second. Angles count from where the car ran straight.

    Source: definitions of ISO 7401:2011, clause 10, from memory.
    """
    time = run.time
    late = time >= time[-1] - _STEADY_TIME
    values = []
    for car, states in enumerate(run.history.states):
        steer = run.steer[car] - run.start.steer[car]
        speed = np.hypot(states[:, X.forward_velocity], states[:, X.lateral_velocity])
        yaw_rate = states[:, X.yaw_rate]
        change = np.ptp(yaw_rate[late]) / max(abs(float(np.mean(yaw_rate[late]))), 1e-9)
        if change > _STEADY_CHANGE:
            raise SolveError(
                f"step steer: set-up {car + 1} is not in a steady turn at the end: its yaw rate still "
                f"changes by {change:.0%} within {_STEADY_TIME:g} s. Steer less, or hold for longer."
            )
        sideslip = np.arctan2(states[:, X.lateral_velocity], states[:, X.forward_velocity])
        slide = _step_response(time, steer, sideslip - sideslip[0], late)
        yaw = _step_response(time, steer, yaw_rate, late)
        acceleration = _step_response(time, steer, run.history.outputs[car, :, O.lateral_acceleration], late)
        values.append(
            StepSteerValues(
                yaw_rate=YawResponse(**yaw),
                lateral_acceleration=LateralResponse(**acceleration),
                sideslip=SideslipResponse(**slide),
                steering_wheel_angle=float(steer[-1]) * run.driven.cars[car].steering.ratio,
                understeer_gradient=_understeer_gradient(
                    run.driven.cars[car],
                    float(np.mean(speed[late])),
                    acceleration["steady"],
                ),
                tb_value=yaw["peak_response_time"] * abs(slide["steady"]),
            )
        )
    return values


def _understeer_gradient(car: Car, speed: float, lateral_acceleration: float) -> float:
    try:
        turn = steady_turn(car, speed=speed, lateral_acceleration=lateral_acceleration)
    except SolveError:
        return float("nan")
    return float(turn.understeer_gradient[0])


def _step_response(time: Array, steer: Array, response: Array, late: NDArray[np.bool_]) -> dict[str, float]:
    steady = float(np.mean(response[late]))
    if abs(steady) < _NO_ANSWER * float(np.max(np.abs(response))):  # sideslip near the tangent speed
        return {"steady": steady, "gain": steady / float(steer[-1]), **dict.fromkeys(_SHAPE, np.nan)}
    start = _crossing(time, steer / steer[-1], 0.5)
    share = response / steady
    peak, peak_time = _peak(time, share)
    return {
        "steady": steady,
        "gain": steady / float(steer[-1]),
        "response_time": _crossing(time, share, 0.9) - start,
        "peak_response_time": peak_time - start,
        "overshoot": peak - 1.0,
    }


def _crossing(time: Array, share: Array, level: float) -> float:
    """Time at which a rising share first passes a level, straight between samples."""
    k = int(np.argmax(share >= level))
    if k == 0:
        return float(time[0])
    part = (level - share[k - 1]) / (share[k] - share[k - 1])
    return float(time[k - 1] + part * (time[k] - time[k - 1]))


def _peak(time: Array, share: Array) -> tuple[float, float]:
    """Greatest share and its time, by the parabola through the greatest sample and its neighbours."""
    k = int(np.argmax(share))
    if not 0 < k < share.size - 1:
        return float(share[k]), float(time[k])
    before, top, after = share[k - 1 : k + 2]
    hollow = 2.0 * top - before - after
    offset = 0.5 * (after - before) / hollow if hollow > 0.0 else 0.0
    return float(top + 0.25 * (after - before) * offset), float(time[k] + offset * (time[1] - time[0]))
