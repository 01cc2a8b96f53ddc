"""Tyre forces against tables computed from three published coefficient sets (tests/data/SOURCES.md)."""

import csv
import math
import tomllib
from collections.abc import Mapping
from pathlib import Path

import numba
import numpy as np
import pytest
from numpy.testing import assert_allclose
from numpy.typing import NDArray

from fourpatch.physics.tyre import (
    coefficient_set,
    cornering_stiffness,
    longitudinal_stiffness,
    peak_friction,
    tyre_forces,
)

DATA = Path(__file__).parents[1] / "data"
Set = NDArray[np.float64]

# Half a unit of the last printed digit, and what the polynomials of physics/tyre.py cost per load.
PRINTED = 0.5e-4
POLYNOMIALS = 2e-9


@numba.njit
def _forces(S: Set, Fz: float, kappa: float, tan_alpha: float, gamma: float) -> tuple[float, float]:
    return tyre_forces(S, 0, 0, 1, Fz, kappa, tan_alpha, gamma)


def _rows(name: str) -> list[dict[str, float]]:
    with (DATA / name).open(newline="") as file:
        return [
            {key: value if key == "quantity" else float(value) for key, value in row.items()}
            for row in csv.DictReader(file)
        ]


def _table(name: str, table: str) -> dict:
    with (DATA / name).open("rb") as file:
        return tomllib.load(file)[table]


def _book_set() -> Set:
    table = _table("tyres_magic_formula.toml", "mf2006")
    return coefficient_set({name: value for name, value in table.items() if name != "R0"})


# Pacejka, Tyre and Vehicle Dynamics, 2nd ed. 2006, Table A3.1.


@pytest.mark.parametrize("row", _rows("tyre_mf2006.csv"))
def test_book_set_pure_and_combined(row: Mapping[str, float]):
    book = _book_set()
    load, kappa = row["Fz_N"], row["kappa"]
    tan_alpha, gamma = math.tan(math.radians(row["alpha_deg"])), math.radians(row["camber_deg"])
    combined = _forces(book, load, kappa, tan_alpha, gamma)
    pure = _forces(book, load, kappa, 0.0, gamma)[0], _forces(book, load, 0.0, tan_alpha, gamma)[1]
    tolerance = PRINTED + POLYNOMIALS * load
    assert_allclose(combined, (row["Fx_combined_N"], row["Fy_combined_N"]), rtol=0.0, atol=tolerance)
    assert_allclose(pure, (row["Fx_pure_N"], row["Fy_pure_N"]), rtol=0.0, atol=tolerance)


# Slip stiffness, cornering stiffness and peak frictions of the same set at zero camber, computed apart
# from this project's code and printed with these digits in the project's reference values, section 5.
BOOK_STIFFNESS = [
    (2000.0, 38204.255, 26608.870, 1.2285, 1.0625),
    (4000.0, 86040.000, 46009.139, 1.2100, 0.9900),
    (6000.0, 145326.260, 56302.878, 1.1915, 0.9175),
]


@pytest.mark.parametrize(("load", "slip", "cornering", "mu_x", "mu_y"), BOOK_STIFFNESS)
def test_book_set_stiffness_and_friction(load, slip, cornering, mu_x, mu_y):
    book = _book_set()
    # Half a unit of the last printed digit; the polynomials cost 1e-9 of 1.5e5.
    assert_allclose(longitudinal_stiffness(book, 0, 0, 1, load), slip, rtol=1e-9, atol=5e-4)
    assert_allclose(cornering_stiffness(book, 0, 0, 1, load, 0.0), cornering, rtol=1e-9, atol=5e-4)
    assert_allclose(peak_friction(book, 0, 0, 1, load, 0.0), (mu_x, mu_y), rtol=0.0, atol=1e-12)


# Bakker, Nyborg and Pacejka, SAE 870421 (1987). At zero camber their load laws are those of 2006 in other
# units, so nothing is fitted: D = a1 Fz² + a2 Fz is friction linear in load, BCD = a3 sin(a4 arctan a5 Fz)
# the later cornering stiffness, (a3 Fz² + a4 Fz) e^(−a5 Fz) the later slip stiffness. Their slip variable
# is the angle itself, not its tangent. Not covered: their camber terms, which are different.


