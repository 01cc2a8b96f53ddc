"""Steady-state tyre forces: the Magic Formula with load, camber and combined slip.

One tyre is a set of `N_TYRE` coefficients in a flat workspace `S`. Coefficient `T.x` of the set that starts
at slot `base` stands at `S[(base + T.x) * stride + lane]`: a single car has stride 1 and lane 0, the batch
driver runs the same functions over its lanes. Throughout:

Fz : vertical load, a negative one counts as none. [N]
kappa : longitudinal slip, (rolling − forward speed) / |forward speed|, positive in drive. [1]
tan_alpha : tangent of the slip angle, lateral / |forward| speed of the wheel (ISO 8855). [1]
gamma : inclination of the wheel about x, positive when its top leans to the right. [rad]
Fx, Fy : force on the tyre in the wheel's axes, x forward, y left: Fy < 0 for tan_alpha > 0. [N]

A set describes the tyre of a left wheel; that of a right wheel is its mirror image, which turns the signs of
tan_alpha, gamma and Fy.

Notes
-----
Left out: turn slip, which matters in parking; what fades a force out at standstill; moments; everything
transient, which stands in the slips. The scaling of peak friction also scales the vertical shifts; the
book lets them fall more slowly on low friction.

The formula holds near the loads and cambers it was fitted to. Far outside, a load law that would change its
sign is held at the share `_LEAST` of its nominal value, the one of cornering stiffness at that share of its
slope at light load, and camber may at most double a value: forces stay finite and resist slip whatever a
kerb does. In the book's set this begins at 30 kN, seven times the nominal load, and at 12° of inclination.
The polynomials of trig.py cost less than 2e-9 of the load (measured over that set).

Source: H. B. Pacejka, Tyre and Vehicle Dynamics, 2nd ed., Butterworth-Heinemann 2006, equations 4.E1 to
4.E67. From memory; checked against the force table of tests/validation/test_magic_formula.py. Camber
divides peak friction and cornering stiffness, as in that edition (later ones multiply; seen in a public
implementation of the 2nd edition, MagicFormula2004.h by F. Seybold, HLRS, in COVISE). pDx3 is of later
editions (from memory) and given the same form.
"""

import math
from collections.abc import Mapping
from typing import NamedTuple, TypeAlias

import numpy as np
from numpy.typing import NDArray

from fourpatch.physics._compile import inline, kernel, place
from fourpatch.physics.trig import (
    HALF_PI,
    arctangent_positive,
    arctangent_small,
    cosine_small,
    exponential,
    sine_quarter,
)

Workspace: TypeAlias = NDArray[np.float64]


class TyreSlots(NamedTuple):
    """Place of each coefficient in a set; names as in the book, p pure slip, r combined slip."""

    Fz0: int
    """Nominal load. [N]"""
    lambda_mu_x: int
    """Scaling of peak longitudinal friction. [1]"""
    lambda_mu_y: int
    """Scaling of peak lateral friction. [1]"""
    lambda_Kx: int
    """Scaling of longitudinal slip stiffness. [1]"""
    lambda_Ky: int
    """Scaling of cornering stiffness. [1]"""
    pCx1: int
    pDx1: int
    pDx2: int
    pDx3: int
    pEx1: int
    pEx2: int
    pEx3: int
    pEx4: int
    pKx1: int
    pKx2: int
    pKx3: int
    pHx1: int
    pHx2: int
    pVx1: int
    pVx2: int
    rBx1: int
    rBx2: int
    rBx3: int
    rCx1: int
    rEx1: int
    rEx2: int
    rHx1: int
    pCy1: int
    pDy1: int
    pDy2: int
    pDy3: int
    pEy1: int
    pEy2: int
    pEy3: int
    pEy4: int
    pEy5: int
    pKy1: int
    pKy2: int
    pKy3: int
    pKy4: int
    pKy5: int
    pKy6: int
    pKy7: int
    pHy1: int
    pHy2: int
    pVy1: int
    pVy2: int
    pVy3: int
    pVy4: int
    rBy1: int
    rBy2: int
    rBy3: int
    rBy4: int
    rCy1: int
    rEy1: int
    rEy2: int
    rHy1: int
    rHy2: int
    rVy1: int
    rVy2: int
    rVy3: int
    rVy4: int
    rVy5: int
    rVy6: int
    sharpness_x: int
    """1 / longitudinal slip of the largest force at nominal load, upright, at least `_LEAST_SHARPNESS`."""
    sharpness_y: int
    """The same of the tangent of the slip angle. Both are computed, never given."""


