"""Steady-state circular driving as in ISO 4138: one lateral acceleration after another, up to the limit."""

from collections.abc import Sequence
from dataclasses import dataclass
from enum import StrEnum
from functools import partial
from math import sqrt
from typing import Annotated, Literal, Self

import numpy as np
from numpy.typing import NDArray
from pydantic import model_validator

from fourpatch.car.car import Car
from fourpatch.document.part import Part
from fourpatch.errors import EventError, SolveError
from fourpatch.events.drive import Driven, made_ready
from fourpatch.events.drive_inputs import Engines
from fourpatch.events.drive_stability import drive_reserve
from fourpatch.events.drive_start import (
    CLOSED,
    LONGEST_LEAP,
    DriveStart,
    Ties,
    drive_instant,
    packed,
    settle_drive,
    steady_residuals,
    unpacked,
)
from fourpatch.events.equilibrium import Balanced, Residuals, balanced, leap, newton, walk
from fourpatch.physics.full_car import SLOWEST
from fourpatch.physics.integrate import History
from fourpatch.physics.layout import P, X
from fourpatch.units import Unit

Array = NDArray[np.float64]

_USUAL_RADIUS = 100.0  # [m]
_FINEST = 5e-3  # step of lateral acceleration at which the limit counts as found [m/s^2]
_GENTLE = 1.0  # lateral acceleration of the turn from which one walks to a given one [m/s^2]
_LONGEST_WALK = 60.0  # no car corners harder [m/s^2]


class SteadyCircle(Part):
    """Corner steadily at one lateral acceleration after another, radius or speed held.

    Each is a state in which the driven car stays, found without driving there. The constant-radius method
    with 100 m, unless a radius or a speed is given.
    """

    kind: Literal["steady-circle"] = "steady-circle"
    radius: Annotated[float, Unit("m", "m", 10.0, 2000.0)] | None = None
    """Of the path of the centre of gravity: the constant-radius method."""
    speed: Annotated[float, Unit("m/s", "km/h", 5.0, 110.0)] | None = None
    """Along the path: the constant-speed method."""
    direction: Literal["left", "right"] = "left"
    """Which way it turns."""
    step: Annotated[float, Unit("m/s**2", "m/s**2", 0.05, 2.0)] = 0.5
    """Between one lateral acceleration and the next; near the limit it is halved."""
    largest_lateral_acceleration: Annotated[float, Unit("m/s**2", "m/s**2", 0.1, 60.0)] | None = None
    """Where to stop; at the limit of the car if left out."""

    @model_validator(mode="after")
    def _held_once(self) -> Self:
        if self.radius is not None and self.speed is not None:
            raise ValueError("radius and speed each say what is held; give one of them")
        return self

    @property
    def side(self) -> float:
        """1 to the left, -1 to the right."""
        return 1.0 if self.direction == "left" else -1.0

    @property
    def held_radius(self) -> float | None:
        """Radius of the constant-radius method, None with a constant speed. [m]"""
        return None if self.speed is not None else self.radius or _USUAL_RADIUS

    @property
    def name(self) -> str:
        """Its method and what is held."""
        if self.speed is not None:
            return f"steady circle at {self.speed * 3.6:g} km/h"
        return f"steady circle of {self.held_radius:g} m"

    def speed_at(self, lateral_acceleration: float) -> float:
        """Return the speed along the path, nearly: sideslip apart. [m/s]"""
        return self.speed or sqrt(abs(lateral_acceleration) * (self.held_radius or 0.0))

    def ties(self, lateral_acceleration: float) -> Ties:
        """Return what beside the rates vanishes in the steady turn; left positive. [m/s^2]"""

        def ties(states: Array, steer: Array) -> Array:
            forward, sideways, yaw_rate = _planar(states)
            along = np.hypot(forward, sideways)
            wanted = self.speed or self.side * (self.held_radius or 0.0) * yaw_rate
            return np.column_stack([along - wanted, forward * yaw_rate - lateral_acceleration])

        return ties


class Ended(StrEnum):
    """Why there is no turn after the last."""

    REQUEST = "request"
    ENGINE = "engine"
    GRIP = "grip"


