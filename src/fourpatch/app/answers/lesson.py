"""A lesson in motion: its event with its slider anywhere on the scale, beside where the lesson begins."""

from dataclasses import replace
from typing import Any, NamedTuple, cast

import numpy as np

from fourpatch.advice.lessons.hands import (
    DRIVEN,
    HABITS,
    drive_hands,
    driven_measures,
    measured_hands,
    trace_of,
)
from fourpatch.advice.lessons.study import Study, events_of, put_at
from fourpatch.analysis.workout import RigEvent, Trace, workout
from fourpatch.car.setup import apply_setup
from fourpatch.errors import SolveError


class Shown(NamedTuple):
    """A lesson's numbers and its event in motion, at one place of the slider."""

    position: float
    values: dict[str, float]
    """By the measure's dotted name."""
    a: Trace
    """From where steps are counted."""
    b: Trace


class Stage:
    """What a lesson's slider moves; the motions are those of the lesson, so its numbers are too.

    Parameters
    ----------
    study : of a lesson with something to turn.
    """

    def __init__(self, study: Study) -> None:
        assert study.turned is not None
        self._study, self._adjuster = study, study.turned.adjuster
        self._standing = apply_setup(study.car, study.setup)
        self.event = study.effect(study.lesson.plot.shows[0]).measure.event
        if self.event != DRIVEN:
            events = cast("dict[str, RigEvent]", events_of(self._standing, list(study.effects)))
            self._workout = workout(self._standing, events, self._standing)

    def at(self, position: float) -> Shown:
        """Compute it.

        Raises
        ------
        FourpatchError
            If the car does not come through the event there.
        """
        return self._driven(position) if self._adjuster in HABITS else self._on_the_rig(position)

    def _driven(self, position: float) -> Shown:
        name, turned = self._adjuster.name, self._study.turned
        assert turned is not None
        a, b = drive_hands(self._standing, [{name: turned.position}, {name: position}])
        names = [one.name for one in driven_measures()]
        values = dict(zip(names, measured_hands([b])[0].tolist(), strict=True))
        traces = [trace_of(one) for one in (a, b)]
        least = min(one.time.size for one in traces)
        return Shown(position, values, *(_begun(one, least) for one in traces))

    def _on_the_rig(self, position: float) -> Shown:
        study = self._study
        worked = self._workout.measure(apply_setup(study.car, put_at(study.setup, self._adjuster, position)))
        if worked.errors:
            raise SolveError(" ".join(worked.errors.values()))
        values = {
            name: worked.outcomes[effect.measure.event].value(name) for name, effect in study.effects.items()
        }
        a, b = worked.reference[self.event].history, worked.outcomes[self.event].history
        return Shown(position, values, a, b)


def _begun(trace: Trace, instants: int) -> Trace:
    """Return the first instants of a run: two are shown for as long as both drive."""
    every = ((name, getattr(trace, name)) for name in Trace.__slots__)
    cut: dict[str, Any] = {name: one[:instants] for name, one in every if isinstance(one, np.ndarray)}
    return replace(trace, **cut)