N_TYRE = len(TyreSlots._fields)
T = TyreSlots(*range(N_TYRE))

_LEAST = 0.05
_LEAST_DIVISOR = 0.5
_LEAST_LOAD = 1e-3  # N: the load that stiffness is divided by, where there is none
_WIDEST_SLIP = 1.0  # tan 45°: a peak is not sought beyond
_LEAST_SHARPNESS = 5.0  # a set may have no peak, or none that a wheel reaches before it locks
_NO_FORCE = 1e-9  # that the top of a parabola stands out by at the least [N]

# What keeps the kernels within the ranges of physics/trig.py and away from division by 0.
_LIMITS = {
    "Fz0": (1.0, 1e6),
    "lambda_mu_x": (0.01, 100.0),
    "lambda_mu_y": (0.01, 100.0),
    "lambda_Kx": (0.01, 100.0),
    "lambda_Ky": (0.01, 100.0),
    "pCx1": (0.1, 3.0),
    "pCy1": (0.1, 3.0),
    "pKy2": (0.01, math.inf),
    "pKy4": (0.1, 3.0),
    "rCx1": (0.0, 2.0),
    "rCy1": (0.0, 2.0),
    "rVy5": (0.0, 3.0),
}
_NEVER_ZERO = ("pDx1", "pDy1", "pKx1", "pKy1")
_COMPUTED = ("sharpness_x", "sharpness_y")
_ADVICE = {
    "pKy4": "; in sets of before 2006 it has no name, for it was always 2: write pKy4 = 2",
}
_SMALL_PRODUCTS = (("rBx1", "rHx1"), ("rBy1", "rHy1"))


def coefficient_set(given: Mapping[str, float]) -> Workspace:
    """Put named coefficients in slot order, for one tyre.

    Parameters
    ----------
    given : value by name of `TyreSlots`; what is not named is 0, a scaling factor 1. Sharpness is computed.

    Returns
    -------
    array, shape (N_TYRE,)
        The set, with stride 1.

    Raises
    ------
    ValueError
        If names are unknown or values are outside what the kernels can follow; names them all.
    """
    names = [name for name in TyreSlots._fields if name not in _COMPUTED]
    unknown = [name for name in given if name not in names]
    value = {name: given.get(name, 1.0 if name.startswith("lambda_") else 0.0) for name in names}
    faults = [f"{name} is not a coefficient of the Magic Formula used here" for name in unknown]
    faults += [
        f"{name} is {value[name]:g}, outside {low:g} to {high:g}{_ADVICE.get(name, '')}"
        for name, (low, high) in _LIMITS.items()
        if not low <= value[name] <= high
    ]
    faults += [f"{name} is missing or 0" for name in _NEVER_ZERO if value[name] == 0.0]
    faults += [
        f"{B} times {SH} is {value[B] * value[SH]:g}, outside -0.5 to 0.5"
        for B, SH in _SMALL_PRODUCTS
        if abs(value[B] * value[SH]) > 0.5
    ]
    if faults:
        raise ValueError("; ".join(faults))
    whole = np.array([*value.values(), 0.0, 0.0])
    whole[[T.sharpness_x, T.sharpness_y]] = _sharpness(whole)
    return whole


@inline
def _relative_load(S: Workspace, at: int, stride: int, Fz: float) -> float:
    """Load above nominal over nominal, 4.E2."""
    return (Fz - S[place(T.Fz0, at, stride)]) / S[place(T.Fz0, at, stride)]


@inline
def _held(law: float, nominal: float) -> float:
    """Keep a load law on the side of zero of its nominal value."""
    side = math.copysign(1.0, nominal)
    return side * max(side * law, _LEAST * side * nominal)


@inline
def _camber_divisor(coefficient: float, lean: float) -> float:
    return max(1.0 + coefficient * lean * lean, _LEAST_DIVISOR)


