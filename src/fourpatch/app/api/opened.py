"""What a request names, opened."""

from collections.abc import Mapping

from fastapi import HTTPException

from fourpatch.app.answers.asked import SetupsAsked
from fourpatch.app.shop import Shop
from fourpatch.car.car import Car
from fourpatch.car.setup import Setup, apply_setup
from fourpatch.errors import NotebookError


def opened_car(shop: Shop, car_id: int) -> Car:
    """Return a car of the notebook, or answer 404."""
    try:
        return shop.notebook.cars.read(car_id)
    except NotebookError as error:
        raise HTTPException(404, detail=str(error)) from None


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


def opened_setups(shop: Shop, asked: SetupsAsked) -> tuple[Car, Setup, Setup]:
    """Return a car with its set-ups A and B."""
    car = opened_car(shop, asked.car)
    return car, setup_of(car, "A", asked.a), setup_of(car, "B", asked.b)
