"""Stiffness and damping of a packed car at its wheels, at the static position.

Per axle values are the mean of left and right, which differ only where a motion ratio changes with travel
and the two static loads differ.
"""

from dataclasses import dataclass
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from fourpatch.analysis.quantity import Axles
from fourpatch.physics.layout import CORNER_BASE, KNOTS, N_CORNER, C, P

Vector = NDArray[np.float64]


def corner_values(vector: Vector, slot: int) -> Vector:
    """Return what a packed car has in a slot of its four corners, (4,)."""
    return vector[CORNER_BASE + slot : CORNER_BASE + slot + 4 * N_CORNER : N_CORNER].copy()


def axle_means(four: Vector) -> Axles:
    """Return the mean of left and right at each axle."""
    return Axles(float(0.5 * (four[0] + four[1])), float(0.5 * (four[2] + four[3])))


def tracks(vector: Vector) -> Axles:
    """Return the track widths [m]."""
    y = corner_values(vector, C.y)
    return Axles(float(y[0] - y[1]), float(y[2] - y[3]))


def spring_rates(vector: Vector) -> Vector:
    """Return the rate of each corner's springs at the wheel, (4,) [N/m].

    Notes
    -----
    The slope of F(u) r at static travel: k r^2 + F r', with motion ratio r, its slope r' and static spring
    force F. The second term is left out where "wheel rate = spring rate x motion ratio^2" is quoted; it is
    nothing for a constant ratio. An open helper spring puts k in series with its own rate.

    Source: derived here (virtual work).
    """
    main, closed = corner_values(vector, C.spring_static_force), corner_values(vector, C.helper_block_force)
    rate, softer = corner_values(vector, C.spring_rate), corner_values(vector, C.helper_rate)
    open_helper = main <= closed
    force = np.where(open_helper, closed + (main - closed) * softer / rate, main)
    ratio, slope = corner_values(vector, C.spring_ratio), corner_values(vector, C.spring_ratio_1)
    return np.asarray(np.where(open_helper, softer, rate) * ratio**2 + force * slope)


def stop_rates(vector: Vector) -> Vector:
    """Return the rate that a bump stop already touched at static adds at each wheel, (4,) [N/m]."""
    into = np.maximum(0.0, -corner_values(vector, C.stop_gap))
    rate = corner_values(vector, C.stop_rate) + 2.0 * into * corner_values(vector, C.stop_progression)
    return np.asarray(np.where(into > 0.0, rate, 0.0))


def wheel_rates(vector: Vector) -> Axles:
    """Return the rate at each wheel, both of an axle moving alike: springs, stops, heave spring [N/m]."""
    springs = axle_means(spring_rates(vector) + stop_rates(vector))
    heave = heave_rates(vector)
    return Axles(springs.front + heave.front, springs.rear + heave.rear)


def heave_rates(vector: Vector) -> Axles:
    """Return what an axle's heave spring adds at each wheel when both move alike [N/m].

    Notes
    -----
    Half its rate; nothing while a gap has to close first. One that just touches (no gap, no preload) counts
    in full, as in bump.
    """

    def half(rate_slot: int) -> float:
        rate, preload, gap = vector[rate_slot : rate_slot + 3]
        return float(0.5 * rate if preload > 0.0 or gap <= 0.0 else 0.0)

    return Axles(half(P.front_heave_rate), half(P.rear_heave_rate))


def bar_rates(vector: Vector) -> Axles:
    """Return the force of the anti-roll bar on each wheel per difference of their travels [N/m]."""
    return Axles(float(vector[P.front_bar_rate]), float(vector[P.rear_bar_rate]))


def tyre_rates(vector: Vector) -> Axles:
    """Return the vertical rate of one tyre of each axle at its pressure [N/m]."""
    return axle_means(corner_values(vector, C.tyre_rate))


@dataclass(frozen=True, slots=True, kw_only=True)
class RollStiffness:
    """Moment per angle of each axle [N m/rad]."""

    springs: Axles
    bar: Axles
    tyres: Axles

    @property
    def suspension(self) -> Axles:
        """Springs and bar together."""
        return Axles(self.springs.front + self.bar.front, self.springs.rear + self.bar.rear)

    @property
    def with_tyres(self) -> Axles:
        """Springs and bar in series with the tyres."""
        return Axles(*(in_series(k, t) for k, t in zip(self.suspension, self.tyres, strict=True)))


def in_series(one: float, other: float) -> float:
    """Return the stiffness of two springs end to end."""
    return one * other / (one + other)


def roll_stiffness(vector: Vector) -> RollStiffness:
    """Return the roll stiffness of both axles.

    Notes
    -----
    Springs and tyres k t^2 / 2, bar k_bar t^2 with its rate per difference of travels. Heave springs do
    not answer to roll.
    """
    width = tracks(vector)
    springs = axle_means(spring_rates(vector) + stop_rates(vector))
    return RollStiffness(
        springs=Axles(*(0.5 * k * t**2 for k, t in zip(springs, width, strict=True))),
        bar=Axles(*(k * t**2 for k, t in zip(bar_rates(vector), width, strict=True))),
        tyres=Axles(*(0.5 * k * t**2 for k, t in zip(tyre_rates(vector), width, strict=True))),
    )


DamperSide = Literal["mean", "bump", "rebound"]
"""Which slope of a damper counts: bump's, rebound's, or their mean."""


def damper_slopes(vector: Vector, *, side: DamperSide, speed: float) -> Vector:
    """Return the slope of each corner's damper curve at a damper speed, (4,), at the damper [N s/m].

    Parameters
    ----------
    speed : at the damper, either way; at a knee the slope beyond it counts. [m/s]

    Notes
    -----
    Friction is left out: it has no slope but at rest.
    """
    if side == "mean":
        bump = damper_slopes(vector, side="bump", speed=speed)
        return np.asarray(0.5 * (bump + damper_slopes(vector, side="rebound", speed=speed)))
    slope, knots = (C.bump_slope, C.bump_knots) if side == "bump" else (C.rebound_slope, C.rebound_knots)
    slopes = corner_values(vector, slope)
    for knot in range(knots, knots + KNOTS):
        passed = corner_values(vector, knot) <= speed
        slopes += np.where(passed, corner_values(vector, knot + KNOTS), 0.0)
    return slopes


def heave_damper_slopes(vector: Vector, side: DamperSide) -> Axles:
    """Return the slopes of both axles' heave dampers, at the wheels' mean travel [N s/m]."""

    def slope(bump: int) -> float:
        weights = {"mean": (0.5, 0.5), "bump": (1.0, 0.0), "rebound": (0.0, 1.0)}[side]
        return float(weights[0] * vector[bump] + weights[1] * vector[bump + 1])

    return Axles(slope(P.front_heave_bump), slope(P.rear_heave_bump))


def wheel_damping(vector: Vector, *, side: DamperSide, speed: float) -> Axles:
    """Return the damping at each wheel when both wheels of an axle move alike [N s/m].

    Parameters
    ----------
    speed : damper speed at which the slope is read. [m/s]

    Notes
    -----
    Damper slope times motion ratio squared, plus half of a heave damper's.
    """
    ratio = corner_values(vector, C.damper_ratio)
    corner = axle_means(damper_slopes(vector, side=side, speed=speed) * ratio**2)
    heave = heave_damper_slopes(vector, side)
    return Axles(corner.front + 0.5 * heave.front, corner.rear + 0.5 * heave.rear)
