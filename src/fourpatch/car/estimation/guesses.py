"""What a driver does not know of a car, guessed from its kind, and how far off that may be.

All values are common practice, no published source, except where a line says otherwise.
"""

from typing import Final, NamedTuple

from fourpatch.car.estimation.book import PRACTICE
from fourpatch.car.estimation.brief import CarBrief

GUESSED: Final = ("front_weight_share", "power", "front_tyre", "rear_tyre")
"""Fields of a brief that may be left out and are guessed."""

_SHARE: Final = {"front": 0.61, "all": 0.56}
_REAR_DRIVEN: Final = {"hatchback": 0.47, "saloon": 0.50, "sports": 0.44, "single-seater": 0.45}
_SHARE_SPREAD: Final = {"front": 0.025, "all": 0.03, "rear": 0.05}
"""One standard deviation: the engine of a rear-driven car may be at either end."""

_POWER: Final = {
    "hatchback": 95.0,
    "saloon": 100.0,
    "sports": 200.0,
    "single-seater": 250.0,
}
"""Per mass of the car with driver. [W/kg]"""
_POWER_SPREAD: Final = 1.4
"""Factor of one standard deviation."""

_TYRES: Final = {
    "hatchback": ((205, 610, 16), (205, 610, 16)),
    "saloon": ((225, 634, 17), (225, 634, 17)),
    "sports": ((245, 640, 18), (285, 670, 18)),
    "single-seater": ((200, 540, 13), (250, 570, 13)),
}
"""Section width and diameter [mm] and rim [in], front and rear."""
_WIDTH_SPREAD, _DIAMETER_SPREAD = 0.12, 0.04
"""Shares of one standard deviation; wide tyres are taken to be tall ones too."""


class Guess(NamedTuple):
    """A field of a brief that was left out."""

    field: str
    value: float | str
    lower: float | str
    """One standard deviation below."""
    upper: float | str
    words: str
    """What it is taken to be."""


def guesses(brief: CarBrief) -> list[Guess]:
    """Return a guess for each field that a brief leaves out."""
    found = []
    if brief.front_weight_share is None:
        share = _REAR_DRIVEN[brief.body] if brief.driven == "rear" else _SHARE[brief.driven]
        off = _SHARE_SPREAD[brief.driven]
        words = f"front weight share {share:.0%}, give or take {100.0 * off:g} points, usual for a "
        words += f"{brief.driven if brief.driven != 'all' else 'four-wheel'}-driven {brief.body}"
        found.append(Guess("front_weight_share", share, share - off, share + off, words))
    if brief.power is None:
        power = min(max(round(_POWER[brief.body] * brief.mass, -3), 3e4), 1e6)
        words = f"power {power * 1e-3:.0f} kW, give or take 40 %, usual for a {brief.body} of its mass"
        found.append(Guess("power", power, power / _POWER_SPREAD, power * _POWER_SPREAD, words))
    known = {"front": brief.front_tyre, "rear": brief.rear_tyre}
    for place, (end, other) in enumerate((("front", "rear"), ("rear", "front"))):
        if known[end] is None:
            found.append(_tyre(brief, end, place, like=known[other]))
    return found


def method_of(guess: Guess) -> str:
    """Return how a guess was made, for the provenance of what it sets."""
    return f"not known: {guess.words}; {PRACTICE}"


def _tyre(brief: CarBrief, end: str, place: int, *, like: str | None) -> Guess:
    width, diameter, rim = _TYRES[brief.body][place]

    def size(deviations: float) -> str:
        wide = width * (1.0 + _WIDTH_SPREAD * deviations)
        return f"{wide:.0f}/{diameter * (1.0 + _DIAMETER_SPREAD * deviations):.0f}R{rim}"

    usual = size(0.0)
    same = like is not None and _TYRES[brief.body][0] == _TYRES[brief.body][1]
    value = like if same and like is not None else usual
    says = f"as the other axle's, {value}" if same else f"{value}, usual for a {brief.body}"
    return Guess(f"{end}_tyre", value, size(-1.0), size(1.0), f"{end} tyre {says}")
