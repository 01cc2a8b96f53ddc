"""What the words on the pages mean: the trade's, every parameter of a car, every number of a result."""

import difflib
from collections.abc import Iterator
from functools import cache

from pydantic import BaseModel, Field

from fourpatch.advice.rules.quantities import QUANTITIES
from fourpatch.analysis import (
    contact_patch_load,
    damper_speed,
    phase_balance,
    steady_cornering,
    track_corners,
)
from fourpatch.analysis.lap_summary import PROFILE_UNITS
from fourpatch.car.car import Car
from fourpatch.car.sections import sections
from fourpatch.document.meaning import meaning
from fourpatch.errors import NotebookMissing
from fourpatch.picture.shown import measure_of, pretty, words
from fourpatch.runs.channels import COMPUTED
from fourpatch.units import Unit


class Definition(BaseModel):
    """One word."""

    key: str = Field(description="A word of the trade, a parameter's dotted name, or a number's name.")
    name: str = Field(description="As it is said.")
    unit: str = Field(description="In which it is shown; empty if it has none.")
    meaning: str


TERMS = {
    "balance": (
        "points",
        "How much more of its grip the front axle uses than the rear: positive means the front runs out "
        "first (understeer), negative the rear (oversteer).",
    ),
    "points": (
        "",
        "Hundredths of an axle's grip. At 100 points an axle is at its limit; one point of grip is "
        "about half a per cent of corner speed.",
    ),
    "understeer": ("", "The front axle runs out of grip first: the car pushes wide of the line."),
    "oversteer": ("", "The rear axle runs out of grip first: the tail comes round."),
    "use of grip": (
        "%",
        "The force an axle must deliver over the most it can deliver at that instant.",
    ),
    "grip lost": (
        "%",
        "Share of the cornering force at steady load that bumps cost, because load comes and goes "
        "faster than the tyre can follow.",
    ),
    "load": (
        "N",
        "Force with which a tyre is pressed on the road: weight, downforce, and what braking, cornering "
        "and bumps add or take.",
    ),
    "load transfer": (
        "N",
        "Load that moves from the inner to the outer tyres in a turn, or between the axles when braking "
        "and accelerating.",
    ),
    "lateral share": (
        "%",
        "Which part of the load moved across the car the front axle carries. More of it in front means "
        "more understeer.",
    ),
    "attitude": (
        "",
        "How the body and the wheels stand over the road: ride heights, roll, pitch, and camber with them.",
    ),
    "contact patch": (
        "",
        "Where a tyre touches the road; everything the car does goes through four of them.",
    ),
    "braking": ("", "Phase of a corner: full brakes, straight."),
    "entry": ("", "Phase of a corner: the brake is released while the steering is wound on."),
    "mid": ("", "Phase of a corner: steering held, speed about steady."),
    "exit": ("", "Phase of a corner: throttle taken up while the steering is unwound."),
    "standard corners": (
        "",
        "A slow, a medium and a fast corner, braked into, with radii and speeds scaled to what this car "
        "can do.",
    ),
    "turn-in": (
        "",
        "The same corner entered at constant speed, the steering wound on in half a second.",
    ),
    "road class": (
        "",
        "How rough a road is, by ISO 8608: class A is very smooth, B good, C average; from class to "
        "class the bumps double in height.",
    ),
    "kerb": (
        "",
        "A raised edge under the left wheels, ramped or rounded; the short one throws the wheel off, "
        "the long one can be followed.",
    ),
    "rig": (
        "",
        "The car is put through a prescribed motion: the same path and speed for every set-up, so that "
        "only the set-up differs.",
    ),
    "drive": (
        "",
        "The car is driven through the event by a driver model that steers, brakes and accelerates.",
    ),
    "hardly measurable": (
        "",
        "A change too small to count: 0.1 points of balance or of grip over bumps, 0.1 % of a load, 0.1 "
        "mm of ride height. A driver repeats less well than that.",
    ),
    "as said": (
        "",
        "The change a rule speaks of, made to the car as it stands; the other way is its mirror.",
    ),
    "pace": (
        "",
        "How quick the set-up is: lap time on a track, else the mean use of the worse axle at the same "
        "corner speeds. Less is quicker.",
    ),
    "bumps": (
        "points",
        "Grip lost on the surface and, for its share of the time, over the kerb. Less is better.",
    ),
    "calmness": (
        "points",
        "What the rear axle has in hand on entry and at mid-corner, the lesser of the two, mean of all "
        "corners. More is calmer.",
    ),
    "scatter": (
        "points",
        "What a driver's usual unevenness (3 m of brake point, 0.6 % of corner speed, about a degree of his "
        "hands) changes of the use of grip before he corrects it, mean of all corners, of the axle that "
        "feels it more. Less should be more forgiving: a hint, which driven laps bore out for one demo car "
        "of three.",
    ),
    "tyre work": (
        "kJ/km",
        "Work of sliding in the contact patch of the most worked tyre, over the distance driven: of a "
        "lap where a track is chosen, else of the standard corners. Less spares the tyres.",
    ),
    "trade-off": (
        "",
        "Set-ups that no other beats in everything: to gain in one, something else must be given up.",
    ),
    "motion ratio": ("", "Spring or damper travel over wheel travel."),
    "wheel rate": (
        "N/mm",
        "Spring rate seen at the wheel: spring rate times the motion ratio squared.",
    ),
}
"""Words of the trade: unit and meaning. The bounds of what is hardly measurable are those of
`fourpatch.advice.rules.quantities`; road classes are those of ISO 8608:2016."""


