"""What a car does in steady turns of growing lateral acceleration, and the values that characterise it."""

from math import sqrt
from typing import TYPE_CHECKING, Annotated

import numpy as np
from numpy.typing import NDArray

from fourpatch.analysis.axle_use import axle_use
from fourpatch.analysis.quantity import ACCELERATION, ANGLE_GRADIENT, SHARE, SPEED, Axles, Findings
from fourpatch.events.steady_circle import Ended, SteadyTurns
from fourpatch.physics.layout import CORNER_BASE, N_CORNER, C, O, P, X, Y

if TYPE_CHECKING:
    import xarray as xr  # half a second to load, of which the app's first page needs nothing

Array = NDArray[np.float64]

AXLES = ["front", "rear"]

UNITS = {
    "speed": ("m/s", "along the path"),
    "path_curvature": ("1/m", "of the centre of gravity, left positive"),
    "steering_wheel_angle": ("rad", "road-wheel angle times steering ratio"),
    "road_wheel_angle": ("rad", "mean of the front wheels by the steering, left positive"),
    "ackermann_angle": ("rad", "wheelbase times path curvature"),
    "sideslip": ("rad", "of the centre of gravity, ISO 8855"),
    "roll": ("rad", "left side up positive"),
    "axle_slip_angle": ("rad", "mean of the axle's two tyres, ISO 8855"),
    "slip_angle_gradient": (
        "rad*s**2/m",
        "growth of the axle's slip angle per lateral acceleration; without end where the axle gives up",
    ),
    "use": ("1", "force the axle delivers over the most it can deliver"),
    "throttle": ("1", "that holds the speed, 0 closed to 1 open"),
    "understeer_gradient": (
        "rad*s**2/m",
        "change of road-wheel angle less Ackermann angle per lateral acceleration; negative is oversteer",
    ),
    "sideslip_gradient": (
        "rad*s**2/m",
        "change of sideslip angle per lateral acceleration, less that of the rear axle's distance times "
        "path curvature",
    ),
    "roll_gradient": ("rad*s**2/m", "change of roll angle per lateral acceleration"),
    "stability_reserve": (
        "1/s",
        "largest real part of the eigenvalues, steer, throttle and forward speed held; positive is unstable",
    ),
}
"""Unit and meaning of each number of a steady turn."""


class SteadyCorneringValues(Findings):
    """Characteristic values of a steady circle; gradients at its smallest lateral acceleration."""

    understeer_gradient: Annotated[float, ANGLE_GRADIENT]
    """Change of road-wheel angle less Ackermann angle per lateral acceleration; negative is oversteer."""
    steering_wheel_understeer_gradient: Annotated[float, ANGLE_GRADIENT]
    """The same at the steering wheel."""
    sideslip_gradient: Annotated[float, ANGLE_GRADIENT]
    """Change of sideslip angle per lateral acceleration, as on a constant radius."""
    roll_gradient: Annotated[float, ANGLE_GRADIENT]
    """Change of roll angle per lateral acceleration."""
    characteristic_speed: Annotated[float | None, SPEED]
    """Of that understeer gradient; none for an oversteering car."""
    critical_speed: Annotated[float | None, SPEED]
    """Of that understeer gradient; none for an understeering car."""
    largest_lateral_acceleration: Annotated[float, ACCELERATION]
    """Of the last turn."""
    stable_lateral_acceleration: Annotated[float, ACCELERATION]
    """Of the last turn before the first that is unstable; 0 if the first is."""
    use_at_largest: Annotated[Axles, SHARE]
    """Force the axle delivers in the last turn over the most it can deliver."""
    ended_by: str
    """What gives up there: front axle, rear axle, tipping, engine; or request, if nothing does.

    The axle is the one whose slip angle runs away.
    """
    spins_up: str
    """Axle of which one driven wheel spins up there while the other does not: front, rear or none."""


_LIFTED = 0.05  # of its static load, under which a tyre counts as off the road


