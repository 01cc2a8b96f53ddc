"""What bumps and kerbs do to the four contact patches."""

from collections.abc import Sequence

import numpy as np
import xarray as xr
from numpy.typing import NDArray
from scipy.fft import irfft, next_fast_len, rfft

from fourpatch.events.motion import RigMotion
from fourpatch.events.run import share_out
from fourpatch.physics.grip import lagged_grip, peak_lateral
from fourpatch.physics.integrate import History
from fourpatch.physics.layout import CORNER_BASE, N_CORNER, C, I, O, Y

Array = NDArray[np.float64]

CORNERS = ["FL", "FR", "RL", "RR"]

_LOW_PASS = 0.5
"""Load changes slower than this are manoeuvres, not bumps. [Hz]"""

_WIDTH = float(np.sqrt(np.log(2.0)) / (2.0 * np.pi * _LOW_PASS))
"""Standard deviation of the Gaussian whose gain is down 3 dB at that frequency. [s]"""

_LONG_ENOUGH = 6.0
"""Time of a run from which on a slow mean can be told from its bumps. [s]"""

UNITS = {
    "load_variation": ("1", "RMS of load about its low-passed mean, over the mean"),
    "grip_lost": ("1", "1 - mean lateral force available, relaxation included, over that at the mean load"),
    "mean_load": ("N", "mean tyre load"),
    "least_load": ("N", "smallest tyre load"),
    "largest_load": ("N", "largest tyre load"),
    "time_off_ground": ("1", "share of the time without load"),
    "longest_flight": ("s", "longest single time without load"),
    "stop_contact": ("1", "share of the time on the bump stop"),
    "body_throw": ("m", "highest rise of the sprung centre of gravity above where it started"),
    "body_acceleration_peak": ("m/s^2", "largest upward acceleration of the sprung mass"),
    "body_acceleration_rms": ("m/s^2", "RMS vertical acceleration of the sprung mass, unweighted"),
    "roll_peak": ("rad", "largest roll angle either way"),
    "front_height_least": ("m", "lowest front ride height"),
    "rear_height_least": ("m", "lowest rear ride height"),
    "front_height_rms": ("m", "RMS of front ride height about its mean"),
    "rear_height_rms": ("m", "RMS of rear ride height about its mean"),
}
"""Unit and meaning of each number."""


def contact_patch_load(
    parameters: Array,
    history: History,
    motion: RigMotion,
    setups: Sequence[str],
    *,
    since: float,
    grip_too: bool = True,
) -> xr.Dataset:
    """Measure contact-patch load, grip and body motion of a rig run over bumps.

    Parameters
    ----------
    parameters : (cars, N_PARAMETER)
    since : start of what is measured, past any lead-in. [s]
    grip_too : also say what grip was lost, which takes longer than all the rest.

    Returns
    -------
    Dataset
        Dimensions ``setup`` and, per tyre, ``corner``; variables and units as `UNITS`.

    Notes
    -----
    The low-passed mean is a Gaussian moving mean, 3 dB down at 0.5 Hz, where the run is long enough
    (6 s), else the plain mean. Grip available at the mean load uses the same tyre, upright.
    """
    interval = motion.step * motion.store_every
    first = int(np.ceil(since / interval - 1e-9))
    loads = history.outputs[:, first:, O.tyre_load : O.tyre_load + 4]
    mean = loads.mean(axis=1)
    off = loads <= 0.0
    heave = history.states[:, :, Y.heave]
    acceleration = history.outputs[:, first:, O.heave_acceleration]
    values: dict[str, Array] = {
        "load_variation": _variation(loads, interval),
        "mean_load": mean,
        "least_load": loads.min(axis=1),
        "largest_load": loads.max(axis=1),
        "time_off_ground": off.mean(axis=1),
        "longest_flight": _longest(off) * interval,
        "stop_contact": _on_stop(parameters, history, first),
        "body_throw": np.max(heave - heave[:, :1], axis=1),
        "body_acceleration_peak": acceleration.max(axis=1),
        "body_acceleration_rms": np.sqrt(np.mean(acceleration**2, axis=1)),
        "roll_peak": np.abs(history.states[:, first:, Y.roll]).max(axis=1),
        "front_height_least": history.outputs[:, first:, O.front_ride_height].min(axis=1),
        "rear_height_least": history.outputs[:, first:, O.rear_ride_height].min(axis=1),
        "front_height_rms": history.outputs[:, first:, O.front_ride_height].std(axis=1),
        "rear_height_rms": history.outputs[:, first:, O.rear_ride_height].std(axis=1),
    }
    if grip_too:
        values["grip_lost"] = _grip_lost(parameters, history, motion, first)
        values = {name: values[name] for name in UNITS}
    return xr.Dataset(
        {
            name: (
                ("setup", "corner")[: value.ndim],
                value,
                {"units": UNITS[name][0], "long_name": UNITS[name][1]},
            )
            for name, value in values.items()
        },
        coords={"setup": list(setups), "corner": CORNERS},
        attrs={"event": motion.name, "computed_on": "rig"},
    )


