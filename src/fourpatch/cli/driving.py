"""One car driven through one event with all degrees of freedom free, and what of it goes on."""

from collections.abc import Callable
from dataclasses import dataclass
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING, Any

from fourpatch.cli.output import note

if TYPE_CHECKING:
    import xarray as xr
    from matplotlib.figure import Figure

    from fourpatch.car.car import Car
    from fourpatch.events.braking_in_a_turn import BrakingInATurn
    from fourpatch.events.files import DrivenEvent
    from fourpatch.events.steady_circle import SteadyCircle
    from fourpatch.events.step_steer import StepSteer
    from fourpatch.events.straight_acceleration import StraightAcceleration
    from fourpatch.events.straight_braking import StraightBraking


@dataclass(frozen=True, slots=True, kw_only=True)
class DrivenRun:
    """A car that was driven."""

    name: str
    """Of the event, for titles."""
    dataset: "Callable[[], xr.Dataset]"
    """Return all of it with names and units."""
    content: Callable[[], dict[str, Any]]
    """Return its characteristic values for JSON."""
    write_values: Callable[..., None]
    """Write its characteristic values, as a table of a ``title`` and in words."""
    figure: "Callable[..., Figure]"
    """Draw it, its ``source`` named."""

    def write(self, named: str) -> None:
        """Write its characteristic values as a table and in words."""
        self.write_values(title=f"{named}: {self.name} (computed by the drive)")

    def draw(self, named: str, path: Path) -> None:
        """Draw what characterises it."""
        from fourpatch.picture.sheet import save

        save(self.figure(source=f"{named}; {self.name}, computed by the drive"), path)
        note(f"Drew {path}.")


def run_by_drive(car: "Car", event: "DrivenEvent", *, setup: str) -> DrivenRun:
    """Drive a car through an event.

    Raises
    ------
    EventError, SolveError
        If the event holds nothing, the car has no steady start, or a run does not end in numbers.
    """
    from fourpatch.cli.engine import announce_compilation
    from fourpatch.events.braking_in_a_turn import BrakingInATurn
    from fourpatch.events.steady_circle import SteadyCircle
    from fourpatch.events.step_steer import StepSteer
    from fourpatch.events.straight_acceleration import StraightAcceleration

    announce_compilation()
    if isinstance(event, SteadyCircle):
        return _steady_circle(car, event, setup)
    if isinstance(event, BrakingInATurn):
        return _braking_in_a_turn(car, event, setup)
    if isinstance(event, StraightAcceleration):
        return _acceleration(car, event, setup)
    return _step_steer(car, event, setup) if isinstance(event, StepSteer) else _braking(car, event, setup)


def _step_steer(car: "Car", event: "StepSteer", setup: str) -> DrivenRun:
    from fourpatch.cli.text.step_steer import step_steer_content, write_step_steer
    from fourpatch.events.drive import drive
    from fourpatch.picture.step_steer import step_steer_figure
    from fourpatch.runs.history import drive_dataset

    run = drive([car], event)
    question = "How does the car answer the steering?"
    return DrivenRun(
        name=run.controls.name,
        dataset=partial(drive_dataset, run, [setup]),
        content=partial(step_steer_content, run),
        write_values=partial(write_step_steer, run),
        figure=partial(
            step_steer_figure, drive_dataset(run, [setup]), run.controls.phases, question=question
        ),
    )


def _braking(car: "Car", event: "StraightBraking", setup: str) -> DrivenRun:
    from fourpatch.cli.text.straight_braking import braking_content, write_braking
    from fourpatch.events.drive import drive
    from fourpatch.picture.tyre_loads import tyre_load_figure
    from fourpatch.runs.history import drive_dataset

    run = drive([car], event)
    question = "Where is the load?"
    return DrivenRun(
        name=run.controls.name,
        dataset=partial(drive_dataset, run, [setup]),
        content=partial(braking_content, run),
        write_values=partial(write_braking, run),
        figure=partial(tyre_load_figure, drive_dataset(run, [setup]), run.controls.phases, question=question),
    )


def _acceleration(car: "Car", event: "StraightAcceleration", setup: str) -> DrivenRun:
    from fourpatch.cli.text.straight_acceleration import acceleration_content, write_acceleration
    from fourpatch.events.straight_acceleration import accelerate
    from fourpatch.picture.tyre_loads import tyre_load_figure
    from fourpatch.runs.history import drive_dataset

    run = accelerate([car], event)
    question = "Where is the load?"
    return DrivenRun(
        name=run.controls.name,
        dataset=partial(drive_dataset, run, [setup]),
        content=partial(acceleration_content, run, event),
        write_values=partial(write_acceleration, run, event),
        figure=partial(tyre_load_figure, drive_dataset(run, [setup]), run.controls.phases, question=question),
    )


def _steady_circle(car: "Car", event: "SteadyCircle", setup: str) -> DrivenRun:
    from fourpatch.analysis.steady_cornering import steady_cornering
    from fourpatch.cli.text.steady_circle import circle_content, write_circle
    from fourpatch.events.steady_circle import steady_circle
    from fourpatch.picture.steady_circle import steady_circle_figure
    from fourpatch.runs.history import steady_dataset

    turns = steady_circle(car, event)
    series = steady_cornering(turns)

    def everything() -> "xr.Dataset":
        reported = steady_dataset(turns, setup)
        return reported.merge(series.drop_vars([name for name in series if name in reported]), join="exact")

    question = "What does the car ask for as it corners harder, and which axle gives up?"
    return DrivenRun(
        name=event.name,
        dataset=everything,
        content=partial(circle_content, turns, series),
        write_values=partial(write_circle, turns, series),
        figure=partial(steady_circle_figure, series, question=question),
    )


def _braking_in_a_turn(car: "Car", event: "BrakingInATurn", setup: str) -> DrivenRun:
    from fourpatch.cli.text.braking_in_a_turn import turn_braked_content, write_turn_braked
    from fourpatch.events.braking_in_a_turn import brake_in_a_turn
    from fourpatch.picture.braking_in_a_turn import turn_braked_figure
    from fourpatch.runs.history import turn_braked_dataset

    braked = brake_in_a_turn(car, event)
    question = "Does the car turn in or run wide when it is braked in the turn?"
    return DrivenRun(
        name=event.name,
        dataset=partial(turn_braked_dataset, braked, setup),
        content=partial(turn_braked_content, braked),
        write_values=partial(write_turn_braked, braked),
        figure=partial(turn_braked_figure, braked, question=question),
    )
