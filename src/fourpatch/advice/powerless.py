"""What adjusters cannot do for a complaint, and what a complaint that the model does not show needs."""

from dataclasses import dataclass

import numpy as np

from fourpatch.advice.cure import Cure
from fourpatch.advice.target import STEP_STEER, Target

FEEBLE = 0.1
"""Share of the wanted change that a group must reach at its stops, each adjuster alone, to count."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Powerless:
    """A group of adjusters none of which can cure a complaint."""

    system: str
    step: float
    """Largest effect of one step, either way, in the complaint's unit."""
    reach: float
    """Largest effect at a stop, one-step effects times the steps left, in the same unit."""
    strongest: str
    """The adjuster of another group that does most for it, per step; empty if none does anything."""
    strongest_step: float


def powerless(answer: Cure, place: int) -> list[Powerless]:
    """Return the groups of adjusters that cannot cure a complaint, by how little they do.

    Parameters
    ----------
    place : of the complaint in the answer.
    """
    target, wanted = answer.targets[place], answer.wanted[place]
    adjusters = answer.table.adjusters
    steps = {k: answer.moved(target, k) for k in range(len(adjusters))}
    best = max(answer.levers, key=lambda lever: lever.per_step[place], default=None)
    found = []
    for system in dict.fromkeys(one.system for one in adjusters):
        of_system = [k for k, one in enumerate(adjusters) if one.system == system]
        step = max(float(np.nanmax(np.abs(steps[k]), initial=0.0)) for k in of_system)
        reach = max(_reach(answer, k, steps[k]) for k in of_system)
        if reach < FEEBLE * wanted:
            found.append(
                Powerless(
                    system=system,
                    step=step,
                    reach=reach,
                    strongest=adjusters[best.adjuster].name if best else "",
                    strongest_step=best.per_step[place] if best else 0.0,
                )
            )
    return sorted(found, key=lambda one: one.reach)


def _reach(answer: Cure, place: int, moved: np.ndarray) -> float:
    """Most that one adjuster can do the right way between here and its stops."""
    one = answer.table.adjusters[place]
    at = answer.setup.position(one)
    left = np.array([(at - one.lowest) / one.step, (one.highest - at) / one.step])
    return float(max(0.0, np.nanmax(np.where(np.isfinite(moved), moved * left, 0.0))))


def doubt(answer: Cure, place: int) -> str:
    """Return what to say when the model does not show a complaint: its number, and what would help."""
    target = answer.targets[place]
    present = answer.present(target)
    behaviour = target.complaint.behaviour
    if target.unit == "points" and not target.shown_by:
        front = "front" if present > 0.0 else "rear"
        seen = (
            f"the number is {present:+.1f} points: here the {front} runs out of grip first"
            if abs(present) > target.hardly
            else f"the number is {present:+.2f} points: neither axle runs out first"
        )
    elif behaviour == "spins the inside wheel":
        seen = "on exit it is not the driven axle that runs out first"
    elif behaviour == "bottoms":
        seen = "no bump stop is touched there"
    elif behaviour == "thrown off kerbs":
        seen = f"the body rises by {1e3 * present:.1f} mm, no more than the kerb itself lifts it"
    else:
        seen = "its number is not beyond neutral"
    said = f"the model does not show this complaint with this car: {seen}. {_help(answer, target)}"
    if behaviour == "locks fronts":
        said += (
            " By the model less braking in front makes the rear lock first, and that spins a car: one step "
            "at a time, "
            "where there is room."
        )
    return said


_HELP = {
    "understeer": "tyre data or one recording of steady cornering (steering, yaw rate, lateral "
    "acceleration), corner weights",
    "locks fronts": "brake pressures front and rear and the four wheel speeds in one hard stop, and corner "
    "weights",
    "spins the inside wheel": "the two driven wheel speeds and the throttle on one exit, and what the "
    "differential is set to",
    "bottoms": "damper travels over the place where it bottoms, and the measured gap to the bump stops",
    "thrown off kerbs": "the kerb's height and shape, the speed over it, and damper travels there",
}
_HELP |= {"oversteer": _HELP["understeer"], "locks rears": _HELP["locks fronts"]}


def _help(answer: Cure, target: Target) -> str:
    known = _HELP.get(target.complaint.behaviour)
    if known is None:
        return "A recording of the place where it happens would tell why."
    speed = (
        ""
        if STEP_STEER in dict(target.events) or answer.course.lap
        else "; so would the speed and radius of the corner in question"
    )
    if target.complaint.behaviour in ("bottoms", "thrown off kerbs"):
        speed = ""
    return f"What would help to know: {known}{speed}. The ranking below still says what moves the number."