def _grip_lost(parameters: Array, history: History, motion: RigMotion, first: int) -> Array:
    """Share of lateral grip lost from a stored instant on, (cars, 4)."""
    samples = history.outputs.shape[1]
    speed = np.ascontiguousarray(motion.inputs[:: 2 * motion.store_every][:samples, I.speed])
    interval = motion.step * motion.store_every
    grip = np.empty((parameters.shape[0], samples, 4))

    def work(part: slice) -> None:
        lagged_grip(parameters[part], history.outputs[part], speed, interval, grip[part])

    share_out(parameters.shape[0], work)
    mean = history.outputs[:, first:, O.tyre_load : O.tyre_load + 4].mean(axis=1)
    at_mean = np.empty_like(mean)
    peak_lateral(parameters, mean, at_mean)
    return np.asarray(1.0 - grip[:, first:].mean(axis=1) / np.maximum(at_mean, 1e-9))


def _variation(loads: Array, interval: float) -> Array:
    mean = loads.mean(axis=1)
    slow = mean[:, None, :]
    if loads.shape[1] * interval >= _LONG_ENOUGH:
        slow = _moving_mean(loads, _WIDTH / interval)
    return np.asarray(np.sqrt(np.mean((loads - slow) ** 2, axis=1)) / np.maximum(mean, 1e-9))


def _moving_mean(series: Array, width: float) -> Array:
    """Gaussian moving mean along time, (cars, samples, 4), mirrored at its ends and cut at four widths.

    By the fast Fourier transform: with a thousand weights a sum over them takes longer than the runs do.
    """
    reach = int(4.0 * width + 0.5)
    weights = np.exp(-0.5 * (np.arange(-reach, reach + 1) / width) ** 2)
    padded = np.pad(series, ((0, 0), (reach, reach), (0, 0)), mode="symmetric")
    size = next_fast_len(padded.shape[1], real=True)
    spectrum = rfft(padded, size, axis=1) * rfft(weights / weights.sum(), size)[None, :, None]
    return np.asarray(irfft(spectrum, size, axis=1)[:, 2 * reach : 2 * reach + series.shape[1]])


def _longest(off: NDArray[np.bool_]) -> Array:
    """Longest run of true samples along time, (cars, 4)."""
    longest = np.zeros((off.shape[0], 4))
    run = np.zeros((off.shape[0], 4))
    for n in range(off.shape[1]):
        run = (run + 1.0) * off[:, n]
        longest = np.maximum(longest, run)
    return longest


def _on_stop(parameters: Array, history: History, first: int) -> Array:
    gaps = np.stack([parameters[:, CORNER_BASE + k * N_CORNER + C.stop_gap] for k in range(4)], axis=1)
    travel = history.outputs[:, first:, O.travel : O.travel + 4]
    return np.asarray((travel > gaps[:, None, :]).mean(axis=1))
