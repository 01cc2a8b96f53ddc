"""Straight braking by the pedal: what the car makes of a brake torque, lock-up included."""

from collections.abc import Callable
from dataclasses import dataclass
from typing import Annotated, Literal

import numpy as np
from numpy.typing import NDArray

from fourpatch.document.part import Part
from fourpatch.events.drive import Driven, DriveRun
from fourpatch.events.drive_inputs import DriveControls
from fourpatch.events.drive_start import DriveStart
from fourpatch.events.motion import half_steps
from fourpatch.events.phase import Phase
from fourpatch.physics.full_car import SLOWEST
from fourpatch.physics.layout import CORNER_BASE, N_CORNER, C, X
from fourpatch.units import Unit

Array = NDArray[np.float64]
Flags = NDArray[np.bool_]

CORNERS = ("FL", "FR", "RL", "RR")

_BEFORE = 0.2  # steady running ahead of the brake [s]
_LOCKED = 0.1  # rim speed over the car's speed below which a wheel counts as locked
_STANDING = 0.01  # speed at which a car counts as standing [m/s]


class StraightBraking(Part):
    """Close the throttle and press the brake, running straight, until the time is up."""

    kind: Literal["straight-braking"] = "straight-braking"
    speed: Annotated[float, Unit("m/s", "km/h", 5.0, 110.0)] = 40.0
    """At the start."""
    pedal: Annotated[float, Unit("1", "%", 0.01, 1.0)] = 0.5
    """Share of full pedal; brake torque is in proportion."""
    rise_time: Annotated[float, Unit("s", "s", 0.02, 5.0)] = 0.2
    """From first touch to that pedal; the throttle closes meanwhile."""
    duration: Annotated[float, Unit("s", "s", 0.1, 30.0)] = 3.0
    """Time at that pedal."""

    def controls(self, step: float) -> DriveControls:
        """Return what the driver does, at half steps of ``step`` [s]."""
        full = _BEFORE + self.rise_time
        time = half_steps(full + self.duration, step)
        pressed = np.clip((time - _BEFORE) / self.rise_time, 0.0, 1.0)
        return DriveControls(
            name="straight braking",
            step=step,
            steer=np.zeros(time.size),
            throttle=np.zeros(time.size),
            brake=self.pedal * pressed,
            holding=1.0 - pressed,
            store_every=max(1, round(2e-3 / step)),
            phases=(
                Phase("straight", 0.0, _BEFORE),
                Phase("brake build-up", _BEFORE, full),
                Phase("braking", full, float(time[-1]) + step),
            ),
        )

    def steer_factors(self, driven: Driven, start: DriveStart) -> Array:
        """Return 1 for each car: the steering is left as it is."""
        return np.ones(len(driven.cars))


@dataclass(frozen=True, slots=True, kw_only=True)
class WheelSpell:
    """When one wheel was locked, or spun."""

    first: float | None
    """When it first was, from first touch of the pedal; None if it never was. [s]"""
    share: float
    """Of the time from first touch to the end or to standstill that it was. [1]"""


@dataclass(frozen=True, slots=True, kw_only=True)
class BrakingValues:
    """What one car made of a brake pedal."""

    deceleration: float
    """Mean from full pedal to the end or to standstill. [m/s^2]"""
    distance: float
    """From first touch to the end or to standstill. [m]"""
    stopped: bool
    """Whether the car came to rest."""
    lock_up: dict[str, WheelSpell]
    """By corner, FL, FR, RL, RR."""


def braking_values(run: DriveRun) -> list[BrakingValues]:
    """Return what each car made of a straight braking.

    Notes
    -----
    A wheel is locked while its rim moves at under a tenth of the car's speed, and the car faster than the
    speed below which slips lose their meaning (`physics.full_car.SLOWEST`).
    """
    return [
        _values(run, parameters, states)
        for parameters, states in zip(run.driven.parameters, run.history.states, strict=True)
    ]


def _values(run: DriveRun, parameters: Array, states: Array) -> BrakingValues:
    time, speed = run.time, states[:, X.forward_velocity]
    touched, full = (int(np.searchsorted(time, phase.start)) for phase in run.controls.phases[1:])
    still = np.flatnonzero(speed < _STANDING)
    end = int(still[0]) if still.size else time.size - 1
    slowing = (speed[full] - speed[end]) / (time[end] - time[full]) if end > full else 0.0
    return BrakingValues(
        deceleration=float(slowing),
        distance=float(states[end, X.distance] - states[touched, X.distance]),
        stopped=bool(still.size),
        lock_up=lock_ups(run, parameters, states, start=touched, end=end),
    )


def lock_ups(
    run: DriveRun, parameters: Array, states: Array, *, start: int, end: int
) -> dict[str, WheelSpell]:
    """Return by corner when wheels of one car locked between two stored instants, both included."""
    return wheel_spells(
        run,
        parameters,
        states[: end + 1],
        start=start,
        told=lambda rim, speed: (rim < _LOCKED * speed) & (speed > SLOWEST),
    )


def wheel_spells(
    run: DriveRun, parameters: Array, states: Array, *, start: int, told: Callable[[Array, Array], Flags]
) -> dict[str, WheelSpell]:
    """Return by corner when what is told of the wheels of one car was so.

    Parameters
    ----------
    states : (instants, N_DRIVE), from the first stored one.
    start : first instant that counts.
    told : whether it is so, of rim and car speed at each instant. [m/s]
    """
    time, speed = run.time[start : len(states)], states[start:, X.forward_velocity]
    found = {}
    for corner, name in enumerate(CORNERS):
        radius = parameters[CORNER_BASE + corner * N_CORNER + C.tyre_radius]
        so = told(states[start:, X.spin + corner] * radius, speed)
        first = float(time[np.argmax(so)] - time[0]) if so.any() else None
        found[name] = WheelSpell(first=first, share=float(np.mean(so)))
    return found