@dataclass(frozen=True, slots=True, kw_only=True)
class SteadyTurns:
    """One car in steady turns, in the order of growing lateral acceleration; and how it changes with it."""

    event: SteadyCircle
    car: Car
    driven: Driven
    start: DriveStart
    """A row per turn."""
    history: History
    """One car; its instants are the turns. Rates vanish, place and heading apart."""
    state_slopes: Array
    """(turns, N_DRIVE) change of each state per lateral acceleration."""
    steer_slopes: Array
    """(turns,) [rad s^2/m]"""
    ended_by: Ended
    """Why there is no turn after the last."""

    @property
    def speed(self) -> Array:
        """Along the path, (turns,). [m/s]"""
        forward, sideways, _ = _planar(self.start.states)
        return np.hypot(forward, sideways)

    @property
    def lateral_acceleration(self) -> Array:
        """Forward speed times yaw rate, left positive, (turns,). [m/s^2]"""
        forward, _, yaw_rate = _planar(self.start.states)
        return np.asarray(forward * yaw_rate)

    @property
    def curvature(self) -> Array:
        """Of the path, left positive, (turns,). [1/m]"""
        return np.asarray(self.start.states[:, X.yaw_rate] / self.speed)

    @property
    def curvature_slopes(self) -> Array:
        """Change of the curvature per lateral acceleration, (turns,). [s^2/m^2]"""
        forward, sideways, _ = _planar(self.start.states)
        more_forward, more_sideways, more_yaw_rate = _planar(self.state_slopes)
        faster = (forward * more_forward + sideways * more_sideways) / self.speed
        return np.asarray((more_yaw_rate - self.curvature * faster) / self.speed)

    @property
    def sideslip(self) -> Array:
        """Of the centre of gravity, ISO 8855, (turns,). [rad]"""
        forward, sideways, _ = _planar(self.start.states)
        return np.arctan2(sideways, forward)

    @property
    def sideslip_slopes(self) -> Array:
        """Change of the sideslip angle per lateral acceleration, (turns,). [rad s^2/m]"""
        forward, sideways, _ = _planar(self.start.states)
        more_forward, more_sideways, _ = _planar(self.state_slopes)
        return np.asarray((forward * more_sideways - sideways * more_forward) / self.speed**2)

    @property
    def understeer_gradient(self) -> Array:
        """Change of the road-wheel angle beyond the Ackermann angle, per lateral acceleration, (turns,).

        [rad s^2/m]
        """
        return np.asarray(self.steer_slopes - self.car.chassis.wheelbase * self.curvature_slopes)

    def stability_reserve(self) -> Array:
        """Return the largest real part of the car's eigenvalues in each turn, (turns,). [1/s]"""
        controls = np.column_stack([self.start.steer, self.start.throttle, np.zeros_like(self.start.steer)])
        return drive_reserve(self.driven.parameters, self.driven.engines, self.start.states, controls)


def _planar(states: Array) -> tuple[Array, Array, Array]:
    """Forward and lateral velocity and yaw rate. [m/s], [m/s], [rad/s]"""
    return states[:, X.forward_velocity], states[:, X.lateral_velocity], states[:, X.yaw_rate]


def _for_rows(engines: Engines, rows: int) -> Engines:
    return Engines(torque=np.repeat(engines.torque, rows, axis=0), spacing=engines.spacing)


def steady_circle(car: Car, event: SteadyCircle, *, name: str = "steady circle") -> SteadyTurns:
    """Return the steady turns of a car from the first step of lateral acceleration to its limit.

    Parameters
    ----------
    name : for an error.

    Raises
    ------
    EventError
        If the last lateral acceleration asked for is below the first.
    SolveError
        If the car has no steady state at the first one.

    Notes
    -----
    Newton's method on the rates of the drive with yaw rate, sideslip, steer, throttle, speed and the rest
    of the state unknown, each turn begun along the slope of the last. So the throttle holds the speed
    exactly, which no open-loop drive does, and a turn in which the car would not stay (past its critical
    speed) is found too; `SteadyTurns.stability_reserve` tells. Where there is no turn any more the step is
    halved down to 0.005 m/s^2. Turns slower than 2 m/s are passed over: slips lose their meaning there.

    Source: methods 1 and 2 of ISO 4138 (constant radius, constant speed), from memory; derived here as
    equilibria.
    """
    driven = made_ready([car])
    turns, ended_by = _walk(driven, event, name)
    return _steady_turns(car, event, driven, turns, ended_by)


def _steady_turns(
    car: Car, event: SteadyCircle, driven: Driven, turns: Sequence[Balanced], ended_by: Ended
) -> SteadyTurns:
    """Evaluate the drive in turns that were found."""
    states, steer, throttle = unpacked(np.vstack([turn.unknowns for turn in turns]))
    states[:, X.distance] = -driven.parameters[0, P.cg_to_front]
    throttle = np.maximum(throttle, 0.0)
    state_slopes, steer_slopes, _ = unpacked(np.vstack([turn.slopes for turn in turns]))
    drivers = np.column_stack([steer, np.ones_like(steer), throttle])
    rows = states.shape[0]
    there = drive_instant(
        np.repeat(driven.parameters, rows, axis=0), states, _for_rows(driven.engines, rows), drivers
    )
    return SteadyTurns(
        event=event,
        car=car,
        driven=driven,
        start=DriveStart(states=states, steer=steer, throttle=throttle),
        history=History(
            states=states[None],
            rates=np.swapaxes(there.rates, 0, 1),
            outputs=np.swapaxes(there.outputs, 0, 1),
            failed=np.array([-1]),
        ),
        state_slopes=state_slopes,
        steer_slopes=steer_slopes,
        ended_by=ended_by,
    )