@inline
def _friction_x(S: Workspace, at: int, stride: int, dfz: float, lean: float) -> float:
    """Peak longitudinal friction, 4.E13, with the sign of pDx1."""
    pDx1 = S[place(T.pDx1, at, stride)]
    law = _held(pDx1 + S[place(T.pDx2, at, stride)] * dfz, pDx1)
    return law * S[place(T.lambda_mu_x, at, stride)] / _camber_divisor(S[place(T.pDx3, at, stride)], lean)


@inline
def _friction_y(S: Workspace, at: int, stride: int, dfz: float, lean: float) -> float:
    """Peak lateral friction, 4.E23, with the sign of pDy1."""
    pDy1 = S[place(T.pDy1, at, stride)]
    law = _held(pDy1 + S[place(T.pDy2, at, stride)] * dfz, pDy1)
    return law * S[place(T.lambda_mu_y, at, stride)] / _camber_divisor(S[place(T.pDy3, at, stride)], lean)


@inline
def _stiffness_x(S: Workspace, at: int, stride: int, dfz: float) -> float:
    """Longitudinal slip stiffness over load, 4.E15."""
    pKx1 = S[place(T.pKx1, at, stride)]
    law = _held(pKx1 + S[place(T.pKx2, at, stride)] * dfz, pKx1)
    return law * S[place(T.lambda_Kx, at, stride)] * exponential(S[place(T.pKx3, at, stride)] * dfz)


@inline
def _stiffness_y(S: Workspace, at: int, stride: int, Fz: float, lean: float) -> float:
    """Cornering stiffness over load, 4.E25, with the sign of pKy1; finite at zero load."""
    bend = S[place(T.pKy2, at, stride)] + S[place(T.pKy5, at, stride)] * lean * lean
    load = max(Fz, _LEAST_LOAD) / (S[place(T.Fz0, at, stride)] * bend)
    pKy4 = S[place(T.pKy4, at, stride)]
    law = max(_sine(pKy4 * arctangent_positive(load)) / load, _LEAST * pKy4)
    scaled = S[place(T.pKy1, at, stride)] * S[place(T.lambda_Ky, at, stride)]
    return scaled * law / (bend * _camber_divisor(S[place(T.pKy3, at, stride)], lean))


@inline
def peak_friction(
    S: Workspace, base: int, lane: int, stride: int, Fz: float, gamma: float
) -> tuple[float, float]:
    """Peak longitudinal and lateral friction, positive, without the vertical shifts. [1]"""
    at = base * stride + lane
    dfz = _relative_load(S, at, stride, Fz)
    lean = sine_quarter(gamma)
    return abs(_friction_x(S, at, stride, dfz, lean)), abs(_friction_y(S, at, stride, dfz, lean))


@inline
def longitudinal_stiffness(S: Workspace, base: int, lane: int, stride: int, Fz: float) -> float:
    """Longitudinal force per unit of slip about zero force, positive. [N]"""
    at = base * stride + lane
    return max(Fz, 0.0) * abs(_stiffness_x(S, at, stride, _relative_load(S, at, stride, Fz)))


@inline
def cornering_stiffness(S: Workspace, base: int, lane: int, stride: int, Fz: float, gamma: float) -> float:
    """Lateral force per slip angle about zero force, positive. [N/rad]"""
    return max(Fz, 0.0) * abs(_stiffness_y(S, base * stride + lane, stride, Fz, sine_quarter(gamma)))


class _Curve(NamedTuple):
    """One Magic Formula, sine or cosine of C arctan(x − E (x − arctan x)), at one x = B slip."""

    x: float
    C: float
    E: float


@inline
def _bend(curve: _Curve) -> float:
    """Magnitude of x − E (x − arctan x); E above 1 would let the force fall back to zero."""
    size = abs(curve.x)
    return size - min(curve.E, 1.0) * (size - arctangent_positive(size))


@inline
def _sine(angle: float) -> float:
    """Sine for -π/2 <= angle <= 3π/2."""
    return sine_quarter(min(angle, math.pi - angle))


@inline
def _cosine(angle: float) -> float:
    """Cosine for 0 <= angle <= π."""
    return sine_quarter(HALF_PI - angle)


