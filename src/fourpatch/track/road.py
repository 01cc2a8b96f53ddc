"""Random road profiles of an ISO 8608 class, as two parallel tracks that belong to one surface."""

import math
from dataclasses import dataclass
from enum import Enum
from typing import Final, TypeAlias

import numpy as np
from numpy.typing import NDArray

from fourpatch.errors import TrackError

FloatArray: TypeAlias = NDArray[np.float64]

REFERENCE_SPATIAL_FREQUENCY: Final = 0.1
"""n0 of ISO 8608, where the roughness of a class is quoted. [cycle/m]"""

POINTS_PER_WAVELENGTH: Final = 4
"""Fewest points a wave may have.  The sampling theorem asks for two, but a profile is read between its
points by a cubic spline, whose largest error on a sine of 4 points is 2.8 % of the amplitude, of 3 points
13 % and of 2 points 100 % (measured here)."""

SPACING_ROUNDING: Final = 1e-9
"""Relative room for rounding where a spacing is compared with a length."""


def require_positive(value: float, *, name: str, unit: str, remedy: str) -> None:
    """Refuse a value that is not a finite number above zero.

    Parameters
    ----------
    value : what was given. [unit]
    name, unit, remedy : of the value, and what to do about it, for the message.

    Raises
    ------
    TrackError
        If `value` is not finite or not above zero.
    """
    if not (math.isfinite(value) and value > 0.0):
        raise TrackError(f"{name} is {value:g} {unit}; it must be a finite number greater than 0. {remedy}")


class RoadClass(Enum):
    """Classes of ISO 8608; the value is Gd(n0) [m³] at the geometric mean of the class.

    Notes
    -----
    Class k has the geometric mean 16e-6 * 4^k and the limits a factor of two either side.  Two other readings
    are common and wrong: the upper limit, or the arithmetic middle (20, 80, 320 ...), taken for the mean.

    Source: the limits as seen in public research code citing ISO 8608 (VBI_BridgeProject, D. Cantero; see
    tests/validation/test_iso_8608.py); the means from memory of ISO 8608:2016 table C.1, confirmed by
    mean = sqrt(lower * upper).
    """

    A = 16e-6
    B = 64e-6
    C = 256e-6
    D = 1024e-6
    E = 4096e-6
    F = 16384e-6
    G = 65536e-6
    H = 262144e-6

    @property
    def lower_limit(self) -> float:
        """Least Gd(n0) [m³] of the class; 0 for class A, which has no lower limit."""
        return 0.0 if self is RoadClass.A else self.value / 2.0

    @property
    def upper_limit(self) -> float:
        """Largest Gd(n0) [m³] of the class; infinite for class H, which has no upper limit."""
        return math.inf if self is RoadClass.H else self.value * 2.0


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class RoadProfile:
    """Heights under the left and the right wheels of a straight, at evenly spaced points.

    The arrays are copied and made read-only.

    Raises
    ------
    TrackError
        If the arrays differ in length, hold fewer than two points or a number that is not finite, or the
        distances are not evenly spaced and rising.
    """

    distance: FloatArray
    """Travelled from the start of the profile, shape (n,). [m]"""
    left: FloatArray
    """Height under the left wheels, z up, shape (n,). [m]"""
    right: FloatArray
    """Height under the right wheels, z up, shape (n,). [m]"""

    def __post_init__(self) -> None:
        """Copy the rows, make them read-only, refuse what cannot be a road."""
        for name in ("distance", "left", "right"):
            array = np.array(getattr(self, name), dtype=np.float64)
            if array.ndim != 1 or array.size < 2 or array.shape != np.shape(self.distance):
                raise TrackError(
                    f"road profile: {name} has shape {array.shape}, distance {np.shape(self.distance)}; "
                    "all three must be rows of the same number of points, at least 2. "
                    "Give one height per side for each distance."
                )
            if not np.all(np.isfinite(array)):
                bad = int(np.flatnonzero(~np.isfinite(array))[0])
                raise TrackError(
                    f"road profile: {name} at point {bad} is {array[bad]} m; every point must be a finite "
                    "number. Fill the gap or cut the profile there."
                )
            array.setflags(write=False)
            object.__setattr__(self, name, array)
        self._require_even_spacing()

    def _require_even_spacing(self) -> None:
        steps = np.diff(self.distance)
        if self.spacing <= 0.0 or np.max(np.abs(steps - self.spacing)) > 1e-6 * self.spacing:
            worst = int(np.argmax(np.abs(steps - self.spacing)))
            raise TrackError(
                f"road profile: points {worst} and {worst + 1} are {steps[worst]:g} m apart, the mean is "
                f"{self.spacing:g} m; points must be evenly spaced and distances must rise, because the "
                "tyre's contact filter counts in points. Sample the profile at even distances."
            )

    @property
    def spacing(self) -> float:
        """Distance [m] between neighbouring points."""
        return self.length / (self.distance.size - 1)

    @property
    def length(self) -> float:
        """Distance [m] from the first to the last point."""
        return float(self.distance[-1] - self.distance[0])

    def __add__(self, other: "RoadProfile") -> "RoadProfile":
        """Lay one profile on top of another: a kerb on a rough road."""
        if self.distance.shape != other.distance.shape or not np.allclose(
            self.distance, other.distance, rtol=0.0, atol=1e-6 * self.spacing
        ):
            raise TrackError(
                f"road profiles cannot be added: one has {self.distance.size} points {self.spacing:g} m "
                f"apart, the other {other.distance.size} points {other.spacing:g} m apart; heights add only "
                "at the same distances. Make both with the same length and spacing."
            )
        return RoadProfile(
            distance=self.distance, left=self.left + other.left, right=self.right + other.right
        )


