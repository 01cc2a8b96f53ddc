"""How much of its grip an axle uses, and how much of it a bumpy road takes away.

Kernels over stored samples of rig or drive: what the tyres could do at each instant's loads, against what
they do.
"""

from math import sqrt
from typing import NamedTuple

import numpy as np

from fourpatch.physics._compile import inline, kernel
from fourpatch.physics.layout import CORNER_BASE, N_CORNER, TYRE_BASE, C, O, P
from fourpatch.physics.patch_friction import patch_forces
from fourpatch.physics.trig import sine_cosine
from fourpatch.physics.tyre import (
    N_TYRE,
    Workspace,
    axle_lateral_capacity,
    cornering_stiffness,
    peak_friction,
)

_HALVINGS = 24
_NOTHING = 1e-6  # force along the wheels that counts as none, or its square may be 0 [N]
_DIFFERENCE = 1e-5  # of the tangent of a slip angle, for the slope


@inline
def _driven_reach(
    force: float, across: float, most: float, weak: float, strong: float, fixed: float, share: float
) -> float:
    """How many times its force a driven axle could give in the same direction. [1]

    Parameters
    ----------
    force, across : along and across the wheels, both positive. [N]
    most : lateral force of both tyres without a longitudinal one. [N]
    weak, strong : longitudinal grip of the tyre that has less and of the other. [N]
    fixed, share : by how much a differential lets the strong one pull more: ``fixed`` [N] and a share of the
        axle's whole force.

    Notes
    -----
    Each tyre keeps within its ellipse, and lateral grip is shared as longitudinal grip is. If the
    differential passes enough over that both reach theirs together, the axle has one ellipse. Else the weak
    tyre has (s F - D) / 2, the strong one (s F + D) / 2, D = fixed + share s F, and the axle gives way where
    what is left across falls short of s F_y, at the latest where the weak tyre spins.
    """
    both = weak + strong
    whole = 1.0 / sqrt((across / most) ** 2 + (force / both) ** 2)
    if fixed + share * whole * force >= whole * force * (strong - weak) / both:
        return whole
    low, high = 0.0, min(whole, (2.0 * weak + fixed) / (force * (1.0 - share)))
    for _ in range(_HALVINGS):
        middle = 0.5 * (low + high)
        passed = min(fixed + share * middle * force, middle * force)
        own, other = 0.5 * (middle * force - passed) / weak, 0.5 * (middle * force + passed) / strong
        left = weak * sqrt(max(1.0 - own * own, 0.0)) + strong * sqrt(max(1.0 - other * other, 0.0))
        enough = left * most >= middle * across * both
        low, high = (middle, high) if enough else (low, middle)
    return low


@inline
def _weak_and_strong(parameters: Workspace, axle: int, row: Workspace) -> tuple[float, float]:
    """Return the longitudinal grip of the tyre of an axle that has less, and of the other. [N]"""
    tyre = TYRE_BASE + axle * N_TYRE
    left, right = row[O.tyre_load + 2 * axle], row[O.tyre_load + 2 * axle + 1]
    lean_left, lean_right = row[O.inclination + 2 * axle], row[O.inclination + 2 * axle + 1]
    grip_left = left * peak_friction(parameters, tyre, 0, 1, left, lean_left)[0]
    grip_right = right * peak_friction(parameters, tyre, 0, 1, right, -lean_right)[0]
    return min(grip_left, grip_right), max(grip_left, grip_right)


class _Asked(NamedTuple):
    """Of an axle at an instant: what its capacity hangs on, that capacity, and what it gives."""

    load_left: int
    load_right: int
    lean_left: int
    lean_right: int
    turned_left: int
    """By what the left wheel is steered beyond the mean of both. [rad]"""
    direction: int
    capacity: int
    """Greatest lateral force toward that side. [N]"""
    aside: int
    """Force of both tyres across their wheels. [N]"""
    ahead: int
    """Along them. [N]"""


_N_ASKED = len(_Asked._fields)
A = _Asked(*range(_N_ASKED))


