"""What a request names, opened."""

from collections.abc import Mapping

from fourpatch.app.api.bench import BenchQuestion
from fourpatch.app.shop import Shop
from fourpatch.car.car import Car
from fourpatch.car.setup import Setup, apply_setup


def setup_of(car: Car, name: str, positions: Mapping[str, float]) -> Setup:
    """Return a set-up of a car.

    Raises
    ------
    CarError
        If an adjuster is unknown or stands where it cannot; all faults together.
    """
    made = Setup(name=name, car=car.name, values=dict(positions))
    apply_setup(car, made)
    return made


def opened(shop: Shop, car_id: int, question: BenchQuestion) -> tuple[Car, Setup, Car]:
    """Return a car of the notebook, the reference set-up, and the car with the set-up asked about.

    Raises
    ------
    FourpatchError
        If there is no such car, or a set-up does not fit it.
    """
    car = shop.notebook.cars.read(car_id)
    reference = setup_of(car, "reference", question.reference)
    return car, reference, apply_setup(car, setup_of(car, "set-up", question.setup))