def straight_distance(*, length: float, spacing: float) -> FloatArray:
    """Evenly spaced distances from 0 to `length`, both ends included.

    Parameters
    ----------
    length : of the straight, at least one spacing; rounded to a whole number of spacings. [m]
    spacing : between points. [m]

    Returns
    -------
    FloatArray
        Distances, shape (round(length / spacing) + 1,). [m]

    Raises
    ------
    TrackError
        If `length` or `spacing` is not positive, or `spacing` exceeds `length`.
    """
    require_positive(length, name="length", unit="m", remedy="Give the distance to drive.")
    require_positive(spacing, name="spacing", unit="m", remedy="Points 0.05 m apart suit most roads.")
    if spacing > length * (1.0 + SPACING_ROUNDING):
        raise TrackError(
            f"spacing is {spacing:g} m, length {length:g} m; a profile needs at least two points. "
            "Take a smaller spacing."
        )
    return np.arange(round(length / spacing) + 1, dtype=np.float64) * spacing


def displacement_spectrum(
    spatial_frequency: FloatArray, *, roughness: RoadClass | float, waviness: float = 2.0
) -> FloatArray:
    """One-sided power spectral density of road height.

    Parameters
    ----------
    spatial_frequency : n, > 0, any shape. [cycle/m]
    roughness : Gd(n0), or a class taken at its geometric mean. [m³]
    waviness : w, the negative slope of the spectrum in log-log. [-]

    Returns
    -------
    FloatArray
        Gd(n), shape of `spatial_frequency`. [m³]

    Notes
    -----
    Gd(n) = Gd(n0) (n / n0)^-w with n0 = 0.1 cycle/m.

    Source: ISO 8608, as stated in public research code citing it (checked).
    """
    scaled = spatial_frequency / REFERENCE_SPATIAL_FREQUENCY
    return np.asarray(_gd(roughness) * scaled**-waviness, dtype=np.float64)


