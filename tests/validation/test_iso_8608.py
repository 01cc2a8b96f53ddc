"""Random roads against ISO 8608, the isotropy of surfaces, and closed forms of a car's answer to such roads.

Sources:

- class limits: file Functions/B07_OptionsProcessing.m of the public repository rakehsaleem/VBI_BridgeProject
  (bridge-vehicle research code by D. Cantero, citing ISO 8608); seen.  The standard itself was not opened.
- geometric means: ISO 8608:2016 table C.1, from memory; confirmed here by mean² = lower * upper.
- slope spectrum and band variances: computed from Gd(n) = Gd(n0) (n/n0)^-2 apart from this project's code.
- coherence: isotropy of road surfaces, Dodds & Robson, J. Sound and Vibration 31 (1973), abstract seen; the
  integral over the two-dimensional spectrum is evaluated here.
- variances of a two-mass car on white road velocity: solved symbolically apart from this project's code, and
  numerically with scipy 1.17.1 `solve_continuous_lyapunov`.  Such formulas are published by Gobbi & Mastinu,
  J. Sound and Vibration 245 (2001) 457-481 (abstract seen).
"""

import math

import numpy as np
import pytest
from numpy.testing import assert_allclose
from scipy.integrate import quad
from scipy.signal import coherence, welch
from scipy.special import k1

from fourpatch.track.road import (
    RoadClass,
    RoadProfile,
    band_variance,
    displacement_spectrum,
    rough_road,
    track_cross_spectrum,
)

LIMITS_E6 = {
    "A": (8, 32),
    "B": (32, 128),
    "C": (128, 512),
    "D": (512, 2048),
    "E": (2048, 8192),
    "F": (8192, 32768),
    "G": (32768, 131072),
    "H": (131072, 524288),
}
"""Of Gd(n0), 1e-6 m³.  A has no lower and H no upper limit in the standard: 8, 524288 are the next steps."""

MEANS_E6 = {"A": 16, "B": 64, "C": 256, "D": 1024, "E": 4096, "F": 16384, "G": 65536, "H": 262144}
SLOPE_SPECTRUM_E6 = {"A": 6.31655, "B": 25.2662, "C": 101.065, "D": 404.259, "E": 1617.04}
"""4 pi² Gd(n0) n0², 1e-6 m."""
RMS_MM = {
    "A": 3.8064310637,
    "B": 7.6128621275,
    "C": 15.225724255,
    "D": 30.451448510,
    "E": 60.902897020,
}
"""Of the band 0.011 to 2.83 cycle/m, sqrt(Gd(n0) n0² (1/0.011 - 1/2.83)) with mpmath at 20 digits, mm."""

HANN_BIN_SCATTER = 1.0 + 2.0 * ((2.0 / 3.0) ** 2 + (1.0 / 6.0) ** 2)
"""Variance of the mean of many neighbouring bins of a Hann periodogram, times their number: the bins' Fourier
coefficients correlate by 2/3 and 1/6 (transform of the Hann window), their powers by the squares."""
HANN_HALF_OVERLAP_SCATTER = 1.0 + 2.0 * (1.0 / 6.0) ** 2
"""The same over segments that overlap by half: the window correlates with itself shifted by half by 1/6."""


def half_unit_of_last_digit(value: float, digits: int) -> float:
    return 0.5 * 10.0 ** (math.floor(math.log10(value)) + 1 - digits)


def line_spectrum(track: np.ndarray, length: float) -> np.ndarray:
    """One-sided spectral density at the lines k / length of one period. [m³]"""
    transform = np.fft.rfft(track[:-1]) / (track.size - 1)
    return 2.0 * np.abs(transform) ** 2 * length


@pytest.fixture(scope="module")
def long_road() -> RoadProfile:
    return rough_road(
        roughness=RoadClass.C,
        length=20_000.0,
        spacing=0.1,
        seed=20,
        track_width=1.6,
        shortest_wavelength=0.4,
        longest_wavelength=200.0,
    )


# The class table


