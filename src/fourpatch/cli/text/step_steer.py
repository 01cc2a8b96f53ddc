"""The answer to a step of steer, in a table, in words and for JSON."""

from math import degrees, isfinite
from typing import Any

from fourpatch.analysis.quantity import ANGLE_GRADIENT
from fourpatch.cli.output import write_table, write_text
from fourpatch.document.content import number
from fourpatch.events.drive import DriveRun
from fourpatch.events.step_steer import StepResponse, StepSteerValues, step_steer_values
from fourpatch.picture.blocks import Head


def write_step_steer(run: DriveRun, *, title: str) -> None:
    """Write gains, times and overshoot of one car."""
    values = step_steer_values(run)[0]
    yaw, lateral = values.yaw_rate, values.lateral_acceleration
    write_table(
        [
            Head(text="answer of", right=False),
            Head(text="steady"),
            Head(text="unit", right=False),
            Head(text="per degree\nof road wheel"),
            Head(text="response\ntime", unit="ms"),
            Head(text="peak response\ntime", unit="ms"),
            Head(text="overshoot", unit="%"),
        ],
        [
            _row("yaw rate", yaw, scale=degrees(1.0), unit="deg/s"),
            _row("lateral acceleration", lateral, scale=1.0, unit="m/s²"),
            _row("sideslip angle", values.sideslip, scale=degrees(1.0), unit="deg"),
        ],
        title=title,
    )
    write_text(f"What this means: {step_steer_meaning(values)}")


def _row(name: str, response: StepResponse, *, scale: float, unit: str) -> tuple[str, ...]:
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


def step_steer_content(run: DriveRun) -> dict[str, Any]:
    """Return the characteristic values for JSON."""
    values = step_steer_values(run)[0]
    units = {
        "yaw_rate": ("rad/s", "1/s"),
        "lateral_acceleration": ("m/s**2", "m/s**2/rad"),
        "sideslip": ("rad", "1"),
    }
    answers = {
        name: {
            "steady": number(getattr(values, name).steady, steady),
            "gain": number(getattr(values, name).gain, gain),
            "response_time": number(getattr(values, name).response_time, "s"),
            "peak_response_time": number(getattr(values, name).peak_response_time, "s"),
            "overshoot": number(getattr(values, name).overshoot, "1"),
        }
        for name, (steady, gain) in units.items()
    }
    return {
        **answers,
        "steering_wheel_angle": number(values.steering_wheel_angle, "rad"),
        "understeer_gradient": number(values.understeer_gradient, ANGLE_GRADIENT.si),
        "tb_value": number(values.tb_value, "s*rad"),
    }
