"""A kerb or a rough road: what it does to the four contact patches, the dampers and the body, B against A."""

from collections.abc import Mapping
from typing import Literal

import numpy as np
from numpy.typing import NDArray
from pydantic import BaseModel, Field

from fourpatch.analysis import contact_patch_load, damper_speed
from fourpatch.analysis.contact_patch_load import CORNERS
from fourpatch.analysis.damper_speed import BIN_WIDTH, SPLIT, damper_speed_numbers, middles
from fourpatch.analysis.workout import Outcome
from fourpatch.app.answers.number import Histories, Lines, Number, finite, paired_lines
from fourpatch.events.kerb_strike import KerbStrike
from fourpatch.events.rough_road import RoughRoad
from fourpatch.picture.bump_meaning import bump_meaning, speed_meaning

Array = NDArray[np.float64]

AXLES = {"front": slice(0, 2), "rear": slice(2, 4)}

WORST_WHEEL = ("longest_flight", "largest_load", "least_load", "stop_hits")
"""Of an axle is shown what its worse wheel does; of all else the mean of both."""

AXLE_QUANTITIES = (
    "grip_lost",
    "load_variation",
    "time_off_ground",
    "longest_flight",
    "stop_contact",
    "stop_hits",
    "least_load",
    "largest_load",
)
BODY_QUANTITIES = (
    "body_throw",
    "body_acceleration_peak",
    "body_acceleration_rms",
    "body_acceleration_felt",
    "roll_peak",
)
PLATFORM_QUANTITIES = ("height_least", "height_rms", "floor_strikes", "downforce_lost")
"""Of each axle, though they are the body's."""

DAMPER_QUANTITIES = (
    "low_bump",
    "high_bump",
    "low_rebound",
    "high_rebound",
    "mean_bump_speed",
    "mean_rebound_speed",
)

LINE_UNITS = {
    "road_height": "m",
    "tyre_load": "N",
    "travel": "m",
    "damper_speed": "m/s",
    "heave": "m",
    "pitch": "rad",
    "roll": "rad",
}


class RoadAsked(BaseModel):
    """A random road of a class of ISO 8608."""

    road_class: Literal["A", "B", "C", "D", "E", "F", "G", "H"] = Field(
        default="B", description="Of ISO 8608."
    )
    speed: float = Field(default=40.0, ge=2.0, le=110.0, description="Held throughout. [m/s]")
    seed: int = Field(default=1, ge=0, le=1_000_000, description="The same seed lays the same bumps.")

    def event(self) -> RoughRoad:
        """Return the event."""
        return RoughRoad(road_class=self.road_class, speed=self.speed, seed=self.seed)


class Histogram(BaseModel):
    """Share of the time at each damper speed, with B and with A."""

    place: str = Field(description="FL, FR, RL or RR.")
    value: list[float] = Field(description="With B, one share per bin.")
    reference: list[float] = Field(description="With A.")


class BumpsAnswer(BaseModel):
    """A kerb or a road in numbers, B against A."""

    name: str = Field(description="The event, as a heading.")
    numbers: list[Number]
    damper_speeds: list[float] = Field(description="Middles of the histogram's bins, bump positive. [m/s]")
    bin_width: float = Field(default=BIN_WIDTH, description="[m/s]")
    split: float = Field(default=SPLIT, description="Damper speed that parts low from high. [m/s]")
    histograms: list[Histogram]
    meaning: str = Field(description="What B does, in words.")
    damper_meaning: str = Field(description="How fast B's dampers move, in words.")
    against_a: str = Field(description="What B changes against A, in words; empty if it changes nothing.")
    histories: Histories | None = None
    computed_on: str = Field(default="rig", description="Rig or drive.")


def event_name(event: KerbStrike | RoughRoad) -> str:
    """Return an event as a heading."""
    speed = f"{event.speed * 3.6:.0f} km/h"
    if isinstance(event, RoughRoad):
        return f"Class {event.road_class} road at {speed}"
    wheels = "all wheels" if event.side == "both" else f"the {event.side} wheels"
    return f"{event.shape.capitalize()} kerb, {event.height * 1e3:.0f} mm, under {wheels} at {speed}"