@pytest.mark.parametrize("name", MEANS_E6)
def test_class_means_and_limits(name: str):
    lower, upper = LIMITS_E6[name]
    road_class = RoadClass[name]
    # Whole numbers times 1e-6: rounding.
    assert_allclose(road_class.value, 1e-6 * MEANS_E6[name], rtol=1e-14)
    assert_allclose(road_class.value**2, 1e-12 * lower * upper, rtol=1e-14)
    assert_allclose(road_class.lower_limit, 0.0 if name == "A" else 1e-6 * lower, rtol=1e-14)
    assert_allclose(road_class.upper_limit, math.inf if name == "H" else 1e-6 * upper, rtol=1e-14)


@pytest.mark.parametrize("name", SLOPE_SPECTRUM_E6)
def test_slope_spectrum_is_white_at_the_printed_level(name: str):
    n = np.geomspace(0.01, 10.0, 7)
    slope_spectrum = (2.0 * np.pi * n) ** 2 * displacement_spectrum(n, roughness=RoadClass[name])
    printed = SLOPE_SPECTRUM_E6[name]
    # Half a unit of the sixth digit printed.
    assert_allclose(1e6 * slope_spectrum, printed, rtol=0.0, atol=half_unit_of_last_digit(printed, 6))


@pytest.mark.parametrize("name", RMS_MM)
def test_root_mean_square_of_both_tracks_is_the_printed_one(name: str):
    road = rough_road(
        roughness=RoadClass[name],
        length=1000.0,
        spacing=0.05,
        seed=3,
        track_width=1.6,
        shortest_wavelength=1 / 2.83,
        longest_wavelength=1 / 0.011,
    )
    for track in (road.left, road.right):
        rms_mm = 1e3 * math.sqrt(np.mean(track[:-1] ** 2))
        # Half a unit of the last digit printed, at most 1.4e-10 of the value, and rounding.
        assert_allclose(rms_mm, RMS_MM[name], rtol=3e-10)


# The spectrum of a road as made


@pytest.mark.parametrize("waviness", [1.6, 2.0, 2.5])
@pytest.mark.parametrize("seed", [0, 1])
def test_every_line_of_either_track_has_the_class_spectrum(seed: int, waviness: float):
    length, longest, shortest = 1000.0, 100.0, 0.25
    road = rough_road(
        roughness=RoadClass.B,
        length=length,
        spacing=0.05,
        seed=seed,
        track_width=1.6,
        waviness=waviness,
        shortest_wavelength=shortest,
        longest_wavelength=longest,
    )
    # The outermost lines carry the half of their cell that lies in the band; the others are compared.
    line = np.arange(round(length / longest) + 1, round(length / shortest))
    expected = 64e-6 * (line / length / 0.1) ** -waviness
    # A line carries the mean of its cell, above the value at its middle by w (w + 1) / (24 k²); next term
    # w ... (w + 3) / (1920 k⁴) is below 1e-5 for k > 10.
    expected *= 1.0 + waviness * (waviness + 1.0) / (24.0 * line**2)
    for track in (road.left, road.right):
        assert_allclose(line_spectrum(track, length)[line], expected, rtol=1e-5)


@pytest.mark.parametrize("side", ["left", "right"])
def test_welch_estimate_lies_within_the_class_and_at_its_mean(long_road: RoadProfile, side: str):
    track = getattr(long_road, side)[:-1]
    per_segment = 4096
    n, estimate = welch(track, fs=1.0 / 0.1, nperseg=per_segment)
    segments = 2 * track.size / per_segment - 1
    for lower, upper in [(0.02, 0.05), (0.05, 0.1), (0.1, 0.2), (0.2, 0.5), (0.5, 1.0), (1.0, 2.0)]:
        band = (n >= lower) & (n < upper)
        ratio = np.mean(estimate[band] / (256e-6 * (n[band] / 0.1) ** -2))
        assert 0.5 < ratio < 2.0, f"{lower} to {upper} cycle/m leaves class C"
        scatter = math.sqrt(HANN_BIN_SCATTER * HANN_HALF_OVERLAP_SCATTER / (segments * np.sum(band)))
        # The Hann window smears by a second moment of 1/3 bin² (integral of its slope squared over that of
        # itself, / 4 pi²); half of that times the curvature 6/n² of n^-2 is (bin/n)², most at the lowest n.
        bias = 1.0 / (lower * per_segment * 0.1) ** 2
        # Gaussian heights: four standard deviations.
        assert_allclose(ratio, 1.0, rtol=0.0, atol=4.0 * scatter + bias)


