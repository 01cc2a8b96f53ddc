"""What bumps and kerbs do to the four contact patches."""

from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from fourpatch.analysis import body_ride
from fourpatch.analysis.body_ride import entries, in_rows, share_of_time
from fourpatch.events.motion import RigMotion
from fourpatch.events.run import share_out
from fourpatch.physics.grip import lagged_grip, peak_lateral
from fourpatch.physics.integrate import History
from fourpatch.physics.layout import CORNER_BASE, N_CORNER, N_POSITION, C, I, O, Y

if TYPE_CHECKING:
    import xarray as xr  # half a second to load, of which a live answer needs nothing

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
    "stop_hits": ("count", "times the bump stop is met"),
    **body_ride.UNITS,
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
) -> "xr.Dataset":
    """Label the `contact_patch_numbers` of a rig run over bumps.

    Parameters
    ----------
    parameters : (cars, N_PARAMETER)
    since : start of what is measured, past any lead-in. [s]
    grip_too : also say what grip was lost and is left, which takes longer than all the rest.

    Returns
    -------
    Dataset
        Dimensions ``setup`` and, per tyre, ``corner``; variables and units as `UNITS`.
    """
    values = contact_patch_numbers(parameters, history, motion, since=since, grip_too=grip_too)
    return labelled(values, setups, event=motion.name)


def labelled(numbers: Mapping[str, Array], setups: Sequence[str], *, event: str) -> "xr.Dataset":
    """Return `contact_patch_numbers` with their names, units and dimensions."""
    import xarray as xr

    return xr.Dataset(
        {
            name: (
                ("setup", "corner")[: value.ndim],
                value,
                {"units": UNITS[name][0], "long_name": UNITS[name][1]},
            )
            for name, value in numbers.items()
        },
        coords={"setup": list(setups), "corner": CORNERS},
        attrs={"event": event, "computed_on": "rig"},
    )


def contact_patch_numbers(
    parameters: Array, history: History, motion: RigMotion, *, since: float, grip_too: bool = True
) -> dict[str, Array]:
    """Measure contact-patch load, grip and body motion of a rig run over bumps.

    Parameters
    ----------
    parameters : (cars, N_PARAMETER)
    since : start of what is measured, past any lead-in. [s]
    grip_too : also say what grip was lost and is left, which takes longer than all the rest.

    Returns
    -------
    dict
        As `UNITS`, each (cars,) or, per tyre, (cars, 4).

    Notes
    -----
    The low-passed mean is a Gaussian moving mean, 3 dB down at 0.5 Hz, where the run is long enough
    (6 s), else the plain mean. Grip available at the mean load uses the same tyre, upright. Off the ground
    begins and ends between stored instants, where the load as it would be without its end at zero crosses
    zero: a change of a twentieth of an instant is a change.
    """
    interval = motion.step * motion.store_every
    first = int(np.ceil(since / interval - 1e-9))
    loads = in_rows(history.outputs[:, first:, O.tyre_load : O.tyre_load + 4])
    mean = loads.mean(axis=-1)
    unclipped = _unclipped_load(parameters, history, motion, first)
    flight = _flight(unclipped)
    on_stop = _on_stop(parameters, history, first)
    return {
        "load_variation": _variation(loads, interval),
        **(_grip(parameters, history, motion, first, mean) if grip_too else {}),
        "mean_load": mean,
        "least_load": loads.min(axis=-1),
        "largest_load": loads.max(axis=-1),
        "time_off_ground": flight.mean(axis=-1),
        "longest_flight": _longest(flight, unclipped[:, :, 1:] < 0.0) * interval,
        "stop_contact": share_of_time(on_stop),
        "stop_hits": entries(on_stop),
        **body_ride.body_ride(parameters, history, motion, first=first),
    }


def _grip(
    parameters: Array, history: History, motion: RigMotion, first: int, mean: Array
) -> dict[str, Array]:
    """Lateral grip lost from a stored instant on, against that at the mean loads, and left, (cars, 4)."""
    samples = history.outputs.shape[1]
    speed = np.ascontiguousarray(motion.inputs[:: 2 * motion.store_every][:samples, I.speed])
    interval = motion.step * motion.store_every
    grip = np.empty((parameters.shape[0], samples, 4))

    def work(part: slice) -> None:
        lagged_grip(parameters[part], history.outputs[part], speed, interval, grip[part])

    share_out(parameters.shape[0], work)
    at_mean = np.empty_like(mean)
    peak_lateral(parameters, mean, at_mean)
    available = np.einsum("csw->cw", grip[:, first:]) / (samples - first)
    return {
        "grip_lost": 1.0 - available / np.maximum(at_mean, 1e-9),
        "grip_left": available / _load_at_rest(parameters),
    }


