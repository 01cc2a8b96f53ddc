"""A driver's complaint: what the car does, in which phase, where."""

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import combinations
from typing import Literal, NoReturn

from fourpatch.errors import AdviceError

Behaviour = Literal[
    "understeer",
    "oversteer",
    "nervous",
    "slow to answer",
    "floats",
    "hops",
    "thrown off kerbs",
    "bottoms",
    "locks fronts",
    "locks rears",
    "spins the inside wheel",
    "inconsistent",
]
PhaseName = Literal["", "braking", "entry", "mid", "exit", "straight"]
Window = Literal["", "early", "late"]
Place = Literal["", "slow corner", "medium corner", "fast corner", "kerb", "bumpy"]
End = Literal["", "front", "rear"]
Size = Literal["", "a little", "clearly", "badly"]

OPPOSED: tuple[tuple[Behaviour, Behaviour], ...] = (
    ("understeer", "oversteer"),
    ("nervous", "slow to answer"),
    ("locks fronts", "locks rears"),
)
"""Behaviours that a car cannot show in the same phase of the same corner."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Complaint:
    """One thing that the car does and should not."""

    behaviour: Behaviour
    phase: PhaseName = ""
    """Empty: not said."""
    window: Window = ""
    """Half of the phase; empty for all of it."""
    place: Place = ""
    """Empty: not said, so everywhere."""
    corners: tuple[int, ...] = ()
    """Numbers of the corners of a track, rising; none: not said."""
    end: End = ""
    """Of the car, where the behaviour does not say it."""
    size: Size = ""
    """How bad, if it was said."""

    def text(self) -> str:
        """Return the complaint in our own words: ``understeer on late entry in slow corners``."""
        said = f"{self.end} {self.behaviour}".strip()
        if self.phase:
            where = {"braking": "under", "straight": "on the"}.get(
                self.phase, "on" if self.phase != "mid" else "at"
            )
            name = "mid-corner" if self.phase == "mid" else self.phase
            said += f" {where} {self.window} {name}".replace("  ", " ")
        if self.place:
            said += {"kerb": " over kerbs", "bumpy": " over bumps"}.get(self.place, f" in {self.place}s")
        if self.corners:
            said += f" in {numbered(self.corners)}"
        return f"{said} ({self.size})" if self.size else said


def numbered(corners: Sequence[int]) -> str:
    """Return corners in words: ``corner 3``, ``corners 3, 5 and 7``."""
    *most, last = (str(one) for one in corners)
    return f"corners {', '.join(most)} and {last}" if most else f"corner {last}"


def refuse_contradictions(complaints: Sequence[Complaint]) -> None:
    """Raise if two complaints cannot both be true of one car.

    Raises
    ------
    AdviceError
        Naming both.
    """
    for one, other in combinations(complaints, 2):
        if _contradict(one, other):
            _refuse(one, other)


def refuse_opposed(one: Complaint, other: Complaint) -> None:
    """Raise if two complaints of the same place are opposed.

    Raises
    ------
    AdviceError
        Naming both.
    """
    if _opposed(one, other):
        _refuse(one, other)


def _refuse(one: Complaint, other: Complaint) -> NoReturn:
    raise AdviceError(
        f'"{one.text()}" and "{other.text()}" contradict each other: what cures one makes the other '
        "worse in the same place. Say in which phase (braking, entry, mid, exit), in which half of "
        "it "
        "(early, late) or in which corners (slow, medium, fast, or their numbers) the car does which."
    )


def _contradict(one: Complaint, other: Complaint) -> bool:
    apart = [
        a != b and a != "" and b != ""
        for a, b in ((one.phase, other.phase), (one.window, other.window), (one.place, other.place))
    ]
    # Whether a numbered corner is a slow one only its track tells: `cure` asks again by what is measured.
    apart.append(bool(one.corners and other.corners) and not set(one.corners) & set(other.corners))
    apart.append(bool(one.corners) != bool(other.corners) and f"{one.place}{other.place}".endswith("corner"))
    return _opposed(one, other) and not any(apart)


def _opposed(one: Complaint, other: Complaint) -> bool:
    pair = {one.behaviour, other.behaviour}
    return any(pair == set(opposed) for opposed in OPPOSED)
