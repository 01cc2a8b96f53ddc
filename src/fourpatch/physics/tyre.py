"""Steady-state tyre forces: the Magic Formula with load, camber and combined slip.

One tyre is a set of `N_TYRE` coefficients in a flat workspace `S`: coefficient `T.x` of the set that
starts at slot `base` stands at `S[(base + T.x) * stride + lane]`. A single car has stride 1 and lane 0;
the batch driver runs the same functions over the lanes. Throughout:

S, base, lane, stride : the workspace and where the set lies in it
Fz : vertical load of the tyre, >= 0; a negative one counts as none. [N]
kappa : longitudinal slip, (rolling speed − forward speed) / |forward speed|, positive in drive. [1]
tan_alpha : tangent of the slip angle, lateral / |forward| speed of the wheel centre, ISO 8855. [1]
gamma : inclination of the wheel about x, positive when its top leans to the right. [rad]
Fx, Fy : forces on the tyre in the wheel's axes (x forward, y left): Fy < 0 for tan_alpha > 0. [N]

Notes
-----
Left out, and what it costs: turn slip (parking only), forces that need the forward speed to fade
out at rest, overturning, rolling and aligning moments, and everything transient, which stands in the
slip states. Peak-friction scaling also scales the vertical shifts (the book's digressive law for low
friction is not used); the two agree at scaling 1.

A load law that would change its sign far outside the loads it was fitted to is held at the share
`_LEAST` of its nominal value, so forces stay finite and resist slip whatever a kerb does. For the
published set of the validation that begins at 30 kN, seven times the nominal load.

Source: H. B. Pacejka, Tyre and Vehicle Dynamics, 2nd ed., Butterworth-Heinemann 2006, equations
4.E1 to 4.E67 without turn slip; equations from memory, checked against the force table of
tests/validation/test_magic_formula.py.
"""

import math
from collections.abc import Mapping
from typing import NamedTuple, TypeAlias

import numpy as np
from numpy.typing import NDArray

