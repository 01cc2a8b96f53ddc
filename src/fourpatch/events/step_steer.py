"""A sudden steer held, as in ISO 7401, and the values that characterise the answer."""

from dataclasses import dataclass
from typing import Annotated, Literal, Self

import numpy as np
from numpy.typing import NDArray
from pydantic import model_validator

from fourpatch.car.car import Car
from fourpatch.document.part import Part
from fourpatch.errors import SolveError
from fourpatch.events.drive import Driven, DriveRun
from fourpatch.events.drive_inputs import DriveControls
from fourpatch.events.drive_start import DriveStart, settle_drive
from fourpatch.events.motion import half_steps
from fourpatch.events.phase import Phase
from fourpatch.events.steady_circle import steady_turn
from fourpatch.physics.layout import O, X
from fourpatch.units import Unit

Array = NDArray[np.float64]

_BEFORE = 0.2  # straight running ahead of the steer [s]
_USUAL_LATERAL_ACCELERATION = 4.0  # [m/s^2]
_STEADY_TIME = 0.5  # at the end of the event, over which steady values are taken [s]
_NO_ANSWER = 0.05  # of its largest size, under which a quantity has no steady value to be compared with
_SHAPE = ("response_time", "peak_response_time", "overshoot")
_STEADY_CHANGE = 0.05  # of the yaw rate over that time, beyond which nothing is steady


class StepSteer(Part):
    """Steer suddenly out of straight running, then hold steering and throttle.

    How much is steered: the angle of the road wheels, of the steering wheel, or whatever brings each car to
    a lateral acceleration in the steady turn at the starting speed. One of the three; 4 m/s^2 if none.
    """

    kind: Literal["step-steer"] = "step-steer"
    speed: Annotated[float, Unit("m/s", "km/h", 5.0, 110.0)] = 80.0 / 3.6
    """At the start; the throttle that holds it stays as it is."""
    lateral_acceleration: Annotated[float, Unit("m/s**2", "m/s**2", 0.1, 30.0)] | None = None
    """In the steady turn; 4 m/s**2 if none of the three sizes is given."""
    road_wheel_angle: Annotated[float, Unit("rad", "deg", 0.0005, 0.5)] | None = None
    """Mean of the front wheels."""
    steering_wheel_angle: Annotated[float, Unit("rad", "deg", 0.005, 8.0)] | None = None
    """Divided by the car's steering ratio."""
    direction: Literal["left", "right"] = "left"
    """Which way it turns."""
    ramp_time: Annotated[float, Unit("s", "s", 0.01, 2.0)] = 0.1
    """From straight to full angle, at a constant rate."""
    hold: Annotated[float, Unit("s", "s", 1.0, 30.0)] = 3.0
    """Time at full angle."""

    @model_validator(mode="after")
    def _steered_once(self) -> Self:
        ways = ("lateral_acceleration", "road_wheel_angle", "steering_wheel_angle")
        given = [name for name in ways if getattr(self, name) is not None]
        if len(given) > 1:
            raise ValueError(f"{' and '.join(given)} each say how much is steered; give one of them")
        return self

    def controls(self, step: float) -> DriveControls:
        """Return what the driver does, at half steps of ``step`` [s]; a steer of 1 stands for full angle."""
        full = _BEFORE + self.ramp_time
        time = half_steps(full + self.hold, step)
        steer = np.clip((time - _BEFORE) / self.ramp_time, 0.0, 1.0)
        return DriveControls(
            name="step steer",
            step=step,
            steer=steer if self.direction == "left" else -steer,
            throttle=np.zeros(time.size),
            brake=np.zeros(time.size),
            holding=np.ones(time.size),
            store_every=max(1, round(2e-3 / step)),
            phases=(
                Phase("straight", 0.0, _BEFORE),
                Phase("steer", _BEFORE, full),
                Phase("held", full, float(time[-1]) + step),
            ),
        )

    def steer_factors(self, driven: Driven, start: DriveStart) -> Array:
        """Return the full road-wheel angle of each car. [rad]

        Raises
        ------
        SolveError
            If a car cannot reach the lateral acceleration.
        """
        if self.road_wheel_angle is not None:
            return np.full(len(driven.cars), self.road_wheel_angle)
        if self.steering_wheel_angle is not None:
            return np.array([self.steering_wheel_angle / car.steering.ratio for car in driven.cars])
        wanted = self.lateral_acceleration or _USUAL_LATERAL_ACCELERATION
        side = 1.0 if self.direction == "left" else -1.0
        turning = settle_drive(
            driven.parameters,
            driven.engines,
            speed=self.speed,
            lateral_acceleration=side * wanted,
            name="step steer",
        )
        return np.asarray(side * (turning.steer - start.steer))


@dataclass(frozen=True, slots=True, kw_only=True)
class StepResponse:
    """How one quantity answers a step of steer."""

    steady: float
    """Value in the steady turn, in the quantity's own unit."""
    gain: float
    """Steady value over steady road-wheel angle. [unit/rad]"""
    response_time: float
    """From half of the steer to 90 % of the steady value; not a number without a steady value. [s]"""
    peak_response_time: float
    """From half of the steer to the peak; without one, to the end of the event. [s]"""
    overshoot: float
    """Peak above steady value, over steady value. [1]"""


@dataclass(frozen=True, slots=True, kw_only=True)
class StepSteerValues:
    """Characteristic values of one car's step steer."""

    yaw_rate: StepResponse
    """[rad/s]"""
    lateral_acceleration: StepResponse
    """[m/s^2]"""
    sideslip: StepResponse
    """[rad]"""
    steering_wheel_angle: float
    """Held, from where the car ran straight. [rad]"""
    understeer_gradient: float
    """Of the steady turn at the speed and lateral acceleration of the end, as ISO 4138. [rad s^2/m]

    Not a number where there is no such turn: the car still slows, and to hold that speed would take more than
    its engine has.
    """
    tb_value: float
    """Peak response time of the yaw rate times the size of the steady sideslip angle. [s rad]"""


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
                yaw_rate=yaw,
                lateral_acceleration=acceleration,
                sideslip=slide,
                steering_wheel_angle=float(steer[-1]) * run.driven.cars[car].steering.ratio,
                understeer_gradient=_understeer_gradient(
                    run.driven.cars[car],
                    float(np.mean(speed[late])),
                    acceleration.steady,
                ),
                tb_value=yaw.peak_response_time * abs(slide.steady),
            )
        )
    return values


def _understeer_gradient(car: Car, speed: float, lateral_acceleration: float) -> float:
    try:
        turn = steady_turn(car, speed=speed, lateral_acceleration=lateral_acceleration)
    except SolveError:
        return float("nan")
    return float(turn.understeer_gradient[0])


def _step_response(time: Array, steer: Array, response: Array, late: NDArray[np.bool_]) -> StepResponse:
    steady = float(np.mean(response[late]))
    if abs(steady) < _NO_ANSWER * float(np.max(np.abs(response))):  # sideslip near the tangent speed
        return StepResponse(steady=steady, gain=steady / float(steer[-1]), **dict.fromkeys(_SHAPE, np.nan))
    start = _crossing(time, steer / steer[-1], 0.5)
    share = response / steady
    peak, peak_time = _peak(time, share)
    return StepResponse(
        steady=steady,
        gain=steady / float(steer[-1]),
        response_time=_crossing(time, share, 0.9) - start,
        peak_response_time=peak_time - start,
        overshoot=peak - 1.0,
    )


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
