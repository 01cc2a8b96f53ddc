"""Whether a car can follow a prescribed motion at all and, if not, what of the motion to take back."""

from collections.abc import Mapping
from math import degrees, floor, hypot, radians

import numpy as np
from numpy.typing import NDArray

from fourpatch.analysis.axle_use import axle_use
from fourpatch.analysis.phase_balance import phase_window
from fourpatch.analysis.steady_limits import SteadyCar, first_reach
from fourpatch.car.car import Car
from fourpatch.car.pack import mass_properties, pack
from fourpatch.errors import EventError, SolveError
from fourpatch.events.braking import Braking
from fourpatch.events.corner import Corner
from fourpatch.events.files import RigEvent
from fourpatch.events.measured_motion import MeasuredMotion
from fourpatch.events.motion import RigMotion, steady_inputs
from fourpatch.events.run import run_rig, stable_step, stacked
from fourpatch.events.tumbling import refuse_tumbled
from fourpatch.physics.grip import peak_lateral
from fourpatch.physics.integrate import History
from fourpatch.physics.layout import I, O, Y

Array = NDArray[np.float64]

FAR_BEYOND = 1.5
"""Acceleration over what the tyres could give at the most, from which on a motion is refused. [1]"""

LARGEST_ROLL = radians(10.0)
"""Roll or pitch of the body up to which small angles are taken to hold: sin x is x to 0.5 %. [rad]"""

_ASKED_BY: dict[type[Corner] | type[Braking], dict[str, tuple[str, ...]]] = {
    Corner: {
        "deceleration": ("straight", "braking"),
        "speed": ("entry", "mid"),
        "acceleration": ("exit", "straight out"),
    },
    Braking: {"deceleration": ("straight", "brake build-up", "braking", "brake release", "recovery")},
}
"""Which setting of an event asks for the grip of which of its phases."""

_LEAST = {"speed": 3.0, "deceleration": 0.1, "acceleration": 0.1}
"""Where the search for a setting that is within grip begins. [m/s], [m/s^2]"""

_AIM = 0.995
"""Use of grip that is searched for: just short of 1, so that the neighbouring phases are within it too."""

_WORDS = {
    "speed": "slow to about {:.0f} km/h",
    "deceleration": "brake by about {:.1f} m/s²",
    "acceleration": "accelerate by about {:.1f} m/s²",
}


def run_possible(car: Car, event: RigEvent, motion: RigMotion, parameters: Array) -> History:
    """Put cars through an event's motion, as `run_rig`, unless it is far beyond what the first can follow.

    Parameters
    ----------
    car : whose motion it is.
    parameters : (cars, N_PARAMETER), of that car and others in the same motion.

    Raises
    ------
    EventError
        If the acceleration is far beyond grip or the body would roll too far; the text says what is not.
    SolveError
        As `run_rig`.
    """
    if not isinstance(event, Corner | Braking | MeasuredMotion):
        return run_rig(parameters, motion)
    refuse_far_beyond(car, event, motion)
    history = run_rig(parameters, motion, upright=False)
    refuse_overturned(car, event, motion, history)
    return history


def refuse_far_beyond(car: Car, event: Corner | Braking | MeasuredMotion, motion: RigMotion) -> None:
    """Refuse a motion whose acceleration is far beyond what the tyres could give at the most.

    Raises
    ------
    EventError
        With the event's largest settings that are within grip, if it has such settings.

    Notes
    -----
    The most is the sum of the tyres' peak lateral forces under the loads of straight running at the speed
    of the instant, over the mass: load transfer, camber and combined slip only take from it.
    """
    along = motion.inputs[:, I.longitudinal_acceleration]
    across = motion.inputs[:, I.lateral_acceleration]
    worst = int(np.argmax(along**2 + across**2))
    asked, speed = hypot(along[worst], across[worst]), float(motion.inputs[worst, I.speed])
    most = _most_acceleration(car, speed)
    if asked > FAR_BEYOND * most:
        raise EventError(
            f"{motion.name}: asks for {asked:.1f} m/s² at {speed * 3.6:.0f} km/h, and the tyres of "
            f"{car.name} could give {most:.1f} m/s² there at the most: too far for numbers to mean much. "
            f"{_remedy(car, event)}."
        )