def steady_cornering(turns: SteadyTurns) -> "xr.Dataset":
    """Return what the car does in each turn.

    Returns
    -------
    Dataset
        Dimensions ``lateral_acceleration`` [m/s^2] and, where it applies, ``axle``; variables and units as
        `UNITS`.

    Notes
    -----
    Slopes are those of the equilibrium itself, not differences of neighbouring turns. On a constant radius
    the Ackermann angle and b / R stay as they are, so that there the gradients are the plain slopes of
    road-wheel and sideslip angle.

    Source: terms of ISO 8855 and ISO 4138, from memory; that b times the curvature is taken from the
    sideslip angle, so that both methods give one gradient, is derived here.
    """
    parameters, outputs = turns.driven.parameters, turns.history.outputs
    tangent = turns.start.states[:, X.slip_angle : X.slip_angle + 4]
    slip_angle = np.arctan(tangent)
    slip_angle_slopes = turns.state_slopes[:, X.slip_angle : X.slip_angle + 4] / (1.0 + tangent**2)
    to_rear = parameters[0, P.cg_to_rear]
    use = axle_use(parameters, outputs).use[0]
    series = {
        "speed": turns.speed,
        "path_curvature": turns.curvature,
        "steering_wheel_angle": turns.start.steer * turns.car.steering.ratio,
        "road_wheel_angle": turns.start.steer,
        "ackermann_angle": turns.car.chassis.wheelbase * turns.curvature,
        "sideslip": turns.sideslip,
        "roll": turns.start.states[:, Y.roll],
        "axle_slip_angle": _axle_means(slip_angle),
        # ISO 8855: a left turn has positive lateral acceleration and negative slip angles.
        "slip_angle_gradient": -_axle_means(slip_angle_slopes),
        "use": use,
        "throttle": turns.start.throttle,
        "understeer_gradient": turns.understeer_gradient,
        "sideslip_gradient": turns.sideslip_slopes - to_rear * turns.curvature_slopes,
        "roll_gradient": turns.state_slopes[:, Y.roll],
        "stability_reserve": turns.stability_reserve(),
    }
    along = "lateral_acceleration"
    import xarray as xr

    return xr.Dataset(
        {
            name: (
                (along, "axle")[: values.ndim],
                values,
                {"units": UNITS[name][0], "long_name": UNITS[name][1]},
            )
            for name, values in series.items()
        },
        coords={along: (along, turns.lateral_acceleration, {"units": "m/s**2"}), "axle": AXLES},
        attrs={"event": turns.event.name, "computed_on": "drive"},
    )


def _axle_means(wheels: Array) -> Array:
    """Means over the two wheels of each axle, (turns, 2)."""
    return np.asarray(0.5 * (wheels[:, [0, 2]] + wheels[:, [1, 3]]))


def steady_cornering_values(turns: SteadyTurns, series: "xr.Dataset") -> SteadyCorneringValues:
    """Return the characteristic values of steady turns.

    Parameters
    ----------
    series : of `steady_cornering`.

    Notes
    -----
    Characteristic speed sqrt(L / K) and critical speed sqrt(-L / K) are those of the linear single-track
    model with this gradient K; what the aero map does to K with speed is not in them.

    Source: terms of ISO 4138 and ISO 8855, from memory.
    """
    gradient, length = float(series.understeer_gradient[0]), turns.car.chassis.wheelbase
    size = np.abs(turns.lateral_acceleration)
    unstable = np.flatnonzero(series.stability_reserve.values > 0.0)
    stable = size if unstable.size == 0 else size[: unstable[0]]
    return SteadyCorneringValues(
        understeer_gradient=gradient,
        steering_wheel_understeer_gradient=gradient * turns.car.steering.ratio,
        sideslip_gradient=float(series.sideslip_gradient[0]),
        roll_gradient=float(series.roll_gradient[0]),
        characteristic_speed=sqrt(length / gradient) if gradient > 0.0 else None,
        critical_speed=sqrt(-length / gradient) if gradient < 0.0 else None,
        largest_lateral_acceleration=float(size[-1]),
        stable_lateral_acceleration=float(stable[-1]) if stable.size else 0.0,
        use_at_largest=Axles(*series.use.values[-1].tolist()),
        ended_by=_what_gives_up(turns, series.slip_angle_gradient.values[-1]),
        spins_up=_spins_up(turns, series.slip_angle_gradient.values[-1]),
    )


def _what_gives_up(turns: SteadyTurns, growth: Array) -> str:
    """Say why there is no turn after the last; ``growth`` of both axles' slip angles there, (2,).

    Notes
    -----
    Where the tyres hold no more, the slope of the steady state against lateral acceleration has no end; the
    axle that is at its limit is the one whose slip angle grows fastest, be its use of what both tyres could
    give above the other's or not: drive, camber and unequal wheels take from it what no single number counts.
    """
    if turns.ended_by is not Ended.GRIP:
        return str(turns.ended_by)
    # The car tips before the second inner tyre is off the road: the first axle holds no more roll moment.
    corners = turns.driven.parameters[0, CORNER_BASE:][: 4 * N_CORNER].reshape(4, N_CORNER)
    static = corners[:, C.tyre_rate] * corners[:, C.tyre_static_deflection]
    inner = [0, 2] if turns.event.side > 0.0 else [1, 3]
    loads = turns.history.outputs[0, -1, O.tyre_load : O.tyre_load + 4]
    if np.all(loads[inner] < _LIFTED * static[inner]):
        return "tipping"
    return "front axle" if growth[0] > growth[1] else "rear axle"


def _spins_up(turns: SteadyTurns, growth: Array) -> str:
    """Name the axle whose wheels' slips part, at the end, faster than either axle's slip angle grows."""
    slopes = turns.state_slopes[-1, X.slip : X.slip + 4]
    parting = np.abs(slopes[[0, 2]] - slopes[[1, 3]])
    if turns.ended_by is not Ended.GRIP or np.max(parting) < np.max(np.abs(growth)):
        return "none"
    return AXLES[int(np.argmax(parting))]