# Two tracks of one surface


@pytest.mark.parametrize("waviness", [1.5, 2.0, 2.7])
@pytest.mark.parametrize("n", [0.01, 0.1, 0.5])
def test_cross_spectrum_is_that_of_an_isotropic_surface(waviness: float, n: float):
    track_width = 1.6

    def surface(m: float) -> float:
        """Two-dimensional spectrum whose integral over m falls with n^-w, without its constant."""
        return (n**2 + m**2) ** (-(waviness + 1.0) / 2.0)

    along, _ = quad(surface, 0.0, np.inf, epsabs=0.0, epsrel=1e-10)
    across, error = quad(
        surface, 0.0, np.inf, weight="cos", wvar=2.0 * np.pi * track_width, epsabs=1e-9 * along, limlst=500
    )
    actual = track_cross_spectrum(np.array(n), track_width=track_width, waviness=waviness)
    # The quadrature's own estimate of its error.
    assert_allclose(actual, across / along, rtol=1e-9, atol=error / along + 1e-9)


@pytest.mark.parametrize(
    ("waviness", "closed_form"),
    [
        (1.0, lambda u: np.exp(-u)),
        (2.0, lambda u: u * k1(u)),
        (3.0, lambda u: (1.0 + u) * np.exp(-u)),
    ],
)
def test_cross_spectrum_in_elementary_functions(waviness: float, closed_form):
    n = np.geomspace(1e-3, 3.0, 50)
    # K of half order is elementary.  Rounding.
    assert_allclose(
        track_cross_spectrum(n, track_width=1.5, waviness=waviness),
        closed_form(2.0 * np.pi * n * 1.5),
        rtol=1e-11,
    )


def test_in_phase_cross_spectrum_is_met_at_every_line():
    road = rough_road(roughness=RoadClass.B, length=1000.0, spacing=0.05, seed=5, track_width=1.6)
    left, right = np.fft.rfft(road.left[:-1]), np.fft.rfft(road.right[:-1])
    line = np.arange(10, 5000)
    in_phase = np.real(left * np.conj(right))[line] / np.abs(left * right)[line]
    u = 2.0 * np.pi * 1.6 * line / 1000.0
    # Rounding of a transform of 20 000 points whose short waves are 500 times lower than its long ones.
    assert_allclose(in_phase, u * k1(u), rtol=0.0, atol=1e-9)


def test_measured_coherence_follows_isotropy(long_road: RoadProfile):
    per_segment = 2048
    n, measured = coherence(
        long_road.left[:-1],
        long_road.right[:-1],
        fs=1.0 / 0.1,
        nperseg=per_segment,
        noverlap=per_segment // 2,
    )
    independent = (2 * 200_000 / per_segment - 1) / HANN_HALF_OVERLAP_SCATTER
    for middle in (0.03, 0.05, 0.08, 0.12, 0.2, 0.3, 0.5, 1.0, 2.0):
        band = np.argsort(np.abs(n - middle))[:8]
        u = 2.0 * np.pi * 1.6 * n[band]
        model = (u * k1(u)) ** 2
        # Coherence c from K segments is biased by (1 - c)²/K and scatters by sqrt(2 c/K) (1 - c), or
        # by (1 - c)/K where c vanishes (Bendat & Piersol, from memory); averaged over 8 correlated bins.
        expected = np.mean(model + (1.0 - model) ** 2 / independent)
        scatter = np.mean((1.0 - model) * np.sqrt(2.0 * model / independent + 1.0 / independent**2))
        scatter *= math.sqrt(HANN_BIN_SCATTER / band.size)
        assert_allclose(np.mean(measured[band]), expected, rtol=0.0, atol=4.0 * scatter)


