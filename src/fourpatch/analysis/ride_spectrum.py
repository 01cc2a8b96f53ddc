"""Loads and body motion on a random road by frequency: the linear car times the road's spectrum."""

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray
from scipy.special import erfc, hyperu

from fourpatch.analysis.body_vibration import vertical_weighting
from fourpatch.analysis.contact_patch_load import UNITS as BUMP_UNITS
from fourpatch.analysis.contact_patch_load import gain_about_slow_mean
from fourpatch.analysis.frequency_response import answer_to_road, road_pattern, wheelbase_of
from fourpatch.analysis.linear_model import (
    CORNERS,
    OUTPUT_SLOTS,
    LinearModel,
    linearise_straight,
    with_damper_slopes,
)
from fourpatch.analysis.wheel_rates import corner_values, heave_damper_slopes
from fourpatch.car.car import Car
from fourpatch.car.pack import pack
from fourpatch.events.motion import RigMotion, steady_inputs
from fourpatch.events.rough_road import LONGEST_WAVELENGTH, SHORTEST_WAVELENGTH, RoughRoad
from fourpatch.events.run import rig_instant
from fourpatch.physics.integrate import History
from fourpatch.physics.layout import KNOTS, C, O
from fourpatch.runs.channels import CHANNELS
from fourpatch.track.road import RoadClass, displacement_spectrum, track_cross_spectrum

if TYPE_CHECKING:
    import xarray as xr

Array = NDArray[np.float64]

_POINTS, _COARSE_POINTS = 1200, 240  # frequencies of the answer, and while damper slopes are sought
_ROUNDS, _SETTLED = 40, 1e-4  # of that search, and the change of a slope at which it ends
_TURNED_OVER = 5e-3  # damper speed about which friction changes its sign, as in `physics.suspension` [m/s]
_SEGMENT = 2.0  # of a measured spectrum: lines half a hertz apart [s]

FOURS = ("tyre_load", "damper_speed")
SINGLES = ("heave_acceleration", "front_ride_height", "rear_ride_height")

NUMBERS = (
    "load_variation",
    "mean_load",
    "body_acceleration_rms",
    "body_acceleration_felt",
    "front_height_rms",
    "rear_height_rms",
)
"""What `ride_numbers` returns, by the names of `contact_patch_load`."""


@dataclass(frozen=True, slots=True, kw_only=True)
class RoadSpectrum:
    """A random road driven over at constant speed, as its spectra under the wheels."""

    roughness: float
    """Gd(n0). [m³]"""
    speed: float
    """[m/s]"""
    track_width: float
    """Distance between the two tracks. [m]"""
    contact_lengths: Array
    """Over which each tyre averages the road, (4,). [m]"""
    shortest_wavelength: float = SHORTEST_WAVELENGTH
    """[m]"""
    longest_wavelength: float = LONGEST_WAVELENGTH
    """[m]"""

    def frequencies(self, points: int) -> Array:
        """Return frequencies from the longest to the shortest wave, even in their logarithm. [Hz]"""
        return np.geomspace(
            self.speed / self.longest_wavelength, self.speed / self.shortest_wavelength, points
        )


def answer_spectrum(model: LinearModel, road: RoadSpectrum, frequency: Array) -> Array:
    """Return the one-sided spectra of all outputs of a linear car, (n, outputs) as `OUTPUT_SLOTS`, per Hz.

    Notes
    -----
    Two tracks of one spectrum G and cross spectrum g G are what both sides do together, of spectrum G (1 +
    g) / 2, and what they do against each other, of spectrum G (1 - g) / 2, the two knowing nothing of one
    another:

        S = |H_together|² G (1 + g) / 2 + |H_against|² G (1 - g) / 2,   G(f) = Gd(f / V) / V.

    The rear wheels follow a wheelbase later. Averaging over the contact length a leaves
    sin(pi a n) / (pi a n) of a wave; that a wheel bridges short hollows (`track.contact_filter.tyre_path`)
    is left out: it raises the path on average by R slope² / 2, 5 um on a class A road.

    Source: derived here; textbook random vibration of a linear system under two correlated inputs.
    """
    wave_number = frequency / road.speed
    over = road_pattern("driven over", frequency, wheelbase=wheelbase_of(model), speed=road.speed)
    felt = over * np.sinc(wave_number[:, None] * road.contact_lengths)
    cross = track_cross_spectrum(wave_number, track_width=road.track_width)
    height = displacement_spectrum(wave_number, roughness=road.roughness) / road.speed
    together = np.abs(answer_to_road(model, frequency, felt)) ** 2
    against = np.abs(answer_to_road(model, frequency, felt * np.array([1.0, -1.0, 1.0, -1.0]))) ** 2
    share = 0.5 * (1.0 + cross)[:, None]
    return np.asarray((together * share + against * (1.0 - share)) * height[:, None])


