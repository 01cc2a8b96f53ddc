"""The table of the bench: balance by phase and corner speed, then what bumps and a kerb cost."""

from pydantic import BaseModel, Field

from fourpatch.analysis.event_measures import CORNER_PHASES, Measure
from fourpatch.analysis.workout import Outcome, Worked, Workout
from fourpatch.events.corner import Corner

ROAD_MEASURES = ("grip_lost.front", "grip_lost.rear", "body_acceleration_rms")
"""What is shown of a rough road."""

KERB_MEASURES = ("grip_lost.front", "grip_lost.rear", "body_throw")
"""What is shown of a kerb."""


class BenchCell(BaseModel):
    """One number of the bench, as it stands and with the reference."""

    event: str = Field(description="Name of the event the number comes from.")
    part: str = Field(description="Phase of a corner; empty for a road or kerb.")
    measure: str = Field(description="Dotted name of the number.")
    value: float = Field(description="With the set-up asked about, in `unit`.")
    reference: float = Field(description="With the reference set-up, in `unit`.")
    unit: str = Field(description="SI, or points.")
    meaning: str = Field(description="One sentence.")

    @property
    def change(self) -> float:
        """Difference from the reference."""
        return self.value - self.reference


class BenchAnswer(BaseModel):
    """All numbers of the bench, and what kept an event from being computed."""

    cells: list[BenchCell]
    errors: dict[str, str] = Field(description="By event: what went wrong and what to do.")
    computed_on: str = Field(default="rig", description="Rig or drive.")


def bench_answer(worked: Worked) -> BenchAnswer:
    """Return the bench's numbers of a car that was put through the standard events."""
    cells = []
    for event, outcome in worked.outcomes.items():
        reference = worked.reference[event]
        for name in _shown(event, outcome):
            measure = next(one for one in outcome.measures if one.name == name)
            cells.append(_cell(measure, outcome.value(name), reference.value(name)))
    return BenchAnswer(cells=cells, errors=dict(worked.errors))


def _shown(event: str, outcome: Outcome) -> list[str]:
    names = {one.name for one in outcome.measures}
    if f"{event}.mid.balance" in names:
        return [f"{event}.{phase}.balance" for phase in CORNER_PHASES]
    return [f"{event}.{name}" for name in (KERB_MEASURES if event == "kerb" else ROAD_MEASURES)]


def _cell(measure: Measure, value: float, reference: float) -> BenchCell:
    return BenchCell(
        event=measure.event,
        part=measure.part,
        measure=measure.name,
        value=value,
        reference=reference,
        unit=measure.unit,
        meaning=measure.meaning,
    )


def corner_notes(workout: Workout) -> dict[str, str]:
    """Return each corner's radius and speed, for the head of its column."""
    return {
        name: f"{event.radius:g} m, {event.speed * 3.6:.0f} km/h"
        for name, event in workout.events.items()
        if isinstance(event, Corner)
    }
