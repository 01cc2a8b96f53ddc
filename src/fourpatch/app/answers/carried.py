"""The set-ups of a car of the notebook carried over to the car as its scales were changed."""

from collections.abc import Sequence
from typing import NamedTuple

from fourpatch.car.car import Car
from fourpatch.car.carrying import carried_over
from fourpatch.car.setup import Setup
from fourpatch.notebook.notebook import Notebook

_REASON = "the scales were changed: kept by meaning"


class KeptSetup(NamedTuple):
    """A set-up of the notebook before the car's scales were changed."""

    id: int
    head: int
    setup: Setup


class Carried(NamedTuple):
    """What became of the set-ups."""

    moved: int
    """Set-ups whose numbers were written anew."""
    told: list[str]
    """What could not be kept by meaning, a sentence each."""


def kept_setups(notebook: Notebook, car_id: int) -> list[KeptSetup]:
    """Return the set-ups of a car as they stand; ask before the car is changed."""
    listed = notebook.setups.listed(car_id)
    return [KeptSetup(one.id, one.head.id, notebook.setups.opened(one.head.id).setup) for one in listed]


def carry_setups(
    notebook: Notebook, car_id: int, kept: Sequence[KeptSetup], before: Car, *, by: str
) -> Carried:
    """Write each set-up anew whose numbers mean something else on the car as it is now.

    Parameters
    ----------
    before : the car on whose scales they stand.
    """
    after = notebook.cars.read(car_id)
    told: list[str] = []
    moved = 0
    for one in kept:
        carried = carried_over(one.setup, before, after)
        told += carried.told
        values = carried.setup.values
        if values != one.setup.values:
            notebook.setups.change(one.id, head=one.head, values=values, reason=_REASON, by=by)
            moved += 1
    return Carried(moved, told)
