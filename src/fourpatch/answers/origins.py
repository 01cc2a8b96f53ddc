"""How far an answer rests on numbers that nobody measured."""

from collections.abc import Iterator

from fourpatch.car.car import Car
from fourpatch.car.provenance import origins
from fourpatch.picture.blocks import Sentence


def origin_blocks(car: Car) -> Iterator[Sentence]:
    """Say how far an answer rests on numbers that nobody measured; nothing if on none."""
    counted = origins(car)
    if counted["demo"]:
        yield Sentence(f"{car.name} is invented: learn the way of working from it, not numbers for your car.")
    if counted["estimated"]:
        share = 100.0 * counted["estimated"] / sum(counted.values())
        yield Sentence(
            f"{share:.0f} % of the parameters of {car.name} are estimated; the more of them you measure, the "
            "more these numbers are about your car."
        )
