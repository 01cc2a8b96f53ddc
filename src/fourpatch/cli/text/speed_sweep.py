"""A car settled at each speed, in a table and in words."""

from collections.abc import Sequence

from fourpatch.analysis.quantity import ANGLE_GRADIENT, LENGTH, SHARE, SPEED
from fourpatch.analysis.speed_sweep import AtSpeed
from fourpatch.cli.output import Head, write_table, write_text

_ROWS = 13
"""Rows of the table; JSON and figure have every speed."""


def write_sweep(found: Sequence[AtSpeed], *, title: str) -> None:
    """Write the sweep, front and rear side by side."""
    every = max(1, round((len(found) - 1) / (_ROWS - 1)))
    write_table(
        [
            Head(text="speed", unit="km/h"),
            Head(text="front\nheight", unit="mm"),
            Head(text="rear\nheight", unit="mm"),
            Head(text="front\ndownforce", unit="N"),
            Head(text="rear\ndownforce", unit="N"),
            Head(text="balance", unit="% front"),
            Head(text="drag", unit="N"),
            Head(text="front\ntyre load", unit="N"),
            Head(text="rear\ntyre load", unit="N"),
        ],
        [_row(at) for at in found[::every]],
        title=title,
    )
    write_table(
        [
            Head(text="speed", unit="km/h"),
            Head(text="understeer\ngradient", unit="deg/g"),
            Head(text="yaw\nfrequency", unit="Hz"),
            Head(text="yaw\ndamping", unit="1"),
        ],
        [_handling_row(at) for at in found[::every]],
        title="Gentle cornering at these loads (linear single-track model)",
    )
    write_text(f"What this means: {sweep_meaning(found)}")


def _row(at: AtSpeed) -> tuple[str, ...]:
    load = at.tyre_load
    return (
        f"{at.speed / SPEED.scale:.0f}",
        *(f"{height / LENGTH.scale:.1f}" for height in at.ride_height),
        *(f"{force:.0f}" for force in at.downforce),
        "-" if at.aero_balance is None else f"{at.aero_balance / SHARE.scale:.1f}",
        f"{at.drag:.0f}",
        f"{0.5 * (load.FL + load.FR):.0f}",
        f"{0.5 * (load.RL + load.RR):.0f}",
    )


def _handling_row(at: AtSpeed) -> tuple[str, ...]:
    yaw = (at.yaw_frequency, at.yaw_damping_ratio)
    return (
        f"{at.speed / SPEED.scale:.0f}",
        f"{at.understeer_gradient / ANGLE_GRADIENT.scale:+.2f}",
        *("-" if number is None else f"{number:.2f}" for number in yaw),
    )


def sweep_meaning(found: Sequence[AtSpeed]) -> str:
    """Say what top speed does to ride height and to the share of load in front."""
    rest, fastest = found[0], found[-1]
    sunk = [1e3 * (a - b) for a, b in zip(rest.ride_height, fastest.ride_height, strict=True)]
    moved = [
        f"the {axle} {'sinks' if mm >= 0.0 else 'rises'} by {abs(mm):.1f} mm"
        for axle, mm in zip(("front", "rear"), sunk, strict=True)
    ]
    shares = [100.0 * (at.tyre_load.FL + at.tyre_load.FR) / sum(at.tyre_load) for at in (rest, fastest)]
    return (
        f"from rest to {fastest.speed / SPEED.scale:.0f} km/h {' and '.join(moved)}, and the front tyres' "
        "share of the "
        f"load goes from {shares[0]:.1f} % to {shares[1]:.1f} %; in gentle cornering it goes from "
        f"{_steers(rest)} to {_steers(fastest)}."
    )


def _steers(at: AtSpeed) -> str:
    gradient = at.understeer_gradient / ANGLE_GRADIENT.scale
    return f"{abs(gradient):.2f} deg per g of {'under' if gradient >= 0.0 else 'over'}steer"