def _most_acceleration(car: Car, speed: float) -> float:
    """Peak lateral forces over the mass in straight running. [m/s^2]"""
    steady = SteadyCar(car)
    outputs = steady.settled(steady_inputs(car, speed=speed)).outputs[:, 0]
    loads = np.ascontiguousarray(outputs[:, O.tyre_load : O.tyre_load + 4])
    force = np.empty_like(loads)
    peak_lateral(steady.vector, loads, force)
    return float(force.sum()) / mass_properties(car).total


def refuse_overturned(
    car: Car, event: Corner | Braking | MeasuredMotion, motion: RigMotion, history: History
) -> None:
    """Refuse a run in which the body leans further than the model holds.

    Raises
    ------
    EventError
        With the event's largest settings that are within grip.
    """
    for what, slot in (("roll", Y.roll), ("pitch", Y.pitch)):
        angle = float(np.abs(history.states[:, :, slot]).max())
        if angle > LARGEST_ROLL:
            raise EventError(
                f"{motion.name}: the body of {car.name} would {what} by {degrees(angle):.0f} deg, and the "
                f"model holds for small angles, up to about {degrees(LARGEST_ROLL):.0f} deg. "
                f"{_remedy(car, event)}."
            )
    refuse_tumbled(history, motion)


def _remedy(car: Car, event: Corner | Braking | MeasuredMotion) -> str:
    if isinstance(event, MeasuredMotion):
        return "Check the units and signs of its accelerations, and whether the car is the one that did it"
    said = remedy(most_within_grip(car, event))
    return said[0].upper() + said[1:]


def remedy(settings: Mapping[str, float]) -> str:
    """Return in words what to lower: ``slow to about 82 km/h, brake by about 7.9 m/s²``."""
    said = [_WORDS[name].format(_rounded_down(name, value)) for name, value in settings.items()]
    return ", ".join(said) or "ask for less acceleration"


def _rounded_down(name: str, value: float) -> float:
    """Return a setting in its shown unit, rounded to what is within grip."""
    return floor(value * 3.6) if name == "speed" else floor(10.0 * value) / 10.0


def most_within_grip(car: Car, event: Corner | Braking) -> dict[str, float]:
    """Return the largest values of the settings to lower with which no axle is asked for more than its grip.

    Returns
    -------
    dict
        By setting, SI; empty if the event is within grip as it is.

    Notes
    -----
    One setting is lowered after the other, and all once more: a slower car has less downforce to brake with.
    """
    found: dict[str, float] = {}
    for _ in range(2):
        for name in _ASKED_BY[type(event)]:
            most = _largest(car, event, name)
            if most is not None:
                found[name] = most
                event = event.model_copy(update={name: most})
    return found


def _largest(car: Car, event: Corner | Braking, name: str) -> float | None:
    """Return what to lower a setting to for its phases to be within grip; None if they are, or never are."""

    def use(value: float) -> float:
        return _peak_uses(car, event.model_copy(update={name: value}))[name]

    asked, least = getattr(event, name), _LEAST[name]
    if asked <= least or use(asked) <= 1.0 or use(least) > 1.0:
        return None
    return first_reach(
        _AIM, lambda values: np.array([use(value) for value in values.tolist()]), start=least, end=asked
    )


def _peak_uses(car: Car, event: Corner | Braking) -> dict[str, float]:
    """Return, by setting, the largest use of either axle in its phases; infinite for what cannot be run."""
    asked = _ASKED_BY[type(event)]
    parameters = stacked([pack(car)])
    try:
        motion = event.motion(car, stable_step(parameters))
        use = axle_use(parameters, run_rig(parameters, motion).outputs).use[0].max(axis=1)
    except (EventError, SolveError):
        return dict.fromkeys(asked, float("inf"))
    return {
        name: max(
            float(use[phase_window(motion, phase, use.size)].max())
            for phase in motion.phases
            if phase.name in phases
        )
        for name, phases in asked.items()
    }
