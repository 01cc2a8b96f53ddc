"""Back towards a set-up that was good: how it differs, and what going back would bring."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from fourpatch.advice.change_set import steps_left
from fourpatch.advice.sensitivity import EffectTable, measured
from fourpatch.advice.sets import Changes
from fourpatch.advice.target import Target
from fourpatch.car.car import Car
from fourpatch.car.setup import Setup, apply_setup
from fourpatch.errors import AdviceError

Array = NDArray[np.float64]

TOLD_APART = 3.0
"""Times what is hardly measurable of a complaint's number by which the good set-up must be the better one."""


@dataclass(frozen=True, slots=True, kw_only=True)
class GoodBefore:
    """A set-up that was good, against the one that is complained of."""

    setup: Setup
    changes: Changes
    """All that there is to turn back."""
    values: Array
    """(measures,) of the car with it, in the motion of the car as it stands."""
    gains: tuple[float, ...]
    """By how much each complaint's number is better with it, in its unit."""
    helps: bool
    """Whether it is measurably better in all of them: then the way back is the answer."""

    def steps_back(self, adjusters: int) -> NDArray[np.int64]:
        """Return the steps that lead back, (adjusters, 2), down and up."""
        left = np.zeros((adjusters, 2), dtype=np.int64)
        for place, steps in self.changes:
            left[place, int(steps > 0)] = abs(steps)
        return left


def good_before(
    car: Car, setup: Setup, good: Setup, table: EffectTable, targets: Sequence[Target]
) -> GoodBefore:
    """Return what going back to a good set-up would turn and bring.

    Parameters
    ----------
    setup, good : as the car stands, and as it was when it was good.
    table : of the car as it stands.

    Raises
    ------
    AdviceError
        If both are the same set-up.
    """
    changes = way_back(setup, good, table)
    if not changes:
        raise AdviceError(
            f"The set-up that was good, {good.name}, is the one complained of, {setup.name}: no adjuster "
            "that a cure may turn stands elsewhere. What changed is not in the set-up; leave the good one "
            "out, or take another."
        )
    _, values = measured([apply_setup(car, setup), apply_setup(car, good)], table.events)
    names = table.names
    gains = tuple(
        float(one.moved(one.value(names, table.present), one.value(names, values[1]))) for one in targets
    )
    helps = all(gain >= TOLD_APART * target.hardly for gain, target in zip(gains, targets, strict=True))
    return GoodBefore(setup=good, changes=changes, values=values[1], gains=gains, helps=helps)


def way_back(setup: Setup, good: Setup, table: EffectTable) -> Changes:
    """Return the steps from one set-up to another, of the adjusters that a cure may turn."""
    left = steps_left(table.adjusters, setup)
    found = []
    for place, one in enumerate(table.adjusters):
        steps = round((good.position(one) - setup.position(one)) / one.step)
        if steps and left[place, int(steps > 0)]:
            found.append((place, steps))
    return tuple(found)
