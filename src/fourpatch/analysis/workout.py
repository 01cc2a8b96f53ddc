"""A car's events made ready once, so that a changed set-up is measured in them in a blink.

What a slider moves: one car sets the motions, and every set-up meets the same ones, the reference too.
"""

import os
from collections.abc import Callable, Iterable, Mapping, Sequence
from concurrent.futures import Future, ThreadPoolExecutor
from dataclasses import dataclass, field
from threading import Lock
from typing import TypeVar

import numpy as np
from numpy.typing import NDArray

from fourpatch.analysis.contact_patch_load import contact_patch_numbers
from fourpatch.analysis.event_measures import (
    CORNER_PHASES,
    Measure,
    bump_values,
    bumps_described,
    corner_described,
    corner_values,
)
from fourpatch.analysis.phase_balance import phase_numbers, phase_series
from fourpatch.analysis.standard_events import standard_events
from fourpatch.analysis.within_grip import refuse_far_beyond, refuse_overturned
from fourpatch.car.car import Car
from fourpatch.car.pack import pack
from fourpatch.errors import FourpatchError
from fourpatch.events.bumps import BumpEvent
from fourpatch.events.corner import Corner
from fourpatch.events.motion import RigMotion
from fourpatch.events.phase import Phase
from fourpatch.events.run import run_rig, stable_step, stacked
from fourpatch.events.track_corner import CornerOnLap
from fourpatch.events.trial import CornerTrial, pressed_on, rig_motion
from fourpatch.physics.integrate import History
from fourpatch.physics.layout import CORNER_BASE, N_CORNER, C, I, O, Y

Array = NDArray[np.float64]
Flags = NDArray[np.bool_]
T = TypeVar("T")

RigEvent = CornerTrial | BumpEvent
"""What a car is worked out in: what the rig does and `event_measures` knows."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Trace:
    """One car through one event in time: what a moving picture and charts need, as plain arrays.

    Views of the run; names, units and signs as in `runs.channels.CHANNELS`. Corners are FL, FR, RL, RR.
    """

    time: Array
    """(n,) [s]"""
    speed: Array
    """(n,) [m/s]"""
    path_curvature: Array
    """(n,) left positive. [1/m]"""
    road_height: Array
    """(n, 4) under the wheels. [m]"""
    tyre_load: Array
    """(n, 4) [N]"""
    travel: Array
    """(n, 4) of the wheel from static, bump positive. [m]"""
    wheel_height: Array
    """(n, 4) above its static place. [m]"""
    steer: Array
    """(n, 4) of the wheel, left positive. [rad]"""
    damper_speed: Array
    """(n, 4) at the damper, bump positive. [m/s]"""
    on_bump_stop: Flags
    """(n, 4)"""
    on_droop_stop: Flags
    """(n, 4)"""
    heave: Array
    """(n,) sprung centre of gravity above its static place. [m]"""
    roll: Array
    """(n,) left side up positive. [rad]"""
    pitch: Array
    """(n,) nose down positive. [rad]"""
    front_ride_height: Array
    """(n,) [m]"""
    rear_ride_height: Array
    """(n,) [m]"""
    longitudinal_acceleration: Array
    """(n,) forward positive. [m/s^2]"""
    lateral_acceleration: Array
    """(n,) left positive. [m/s^2]"""
    use: Array | None
    """(n, 2) what front and rear axle use of their grip, in a corner. [1]"""
    phases: tuple[Phase, ...]
    """Parts of the event."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Outcome:
    """What one car did in one event."""

    measures: tuple[Measure, ...]
    """What is measured."""
    values: Array
    """(measures,)"""
    history: Trace
    """In time."""
    numbers: Mapping[str, Array]
    """All that is known of it: of `phase_numbers` or `contact_patch_numbers`, without the cars' dimension."""
    series: Mapping[str, Array]
    """What a corner's numbers are means of, in time, as `phase_series`, (n,) or (n, 2); empty on a road or
    kerb."""

    def value(self, name: str) -> float:
        """Return the value of the measure with this dotted name."""
        return float(self.values[[measure.name for measure in self.measures].index(name)])


@dataclass(frozen=True, slots=True, kw_only=True)
class Worked:
    """What one car did in the events it was put through, by their names and in their order."""

    outcomes: Mapping[str, Outcome]
    """Of the events it came through."""
    reference: Mapping[str, Outcome]
    """Of the reference car in the same events at the same step: to compare like with like."""
    errors: Mapping[str, str]
    """Of the others: what went wrong and what to do."""
    step: float
    """Of the integrator: the reference car's own, or shorter if this car needs it. [s]"""


