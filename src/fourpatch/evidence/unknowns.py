"""What is not known of a car as independent standard normal scores, and the car that some scores make."""

from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

from fourpatch.advice.plausible import Groups, Turns, factors_of, moved, shifted, uncertain
from fourpatch.car.adjusters import map_spread
from fourpatch.car.car import Car
from fourpatch.car.setup import Setup, baseline_setup
from fourpatch.errors import CarError

Array = NDArray[np.float64]

NEUTRAL: Final = "the driver's neutral"
"""Balance that this driver calls neutral: 0 and 4 points, a choice, no published source."""
LIMIT: Final = "how near the limit it was driven"
"""Share of the grip that this driver uses: 0.94 and 4 %, a choice, no published source."""

NEUTRAL_SPREAD: Final = 4.0
LIMIT_SHARE: Final = 0.94
LIMIT_SPREAD: Final = 0.04


@dataclass(frozen=True, eq=False)
class Unknowns:
    """What is not known of a car and of who drives it."""

    car: Car
    """As written."""
    groups: Groups
    """Uncertain parameters by name."""
    adjusters: tuple[int, ...]
    """Places of the adjusters of which it is not known how much they do."""
    turns: Turns

    @classmethod
    def of(cls, car: Car) -> "Unknowns":
        """Return what a car's file says is uncertain."""
        places = tuple(k for k, one in enumerate(car.adjusters) if map_spread(car, one) > 0.0)
        return cls(car, uncertain(car), places, Turns(car, baseline_setup(car)))

    @property
    def names(self) -> tuple[str, ...]:
        """Names of the scores, in their order: parameters, adjusters, then what concerns the driver."""
        return (*self.groups, *(self.car.adjusters[k].name for k in self.adjusters), NEUTRAL, LIMIT)

    def drawn(self, count: int, generator: np.random.Generator) -> Array:
        """Return scores of cars drawn from the spreads alone, (count, scores); not every car can stand."""
        return generator.standard_normal((count, len(self.names)))

    def base(self, scores: Array) -> Car | None:
        """Return the car as written with its unknowns at some scores; None if it cannot stand."""
        try:
            return shifted(self.car, self.groups, dict(zip(self.groups, scores.tolist(), strict=False)))
        except CarError:
            return None

    def factors(self, scores: Array) -> list[float]:
        """Return by how much each adjuster's change is multiplied."""
        known = dict(zip(self.adjusters, scores[len(self.groups) :].tolist(), strict=False))
        return factors_of(self.car, [known.get(k, 0.0) for k in range(len(self.car.adjusters))])

    def with_setup(self, base: Car, setup: Setup, scores: Array) -> Car | None:
        """Return a plausible car with its adjusters where a set-up puts them; None if it cannot stand."""
        changes = tuple(
            (k, round((setup.position(one) - one.baseline) / one.step))
            for k, one in enumerate(self.car.adjusters)
            if setup.position(one) != one.baseline
        )
        try:
            return self.turns.made_on(base, changes, self.factors(scores)) if changes else base
        except CarError:
            return None

    def neutral(self, scores: Array) -> Array:
        """Return the balance that the driver calls neutral, (cars,) in points."""
        return np.asarray(NEUTRAL_SPREAD * scores[:, -2])

    def limit(self, scores: Array) -> Array:
        """Return the share of the grip that the driver uses, (cars,)."""
        return np.minimum(LIMIT_SHARE * np.exp(LIMIT_SPREAD * scores[:, -1]), 1.0)

    def said(self, name: str, score: float) -> float:
        """Return the value of the first parameter of a group at a score, SI; as `shifted`."""
        one = self.groups[name][0]
        return moved(one.parameter, one.size, one.weight * score)


def standing_setup(car: Car, positions: dict[str, float]) -> Setup:
    """Return the set-up that an item was observed with."""
    base = baseline_setup(car)
    return base.model_copy(update={"values": {**base.values, **positions}})