@inline
def _small_cosine_curve(curve: _Curve) -> float:
    """The cosine curve at a small x, such as the shift of a weighting makes where the other slip is 0."""
    bent = curve.x - min(curve.E, 1.0) * (curve.x - arctangent_small(curve.x))
    return cosine_small(curve.C * arctangent_small(bent))


class _PureSlip(NamedTuple):
    """Force over load at one load and camber: mu sin(C arctan(...)) + SV, with x = B (slip + SH)."""

    B: float
    C: float
    mu: float
    E: float
    E_sided: float
    """Part of the curvature that changes its sign with the slip."""
    SH: float
    SV: float


@inline
def _pure_longitudinal(S: Workspace, at: int, stride: int, dfz: float, lean: float) -> _PureSlip:
    """Longitudinal force without slip angle, 4.E9 to 4.E18."""
    C = S[place(T.pCx1, at, stride)]
    mu = _friction_x(S, at, stride, dfz, lean)
    E = S[place(T.pEx1, at, stride)] + dfz * (
        S[place(T.pEx2, at, stride)] + dfz * S[place(T.pEx3, at, stride)]
    )
    return _PureSlip(
        B=_stiffness_x(S, at, stride, dfz) / (C * mu),
        C=C,
        mu=mu,
        E=E,
        E_sided=-E * S[place(T.pEx4, at, stride)],
        SH=S[place(T.pHx1, at, stride)] + S[place(T.pHx2, at, stride)] * dfz,
        SV=S[place(T.lambda_mu_x, at, stride)]
        * (S[place(T.pVx1, at, stride)] + S[place(T.pVx2, at, stride)] * dfz),
    )


@inline
def _pure_lateral(S: Workspace, at: int, stride: int, Fz: float, dfz: float, lean: float) -> _PureSlip:
    """Lateral force without longitudinal slip, 4.E19 to 4.E30."""
    C = S[place(T.pCy1, at, stride)]
    mu = _friction_y(S, at, stride, dfz, lean)
    stiffness = _stiffness_y(S, at, stride, Fz, lean)
    scaling = S[place(T.lambda_mu_y, at, stride)]
    E = S[place(T.pEy1, at, stride)] + S[place(T.pEy2, at, stride)] * dfz
    thrust = lean * (S[place(T.pKy6, at, stride)] + S[place(T.pKy7, at, stride)] * dfz)
    SV_camber = scaling * lean * (S[place(T.pVy3, at, stride)] + S[place(T.pVy4, at, stride)] * dfz)
    SH = S[place(T.pHy1, at, stride)] + S[place(T.pHy2, at, stride)] * dfz
    return _PureSlip(
        B=stiffness / (C * mu),
        C=C,
        mu=mu,
        E=E * (1.0 + S[place(T.pEy5, at, stride)] * lean * lean),
        E_sided=-E * (S[place(T.pEy3, at, stride)] + S[place(T.pEy4, at, stride)] * lean),
        SH=SH + (thrust - SV_camber) / stiffness,
        SV=scaling * (S[place(T.pVy1, at, stride)] + S[place(T.pVy2, at, stride)] * dfz) + SV_camber,
    )


@inline
def _at_slip(pure: _PureSlip, slip: float) -> _Curve:
    shifted = slip + pure.SH
    return _Curve(x=pure.B * shifted, C=pure.C, E=pure.E + pure.E_sided * math.copysign(1.0, shifted))


@inline
def _weighting_x(
    S: Workspace, at: int, stride: int, dfz: float, kappa: float, tan_alpha: float, lean: float
) -> tuple[_Curve, _Curve]:
    """Weighting of the longitudinal force by the slip angle, and its value at none, 4.E51 to 4.E57."""
    fade = S[place(T.rBx2, at, stride)] * kappa
    B = (S[place(T.rBx1, at, stride)] + S[place(T.rBx3, at, stride)] * lean * lean) / math.sqrt(
        1.0 + fade * fade
    )
    C = S[place(T.rCx1, at, stride)]
    E = S[place(T.rEx1, at, stride)] + S[place(T.rEx2, at, stride)] * dfz
    SH = S[place(T.rHx1, at, stride)]
    return _Curve(x=B * (tan_alpha + SH), C=C, E=E), _Curve(x=B * SH, C=C, E=E)