def _walk(driven: Driven, event: SteadyCircle, name: str) -> tuple[list[Balanced], Ended]:
    """Return turn after turn, and what comes after the last."""
    last = event.largest_lateral_acceleration or _LONGEST_WALK
    first = event.step
    while event.speed_at(first) <= SLOWEST:
        first += event.step
    if first > last:
        raise EventError(
            f"{name}: its first lateral acceleration would be {first:g} m/s², above the largest, "
            f"{last:g} m/s². Take smaller steps, or let the largest be above that."
        )
    turns = [_first(driven, event, event.side * first, name)]
    step, ended_by = event.step, Ended.REQUEST
    while step > _FINEST:
        reached = event.side * turns[-1].asked
        if reached >= last - 1e-9:
            return turns, Ended.REQUEST
        asked = event.side * min(reached + step, last)
        there = leap(partial(_residuals, driven, event), turns[-1], asked)
        ended_by = _ended_by(there)
        if there is not None and ended_by is Ended.REQUEST:
            turns.append(there)
        else:
            step *= 0.5
    return turns, ended_by


def _residuals(driven: Driven, event: SteadyCircle, lateral_acceleration: float) -> Residuals:
    return steady_residuals(driven.parameters, driven.engines, event.ties(lateral_acceleration))


def _first(driven: Driven, event: SteadyCircle, lateral_acceleration: float, name: str) -> Balanced:
    start = settle_drive(
        driven.parameters,
        driven.engines,
        speed=event.speed_at(lateral_acceleration),
        lateral_acceleration=lateral_acceleration,
        name=name,
    )
    residuals = _residuals(driven, event, lateral_acceleration)
    found, settled = newton(residuals, packed(start.states, start.steer, start.throttle))
    if not settled[0]:
        raise SolveError(
            f"{name}: the car finds no balance at {abs(lateral_acceleration):g} m/s². "
            "Begin with less, or check grip, springs and stops."
        )
    return balanced(residuals, found, lateral_acceleration)


def _ended_by(turn: Balanced | None) -> Ended:
    """Say what keeps a car from a turn; nothing does if it is one to be driven."""
    if turn is None:
        return Ended.GRIP
    throttle = float(unpacked(turn.unknowns)[2][0])
    if throttle > 1.0:
        return Ended.ENGINE
    return Ended.REQUEST if throttle >= CLOSED else Ended.GRIP


def steady_turn(
    car: Car,
    *,
    lateral_acceleration: float,
    radius: float | None = None,
    speed: float | None = None,
    name: str = "steady turn",
) -> SteadyTurns:
    """Return the one steady turn of a car at a lateral acceleration, radius or speed being held.

    Parameters
    ----------
    lateral_acceleration : left positive, not 0. [m/s^2]
    radius, speed : one of them. [m], [m/s]
    name : of the event, for an error.

    Raises
    ------
    SolveError
        If the car cannot corner so; the text says how hard it can.

    Notes
    -----
    Walked up to from a gentle turn, as `steady_circle` is: what a steady circle holds, this finds.
    """
    size = abs(lateral_acceleration)
    event = SteadyCircle.model_construct(  # whatever was driven, in range of the event or not
        radius=radius,
        speed=speed,
        direction="left" if lateral_acceleration > 0.0 else "right",
        largest_lateral_acceleration=size,
        step=size,
    )
    driven = made_ready([car])
    gentle = min(size, _GENTLE) if event.speed_at(min(size, _GENTLE)) > SLOWEST else size
    first = _first(driven, event, event.side * gentle, name)
    turn = walk(partial(_residuals, driven, event), first, lateral_acceleration, longest=LONGEST_LEAP)
    ended_by = _ended_by(turn)
    if turn.asked != lateral_acceleration or ended_by is not Ended.REQUEST:
        held = f"a circle of {radius:g} m" if radius is not None else f"{(speed or 0.0) * 3.6:.0f} km/h"
        why = (
            f"it would need {float(unpacked(turn.unknowns)[2][0]):.0%} throttle"
            if ended_by is Ended.ENGINE
            else f"its tyres hold up to {abs(turn.asked):.2f} m/s² there"
        )
        raise SolveError(f"{name}: the car cannot stay on {held} at {size:g} m/s²: {why}. Ask for less.")
    return _steady_turns(car, event, driven, [turn], Ended.REQUEST)
