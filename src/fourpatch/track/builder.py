"""A centre line built from straights, arcs and clothoids."""

import math
from collections.abc import Sequence
from itertools import pairwise
from typing import Annotated, Final, Literal, NamedTuple

import numpy as np
from numpy.typing import NDArray
from pydantic import Field

from fourpatch.document.part import Part
from fourpatch.errors import TrackError
from fourpatch.track.centre_line import NODES, WEIGHTS, ClothoidChain
from fourpatch.track.closing import ClosingError, closing_error, least_change
from fourpatch.track.drawn_line import DrawnLine
from fourpatch.track.road import FloatArray
from fourpatch.units import Unit

SectionLength = Annotated[float, Unit("m", "m", 0.1, 10000.0)]
Direction = Literal["left", "right"]

OTHER_SIDE: Final[dict[Direction, Direction]] = {"left": "right", "right": "left"}

MOST_CHANGE: Final = 20.0
"""Largest change of lengths that may be allowed; a line further off is another line.  Chosen here. [%]"""


class StraightSection(Part):
    """A straight."""

    kind: Literal["straight"] = "straight"
    length: SectionLength
    """From end to end."""


class ArcSection(Part):
    """A piece of a circle."""

    kind: Literal["arc"] = "arc"
    radius: Annotated[float, Unit("m", "m", 3.0, 10000.0)]
    """Of the centre line."""
    angle: Annotated[float, Unit("rad", "deg", 0.0, 2.0 * math.pi)]
    """By which the heading changes; 0 only says the radius between two clothoids."""
    direction: Direction
    """Which way it turns."""

    @property
    def curvature(self) -> float:
        """Curvature [1/m], positive to the left."""
        return (1.0 if self.direction == "left" else -1.0) / self.radius


class ClothoidSection(Part):
    """A transition whose curvature runs evenly from that of the section before to that of the next."""

    kind: Literal["clothoid"] = "clothoid"
    length: SectionLength
    """From end to end."""


Section = StraightSection | ArcSection | ClothoidSection


class SectionLine(Part):
    """A centre line from straights, arcs and clothoids, in driving direction."""

    kind: Literal["sections"] = "sections"
    closed: bool = True
    """Whether it is a lap: the end is the start."""
    largest_change: Annotated[float, Unit("1", "%", 0.0, 0.01 * MOST_CHANGE)] = 1e-3
    """Share by which lengths of sections may be changed so that a lap closes: to make up for rounding."""
    sections: list[Annotated[Section, Field(discriminator="kind")]] = Field(min_length=1)
    """One after the other from the start line."""

    def draw(self) -> DrawnLine:
        """Lay the sections end to end and close a lap.

        Raises
        ------
        TrackError
            If a clothoid meets another, a section turns too far, or a lap does not close within
            `largest_change`.
        """
        if not self.closed:
            return DrawnLine(chain_of(self.sections, closed=False), "as given")
        closing = close_sections(self.sections)
        if closing.largest_change > self.largest_change:
            share = 100.0 * closing.largest_change
            allow = (
                f', or allow it: largest_change = "{_rounded_up(share)} %"' if share <= MOST_CHANGE else ""
            )
            raise TrackError(
                f"the line does not close: {closing.before}. To close it, lengths of sections would change "
                f"by up to {share:.2g} %, more than largest_change = {100.0 * self.largest_change:.2g} %. "
                f"Check lengths, angles and directions{allow}."
            )
        return DrawnLine(chain_of(closing.sections, closed=True), str(closing))

    def mirrored(self) -> "SectionLine":
        """Return the same line with left and right exchanged."""
        return self.with_sections([_mirrored(section) for section in self.sections])

    def reversed(self) -> "SectionLine":
        """Return the same line driven from its end to its start."""
        return self.with_sections([_mirrored(section) for section in reversed(self.sections)])

    def with_sections(self, sections: Sequence[Section]) -> "SectionLine":
        """Return a line like this one of other sections."""
        return SectionLine(closed=self.closed, largest_change=self.largest_change, sections=list(sections))


def corner(
    *, radius: float, angle: float, direction: Direction, easement: float = 0.0
) -> tuple[Section, ...]:
    """Return a corner eased in and out by clothoids of equal length.

    Parameters
    ----------
    radius : of the arc in the middle. [m]
    angle : by which the whole corner turns. [rad]
    direction : which way.
    easement : length of each clothoid; each turns by easement / (2 radius).  0 for none. [m]

    Returns
    -------
    tuple of Section
        Clothoid, arc, clothoid; the sections before and after it must be straights or arcs.

    Raises
    ------
    TrackError
        If the clothoids alone turn by more than the angle.

    >>> [section.kind for section in corner(radius=50.0, angle=1.2, direction="left", easement=40.0)]
    ['clothoid', 'arc', 'clothoid']
    """
    left_over = angle - easement / radius
    if left_over < 0.0:
        raise TrackError(
            f"corner: two clothoids of {easement:g} m up to a radius of {radius:g} m turn by "
            f"{math.degrees(easement / radius):.3g} deg, the corner by {math.degrees(angle):.3g} deg. "
            f"Shorten them to {angle * radius:.4g} m or less."
        )
    arc = ArcSection(radius=radius, angle=left_over, direction=direction)
    return (ClothoidSection(length=easement), arc, ClothoidSection(length=easement)) if easement else (arc,)


