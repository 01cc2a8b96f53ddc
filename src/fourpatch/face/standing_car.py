"""A car with a set-up, and the questions that may be asked of it.

What answers a question is imported when it is asked: whoever only reads a car does not wait for the rest.
"""

import os
import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from difflib import get_close_matches
from math import isfinite
from numbers import Real
from typing import TYPE_CHECKING, Any

from fourpatch.car.adjusters import Adjuster
from fourpatch.car.car import Car
from fourpatch.car.files import load_setup, save_setup
from fourpatch.car.setup import Setup, apply_setup, baseline_setup
from fourpatch.document.html import html_table
from fourpatch.errors import CarError, EventError
from fourpatch.face.named import Name, car_by_name, track_by_name
from fourpatch.units import Unit

if TYPE_CHECKING:
    from fourpatch.analysis.modes import CarModes
    from fourpatch.analysis.statics import Statics
    from fourpatch.events.files import DrivenEvent, RigEvent
    from fourpatch.face.cured import Cured
    from fourpatch.face.driven_run import DrivenRun
    from fourpatch.face.lap import Lap
    from fourpatch.face.rig_run import RigRun
    from fourpatch.track.track import Track

_SPEED = Unit("m/s", "km/h", 0.0, 150.0)
_USE = Unit("1", "%", 0.05, 1.0)
_LONGEST = 80
"""Letters of a set-up's name."""


@dataclass(frozen=True, slots=True, kw_only=True, repr=False, eq=False)
class StandingCar:
    """A car and the set-up it is looked at with. Nothing changes it: `turn` returns another."""

    car: Car
    """As written, its adjusters at baseline."""
    setup: Setup
    standing: Car
    """As it stands with the set-up."""

    @property
    def named(self) -> str:
        """Both names, for a title."""
        return f"{self.car.name}, set-up {self.setup.name}"

    def content(self) -> dict[str, Any]:
        """Both names, for JSON."""
        return {"car": self.car.name, "setup": self.setup.name}

    @property
    def adjusters(self) -> dict[str, Adjuster]:
        """What may be turned, by the word that `turn` takes: ``front_rebound_low_speed``."""
        return {_word(one.name): one for one in self.car.adjusters}

    def turn(self, steps: Mapping[str, float | str] | None = None, /, **more: float | str) -> "StandingCar":
        """Return the car with adjusters turned.

        Parameters
        ----------
        steps, more : by the adjuster's word or name: a number of steps, upward if positive, or text as on the
            command line: "+2" for steps, "to 3" for the position itself.

        Raises
        ------
        CarError, AdviceError
            If the car has no such adjuster or cannot stand so, or there are not so many steps; nothing is
            turned then.
        """
        if not steps and not more:
            return self
        asked = {**(steps or {}), **more}
        changes = {self._adjuster(name): _amount(name, one) for name, one in asked.items()}
        changed = self.with_changes([f"{name}={one}" for name, one in changes.items()]).setup
        said = ", ".join(f"{name} {one}" for name, one in changes.items())
        before = "" if self.setup == baseline_setup(self.car) else f"{self.setup.name}, "
        name = f"{before}{said}"
        return self.with_setup(
            changed.model_copy(update={"name": name if len(name) <= _LONGEST else "several changes"})
        )

    def with_changes(self, texts: Sequence[str]) -> "StandingCar":
        """Return the car with changes made that are written as on the command line: "front bar=+2".

        Raises
        ------
        AdviceError, CarError
            As `turn`.
        """
        from fourpatch.advice.change_text import read_changes

        return self.with_setup(read_changes(self.car, self.setup, texts))

    def with_setup(self, setup: Setup | Name) -> "StandingCar":
        """Return the car with another set-up, or with that of a file.

        Raises
        ------
        FileError, CarError
            If the set-up cannot be read, or does not fit the car.
        """
        other = setup if isinstance(setup, Setup) else load_setup(setup, self.car)
        return replace(self, setup=other, standing=apply_setup(self.car, other))

    def save_setup(self, path: Name) -> None:
        """Write the set-up as a file that a person may read and edit.

        Raises
        ------
        FileError
            If it cannot be written.
        """
        save_setup(self.setup, path, self.car)

    def statics(self) -> "Statics":
        """Return loads, rates, frequencies, damping, roll, load transfer and steady handling at rest."""
        from fourpatch.analysis.statics import statics

        return statics(self.standing)

    def modes(self, *, speed: float | str = 0.0) -> "CarModes":
        """Return the natural motions, by the linear model.

        Parameters
        ----------
        speed : of the car, which sets downforce: "200 km/h", or a number in m/s.
        """
        from fourpatch.analysis.modes import car_modes

        return car_modes(self.standing, speed=_read("speed", _SPEED, speed))

    def run(self, event: "RigEvent | DrivenEvent | Name") -> "RigRun | DrivenRun":
        """Put the car through an event, or the event of a file.

        Raises
        ------
        EventError, SolveError, FileError
            If it cannot be put through it, a run does not end in numbers, or there is no such file.
        """
        from fourpatch.events.files import DrivenEvent, RigEvent, load_event
        from fourpatch.face.driven_run import run_by_drive
        from fourpatch.face.rig_run import run_on_rig

        asked = event if isinstance(event, RigEvent | DrivenEvent) else load_event(event)
        if isinstance(asked, DrivenEvent):
            return run_by_drive(self.standing, asked, setup=self.setup.name)
        return run_on_rig(self.standing, asked, setup=self.setup.name)

    def lap(
        self, track: "Track | Name", *, use: float | str = 1.0, start_speed: float | str | None = None
    ) -> "Lap":
        """Compute a lap quasi-steadily.

        Parameters
        ----------
        track : of `fourpatch.track`, or its name or file.
        use : how much of the worse axle's grip: 0.97 or "97 %".
        start_speed : of an open track; as fast as its first place allows if left out.

        Raises
        ------
        TrackError, EventError, SolveError, FileError
            If the track cannot be driven by this car, or there is none of that name.
        """
        from fourpatch.analysis.lap_summary import study_lap
        from fourpatch.analysis.limits_map import Margins
        from fourpatch.face.lap import Lap

        share = _read("use", _USE, use)
        study = study_lap(
            self.standing,
            track_by_name(track) if isinstance(track, str | os.PathLike) else track,
            use=Margins(braking=share, lateral=share, driving=share),
            start_speed=None if start_speed is None else _read("start_speed", _SPEED, start_speed),
        )
        return Lap(car=self.standing, study=study, named=self.named, use=share)

    def cure(
        self, complaint: str, *, track: "Track | Name | None" = None, good: "StandingCar | None" = None
    ) -> "Cured":
        """Return what to change against a complaint in words: "pushes on entry in slow corners".

        Parameters
        ----------
        track : whose corners, bumps and kerbs are meant; standard ones, scaled to the car, if left out.
        good : the same car with a set-up with which it did not do it: the changes lead back towards that.

        Raises
        ------
        AdviceError, EventError, SolveError
            If the complaint cannot be read or is beyond the model, or a run does not end in numbers.
        """
        from fourpatch.advice.complaint_text import read_complaint
        from fourpatch.face.cured import cured

        on = track_by_name(track) if isinstance(track, str | os.PathLike) else track
        before = None if good is None else good.setup
        return cured(self.car, self.setup, read_complaint(complaint), track=on, good=before)

    def _adjuster(self, name: str) -> str:
        """Return the name of an adjuster by its name or its word."""
        if any(one.name == name for one in self.car.adjusters):
            return name
        words = self.adjusters
        if _word(name) in words:
            return words[_word(name)].name
        near = get_close_matches(_word(name), words, n=3, cutoff=0.5)
        remedy = f"Did you mean {' or '.join(near)}?" if near else f"It has {', '.join(words) or 'none'}."
        raise CarError(f"{name} is not an adjuster of this car. {remedy}")

    def __repr__(self) -> str:
        """Print short."""
        return f"<{self.named}>"

    def _repr_html_(self) -> str:
        """Show in a notebook what may be turned, where it stands and how far it goes."""
        rows = (
            (word, *(f"{n:g}" for n in (self.setup.position(a), a.lowest, a.highest, a.step)), a.unit)
            for word, a in self.adjusters.items()
        )
        heads = ("adjuster", "stands at", "lowest", "highest", "step", "unit")
        return html_table(heads, rows, title=self.named)


