import pytest

from fourpatch.car.car import Car
from fourpatch.car.estimate import CarBrief, estimate_car


@pytest.fixture(scope="session")
def estimated() -> Car:
    """An invented car of which every number but four is a guess with its spread."""
    return estimate_car(
        CarBrief(
            name="Invented",
            mass=1150.0,
            front_weight_share=0.62,
            wheelbase=2.55,
            driven="front",
            power=120e3,
            front_tyre="205/50R16",
            rear_tyre="205/50R16",
            grip="semi-slick",
            body="hatchback",
        )
    )
