"""What a question is: a typed model that computes its answer, and what it is asked about."""

from abc import abstractmethod
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, ClassVar, Literal

from fourpatch.analysis.quantity import Findings
from fourpatch.answers.answer import Answer
from fourpatch.document.part import Part
from fourpatch.long_work import Cancelled, Progress, never, unwatched
from fourpatch.units import Unit

if TYPE_CHECKING:
    import xarray as xr

    from fourpatch.car.setup import Setup
    from fourpatch.events.files import Event
    from fourpatch.face.standing_car import StandingCar
    from fourpatch.recording.raw import RawRecording
    from fourpatch.track.track import Track

SPEED = Unit("m/s", "km/h", 0.0, 150.0)
"""Of a car that may stand."""

Units = Mapping[str, "tuple[str, str] | Units"]
"""Unit and meaning of numbers by name; of numbers that have parts, those of the parts."""
Found = type[Findings] | Units
"""What stands under a key of an answer."""
About = Literal["car", "track", "car on a track", "car, on a track or not"]
"""What may be asked about."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Asked:
    """What a question is about, and who waits for the answer."""

    about: "StandingCar | None" = None
    """The car with its set-up; None where a track alone is asked about."""
    track: "Track | None" = None
    other: "StandingCar | None" = None
    """The same car with another set-up: what it is changed to, or with which it was good."""
    events: "Mapping[str, Event]" = field(default_factory=dict)
    """By name; empty where the standard ones are meant."""
    known: Answer | None = None
    """What was found before it was stopped, to go on from."""
    show: Callable[[Answer], object] | None = None
    """Told what is known so far, if somebody looks on."""
    progress: Progress = unwatched
    cancelled: Cancelled = never

    @property
    def car(self) -> "StandingCar":
        """The car with its set-up."""
        assert self.about is not None
        return self.about

    @property
    def changed(self) -> "StandingCar":
        """The car with the other set-up."""
        assert self.other is not None
        return self.other

    @property
    def on(self) -> "Track":
        """The track."""
        assert self.track is not None
        return self.track


class Question(Part):
    """Base of all questions. The docstring of one says what is asked, its fields what may be set.

    A field is written as the settings of an event are: with its unit and range, what it is if left out, and
    its meaning below it. Command line, HTTP, documents and app are made from that and from what is said here.
    """

    command: ClassVar[str]
    """As typed: ``analyse modes``."""
    question: ClassVar[str]
    """As somebody would ask it: over a picture, and in the list of questions."""
    finds: ClassVar[Mapping[str, Found] | type[Findings]]
    """What stands under each key of the answer, or findings whose own keys those are."""
    by_event: ClassVar[bool] = False
    """Whether it stands there for each event by name."""
    of: ClassVar[About] = "car"
    """What is asked about."""
    of_a_change: ClassVar[bool] = False
    """Whether it is asked about a change of the set-up: what is there, and what it is to be."""
    with_good: ClassVar[bool] = False
    """Whether a set-up may be named with which the car was good."""
    arguments: ClassVar[tuple[str, ...]] = ()
    """Settings that the command line takes as words behind what is asked about, without an option."""
    takes_long: ClassVar[bool] = False
    """Whether who asks is told meanwhile how far it is, and may stop it."""
    writes: ClassVar[tuple[str, ...]] = ()
    """What the command line writes of it beside the answer, of ``history``, ``recording`` and ``setup``."""
    files: ClassVar[frozenset[str]] = frozenset()
    """Settings that name a file: on the command line alone."""
    page: ClassVar[str] = ""
    """Where the app has a page of its own for it; none where it is asked on the page of all questions."""
    events: "ClassVar[tuple[type[Event], ...]]" = ()
    """Kinds of events that it may be asked of; none where no event is asked about."""
    events_for: ClassVar[str] = ""
    """What the events are for, as the beginning of a sentence."""
    drawn: ClassVar[bool] = False
    """Whether there is a picture of the answer."""
    nothing_drawn: ClassVar[str] = "there is no picture of this answer."
    """What is said where one is wanted and there is none."""

    def refuse(self, asked: Asked) -> None:
        """Refuse at once what cannot be asked so, before anything is computed.

        Raises
        ------
        FourpatchError
            If it cannot.
        """

    def computed(self) -> "Question":
        """Return the question without what is only another look at the same computation."""
        return self

    def history(self, asked: Asked, answer: Answer) -> "xr.Dataset":
        """Return what happened against time, of a question that writes it."""
        raise NotImplementedError

    def recording(self, asked: Asked, answer: Answer) -> "RawRecording":
        """Return what sensors would record, of a question that writes it."""
        raise NotImplementedError

    def setup(self, asked: Asked, answer: Answer) -> "Setup":
        """Return the set-up that was found, of a question that writes one."""
        raise NotImplementedError

    @abstractmethod
    def answer(self, asked: Asked) -> Answer:
        """Compute the answer.

        Raises
        ------
        FourpatchError
            If what is asked about cannot be, or the computation does not end in numbers.
        """
        raise NotImplementedError


def at(speed: float) -> str:
    """Return a speed as titles say it."""
    return f"at {speed * 3.6:.0f} km/h" if speed > 0.0 else "at rest"