@inline
def _weighting_y(
    S: Workspace, at: int, stride: int, dfz: float, kappa: float, tan_alpha: float, lean: float
) -> tuple[_Curve, _Curve]:
    """Weighting of the lateral force by the longitudinal slip, and its value at none, 4.E59 to 4.E65."""
    fade = S[place(T.rBy2, at, stride)] * (tan_alpha - S[place(T.rBy3, at, stride)])
    B = (S[place(T.rBy1, at, stride)] + S[place(T.rBy4, at, stride)] * lean * lean) / math.sqrt(
        1.0 + fade * fade
    )
    C = S[place(T.rCy1, at, stride)]
    E = S[place(T.rEy1, at, stride)] + S[place(T.rEy2, at, stride)] * dfz
    SH = S[place(T.rHy1, at, stride)] + S[place(T.rHy2, at, stride)] * dfz
    return _Curve(x=B * (kappa + SH), C=C, E=E), _Curve(x=B * SH, C=C, E=E)


@inline
def _induced_share(
    S: Workspace, at: int, stride: int, dfz: float, kappa: float, tan_alpha: float, lean: float
) -> float:
    """Lateral force that longitudinal slip brings by itself, over mu_y Fz, 4.E66 and 4.E67."""
    size = (
        S[place(T.rVy1, at, stride)]
        + S[place(T.rVy2, at, stride)] * dfz
        + S[place(T.rVy3, at, stride)] * lean
    )
    fade = S[place(T.rVy4, at, stride)] * tan_alpha
    x = S[place(T.rVy6, at, stride)] * kappa
    angle = S[place(T.rVy5, at, stride)] * arctangent_positive(abs(x))
    return math.copysign(1.0, x) * _sine(angle) * size / math.sqrt(1.0 + fade * fade)


class FormulaForces(NamedTuple):
    """What the Magic Formula says, combined and of each slip by itself; all 0 without load. [N]"""

    Fx: float
    Fy: float
    Fx_pure: float
    """Without slip angle."""
    Fy_pure: float
    """Without longitudinal slip."""


@inline
def formula_forces(
    S: Workspace, base: int, lane: int, stride: int, Fz: float, kappa: float, tan_alpha: float, gamma: float
) -> FormulaForces:
    """Forces in combined slip, 4.E50 and 4.E58, and in pure slip, 4.E9 and 4.E19.

    Parameters
    ----------
    S, base, lane, stride, Fz, kappa, tan_alpha, gamma : as at the head of the file; |gamma| <= π/2.

    Notes
    -----
    About 600 multiplications and additions, 25 divisions, 3 roots, 75 comparisons and signs. All curves are
    bent, then all are turned: a processor overlaps neighbours that do not wait for each other, and a tyre
    takes a tenth to a fifth less time than with one force after the other.
    """
    at = base * stride + lane
    dfz = _relative_load(S, at, stride, Fz)
    lean = sine_quarter(gamma)
    pure_x = _pure_longitudinal(S, at, stride, dfz, lean)
    pure_y = _pure_lateral(S, at, stride, Fz, dfz, lean)
    weighting_x, unweighted_x = _weighting_x(S, at, stride, dfz, kappa, tan_alpha, lean)
    weighting_y, unweighted_y = _weighting_y(S, at, stride, dfz, kappa, tan_alpha, lean)
    curve_x = _at_slip(pure_x, kappa)
    curve_y = _at_slip(pure_y, tan_alpha)
    wx = _bend(weighting_x)
    wy = _bend(weighting_y)
    x = _bend(curve_x)
    y = _bend(curve_y)
    ux = _small_cosine_curve(unweighted_x)
    uy = _small_cosine_curve(unweighted_y)
    wx = weighting_x.C * arctangent_positive(wx)
    wy = weighting_y.C * arctangent_positive(wy)
    x = curve_x.C * arctangent_positive(x)
    y = curve_y.C * arctangent_positive(y)
    induced = _induced_share(S, at, stride, dfz, kappa, tan_alpha, lean)
    share_x = _cosine(wx) / ux
    share_y = _cosine(wy) / uy
    mu_x = pure_x.mu * math.copysign(1.0, curve_x.x) * _sine(x) + pure_x.SV
    mu_y = pure_y.mu * math.copysign(1.0, curve_y.x) * _sine(y) + pure_y.SV
    load = max(Fz, 0.0)
    return FormulaForces(
        Fx=load * share_x * mu_x,
        Fy=load * (share_y * mu_y + pure_y.mu * induced),
        Fx_pure=load * mu_x,
        Fy_pure=load * mu_y,
    )


