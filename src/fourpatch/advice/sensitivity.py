"""What one step of every adjuster does: the first answer."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from fourpatch.analysis.event_measures import Found, Measure, bump_measures, corner_measures
from fourpatch.analysis.standard_events import standard_events
from fourpatch.analysis.step_steer import step_steer_values
from fourpatch.analysis.within_grip import run_possible
from fourpatch.car.adjusters import Adjuster
from fourpatch.car.car import Car
from fourpatch.car.pack import pack
from fourpatch.car.setup import Setup, apply_setup, step
from fourpatch.events.corner import Corner
from fourpatch.events.drive import drive
from fourpatch.events.run import run_rig, stable_step, stacked
from fourpatch.events.step_steer import StepSteer
from fourpatch.events.track_corner import CornerOnLap
from fourpatch.events.trial import Trial, pressed_on, rig_motion
from fourpatch.long_work import Cancelled, Progress, go_on, never, unwatched

Array = NDArray[np.float64]

DIRECTIONS = (-1, 1)

RESPONSE_QUANTITIES = {
    "yaw_rate_gain": ("1/s", "steady yaw rate over steady road-wheel angle"),
    "yaw_response_time": ("s", "from half of the steer to 90 % of the steady yaw rate"),
    "yaw_overshoot": ("1", "peak above steady yaw rate, over the steady one"),
}
"""Of a step of steer, by the drive: unit and meaning."""


@dataclass(frozen=True, kw_only=True)
class EffectTable:
    """What ±1 step of every adjuster changes, beside the values of the set-up as it stands."""

    car: str
    setup: str
    adjusters: tuple[Adjuster, ...]
    measures: tuple[Measure, ...]
    present: Array
    """(measures,) as the set-up stands."""
    effects: Array
    """(adjusters, 2, measures): change for one step down and one step up; not a number at a stop."""
    events: dict[str, Trial]
    """The events behind the numbers, by name."""

    @cached_property
    def names(self) -> list[str]:
        """Dotted names of the measures."""
        return [measure.name for measure in self.measures]

    def index(self, name: str) -> int:
        """Return the place of the measure with this dotted name."""
        return self.names.index(name)

    def largest(self, chosen: Sequence[int]) -> Array:
        """Largest change either way over the chosen measures, (adjusters,)."""
        return np.asarray(np.nanmax(np.abs(self.effects[:, :, list(chosen)]), axis=(1, 2), initial=0.0))

    def order(self, chosen: Sequence[int]) -> list[int]:
        """Adjusters by their largest effect on the chosen measures, largest first."""
        return [int(k) for k in np.argsort(-self.largest(chosen), kind="stable")]

    def balance_measures(self) -> list[int]:
        """Places of the phase balances."""
        return [k for k, measure in enumerate(self.measures) if measure.quantity == "balance"]


def sensitivity(
    car: Car,
    setup: Setup,
    *,
    events: Mapping[str, Trial] | None = None,
    progress: Progress = unwatched,
    cancelled: Cancelled = never,
) -> EffectTable:
    """Compute what one step of every adjuster does in each event.

    Parameters
    ----------
    setup : where to step from.
    events : by name; by default three corners, a rough road and a kerb scaled to the car.
    progress, cancelled : as `long_work`.

    Raises
    ------
    Stopped
        If it is cancelled between two events.

    Notes
    -----
    All set-ups meet the same motion: speeds, accelerations and road are those of the set-up as it
    stands. A change that would need another motion (more grip, so a faster corner) shows as less use
    of the same motion, not as speed.
    """
    base = apply_setup(car, setup)
    cars, places = _stepped_cars(car, setup, base)
    chosen = standard_events(base) if events is None else events
    measures, table = measured(cars, chosen, progress=progress, cancelled=cancelled)
    effects = np.full((len(car.adjusters), len(DIRECTIONS), len(measures)), np.nan)
    for row, (adjuster, direction) in enumerate(places, start=1):
        effects[adjuster, direction] = table[row] - table[0]
    return EffectTable(
        car=car.name,
        setup=setup.name,
        adjusters=tuple(car.adjusters),
        measures=tuple(measures),
        present=table[0],
        effects=effects,
        events=dict(chosen),
    )


def measured(
    cars: Sequence[Car],
    events: Mapping[str, Trial],
    *,
    progress: Progress = unwatched,
    cancelled: Cancelled = never,
) -> tuple[list[Measure], Array]:
    """Put cars through events and return what is measured, and its values, (cars, measures).

    Parameters
    ----------
    cars : the first one sets the motion, and swings are counted from it.
    progress, cancelled : as `long_work`.

    Raises
    ------
    Stopped
        If it is cancelled between two events.

    Notes
    -----
    Corners, roads and kerbs by the rig, a step of steer by the drive.
    """
    level = stacked([pack(one) for one in cars])
    interval = stable_step(level)
    measures: list[Measure] = []
    values: list[Array] = []
    for place, (name, event) in enumerate(events.items()):
        go_on(cancelled, f"{place} of {len(events)} events were run")
        progress(place / len(events), name)
        if isinstance(event, StepSteer):
            found = _response_measures(name, cars, event)
        else:
            motion, vectors = rig_motion(event, cars[0], interval), pressed_on(event, level)
            if isinstance(event, Corner):
                history = run_possible(cars[0], event, motion, vectors)
            else:
                history = run_rig(vectors, motion)
            of_event = corner_measures if isinstance(event, Corner | CornerOnLap) else bump_measures
            found = of_event(name, vectors, history, motion)
        measures += [measure for measure, _ in found]
        values += [value for _, value in found]
    return measures, np.stack(values, axis=1)


def _stepped_cars(car: Car, setup: Setup, base: Car) -> tuple[list[Car], list[tuple[int, int]]]:
    """The car as it stands, then one per possible step; and which adjuster and direction each is."""
    cars, places = [base], []
    for place, adjuster in enumerate(car.adjusters):
        for column, direction in enumerate(DIRECTIONS):
            stepped = step(setup, adjuster, direction)
            if stepped is not None:
                cars.append(apply_setup(car, stepped))
                places.append((place, column))
    return cars, places


def _response_measures(name: str, cars: Sequence[Car], event: StepSteer) -> Found:
    values = step_steer_values(drive(cars, event))
    found = {
        "yaw_rate_gain": [one.yaw_rate.gain for one in values],
        "yaw_response_time": [one.yaw_rate.response_time for one in values],
        "yaw_overshoot": [one.yaw_rate.overshoot for one in values],
    }
    return [
        (
            Measure(event=name, part="", quantity=quantity, axle="", unit=unit, meaning=meaning),
            np.array(found[quantity]),
        )
        for quantity, (unit, meaning) in RESPONSE_QUANTITIES.items()
    ]
