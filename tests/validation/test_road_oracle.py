"""Random roads against the public package roadprofile 1.0.4 (GPL-3.0, used by the tests only).

It superposes harmonics of fixed amplitude and random phase on 0.0078 to 4 cycle/m; the method named in it is
da Silva, Computers & Structures 82 (2004) 871-881.  Its class values are the upper limits of ISO 8608, twice
the geometric means, so both are given Gd(n0) = 64e-6 m³ here.
"""

import math

import numpy as np
import pytest
import roadprofile
from numpy.testing import assert_allclose
from scipy.signal import welch

from fourpatch.track.road import RoadClass, rough_road

LENGTH, SPACING, ROADS = 500.0, 0.1, 6
LONGEST, SHORTEST = 1.0 / 0.0078, 0.25
PER_SEGMENT = 1024


@pytest.fixture(scope="module")
def their_roads() -> list[np.ndarray]:
    maker = roadprofile.RoadProfile(Gdn0=64e-6)
    np.random.seed(8608)  # noqa: NPY002  the package draws from the global state and takes no seed
    return [maker.generate(L=LENGTH, dx=SPACING).profile[:-1] for _ in range(ROADS)]


@pytest.fixture(scope="module")
def our_roads() -> list[np.ndarray]:
    roads = [
        rough_road(
            roughness=RoadClass.B,
            length=LENGTH,
            spacing=SPACING / 2.0,
            seed=seed,
            track_width=1.6,
            longest_wavelength=LONGEST,
            shortest_wavelength=SHORTEST,
        )
        for seed in range(ROADS)
    ]
    return [road.left[:-1:2] for road in roads]


def test_their_class_is_twice_our_mean():
    for name, theirs in roadprofile.RoadProfile.iso_Gdn0.items():
        # Powers of two times 1e-6: rounding.
        assert_allclose(theirs, 2.0 * RoadClass[name].value, rtol=1e-14)
        assert_allclose(theirs, RoadClass[name].upper_limit, rtol=1e-14)


@pytest.mark.parametrize("band", [(0.05, 0.1), (0.1, 0.3), (0.3, 1.0), (1.0, 3.0)])
def test_spectra_agree(our_roads: list[np.ndarray], their_roads: list[np.ndarray], band: tuple[float, float]):
    levels = []
    for roads in (our_roads, their_roads):
        estimates = [welch(road, fs=1.0 / SPACING, nperseg=PER_SEGMENT) for road in roads]
        n = estimates[0][0]
        inside = (n >= band[0]) & (n < band[1])
        mean = np.mean([estimate for _, estimate in estimates], axis=0)
        levels.append(np.mean((mean * (n / 0.1) ** 2)[inside]))
    segments = ROADS * (2 * LENGTH / SPACING / PER_SEGMENT - 1)
    # Both scatter: Hann bins correlate by 2/3 and 1/6, half-overlapping segments by 1/6 (test_iso_8608.py).
    scatter = math.sqrt(2.0 * 1.944 * 1.056 / (segments * np.sum(inside)))
    # Four standard deviations.
    assert_allclose(levels[0], levels[1], rtol=4.0 * scatter)


def test_root_mean_squares_agree(our_roads: list[np.ndarray], their_roads: list[np.ndarray]):
    closed_form = math.sqrt(64e-6 * 0.1**2 * (LONGEST - SHORTEST))
    ours, theirs = (
        math.sqrt(np.mean([np.mean(road**2) for road in roads])) for roads in (our_roads, their_roads)
    )
    # One period of ours: rounding.
    assert_allclose(ours, closed_form, rtol=1e-9)
    # Theirs is no whole period.  The mean square of a Gaussian road of length L scatters by 1/sqrt(3 L n1)
    # of itself (integral of the squared spectrum), its root by half of that; ROADS roads, three deviations.
    assert_allclose(theirs, closed_form, rtol=3.0 * 0.5 / math.sqrt(3.0 * ROADS * LENGTH / LONGEST))
