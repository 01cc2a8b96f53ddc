"""The rig put through the very motion of a driven corner: what both say of it, phase by phase."""

from typing import NamedTuple

import numpy as np
from scipy.interpolate import CubicSpline

from fourpatch.advice.driven_corner import DrivenCorner
from fourpatch.analysis.axle_use import axle_use
from fourpatch.car.car import Car
from fourpatch.events.lap import LapRun
from fourpatch.events.motion import RigMotion, half_steps, planar_inputs
from fourpatch.events.run import run_rig, stable_step
from fourpatch.physics.layout import X

_INTERVAL = 4e-3  # between stored instants of the rig [s]


class BothWays(NamedTuple):
    """Balance in one phase, its mean over time. [points]"""

    rig: float
    drive: float


def rig_beside(car: Car, corner: DrivenCorner) -> dict[str, BothWays]:
    """Return the balance of a car in each phase of a corner, driven and on the rig in the same motion.

    Raises
    ------
    SolveError
        If the car has no steady start or stays in no range of numbers, on the rig or driven.
    """
    run = corner.drive([car])
    motion = driven_motion(car, run)
    rig = axle_use(run.driven.parameters[:1], run_rig(run.driven.parameters[:1], motion).outputs).balance[0]
    instants = _instants(run)
    own = axle_use(run.driven.parameters[:1], run.history.outputs[:1, :instants]).balance[0]
    time = np.arange(rig.size) * (motion.step * motion.store_every)
    drive = np.interp(time, run.time[:instants], own)
    at = np.interp(time, run.time[:instants], run.history.states[0, :instants, X.distance])
    found = {}
    for phase, part in corner.phases.items():
        inside = (at >= part.begin) & (at <= part.end)
        if inside.any():
            found[phase] = BothWays(float(rig[inside].mean()), float(drive[inside].mean()))
    return found


def driven_motion(car: Car, run: LapRun) -> RigMotion:
    """Return the motion of a run's first car, for the rig: its path, its speed along it, its yaw rate."""
    states = run.history.states[0, : _instants(run)]
    stored = run.time[: states.shape[0]]
    ahead, aside = states[:, X.forward_velocity], states[:, X.lateral_velocity]
    speed = CubicSpline(stored, np.hypot(ahead, aside))
    sideslip = CubicSpline(stored, np.arctan2(aside, ahead))
    yaw_rate = CubicSpline(stored, states[:, X.yaw_rate])
    step = stable_step(run.driven.parameters[:1])
    time = half_steps(float(stored[-2]), step)
    inputs = planar_inputs(
        car,
        time,
        speed=speed(time),
        longitudinal_acceleration=speed(time, 1),
        lateral_acceleration=speed(time) * (yaw_rate(time) + sideslip(time, 1)),
        curvature=yaw_rate(time) / speed(time),
    )
    return RigMotion(name="as driven", step=step, inputs=inputs, store_every=max(1, round(_INTERVAL / step)))


def _instants(run: LapRun) -> int:
    """Return how many instants are stored before the first car's end of the run."""
    return int(np.isfinite(run.history.states[0, :, X.forward_velocity]).sum())