def equivalent_slopes(vector: Array, rms_speed: Array) -> Array:
    """Return the straight line nearest to each damper's curve over Gaussian damper speeds, (4,). [N s/m]

    Parameters
    ----------
    vector : (N_PARAMETER,)
    rms_speed : of each damper, (4,). [m/s]

    Notes
    -----
    The slope that leaves the least mean square of force, E[v F(v)] / E[v²] = E[F'(v)]. For a curve of slope
    c0 with changes d_k at speeds v_k, per side c0 + sum d_k erfc(v_k / (sigma sqrt 2)), then the mean of
    bump and rebound.
    Friction F, turned over within w = 5 mm/s, adds F U(1/2, 0, z) / (sigma sqrt 2), z = w² / (2 sigma²), U
    being Tricomi's function: sqrt(2/pi) F / sigma where sigma is large. What the line leaves out: the sinking
    of the body when rebound exceeds bump, and waves at twice and three times a frequency.

    Source: statistical linearisation, Booton 1954, Caughey 1963 (from memory); the closed form is derived
    here.
    """
    slopes = np.zeros(4)
    for slope, knots in ((C.bump_slope, C.bump_knots), (C.rebound_slope, C.rebound_knots)):
        slopes += 0.5 * corner_values(vector, slope)
        for knot in range(knots, knots + KNOTS):
            beyond = erfc(corner_values(vector, knot) / (np.sqrt(2.0) * rms_speed))
            slopes += 0.5 * corner_values(vector, knot + KNOTS) * beyond
    friction = corner_values(vector, C.damper_friction) / (np.sqrt(2.0) * rms_speed)
    return np.asarray(slopes + friction * hyperu(0.5, 0.0, 0.5 * (_TURNED_OVER / rms_speed) ** 2))


def road_adapted_model(vector: Array, inputs: Array, road: RoadSpectrum) -> LinearModel:
    """Linearise a car with the damper slopes that suit its own damper speeds on a road.

    Notes
    -----
    Slopes and speeds depend on each other: found by turns, each time half-way, to 1e-4. Damping and its own
    effect on damper speed oppose each other, so it settles in about ten turns.
    """
    heave = heave_damper_slopes(vector, "mean")
    frequency = road.frequencies(_COARSE_POINTS)
    slopes = equivalent_slopes(vector, np.full(4, 0.1))
    for _ in range(_ROUNDS):
        model = linearise_straight(with_damper_slopes(vector, slopes, heave), inputs, name="ride spectrum")
        power = answer_spectrum(model, road, frequency)[:, model.rows_of("damper_speed")]
        speed = np.sqrt(np.trapezoid(power, frequency, axis=0))
        found = equivalent_slopes(vector, speed)
        if np.max(np.abs(found / slopes - 1.0)) < _SETTLED:
            break
        slopes = np.sqrt(slopes * found)
    return model


