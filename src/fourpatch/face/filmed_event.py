"""Cars in an event, as a film."""

from collections.abc import Sequence
from pathlib import Path

from fourpatch.errors import EventError, FileError
from fourpatch.events.files import EVENTS, Event, load_event
from fourpatch.events.steady_circle import SteadyCircle
from fourpatch.face.standing_car import StandingCar
from fourpatch.picture.event_film import EventFilm, FilmedRun


def event_film(
    cars: Sequence[StandingCar], names: Sequence[str], event: str, *, caption: str = ""
) -> EventFilm:
    """Put one car, or two, through an event and return its film.

    Parameters
    ----------
    names : what the cars are called in it.
    event : a file, or a kind of event as it is where nothing is set.
    caption : below its title; what B is, if left out.

    Raises
    ------
    FileError, EventError, SolveError
        If there is no such event, it has no course in time, or a car cannot be put through it.
    """
    asked = event_by_name(event)
    if isinstance(asked, SteadyCircle):
        raise EventError(
            "steady-circle is a row of steady turns, in which nothing moves. Choose step-steer or corner."
        )
    made = [car.run(asked) for car in cars]
    # Of a braking in a turn the hardest braking that was tried.
    filmed = tuple(
        FilmedRun(name=name[:1] if len(names) > 1 else name, car=car.standing, run=one.dataset.isel(setup=-1))
        for name, car, one in zip(names, cars, made, strict=True)
    )
    told = caption or "; ".join(name for name in names if name != "A" and len(names) > 1)
    said = str(filmed[0].run.attrs["event"])
    return EventFilm(
        filmed, kind=asked.kind, title=f"{cars[0].car.name}: {said}", source=made[0].source, caption=told
    )


def event_by_name(name: str) -> Event:
    """Return an event of a file, or of a kind as it is where nothing is set.

    Raises
    ------
    FileError
        If there is neither, or the kind needs to be told something.
    """
    if name not in EVENTS:
        if Path(name).suffix or Path(name).exists():
            return load_event(name)
        raise FileError(f"{name} is no event. Write an event file, or one of {', '.join(EVENTS)}.")
    kind = EVENTS[name]
    if any(field.is_required() for field in kind.model_fields.values()):
        raise FileError(f"{name} has to be told more than its name: write an event file.")
    return kind.model_validate({})
