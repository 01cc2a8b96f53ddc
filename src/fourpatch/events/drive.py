"""Cars driven freely through events: open-loop controls, all degrees of freedom, on all cores."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Protocol

import numpy as np
from numpy.typing import NDArray

from fourpatch.car.car import Car
from fourpatch.car.pack import pack
from fourpatch.events.drive_inputs import LEVEL_ROAD, DriveControls, DriveRoad, Engines, engines_of
from fourpatch.events.drive_start import (
    DriveStart,
    engine_table,
    road_table,
    run_block,
    settle_drive,
    stable_drive_step,
)
from fourpatch.events.run import empty_history, part_of, refuse_failed, share_out, stacked
from fourpatch.events.tumbling import tumbles
from fourpatch.physics.full_car import SLOWEST
from fourpatch.physics.integrate import LANES, Clock, Controls, History
from fourpatch.physics.layout import N_DRIVE

Array = NDArray[np.float64]

_FASTER = 1.1  # highest speed of an event over its first, for the choice of the step


def run_drive(
    parameters: Array,
    engines: Engines,
    controls: DriveControls,
    start: DriveStart,
    *,
    road: DriveRoad = LEVEL_ROAD,
    steer_factors: Array | None = None,
    threads: int | None = None,
    upright: bool = True,
) -> History:
    """Drive cars with the same controls, each from its own start.

    Parameters
    ----------
    parameters : (cars, N_PARAMETER)
    start : from `settle_drive`, or any other states.
    steer_factors : (cars,) by which each driver multiplies the steer of the controls; 1 if left out.
    threads : cores to use; all by default.
    upright : refuse a car that turns over, or leans or rises beyond all meaning.

    Returns
    -------
    History
        Instants are ``controls.interval`` apart.

    Raises
    ------
    SolveError
        If a car's state stops being finite, or it turns over or leans beyond what the model is for; the text
        names event, set-up, time and corner.
    """
    cars = parameters.shape[0]
    factors = np.ones(cars) if steer_factors is None else steer_factors
    series = np.column_stack([controls.steer, controls.throttle, controls.brake, controls.holding])
    drivers = np.column_stack([start.steer, factors, start.throttle])
    table, under = engine_table(engines), road_table(road)
    history = empty_history(cars, controls.steps // controls.store_every + 1, N_DRIVE)
    clock = Clock(controls.step, controls.steps, controls.store_every)

    def work(part: slice) -> None:
        controlled = Controls(series, drivers[part])
        own = table._replace(torque=table.torque[part])
        run_block(parameters[part], start.states[part], controlled, own, under, clock, part_of(history, part))

    share_out(cars, work, block=LANES, threads=threads)
    if upright:
        gone = tumbles(history, controls.interval, every=controls.store_every)
        gone.refuse(controls.name, lambda row: f"{row * controls.interval:.2f} s")
    refuse_failed(history, name=controls.name, interval=controls.interval, every=controls.store_every)
    return history


@dataclass(frozen=True, slots=True, kw_only=True)
class Driven:
    """Cars made ready to be driven."""

    cars: tuple[Car, ...]
    parameters: Array
    """(cars, N_PARAMETER)"""
    engines: Engines


def made_ready(cars: Sequence[Car]) -> Driven:
    """Pack cars and their engines."""
    return Driven(cars=tuple(cars), parameters=stacked([pack(car) for car in cars]), engines=engines_of(cars))


class DriveEvent(Protocol):
    """A test in which cars are driven freely."""

    @property
    def speed(self) -> float:
        """Forward speed at the start. [m/s]"""

    def controls(self, step: float) -> DriveControls:
        """Return what the driver does, at half steps of ``step`` [s]."""

    def steer_factors(self, driven: Driven, start: DriveStart) -> Array:
        """Return the factor of each car's driver on the steer of the controls, (cars,)."""


@dataclass(frozen=True, slots=True, kw_only=True)
class DriveRun:
    """Cars that were driven, what their drivers did, and what came of it."""

    driven: Driven
    controls: DriveControls
    start: DriveStart
    steer_factors: Array
    """(cars,)"""
    road: DriveRoad
    history: History

    @property
    def time(self) -> Array:
        """Stored instants. [s]"""
        return np.arange(self.history.states.shape[1], dtype=np.float64) * self.controls.interval

    def control(self, series: Array) -> Array:
        """One of the controls at the stored instants."""
        return series[:: 2 * self.controls.store_every][: self.history.states.shape[1]]

    @property
    def steer(self) -> Array:
        """Road-wheel angle of each car, toe and bump steer apart, (cars, instants). [rad]"""
        added = self.steer_factors[:, None] * self.control(self.controls.steer)
        return np.asarray(self.start.steer[:, None] + added)

    @property
    def throttle(self) -> Array:
        """Of each car, (cars, instants)."""
        held = self.start.throttle[:, None] * self.control(self.controls.holding)
        return np.asarray(self.control(self.controls.throttle) + held)


def drive(
    cars: Sequence[Car], event: DriveEvent, *, road: DriveRoad = LEVEL_ROAD, threads: int | None = None
) -> DriveRun:
    """Put cars through a driven event, each starting in steady straight running.

    Raises
    ------
    SolveError
        If a car has no steady start or its state stops being finite.
    """
    driven = made_ready(cars)
    step = step_for(driven, speed=event.speed)
    controls = event.controls(step)
    start = settle_drive(driven.parameters, driven.engines, speed=event.speed, name=controls.name)
    factors = event.steer_factors(driven, start)
    return drive_from(start, driven, controls, steer_factors=factors, road=road, threads=threads)


def step_for(driven: Driven, *, speed: float) -> float:
    """Return the step that cars can be driven with from a speed, [m/s]. [s]"""
    return stable_drive_step(driven.parameters, fastest=_FASTER * max(speed, SLOWEST))


def drive_from(
    start: DriveStart,
    driven: Driven,
    controls: DriveControls,
    *,
    steer_factors: Array | None = None,
    road: DriveRoad = LEVEL_ROAD,
    threads: int | None = None,
) -> DriveRun:
    """Drive cars from a given start; arguments and errors as in `run_drive`."""
    factors = np.ones(len(driven.cars)) if steer_factors is None else steer_factors
    history = run_drive(
        driven.parameters,
        driven.engines,
        controls,
        start,
        road=road,
        steer_factors=factors,
        threads=threads,
    )
    return DriveRun(
        driven=driven, controls=controls, start=start, steer_factors=factors, road=road, history=history
    )
