"""Published sets: which are refused, what is said to write, and that writing it is the same tyre."""

import re
import tomllib
from collections.abc import Callable, Mapping
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from numpy.testing import assert_allclose

from fourpatch.car.car import Car
from fourpatch.car.pack import pack
from fourpatch.car.tyre_coefficients import tyre_coefficients
from fourpatch.errors import CarError
from fourpatch.physics.tyre import coefficient_set, tyre_forces

CarWith = Callable[[Mapping[str, Any]], Car]
Given = dict[str, float]

with (Path(__file__).parents[2] / "data" / "tyres_magic_formula.toml").open("rb") as file:
    BOOK: Given = {k: v for k, v in tomllib.load(file)["mf2006"].items() if k not in ("R0", "Fz0")}
BOOK |= {"pEx4": 0.1, "rHy2": 0.004}  # what the book's set leaves at 0
ANGLE = ("pKy1", "pHy1", "pHy2", "pEy3", "pEy4", "rHx1", "rBy3")
ALONG = ("pKx1", "pKx2", "pHx1", "pHx2", "pEx4", "rHy1", "rHy2", "rVy6")


def with_set(car_with: CarWith, coefficients: Given) -> Car:
    grip = {"kind": "magic-formula", "nominal_load": 4000.0, "coefficients": coefficients}
    return car_with({"front.tyre.grip": grip})


def turned(names: tuple[str, ...], given: Given = BOOK) -> Given:
    return {name: -value if name in names else value for name, value in given.items()}


@pytest.mark.parametrize(("names", "key"), [(ANGLE, "pKy1"), (ALONG, "pKx1")])
def test_a_set_that_pulls_along_with_its_slip_is_refused_and_can_be_turned_as_it_says(
    car_with: CarWith, names: tuple[str, ...], key: str
) -> None:
    """The set of one who counts the slip the other way: the same forces at the slip turned round."""
    theirs = turned(names)
    before = {"Fz0": 4000.0, **BOOK}, {"Fz0": 4000.0, **theirs}
    way = (1.0, -1.0) if names is ANGLE else (-1.0, 1.0)
    for kappa, tan_alpha, gamma in ((0.05, -0.1, 0.03), (-0.1, 0.07, -0.05), (0.2, 0.15, 0.0)):
        ours = tyre_forces(coefficient_set(before[0]), 0, 0, 1, 3000.0, kappa, tan_alpha, gamma)
        same = (way[0] * kappa, way[1] * tan_alpha)
        assert_allclose(
            tyre_forces(coefficient_set(before[1]), 0, 0, 1, 3000.0, *same, gamma), ours, rtol=1e-12
        )
    with pytest.raises(CarError, match=rf"tyre\.grip\.coefficients: {key} is .* pull along") as refused:
        pack(with_set(car_with, theirs))
    said = re.search(r"Change the sign of ([\w, ]+), and", str(refused.value))
    assert said is not None
    assert turned(tuple(re.split(r", | and ", said[1])), theirs) == BOOK
    pack(with_set(car_with, BOOK))


def test_the_sign_of_friction_alone_turns_nothing_round(car_with: CarWith) -> None:
    """D sin(C arctan(B x)) with B = K / (C D): a set may have both D and B of the other sign."""
    both = {**BOOK, "pDy1": -BOOK["pDy1"], "pDy2": -BOOK["pDy2"], "pVy1": 0.0, "pVy2": 0.0}
    pack(with_set(car_with, both))


def test_a_set_of_before_2006_is_told_what_to_write(car_with: CarWith) -> None:
    older = {name: value for name, value in BOOK.items() if name != "pKy4"}
    with pytest.raises(CarError, match="write pKy4 = 2"):
        pack(with_set(car_with, older))
    # K = pKy1 Fz0 sin(2 arctan(Fz / (pKy2 Fz0))) is what those sets mean.
    written = tyre_coefficients(with_set(car_with, {**older, "pKy4": 2.0}).front.tyre)
    assert np.array_equal(written, tyre_coefficients(with_set(car_with, BOOK).front.tyre))


def test_all_faults_of_a_set_are_told_at_once(car_with: CarWith) -> None:
    wrong = {**turned(ANGLE), "pKx1": -20.0, "pCy1": 5.0, "pKy9": 1.0}
    with pytest.raises(CarError) as refused:
        pack(with_set(car_with, wrong))
    for said in ("pKy9 is not a coefficient", "pCy1 is 5", "pKy1 is 14.95", "pKx1 is -20"):
        assert said in str(refused.value)
