"""From a damper's description to the broken line its kernel reads."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from fourpatch.car.parameters import MeasuredDamper, TwoSlopeDamper, TwoSlopeDamping
from fourpatch.physics.layout import KNOTS

Vector = NDArray[np.float64]

_UNUSED_KNOT = 1e6  # a damper speed never reached


@dataclass(frozen=True, slots=True, kw_only=True)
class DamperKnots:
    """Slope at rest and, at each of KNOTS speeds, a change of slope; SI units, at the damper."""

    bump_slope: float
    bump_speeds: Vector
    bump_changes: Vector
    rebound_slope: float
    rebound_speeds: Vector
    rebound_changes: Vector


def damper_knots(damper: TwoSlopeDamper | MeasuredDamper) -> DamperKnots:
    """Return a damper's force-speed line as slopes and knots.

    Notes
    -----
    A measured table is followed exactly where it has no more than KNOTS + 1 points in a direction;
    of a longer one the points that bend the line least are left out, one by one.
    """
    if isinstance(damper, TwoSlopeDamper):
        bump, rebound = _two_slopes(damper.bump), _two_slopes(damper.rebound)
    else:
        speed = np.array(damper.speed)
        bump = _table(speed, damper.bump_factor * np.array(damper.bump_force))
        rebound = _table(speed, damper.rebound_factor * np.array(damper.rebound_force))
    return DamperKnots(
        bump_slope=bump[0],
        bump_speeds=bump[1],
        bump_changes=bump[2],
        rebound_slope=rebound[0],
        rebound_speeds=rebound[1],
        rebound_changes=rebound[2],
    )


def _padded(speeds: Vector, changes: Vector) -> tuple[Vector, Vector]:
    knots, bends = np.full(KNOTS, _UNUSED_KNOT), np.zeros(KNOTS)
    knots[: speeds.size], bends[: changes.size] = speeds, changes
    return knots, bends


def _two_slopes(damping: TwoSlopeDamping) -> tuple[float, Vector, Vector]:
    speeds, changes = _padded(
        np.array([damping.knee_speed]), np.array([damping.high_speed - damping.low_speed])
    )
    return damping.low_speed, speeds, changes


def _table(speed: Vector, force: Vector) -> tuple[float, Vector, Vector]:
    speed, force = _thinned(np.r_[0.0, speed], np.r_[0.0, force])
    slopes = np.diff(force) / np.diff(speed)
    speeds, changes = _padded(speed[1:-1], np.diff(slopes))
    return float(slopes[0]), speeds, changes


def _thinned(speed: Vector, force: Vector) -> tuple[Vector, Vector]:
    """Leave out inner points, least bend first, until the line fits the knots."""
    while speed.size - 2 > KNOTS:
        straight = force[:-2] + (force[2:] - force[:-2]) * (speed[1:-1] - speed[:-2]) / (
            speed[2:] - speed[:-2]
        )
        least = 1 + int(np.argmin(np.abs(force[1:-1] - straight)))
        speed, force = np.delete(speed, least), np.delete(force, least)
    return speed, force


def damper_force(knots: DamperKnots, speed: Vector) -> Vector:
    """Force at the damper for damper speeds, bump positive, friction left out. [N]"""
    bump, rebound = np.maximum(speed, 0.0), np.maximum(-speed, 0.0)
    up = knots.bump_slope * bump + np.sum(
        np.maximum(bump[..., None] - knots.bump_speeds, 0.0) * knots.bump_changes, axis=-1
    )
    down = knots.rebound_slope * rebound + np.sum(
        np.maximum(rebound[..., None] - knots.rebound_speeds, 0.0) * knots.rebound_changes, axis=-1
    )
    return np.asarray(up - down)
