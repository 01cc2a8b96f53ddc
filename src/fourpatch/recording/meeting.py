"""A race meeting or a test day as a driver notes it: sessions, runs, conditions, laps and what was said."""

from collections.abc import Iterator
from datetime import date
from typing import Annotated, Literal, NamedTuple, Self

from pydantic import Field, field_validator, model_validator

from fourpatch.document.part import Part
from fourpatch.errors import RecordingError
from fourpatch.recording.timed_laps import TimedLap, read_run
from fourpatch.units import Unit

Temperature = Annotated[float, Unit("K", "degC", 233.15, 373.15)]
WindSpeed = Annotated[float, Unit("m/s", "km/h", 0.0, 60.0)]
Fuel = Annotated[float, Unit("kg", "kg", 0.0, 500.0)]
Line = Annotated[str, Field(max_length=300)]
Text = Annotated[str, Field(max_length=20_000)]
Position = Annotated[float, Field(allow_inf_nan=False)]

Phase = Literal["", "braking", "entry", "mid", "exit"]
Outcome = Literal["", "worked", "no change", "worse"]


class Remark(Part):
    """What a driver said of one place."""

    corner: Line = ""
    """Which corner: its number or name; empty for all."""
    phase: Phase = ""
    """Which phase of it."""
    text: Text
    """In the driver's words."""


class RunNotes(Part):
    """From one time in the pits to the next."""

    name: Line = ""
    """What it is called; else its number."""
    setup: Line = ""
    """Name of the set-up."""
    values: Annotated[dict[str, Position], Field(max_length=200)] = Field(default_factory=dict)
    """Where each adjuster stood, by its name, on the driver's own scale."""
    tyres: Line = ""
    """Which set."""
    tyre_laps: Annotated[int, Field(ge=0, le=10_000)] | None = None
    """Laps the set had done before."""
    fuel: Fuel | None = None
    """At the start."""
    laps: Text = ""
    """Lap times, "1:35.41 1:35.18x", x at one that does not count; or a table whose head names time, and
    sectors or corners."""
    remarks: Annotated[list[Remark], Field(max_length=200)] = Field(default_factory=list)
    """What the driver said, by corner and phase."""
    tried: Text = ""
    """What was changed for this run, and why."""
    outcome: Outcome = ""
    """What came of it."""
    note: Text = ""
    """Anything else."""


class SessionNotes(Part):
    """A practice, a qualifying, a race, or a part of a test day, with its conditions."""

    name: Line = ""
    """What it is called; else its number."""
    start: Line = ""
    """When it began, by the clock."""
    track_state: Line = ""
    """Dry, damp, wet, green, rubbered in."""
    air_temperature: Temperature | None = None
    """Of the air."""
    track_temperature: Temperature | None = None
    """Of the track's surface."""
    wind_speed: WindSpeed | None = None
    """Of the wind."""
    wind_from: Line = ""
    """Where the wind came from."""
    note: Text = ""
    """Anything else."""
    runs: Annotated[list[RunNotes], Field(max_length=500)] = Field(default_factory=list)
    """In the order they were driven."""


class NumberedRun(NamedTuple):
    """A run with its place in the meeting."""

    number: int
    """Counted from 1 through all sessions."""
    session: SessionNotes
    run: RunNotes

    @property
    def called(self) -> str:
        """Its name, or its number."""
        return self.run.name or f"run {self.number}"

    @property
    def label(self) -> str:
        """What its set-up is called among laps."""
        return self.run.setup or "set-up not named"


class Meeting(Part):
    """A race meeting or a test day. All but its name may be left out."""

    name: Annotated[str, Field(min_length=1, max_length=80)]
    """What it is called."""
    date: Annotated[str, Field(max_length=10)] = ""
    """Its first day, 2026-04-03."""
    track: Line = ""
    """Name of the track."""
    car: Line = ""
    """Name of the car."""
    driver: Line = ""
    """Who drove."""
    note: Text = ""
    """Anything else."""
    next_time: Text = ""
    """What to begin with next time, here or with this car."""
    sessions: Annotated[list[SessionNotes], Field(max_length=100)] = Field(default_factory=list)
    """In their order."""

    @field_validator("date")
    @classmethod
    def _is_a_day(cls, value: str) -> str:
        if value:
            try:
                date.fromisoformat(value)
            except ValueError:
                raise ValueError('is no day: write year, month and day, "2026-04-03"') from None
        return value

    @model_validator(mode="after")
    def _laps_can_be_read(self) -> Self:
        for one in self.runs():
            if one.run.laps.strip():
                try:
                    read_run(one.run.laps, run=one.number, setup=one.label, name=one.called)
                except RecordingError as error:
                    raise ValueError(f"has laps that cannot be read: {error}") from None
        return self

    def runs(self) -> Iterator[NumberedRun]:
        """Yield all runs in their order."""
        number = 0
        for session in self.sessions:
            for run in session.runs:
                number += 1
                yield NumberedRun(number, session, run)

    def laps(self) -> tuple[TimedLap, ...]:
        """Return the laps of all runs whose laps were noted."""
        return tuple(
            lap
            for one in self.runs()
            if one.run.laps.strip()
            for lap in read_run(one.run.laps, run=one.number, setup=one.label, name=one.called)
        )


def differing(before: RunNotes, after: RunNotes) -> list[tuple[str, float | None, float | None]]:
    """Return the adjusters that stood elsewhere in two runs: name, before, after; None where not noted."""
    names = dict.fromkeys([*before.values, *after.values])
    return [
        (name, before.values.get(name), after.values.get(name))
        for name in names
        if before.values.get(name) != after.values.get(name)
    ]
