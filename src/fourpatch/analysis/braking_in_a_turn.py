"""The values that characterise braking in a turn, as in ISO 7975."""

from typing import Annotated

import numpy as np
from numpy.typing import NDArray

from fourpatch.analysis.quantity import ACCELERATION, ALONG, ANGLE, RATIO, Findings
from fourpatch.analysis.wheel_spells import WheelSpell, lock_ups
from fourpatch.events.braking_in_a_turn import TurnBraked
from fourpatch.events.drive import DriveRun
from fourpatch.physics.full_car import SLOWEST
from fourpatch.physics.layout import O, X

Array = NDArray[np.float64]

MEASURED_AT = 1.0
"""After first touch of the brake, when the values are taken. [s]"""

_SPUN = 0.5 * np.pi  # sideslip angle from which on a car counts as spun


class TurnBrakedValues(Findings):
    """Characteristic values of one run, one second after first touch of the brake unless said otherwise.

    Those are not numbers where the car stands or has spun by then.
    """

    brake_deceleration: Annotated[float, ACCELERATION]
    """Force of the brakes over the car's mass, as asked for."""
    mean_deceleration: Annotated[float, ACCELERATION]
    """Speed lost since first touch over that second."""
    yaw_rate_ratio: Annotated[float, RATIO]
    """Yaw rate over that of a car that stays on the circle at the speed of the moment."""
    lateral_acceleration_ratio: Annotated[float, RATIO]
    """Lateral acceleration over that of the same car."""
    largest_yaw_rate_ratio: Annotated[float, RATIO]
    """Largest until the end, or until the car stands or has spun."""
    sideslip_change: Annotated[float, ANGLE]
    """Sideslip angle less that of the steady circle."""
    path_deviation: Annotated[float, ALONG]
    """Of the centre of gravity from the circle, into the turn positive."""
    spun: bool
    """Whether the sideslip angle passed a right angle before the end."""
    lock_up: dict[str, WheelSpell]
    """By corner, from first touch to the end."""


def turn_braked_values(braked: TurnBraked) -> list[TurnBrakedValues]:
    """Return the characteristic values of each run.

    Notes
    -----
    Staying on the circle of radius R_0 at the speed v of the moment a car has the yaw rate v / R_0 and the
    lateral acceleration v^2 / R_0.

    Source: definitions of ISO 7975 (2019, 2006), from memory.
    """
    return [_values(run, force) for run, force in zip(braked.runs, braked.asked, strict=True)]


def _values(run: DriveRun, force: float) -> TurnBrakedValues:
    states, outputs, time = run.history.states[0], run.history.outputs[0], run.time
    forward, sideways = states[:, X.forward_velocity], states[:, X.lateral_velocity]
    speed, sideslip = np.hypot(forward, sideways), np.arctan2(sideways, forward)
    touched = int(np.searchsorted(time, run.controls.phases[1].start - 1e-9))
    then = int(np.searchsorted(time, time[touched] + MEASURED_AT - 1e-9))
    curvature = states[0, X.yaw_rate] / speed[0]
    counts = (speed > SLOWEST) & (np.arange(time.size) >= touched)
    over = np.flatnonzero(np.abs(sideslip) > _SPUN)
    if over.size:
        counts[over[0] :] = False
    ratio = states[:, X.yaw_rate] / (np.maximum(speed, SLOWEST) * curvature)
    # What a standing or spun car does is no answer to the brake.
    there = 1.0 if counts[then] else float("nan")
    return TurnBrakedValues(
        brake_deceleration=force,
        mean_deceleration=there * float((speed[touched] - speed[then]) / (time[then] - time[touched])),
        yaw_rate_ratio=there * float(ratio[then]),
        lateral_acceleration_ratio=there
        * float(outputs[then, O.lateral_acceleration] / (speed[then] ** 2 * curvature)),
        largest_yaw_rate_ratio=float(np.max(ratio[counts])),
        sideslip_change=there * float(sideslip[then] - sideslip[0]),
        path_deviation=there * _inward(states[[0, then]], curvature),
        spun=bool(over.size),
        lock_up=lock_ups(run, run.driven.parameters[0], states, start=touched, end=time.size - 1),
    )


def _inward(states: Array, curvature: float) -> float:
    """How far the second of two states lies inside the circle on which the first one moves. [m]"""
    course = states[0, X.heading] + np.arctan2(states[0, X.lateral_velocity], states[0, X.forward_velocity])
    centre = states[0, [X.distance, X.offset]] + np.array([-np.sin(course), np.cos(course)]) / curvature
    return float(1.0 / abs(curvature) - np.linalg.norm(states[1, [X.distance, X.offset]] - centre))
