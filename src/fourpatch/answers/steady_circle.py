"""Steady turns of growing lateral acceleration."""

from math import degrees
from typing import TYPE_CHECKING

import numpy as np

from fourpatch.analysis.quantity import ANGLE_GRADIENT, SPEED
from fourpatch.analysis.steady_cornering import SteadyCorneringValues, steady_cornering_values
from fourpatch.answers.answer import Said
from fourpatch.events.steady_circle import SteadyTurns
from fourpatch.picture.blocks import Table, means
from fourpatch.picture.head import Head

if TYPE_CHECKING:
    import xarray as xr

_ROWS = 14
"""Rows of the table, the last turn included; JSON, history and figure have every turn."""


def circle_said(turns: SteadyTurns, series: "xr.Dataset") -> Said:
    """Return some of the turns, then the characteristic values in words."""
    size = np.abs(series.lateral_acceleration.values)
    wanted = np.linspace(size[0], size[-1], min(_ROWS, size.size))
    chosen = sorted({int(np.argmin(np.abs(size - one))) for one in wanted})
    some = Table(
        heads=[
            Head(text="lateral\naccel.", unit="m/s²"),
            Head(text="speed", unit="km/h"),
            Head(text="steering\nwheel", unit="deg"),
            Head(text="road\nwheel", unit="deg"),
            Head(text="sideslip", unit="deg"),
            Head(text="roll", unit="deg"),
            Head(text="understeer\ngradient", unit="deg/g"),
            Head(text="front\nuse", unit="%"),
            Head(text="rear\nuse", unit="%"),
            Head(text="stability\nreserve", unit="1/s"),
        ],
        rows=[_row(series.isel(lateral_acceleration=k)) for k in chosen],
    )
    values = steady_cornering_values(turns, series)
    return Said({"values": values, "turns": series}, [some, means(circle_meaning(turns, values))])


def _row(turn: "xr.Dataset") -> tuple[str, ...]:
    return (
        f"{float(turn.lateral_acceleration):.2f}",
        f"{float(turn.speed) / SPEED.scale:.1f}",
        f"{degrees(float(turn.steering_wheel_angle)):.1f}",
        *(f"{degrees(float(turn[name])):.2f}" for name in ("road_wheel_angle", "sideslip", "roll")),
        f"{float(turn.understeer_gradient) / ANGLE_GRADIENT.scale:.2f}",
        *(f"{100.0 * value:.0f}" for value in turn.use.values),
        f"{float(turn.stability_reserve):.2f}",
    )


_ENDS = {
    "front axle": "where the front axle has no more grip: it runs wide",
    "rear axle": "where the rear axle has no more grip: it spins",
    "tipping": "where its inner wheels leave the road",
    "engine": "where the engine cannot hold the speed any more",
    "request": "as asked for; more was not tried",
}


def circle_meaning(turns: SteadyTurns, values: SteadyCorneringValues) -> str:
    """Say whether the car under- or oversteers, how it leans and slides, and where it ends."""
    gradient = values.understeer_gradient / ANGLE_GRADIENT.scale
    speed = values.characteristic_speed or values.critical_speed
    named = "characteristic" if gradient > 0.0 else "critical"
    pace = f", {named} speed {speed / SPEED.scale:.0f} km/h" if speed is not None else ""
    lost = values.stable_lateral_acceleration < values.largest_lateral_acceleration
    shaky = (
        f" Above {values.stable_lateral_acceleration:.2f} m/s² it does not stay there with the steering held."
        if lost
        else ""
    )
    spinning = "" if values.spins_up == "none" else f", while its inner {values.spins_up} wheel spins up"
    return (
        f"at {abs(turns.lateral_acceleration[0]):.1f} m/s² the car "
        f"{'understeers' if gradient > 0.0 else 'oversteers'} by {abs(gradient):.2f} deg/g at the road wheels"
        f"{pace}; per g it rolls by {values.roll_gradient / ANGLE_GRADIENT.scale:.2f} deg and its sideslip "
        f"angle changes by {values.sideslip_gradient / ANGLE_GRADIENT.scale:.2f} deg. It corners up to "
        f"{values.largest_lateral_acceleration:.2f} m/s², {_ENDS[values.ended_by]}{spinning}.{shaky}"
    )
