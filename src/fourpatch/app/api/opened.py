"""A car and two set-ups of it, as questions name them."""

from collections.abc import Mapping

from fourpatch.app.api.bench import BenchQuestion
from fourpatch.app.shop import Shop
from fourpatch.car.car import Car
from fourpatch.car.setup import Setup, apply_setup


def standing(car: Car, name: str, steps: Mapping[str, float]) -> Car:
    """Return a car with a set-up.

    Raises
    ------
    CarError
        If an adjuster is unknown or stands where it cannot; all faults together.
    """
    return apply_setup(car, Setup(name=name, car=car.name, values=dict(steps)))


def opened(shop: Shop, car_id: int, question: BenchQuestion) -> tuple[Car, Setup, Car]:
    """Return a car of the notebook, the reference set-up, and the car with the set-up asked about.

    Raises
    ------
    FourpatchError
        If there is no such car, or a set-up does not fit it.
    """
    car = shop.notebook.cars.read(car_id)
    standing(car, "reference", question.reference)
    reference = Setup(name="reference", car=car.name, values=dict(question.reference))
    return car, reference, standing(car, "set-up", question.setup)
