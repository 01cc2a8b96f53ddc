"""One car through one event on the rig, and what may be asked of it."""

from dataclasses import dataclass
from typing import TYPE_CHECKING, Literal

import numpy as np
from numpy.typing import NDArray

from fourpatch.analysis.contact_patch_load import contact_patch_load
from fourpatch.analysis.damper_speed import SPLIT, damper_speed
from fourpatch.analysis.phase_balance import AGAINST_FIRST, phase_balance
from fourpatch.analysis.ride_spectrum import measured_spectrum, ride_spectrum
from fourpatch.analysis.within_grip import most_within_grip, run_possible
from fourpatch.car.car import Car
from fourpatch.car.pack import pack
from fourpatch.events.braking import Braking
from fourpatch.events.corner import Corner
from fourpatch.events.files import RigEvent
from fourpatch.events.motion import RigMotion
from fourpatch.events.rough_road import RoughRoad
from fourpatch.events.run import stable_step, stacked
from fourpatch.face.numbers import Numbers
from fourpatch.physics.integrate import History
from fourpatch.physics.layout import I
from fourpatch.runs.history import rig_dataset

if TYPE_CHECKING:
    import pandas as pd
    import xarray as xr
    from matplotlib.figure import Figure


@dataclass(frozen=True, slots=True, kw_only=True, repr=False, eq=False)
class RigRun:
    """A car that has been through a motion."""

    car: Car
    """As it stands."""
    event: RigEvent
    parameters: NDArray[np.float64]
    """(1, N_PARAMETER)"""
    motion: RigMotion
    history: History
    setup: str
    """Name of its set-up."""
    mode: Literal["rig"] = "rig"
    """What computed it."""

    @property
    def source(self) -> str:
        """What was computed, and how."""
        return f"{self.car.name}, set-up {self.setup}; {self.motion.name}, computed on the rig"

    def bumpy(self) -> bool:
        """Say whether the road was uneven."""
        return bool(self.motion.inputs[:, I.road : I.road + 4].any())

    @property
    def dataset(self) -> "xr.Dataset":
        """Its history with names and units."""
        return rig_dataset(self.history, self.motion, [self.setup])

    def to_dataframe(self) -> "pd.DataFrame":
        """Return its history: a column for each quantity, in SI, and a row for each instant and corner."""
        return self.dataset.isel(setup=0, drop=True).to_dataframe()

    def phases(self) -> Numbers:
        """Return its phase balance."""
        found = phase_balance(self.parameters, self.history, self.motion, [self.setup])
        # Swings compare with another set-up, and here is only one.
        return self._numbers(found.drop_vars(AGAINST_FIRST), "phase balance")

    def at_most(self) -> dict[str, float]:
        """Return what of the motion to take back for it to be within the car's grip; empty if it is."""
        return most_within_grip(self.car, self.event) if isinstance(self.event, Corner | Braking) else {}

    def bumps(self) -> Numbers:
        """Return its contact-patch load, from the end of the event's first phase on."""
        since = self.motion.phases[0].end
        found = contact_patch_load(self.parameters, self.history, self.motion, [self.setup], since=since)
        return self._numbers(found, "contact-patch load")

    def damper_speeds(self, *, split: float = SPLIT) -> Numbers:
        """Return its damper-speed histogram, low parted from high at ``split`` [m/s]."""
        from fourpatch.picture.damper_speed import damper_speed_figure

        since = self.motion.phases[0].end
        found = damper_speed(self.history, self.motion, [self.setup], since=since, split=split)
        alone = found.isel(setup=0, drop=True)

        def draw() -> "Figure":
            return damper_speed_figure(alone, question="How fast do the dampers move?", source=self.source)

        return Numbers(title=f"damper speed: {self.source}", dataset=alone, draw=draw)

    def spectrum(self) -> "xr.Dataset | None":
        """Return what the linear model says of a random road, by frequency."""
        return ride_spectrum(self.car, self.event) if isinstance(self.event, RoughRoad) else None

    def plot(self) -> "Figure":
        """Draw a kerb by its heights and loads, a random road by spectra, all else by the four loads."""
        from fourpatch.picture.kerb_strike import kerb_figure
        from fourpatch.picture.ride_spectrum import ride_spectrum_figure
        from fourpatch.picture.tyre_loads import tyre_load_figure

        spectrum = self.spectrum()
        if spectrum is not None:
            measured = measured_spectrum(self.history, self.motion, since=self.motion.phases[0].end)
            question = "At which frequencies does the road move the load?"
            source = f"{self.source} and by the linear model"
            return ride_spectrum_figure(measured, spectrum, question=question, source=source)
        if self.event.kind == "kerb-strike":
            draw, question = kerb_figure, "What does the kerb do to wheel, body and load?"
        else:
            draw, question = tyre_load_figure, f"Where is the load? {self.motion.name.capitalize()}"
        return draw(self.dataset, self.motion.phases, question=question, source=self.source)

    def _numbers(self, found: "xr.Dataset", what: str) -> Numbers:
        alone = found.isel(setup=0, drop=True)
        return Numbers(title=f"{what}: {self.source}", dataset=alone, draw=self.plot)

    def __repr__(self) -> str:
        """Print short."""
        return f"<run of {self.source}>"

    def _repr_html_(self) -> str:
        return (self.bumps() if self.bumpy() else self.phases())._repr_html_()


def run_on_rig(car: Car, event: RigEvent, *, setup: str) -> RigRun:
    """Put a car through an event on the rig.

    Raises
    ------
    EventError, SolveError
        If the car cannot be put through it, or a run does not end in numbers.
    """
    parameters = stacked([pack(car)])
    motion = event.motion(car, stable_step(parameters))
    history = run_possible(car, event, motion, parameters)
    return RigRun(car=car, event=event, parameters=parameters, motion=motion, history=history, setup=setup)
