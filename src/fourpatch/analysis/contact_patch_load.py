"""What bumps and kerbs do to the four contact patches."""

from collections.abc import Sequence

import numpy as np
import xarray as xr
from numpy.typing import NDArray
from scipy.ndimage import gaussian_filter1d

from fourpatch.events.motion import RigMotion
from fourpatch.events.run import share_out
from fourpatch.physics.grip import lagged_grip, peak_lateral
from fourpatch.physics.integrate import History
from fourpatch.physics.layout import CORNER_BASE, N_CORNER, N_POSITION, C, I, O, Y

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
    "grip_left": ("1", "mean lateral force available, relaxation included, over the tyre's load at rest"),
    "mean_load": ("N", "mean tyre load"),
    "least_load": ("N", "smallest tyre load"),
    "largest_load": ("N", "largest tyre load"),
    "time_off_ground": ("1", "share of the time without load"),
    "longest_flight": ("s", "longest single time without load"),
    "stop_contact": ("1", "share of the time on the bump stop"),
    "body_throw": ("m", "highest rise of the sprung centre of gravity above where it started"),
    "body_acceleration_peak": ("m/s**2", "largest upward acceleration of the sprung mass"),
    "body_acceleration_rms": ("m/s**2", "RMS vertical acceleration of the sprung mass, unweighted"),
    "roll_peak": ("rad", "largest roll angle either way"),
    "front_height_rms": ("m", "RMS of front ride height about its mean"),
    "rear_height_rms": ("m", "RMS of rear ride height about its mean"),
}
"""Unit and meaning of each number."""


def contact_patch_load(
    parameters: Array, history: History, motion: RigMotion, setups: Sequence[str], *, since: float
) -> xr.Dataset:
    """Measure contact-patch load, grip and body motion of a rig run over bumps.

    Parameters
    ----------
    parameters : (cars, N_PARAMETER)
    since : start of what is measured, past any lead-in. [s]

    Returns
    -------
    Dataset
        Dimensions ``setup`` and, per tyre, ``corner``; variables and units as `UNITS`.

    Notes
    -----
    The low-passed mean is a Gaussian moving mean, 3 dB down at 0.5 Hz, where the run is long enough
    (6 s), else the plain mean. Grip available at the mean load uses the same tyre, upright. Off the ground
    begins and ends between stored instants, where the load as it would be without its end at zero crosses
    zero: a change of a twentieth of an instant is a change.
    """
    interval = motion.step * motion.store_every
    first = int(np.ceil(since / interval - 1e-9))
    loads = history.outputs[:, first:, O.tyre_load : O.tyre_load + 4]
    grip = _grip(parameters, history, motion, interval)[:, first:]
    mean = loads.mean(axis=1)
    grip_at_mean = np.empty_like(mean)
    peak_lateral(parameters, mean, grip_at_mean)
    unclipped = _unclipped_load(parameters, history, motion)[:, first:]
    flight = _flight(unclipped)
    heave = history.states[:, :, Y.heave]
    acceleration = history.outputs[:, first:, O.heave_acceleration]
    values: dict[str, Array] = {
        "load_variation": _variation(loads, interval),
        "grip_lost": 1.0 - grip.mean(axis=1) / np.maximum(grip_at_mean, 1e-9),
        "grip_left": grip.mean(axis=1) / _load_at_rest(parameters),
        "mean_load": mean,
        "least_load": loads.min(axis=1),
        "largest_load": loads.max(axis=1),
        "time_off_ground": flight.sum(axis=1) / max(flight.shape[1], 1),
        "longest_flight": _longest(flight, unclipped[:, 1:] < 0.0) * interval,
        "stop_contact": _on_stop(parameters, history, first),
        "body_throw": np.max(heave - heave[:, :1], axis=1),
        "body_acceleration_peak": acceleration.max(axis=1),
        "body_acceleration_rms": np.sqrt(np.mean(acceleration**2, axis=1)),
        "roll_peak": np.abs(history.states[:, first:, Y.roll]).max(axis=1),
        "front_height_rms": history.outputs[:, first:, O.front_ride_height].std(axis=1),
        "rear_height_rms": history.outputs[:, first:, O.rear_ride_height].std(axis=1),
    }
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