@inline
def _ask(asked: Workspace, n: int, axle: int, row: Workspace) -> None:
    """Write what is asked of an axle at an instant, whose outputs are ``row``."""
    left, right = 2 * axle, 2 * axle + 1
    aside, ahead = 0.0, 0.0
    for corner in range(left, right + 1):
        sine, cosine = sine_cosine(row[O.steer + corner])
        x, y = row[O.longitudinal_force + corner], row[O.lateral_force + corner]
        aside += y * cosine - x * sine
        ahead += x * cosine + y * sine
    asked[A.load_left, n], asked[A.load_right, n] = row[O.tyre_load + left], row[O.tyre_load + right]
    asked[A.lean_left, n], asked[A.lean_right, n] = row[O.inclination + left], row[O.inclination + right]
    asked[A.turned_left, n] = 0.5 * (row[O.steer + left] - row[O.steer + right])
    asked[A.direction, n] = 1.0 if aside > 0.0 else -1.0
    asked[A.aside, n], asked[A.ahead, n] = aside, ahead


@inline
def _bare(p: Workspace, corner: int) -> float:
    """A hundredth of the static load of a corner whose block begins there. [N]"""
    return 0.01 * p[corner + C.tyre_rate] * p[corner + C.tyre_static_deflection]


@kernel
def axle_use(
    parameters: Workspace,
    outputs: Workspace,
    use: Workspace,
    lateral: Workspace,
    longitudinal: Workspace,
    across: Workspace,
    along: Workspace,
) -> None:
    """Fill what each axle gives, could give, and uses of it, at every stored instant.

    Parameters
    ----------
    parameters : (cars, N_PARAMETER)
    outputs : (cars, samples, N_OUTPUT) of rig or drive.
    use : (cars, samples, 2), filled: force over the most the axle could give in that direction.
    lateral, longitudinal : (cars, samples, 2), filled: most lateral and longitudinal force. [N]
    across, along : (cars, samples, 2), filled: force of both tyres across and along their wheels. [N]

    Notes
    -----
    U = sqrt((F_y / F_y,max)^2 + (F_x / F_x,max)^2): along a friction ellipse this is the force over the most
    available in its own direction. F_y,max is that of both tyres at one slip angle, with toe, camber and the
    loads of the instant; F_x,max is the friction of both. A driven axle whose differential cannot bring both
    tyres to their limit together gives way before (`_driven_reach`); its F_x,max is what it pulls straight
    ahead. An axle that carries under a hundredth of its static load counts as carrying that, so that U stays
    a number.
    """
    samples = outputs.shape[1]
    asked = np.empty((_N_ASKED, samples))
    for car in range(parameters.shape[0]):
        p = parameters[car]
        for axle in range(2):
            for n in range(samples):
                _ask(asked, n, axle, outputs[car, n])
            tyre = TYRE_BASE + axle * N_TYRE
            # A loop of its own over rows of numbers side by side: the compiler makes lanes of it.
            for n in range(samples):
                asked[A.capacity, n] = axle_lateral_capacity(
                    p,
                    tyre,
                    tyre,
                    0,
                    1,
                    asked[A.load_left, n],
                    asked[A.load_right, n],
                    asked[A.lean_left, n],
                    asked[A.lean_right, n],
                    asked[A.turned_left, n],
                    -asked[A.turned_left, n],
                    asked[A.direction, n],
                )
            c = CORNER_BASE + 2 * axle * N_CORNER
            least = _bare(p, c) + _bare(p, c + N_CORNER)
            lock = P.front_lock_preload + 4 * axle
            fixed, share = p[lock] / p[c + C.tyre_radius], min(p[lock + 1], 0.999)
            for n in range(samples):
                aside, ahead = asked[A.aside, n], asked[A.ahead, n]
                most = max(asked[A.capacity, n], least)
                weak, strong = _weak_and_strong(p, axle, outputs[car, n])
                pull = max(weak + strong, least)
                if ahead > _NOTHING:
                    lifted = 0.5 * least
                    reach = _driven_reach(
                        ahead, abs(aside), most, max(weak, lifted), max(strong, lifted), fixed, share
                    )
                    use[car, n, axle] = 1.0 / reach
                    pull = min(pull, max((2.0 * weak + fixed) / (1.0 - share), least))
                else:
                    use[car, n, axle] = sqrt((aside / most) ** 2 + (ahead / pull) ** 2)
                across[car, n, axle] = aside
                along[car, n, axle] = ahead
                lateral[car, n, axle] = most
                longitudinal[car, n, axle] = pull


