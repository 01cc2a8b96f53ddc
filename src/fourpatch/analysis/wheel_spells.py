"""When each wheel of a driven car was locked, or spun."""

from collections.abc import Callable
from typing import Annotated

import numpy as np
from numpy.typing import NDArray

from fourpatch.analysis.quantity import SHARE, TIME, Findings
from fourpatch.events.drive import DriveRun
from fourpatch.physics.full_car import SLOWEST
from fourpatch.physics.layout import CORNER_BASE, N_CORNER, C, X

Array = NDArray[np.float64]
Flags = NDArray[np.bool_]

CORNERS = ("FL", "FR", "RL", "RR")

_LOCKED = 0.1  # rim speed over the car's speed below which a wheel counts as locked


class WheelSpell(Findings):
    """When one wheel was locked, or spun."""

    first: Annotated[float | None, TIME]
    """When it first was, from first touch of the pedal; none if it never was."""
    share: Annotated[float, SHARE]
    """Of the time from first touch to the end or to standstill that it was."""


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