def band_variance(
    lower: FloatArray, upper: FloatArray, *, roughness: RoadClass | float, waviness: float = 2.0
) -> FloatArray:
    """Variance of road height held between two spatial frequencies.

    Parameters
    ----------
    lower, upper : limits of the band, 0 < lower <= upper, same shape. [cycle/m]
    roughness : Gd(n0), or a class taken at its geometric mean. [m³]
    waviness : w, the negative slope of the spectrum in log-log. [-]

    Returns
    -------
    FloatArray
        The integral of `displacement_spectrum` over the band, shape of `lower`. [m²]

    Notes
    -----
    For w = 2: Gd(n0) n0² (1/lower - 1/upper).  In general, with q = w - 1,
    Gd(n0) n0^w lower^-q (1 - (lower/upper)^q) / q, whose limit for w = 1 is the logarithm of upper/lower.

    Source: derived here.
    """
    q = waviness - 1.0
    log_width = np.log(upper / lower)
    share = log_width if q == 0.0 else -np.expm1(-q * log_width) / q
    scale = _gd(roughness) * REFERENCE_SPATIAL_FREQUENCY**waviness
    return np.asarray(scale * lower**-q * share, dtype=np.float64)


def track_cross_spectrum(
    spatial_frequency: FloatArray, *, track_width: float, waviness: float = 2.0
) -> FloatArray:
    """Cross spectrum of two parallel tracks of an isotropic surface, as a share of the spectrum of either.

    1 where the two tracks rise and fall together (waves long against the track width), 0 where they know
    nothing of each other (short waves).  Its square is the (magnitude-squared) coherence.

    Parameters
    ----------
    spatial_frequency : n along the road, > 0, any shape. [cycle/m]
    track_width : b, distance between the two tracks. [m]
    waviness : w of the spectrum, > 0. [-]

    Returns
    -------
    FloatArray
        g(n), real because neither track leads, 0 to 1, shape of `spatial_frequency`. [-]

    Notes
    -----
    A surface that looks alike in every direction and has Gd ~ n^-w along any line has a two-dimensional
    spectrum ~ (n² + m²)^-(w+1)/2, m being the spatial frequency across the road.  Integrated over m with
    cos(2 pi m b), and divided by the same at b = 0, it gives (Basset's integral for K)

        g(n) = 2 (u/2)^v K_v(u) / Gamma(v),   u = 2 pi n b,   v = w / 2;   for w = 2:  g = u K_1(u).

    It holds for a spectrum that goes on for ever; a road of limited band takes it line by line as it is.
    Isotropy needs no fitted number, but real roads are laid and worn along the traffic.  A comparison of
    eleven models with 3492 recorded roads found models with fitted constants clearly better than isotropy.

    Source: isotropy of road surfaces: Dodds & Robson, J. Sound and Vibration 31 (1973); Robson and co-author,
    The application of isotropy in road surface modelling, 1978 (abstracts seen; formulas not).  The
    comparison: Model of coherence function of road unevenness in parallel tracks for vehicle simulation
    (abstract seen; by P. Mucka, from memory).  The formula: derived here, checked by numerical integration in
    the tests.
    """
    from scipy.special import gamma, kv

    half = waviness / 2.0
    u = 2.0 * np.pi * track_width * spatial_frequency
    share = 2.0 * (u / 2.0) ** half * kv(half, u) / gamma(half)
    return np.asarray(np.clip(share, 0.0, 1.0), dtype=np.float64)


