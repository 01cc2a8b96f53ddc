"""Rules of thumb as a file: ours, and those that a user adds; read and refused as car files are."""

import difflib
import os
import re
from collections.abc import Iterator, Sequence
from functools import cache, partial
from pathlib import Path
from typing import Annotated, Literal, cast

from pydantic import Field

from fourpatch.advice.rules.claim_words import claim_words
from fourpatch.advice.rules.quantities import QUANTITIES
from fourpatch.advice.rules.rule import (
    CORNERS,
    KERBS,
    ROADS,
    TURN_INS,
    Change,
    Claim,
    Damping,
    Rule,
    Shift,
    Subject,
    Way,
)
from fourpatch.analysis.damper_map import Part as SpeedRange
from fourpatch.car.car import Car
from fourpatch.car.sections import sections
from fourpatch.document.fault import Fault
from fourpatch.document.fields import unit_of
from fourpatch.document.part import Part
from fourpatch.document.reading import read_file
from fourpatch.document.refusals import read_part
from fourpatch.units import Unit

FACTOR = Unit("1", "1", 0.05, 20.0)
RATIO = Unit("1", "1", 0.05, 20.0)

Name = Annotated[str, Field(min_length=1, max_length=80)]
Factors = dict[str, Annotated[float, FACTOR]]
"""By parameter, ``front.bar.rate``, or by damper: ``front bump``, ``rear high-speed rebound``."""

FAMILIES = {
    "corners": CORNERS,
    "turn-ins": TURN_INS,
    "roads": ROADS,
    "rough roads": ROADS[1:],
    "kerbs": KERBS,
    "step steer": ("step steer",),
}
"""Events of a kind by one word."""

_DAMPER = re.compile(r"^(front|rear) (?:(high|low)-speed )?(bump|rebound)$")
_WINDOW = re.compile(r"^(braking|entry|mid|exit)(\.(early|late))?$")


class ChangeWritten(Part):
    """What is changed on the car."""

    name: Name
    """As a driver would say it, with its size."""
    times: Factors = Field(default_factory=dict)
    """Factors on parameters and on the damping of an axle."""
    divided_by: Factors = Field(default_factory=dict)
    """The same, dividing."""
    plus: dict[str, str] = Field(default_factory=dict)
    """Amounts added to parameters, each with its unit."""
    ratio: Annotated[float, RATIO] | None = None
    """Rebound over bump given to both axles, the sum of the two kept."""


class BackWritten(ChangeWritten):
    """The change the other way; with a name alone it is the change as said, turned round."""


class ClaimWritten(Part):
    """One thing the rule says will happen."""

    quantity: str
    """The number that answers the change."""
    way: Way
    """How it is said to answer."""
    axle: Literal["", "front", "rear"] = ""
    """Of a number that each axle has."""
    windows: list[str] = Field(default_factory=list)
    """Phases of the corners, or halves of them: mid, entry.early."""
    events: list[str] = Field(default_factory=list)
    """Where, if not in all that the number is of: corners, turn-ins, roads, kerbs, or some of them."""


class RuleWritten(Part):
    """A rule of thumb."""

    name: Annotated[str, Field(min_length=1, max_length=60, pattern=r"^[a-z0-9-]+$")]
    """Small letters with hyphens between."""
    subject: Subject
    """System of the car it speaks of."""
    saying: Annotated[str, Field(min_length=1, max_length=400)]
    """The rule in a sentence."""
    change: ChangeWritten
    """The change it speaks of."""
    back: BackWritten
    """The change the other way; it is said to do the opposite."""
    before: ChangeWritten | None = None
    """From where both are counted, if not from the car as it stands."""
    claims: Annotated[list[ClaimWritten], Field(min_length=1)]
    """What is said to happen; the first is what the rule is used for."""


class RuleBook(Part):
    """A file of rules."""

    rules: Annotated[list[RuleWritten], Field(min_length=1)]
    """Each with what it says and how that is seen."""


def load_rules(path: str | os.PathLike[str]) -> tuple[Rule, ...]:
    """Read a file of rules.

    Raises
    ------
    FileError
        If the file cannot be read or says something that cannot be meant: all of it, a paragraph each, with
        line, key, value, what is allowed and a remedy.
    """
    book = read_file(Path(path), partial(read_part, RuleBook), checks=(_faults,))
    return tuple(map(_rule, book.rules))


# What a reader of the types cannot see


def _faults(book: RuleBook) -> Iterator[Fault]:
    names = [one.name for one in book.rules]
    for place, one in enumerate(book.rules):
        at = ("rules", place)
        if names.index(one.name) != place:
            yield Fault((*at, "name"), f'is "{one.name}" a second time. Give each rule a name of its own.')
        for part, change in (("change", one.change), ("back", one.back), ("before", one.before)):
            if change is not None:
                yield from (Fault((*at, part, *key), text) for key, text in _change_faults(change))
        if not any((one.change.times, one.change.divided_by, one.change.plus, one.change.ratio)):
            yield Fault((*at, "change"), "changes nothing. Add times, divided_by, plus or ratio.")
        for number, claim in enumerate(one.claims):
            yield from (Fault((*at, "claims", number, *key), text) for key, text in _claim_faults(claim))