@inline
def tyre_forces(
    S: Workspace, base: int, lane: int, stride: int, Fz: float, kappa: float, tan_alpha: float, gamma: float
) -> tuple[float, float]:
    """Longitudinal and lateral force of the formula as it stands, for slips it was fitted to. [N]

    A tyre that may slide or lock: `physics.patch_friction.patch_forces`.
    """
    forces = formula_forces(S, base, lane, stride, Fz, kappa, tan_alpha, gamma)
    return forces.Fx, forces.Fy


@inline
def _pure_force(pure: _PureSlip, Fz: float, slip: float) -> float:
    curve = _at_slip(pure, slip)
    shape = math.copysign(1.0, curve.x) * _sine(curve.C * arctangent_positive(_bend(curve)))
    return max(Fz, 0.0) * (pure.mu * shape + pure.SV)


class _PeakSought(NamedTuple):
    """Where x − E (x − arctan x) is to reach a goal, at a farthest x."""

    E: float
    goal: float
    farthest: float


@inline
def _nearer(sought: _PeakSought, x: float) -> float:
    """Return the x that a step of Newton's method leads to."""
    E = sought.E
    excess = x - E * (x - arctangent_positive(x)) - sought.goal
    return min(x - excess / (1.0 - E + E / (1.0 + x * x)), sought.farthest)


@inline
def _peak_slip(pure: _PureSlip, direction: float) -> float:
    """Slip of the greatest force toward `direction`, where C arctan(x − E (x − arctan x)) is π/2.

    The bend rises with x and curves one way only; from the x at which it would be met without curvature,
    Newton's steps approach from one side and cannot overshoot. Without a peak they end at 45°. Six of them,
    written out: a loop would keep its callers from being vectorised.
    """
    side = direction * math.copysign(1.0, pure.mu)
    E = min(pure.E + pure.E_sided * side * math.copysign(1.0, pure.B), 1.0)
    farthest = abs(pure.B) * (_WIDEST_SLIP + abs(pure.SH))
    goal = math.tan(HALF_PI / pure.C) if pure.C > 1.0 else math.inf
    sought = _PeakSought(E, goal, farthest)
    x = _nearer(sought, _nearer(sought, _nearer(sought, min(goal, farthest))))
    x = _nearer(sought, _nearer(sought, _nearer(sought, x)))
    return max(-_WIDEST_SLIP, min(_WIDEST_SLIP, side * x / pure.B - pure.SH))


@kernel
def _sharpness(S: Workspace) -> tuple[float, float]:
    """1 / slip of the peaks at nominal load, upright, their mean to both sides. [1]"""
    along = _pure_longitudinal(S, 0, 1, 0.0, 0.0)
    across = _pure_lateral(S, 0, 1, S[T.Fz0], 0.0, 0.0)
    width_x = abs(_peak_slip(along, 1.0) - _peak_slip(along, -1.0))
    width_y = abs(_peak_slip(across, 1.0) - _peak_slip(across, -1.0))
    return max(2.0 / width_x, _LEAST_SHARPNESS), max(2.0 / width_y, _LEAST_SHARPNESS)


