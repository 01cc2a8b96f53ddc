"""A car settled at each speed."""

from collections.abc import Sequence
from typing import ClassVar

from fourpatch.analysis.quantity import ANGLE_GRADIENT, LENGTH, SHARE, SPEED
from fourpatch.analysis.speed_sweep import AtSpeed, speed_sweep
from fourpatch.answers.answer import Answer
from fourpatch.answers.question import Asked, Found, Question
from fourpatch.picture.blocks import Block, Picture, Table, drawing, means
from fourpatch.picture.head import Head

_ROWS = 13
"""Rows of the table; JSON and figure have every speed."""


class SpeedSweep(Question):
    """Ride heights, downforce, balance, drag and loads of CAR from rest to top speed."""

    command: ClassVar[str] = "analyse speed-sweep"
    question: ClassVar[str] = "What does speed do to ride height, load and balance?"
    finds: ClassVar[dict[str, Found]] = {"sweep": AtSpeed}
    drawn: ClassVar[bool] = True

    def answer(self, asked: Asked) -> Answer:
        """Compute it."""
        car = asked.car
        found = speed_sweep(car.standing)
        source = f"{car.named}; settled at each speed on the rig, straight ahead"
        draw = drawing("speed_sweep.speed_sweep_figure", found, question=self.question, source=source)
        return Answer(
            title=f"{car.named}: settled at each speed, straight ahead (rig)",
            about={**car.content(), "mode": "rig, settled"},
            found={"sweep": found},
            blocks=[*sweep_blocks(found), Picture(draw=draw, says=self.question)],
        )


def sweep_blocks(found: Sequence[AtSpeed]) -> list[Block]:
    """Return the sweep, front and rear side by side."""
    every = max(1, round((len(found) - 1) / (_ROWS - 1)))
    settled = Table(
        heads=[
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
        rows=[_row(at) for at in found[::every]],
    )
    handling = Table(
        heads=[
            Head(text="speed", unit="km/h"),
            Head(text="understeer\ngradient", unit="deg/g"),
            Head(text="yaw\nfrequency", unit="Hz"),
            Head(text="yaw\ndamping", unit="1"),
        ],
        rows=[_handling_row(at) for at in found[::every]],
        title="Gentle cornering at these loads (linear single-track model)",
    )
    return [settled, handling, means(sweep_meaning(found))]


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