def rough_road(
    *,
    roughness: RoadClass | float,
    length: float,
    spacing: float,
    seed: int,
    track_width: float,
    waviness: float = 2.0,
    shortest_wavelength: float = 0.2,
    longest_wavelength: float = 100.0,
) -> RoadProfile:
    """Make a random road of given roughness: a left and a right track of one surface.

    Both tracks have the spectrum of the class, exactly and for every seed; a seed changes only where the
    bumps are.  So runs on different seeds scatter as little as runs on finite roads can, and two set-ups
    compared on one seed meet the same road.

    Parameters
    ----------
    roughness : Gd(n0) at n0 = 0.1 cycle/m, or a class taken at its geometric mean. [m³]
    length : of the road, at least the longest wavelength; rounded to a whole number of spacings. [m]
    spacing : between points, at most a quarter of the shortest wavelength. [m]
    seed : of the random phases, not negative; the same seed gives the same road.
    track_width : between the left and the right wheels. [m]
    waviness : negative slope of the spectrum in log-log, > 0; 2 in ISO 8608's classes. [-]
    shortest_wavelength : where the spectrum ends; tyres bridge what is shorter. [m]
    longest_wavelength : where the spectrum begins; a car follows what is longer. [m]

    Returns
    -------
    RoadProfile
        Distances from 0 to `length`.  The road is periodic: the last point repeats the first and the slope
        carries on, so laps of `length` may be joined end to end.  It starts at any height; see `fade_in`.

    Raises
    ------
    TrackError
        If a number is not positive, the seed negative, the wavelengths the wrong way round, the length
        shorter than the longest wavelength, or the spacing too coarse for the shortest.

    Notes
    -----
    Harmonic superposition by inverse FFT (5 km at 0.05 m: some 20 ms).  Line k lies at n_k = k / length with

        left  = sqrt(2 s_k) cos(2 pi n_k x + phi_k + theta_k),
        right = sqrt(2 s_k) cos(2 pi n_k x + phi_k - theta_k),

    s_k the variance of the class between n_k - 1/(2 length) and n_k + 1/(2 length) inside the stated band, so
    that their sum is the variance of the band exactly; phi_k uniform on 0 to 2 pi.  2 theta_k is plus or
    minus arccos g(n_k), the sign at random, g from `track_cross_spectrum`: the in-phase cross spectrum is
    then g at every line, and what is left alternates in sign and averages out over lines.

    Amplitudes are fixed and only phases random.  Heights are then Gaussian only in the limit of many lines
    (central limit theorem; a band of 0.01 to 5 cycle/m on 1 km has 4990), but mean square and spectrum of one
    period are the class's own, where Gaussian amplitudes would scatter the mean square by a factor of about
    1 +- 1/sqrt(3 length/longest wavelength) between seeds (18 % at 1 km, derived here).
    Putting a cell's variance on its line makes line k too strong by about 1 / (4 k²) for w = 2: 33 % for the
    very first line, 0.25 % for the tenth.  Take a length of several longest wavelengths where that matters.

    Source: the spectrum is ISO 8608's (checked); random-phase superposition goes back to Rice and to
    Shinozuka & Jan, J. Sound and Vibration 25 (1972) (from memory); the pair of tracks at +-theta is derived
    here.
    """
    _require_drawable(
        roughness=roughness,
        length=length,
        spacing=spacing,
        seed=seed,
        track_width=track_width,
        waviness=waviness,
        shortest_wavelength=shortest_wavelength,
        longest_wavelength=longest_wavelength,
    )
    distance = straight_distance(length=length, spacing=spacing)
    points = distance.size - 1
    line_width = 1.0 / distance[-1]
    lower, upper = 1.0 / longest_wavelength, 1.0 / shortest_wavelength
    line = np.arange(max(1, round(lower / line_width)), round(upper / line_width) + 1)
    cell_lower = np.clip((line - 0.5) * line_width, lower, upper)
    cell_upper = np.clip((line + 0.5) * line_width, lower, upper)
    variance = band_variance(cell_lower, cell_upper, roughness=roughness, waviness=waviness)
    cross = track_cross_spectrum(line * line_width, track_width=track_width, waviness=waviness)

    random = np.random.default_rng(seed)
    common_phase = random.uniform(0.0, 2.0 * np.pi, line.size)
    half_lag = 0.5 * np.arccos(cross) * random.choice((-1.0, 1.0), line.size)
    # irfft divides by the number of points and adds each line's conjugate: half of it makes the amplitude 1.
    amplitude = 0.5 * points * np.sqrt(2.0 * variance)

    def track(phase: FloatArray) -> FloatArray:
        spectrum = np.zeros(points // 2 + 1, dtype=np.complex128)
        spectrum[line] = amplitude * np.exp(1j * phase)
        heights = np.fft.irfft(spectrum, points)
        return np.append(heights, heights[0])

    return RoadProfile(
        distance=distance, left=track(common_phase + half_lag), right=track(common_phase - half_lag)
    )


def fade_in(profile: RoadProfile, *, lead_in: float) -> RoadProfile:
    """Let a road grow smoothly out of flat ground, so that a car can start at rest on it.

    Parameters
    ----------
    profile : the road.
    lead_in : distance over which the heights grow from nothing to their own, at most its length. [m]

    Returns
    -------
    RoadProfile
        Heights times 6 t^5 - 15 t^4 + 10 t^3, t = distance / lead_in, which leaves 0 and meets 1 with neither
        slope nor curvature; unchanged beyond the lead-in.  Over the lead-in the road is smoother than its
        class and it is no longer periodic: leave the lead-in out of statistics.

    Raises
    ------
    TrackError
        If `lead_in` is not positive or longer than the profile.
    """
    require_positive(lead_in, name="lead-in", unit="m", remedy="Two car lengths or more start a car gently.")
    if lead_in > profile.length * (1.0 + SPACING_ROUNDING):
        raise TrackError(
            f"lead-in is {lead_in:g} m, the profile is {profile.length:g} m long; the road must reach its "
            "own heights before it ends. Shorten the lead-in or lengthen the road."
        )
    t = np.clip((profile.distance - profile.distance[0]) / lead_in, 0.0, 1.0)
    share = t**3 * (10.0 + t * (6.0 * t - 15.0))
    return RoadProfile(distance=profile.distance, left=share * profile.left, right=share * profile.right)


def _gd(roughness: RoadClass | float) -> float:
    return roughness.value if isinstance(roughness, RoadClass) else roughness


def _require_drawable(
    *,
    roughness: RoadClass | float,
    length: float,
    spacing: float,
    seed: int,
    track_width: float,
    waviness: float,
    shortest_wavelength: float,
    longest_wavelength: float,
) -> None:
    require_positive(
        _gd(roughness), name="roughness", unit="m³", remedy="A good road has 16e-6, class A of ISO 8608."
    )
    require_positive(length, name="length", unit="m", remedy="Give the distance to drive.")
    require_positive(spacing, name="spacing", unit="m", remedy="Points 0.05 m apart suit most roads.")
    require_positive(track_width, name="track width", unit="m", remedy="Cars have 1.2 to 1.8 m.")
    require_positive(waviness, name="waviness", unit="(no unit)", remedy="The classes of ISO 8608 have 2.")
    require_positive(
        shortest_wavelength,
        name="shortest wavelength",
        unit="m",
        remedy="Tyres bridge less than 0.1 to 0.2 m.",
    )
    require_positive(
        longest_wavelength, name="longest wavelength", unit="m", remedy="ISO 8608 ends at 100 m."
    )
    if seed < 0:
        raise TrackError(f"seed is {seed}; it must be 0 or a positive whole number. Drop the sign.")
    if shortest_wavelength >= longest_wavelength:
        raise TrackError(
            f"shortest wavelength is {shortest_wavelength:g} m, longest {longest_wavelength:g} m; the "
            "shortest must be the smaller. Swap them."
        )
    if length < longest_wavelength * (1.0 - SPACING_ROUNDING):
        raise TrackError(
            f"length is {length:g} m, longest wavelength {longest_wavelength:g} m; a road cannot hold a wave "
            f"longer than itself. Lengthen the road, or set the longest wavelength to {length:g} m or less."
        )
    if spacing * POINTS_PER_WAVELENGTH > shortest_wavelength * (1.0 + SPACING_ROUNDING):
        raise TrackError(
            f"spacing is {spacing:g} m, shortest wavelength {shortest_wavelength:g} m; a wave needs at least "
            f"{POINTS_PER_WAVELENGTH} points to keep its shape. Take a spacing of "
            f"{shortest_wavelength / POINTS_PER_WAVELENGTH:g} m or less, or a longer shortest wavelength."
        )
