"""The question that CONTRIBUTING shows is the one that is there, and says what is true."""

from pathlib import Path

import numpy as np
import pytest
from numpy.testing import assert_allclose

from fourpatch.answers import bend_speed, listing
from fourpatch.answers.bend_speed import BendLimit, BendSpeed, bend_meaning
from fourpatch.answers.question import Asked
from fourpatch.face.standing_car import car

PAGE = (Path(__file__).parents[2] / "CONTRIBUTING.md").read_text(encoding="utf-8")


def test_the_file_and_the_line_shown_are_those_that_are_there() -> None:
    for module in (bend_speed, listing):
        source = Path(module.__file__).read_text(encoding="utf-8")
        shown = (
            source
            if module is bend_speed
            else next(line for line in source.splitlines(keepends=True) if "bend_speed" in line)
        )
        assert f"```python\n{shown}```" in PAGE


@pytest.mark.parametrize("name", ["hatchback", "coupe"])
def test_without_downforce_the_speed_goes_with_the_root_of_the_radius(name: str) -> None:
    asked = Asked(about=car(name))
    near, far = (BendSpeed(radius=radius).answer(asked).found["bend"] for radius in (40.0, 80.0))
    # v^2 = a R: what is left is downforce or lift and the drive force against drag, a few per cent of a.
    assert_allclose(far.speed / near.speed, np.sqrt(2.0), rtol=0.03)
    assert_allclose(near.lateral_acceleration, near.speed**2 / 40.0, rtol=1e-12)


def test_what_ends_the_speed_is_said() -> None:
    limit = BendLimit(speed=30.0, lateral_acceleration=15.0, top_speed=60.0)
    assert "no more grip" in bend_meaning(limit)
    assert "108 km/h" in bend_meaning(limit)
    flat = limit.model_copy(update={"speed": 60.0})
    assert "grip left" in bend_meaning(flat)
    assert "216 km/h" in bend_meaning(flat)
