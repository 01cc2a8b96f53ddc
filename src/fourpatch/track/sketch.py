"""A track as one tells it: straights and corners in a few words each, with stated estimates for the rest.

    straight 400 m
    right, second gear, long, opening
    short straight
    left hairpin

What a sketch leaves open is estimated by common practice (no published source); what it takes to make a lap
of it close is spread over what was estimated first, and said.
"""

import difflib
import math
import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from typing import Final, Literal

import numpy as np
from numpy.typing import NDArray

from fourpatch.errors import FieldsError, TrackError
from fourpatch.track.builder import (
    ArcSection,
    ClothoidSection,
    Direction,
    Section,
    SectionLine,
    StraightSection,
    chain_of,
    movement_per_length,
)
from fourpatch.track.centre_line import ClothoidChain
from fourpatch.track.closing import least_change
from fourpatch.track.road import FloatArray
from fourpatch.track.track import ClassSurface, Road, Track, Width
from fourpatch.units import Unit

Shape = Literal["even", "opening", "closing"]

EXAMPLE_SKETCH: Final = """straight 400 m
right, second gear, long, opening
medium straight
left, fourth gear, 45 deg
straight 150 m
right, 60 km/h, 120 deg
long straight
right, third gear
short straight
right, 40 m, 60 deg"""
"""To start from: an invented lap."""

STRAIGHTS: Final[Mapping[str, float]] = {"short": 100.0, "medium": 250.0, "long": 500.0}
"""Length of a straight by its word [m], and by how much it is estimated: a factor of 1.6 either way."""

TURNS: Final[Mapping[str, float]] = {
    "short": math.radians(45.0),
    "medium": math.radians(90.0),
    "long": math.radians(140.0),
    "hairpin": math.radians(180.0),
}
"""By how much a corner turns by its word [rad]; estimated to a quarter of that."""

GEAR_SPEEDS: Final[Mapping[int, float]] = {1: 14.0, 2: 22.0, 3: 31.0, 4: 40.0, 5: 49.0, 6: 58.0}
"""Slowest speed in a corner that is taken in a gear [m/s]: 50, 80, 112, 144, 176, 209 km/h, to a fifth."""

LATERAL: Final = 12.0
"""Lateral acceleration in a corner whose speed is told rather than its radius; 9 to 16 from road tyres to
slicks. [m/s²]"""

OPENING: Final = 1.6
"""How many times the radius at one end of an opening or closing corner is that at the other."""

_BETWEEN = 10.0  # straight put between two corners that follow each other [m]
_LENGTH = Unit("m", "m", 5.0, 10000.0)
_RADIUS = Unit("m", "m", 4.0, 5000.0)
_ANGLE = Unit("rad", "deg", math.radians(5.0), math.radians(330.0))
_SPEED = Unit("m/s", "km/h", 4.0, 100.0)
# How much each may be changed to close a lap, as the logarithm of a factor: one standard deviation.
_TOLD_LENGTH, _GUESSED_LENGTH = 0.3, 0.6
_TOLD_ANGLE, _GUESSED_ANGLE, _EASEMENT = 0.08, 0.35, 0.05
_MOST_CHANGE = 4.0  # times, of a straight that closes a lap
_SAID = 0.02  # share from which on a change is said


