"""Torques on the four wheels: brakes, engine and differentials.

A brake and a differential's clutch are friction pairs: below its capacity a pair carries whatever torque
keeps it from slipping, beyond it slips at its capacity. What keeps it from slipping is known from the other
torques on the wheel, so a pair can truly hold, at rest as well as rolling, and a creep that is left dies out
at the rate ``lock_stiffness`` / spin inertia (2 ms), which a step of 1 ms follows.
"""

from fourpatch.physics._compile import inline
from fourpatch.physics.layout import P
from fourpatch.physics.suspension import at
from fourpatch.physics.tyre import Workspace


@inline
def friction_torque(holding: float, capacity: float) -> float:
    """Torque of a friction pair that ``holding`` would keep from slipping. [N m]"""
    return max(-capacity, min(capacity, holding))


@inline
def lock_torque(
    S: Workspace,
    slot: int,
    lane: int,
    stride: int,
    axle_torque: float,
    spin_difference: float,
    tyre_difference: float,
) -> float:
    """Torque a differential moves from its faster wheel to the slower one. [N m]

    Parameters
    ----------
    slot : first of preload, power share, coast share and viscous rate.
    axle_torque : drive torque into the axle, negative on the overrun. [N m]
    spin_difference : left minus right wheel speed d. [rad/s]
    tyre_difference : left minus right moment of the tyre's force about the wheel's axis. [N m]

    Notes
    -----
    The locking torque is the difference of the two output torques, half of it is moved. With n the
    viscous rate and M the tyres' difference, I d' = -L - n d - M; L = k d - n d - M makes d' = -(k / I) d,
    and L is at most preload + share |axle torque|. All zero: open. Brake torques, alike on both sides
    unless one wheel stands, are left out of M.

    Source: derived here.
    """
    power = at(S, slot + 1, lane, stride) * max(axle_torque, 0.0)
    coast = at(S, slot + 2, lane, stride) * max(-axle_torque, 0.0)
    capacity = at(S, slot, lane, stride) + power + coast
    viscous = at(S, slot + 3, lane, stride) * spin_difference
    holding = at(S, P.lock_stiffness, lane, stride) * spin_difference - viscous - tyre_difference
    return 0.5 * (friction_torque(holding, capacity) + viscous)


@inline
def brake_torque(S: Workspace, lane: int, stride: int, share: float, spin: float, other: float) -> float:
    """Brake torque on one wheel, positive against forward rolling. [N m]

    Parameters
    ----------
    share : of the full pedal's torque of the whole car on this wheel.
    other : torque of driveline and tyre on the wheel. [N m]

    Notes
    -----
    T = k spin + other makes I spin' = -k spin: the wheel stands; T is at most the brake's capacity.
    """
    capacity = at(S, P.brake_torque, lane, stride) * share
    return friction_torque(at(S, P.lock_stiffness, lane, stride) * spin + other, capacity)