def gain_about_slow_mean(frequency: Array) -> Array:
    """Return what is left of a wave of load when its low-passed mean is taken off, by frequency [Hz]. [1]"""
    return np.asarray(1.0 - np.exp(-0.5 * (2.0 * np.pi * _WIDTH * frequency) ** 2))


def _variation(loads: Array, interval: float) -> Array:
    """RMS about the slow mean, over the mean, (cars, 4).

    The cosine transform is that of the series and its mirror image: the moving mean sees the series
    reflected at its ends, and by Parseval's theorem the mean square needs no way back.
    """
    from scipy.fft import dct

    mean, samples = loads.mean(axis=-1), loads.shape[-1]
    lines = dct(loads, norm="ortho")
    frequency = np.arange(samples) / (2.0 * samples * interval)
    left = gain_about_slow_mean(frequency)
    if samples * interval < _LONG_ENOUGH:
        left = np.where(frequency > 0.0, 1.0, 0.0)
    lines *= left
    square = np.einsum("cwk,cwk->cw", lines, lines) / samples
    return np.asarray(np.sqrt(square) / np.maximum(mean, 1e-9))


def _load_at_rest(parameters: Array) -> Array:
    """Static tyre loads, (cars, 4). [N]"""
    blocks = [parameters[:, CORNER_BASE + k * N_CORNER : CORNER_BASE + (k + 1) * N_CORNER] for k in range(4)]
    return np.stack([b[:, C.tyre_rate] * b[:, C.tyre_static_deflection] for b in blocks], axis=1)


def _unclipped_load(parameters: Array, history: History, motion: RigMotion, first: int) -> Array:
    """Tyre loads from a stored instant on as they would be if the road could pull, (cars, 4, samples). [N]

    Those of the engine where it can push: spring and damper in parallel, the damping faded in over the first
    millimetre.
    """
    inputs = motion.inputs[:: 2 * motion.store_every][: history.outputs.shape[1]]
    road = in_rows(inputs[None, first:, I.road : I.road_speed + 4])
    states = in_rows(history.states[:, first:, Y.wheel :])
    wheel_rate = N_POSITION
    corners = parameters[:, CORNER_BASE : CORNER_BASE + 4 * N_CORNER].reshape(-1, 4, N_CORNER)
    compression = road[:, :4] - states[:, :4]
    compression += corners[:, :, C.tyre_static_deflection, None]
    damping = road[:, 4:] - states[:, wheel_rate : wheel_rate + 4]
    damping *= corners[:, :, C.tyre_damping, None]
    damping *= np.clip(1e3 * compression, 0.0, 1.0)
    damping += compression * corners[:, :, C.tyre_rate, None]
    return damping


def _flight(load: Array) -> Array:
    """Part of each interval between instants that is without load, straight between them. [1]

    Parameters
    ----------
    load : (cars, 4, samples), below zero where the tyre is off the road.
    """
    off = load < 0.0
    flight = (off[..., :-1] & off[..., 1:]).astype(np.float64)
    crossing = np.nonzero(off[..., :-1] != off[..., 1:])
    one, other = load[..., :-1][crossing], load[..., 1:][crossing]
    flight[crossing] = -np.minimum(one, other) / np.abs(one - other)
    return flight


def _longest(flight: Array, off_at_end: NDArray[np.bool_]) -> Array:
    """Longest flight, in intervals between instants, (cars, 4).

    Parameters
    ----------
    flight : part of each interval, (cars, 4, intervals).
    off_at_end : whether the tyre is off the road where the interval ends, alike.
    """
    total = np.cumsum(flight, axis=-1)
    landed = np.maximum.accumulate(np.where(off_at_end, 0.0, total), axis=-1)
    before = np.concatenate([np.zeros_like(landed[..., :1]), landed[..., :-1]], axis=-1)
    return np.asarray((total - before).max(axis=-1, initial=0.0))


def _on_stop(parameters: Array, history: History, first: int) -> NDArray[np.bool_]:
    """Where each corner is on its bump stop, (cars, 4, samples)."""
    gaps = np.stack([parameters[:, CORNER_BASE + k * N_CORNER + C.stop_gap] for k in range(4)], axis=1)
    travel = in_rows(history.outputs[:, first:, O.travel : O.travel + 4])
    return np.asarray(travel > gaps[:, :, None])
