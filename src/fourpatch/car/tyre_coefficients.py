"""From what is known of a tyre to the coefficient set its kernel reads."""

from collections.abc import Mapping
from math import atan, pi, sin, tan

import numpy as np
from numpy.typing import NDArray

from fourpatch.car.parameters import CompactTyre, Tyre
from fourpatch.errors import CarError
from fourpatch.physics.tyre import coefficient_set

_LATERAL_SHAPE = 1.3
_LONGITUDINAL_SHAPE = 1.6
_STIFFEST_LOAD = 1.8  # load of the largest cornering stiffness over nominal load
_THRUST_AT_PEAK = 0.5  # share of camber thrust left where the slip angle is at its peak
_BOOK_PEAK_SLIP_ANGLE = 0.259  # of the published set whose combined-slip weights are taken over
_BOOK_PEAK_SLIP_RATIO = 0.147
_SLIP_SIGNS = (
    ("pKy1", -1.0, "the slip angle", "pKy1, pHy1, pHy2, pEy3, pEy4, rHx1 and rBy3"),
    ("pKx1", 1.0, "the longitudinal slip", "pKx1, pKx2, pHx1, pHx2, pEx4, rHy1, rHy2 and rVy6"),
)


def _curvature(*, shape: float, stiffness: float, friction: float, peak_slip: float, what: str) -> float:
    """Return the factor E that puts the peak of the curve at ``peak_slip``.

    Notes
    -----
    The peak lies where B x - E (B x - atan B x) = tan(pi / (2 C)), with B = K / (C mu).
    E must stay below 1 or the curve has no peak.

    Source: derived here from the Magic Formula.
    """
    x = stiffness * peak_slip / (shape * friction)
    factor = (x - tan(pi / (2.0 * shape))) / (x - atan(x))
    if not -20.0 < factor < 1.0:
        soft = shape * friction / peak_slip
        raise CarError(
            f"tyre.grip: {what} stiffness {stiffness:.3g} per load does not go with a peak friction of "
            f"{friction:.3g} at slip {peak_slip:.3g}; a curve with one peak needs about {0.9 * soft:.3g} to "
            f"{5.0 * soft:.3g}. Check stiffness and peak slip."
        )
    return factor


def compact_coefficients(tyre: CompactTyre) -> dict[str, float]:
    """Return the Magic Formula set of a tyre described by a few values.

    Notes
    -----
    Peak friction falls linearly with load: mu = mu0 (1 - s (Fz - Fz0) / Fz0). Cornering stiffness is
    K0 sin(2 atan(Fz / (1.8 Fz0))), scaled to the given value at Fz0; 1.8 is a choice of ours between
    2.1 of the published 205/60R15 set and harder-working racing tyres. Half of the camber thrust is
    taken to remain at the peak; with it, peak grip is largest at ``best_camber``. Combined-slip weights
    are those of the published set with their slips scaled by the ratio of peak slips.

    Source: form of Pacejka, Tyre and Vehicle Dynamics, 2nd ed. 2006, Table A3.1 (coefficients seen in
    public files quoting it, shared reference values); the mapping is derived here.
    """
    friction, stiffness = tyre.peak_friction, tyre.cornering_stiffness
    friction_x = friction * tyre.longitudinal_to_lateral
    thrust = _THRUST_AT_PEAK * tyre.camber_stiffness
    camber_loss = thrust / (2.0 * friction * tyre.best_camber) if tyre.best_camber > 0.0 else 0.0
    angle_scale = _BOOK_PEAK_SLIP_ANGLE / tan(tyre.peak_slip_angle)
    ratio_scale = _BOOK_PEAK_SLIP_RATIO / tyre.peak_slip_ratio
    return {
        "Fz0": tyre.nominal_load,
        "pCx1": _LONGITUDINAL_SHAPE,
        "pDx1": friction_x,
        "pDx2": -tyre.load_sensitivity * friction_x,
        "pDx3": camber_loss,
        "pEx1": _curvature(
            shape=_LONGITUDINAL_SHAPE,
            stiffness=tyre.slip_stiffness,
            friction=friction_x,
            peak_slip=tyre.peak_slip_ratio,
            what="slip",
        ),
        "pKx1": tyre.slip_stiffness,
        "pCy1": _LATERAL_SHAPE,
        "pDy1": -friction,
        "pDy2": tyre.load_sensitivity * friction,
        "pDy3": camber_loss,
        "pEy1": _curvature(
            shape=_LATERAL_SHAPE,
            stiffness=stiffness,
            friction=friction,
            peak_slip=tan(tyre.peak_slip_angle),
            what="cornering",
        ),
        "pKy1": -stiffness / sin(2.0 * atan(1.0 / _STIFFEST_LOAD)),
        "pKy2": _STIFFEST_LOAD,
        "pKy4": 2.0,
        "pKy6": -tyre.camber_stiffness,
        "pVy3": -thrust,
        "rBx1": 12.35 * angle_scale,
        "rBx2": -10.77 * ratio_scale,
        "rCx1": 1.092,
        "rBy1": 6.461 * ratio_scale,
        "rBy2": 4.196 * angle_scale,
        "rCy1": 1.081,
    }