from fourpatch.physics._compile import inline, kernel
from fourpatch.physics.trig import (
    arctangent, arctangent_positive, HALF_PI,
    arctangent_unit,
    cosine_within_turn,
    exponential,
    sine_quarter,
    sine_within_turn,
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


N_TYRE = len(TyreSlots._fields)
T = TyreSlots(*range(N_TYRE))

_DIVISORS = ("Fz0", "pCx1", "pDx1", "pCy1", "pDy1", "pKy1", "pKy2")
_LEAST = 0.05
_LEAST_CAMBER_DIVISOR = 0.5
_LEAST_LOAD = 1e-3  # N; stands in for the load where stiffness is divided by it
_STEEPEST = 1.0  # tan 45°: the peak of an axle is not looked for beyond
_PEAK_STEPS = 6
_SAMPLES = 5


def coefficient_set(given: Mapping[str, float]) -> Workspace:
    """Put named coefficients in slot order, for one tyre.

    Parameters
    ----------
    given : value by name of `TyreSlots`; what is not named is 0, a scaling factor 1.

    Returns
    -------
    array, shape (N_TYRE,)
        The set, with stride 1.

    Raises
    ------
    ValueError
        If a name is unknown, or a coefficient that the formula divides by is missing or 0.
    """
    unknown = sorted(set(given) - set(TyreSlots._fields))
    if unknown:
        raise ValueError(f"Unknown tyre coefficients: {', '.join(unknown)}.")
    absent = [name for name in _DIVISORS if given.get(name, 0.0) == 0.0]
    if absent:
        raise ValueError(f"The Magic Formula divides by {', '.join(absent)}: give them, other than 0.")
    return np.array([given.get(name, 1.0 if name.startswith("lambda_") else 0.0) for name in TyreSlots._fields])


@inline
def _curvature(x: float, E: float) -> float:
    """Argument of the outer arctangent: x − E (x − arctan x), with E <= 1."""
    return x - min(E, 1.0) * (x - arctangent(x))


@inline
def _curvature_unit(x: float, E: float) -> float:
    """The same for |x| <= 1."""
    return x - min(E, 1.0) * (x - arctangent_unit(x))


@inline
def _held(law: float, nominal: float) -> float:
    """Keep a load law on the side of zero of its nominal value."""
    side = math.copysign(1.0, nominal)
    return side * max(side * law, _LEAST * side * nominal)


@inline
def _relative_load(S: Workspace, at: int, stride: int, Fz: float) -> float:
    """Load above nominal over nominal, 4.E2."""
    return (Fz - S[at + T.Fz0 * stride]) / S[at + T.Fz0 * stride]


@inline
def _friction_x(S: Workspace, at: int, stride: int, Fz: float, gamma: float) -> float:
    """Peak longitudinal friction, 4.E13, with the sign of pDx1."""
    dfz = _relative_load(S, at, stride, Fz)
    law = (S[at + T.pDx1 * stride] + S[at + T.pDx2 * stride] * dfz) * (
        1.0 - S[at + T.pDx3 * stride] * gamma * gamma
    )
    return _held(law, S[at + T.pDx1 * stride]) * S[at + T.lambda_mu_x * stride]


@inline
def _friction_y(S: Workspace, at: int, stride: int, Fz: float, lean: float) -> float:
    """Peak lateral friction, 4.E23, with the sign of pDy1; `lean` is the sine of the inclination."""
    dfz = _relative_load(S, at, stride, Fz)
    law = (S[at + T.pDy1 * stride] + S[at + T.pDy2 * stride] * dfz) / max(
        1.0 + S[at + T.pDy3 * stride] * lean * lean, _LEAST_CAMBER_DIVISOR
    )
    return _held(law, S[at + T.pDy1 * stride]) * S[at + T.lambda_mu_y * stride]


@inline
def _slip_stiffness_per_load(S: Workspace, at: int, stride: int, Fz: float) -> float:
    """Longitudinal slip stiffness over load, 4.E15."""
    dfz = _relative_load(S, at, stride, Fz)
    law = S[at + T.pKx1 * stride] + S[at + T.pKx2 * stride] * dfz
    growth = exponential(S[at + T.pKx3 * stride] * dfz)
    return _held(law, S[at + T.pKx1 * stride]) * growth * S[at + T.lambda_Kx * stride]


@inline
def _cornering_stiffness_per_load(S: Workspace, at: int, stride: int, Fz: float, lean: float) -> float:
    """Cornering stiffness over load, 4.E25, with the sign of pKy1; finite at zero load."""
    load = max(Fz, _LEAST_LOAD) / S[at + T.Fz0 * stride]
    load_at_peak = S[at + T.pKy2 * stride] + S[at + T.pKy5 * stride] * lean * lean
    shape = S[at + T.pKy4 * stride] * (load/load_at_peak)
    law = shape / (load * max(1.0 + S[at + T.pKy3 * stride] * lean * lean, _LEAST_CAMBER_DIVISOR))
    return S[at + T.pKy1 * stride] * max(law, _LEAST) * S[at + T.lambda_Ky * stride]


class _LateralCurve(NamedTuple):
    """Pure lateral force over load: mu sin(C arctan(...B...)) + SV over tan_alpha + SH."""

    B: float
    C: float
    mu: float
    E_even: float
    E_odd: float
    SH: float
    SV: float


@inline
def _lateral_curve(S: Workspace, at: int, stride: int, Fz: float, gamma: float) -> _LateralCurve:
    """Factors of the pure lateral force, 4.E20 to 4.E30; E = E_even − E_odd sign(tan_alpha + SH)."""
    lean = sine_quarter(gamma)
    dfz = _relative_load(S, at, stride, Fz)
    mu = _friction_y(S, at, stride, Fz, lean)
    stiffness = _cornering_stiffness_per_load(S, at, stride, Fz, lean)
    C = S[at + T.pCy1 * stride]
    E = S[at + T.pEy1 * stride] + S[at + T.pEy2 * stride] * dfz
    scaling = S[at + T.lambda_mu_y * stride]
    SV_camber = scaling * lean * (S[at + T.pVy3 * stride] + S[at + T.pVy4 * stride] * dfz)
    camber_thrust = lean * (S[at + T.pKy6 * stride] + S[at + T.pKy7 * stride] * dfz)
    return _LateralCurve(
        B=stiffness / (C * mu),
        C=C,
        mu=mu,
        E_even=E * (1.0 + S[at + T.pEy5 * stride] * lean * lean),
        E_odd=E * (S[at + T.pEy3 * stride] + S[at + T.pEy4 * stride] * lean),
        SH=S[at + T.pHy1 * stride]
        + S[at + T.pHy2 * stride] * dfz
        + (camber_thrust - SV_camber) / stiffness,
        SV=scaling * (S[at + T.pVy1 * stride] + S[at + T.pVy2 * stride] * dfz) + SV_camber,
    )


@inline
def _bend(x, E):
    X = abs(x)
    return X - min(E, 1.0) * (X - arctangent_positive(X))

@inline
def _longitudinal_curve(
    S: Workspace, at: int, stride: int, Fz: float, kappa: float, gamma: float
) -> tuple[float, float, float, float, float]:
    dfz = _relative_load(S, at, stride, Fz)
    mu = _friction_x(S, at, stride, Fz, gamma)
    C = S[at + T.pCx1 * stride]
    B = _slip_stiffness_per_load(S, at, stride, Fz) / (C * mu)
    slip = kappa + S[at + T.pHx1 * stride] + S[at + T.pHx2 * stride] * dfz
    E = S[at + T.pEx1 * stride] + dfz * (S[at + T.pEx2 * stride] + dfz * S[at + T.pEx3 * stride])
    E_sided = E * (1.0 - S[at + T.pEx4 * stride] * math.copysign(1.0, slip))
    SV = S[at + T.lambda_mu_x * stride] * (S[at + T.pVx1 * stride] + S[at + T.pVx2 * stride] * dfz)
    return B * slip, C, E_sided, mu, SV

@inline
def tyre_forces(
    S: Workspace, base: int, lane: int, stride: int, Fz: float, kappa: float, tan_alpha: float, gamma: float
) -> tuple[float, float]:
    at = base * stride + lane
    lean = sine_quarter(gamma)
    dfz = _relative_load(S, at, stride, Fz)
    fade = S[at + T.rBx2 * stride] * kappa
    Ba = (S[at + T.rBx1 * stride] + S[at + T.rBx3 * stride] * lean * lean) / math.sqrt(1.0 + fade * fade)
    Ea = S[at + T.rEx1 * stride] + S[at + T.rEx2 * stride] * dfz
    fade = S[at + T.rBy2 * stride] * (tan_alpha - S[at + T.rBy3 * stride])
    Bk = (S[at + T.rBy1 * stride] + S[at + T.rBy4 * stride] * lean * lean) / math.sqrt(1.0 + fade * fade)
    Ek = S[at + T.rEy1 * stride] + S[at + T.rEy2 * stride] * dfz
    SHk = S[at + T.rHy1 * stride] + S[at + T.rHy2 * stride] * dfz
    xa = Ba * (tan_alpha + S[at + T.rHx1 * stride])
    xk = Bk * (kappa + SHk)
    xa0 = Ba * S[at + T.rHx1 * stride]
    xk0 = Bk * SHk
    Ca = S[at + T.rCx1 * stride]
    Ck = S[at + T.rCy1 * stride]
    size = (
        S[at + T.rVy1 * stride]
        + S[at + T.rVy2 * stride] * dfz
        + S[at + T.rVy3 * stride] * lean
    )
    fade = S[at + T.rVy4 * stride] * tan_alpha
    fade = 1.0 / math.sqrt(1.0 + fade * fade)

    xv = S[at + T.rVy6 * stride] * kappa
    sv = math.copysign(1.0, xv)
    xa = _bend(xa, Ea)
    xk = _bend(xk, Ek)
    xa0 = _curvature_unit(xa0, Ea)
    xk0 = _curvature_unit(xk0, Ek)
    curve = _lateral_curve(S, at, stride, Fz, gamma)
    xx, Cx, Ex, mux, SVx = _longitudinal_curve(S, at, stride, Fz, kappa, gamma)
    slip = tan_alpha + curve.SH
    xy = curve.B * slip
    Ey = curve.E_even - curve.E_odd * math.copysign(1.0, slip)
    sx = math.copysign(1.0, xx)
    sy = math.copysign(1.0, xy)
    xx = _bend(xx, Ex)
    xy = _bend(xy, Ey)
    xa = Ca * arctangent_positive(xa)
    xk = Ck * arctangent_positive(xk)
    xv = S[at + T.rVy5 * stride] * arctangent_positive(abs(xv))
    xa0 = Ca * arctangent_unit(xa0)
    xk0 = Ck * arctangent_unit(xk0)
    xx = Cx * arctangent_positive(xx)
    xy = curve.C * arctangent_positive(xy)
    xa = sine_quarter(HALF_PI-xa)
    xk = sine_quarter(HALF_PI-xk)
    xa0 = cosine_within_turn(xa0)
    xk0 = cosine_within_turn(xk0)
    xv = sine_quarter(min(xv, math.pi - xv))
    xx = sine_quarter(min(xx, math.pi - xx))
    xy = sine_quarter(min(xy, math.pi - xy))
    load = max(Fz, 0.0)
    Fx = load * (xa / xa0) * (mux * (xx*sx) + SVx)
    Fy = load * ((xk / xk0) * (curve.mu * (xy*sy) + curve.SV) + curve.mu * size * (xv*sv) * fade)
    return Fx, Fy
