"""One car through one event on the rig, and what of it goes on."""

from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any

from fourpatch.cli.output import dataset_content, note

if TYPE_CHECKING:
    import numpy as np
    import xarray as xr
    from numpy.typing import NDArray

    from fourpatch.car.car import Car
    from fourpatch.events.files import RigEvent
    from fourpatch.events.motion import RigMotion
    from fourpatch.physics.integrate import History


@dataclass(frozen=True, slots=True, kw_only=True)
class RigRun:
    """A car that has been through a motion."""

    car: "Car"
    """As it stands."""
    event: "RigEvent"
    parameters: "NDArray[np.float64]"
    """(1, N_PARAMETER)"""
    motion: "RigMotion"
    history: "History"
    setup: str
    """Name of its set-up."""

    def bumpy(self) -> bool:
        """Say whether the road was uneven."""
        from fourpatch.physics.layout import I

        return bool(self.motion.inputs[:, I.road : I.road + 4].any())

    def dataset(self) -> "xr.Dataset":
        """Return its history with names and units."""
        from fourpatch.runs.history import rig_dataset

        return rig_dataset(self.history, self.motion, [self.setup])

    def phases(self) -> "xr.Dataset":
        """Return its phase balance."""
        from fourpatch.analysis.phase_balance import AGAINST_FIRST, phase_balance

        found = phase_balance(self.parameters, self.history, self.motion, [self.setup])
        # Swings compare with another set-up, and here is only one.
        return found.isel(setup=0, drop=True).drop_vars(AGAINST_FIRST)

    def at_most(self) -> dict[str, float]:
        """Return what of the motion to take back for it to be within the car's grip; empty if it is."""
        from fourpatch.analysis.within_grip import most_within_grip
        from fourpatch.events.braking import Braking
        from fourpatch.events.corner import Corner

        return most_within_grip(self.car, self.event) if isinstance(self.event, Corner | Braking) else {}

    def bumps(self) -> "xr.Dataset":
        """Return its contact-patch load, from the end of the event's first phase on."""
        from fourpatch.analysis.contact_patch_load import contact_patch_load

        since = self.motion.phases[0].end
        found = contact_patch_load(self.parameters, self.history, self.motion, [self.setup], since=since)
        return found.isel(setup=0, drop=True)

    def damper_speeds(self, *, split: float) -> "xr.Dataset":
        """Return its damper-speed histogram, low parted from high at ``split`` [m/s]."""
        from fourpatch.analysis.damper_speed import damper_speed

        since = self.motion.phases[0].end
        found = damper_speed(self.history, self.motion, [self.setup], since=since, split=split)
        return found.isel(setup=0, drop=True)

    def spectrum(self) -> "xr.Dataset | None":
        """Return what the linear model says of a random road, by frequency."""
        from fourpatch.analysis.ride_spectrum import ride_spectrum
        from fourpatch.events.rough_road import RoughRoad

        return ride_spectrum(self.car, self.event) if isinstance(self.event, RoughRoad) else None

    def content(self) -> dict[str, Any]:
        """Return its summary for JSON."""
        from fourpatch.analysis.ride_spectrum import ride_numbers
        from fourpatch.cli.events import settings_content

        content = {
            "at_most": settings_content(type(self.event), self.at_most()),
            "phases": dataset_content(self.phases()),
        }
        if self.bumpy():
            content |= {"bumps": dataset_content(self.bumps())}
        spectrum = self.spectrum()
        if spectrum is not None:
            content |= {"linear_model": dataset_content(ride_numbers(spectrum))}
        return content

    def write(self, named: str) -> None:
        """Write its summary: of bumps where there were any, else phase by phase."""
        from fourpatch.cli.text.contact_patch_load import write_bumps
        from fourpatch.cli.text.phase_balance import write_phases
        from fourpatch.cli.text.ride_spectrum import write_linear

        title = f"{named}: {self.motion.name} (computed on the rig)"
        if self.bumpy():
            bumps, spectrum = self.bumps(), self.spectrum()
            write_bumps(bumps, title=title)
            if spectrum is not None:
                write_linear(bumps, spectrum)
        else:
            write_phases(self.phases(), title=title, at_most=self.at_most())

    def draw(self, named: str, path: Path) -> None:
        """Draw a kerb by its heights and loads, a random road by spectra, all else by the four loads."""
        from fourpatch.analysis.ride_spectrum import measured_spectrum
        from fourpatch.picture.kerb_strike import kerb_figure
        from fourpatch.picture.ride_spectrum import ride_spectrum_figure
        from fourpatch.picture.sheet import save
        from fourpatch.picture.tyre_loads import tyre_load_figure

        source = f"{named}; {self.motion.name}, computed on the rig"
        spectrum = self.spectrum()
        if spectrum is not None:
            measured = measured_spectrum(self.history, self.motion, since=self.motion.phases[0].end)
            question = "At which frequencies does the road move the load?"
            source += " and by the linear model"
            save(ride_spectrum_figure(measured, spectrum, question=question, source=source), path)
            note(f"Drew {path}.")
            return
        if self.event.kind == "kerb-strike":
            draw, question = kerb_figure, "What does the kerb do to wheel, body and load?"
        else:
            draw, question = tyre_load_figure, f"Where is the load? {self.motion.name.capitalize()}"
        save(draw(self.dataset(), self.motion.phases, question=question, source=source), path)
        note(f"Drew {path}.")


def run_on_rig(car: "Car", event: "RigEvent", *, setup: str) -> RigRun:
    """Put a car through an event on the rig.

    Raises
    ------
    EventError, SolveError
        If the car cannot be put through it, or a run does not end in numbers.
    """
    from fourpatch.analysis.within_grip import run_possible
    from fourpatch.car.pack import pack
    from fourpatch.cli.engine import announce_compilation
    from fourpatch.events.run import stable_step, stacked

    announce_compilation()
    parameters = stacked([pack(car)])
    motion = event.motion(car, stable_step(parameters))
    history = run_possible(car, event, motion, parameters)
    return RigRun(car=car, event=event, parameters=parameters, motion=motion, history=history, setup=setup)
