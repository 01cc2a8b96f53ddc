"""Forces of a patch at any slip: friction against closed forms, the formula where it was fitted."""

import csv
import math
import tomllib
from pathlib import Path

import numba
import numpy as np
import pytest
from hypothesis import example, given
from hypothesis import strategies as st
from numpy.testing import assert_allclose
from scipy.optimize import minimize_scalar

from fourpatch.car.parameters import CompactTyre
from fourpatch.car.tyre_coefficients import compact_coefficients
from fourpatch.physics.patch_friction import GRIPS, SLIDES, patch_forces
from fourpatch.physics.tyre import T, coefficient_set, peak_friction, tyre_forces

DATA = Path(__file__).parents[2] / "data"
POLYNOMIALS = 2e-9  # of the load, of trig.py: see tests/validation/test_magic_formula.py

# Invented tyres whose laws do not hang on the load; friction along and across differ in size and shape.
ALONG = {"C": 1.6, "D": 1.7, "E": 0.3, "K": 28.0}
ACROSS = {"C": 1.35, "D": 1.5, "E": -0.5, "K": 30.0}
LOAD = 3000.0


def plain_set(along: dict[str, float], across: dict[str, float], **combined: float) -> np.ndarray:
    # Cornering stiffness is pKy1 Fz0 sin(pKy4 arctan(Fz / (pKy2 Fz0))): pKy1 Fz0 at nominal load.
    return coefficient_set(
        {
            "Fz0": LOAD,
            "pCx1": along["C"], "pDx1": along["D"], "pEx1": along["E"], "pKx1": along["K"],
            "pCy1": across["C"], "pDy1": -across["D"], "pEy1": across["E"], "pKy1": -across["K"],
            "pKy2": 1.0, "pKy4": 2.0,
            **combined,
        }
    )  # fmt: skip


WEIGHTS = {"rBx1": 14.0, "rBx2": 12.0, "rCx1": 1.09, "rBy1": 12.0, "rBy2": 9.0, "rCy1": 1.09}
RACING = plain_set(ALONG, ACROSS, **WEIGHTS)
ALIKE = plain_set(ALONG, ALONG, **WEIGHTS)
SHARP = plain_set({**ALONG, "K": 60.0}, {**ACROSS, "K": 45.0}, rBx1=30.0, rCx1=1.09, rBy1=15.0, rCy1=1.08)
with (DATA / "tyres_magic_formula.toml").open("rb") as file:
    BOOK = coefficient_set({k: v for k, v in tomllib.load(file)["mf2006"].items() if k != "R0"})

slips = st.floats(-3.0, 3.0)
until_locked = st.floats(-1.0, 1.0)
tangents = st.floats(-60.0, 60.0)


@numba.njit
def patch(S, Fz, kappa, tan_alpha, gamma=0.0):
    return patch_forces(S, 0, 0, 1, Fz, kappa, tan_alpha, gamma)


@numba.njit
def formula(S, Fz, kappa, tan_alpha, gamma=0.0):
    return tyre_forces(S, 0, 0, 1, Fz, kappa, tan_alpha, gamma)


def pure(curve: dict[str, float], slip: float) -> float:
    """Magic Formula of one slip, force over load, written from its definition."""
    x = curve["K"] / (curve["C"] * curve["D"]) * slip
    return curve["D"] * math.sin(curve["C"] * math.atan(x - curve["E"] * (x - math.atan(x))))


@pytest.mark.parametrize(
    "degrees", [0.0, 1.0, 5.0, 30.0, 60.0, 80.0, 89.0, 100.0, 150.0, 175.0, 180.0, -40.0]
)
@pytest.mark.parametrize("load", [800.0, 3000.0, 6000.0])
def test_a_locked_wheel_is_rubbed_against_its_own_velocity(degrees: float, load: float):
    along, across = math.cos(math.radians(degrees)), math.sin(math.radians(degrees))
    kappa, tan_alpha = -math.copysign(1.0, along), across / abs(along)
    bend = load / LOAD
    stiffness = ACROSS["K"] * math.sin(2.0 * math.atan(bend)) / bend
    sizes = pure(ALONG, 1.0), pure({**ACROSS, "K": stiffness}, min(abs(tan_alpha), 1.0))
    friction = load * (sizes[0] * along**2 + sizes[1] * across**2)
    expected = -friction * along, -friction * across
    # the formula's polynomials, and rounding
    assert_allclose(patch(RACING, load, kappa, tan_alpha), expected, rtol=0.0, atol=2.0 * POLYNOMIALS * load)