def tyre_coefficients(tyre: Tyre) -> NDArray[np.float64]:
    """Return the kernel's coefficient set of an axle's tyres at their pressure, temperature and wear.

    Returns
    -------
    array, shape (N_TYRE,)

    Raises
    ------
    CarError
        If a published set misses or misspells a coefficient or counts its slips the other way, or a compact
        tyre has no single peak.

    Notes
    -----
    Peak friction is scaled by (1 - c ((p - p_best) / p_best)^2) (1 - 0.1 ((T - T_best) / w)^2), by
    (1 - loss x worn) and by the road's friction; stiffness by (1 + s_p (p - p_ref) / p_ref)
    (1 + s_T (T - T_best)). Simple laws of ours: the signs are common practice, no published source; the sizes
    are the car's parameters.
    """
    if isinstance(tyre.grip, CompactTyre):
        given = compact_coefficients(tyre.grip)
    else:
        given = {"Fz0": tyre.grip.nominal_load, **tyre.grip.coefficients}
    pressure = (tyre.pressure - tyre.best_pressure) / tyre.best_pressure
    heat = (tyre.temperature - tyre.best_temperature) / tyre.friction_loss_width
    friction = (
        (1.0 - tyre.friction_loss_per_pressure * pressure**2)
        * (1.0 - 0.1 * heat**2)
        * (1.0 - tyre.stint.friction_loss_worn * tyre.worn)
        * tyre.road_friction
    )
    stiffness = (1.0 + tyre.stiffness_per_pressure * (tyre.pressure / tyre.reference_pressure - 1.0)) * (
        1.0 + tyre.stiffness_per_temperature * (tyre.temperature - tyre.best_temperature)
    )
    if friction < 0.2 * tyre.road_friction or stiffness < 0.2:
        raise CarError(
            f"tyre: at {tyre.pressure / 1e5:.2f} bar and {tyre.temperature - 273.15:.0f} degC the laws leave "
            f"{friction:.0%} of the friction and {stiffness:.0%} of the stiffness; they hold near the best "
            "pressure and temperature. Check pressure, temperature and the losses."
        )
    scaled = {
        "lambda_mu_x": friction,
        "lambda_mu_y": friction,
        "lambda_Kx": stiffness,
        "lambda_Ky": stiffness,
    }
    faults = _pulling_along(given)
    try:
        coefficients = coefficient_set({**given, **scaled})
    except ValueError as error:
        faults.insert(0, str(error))
    if faults:
        raise CarError(f"tyre.grip.coefficients: {'; '.join(faults)}")
    return coefficients


def _pulling_along(given: Mapping[str, float]) -> list[str]:
    """Return what is wrong with a set whose forces go with the slip, for it counts a slip the other way.

    Notes
    -----
    The signs of cornering and slip stiffness are those of pKy1 and pKx1, whatever sign pDy1 and pDx1 have.
    To turn a slip round is to turn its stiffness, the shifts along it and the parts that change sign with it.

    Source: derived here from equations 4.E1 to 4.E67.
    """
    faults = []
    for name, sign, slip, turned in _SLIP_SIGNS:
        value = given.get(name, 0.0)
        if value * sign < 0.0:
            should = "below" if sign < 0.0 else "above"
            faults.append(
                f"{name} is {value:g}, and must be {should} 0: the set counts {slip} the other way, and its "
                f"tyres would pull along with their slip. Change the sign of {turned}, and see which way it "
                "counts inclination: here the top to the right is positive"
            )
    return faults
