"""What a car does in steady turns of growing lateral acceleration, and the values that characterise it."""

from math import sqrt
from typing import TYPE_CHECKING, Annotated

import numpy as np
from numpy.typing import NDArray

from fourpatch.analysis.axle_use import axle_use_at
from fourpatch.analysis.quantity import ACCELERATION, ANGLE_GRADIENT, SHARE, SPEED, Axles, Findings
from fourpatch.events.steady_circle import SteadyTurns
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
    """What gives up there: front axle, rear axle, tipping, engine; or request, if nothing does."""


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
    slip_angle = np.arctan(turns.start.states[:, X.slip_angle : X.slip_angle + 4])
    to_rear = parameters[0, P.cg_to_rear]
    found = axle_use_at(parameters, outputs, curvature=turns.curvature, speed=turns.speed)
    series = {
        "speed": turns.speed,
        "path_curvature": turns.curvature,
        "steering_wheel_angle": turns.start.steer * turns.car.steering.ratio,
        "road_wheel_angle": turns.start.steer,
        "ackermann_angle": turns.car.chassis.wheelbase * turns.curvature,
        "sideslip": turns.sideslip,
        "roll": turns.start.states[:, Y.roll],
        "axle_slip_angle": 0.5 * (slip_angle[:, [0, 2]] + slip_angle[:, [1, 3]]),
        "use": found.use[0],
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
        ended_by=_what_gives_up(turns, series.use.values[-1]),
    )


def _what_gives_up(turns: SteadyTurns, use: Array) -> str:
    """Say why there is no turn after the last; ``use`` of both axles there."""
    if turns.ended_by != "grip":
        return turns.ended_by
    # The car tips before the second inner tyre is off the road: the first axle holds no more roll moment.
    corners = turns.driven.parameters[0, CORNER_BASE:][: 4 * N_CORNER].reshape(4, N_CORNER)
    static = corners[:, C.tyre_rate] * corners[:, C.tyre_static_deflection]
    inner = [0, 2] if turns.event.side > 0.0 else [1, 3]
    loads = turns.history.outputs[0, -1, O.tyre_load : O.tyre_load + 4]
    if np.all(loads[inner] < _LIFTED * static[inner]):
        return "tipping"
    return "front axle" if use[0] > use[1] else "rear axle"