@given(degrees=st.floats(-89.9, 89.9))
def test_a_tyre_alike_along_and_across_slides_alike_in_every_direction(degrees: float):
    size = math.hypot(*patch(ALIKE, LOAD, -1.0, math.tan(math.radians(degrees)))) / LOAD
    # Below 45° the curve across is taken where it has fallen less; 0.1 %: at 1° it has hardly risen.
    assert 0.999 * pure(ALONG, 1.0) <= size <= 1.04 * pure(ALONG, 1.0)


def test_a_locked_wheel_and_a_free_one_slide_across_alike():
    locked = patch(RACING, LOAD, -1.0, 1e6)
    # A locked wheel's slip along is a millionth of that across.
    assert_allclose(locked, patch(RACING, LOAD, 0.0, 1e6), rtol=0.0, atol=3e-6 * LOAD)
    assert_allclose(locked[1], -LOAD * pure(ACROSS, 1.0), rtol=1e-8)


compact_tyres = st.builds(
    lambda mu, along, angle, ratio, steep: compact_coefficients(
        CompactTyre(
            nominal_load=LOAD,
            peak_friction=mu,
            longitudinal_to_lateral=along,
            load_sensitivity=0.12,
            peak_slip_angle=angle,
            cornering_stiffness=steep * mu / angle,
            peak_slip_ratio=ratio,
            slip_stiffness=steep * along * mu / ratio,
            best_camber=0.0,
        )
    ),
    st.floats(0.7, 1.9),
    st.floats(0.9, 1.2),
    st.floats(0.09, 0.25),
    st.floats(0.06, 0.2),
    st.floats(1.6, 2.2),
)


@given(kappa=slips, tan_alpha=tangents, load=st.floats(0.0, 9000.0), coefficients=compact_tyres)
def test_force_is_within_peak_friction_and_never_drives_the_slip_on(kappa, tan_alpha, load, coefficients):
    S = coefficient_set(coefficients)
    Fx, Fy = patch(S, load, kappa, tan_alpha)
    assert math.hypot(Fx, Fy) <= (max(peak_friction(S, 0, 0, 1, load, 0.0)) + POLYNOMIALS) * load
    # The power over the wheel's speed: the patch moves over the road at |u| (-kappa, tan_alpha).
    assert -kappa * Fx + tan_alpha * Fy <= POLYNOMIALS * load * math.hypot(kappa, tan_alpha)


@given(kappa=slips, tan_alpha=tangents, load=st.floats(0.0, 9000.0))
@example(kappa=-0.67, tan_alpha=0.02, load=3000.0)
@example(kappa=-1.0, tan_alpha=math.tan(math.radians(80.0)), load=3000.0)
def test_no_set_exceeds_its_peak_but_where_the_formula_itself_does(kappa, tan_alpha, load):
    without_weights = plain_set(ALONG, ACROSS, rCx1=1.0, rCy1=1.0)
    for S in (RACING, ALIKE, SHARP, without_weights):
        size = math.hypot(*patch(S, load, kappa, tan_alpha))
        peak = max(peak_friction(S, 0, 0, 1, load, 0.0)) * load
        sliding = math.hypot(S[T.sharpness_x] * kappa, S[T.sharpness_y] * tan_alpha) >= SLIDES
        formulas = 0.0 if sliding else math.hypot(*formula(S, load, kappa, tan_alpha))
        assert size <= max(peak, formulas) + POLYNOMIALS * load


@given(kappa=until_locked, tan_alpha=until_locked)
def test_pure_slips_keep_the_formula_up_to_a_locked_wheel_and_45_degrees(kappa, tan_alpha):
    for S in (RACING, SHARP):
        # The polynomials: the formula multiplies by the cosine of no slip over itself.
        for slip in ((kappa, 0.0), (0.0, tan_alpha)):
            expected = formula(S, LOAD, *slip)
            assert_allclose(patch(S, LOAD, *slip), expected, rtol=0.0, atol=POLYNOMIALS * LOAD)