def chain_of(sections: Sequence[Section], *, closed: bool) -> ClothoidChain:
    """Lay sections end to end.

    Parameters
    ----------
    sections : in driving direction.
    closed : whether the last meets the first; else the road before and after counts as straight.

    Raises
    ------
    TrackError
        If two clothoids meet, so that nothing says the curvature between them, or a section turns by more
        than a full turn.
    """
    given = [_curvature(section) for section in sections]
    open_end = [] if closed else [0.0]
    around = [*(given[-1:] if closed else open_end), *given, *(given[:1] if closed else open_end)]
    for place, (here, after) in enumerate(pairwise(around[1:] if closed else around[1:-1]), start=1):
        if here is None and after is None:
            other = place % len(sections) + 1
            raise TrackError(
                f"sections {place} and {other} are two clothoids that meet; a clothoid takes its curvature "
                "from its neighbours. Put between them the arc they lead to; its angle may be 0 deg."
            )
    starts = [around[place] if own is None else own for place, own in enumerate(given)]
    ends = [around[place + 2] if own is None else own for place, own in enumerate(given)]
    return ClothoidChain(
        lengths=np.array([_length(section) for section in sections]),
        start_curvature=np.array(starts, dtype=np.float64),
        end_curvature=np.array(ends, dtype=np.float64),
        closed=closed,
    )


class ClosedSections(NamedTuple):
    """Sections that close, and what it took."""

    sections: list[Section]
    before: ClosingError
    """Of the sections as given."""
    largest_change: float
    """Largest change of a section's length, as a share of it. [-]"""

    def __str__(self) -> str:
        """Say what was done, in a sentence without full stop."""
        if self.largest_change < 1e-9:
            return "closes as given"
        return (
            f"{self.before}; closed by changing lengths of sections by up to "
            f"{100.0 * self.largest_change:.2g} %"
        )


def close_sections(sections: Sequence[Section]) -> ClosedSections:
    """Change lengths of sections as little as closes the lap.

    Parameters
    ----------
    sections : in driving direction, of a lap that nearly closes.

    Returns
    -------
    ClosedSections
        The sections with new lengths and angles.  Radii stay as they are.

    Raises
    ------
    TrackError
        If the lap cannot be closed so, and as `chain_of`.

    Notes
    -----
    With r the change of a section's length as a share of its length L, the sum of L r² over all sections is
    made least, under the condition that the lap closes.  Weighting by L makes the answer the same when a
    section is written as two.  An arc keeps its radius, so its angle changes by the same share.

    Source: derived here.

    >>> nearly = [StraightSection(length=100.0), ArcSection(radius=30.0, angle=3.1, direction="left"),
    ...           StraightSection(length=100.5), ArcSection(radius=30.0, angle=3.2, direction="left")]
    >>> closing = close_sections(nearly)
    >>> str(closing.before), f"{100.0 * closing.largest_change:.1f} %"
    ('the end lies 4.18 m from the start, its heading 0.963 deg off', '1.8 %')
    """
    given = chain_of(sections, closed=True)
    before = closing_error(given)
    lengths = given.lengths
    present = lengths > 0.0
    weight = np.divide(1.0, lengths, out=np.full_like(lengths, np.inf), where=present)

    def chain_with(new: FloatArray) -> ClothoidChain:
        return ClothoidChain(
            lengths=new, start_curvature=given.start_curvature, end_curvature=given.end_curvature, closed=True
        )

    new = least_change(lengths, weight, chain_with, movement_per_length)
    factor = np.divide(new, lengths, out=np.ones_like(lengths), where=present)
    return ClosedSections(
        sections=[_scaled(section, float(one)) for section, one in zip(sections, factor, strict=True)],
        before=before,
        largest_change=float(np.max(np.abs(factor - 1.0))),
    )


def movement_per_length(chain: ClothoidChain) -> tuple[NDArray[np.complex128], FloatArray]:
    """How end and heading of a chain move when a piece is lengthened with its curvatures kept."""
    sharper = chain.end_curvature - chain.start_curvature
    turning = 0.5 * (chain.start_curvature + chain.end_curvature)
    share = NODES[np.newaxis, :]
    turned = chain.lengths[:, np.newaxis] * share
    turned = turned * (chain.start_curvature[:, np.newaxis] + 0.5 * sharper[:, np.newaxis] * share)
    way = np.exp(1j * (chain.headings[:-1, np.newaxis] + turned))
    # A piece of length L is L times the mean of `way`, whose headings grow with L in proportion.
    own = (way * (1.0 + 1j * turned)) @ WEIGHTS
    return own + 1j * (chain.corners[-1] - chain.corners[1:]) * turning, turning


def _curvature(section: Section) -> float | None:
    match section:
        case StraightSection():
            return 0.0
        case ArcSection():
            return section.curvature
        case ClothoidSection():
            return None


def _length(section: Section) -> float:
    return section.radius * section.angle if isinstance(section, ArcSection) else section.length


def _scaled(section: Section, factor: float) -> Section:
    match section:
        case StraightSection():
            return StraightSection(length=section.length * factor)
        case ArcSection():
            return ArcSection(
                radius=section.radius, angle=section.angle * factor, direction=section.direction
            )
        case ClothoidSection():
            return ClothoidSection(length=section.length * factor)


def _mirrored(section: Section) -> Section:
    if not isinstance(section, ArcSection):
        return section
    return ArcSection(radius=section.radius, angle=section.angle, direction=OTHER_SIDE[section.direction])


def _rounded_up(share: float) -> str:
    """Write a share with one digit, rounded up."""
    digit = 10.0 ** math.floor(math.log10(share))
    return f"{math.ceil(share / digit) * digit:.6g}"
