"""One car driven through one event with all degrees of freedom free, and what of it goes on."""

from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any

from fourpatch.cli.output import note

if TYPE_CHECKING:
    import xarray as xr

    from fourpatch.car.car import Car
    from fourpatch.events.drive import DriveRun
    from fourpatch.events.files import DrivenEvent


@dataclass(frozen=True, slots=True, kw_only=True)
class DrivenRun:
    """A car that was driven."""

    event: "DrivenEvent"
    run: "DriveRun"
    setup: str
    """Name of its set-up."""

    def dataset(self) -> "xr.Dataset":
        """Return its history with names and units."""
        from fourpatch.events.history import drive_dataset

        return drive_dataset(self.run, [self.setup])

    def content(self) -> dict[str, Any]:
        """Return its characteristic values for JSON."""
        from fourpatch.cli.text.step_steer import step_steer_content
        from fourpatch.cli.text.straight_braking import braking_content
        from fourpatch.events.step_steer import StepSteer

        content = step_steer_content if isinstance(self.event, StepSteer) else braking_content
        return content(self.run)

    def write(self, named: str) -> None:
        """Write its characteristic values as a table and in words."""
        from fourpatch.cli.text.step_steer import write_step_steer
        from fourpatch.cli.text.straight_braking import write_braking
        from fourpatch.events.step_steer import StepSteer

        write = write_step_steer if isinstance(self.event, StepSteer) else write_braking
        write(self.run, title=f"{named}: {self.run.controls.name} (computed by the drive)")

    def draw(self, named: str, path: Path) -> None:
        """Draw the answer to the steer, or the load of the four tyres."""
        from fourpatch.events.step_steer import StepSteer
        from fourpatch.picture.sheet import save
        from fourpatch.picture.step_steer import step_steer_figure
        from fourpatch.picture.tyre_loads import tyre_load_figure

        source = f"{named}; {self.run.controls.name}, computed by the drive"
        if isinstance(self.event, StepSteer):
            draw, question = step_steer_figure, "How does the car answer the steering?"
        else:
            draw, question = tyre_load_figure, "Where is the load?"
        save(draw(self.dataset(), self.run.controls.phases, question=question, source=source), path)
        note(f"Drew {path}.")


def run_by_drive(car: "Car", event: "DrivenEvent", *, setup: str) -> DrivenRun:
    """Drive a car through an event.

    Raises
    ------
    SolveError
        If the car has no steady start, or a run does not end in numbers.
    """
    from fourpatch.cli.engine import announce_compilation
    from fourpatch.events.drive import drive

    announce_compilation()
    return DrivenRun(event=event, run=drive([car], event), setup=setup)
