"""Torques on the four wheels: brakes, engine and differentials."""

from math import sqrt

from fourpatch.physics._compile import inline
from fourpatch.physics.layout import P
from fourpatch.physics.suspension import at
from fourpatch.physics.tyre import Workspace


@inline
def lock_torque(
    S: Workspace, slot: int, lane: int, stride: int, axle_torque: float, spin_difference: float
) -> float:
    """Torque a differential moves from its faster wheel to the slower one. [N m]

    Parameters
    ----------
    slot : first of preload, power share, coast share and viscous rate.
    axle_torque : drive torque into the axle, negative on the overrun. [N m]
    spin_difference : left minus right wheel speed. [rad/s]

    Notes
    -----
    The locking torque, the difference of the two output torques, is at most
    T = preload + share |axle torque|; half of it is moved. Below it the clutch holds with a finite
    stiffness k (torque per speed difference), T k d / sqrt(T^2 + (k d)^2), so that a sticking clutch
    stays solvable. A viscous part is added. All zero: open.
    """
    share = at(S, slot + 1, lane, stride) if axle_torque > 0.0 else at(S, slot + 2, lane, stride)
    capacity = at(S, slot, lane, stride) + share * abs(axle_torque)
    held = at(S, P.lock_stiffness, lane, stride) * spin_difference
    locking = capacity * held / sqrt(capacity * capacity + held * held + 1e-12)
    return 0.5 * (locking + at(S, slot + 3, lane, stride) * spin_difference)


@inline
def brake_torque(S: Workspace, lane: int, stride: int, share: float, spin: float) -> float:
    """Brake torque on one wheel, against its rolling. [N m]

    Notes
    -----
    omega / sqrt(omega^2 + 1) stands for the sign of the wheel speed, so that a stopping wheel comes
    to rest without chatter; below about 1 rad/s (0.3 m/s) the brake therefore fades.
    """
    return at(S, P.brake_torque, lane, stride) * share * 0.5 * spin / sqrt(spin * spin + 1.0)


@inline
def axle_torques(
    S: Workspace, lock: int, lane: int, stride: int, torque: float, spin_left: float, spin_right: float
) -> tuple[float, float]:
    """Drive torque on an axle's left and right wheel after its differential. [N m]"""
    moved = lock_torque(S, lock, lane, stride, torque, spin_left - spin_right)
    return 0.5 * torque - moved, 0.5 * torque + moved