@kernel
def axle_slopes(parameters: Workspace, outputs: Workspace, slope: Workspace) -> None:
    """Fill how an axle's lateral force changes with its slip angle.

    Parameters
    ----------
    parameters : (cars, N_PARAMETER)
    outputs : (cars, samples, N_OUTPUT) of the rig.
    slope : (cars, samples, 2), filled: change of lateral force with the tangent of the slip angle, negative
        below the peak. [N]
    """
    for car in range(parameters.shape[0]):
        p = parameters[car]
        for n in range(outputs.shape[1]):
            row = outputs[car, n]
            for axle in range(2):
                more = 0.0
                for corner in range(2 * axle, 2 * axle + 2):
                    here = _across_at(p, axle, corner, row, 0.0)
                    more += (_across_at(p, axle, corner, row, _DIFFERENCE) - here) / _DIFFERENCE
                slope[car, n, axle] = more


@inline
def _across_at(p: Workspace, axle: int, corner: int, row: Workspace, aside: float) -> float:
    """Force of a tyre across its wheel at its slips, the tangent moved ``aside``. [N]"""
    side = 1.0 - 2.0 * (corner % 2)
    across = patch_forces(
        p,
        TYRE_BASE + axle * N_TYRE,
        0,
        1,
        row[O.tyre_load + corner],
        row[O.slip + corner],
        side * (row[O.slip_angle + corner] + aside),
        side * row[O.inclination + corner],
    )[1]
    return side * across


@inline
def available_lateral(parameters: Workspace, tyre: int, load: float, lean: float) -> float:
    """Peak lateral force of one tyre. [N]"""
    return load * peak_friction(parameters, tyre, 0, 1, load, lean)[1]


@kernel
def lagged_grip(
    parameters: Workspace, outputs: Workspace, speed: Workspace, interval: float, grip: Workspace
) -> None:
    """Fill the lateral force each tyre can deliver while its load varies, relaxation included. [N]

    Parameters
    ----------
    parameters : (cars, N_PARAMETER)
    outputs : (cars, samples, N_OUTPUT)
    speed : (samples,) [m/s]
    interval : between samples. [s]
    grip : (cars, samples, 4), filled.

    Notes
    -----
    A tyre held at its peak slip angle delivers f' = (v / sigma) (F_peak(F_z) - f), never more than
    F_peak(F_z): force needs rolling distance to build and none to be lost. The relaxation length
    grows with load as cornering stiffness does, sigma = sigma_static K(F_z) / K(F_z,static), at least
    a twentieth of it. Implicit Euler steps between samples.

    Source: sigma in proportion to cornering stiffness as in Pacejka, Tyre and Vehicle Dynamics, 2nd
    ed. 2006, chapter 7 (from memory); the one-sided limit is derived here from F_y <= mu F_z.
    """
    for car in range(parameters.shape[0]):
        p = parameters[car]
        for corner in range(4):
            c = CORNER_BASE + corner * N_CORNER
            tyre = TYRE_BASE + (corner // 2) * N_TYRE
            static = p[c + C.tyre_rate] * p[c + C.tyre_static_deflection]
            stiffness = cornering_stiffness(p, tyre, 0, 1, static, 0.0)
            first = outputs[car, 0, O.tyre_load + corner]
            force = available_lateral(p, tyre, first, 0.0)
            for n in range(outputs.shape[1]):
                load = outputs[car, n, O.tyre_load + corner]
                peak = available_lateral(p, tyre, load, 0.0)
                length = p[c + C.relaxation_y] * max(
                    cornering_stiffness(p, tyre, 0, 1, load, 0.0) / stiffness, 0.05
                )
                decay = 1.0 / (1.0 + speed[n] * interval / length)
                force = min(peak, peak + (force - peak) * decay)
                grip[car, n, corner] = force


@kernel
def peak_lateral(parameters: Workspace, loads: Workspace, force: Workspace) -> None:
    """Fill the peak lateral force of upright tyres under given loads; both (cars, 4). [N]"""
    for car in range(loads.shape[0]):
        for corner in range(4):
            tyre = TYRE_BASE + (corner // 2) * N_TYRE
            force[car, corner] = available_lateral(parameters[car], tyre, loads[car, corner], 0.0)