def _grip(parameters: Array, history: History, motion: RigMotion, interval: float) -> Array:
    samples = history.outputs.shape[1]
    speed = np.ascontiguousarray(motion.inputs[:: 2 * motion.store_every][:samples, I.speed])
    grip = np.empty((parameters.shape[0], samples, 4))

    def work(part: slice) -> None:
        lagged_grip(parameters[part], history.outputs[part], speed, interval, grip[part])

    share_out(parameters.shape[0], work)
    return grip


def _variation(loads: Array, interval: float) -> Array:
    mean = loads.mean(axis=1)
    slow = mean[:, None, :]
    if loads.shape[1] * interval >= _LONG_ENOUGH:
        slow = gaussian_filter1d(loads, _WIDTH / interval, axis=1, mode="reflect")
    return np.asarray(np.sqrt(np.mean((loads - slow) ** 2, axis=1)) / np.maximum(mean, 1e-9))


def _load_at_rest(parameters: Array) -> Array:
    """Static tyre loads, (cars, 4). [N]"""
    blocks = [parameters[:, CORNER_BASE + k * N_CORNER : CORNER_BASE + (k + 1) * N_CORNER] for k in range(4)]
    return np.stack([b[:, C.tyre_rate] * b[:, C.tyre_static_deflection] for b in blocks], axis=1)


def _unclipped_load(parameters: Array, history: History, motion: RigMotion) -> Array:
    """Tyre loads as they would be if the road could pull: those of the engine where it can push. [N]"""
    inputs = motion.inputs[:: 2 * motion.store_every][: history.outputs.shape[1]]
    loads = np.empty((*history.outputs.shape[:2], 4))
    for corner in range(4):
        block = parameters[:, CORNER_BASE + corner * N_CORNER : CORNER_BASE + (corner + 1) * N_CORNER]
        wheel = history.states[:, :, Y.wheel + corner]
        wheel_rate = history.states[:, :, N_POSITION + Y.wheel + corner]
        compression = block[:, C.tyre_static_deflection, None] + inputs[:, I.road + corner] - wheel
        touching = np.clip(1e3 * compression, 0.0, 1.0)
        damping = block[:, C.tyre_damping, None] * (inputs[:, I.road_speed + corner] - wheel_rate)
        loads[:, :, corner] = compression * block[:, C.tyre_rate, None] + touching * damping
    return loads


def _flight(load: Array) -> Array:
    """Part of each interval between instants that is without load, straight between them. [1]

    Parameters
    ----------
    load : (cars, samples, 4), below zero where the tyre is off the road.
    """
    below = np.maximum(-load, 0.0)
    one, other = below[:, :-1], below[:, 1:]
    size = np.abs(load[:, :-1]) + np.abs(load[:, 1:])
    crossing = (one > 0.0) != (other > 0.0)
    return np.where(
        crossing, (one + other) / np.where(crossing, size, 1.0), ((one > 0.0) & (other > 0.0)).astype(float)
    )


def _longest(flight: Array, off_at_end: NDArray[np.bool_]) -> Array:
    """Longest flight, in intervals between instants, (cars, 4).

    Parameters
    ----------
    flight : part of each interval, (cars, intervals, 4).
    off_at_end : whether the tyre is off the road where the interval ends, alike.
    """
    longest = np.zeros((flight.shape[0], 4))
    run = np.zeros((flight.shape[0], 4))
    for n in range(flight.shape[1]):
        run += flight[:, n]
        longest = np.maximum(longest, run)
        run *= off_at_end[:, n]
    return longest


def _on_stop(parameters: Array, history: History, first: int) -> Array:
    gaps = np.stack([parameters[:, CORNER_BASE + k * N_CORNER + C.stop_gap] for k in range(4)], axis=1)
    travel = history.outputs[:, first:, O.travel : O.travel + 4]
    return np.asarray((travel > gaps[:, None, :]).mean(axis=1))
