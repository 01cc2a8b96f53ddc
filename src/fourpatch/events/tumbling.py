"""When a car turns over, or its body leaves what the model is for: on the rig, in a drive, on a lap."""

from collections.abc import Callable
from dataclasses import dataclass
from math import degrees, radians

import numpy as np
from numpy.typing import NDArray

from fourpatch.errors import SolveError
from fourpatch.events.motion import RigMotion
from fourpatch.physics.integrate import History
from fourpatch.physics.layout import O, Y

Array = NDArray[np.float64]

LARGEST_LEAN = radians(20.0)
"""Roll or pitch of the body beyond which nothing the model says is meant: sin x is x to 2 % there. [rad]"""
ON_TWO_WHEELS = 0.3
"""How long a car may stand on the wheels of one side alone: what a kerb does is over by then. [s]"""
LARGEST_RISE = 1.0
"""How far a body may rise or sink over its road; no suspension and no kerb lets it go so far. [m]"""


@dataclass(frozen=True, slots=True, kw_only=True)
class Tumble:
    """Cars of a run that turned over, or leaned or rose beyond all meaning."""

    row: NDArray[np.intp]
    """(cars,) first stored instant of it; -1 if a car stayed upright."""
    said: tuple[str, ...]
    """Of each car, with a place ``{when}`` for the time; empty if it stayed upright."""

    @property
    def cars(self) -> NDArray[np.intp]:
        """Those that tumbled."""
        return np.flatnonzero(self.row >= 0)

    def refuse(self, name: str, when: Callable[[int], str]) -> None:
        """Refuse the run if a car tumbled.

        Parameters
        ----------
        name : of the event.
        when : says the time of a stored instant.

        Raises
        ------
        SolveError
            For the first car and its first instant.
        """
        if self.cars.size:
            car = int(self.cars[0])
            raise SolveError(f"{name}: {self.said[car].format(when=when(int(self.row[car])))}")


def tumbles(
    history: History, interval: float, *, every: int, steps: NDArray[np.intp] | None = None
) -> Tumble:
    """Find the cars of a run that tumbled, and when.

    Parameters
    ----------
    interval, every : between stored instants, in time [s] and in steps.
    steps : (cars,) after which a car's run does not count any more; all count if left out.

    Notes
    -----
    Who has turned over may lean by any angle afterwards and leave all numbers behind, so that is looked for
    first. Of who leaves the numbers without turning over, `refuse_failed` tells more than a lean would.
    """
    cars, rows = history.states.shape[:2]
    failed = history.failed >= 0
    last = np.full(cars, rows - 1) if steps is None else steps // every
    last = np.where(failed, np.minimum(last, history.failed // every - 1), last)
    row, said = np.full(cars, -1), [""] * cars
    for car in range(cars):
        run = slice(last[car] + 1)
        states, outputs = history.states[car, run], history.outputs[car, run]
        leaning = [] if failed[car] else _leaning(states, outputs)
        for gone, text in (_tipped(outputs, interval), *leaning):
            if gone.any() and row[car] < 0:
                row[car], said[car] = gone.argmax(), text.replace("{car}", str(car + 1))
    return Tumble(row=row, said=tuple(said))


def refuse_tumbled(history: History, motion: RigMotion) -> None:
    """Refuse a run on the rig in which a car tumbles.

    Raises
    ------
    SolveError
        The text says which set-up, how far, where and when.
    """
    interval = motion.step * motion.store_every
    found = tumbles(history, interval, every=motion.store_every)
    found.refuse(motion.name, lambda row: motion.when(row * interval))


def _tipped(outputs: Array, interval: float) -> tuple[NDArray[np.bool_], str]:
    """Return from when on a car goes on on the wheels of one side alone, (instants,), and what to say."""
    long = max(1, round(ON_TWO_WHEELS / interval))
    carried = outputs[:, O.tyre_load : O.tyre_load + 4] > 0.0
    left, right = carried[:, 0::2], carried[:, 1::2]
    tipped = np.asarray(
        (left.all(axis=1) & ~right.any(axis=1)) | (right.all(axis=1) & ~left.any(axis=1)), dtype=np.bool_
    )
    if tipped.size >= long and tipped.any():
        lasting = np.asarray(np.lib.stride_tricks.sliding_window_view(tipped, long).all(axis=1))
    else:
        lasting = np.zeros(0, dtype=np.bool_)
    return lasting, (
        f"from {{when}} on set-up {{car}} stands on the wheels of one side alone for {ON_TWO_WHEELS:g} s: it "
        "turns over. Its centre of gravity is too high for its track in this motion; check both, or ask for "
        "less."
    )


def _leaning(states: Array, outputs: Array) -> list[tuple[NDArray[np.bool_], str]]:
    """Return when a body leans or rises too far, (instants,), of each way, and what to say."""
    height = 0.5 * (outputs[:, O.front_ride_height] + outputs[:, O.rear_ride_height])
    lean = f"{degrees(LARGEST_LEAN):.0f} deg"
    ways = (
        (states[:, Y.roll], "rolls", LARGEST_LEAN, lean),
        (states[:, Y.pitch], "pitches", LARGEST_LEAN, lean),
        (height, "rises or sinks", LARGEST_RISE, f"{LARGEST_RISE:.0f} m"),
    )
    return [
        (
            np.abs(moved - moved[:1]) > most,
            f"at {{when}} the body of set-up {{car}} {what} by more than {limit}, which no car does on its "
            "suspension. A spring, damper or stop is far off for its mass, or the motion is not one for this "
            "car; check them, or ask for less.",
        )
        for moved, what, most, limit in ways
    ]