def _set_of_1987() -> Set:
    table = _table("tyres_magic_formula.toml", "mf1987")
    y, x = table["Fy"], table["Fx"]
    nominal = 4.0  # kN; any other gives the same forces
    fall = math.exp(-x["a5"] * nominal)
    return coefficient_set(
        {
            "Fz0": 1e3 * nominal,
            "pCy1": y["C"],
            "pDy1": 1e-3 * (y["a1"] * nominal + y["a2"]),
            "pDy2": 1e-3 * y["a1"] * nominal,
            "pEy1": y["a7"] * nominal + y["a8"],
            "pEy2": y["a7"] * nominal,
            "pKy1": math.degrees(y["a3"]) / (1e3 * nominal),
            "pKy2": 1.0 / (y["a5"] * nominal),
            "pKy4": y["a4"],
            "pCx1": x["C"],
            "pDx1": 1e-3 * (x["a1"] * nominal + x["a2"]),
            "pDx2": 1e-3 * x["a1"] * nominal,
            "pEx1": (x["a6"] * nominal + x["a7"]) * nominal + x["a8"],
            "pEx2": (2.0 * x["a6"] * nominal + x["a7"]) * nominal,
            "pEx3": x["a6"] * nominal**2,
            "pKx1": 0.1 * (x["a3"] * nominal + x["a4"]) * fall,
            "pKx2": 0.1 * x["a3"] * nominal * fall,
            "pKx3": -x["a5"] * nominal,
            "rCx1": 1.0,
            "rCy1": 1.0,
        }
    )


@pytest.mark.parametrize("row", _rows("tyre_mf1987.csv"))
def test_set_of_1987_without_camber(row):
    slip, load = row["slip"], row["Fz_N"]
    assert row["camber_deg"] == 0.0
    if row["quantity"] == "Fy_at_slip_angle_deg":
        actual = _forces(_set_of_1987(), load, 0.0, math.radians(slip), 0.0)[1]
    else:
        actual = _forces(_set_of_1987(), load, slip / 100.0, 0.0, 0.0)[0]
    assert_allclose(actual, row["force_N"], rtol=0.0, atol=PRINTED + POLYNOMIALS * load)


# commonroad-vehicle-models 3.0.2. What differs there, and so is not compared:
# - its vertical shift of the longitudinal force stands inside the sine. Compared instead: its pure force
#   with that shift undone, and the share that combined slip leaves of it;
# - its lateral shifts carry the sign of the camber and jump with it: rows with camber are left out, and
#   without camber it has no shifts;
# - its longitudinal functions turn the sign of kappa, its lateral ones do not, so drive slip for one is brake
#   slip for the other: each force is computed at the kappa its function uses;
# - its cornering stiffness is proportional to load: here the limit of a law that bends at 1e5 nominal loads.


def _commonroad_set() -> Set:
    package = _table("tyre_commonroad.toml", "tyre")
    same = (
        "cx1 dx1 ex1 kx1 hx1",
        "cy1 dy1 ey1",
        "bx1 bx2 cx1 ex1 hx1 by1 by2 by3 cy1 ey1 hy1 vy1 vy4 vy5 vy6",
    )
    names = [f"p_{n}" for n in " ".join(same[:2]).split()] + [f"r_{n}" for n in same[2].split()]
    given = {name[0] + name[2].upper() + name[3:]: package[name] for name in names}
    bend = 1e5
    return coefficient_set(
        {**given, "Fz0": 4000.0, "pKy1": package["p_ky1"] * bend, "pKy2": bend, "pKy4": 1.0}
    )


@pytest.mark.parametrize("row", [row for row in _rows("tyre_commonroad.csv") if row["camber_deg"] == 0.0])
def test_commonroad_set_without_camber(row):
    tyre = _commonroad_set()
    load, kappa, tan_alpha = row["Fz_N"], row["kappa_package"], math.radians(row["alpha_deg"])
    Fx, Fx_pure = (_forces(tyre, load, -kappa, slip, 0.0)[0] for slip in (tan_alpha, 0.0))
    Fy, Fy_pure = (_forces(tyre, load, slip, tan_alpha, 0.0)[1] for slip in (kappa, 0.0))
    # The bend of the stiffness law costs (load / bend)² / 2, below 1e-9 of the force.
    tolerance = PRINTED + POLYNOMIALS * load
    assert_allclose(Fy_pure, row["Fy_pure_N"], rtol=0.0, atol=tolerance)
    assert_allclose(Fy, row["Fy_combined_N"], rtol=0.0, atol=tolerance)
    # The share is as exact as the smaller of the two printed forces.
    shares = row["Fx_combined_N"] / row["Fx_pure_N"]
    assert_allclose(Fx / Fx_pure, shares, rtol=2.0 * PRINTED / abs(row["Fx_combined_N"]) + 2e-9)
    # Their force is D sin(angle + shift): with the shift taken from the angle it is D sin(angle), ours.
    package = _table("tyre_commonroad.toml", "tyre")
    D = package["p_dx1"] * load
    angle = math.asin(Fx_pure / D)
    past_peak = math.copysign(math.pi, angle) - angle
    with_shift = [D * math.sin(a + package["p_vx1"] * load) for a in (angle, past_peak)]
    nearest = min(with_shift, key=lambda force: abs(force - row["Fx_pure_N"]))
    # asin magnifies an error by 1 / cos(angle), the shift undoes it: 10 is enough for these slips.
    assert_allclose(nearest, row["Fx_pure_N"], rtol=0.0, atol=10.0 * tolerance)