@dataclass(frozen=True, slots=True, kw_only=True)
class _Ready:
    """An event at one step of the integrator, and what the reference car does in it."""

    event: RigEvent
    motion: RigMotion
    measures: tuple[Measure, ...]
    series: dict[str, Array] | None
    """Of the reference car's phases, in a corner."""
    reference: Outcome


@dataclass(frozen=True, kw_only=True)
class Workout:
    """A car's events, each made ready when it is first asked for; made by `workout`.

    Any number of threads may call `measure` at once.
    """

    car: Car
    """The reference: swings are counted from it."""
    paced_by: Car
    """It sets the motions."""
    events: Mapping[str, RigEvent]
    """By name."""
    step: float
    """Of the integrator, for the reference. [s]"""
    _vector: Array = field(repr=False)
    _ready: dict[tuple[str, float], Future[_Ready | str]] = field(default_factory=dict, repr=False)
    _lock: Lock = field(default_factory=Lock, repr=False)

    @property
    def reference(self) -> Worked:
        """What the reference car does."""
        return self._worked(self._vector, self.events, self.step)

    def measure(self, car: Car, *, only: Sequence[str] | None = None) -> Worked:
        """Put a car through the motions and measure what it does.

        Parameters
        ----------
        car : the reference with another set-up.
        only : names of the events; all by default.

        Returns
        -------
        Worked
            An event in which the car finds no place to rest, rolls over or leaves the range of numbers has
            its text in ``errors``, and so have all events of a car that cannot stand at all.

        Raises
        ------
        KeyError
            If there is no event of a name in ``only``.

        Notes
        -----
        Where the reference sets the motions, the numbers are those of `advice.sensitivity.measured` for this
        car beside it. Events run
        side by side, the longest first, one to a core.
        """
        chosen = self.events if only is None else {name: self.events[name] for name in only}
        try:
            vector = stacked([pack(car)])
        except FourpatchError as error:
            return Worked(outcomes={}, reference={}, errors=dict.fromkeys(chosen, str(error)), step=self.step)
        return self._worked(vector, chosen, min(self.step, stable_step(vector)))

    def _worked(self, vector: Array, chosen: Mapping[str, RigEvent], step: float) -> Worked:
        def outcome(name: str) -> Outcome | str:
            one = self._at(name, step)
            if isinstance(one, str):
                return one
            if vector is self._vector:
                return one.reference
            try:
                return _through(self.car, one.event, one.motion, one.measures, vector, one.series)[0]
            except FourpatchError as error:
                return str(error)

        found = _side_by_side(outcome, chosen)
        return Worked(
            outcomes={name: one for name, one in found.items() if isinstance(one, Outcome)},
            reference={
                name: one.reference for name in chosen if isinstance(one := self._at(name, step), _Ready)
            },
            errors={name: one for name, one in found.items() if isinstance(one, str)},
            step=step,
        )

    def _at(self, name: str, step: float) -> _Ready | str:
        """Return an event at a step, made ready by the first who asks for it; others wait."""
        with self._lock:
            known = self._ready.get((name, step))
            asked = known or self._ready.setdefault((name, step), Future())
        if known is None:
            try:
                asked.set_result(self._made_ready(name, step))
            except BaseException as error:
                asked.set_exception(error)
        return asked.result()

    def _made_ready(self, name: str, step: float) -> _Ready | str:
        """Return an event at a step with what the reference does in it, or why it does not."""
        event = self.events[name]
        try:
            motion = rig_motion(event, self.paced_by, step)
            if isinstance(event, Corner):
                refuse_far_beyond(self.paced_by, event, motion)
                measures = corner_described(name)
            elif isinstance(event, CornerOnLap):  # its lap is within grip by its making
                there = {phase.name for phase in motion.phases}
                measures = corner_described(name, [part for part in CORNER_PHASES if part in there])
            else:
                measures = bumps_described(name)
            reference, series = _through(self.car, event, motion, measures, self._vector, None)
        except FourpatchError as error:
            return str(error)
        return _Ready(event=event, motion=motion, measures=measures, series=series, reference=reference)


def workout(
    reference: Car, events: Mapping[str, RigEvent] | None = None, paced_by: Car | None = None
) -> Workout:
    """Return what puts set-ups of a car through its events.

    Parameters
    ----------
    reference : the car as it stands, that others are compared with.
    events : by name; by default those of `standard_events`.
    paced_by : the same car with the set-up that sets the motions; the reference if left out. With one that
        is always the same, a set-up has the same numbers whatever it is compared with, but for its swings.

    Raises
    ------
    CarError
        If the reference cannot stand.
    EventError, SolveError
        If standard events cannot be found for it. What goes wrong in an event is not raised: it is in the
        ``errors`` of the reference, and of every car.
    """
    vector = stacked([pack(reference)])
    return Workout(
        car=reference,
        paced_by=paced_by or reference,
        events=dict(standard_events(paced_by or reference) if events is None else events),
        step=stable_step(vector),
        _vector=vector,
    )


