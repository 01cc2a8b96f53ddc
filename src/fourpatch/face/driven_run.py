"""One car driven through one event with all degrees of freedom free, and what may be asked of it."""

from collections.abc import Callable
from dataclasses import dataclass
from functools import partial
from typing import TYPE_CHECKING, Any, Literal

from fourpatch.analysis.steady_cornering import steady_cornering
from fourpatch.car.car import Car
from fourpatch.events.braking_in_a_turn import BrakingInATurn, brake_in_a_turn
from fourpatch.events.drive import drive
from fourpatch.events.files import DrivenEvent
from fourpatch.events.steady_circle import SteadyCircle, steady_circle
from fourpatch.events.step_steer import StepSteer
from fourpatch.events.straight_acceleration import StraightAcceleration, accelerate
from fourpatch.events.straight_braking import StraightBraking
from fourpatch.runs.history import drive_dataset, steady_dataset, turn_braked_dataset

if TYPE_CHECKING:
    import pandas as pd
    import xarray as xr
    from matplotlib.figure import Figure


@dataclass(frozen=True, slots=True, kw_only=True, repr=False, eq=False)
class DrivenRun:
    """A car that was driven."""

    car: Car
    """As it stands."""
    event: DrivenEvent
    setup: str
    """Name of its set-up."""
    mode: Literal["drive"] = "drive"
    """What computed it."""
    name: str
    """Of what was done, for titles."""
    found: tuple[Any, ...]
    """What its characteristic values are computed from."""
    label: "Callable[[], xr.Dataset]"
    figure: "Callable[..., Figure]"
    """Draw it, its ``source`` named."""

    @property
    def source(self) -> str:
        """What was computed, and how."""
        return f"{self.car.name}, set-up {self.setup}; {self.name}, computed by the drive"

    @property
    def dataset(self) -> "xr.Dataset":
        """All of it with names and units."""
        return self.label()

    def to_dataframe(self) -> "pd.DataFrame":
        """Return all of it: a column for each quantity, in SI, and a row for each instant and corner."""
        return self.dataset.to_dataframe()

    def plot(self) -> "Figure":
        """Draw what characterises it."""
        return self.figure(source=self.source)

    def __repr__(self) -> str:
        """Print short."""
        return f"<run of {self.source}>"

    def _repr_png_(self) -> bytes:
        drawn: Any = self.plot()
        png: bytes = drawn._repr_png_()
        return png


def run_by_drive(car: Car, event: DrivenEvent, *, setup: str) -> DrivenRun:
    """Drive a car through an event.

    Raises
    ------
    EventError, SolveError
        If the event holds nothing, the car has no steady start, or a run does not end in numbers.
    """
    made = partial(DrivenRun, car=car, event=event, setup=setup)
    match event:
        case SteadyCircle():
            return _steady_circle(made, car, event, setup)
        case BrakingInATurn():
            return _braking_in_a_turn(made, car, event, setup)
        case StraightAcceleration() | StepSteer() | StraightBraking():
            return _straight_or_step(made, car, event, setup)


def _straight_or_step(
    made: Callable[..., DrivenRun],
    car: Car,
    event: StraightAcceleration | StepSteer | StraightBraking,
    setup: str,
) -> DrivenRun:
    from fourpatch.picture.step_steer import step_steer_figure
    from fourpatch.picture.tyre_loads import tyre_load_figure

    run = accelerate([car], event) if isinstance(event, StraightAcceleration) else drive([car], event)
    if isinstance(event, StepSteer):
        draw, question = step_steer_figure, "How does the car answer the steering?"
    else:
        draw, question = tyre_load_figure, "Where is the load?"
    label = partial(drive_dataset, run, [setup])

    def figure(*, source: str) -> "Figure":
        return draw(label(), run.controls.phases, question=question, source=source)

    found = (run, event) if isinstance(event, StraightAcceleration) else (run,)
    return made(name=run.controls.name, found=found, label=label, figure=figure)


def _steady_circle(made: Callable[..., DrivenRun], car: Car, event: SteadyCircle, setup: str) -> DrivenRun:
    from fourpatch.picture.steady_circle import steady_circle_figure

    turns = steady_circle(car, event)
    series = steady_cornering(turns)

    def everything() -> "xr.Dataset":
        reported = steady_dataset(turns, setup)
        return reported.merge(series.drop_vars([name for name in series if name in reported]), join="exact")

    question = "What does the car ask for as it corners harder, and which axle gives up?"
    figure = partial(steady_circle_figure, series, question=question)
    return made(name=event.name, found=(turns, series), label=everything, figure=figure)


def _braking_in_a_turn(
    made: Callable[..., DrivenRun], car: Car, event: BrakingInATurn, setup: str
) -> DrivenRun:
    from fourpatch.picture.braking_in_a_turn import turn_braked_figure

    braked = brake_in_a_turn(car, event)
    question = "Does the car turn in or run wide when it is braked in the turn?"
    figure = partial(turn_braked_figure, braked, question=question)
    label = partial(turn_braked_dataset, braked, setup)
    return made(name=event.name, found=(braked,), label=label, figure=figure)