def _change_faults(change: ChangeWritten) -> Iterator[Fault]:
    for table in ("times", "divided_by"):
        for name in getattr(change, table):
            if not _DAMPER.match(name) and name not in _units():
                yield Fault((table, name), _unknown(name, [*_units(), *_dampers()]))
    for name, text in change.plus.items():
        if name not in _units():
            yield Fault(("plus", name), _unknown(name, list(_units())))
            continue
        try:
            _units()[name].parse_difference(text)
        except ValueError as error:
            yield Fault(("plus", name), str(error))


def _claim_faults(claim: ClaimWritten) -> Iterator[Fault]:
    known = [name for name, kind in QUANTITIES.items() if kind.events]
    if claim.quantity not in known:
        yield Fault(("quantity",), _unknown(claim.quantity, known))
        return
    kind = QUANTITIES[claim.quantity]
    if claim.way == "smoother is wider" and claim.quantity != "grip_lost":
        yield Fault(("way",), "is of grip_lost alone: of the ratios of a damper that cost hardly any of it.")
    if kind.by_axle and not claim.axle:
        yield Fault(("axle",), f"is missing: each axle has its {claim.quantity}. Add axle, front or rear.")
    if claim.axle and not kind.by_axle:
        yield Fault(("axle",), f'is "{claim.axle}", and {claim.quantity} is of the whole car. Leave it out.')
    yield from _place_faults(claim)


def _place_faults(claim: ClaimWritten) -> Iterator[Fault]:
    places, there = _events(claim), [event for family in FAMILIES.values() for event in family]
    for name in places:
        if name not in there:
            yield Fault(("events",), _unknown(name, [*FAMILIES, *there]))
        elif name not in QUANTITIES[claim.quantity].events:
            yield Fault(("events",), f'has "{name}", where {claim.quantity} is not measured. Leave it out.')
    for window in claim.windows:
        if not _WINDOW.match(window):
            yield Fault(("windows",), f'has "{window}". Write braking, entry, mid or exit, or entry.early.')
    cornering = bool({*places} & {*CORNERS, *TURN_INS})
    if cornering and not claim.windows:
        yield Fault(
            ("windows",), "is missing. Add the phases of the corners that are looked at, such as mid."
        )
    if claim.windows and not cornering:
        yield Fault(("windows",), "is of corners, and none is among the events. Leave it out.")


def _unknown(name: str, known: Sequence[str]) -> str:
    near = difflib.get_close_matches(name, known, n=3, cutoff=0.5)
    remedy = f"Did you mean {' or '.join(near)}?" if near else f"Known are {', '.join(known[:12])} and so on."
    return f'is "{name}", which is not known. {remedy}'


def _dampers() -> list[str]:
    ranges = ("", "high-speed ", "low-speed ")
    return [
        f"{axle} {part}{way}" for axle in ("front", "rear") for part in ranges for way in ("bump", "rebound")
    ]


@cache
def _units() -> dict[str, Unit]:
    """Return the unit of every parameter that a car may have, by its dotted name."""
    return {
        f"{section.path}.{name}".lstrip("."): unit
        for section in sections(Car)
        for name, field in section.part.model_fields.items()
        if (unit := unit_of(field))
    }


# From what is written to what is computed


def _rule(one: RuleWritten) -> Rule:
    change = _change(one.change)
    back = _change(one.back)
    turned = _turned(change, back.name) if back == Change(name=back.name) else back
    return Rule(
        name=one.name,
        subject=one.subject,
        saying=one.saying,
        change=change,
        back=turned,
        before=None if one.before is None else _change(one.before),
        claims=tuple(map(_claim, one.claims)),
    )


def _change(written: ChangeWritten) -> Change:
    factors = written.times | {name: 1.0 / one for name, one in written.divided_by.items()}
    dampings: dict[tuple[str, str], dict[str, float]] = {}
    for name, factor in factors.items():
        if found := _DAMPER.match(name):
            dampings.setdefault((found[1], found[2] or "all"), {})[found[3]] = factor
    return Change(
        name=written.name,
        dampers=tuple(
            Damping(cast(Literal["front", "rear"], axle), part=cast(SpeedRange, part), **ways)
            for (axle, part), ways in dampings.items()
        ),
        shifts=(
            *(Shift(name, one, "times") for name, one in factors.items() if not _DAMPER.match(name)),
            *(
                Shift(name, _units()[name].parse_difference(one), "plus")
                for name, one in written.plus.items()
            ),
        ),
        ratio=written.ratio,
    )


def _turned(change: Change, name: str) -> Change:
    """Return a change the other way."""
    return Change(
        name=name,
        dampers=tuple(one._replace(bump=1.0 / one.bump, rebound=1.0 / one.rebound) for one in change.dampers),
        shifts=tuple(
            one._replace(amount=1.0 / one.amount if one.how == "times" else -one.amount)
            for one in change.shifts
        ),
        ratio=None if change.ratio is None else 1.0 / change.ratio,
    )


def _events(claim: ClaimWritten) -> tuple[str, ...]:
    written = claim.events or [QUANTITIES[claim.quantity].usual]
    return tuple(event for name in written for event in FAMILIES.get(name, (name,)))


def _claim(written: ClaimWritten) -> Claim:
    windows = tuple(written.windows) or ("",)
    return Claim(
        says=claim_words(written.quantity, written.axle, written.way, windows),
        about=QUANTITIES[written.quantity].about,
        quantity=written.quantity,
        axle=written.axle,
        way=written.way,
        events=_events(written),
        windows=windows,
    )
