"""What engine, gears and tyres make of a throttle, wheel spin included."""

from typing import Annotated

import numpy as np
from numpy.typing import NDArray

from fourpatch.analysis.quantity import ACCELERATION, ALONG, SPEED, TIME, Findings
from fourpatch.analysis.wheel_spells import WheelSpell, wheel_spells
from fourpatch.events.drive import DriveRun
from fourpatch.events.straight_acceleration import StraightAcceleration
from fourpatch.physics.layout import X

Array = NDArray[np.float64]

_SPINNING = 1.2  # rim speed over the car's speed above which a wheel counts as spinning


class AccelerationValues(Findings):
    """What one car made of a throttle."""

    acceleration: Annotated[float, ACCELERATION]
    """Mean from full pedal to the end."""
    largest_acceleration: Annotated[float, ACCELERATION]
    """Of the car, after first touch."""
    final_speed: Annotated[float, SPEED]
    """At the end."""
    distance: Annotated[float, ALONG]
    """From first touch to the end."""
    reached_after: Annotated[float | None, TIME]
    """From first touch to the speed to reach; none if none was asked for or it was not reached."""
    reached_within: Annotated[float | None, ALONG]
    """Distance from first touch to there."""
    wheel_spin: dict[str, WheelSpell]
    """By corner: how long its rim moved at over 1.2 times the car's speed."""


def acceleration_values(run: DriveRun, event: StraightAcceleration) -> list[AccelerationValues]:
    """Return what each car made of a straight acceleration.

    Notes
    -----
    A wheel spins while its rim moves at over 1.2 times the car's speed, beyond the slip of any tyre's peak.
    """
    return [
        _values(run, event, parameters, states)
        for parameters, states in zip(run.driven.parameters, run.history.states, strict=True)
    ]


def _values(
    run: DriveRun, event: StraightAcceleration, parameters: Array, states: Array
) -> AccelerationValues:
    time, speed, distance = run.time, states[:, X.forward_velocity], states[:, X.distance]
    touched, full = (int(np.searchsorted(time, phase.start)) for phase in run.controls.phases[1:])
    after = within = None
    if event.to_speed is not None and speed.max() >= event.to_speed:
        first = int(np.argmax(speed >= event.to_speed))
        part = (event.to_speed - speed[first - 1]) / (speed[first] - speed[first - 1])
        after, within = (
            float(row[first - 1] + part * (row[first] - row[first - 1]) - row[touched])
            for row in (time, distance)
        )
    return AccelerationValues(
        acceleration=float((speed[-1] - speed[full]) / (time[-1] - time[full])),
        largest_acceleration=float(np.max(np.gradient(speed[touched:], time[touched:]))),
        final_speed=float(speed[-1]),
        distance=float(distance[-1] - distance[touched]),
        reached_after=after,
        reached_within=within,
        wheel_spin=wheel_spells(
            run, parameters, states, start=touched, told=lambda rim, speed: rim > _SPINNING * speed
        ),
    )