@dataclass(frozen=True, slots=True, kw_only=True)
class Straight:
    """A straight of a sketch."""

    length: float
    """[m]"""
    told: bool = True
    """Whether the length was said, not estimated."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Bend:
    """A corner of a sketch."""

    direction: Direction
    radius: float
    """Smallest of the centre line. [m]"""
    angle: float
    """By which it turns. [rad]"""
    shape: Shape = "even"
    told_angle: bool = True
    """Whether the angle was said, not estimated."""
    estimates: tuple[str, ...] = ()
    """What was estimated of it, a clause each."""


Piece = Straight | Bend


@dataclass(frozen=True, slots=True, kw_only=True)
class SketchedLine:
    """The centre line of a sketch, and what had to be estimated and changed for it."""

    line: SectionLine
    estimates: tuple[str, ...]
    """What the sketch left open, a sentence each."""
    changes: tuple[str, ...] = field(default=())
    """What was changed to close a lap, a sentence each."""


def read_sketch(text: str, *, gear_speeds: Mapping[int, float] = GEAR_SPEEDS) -> tuple[Piece, ...]:
    """Read a sketch.

    Parameters
    ----------
    text : a straight or a corner a line, or parted by semicolons; what follows a # is passed over. A corner
        says left or right, and may say: a radius, a gear or a speed; an angle, or short, medium, long,
        hairpin; even, opening or closing. A straight may say its length, or short, medium or long.
    gear_speeds : slowest speed in a corner by gear, of a car if it is known. [m/s]

    Raises
    ------
    FieldsError
        With all lines that cannot be read, by their number.

    >>> [type(one).__name__ for one in read_sketch("straight 300 m; left, 60 m, 90 deg; right hairpin")]
    ['Straight', 'Bend', 'Bend']
    """
    pieces: list[Piece] = []
    faults: dict[str, str] = {}
    number = 0
    lines = ";".join(line.partition("#")[0] for line in text.splitlines())
    for said in filter(None, (part.strip() for part in lines.split(";"))):
        number += 1
        try:
            pieces.append(_read_piece(said, gear_speeds))
        except ValueError as error:
            faults[f"piece {number}"] = f'"{said[:60]}": {error}'
    if not pieces and not faults:
        faults["sketch"] = (
            'is empty. Write a straight or a corner a line: "straight 300 m", "left, third gear".'
        )
    if faults:
        raise FieldsError(faults)
    return tuple(pieces)


_ORDER = ("first", "second", "third", "fourth", "fifth", "sixth")
_GEARS = {word: place for place, word in enumerate(_ORDER, start=1)} | {"1st": 1, "2nd": 2, "3rd": 3}
_GEARS |= {f"{place}th": place for place in (4, 5, 6)}
_GEAR = re.compile(rf"\b(?:({'|'.join(_GEARS)})\s+gear|gear\s+(\d)|(\d)\.?\s*gear)\b")
_QUANTITY = re.compile(
    r"(?:\b(radius|r)\s*)?([-+]?\d+(?:[.,]\d+)?)\s*(km/h|kph|mph|m/s|mm|km|m|ft|deg(?:rees?)?|°)?(?!\w)"
)
_SHAPES: Mapping[Shape, tuple[str, ...]] = {
    "opening": ("opening", "opens", "open"),
    "closing": ("closing", "closes", "tightening", "tightens"),
    "even": ("even", "constant"),
}
_SPEEDS = {"km/h", "kph", "mph", "m/s"}
_PASSED_OVER = frozenset("a an the corner bend turn about then in of and with at gear radius".split())


def _read_piece(said: str, gear_speeds: Mapping[int, float]) -> Piece:
    """Read one line, or say in the rest of a sentence what is wrong with it."""
    gear, rest = _gear_of(said.lower())
    quantities, rest = _quantities_of(rest)
    words = [word for word in re.split(r"[\s,.]+", rest) if word and word not in _PASSED_OVER]
    sides: list[Direction] = [side for side in ("left", "right") if side in words]
    if "straight" in words:
        return _straight(words, quantities, gear, sides)
    known = {*TURNS, "left", "right", *(word for group in _SHAPES.values() for word in group)}
    odd = [word for word in words if word not in known]
    near = difflib.get_close_matches(odd[0], [*known, "straight"], n=1, cutoff=0.6) if odd else []
    if near:
        raise ValueError(f'"{odd[0]}" is no word known here. Did you mean {near[0]}?')
    if len(sides) != 1:
        what = "says both left and right" if sides else "says neither straight nor left nor right"
        raise ValueError(f"{what}. Write one of them.")
    if odd:
        raise ValueError(
            f'"{odd[0]}" is no word of a corner. Known are a gear, a radius in m, a speed in km/h, an angle '
            "in deg, short, medium, long, hairpin, even, opening, closing."
        )
    return _bend(sides[0], words, quantities, gear, gear_speeds)


def _gear_of(rest: str) -> tuple[int | None, str]:
    match = _GEAR.search(rest)
    if not match:
        return None, rest
    gear = _GEARS[match[1]] if match[1] else int(match[2] or match[3])
    return gear, rest[: match.start()] + " " + rest[match.end() :]


def _quantities_of(rest: str) -> tuple[dict[str, float], str]:
    """Return lengths, angles and speeds of a line in SI, by kind, and what is left of it."""
    found: dict[str, float] = {}

    def take(match: re.Match[str]) -> str:
        number, unit = match[2].replace(",", "."), match[3] or ""
        if not unit and not match[1]:
            raise ValueError(
                f'"{match[2]}" has no unit. Write {number} m if a length, {number} deg if an angle.'
            )
        if unit.startswith("deg") or unit == "°":
            kind, value = "angle", _ANGLE.check(_ANGLE.parse(f"{number} deg"), written=f"{number} deg")
        elif unit in _SPEEDS:
            written = f"{number} {'km/h' if unit == 'kph' else unit}"
            kind, value = "speed", _SPEED.check(_SPEED.parse(written), written=written)
        else:
            kind, value = "length", _LENGTH.parse(f"{number} {unit or 'm'}")
        if kind in found:
            raise ValueError(f"it says two {kind}s. Leave one.")
        found[kind] = value
        return " "

    return found, _QUANTITY.sub(take, rest)


def _straight(
    words: Sequence[str], quantities: Mapping[str, float], gear: int | None, sides: Sequence[str]
) -> Straight:
    odd = [word for word in words if word not in STRAIGHTS and word != "straight"]
    if sides or odd or gear or set(quantities) - {"length"}:
        raise ValueError(
            "a straight says its length alone: straight 300 m, or a short, medium, long straight."
        )
    if "length" in quantities:
        return Straight(length=_LENGTH.check(quantities["length"]))
    word = next((one for one in words if one in STRAIGHTS), "medium")
    return Straight(length=STRAIGHTS[word], told=False)


def _bend(
    side: Direction,
    words: Sequence[str],
    quantities: Mapping[str, float],
    gear: int | None,
    gear_speeds: Mapping[int, float],
) -> Bend:
    estimates: list[str] = []
    word = next((one for one in TURNS if one in words), None)
    angle = quantities.get("angle", TURNS[word or "medium"])
    if "angle" not in quantities:
        estimates.append(f"{word or 'medium'}, so {math.degrees(angle):.0f} deg")
    if "length" in quantities:
        radius = _RADIUS.check(quantities["length"])
    else:
        speed = quantities.get("speed")
        if speed is None:
            used = gear if gear is not None else (1 if word == "hairpin" else 3)
            if used not in gear_speeds:
                raise ValueError(
                    f"gear {used} is not known; there are {min(gear_speeds)} to {max(gear_speeds)}."
                )
            speed = gear_speeds[used]
            estimates.append(f"gear {used}, so {3.6 * speed:.0f} km/h at the slowest")
        radius = min(max(speed**2 / LATERAL, _RADIUS.low), _RADIUS.high)
        estimates.append(f"at {LATERAL:.0f} m/s², so a radius of {radius:.0f} m")
    shape: Shape = next((one for one, group in _SHAPES.items() if set(group) & set(words)), "even")
    return Bend(
        direction=side,
        radius=radius,
        angle=angle,
        shape=shape,
        told_angle="angle" in quantities,
        estimates=tuple(estimates),
    )


def lay_sketch(pieces: Sequence[Piece], *, closed: bool = True) -> SketchedLine:
    """Lay the pieces of a sketch end to end, and close a lap.

    Raises
    ------
    TrackError
        If the pieces cannot be a line, or no lap can be made of them; with by how much it misses.

    Notes
    -----
    Corners are eased in and out by clothoids over two fifths of their angle at the most; an opening corner
    goes from its radius to 1.6 times that. Two corners in a row get 10 m of straight between them.

    A lap is closed by the factors of lengths and angles, radii kept, whose logarithms, each measured by how
    unsure its length or angle is, have the least sum of squares: what was estimated gives way first.

    Source: derived here.
    """
    sections, owners = _sections(pieces)
    estimates = tuple(
        f"Corner {number}: {'; '.join(bend.estimates)}."
        for number, bend in enumerate((one for one in pieces if isinstance(one, Bend)), start=1)
        if bend.estimates
    )
    if not closed:
        line = SectionLine(closed=False, sections=sections)
        return SketchedLine(line=line, estimates=estimates)
    factors = _closing_factors(pieces, sections, owners)
    scaled = [_scaled(one, float(factor)) for one, factor in zip(sections, factors, strict=True)]
    line = SectionLine(closed=True, largest_change=0.002, sections=scaled)
    changes = _changes(pieces, owners, sections, scaled)
    return SketchedLine(line=line, estimates=estimates, changes=changes)


def sketched_track(laid: SketchedLine, *, name: str, width: float) -> Track:
    """Lay a road of even width [m] along a sketch, of class B of ISO 8608, level."""
    return Track(
        name=name,
        note="Sketched from words: radii, angles and lengths are estimates.",
        centre_line=laid.line,
        road=Road(
            width=[Width(distance=0.0, left=0.5 * width, right=0.5 * width)],
            surface=[ClassSurface(start=0.0, road_class="B")],
        ),
    )


def _sections(pieces: Sequence[Piece]) -> tuple[list[Section], list[int]]:
    """Return sections, and of each the place of the piece it belongs to; -1 for what was put between."""
    sections: list[Section] = []
    owners: list[int] = []

    def add(own: Sequence[Section], owner: int) -> None:
        sections.extend(own)
        owners.extend([owner] * len(own))

    for place, piece in enumerate(pieces):
        if isinstance(piece, Straight):
            add([StraightSection(length=piece.length)], place)
            continue
        add(_eased(piece), place)
        if isinstance(pieces[(place + 1) % len(pieces)], Bend):
            add([StraightSection(length=_BETWEEN)], -1)
    return sections, owners


def _eased(bend: Bend) -> list[Section]:
    """Return the sections of a corner: eased in, one arc or two, eased out."""
    first, last = {
        "even": (bend.radius, bend.radius),
        "opening": (bend.radius, OPENING * bend.radius),
        "closing": (OPENING * bend.radius, bend.radius),
    }[bend.shape]
    eased = [min(0.4 * bend.angle * radius, 0.4 * radius + 10.0) for radius in (first, last)]
    turned = [0.5 * length / radius for length, radius in zip(eased, (first, last), strict=True)]

    def arc(radius: float, angle: float) -> ArcSection:
        return ArcSection(radius=radius, angle=angle, direction=bend.direction)

    left = bend.angle - sum(turned)
    if bend.shape == "even":
        middle: list[Section] = [arc(first, left)]
    else:
        between = 0.2 * bend.angle
        middle = [
            arc(first, 0.5 * (left - between)),
            ClothoidSection(length=2.0 * between / (1.0 / first + 1.0 / last)),
            arc(last, 0.5 * (left - between)),
        ]
    return [ClothoidSection(length=eased[0]), *middle, ClothoidSection(length=eased[1])]


def _closing_factors(
    pieces: Sequence[Piece], sections: Sequence[Section], owners: Sequence[int]
) -> FloatArray:
    """Return by what each section's length is to be multiplied so that the lap closes."""
    given = chain_of(sections, closed=True)
    sure = np.array(
        [
            _unsure(section, pieces[owner] if owner >= 0 else None)
            for section, owner in zip(sections, owners, strict=True)
        ]
    )

    def chain(logs: FloatArray) -> ClothoidChain:
        return ClothoidChain(
            lengths=given.lengths * np.exp(logs),
            start_curvature=given.start_curvature,
            end_curvature=given.end_curvature,
            closed=True,
        )

    def movement(chain: ClothoidChain) -> tuple[NDArray[np.complex128], FloatArray]:
        end, heading = movement_per_length(chain)
        return end * chain.lengths, heading * chain.lengths

    try:
        logs = least_change(np.zeros(given.lengths.size), sure**-2.0, chain, movement)
    except TrackError:
        raise TrackError(_open_text(given)) from None
    if float(np.max(np.abs(logs))) > math.log(_MOST_CHANGE):
        raise TrackError(_open_text(given))
    return np.exp(logs)