def ride_spectrum(car: Car, event: RoughRoad) -> "xr.Dataset":
    """Return spectra of loads, damper speeds and body motion on a rough road, by the linear model of a car.

    Returns
    -------
    Dataset
        Dimensions ``frequency`` [Hz] and, where four, ``corner``: one-sided spectra per Hz; the loads at
        rest on the smooth road at this speed are ``mean_load``.

    Raises
    ------
    SolveError
        If the car finds no place to rest at this speed.

    Notes
    -----
    The car is linear about its place on the smooth road at the event's speed, aerodynamic stiffness
    included, each damper the straight line of `equivalent_slopes`. Stops, lifting tyres and the ends of the
    aero map are not in it: where the rig's numbers differ, those are why. The road is the event's class
    between the same longest and shortest waves, with the same coherence of its two tracks, but of endless
    length.
    """
    vector, inputs = pack(car), steady_inputs(car, speed=event.speed)
    lengths = [axle.tyre.contact_length for axle in (car.front, car.front, car.rear, car.rear)]
    road = RoadSpectrum(
        roughness=RoadClass[event.road_class].value,
        speed=event.speed,
        track_width=car.front.track_width,
        contact_lengths=np.array(lengths),
    )
    model = road_adapted_model(vector, inputs, road)
    frequency = road.frequencies(_POINTS)
    spectra = answer_spectrum(model, road, frequency)
    rest = rig_instant(model.vector[None], model.state[None], inputs).outputs[0, 0]
    found = _labelled(frequency, {name: spectra[:, model.rows_of(name)] for name in (*FOURS, *SINGLES)})
    found["mean_load"] = ("corner", rest[O.tyre_load : O.tyre_load + 4], {"units": "N"})
    return found.assign_attrs(event=f"class {event.road_class} road", computed_on="linear model")


def measured_spectrum(history: History, motion: RigMotion, *, since: float) -> "xr.Dataset":
    """Return the same spectra of a run of one car on the rig, by Welch's method.

    Parameters
    ----------
    since : start of what is measured, past any lead-in. [s]

    Notes
    -----
    Hann windows of 2 s, or of the whole run if that is shorter, half overlapping; each line of the spectrum
    scatters by about one over the square root of their number: 38 % for 8 s.
    """
    interval = motion.step * motion.store_every
    first = int(np.ceil(since / interval - 1e-9))
    outputs = history.outputs[0, first:]
    segment = min(round(_SEGMENT / interval), outputs.shape[0])
    from scipy.signal import welch  # whose module takes a second to load

    frequency, spectra = welch(outputs, fs=1.0 / interval, nperseg=segment, axis=0)
    places = {name: [OUTPUT_SLOTS[f"{name} {corner}"] for corner in CORNERS] for name in FOURS}
    places |= {name: [OUTPUT_SLOTS[name]] for name in SINGLES}
    return _labelled(frequency, {name: spectra[:, slots] for name, slots in places.items()})


def ride_numbers(spectrum: "xr.Dataset") -> "xr.Dataset":
    """Sum spectra up in the numbers of `contact_patch_load`: `NUMBERS`, units in their attributes."""
    frequency = spectrum.frequency.values

    def rms(name: str, gain: Array | float = 1.0) -> Array:
        density = np.moveaxis(spectrum[name].values, 0, -1) * np.abs(gain) ** 2
        return np.asarray(np.sqrt(np.trapezoid(density, frequency, axis=-1)))

    mean = spectrum.mean_load.values
    values: dict[str, Array] = {
        "load_variation": rms("tyre_load", gain_about_slow_mean(frequency)) / np.maximum(mean, 1e-9),
        "mean_load": mean,
        "body_acceleration_rms": rms("heave_acceleration"),
        "body_acceleration_felt": rms("heave_acceleration", np.abs(vertical_weighting(frequency))),
        "front_height_rms": rms("front_ride_height"),
        "rear_height_rms": rms("rear_ride_height"),
    }
    import xarray as xr

    return xr.Dataset(
        {
            name: (
                ("corner",)[: value.ndim],
                value,
                {"units": BUMP_UNITS[name][0], "long_name": BUMP_UNITS[name][1]},
            )
            for name, value in values.items()
        },
        coords={"corner": list(CORNERS)},
        attrs=spectrum.attrs,
    )


def _labelled(frequency: Array, spectra: dict[str, Array]) -> "xr.Dataset":
    """Spectra by name, each (n, 4) or (n, 1)."""
    import xarray as xr

    found = xr.Dataset(
        coords={"frequency": ("frequency", frequency, {"units": "Hz"}), "corner": list(CORNERS)}
    )
    for name, values in spectra.items():
        unit, meaning = CHANNELS[name]
        attributes = {"units": f"({unit})^2/Hz", "long_name": f"spectrum: {meaning}"}
        if name in FOURS:
            found[name] = (("frequency", "corner"), values, attributes)
        else:
            found[name] = (("frequency",), values[:, 0], attributes)
    return found
