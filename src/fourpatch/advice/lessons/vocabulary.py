"""What may stand in a place of a lesson's text: names of the car, numbers at rest, numbers of events."""

import difflib
from collections.abc import Iterator
from functools import cache

import numpy as np
from numpy.typing import NDArray

from fourpatch.advice.lessons.hands import DRIVEN_HARDLY, driven_measures
from fourpatch.advice.rules.quantities import QUANTITIES, hardly
from fourpatch.analysis.event_measures import Measure, bumps_described, corner_described
from fourpatch.analysis.quantity import Axles, Findings, measure_of_field
from fourpatch.analysis.standard_events import CORNER_RADII
from fourpatch.analysis.statics import Statics

AT_REST, NOW = "at rest", "now"
EFFECTS = ("said", "back")
"""Of one step as the lesson speaks of it, and of one the other way."""

OWN, OTHER = "own", "other"
"""The end of the car that the adjuster acts on, and the other one."""

OF_ADJUSTER = {
    "adjuster": "its name",
    "stands": "where it stands",
    "scale": "from where to where it goes",
    "said": "one step as the lesson speaks of it, with where it leads",
    "back": "one step the other way",
    "end": "front or rear, whichever it acts on",
    "other end": "the other of the two",
}
"""Names of the adjuster."""

BUMPS = ("rough road", "kerb")
"""Standard events that are no corners."""

LIMIT_OF = {
    **{name: name for name in QUANTITIES},
    **dict.fromkeys(("early_balance", "late_balance", "balance_swing"), "balance"),
    **dict.fromkeys(("longitudinal_use", "front_transfer_share"), "use"),
    **dict.fromkeys(("elastic_transfer", "damper_transfer", "geometric_transfer"), "lateral_transfer"),
    **dict.fromkeys(("axle_load_swing", "axle_load_peak"), "axle_load"),
    **dict.fromkeys(("grip_left", "load_variation", "time_off_ground", "stop_contact"), "grip_lost"),
    **dict.fromkeys(("front_height_least", "rear_height_least"), "ride_height"),
}
"""Whose limit of what is hardly measurable holds for a quantity; others are not spoken of in lessons."""


@cache
def event_measures() -> dict[str, Measure]:
    """Return every measure of events that a lesson may speak of, by dotted name."""
    described = [one for name in CORNER_RADII for one in corner_described(name)]
    described += [one for name in BUMPS for one in bumps_described(name)]
    described = [one for one in described if one.quantity in LIMIT_OF]
    return {one.name: one for one in (*described, *driven_measures())}


def hardly_measurable(measure: Measure, vector: NDArray[np.float64]) -> float:
    """Return the change of a measure below which it is hardly measurable, in its unit.

    Parameters
    ----------
    vector : (N_PARAMETER,) of the car as it stands.
    """
    if measure.quantity in DRIVEN_HARDLY:
        return DRIVEN_HARDLY[measure.quantity]
    return hardly(LIMIT_OF[measure.quantity], measure.axle, vector)


def is_balance(measure: Measure) -> bool:
    """Say whether a measure is a balance: above zero is towards understeer."""
    return LIMIT_OF.get(measure.quantity) == "balance"


@cache
def rest_names() -> tuple[str, ...]:
    """Return every number at rest: dotted names, per axle with ``front`` or ``rear`` at the end."""
    return tuple(_rest(Statics))


def _rest(model: type[Findings], above: str = "") -> Iterator[str]:
    for name, field in model.model_fields.items():
        kind = field.annotation
        if isinstance(kind, type) and issubclass(kind, Findings):
            yield from _rest(kind, f"{above}{name}.")
        elif kind is Axles:
            yield from (f"{above}{name}.{end}" for end in Axles._fields)
        elif kind is float and measure_of_field(model, name):
            yield f"{above}{name}"


def at_end(name: str, end: str) -> str:
    """Return a dotted name with ``own`` and ``other`` as front and rear.

    Parameters
    ----------
    end : front or rear: the adjuster's own.
    """
    stem, _, last = name.rpartition(".")
    if last not in (OWN, OTHER):
        return name
    rear = (end == "rear") == (last == OWN)
    return f"{stem}.{'rear' if rear else 'front'}"


def what_measure(place: str) -> str:
    """Return the measure of an event that a place speaks of; nothing if it speaks of none."""
    kind, _, name = place.partition(": ")
    return name if kind in (NOW, *EFFECTS) else ""


def needs_adjuster(place: str) -> bool:
    """Say whether a place can be filled only where something is turned."""
    kind, _, name = place.partition(": ")
    return (not name and kind != "car") or kind in EFFECTS or name.rpartition(".")[2] in (OWN, OTHER)


def refusal(place: str) -> str:
    """Return why a place can be filled on no car, with a remedy; nothing if it can."""
    kind, colon, name = place.partition(": ")
    if not colon:
        known = ["car", *OF_ADJUSTER]
        return "" if place in known else f"nothing is called that.{_near(place, known)}"
    if kind not in (AT_REST, NOW, *EFFECTS):
        return f"before the colon stands at rest, now, said or back, not {kind}."
    known = list(rest_names() if kind == AT_REST else event_measures())
    if at_end(name, "front") in known:
        return ""
    return f"{name} is no number {'at rest' if kind == AT_REST else 'of an event'}.{_near(name, known)}"


def _near(name: str, known: list[str]) -> str:
    near = difflib.get_close_matches(name, known, n=3, cutoff=0.5)
    return f" Did you mean {' or '.join(near)}?" if near else f" There is for example {known[0]}."
