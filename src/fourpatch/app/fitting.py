"""A set-up on the car as it is now: what is turned on it may have changed since the set-up was kept."""

from collections.abc import Sequence

from fourpatch.car.car import Car
from fourpatch.car.scale_words import from_to
from fourpatch.car.setup import Setup

_NAMED = 3  # adjusters that are told one by one


def fitting(car: Car, setup: Setup) -> Setup:
    """Return a set-up with every adjuster the car has, each at the nearest position that it has."""
    return setup.model_copy(
        update={
            "car": car.name,
            "values": {one.name: one.nearest(setup.position(one)) for one in car.adjusters},
        }
    )


def misfit_text(car: Car, setup: Setup) -> str:
    """Return in a sentence or two what `fitting` changes about a set-up; empty if nothing."""
    moved = [
        f"{one.name} {from_to(at, one.nearest(at), one.unit)}"
        for one in car.adjusters
        if not one.allows(at := setup.position(one))
    ]
    names = {one.name for one in car.adjusters}
    gone = [f"{name} {at:g}" for name, at in setup.values.items() if name not in names]
    said = []
    if moved:
        said.append(f"Put to the nearest position the car now has: {_listed(moved)}.")
    if gone:
        said.append(f"No longer on the car: {_listed(gone)}.")
    return " ".join(said)


def _listed(items: Sequence[str]) -> str:
    more = len(items) - _NAMED
    return ", ".join(items[:_NAMED]) + (f" and {more} more" if more > 0 else "")