def _side_by_side(work: Callable[[str], T], names: Iterable[str]) -> dict[str, T]:
    """Do something for each name, one to a core; the kernels inside let go of the interpreter."""
    listed = list(names)
    if len(listed) < 2:
        return {name: work(name) for name in listed}
    with ThreadPoolExecutor(min(len(listed), os.cpu_count() or 1)) as pool:
        return dict(zip(listed, pool.map(work, listed), strict=True))


def _through(
    car: Car,
    event: RigEvent,
    motion: RigMotion,
    measures: tuple[Measure, ...],
    vector: Array,
    first: dict[str, Array] | None,
) -> tuple[Outcome, dict[str, Array] | None]:
    """Put one car through an event; return what it did, and its series in a corner.

    Parameters
    ----------
    car : the reference.
    vector : (1, N_PARAMETER) of the car that is measured.
    first : series of the reference; None for itself.
    """
    vector = pressed_on(event, vector)
    history = run_rig(vector, motion, threads=1, upright=not isinstance(event, Corner))
    series: dict[str, Array] | None = None
    if isinstance(event, Corner):
        refuse_overturned(car, event, motion, history)
    if isinstance(event, Corner | CornerOnLap):
        series = phase_series(vector, history, motion)
        numbers = phase_numbers(series, motion, first=first)
        values = corner_values(numbers, motion)
    else:
        numbers = contact_patch_numbers(vector, history, motion, since=motion.phases[1].start)
        values = bump_values(numbers)
    found = Outcome(
        measures=measures,
        values=values[0],
        history=_trace(vector[0], history, motion, None if series is None else series["use"][0]),
        numbers={name: values[0] for name, values in numbers.items()},
        series={} if series is None else {name: values[0] for name, values in series.items()},
    )
    return found, series


def _trace(vector: Array, history: History, motion: RigMotion, use: Array | None) -> Trace:
    """Return one car's run in time."""
    outputs = history.outputs[0]
    inputs = motion.inputs[:: 2 * motion.store_every][: outputs.shape[0]]
    return trace_in_time(
        vector,
        history.states[0],
        outputs,
        time=np.arange(outputs.shape[0]) * (motion.step * motion.store_every),
        speed=inputs[:, I.speed],
        path_curvature=inputs[:, I.path_curvature],
        road_height=inputs[:, I.road : I.road + 4],
        use=use,
        phases=motion.phases,
    )


def trace_in_time(
    vector: Array,
    states: Array,
    outputs: Array,
    *,
    time: Array,
    speed: Array,
    path_curvature: Array,
    road_height: Array,
    use: Array | None,
    phases: tuple[Phase, ...],
) -> Trace:
    """Return what one car does on the rig or in a drive, in time.

    Parameters
    ----------
    vector : (N_PARAMETER,)
    states, outputs : (n, ...), a row an instant; of a drive's states those of the rig come first.
    time, speed, path_curvature, road_height, use, phases : as those of `Trace`.
    """
    corners = vector[CORNER_BASE : CORNER_BASE + 4 * N_CORNER].reshape(4, N_CORNER)
    travel = outputs[:, O.travel : O.travel + 4]
    return Trace(
        time=time,
        speed=speed,
        path_curvature=path_curvature,
        road_height=road_height,
        tyre_load=outputs[:, O.tyre_load : O.tyre_load + 4],
        travel=travel,
        wheel_height=states[:, Y.wheel : Y.wheel + 4],
        steer=outputs[:, O.steer : O.steer + 4],
        damper_speed=outputs[:, O.damper_speed : O.damper_speed + 4],
        on_bump_stop=travel > corners[:, C.stop_gap],
        on_droop_stop=-travel > corners[:, C.droop_gap],
        heave=states[:, Y.heave],
        roll=states[:, Y.roll],
        pitch=states[:, Y.pitch],
        front_ride_height=outputs[:, O.front_ride_height],
        rear_ride_height=outputs[:, O.rear_ride_height],
        longitudinal_acceleration=outputs[:, O.longitudinal_acceleration],
        lateral_acceleration=outputs[:, O.lateral_acceleration],
        use=use,
        phases=phases,
    )
