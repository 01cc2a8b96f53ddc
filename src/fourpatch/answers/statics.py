"""A car at rest."""

from typing import ClassVar

from fourpatch.analysis.modes import CarModes
from fourpatch.analysis.quantity import ANGLE_GRADIENT, Axles
from fourpatch.analysis.statics import Statics
from fourpatch.answers.answer import Answer
from fourpatch.answers.findings_tables import findings_tables
from fourpatch.answers.question import Asked, Found, Question
from fourpatch.picture.blocks import Block, means

BRIEF = ("weights", "ride", "low_speed_damping", "roll")
"""The parts that a first answer shows."""


class AtRest(Question):
    """Loads, rates, frequencies, damping, roll, load transfer and steady handling of CAR at rest."""

    command: ClassVar[str] = "analyse statics"
    question: ClassVar[str] = "What is the car at rest?"
    finds: ClassVar[dict[str, Found]] = {"statics": Statics}

    def answer(self, asked: Asked) -> Answer:
        """Compute it."""
        car = asked.car
        found = car.statics()
        return Answer(
            title=f"{car.named} at rest",
            about={**car.content(), "mode": "at rest"},
            found={"statics": found},
            blocks=statics_blocks(found, car.modes()),
        )


def statics_blocks(found: Statics, modes: CarModes, *, brief: bool = False) -> list[Block]:
    """Return a car at rest: all parts, or those of a first answer.

    Parameters
    ----------
    modes : of the same car at rest.
    """
    return [*findings_tables(found, BRIEF if brief else ()), means(statics_meaning(found, modes))]


def statics_meaning(found: Statics, modes: CarModes) -> str:
    """Say how front and rear compare in frequency, damping, roll stiffness and steady load transfer."""
    ride, damping = found.ride.ride_frequency, found.low_speed_damping.mean_ratio
    weight, transfer = found.weights.axle_share.front, found.cornering.front_share
    stop, steer = found.travel.to_bump_stop, found.handling.understeer_gradient / ANGLE_GRADIENT.scale
    return " ".join(
        (
            f"{_quicker(ride)} Slow damper movement, mean of bump and rebound, is damped at "
            f"{100.0 * damping.front:.0f} % of critical in front and {100.0 * damping.rear:.0f} % at the "
            f"rear, on rigid tyres; {_on_tyres(modes)}.",
            f"The front carries {100.0 * weight:.1f} % of the weight, {100.0 * found.roll.front_share:.1f} % "
            "of the "
            f"roll stiffness and, set in a corner, {100.0 * transfer:.1f} % of the lateral load transfer.",
            f"The body rolls {found.roll.gradient / ANGLE_GRADIENT.scale:.2f} deg per g; the wheels have "
            f"{1e3 * stop.front:.0f} mm in front and {1e3 * stop.rear:.0f} mm at the rear to their bump "
            "stops.",
            f"In gentle cornering, tyres far from their peak, it {'under' if steer >= 0.0 else 'over'}steers "
            "by "
            f"{abs(steer):.2f} deg per g.",
        )
    )


BODY_MOTIONS = ("heave", "pitch", "roll")


def _on_tyres(modes: CarModes) -> str:
    """Say how the body's motions are damped on its tyres, which spring in series and hardly damp."""
    named = [mode for mode in modes.low_speed if mode.name in BODY_MOTIONS]
    ratios = [100.0 * mode.damping_ratio for mode in named if mode.damping_ratio is not None]
    if len(ratios) < len(BODY_MOTIONS):
        return "on its tyres one of heave, pitch and roll grows instead of dying away"
    low, high = min(ratios), max(ratios)
    said = f"{low:.0f}" if round(low) == round(high) else f"{low:.0f} to {high:.0f}"
    return f"on its tyres the body's heave, pitch and roll are damped at {said} %"


def _quicker(frequency: Axles) -> str:
    apart = 100.0 * (frequency.rear / frequency.front - 1.0)
    who = (
        "as fast as the front"
        if abs(apart) < 0.5
        else f"{abs(apart):.0f} % {'faster' if apart > 0.0 else 'slower'}"
    )
    front, rear = frequency
    return f"On its springs the front swings at {front:.2f} Hz, the rear at {rear:.2f} Hz: {who}."