def car(name: Name | Car, setup: Setup | Name | None = None) -> StandingCar:
    """Return a demo car by its name, or a car from its file, ready to be asked.

    Parameters
    ----------
    name : "gt", "my_car.toml", or a `Car` made otherwise.
    setup : a set-up or its file; every adjuster at its baseline if left out.

    Raises
    ------
    FileError, CarError
        If there is neither demo nor file of that name, or what is wrong in a file.

    Examples
    --------
    >>> import fourpatch as fp
    >>> fp.car("gt")
    <Demo GT, set-up baseline>
    """
    found = name if isinstance(name, Car) else car_by_name(name)
    standing = StandingCar(car=found, setup=baseline_setup(found), standing=found)
    return standing if setup is None else standing.with_setup(setup)


track = track_by_name


def _word(name: str) -> str:
    """Return an adjuster's name as Python can say it."""
    return re.sub(r"\W+", "_", name).strip("_").lower()


def _amount(name: str, amount: object) -> str:
    if isinstance(amount, str):
        return amount
    if isinstance(amount, bool) or not isinstance(amount, Real) or not isfinite(amount):
        raise CarError(f'{name} = {amount} is no number of steps. Write 2, -1, or "to 3" for a position.')
    return f"{float(amount):+g}"


def _read(name: str, unit: Unit, value: float | str) -> float:
    try:
        bare = isinstance(value, Real) and not isinstance(value, bool) and isfinite(value)
        return unit.read(unit.bare(float(value)) if bare else value, from_file=False)
    except ValueError as error:
        raise EventError(f"{name} {error}") from None
