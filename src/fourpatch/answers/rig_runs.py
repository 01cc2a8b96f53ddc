"""What is asked of runs on the rig, one for each event."""

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import Any, cast

from fourpatch.answers.question import Asked
from fourpatch.car.car import Car
from fourpatch.document.content import settings_content
from fourpatch.events.files import RigEvent
from fourpatch.face.rig_run import RigRun, run_on_rig
from fourpatch.face.standing_car import StandingCar


@dataclass(frozen=True, slots=True, kw_only=True)
class RigRuns:
    """A car that has been through events on the rig."""

    about: StandingCar
    done: Mapping[str, RigRun]
    """By the name of the event."""

    def title(self, name: str) -> str:
        """Return what stands over what is said of one."""
        return f"{self.about.named}: {name} (computed on the rig)"

    def content(self) -> dict[str, Any]:
        """Return what was run for JSON."""
        events = {
            name: {"kind": run.event.kind, **settings_content(run.event)} for name, run in self.done.items()
        }
        return {**self.about.content(), "mode": "rig", "events": events}


def runs_on_rig(asked: Asked, standard: Callable[[Car], Mapping[str, RigEvent]]) -> RigRuns:
    """Put a car through the events asked about, or through standard ones made for it.

    Raises
    ------
    EventError, SolveError
        If the car cannot be put through one, or a run does not end in numbers.
    """
    car = asked.car
    events = asked.events or standard(car.standing)
    done = {
        name: run_on_rig(car.standing, cast("RigEvent", event), setup=car.setup.name)
        for name, event in events.items()
    }
    return RigRuns(about=car, done=done)