def _unsure(section: Section, piece: Piece | None) -> float:
    if isinstance(section, ClothoidSection):
        return _EASEMENT
    if isinstance(piece, Bend):
        return _TOLD_ANGLE if piece.told_angle else _GUESSED_ANGLE
    if piece is None:
        return _GUESSED_LENGTH
    return _TOLD_LENGTH if piece.told else _GUESSED_LENGTH


def _open_text(chain: ClothoidChain) -> str:
    turned = math.degrees(chain.heading_change)
    side = "left" if turned > 0.0 else "right"
    return (
        f"the sketch does not close: its corners turn by {abs(turned):.0f} deg to the {side} in all, where a "
        f"lap turns by 360, its end lies {abs(chain.end):.0f} m from its start, and no piece made up to four "
        "times as long or short mends that. Look for a corner to the wrong side, one that is missing, or a "
        "straight that is much too long; or draw it as an open road."
    )


def _scaled(section: Section, factor: float) -> Section:
    """Return a section with another length, rounded as one would write it; closing makes up for that."""
    if isinstance(section, ArcSection):
        angle = math.radians(round(math.degrees(section.angle * factor), 3))
        return section.model_copy(update={"angle": angle, "radius": round(section.radius, 2)})
    return section.model_copy(update={"length": max(round(section.length * factor, 2), 0.1)})


def _changes(
    pieces: Sequence[Piece], owners: Sequence[int], before: Sequence[Section], after: Sequence[Section]
) -> tuple[str, ...]:
    """Say of each piece what closing made of it."""
    said: list[str] = []
    straight = bend = 0
    for place, piece in enumerate(pieces):
        own = [(b, a) for owner, b, a in zip(owners, before, after, strict=True) if owner == place]
        if isinstance(piece, Straight):
            straight += 1
            new = sum(one.length for _, one in own if isinstance(one, StraightSection))
            if abs(new / piece.length - 1.0) > _SAID:
                said.append(f"Straight {straight} is {new:.0f} m long instead of {piece.length:.0f} m.")
            continue
        bend += 1
        arcs = [(b, a) for b, a in own if isinstance(b, ArcSection) and isinstance(a, ArcSection)]
        turned = math.degrees(sum(a.angle - b.angle for b, a in arcs))
        if abs(turned) > max(2.0, _SAID * math.degrees(piece.angle)):
            said.append(
                f"Corner {bend} turns by {math.degrees(piece.angle) + turned:.0f} deg instead of "
                f"{math.degrees(piece.angle):.0f} deg."
            )
    return tuple(said)
