"""The car of docs/car-file.md: what these tests read, change and break."""

import tomllib
from pathlib import Path

import pytest

from fourpatch.car.car import Car
from fourpatch.units import FROM_FILE

PAGE = Path(__file__).parents[3] / "docs" / "car-file.md"


@pytest.fixture(scope="session")
def saloon_text() -> str:
    """Return the text of the car file shown in the documentation."""
    return PAGE.read_text(encoding="utf-8").split("```toml\n")[-1].split("```")[0]


@pytest.fixture(scope="session")
def saloon(saloon_text: str) -> Car:
    """Return that car."""
    return Car.model_validate(tomllib.loads(saloon_text), context=FROM_FILE)