def test_road_is_as_rough_across_the_car_as_along_it(long_road: RoadProfile):
    track_width, steps = 1.6, 16
    left, right = long_road.left[:-1], long_road.right[:-1]
    measured = {
        "across": np.mean((left - right) ** 2),
        "along": np.mean((left - np.roll(left, steps)) ** 2),
    }
    # Left out below and above the road's band of n: 2 * integral of Gd (1 - g), with g as in the test above
    # across and the cosine along.
    tracks = {"across": lambda u: u * k1(u), "along": np.cos}
    for direction, g in tracks.items():
        left_out = sum(
            quad(
                lambda n, g=g: 2.0 * 256e-6 * 0.1**2 / n**2 * (1.0 - g(2.0 * np.pi * n * track_width)),
                lower,
                upper,
                epsabs=1e-12,
                epsrel=1e-6,
                limit=2000,
            )[0]
            for lower, upper in ((1e-7, 1.0 / 200.0), (1.0 / 0.4, 100.0))
        )
        # Over all n both are 2 pi² Gd(n0) n0² b.  Lines 1/100 of the lowest n apart: (1/100)²; n above 100
        # left out of the sum: 1 / (pi² b 100), 6e-4; n below 1e-7: nothing.
        whole = 2.0 * np.pi**2 * 256e-6 * 0.1**2 * track_width
        assert_allclose(measured[direction] + left_out, whole, rtol=1e-3, err_msg=direction)


# A two-mass car on the road

SPRUNG, UNSPRUNG, SPRING, TYRE, DAMPER = 300.0, 40.0, 30e3, 200e3, 2000.0
SPEED = 30.0
RESPONSE_RMS = {
    "body acceleration": 1.07905057,
    "suspension travel": 5.67577209e-3,
    "damper speed": 0.137657693,
    "tyre load": 484.409926,
}
"""Class B at its mean, 30 m/s, all frequencies. [m/s², m, m/s, N]"""


def response_per_road_height(frequency: np.ndarray) -> dict[str, np.ndarray]:
    """Frequency responses of the two-mass car to road height, from its two equations of motion."""
    s = 2j * np.pi * frequency
    force_per_travel = SPRING + DAMPER * s
    # m_s s² Zs = -F (Zs - Zu);  m_u s² Zu = F (Zs - Zu) + k_t (Zr - Zu)
    body_per_wheel = force_per_travel / (SPRUNG * s**2 + force_per_travel)
    wheel = TYRE / (UNSPRUNG * s**2 + SPRUNG * s**2 * body_per_wheel + TYRE)
    body = body_per_wheel * wheel
    return {
        "body acceleration": s**2 * body,
        "suspension travel": body - wheel,
        "damper speed": s * (body - wheel),
        "tyre load": TYRE * (wheel - 1.0),
    }


@pytest.mark.parametrize("name", RESPONSE_RMS)
def test_response_of_a_two_mass_car_has_the_closed_form_variance(name: str):
    length, longest, shortest = 2000.0, 100.0, 0.1
    road = rough_road(
        roughness=RoadClass.B,
        length=length,
        spacing=0.025,
        seed=11,
        track_width=1.6,
        longest_wavelength=longest,
        shortest_wavelength=shortest,
    )
    line = np.arange(1, road.distance.size // 2)
    road_lines = np.fft.rfft(road.left[:-1])[line] / (road.distance.size - 1)
    response = response_per_road_height(SPEED * line / length)[name] * road_lines
    variance = 2.0 * np.sum(np.abs(response) ** 2)

    def density(frequency: float) -> float:
        gain = abs(response_per_road_height(np.array(frequency))[name])
        return float(gain**2 * 64e-6 * 0.1**2 * SPEED / frequency**2)

    below, _ = quad(density, 1e-6, SPEED / longest)
    above, _ = quad(density, SPEED / shortest, np.inf)
    # Left out below and above the band: computed, and small.  Rest: a sum over lines 0.015 Hz apart of a
    # resonance about 1 Hz wide differs from its integral by less than the square of their ratio, 2e-4.
    assert below + above < 0.02 * RESPONSE_RMS[name] ** 2
    assert_allclose(variance + below + above, RESPONSE_RMS[name] ** 2, rtol=2e-4)


def test_band_variance_of_the_printed_table():
    actual = band_variance(np.array(0.011), np.array(2.83), roughness=RoadClass.A)
    # Half a unit of the last digit printed, and rounding.
    assert_allclose(1e3 * math.sqrt(actual), RMS_MM["A"], rtol=3e-10)
