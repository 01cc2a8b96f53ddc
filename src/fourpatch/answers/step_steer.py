"""The answer to a step of steer."""

from math import degrees, isfinite

from fourpatch.analysis.quantity import ANGLE_GRADIENT
from fourpatch.analysis.step_steer import (
    LateralResponse,
    SideslipResponse,
    StepSteerValues,
    YawResponse,
    step_steer_values,
)
from fourpatch.answers.answer import Said, found_of
from fourpatch.events.drive import DriveRun
from fourpatch.picture.blocks import Table, means
from fourpatch.picture.head import Head


def step_steer_said(run: DriveRun) -> Said:
    """Return gains, times and overshoot of one car."""
    values = step_steer_values(run)[0]
    yaw, lateral = values.yaw_rate, values.lateral_acceleration
    gains = Table(
        heads=[
            Head(text="answer of", right=False),
            Head(text="steady"),
            Head(text="unit", right=False),
            Head(text="per degree\nof road wheel"),
            Head(text="response\ntime", unit="ms"),
            Head(text="peak response\ntime", unit="ms"),
            Head(text="overshoot", unit="%"),
        ],
        rows=[
            _row("yaw rate", yaw, scale=degrees(1.0), unit="deg/s"),
            _row("lateral acceleration", lateral, scale=1.0, unit="m/s²"),
            _row("sideslip angle", values.sideslip, scale=degrees(1.0), unit="deg"),
        ],
    )
    return Said(found_of(values), [gains, means(step_steer_meaning(values))])


_Answering = YawResponse | LateralResponse | SideslipResponse


def _row(name: str, response: _Answering, *, scale: float, unit: str) -> tuple[str, ...]:
    return (
        name,
        f"{response.steady * scale:.2f}",
        unit,
        f"{response.gain * scale / degrees(1.0):.3f}",
        *(
            f"{value:.{digits}f}" if isfinite(value) else "-"
            for value, digits in (
                (1e3 * response.response_time, 0),
                (1e3 * response.peak_response_time, 0),
                (100.0 * response.overshoot, 1),
            )
        ),
    )


def step_steer_meaning(values: StepSteerValues) -> str:
    """Say how quickly the car turns and whether it swings past its steady turn."""
    yaw, lateral = values.yaw_rate, values.lateral_acceleration
    gradient = values.understeer_gradient / ANGLE_GRADIENT.scale
    swing = (
        f"it swings {100.0 * yaw.overshoot:.0f} % past its steady yaw rate before it settles"
        if yaw.overshoot >= 0.005
        else "its yaw rate comes to the steady value without swinging past it"
    )
    steady = (
        f"There it {'understeers' if gradient > 0.0 else 'oversteers'} by {abs(gradient):.2f} deg/g at the "
        "road wheels"
        if isfinite(gradient)
        else "It would not hold that speed there, so it has no understeer gradient"
    )
    return (
        f"the car turns at 90 % of its steady yaw rate {1e3 * yaw.response_time:.0f} ms after the steer and "
        "corners at "
        f"90 % of its steady {abs(lateral.steady):.1f} m/s² after {1e3 * lateral.response_time:.0f} ms; "
        f"{swing}. {steady}; TB value {degrees(values.tb_value):.3f} s deg."
    )