def bumps_answer(
    event: KerbStrike | RoughRoad, b: Outcome, a: Outcome, *, histories: bool = False
) -> BumpsAnswer:
    """Return the numbers of a kerb or road, and the lines in time if wanted."""
    of_b, of_a = damper_numbers(b), damper_numbers(a)
    numbers = [_axle(name, axle, b.numbers, a.numbers) for name in AXLE_QUANTITIES for axle in AXLES]
    numbers += [_platform(name, axle, b, a) for name in PLATFORM_QUANTITIES for axle in AXLES]
    numbers += [_axle(name, axle, of_b, of_a) for name in DAMPER_QUANTITIES for axle in AXLES]
    numbers += [_number(name, "", b.numbers[name], a.numbers[name]) for name in BODY_QUANTITIES]
    dataset = contact_patch_load.labelled(_of_cars(b.numbers), ["one"], event="").isel(setup=0, drop=True)
    dampers = damper_speed.labelled(_of_cars(of_b), ["one"], event="", split=SPLIT).isel(setup=0, drop=True)
    return BumpsAnswer(
        name=event_name(event),
        numbers=numbers,
        damper_speeds=middles().tolist(),
        histograms=[
            Histogram(place=corner, value=of_b["share"][k].tolist(), reference=of_a["share"][k].tolist())
            for k, corner in enumerate(CORNERS)
        ],
        meaning=bump_meaning(dataset),
        damper_meaning=speed_meaning(dampers),
        against_a=_against_a(numbers),
        histories=bumps_histories(b, a) if histories else None,
    )


def damper_numbers(outcome: Outcome) -> dict[str, Array]:
    """Return how long one car's dampers move at which speed, past the lead-in; (4,) each."""
    trace = outcome.history
    measured = trace.time >= trace.phases[1].start - 1e-9
    numbers = damper_speed_numbers(np.ascontiguousarray(trace.damper_speed[measured])[None])
    return {name: values[0] for name, values in numbers.items()}


def bumps_lines(outcome: Outcome) -> Lines:
    """Return the lines of one car in time, by quantity and place."""
    trace = outcome.history
    lines: dict[tuple[str, str], Array] = {}
    for name in ("road_height", "tyre_load", "travel", "damper_speed"):
        values = getattr(trace, name)
        lines |= {(name, corner): values[:, k] for k, corner in enumerate(CORNERS)}
    return {**lines, **{(name, ""): getattr(trace, name) for name in ("heave", "pitch", "roll")}}


def bumps_histories(b: Outcome, a: Outcome) -> Histories:
    """Return the lines of both cars in time."""
    trace = b.history
    return Histories(
        time=trace.time.tolist(),
        phases=[(phase.name, phase.start, phase.end) for phase in trace.phases],
        lines=paired_lines(bumps_lines(b), bumps_lines(a), LINE_UNITS),
    )


_UNITS = contact_patch_load.UNITS | damper_speed.UNITS


def _number(quantity: str, place: str, value: Array, reference: Array, *, of: str = "") -> Number:
    unit, meaning = _UNITS[of or quantity]
    return Number(
        quantity=quantity,
        place=place,
        value=finite(float(value)),
        reference=finite(float(reference)),
        unit=unit,
        meaning=meaning,
    )


def _axle(quantity: str, axle: str, b: Mapping[str, Array], a: Mapping[str, Array]) -> Number:
    """Return the number of an axle: of its worse wheel, or the mean of both."""
    wheels = AXLES[axle]

    def of_axle(numbers: Mapping[str, Array]) -> Array:
        both = numbers[quantity][wheels]
        if quantity == "least_load":
            return np.asarray(both.min())
        return np.asarray(both.max() if quantity in WORST_WHEEL else both.mean())

    found = _number(quantity, axle, of_axle(b), of_axle(a))
    whose = "worse wheel" if quantity in WORST_WHEEL else "mean of both wheels"
    return found.model_copy(update={"meaning": f"{found.meaning}; {whose}"})


def _platform(quantity: str, axle: str, b: Outcome, a: Outcome) -> Number:
    name = f"{axle}_{quantity}"
    return _number(quantity, axle, b.numbers[name], a.numbers[name], of=name)


def _of_cars(numbers: Mapping[str, Array]) -> dict[str, Array]:
    return {name: np.asarray(values)[None] for name, values in numbers.items()}


_SEEN = 5e-5
"""Change of grip lost from which on it is spoken of. [1]"""


def _against_a(numbers: list[Number]) -> str:
    said = []
    for axle in AXLES:
        lost = next(one for one in numbers if (one.quantity, one.place) == ("grip_lost", axle))
        if lost.change is not None and lost.reference and abs(lost.change) >= _SEEN:
            verb = "costs" if lost.change > 0.0 else "gives back"
            said.append(
                f"B {verb} the {axle} tyres {100.0 * abs(lost.change):.2f} points of lateral grip "
                f"({100.0 * lost.reference:.2f} % lost with A)"
            )
    throw = next(one for one in numbers if one.quantity == "body_throw")
    if throw.change is not None and abs(throw.change) >= 5e-5:
        higher = "higher" if throw.change > 0.0 else "less"
        said.append(f"the body is thrown {1e3 * abs(throw.change):.1f} mm {higher}")
    return "; ".join(said) + "." if said else ""