@cache
def definitions() -> dict[str, Definition]:
    """Return every word by its key; a word of the trade comes before a number of the same name."""
    found: dict[str, Definition] = {}
    for one in (*_terms(), *_results(), *_parameters()):
        found.setdefault(one.key, one)
    return found


def definition(key: str) -> Definition:
    """Return one word.

    Raises
    ------
    NotebookMissing
        If there is none; the text proposes near ones.
    """
    known = definitions()
    if key not in known:
        near = difflib.get_close_matches(key, known, n=3, cutoff=0.5)
        meant = f"Did you mean {' or '.join(near)}?" if near else "GET /api/words lists all words."
        raise NotebookMissing(f'"{key}" is not explained. {meant}')
    return known[key]


def _terms() -> Iterator[Definition]:
    for key, (unit, said) in TERMS.items():
        yield Definition(key=key, name=key.capitalize(), unit=unit, meaning=said)


def _results() -> Iterator[Definition]:
    tables = (
        phase_balance.UNITS,
        contact_patch_load.UNITS,
        damper_speed.UNITS,
        steady_cornering.UNITS,
        track_corners.UNITS,
        PROFILE_UNITS,
        COMPUTED,
        {name: (kind.unit, kind.meaning) for name, kind in QUANTITIES.items()},
    )
    for table in tables:
        for name, (unit, said) in table.items():
            yield Definition(
                key=name,
                name=words(name).capitalize(),
                unit=pretty(measure_of(unit).shown),
                meaning=_sentence(said),
            )


def _parameters() -> Iterator[Definition]:
    for section in sections(Car):
        if section.path.split(".")[0] == "rear":
            continue  # as the front's
        for name, field in section.part.model_fields.items():
            unit = next((one for one in field.metadata if isinstance(one, Unit)), None)
            if unit is not None:
                path = f"{section.path}.{name}".lstrip(".")
                yield Definition(
                    key=path,
                    name=words(path.replace(".", " ")).capitalize(),
                    unit="" if unit.shown == "1" else pretty(unit.shown),
                    meaning=" ".join(meaning(section.part, name).split()),
                )


def _sentence(text: str) -> str:
    return f"{text[:1].upper()}{text[1:]}."