@inline
def axle_lateral_capacity(
    S: Workspace,
    base_left: int,
    base_right: int,
    lane: int,
    stride: int,
    Fz_left: float,
    Fz_right: float,
    gamma_left: float,
    gamma_right: float,
    steer_left: float,
    steer_right: float,
    direction: float,
) -> float:
    """Greatest lateral force of an axle whose two tyres share one slip angle, in pure lateral slip.

    Parameters
    ----------
    S, base_left, base_right, lane, stride : the two coefficient sets, as at the head of the file; both
        describe left-hand tyres, the right one is mirrored here.
    Fz_left, Fz_right : loads. [N]
    gamma_left, gamma_right : inclinations about x, not mirrored. [rad]
    steer_left, steer_right : angle of each wheel to the axle's own heading (toe, the unequal part of the
        steering), both positive to the left, so toe-in is negative at the left wheel. [rad]
    direction : +1 toward the left (+y), -1 toward the right.

    Returns
    -------
    float
        The greatest sum of both forces toward `direction`. [N]

    Notes
    -----
    Below the slip of its peak a tyre's force rises, beyond it falls, so the greatest sum lies between the
    two peaks. Five sums there and a parabola about the best find it within 0.1 % (tested against a bounded
    search). A set whose force has no peak is followed to 45°. The cosine of `steer` is left out: 0.15 % at
    3°. Written without loops and library calls: callers that ask for many instants are vectorised, a third
    of the time.
    """
    at_left = base_left * stride + lane
    at_right = base_right * stride + lane
    dfz_left = _relative_load(S, at_left, stride, Fz_left)
    dfz_right = _relative_load(S, at_right, stride, Fz_right)
    left = _pure_lateral(S, at_left, stride, Fz_left, dfz_left, sine_quarter(gamma_left))
    right = _pure_lateral(S, at_right, stride, Fz_right, dfz_right, -sine_quarter(gamma_right))
    axle = _PureAxle(left, right, Fz_left, Fz_right, _tangent(steer_left), _tangent(steer_right), direction)
    peak_left = _axle_slip(_peak_slip(left, direction), axle.turn_left)
    peak_right = _axle_slip(-_peak_slip(right, -direction), axle.turn_right)
    step = 0.25 * abs(peak_left - peak_right)
    first = min(peak_left, peak_right)
    before, one, two = _toward(axle, first - step), _toward(axle, first), _toward(axle, first + step)
    three, four = _toward(axle, first + 2.0 * step), _toward(axle, first + 3.0 * step)
    five, after = _toward(axle, first + 4.0 * step), _toward(axle, first + 5.0 * step)
    best = _Sample(first, before, one, two)
    best = _higher(best, _Sample(first + step, one, two, three))
    best = _higher(best, _Sample(first + 2.0 * step, two, three, four))
    best = _higher(best, _Sample(first + 3.0 * step, three, four, five))
    best = _higher(best, _Sample(first + 4.0 * step, four, five, after))
    hollow = 2.0 * best.here - best.before - best.after
    aside = 0.5 * step * (best.after - best.before) / max(hollow, _NO_FORCE)
    top = _toward(axle, best.slip + aside)
    return max(best.here, top) if hollow > 0.0 else best.here


class _PureAxle(NamedTuple):
    """Two tyres in pure lateral slip that share a slip angle."""

    left: _PureSlip
    right: _PureSlip
    Fz_left: float
    Fz_right: float
    turn_left: float
    """Tangent of the wheel's angle to the axle."""
    turn_right: float
    direction: float


class _Sample(NamedTuple):
    """Force of an axle at a slip, and a step before and after it."""

    slip: float
    before: float
    here: float
    after: float


@inline
def _higher(one: _Sample, other: _Sample) -> _Sample:
    return other if other.here > one.here else one


@inline
def _tangent(angle: float) -> float:
    return sine_quarter(angle) / sine_quarter(HALF_PI - abs(angle))


@inline
def _axle_slip(wheel_slip: float, turn: float) -> float:
    """Tangent of the axle's slip angle from the wheel's: the angles add."""
    return (wheel_slip + turn) / (1.0 - wheel_slip * turn)


@inline
def _toward(axle: _PureAxle, axle_slip: float) -> float:
    """Force of both tyres toward the axle's direction. [N]"""
    slip_left = (axle_slip - axle.turn_left) / (1.0 + axle_slip * axle.turn_left)
    slip_right = (axle_slip - axle.turn_right) / (1.0 + axle_slip * axle.turn_right)
    left = _pure_force(axle.left, axle.Fz_left, slip_left)
    return axle.direction * (left - _pure_force(axle.right, axle.Fz_right, -slip_right))
