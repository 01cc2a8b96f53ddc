"""From numbers to a verdict: agrees, depends, disagrees, hardly matters."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Annotated, Literal

from fourpatch.advice.rules.rule import Claim, Rule
from fourpatch.analysis.quantity import OWN, POINTS, Findings

Verdict = Literal["agrees", "depends", "disagrees", "hardly matters", "does not apply"]
Outcome = Literal["agrees", "against", "hardly", "mixed", "unknown"]


class Cell(Findings):
    """What one change does to one number of one part of one event."""

    event: str
    """Where."""
    window: str
    """Phase or half of it: `entry.early`; empty for a road or kerb."""
    back: bool
    """Whether it is the change the other way."""
    unit: str
    """SI, or points, of the numbers below."""
    before: Annotated[float, OWN]
    """The number before the change."""
    value: Annotated[float, OWN]
    """Its change, of a range of ratios its width; `null` where it could not be computed."""
    hardly_measurable: Annotated[float, OWN]
    """A change below this is hardly measurable."""
    outcome: Outcome
    """How the change answers what is said."""

    @property
    def weight(self) -> float:
        """The change, in units of what is hardly measurable."""
        return abs(self.value) / self.hardly_measurable if self.value == self.value else 0.0


def outcome_of(claim: Claim, *, value: float, hardly: float, back: bool) -> Outcome:
    """Return how a change of a number answers a claim.

    Notes
    -----
    What rises with the change is to fall with the change the other way; a change below ``hardly`` is none.
    What is said to cost little, or to stay, must do so both ways.
    """
    if value != value:
        return "unknown"
    if claim.way == "stays":
        return "agrees" if abs(value) <= hardly else "against"
    if claim.way == "costs little":
        return "agrees" if value <= hardly else "against"
    said = (1.0 if claim.way == "rises" else -1.0) * (-1.0 if back else 1.0) * value
    if abs(said) <= hardly:
        return "hardly"
    return "agrees" if said > 0.0 else "against"


def joined(outcomes: set[Outcome]) -> Outcome:
    """Return the outcome of several parts of one event: mixed if what is measurable is not at one."""
    measurable = outcomes & {"agrees", "against", "mixed"}
    if len(measurable) == 1:
        return measurable.pop()
    if measurable:
        return "mixed"
    return "hardly" if "hardly" in outcomes else "unknown"


@dataclass(frozen=True, slots=True, kw_only=True)
class CheckedClaim:
    """A claim, the numbers behind it, and whether it holds."""

    claim: Claim
    cells: tuple[Cell, ...]

    def outcomes(self) -> dict[tuple[str, bool], Outcome]:
        """Return the outcome of each event, for the change as said and the other way."""
        places = dict.fromkeys((cell.event, cell.back) for cell in self.cells)
        return {
            place: joined({cell.outcome for cell in self.cells if (cell.event, cell.back) == place})
            for place in places
        }

    @property
    def verdict(self) -> Verdict:
        """Agrees if every event agrees, both ways; disagrees if none does, even in part.

        It hardly matters if what it speaks of is nowhere measurable.
        """
        if self.claim.way == "smoother is wider":
            narrower = {cell.outcome for cell in self.cells[1:]}
            if narrower == {"agrees"}:
                return "agrees"
            return "depends" if {"agrees", "unknown"} & narrower else "disagrees"
        known = [one for one in self.outcomes().values() if one != "unknown"]
        if not known:
            return "does not apply"
        if all(one == "agrees" for one in known):
            return "agrees"
        if all(one == "hardly" for one in known):
            return "hardly matters"
        return "depends" if {"agrees", "mixed"} & set(known) else "disagrees"

    @property
    def largest(self) -> Cell:
        """The cell with the largest effect of the change as said, measured by what is hardly measurable."""
        said = [cell for cell in self.cells if not cell.back] or list(self.cells)
        return max(said, key=lambda cell: cell.weight)


class Why(Findings):
    """Through which path of load the largest effect comes, and the sentence that says so."""

    kind: str
    """One of the paths of load; empty where it is not split."""
    parts: Annotated[dict[str, float], POINTS]
    """Balance by path; empty where it is not split."""
    sentence: str
    """The same with all its numbers."""


@dataclass(frozen=True, slots=True, kw_only=True)
class CheckedRule:
    """A rule as one car answers it."""

    rule: Rule
    claims: tuple[CheckedClaim, ...]
    """Empty where the rule does not apply."""
    lacks: str
    """What the car lacks for it; empty if nothing."""
    why: Why

    @property
    def verdict(self) -> Verdict:
        """Agrees if every claim does, disagrees if all do that matter, else depends.

        It hardly matters if its first claim, what the rule is used for, does.
        """
        found = [one.verdict for one in self.claims if one.verdict != "does not apply"]
        if not found:
            return "does not apply"
        if found[0] == "hardly matters" or len(set(found)) == 1:
            return found[0]
        return "disagrees" if set(found) == {"disagrees", "hardly matters"} else "depends"


_CLAIMED = {
    "braking": "Under braking",
    "entry": "On entry",
    "mid": "At mid-corner",
    "exit": "On exit",
    "": "Over bumps and kerbs, and the answer to the steering",
}
"""What a rule promises something for, by the phase that its first claim begins with."""


def grouped(checked: Sequence[CheckedRule]) -> dict[str, list[CheckedRule]]:
    """Return rules by what they promise something for, each group by how much the rule moves on this car.

    Notes
    -----
    Largest first, in units of what is hardly measurable, so that loads and balances can stand in one row;
    what does not apply comes last.
    """
    groups: dict[str, list[CheckedRule]] = {said: [] for said in _CLAIMED.values()}
    for one in checked:
        phase = one.rule.claims[0].windows[0].partition(".")[0]
        groups[_CLAIMED[phase]].append(one)
    return {said: sorted(those, key=_moved, reverse=True) for said, those in groups.items() if those}


def _moved(one: CheckedRule) -> float:
    return one.claims[0].largest.weight if one.claims else -1.0
