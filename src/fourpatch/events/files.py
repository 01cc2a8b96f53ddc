"""Event files: any event from TOML, its `kind` saying which; read and refused as car files are."""

import os
from functools import partial
from pathlib import Path
from typing import Annotated, Any, cast, get_args

from pydantic import Field

from fourpatch.document.fault import Fault
from fourpatch.document.part import Part
from fourpatch.document.reading import read_file
from fourpatch.document.refusals import read_part
from fourpatch.events.braking import Braking
from fourpatch.events.braking_in_a_turn import BrakingInATurn
from fourpatch.events.bumps import BumpEvent
from fourpatch.events.corner import Corner
from fourpatch.events.measured_motion import MeasuredMotion
from fourpatch.events.steady_circle import SteadyCircle
from fourpatch.events.step_steer import StepSteer
from fourpatch.events.straight_acceleration import StraightAcceleration
from fourpatch.events.straight_braking import StraightBraking

RigEvent = Corner | Braking | MeasuredMotion | BumpEvent
"""What the rig puts a car through."""
DrivenEvent = StepSteer | StraightBraking | StraightAcceleration | SteadyCircle | BrakingInATurn
"""What a car is driven through with all degrees of freedom free."""
Event = RigEvent | DrivenEvent

EVENTS: dict[str, type[Event]] = {
    kind: model for model in get_args(Event) for kind in get_args(model.model_fields["kind"].annotation)
}
"""Every event by its kind, in the order in which they are listed."""


class _EventFile(Part):
    """What holds an event while it is read: a file's tables have no name of their own."""

    event: Annotated[Event, Field(discriminator="kind")]


def load_event(path: str | os.PathLike[str]) -> Event:
    """Read an event file.

    Raises
    ------
    FileError
        If the file cannot be read or says something that cannot be meant: all of it, a paragraph
        each, with line, key, value, what is allowed and a remedy.
    """
    return read_file(Path(path), partial(_read_event, Path(path).parent))


def _read_event(folder: Path, data: dict[str, Any]) -> tuple[Event, list[Fault]]:
    """Read an event; a file it names lies beside it."""
    if isinstance(data.get("file"), str):
        data = data | {"file": str(folder / data["file"])}
    held, faults = read_part(_EventFile, {"event": data})
    return cast(Event, held.__dict__.get("event")), [Fault(key[1:], text) for key, text in faults]
