"""What a car makes of a brake pedal, lock-up included."""

from typing import Annotated

import numpy as np
from numpy.typing import NDArray

from fourpatch.analysis.quantity import ACCELERATION, ALONG, Findings
from fourpatch.analysis.wheel_spells import WheelSpell, lock_ups
from fourpatch.events.drive import DriveRun
from fourpatch.physics.layout import X

Array = NDArray[np.float64]

_STANDING = 0.01  # speed at which a car counts as standing [m/s]


class BrakingValues(Findings):
    """What one car made of a brake pedal."""

    deceleration: Annotated[float, ACCELERATION]
    """Mean from full pedal to the end or to standstill."""
    distance: Annotated[float, ALONG]
    """From first touch to the end or to standstill."""
    stopped: bool
    """Whether the car came to rest."""
    lock_up: dict[str, WheelSpell]
    """By corner: how long its rim moved at under a tenth of the car's speed."""


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