@given(
    part=st.floats(0.0, GRIPS * (1.0 - 1e-9)), degrees=st.floats(-180.0, 180.0), gamma=st.floats(-0.1, 0.1)
)
def test_the_formula_alone_counts_up_to_moderate_slip(part, degrees, gamma):
    for S in (RACING, SHARP, BOOK):
        kappa = part / S[T.sharpness_x] * math.cos(math.radians(degrees))
        tan_alpha = part / S[T.sharpness_y] * math.sin(math.radians(degrees))
        assert patch(S, LOAD, kappa, tan_alpha, gamma) == formula(S, LOAD, kappa, tan_alpha, gamma)


def test_the_book_s_table_is_within_moderate_slip_but_for_its_locked_wheels():
    with (DATA / "tyre_mf2006.csv").open(newline="") as file:
        rows = [{k: float(v) for k, v in row.items()} for row in csv.DictReader(file)]
    rolling = [row for row in rows if row["kappa"] > -0.9]
    assert len(rolling) > 0.8 * len(rows)
    for row in rolling:
        slip = row["kappa"], math.tan(math.radians(row["alpha_deg"])), math.radians(row["camber_deg"])
        assert patch(BOOK, row["Fz_N"], *slip) == formula(BOOK, row["Fz_N"], *slip)


def test_force_passes_smoothly_from_grip_to_friction():
    share = np.linspace(0.8 * GRIPS, 1.2 * SLIDES, 4001)
    along, across = 0.8 / RACING[T.sharpness_x], 0.6 / RACING[T.sharpness_y]
    forces = np.array([patch(RACING, LOAD, s * along, s * across) for s in share]) / LOAD
    slope = np.diff(forces, axis=0) / (share[1] - share[0])
    assert np.max(np.abs(slope)) < 0.5  # per peak: a force of 1.5 changes its direction within 2.5 peaks
    # A kink would stand out as a step of the slope; the curvature, up to 2, makes 2 x 1e-3 of it.
    assert np.max(np.abs(np.diff(slope, axis=0))) < 4e-3


@pytest.mark.parametrize("S", [RACING, SHARP])
def test_sharpness_is_one_over_the_slip_of_the_peak(S):
    peaks = [
        minimize_scalar(lambda s: -patch(S, LOAD, s, 0.0)[0], bounds=(0.01, 0.3), method="bounded").x,
        minimize_scalar(lambda s: patch(S, LOAD, 0.0, s)[1], bounds=(0.01, 0.3), method="bounded").x,
    ]
    # The search's own accuracy, 1e-5 of the bound; at a peak the polynomials hide 1e-4 of a slip.
    assert_allclose(1.0 / S[[T.sharpness_x, T.sharpness_y]], peaks, rtol=1e-3)


def test_a_locked_wheel_of_a_set_without_a_peak_slides_all_the_same():
    flat = plain_set({**ALONG, "C": 0.9}, {**ACROSS, "C": 0.9}, **WEIGHTS)
    assert tuple(flat[[T.sharpness_x, T.sharpness_y]]) == (SLIDES, SLIDES)
    Fx, Fy = patch(flat, LOAD, -1.0, 0.1)
    assert_allclose(Fy / Fx, 0.1, rtol=1e-12)  # rounding


def test_sharpness_is_not_given():
    with pytest.raises(ValueError, match="sharpness_x is not a coefficient"):
        plain_set(ALONG, ACROSS, sharpness_x=9.0)


@given(kappa=slips, tan_alpha=tangents, gamma=st.floats(-0.2, 0.2), load=st.floats(0.0, 15000.0))
def test_forces_are_finite_and_none_without_load(kappa, tan_alpha, gamma, load):
    for S in (BOOK, RACING):
        assert np.all(np.isfinite(patch(S, load, kappa, tan_alpha, gamma)))
        assert patch(S, -load, kappa, tan_alpha, gamma) == (0.0, 0.0)
