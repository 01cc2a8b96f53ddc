"""What bumps and kerbs do to the body: how it is thrown and shaken, and how the floor keeps its height."""

import numpy as np
from numpy.typing import NDArray

from fourpatch.analysis.body_vibration import weighted
from fourpatch.events.motion import RigMotion
from fourpatch.events.run import rig_instant
from fourpatch.physics.integrate import History
from fourpatch.physics.layout import I, O, Y

Array = NDArray[np.float64]

UNITS = {
    "body_throw": ("m", "highest rise of the sprung centre of gravity above where it started"),
    "body_acceleration_peak": ("m/s**2", "largest upward acceleration of the sprung mass"),
    "body_acceleration_rms": ("m/s**2", "RMS vertical acceleration of the sprung mass, unweighted"),
    "body_acceleration_felt": (
        "m/s**2",
        "the same weighted by what a seated person feels of each frequency, Wk of ISO 2631-1",
    ),
    "roll_peak": ("rad", "largest roll angle either way"),
    "front_height_least": ("m", "lowest front ride height"),
    "rear_height_least": ("m", "lowest rear ride height"),
    "front_height_rms": ("m", "RMS of front ride height about its mean"),
    "rear_height_rms": ("m", "RMS of rear ride height about its mean"),
    "front_floor_strikes": ("count", "times the floor meets the road at the front axle"),
    "rear_floor_strikes": ("count", "times the floor meets the road at the rear axle"),
    "front_downforce": ("N", "mean downforce at the front axle"),
    "rear_downforce": ("N", "mean downforce at the rear axle"),
    "front_downforce_lost": (
        "N",
        "front downforce on the smooth road, settled, less this mean",
    ),
    "rear_downforce_lost": ("N", "rear downforce on the smooth road, settled, less this mean"),
    "front_downforce_lost_to_motion": ("N", "front downforce at the mean ride heights less the mean"),
    "rear_downforce_lost_to_motion": ("N", "rear downforce at the mean ride heights less the mean"),
}
"""Unit and meaning of each number."""


def body_ride(parameters: Array, history: History, motion: RigMotion, *, first: int) -> dict[str, Array]:
    """Measure body motion, vibration and platform of a rig run over bumps.

    Parameters
    ----------
    parameters : (cars, N_PARAMETER)
    first : stored instant from which on is measured, past any lead-in.

    Returns
    -------
    dict
        As `UNITS`, each (cars,).

    Notes
    -----
    Felt acceleration is that at the sprung centre of gravity, through a stiff seat: a car file does not say
    where the driver sits. Half a metre ahead of or behind it pitch adds about 0.5 m times the pitch
    acceleration.

    Of the downforce a bumpy road costs, the part lost to motion is what the curvature of the aero map makes
    of heights that move about their mean; the rest is that the mean heights are not those of the smooth road
    (dampers that pull the car down, stops). Where heights leave the map, it is held at its edge. A floor that
    strikes the road is counted and goes through it: the blow itself is not in the model.
    """
    interval = motion.step * motion.store_every
    heave = history.states[:, :, Y.heave]
    shaken = in_rows(history.outputs[:, :, O.heave_acceleration, None])[:, 0]
    felt, measured = weighted(shaken, interval)[:, first:], shaken[:, first:]
    platform = in_rows(history.outputs[:, first:, O.front_downforce : O.rear_ride_height + 1])
    heights, downforce = platform[:, [-2, -1]], platform[:, :2].mean(axis=-1)
    smooth = history.outputs[:, 0, O.front_downforce : O.rear_downforce + 1]
    at_mean = _downforce_at_mean(parameters, history, motion, first)
    values = {
        "body_throw": np.max(heave, axis=1) - heave[:, 0],
        "body_acceleration_peak": measured.max(axis=1),
        "body_acceleration_rms": np.sqrt(np.mean(measured**2, axis=1)),
        "body_acceleration_felt": np.sqrt(np.mean(felt**2, axis=1)),
        "roll_peak": np.abs(history.states[:, first:, Y.roll]).max(axis=1),
    }
    of_axles = {
        "height_least": heights.min(axis=-1),
        "height_rms": heights.std(axis=-1),
        "floor_strikes": entries(heights <= 0.0),
        "downforce": downforce,
        "downforce_lost": smooth - downforce,
        "downforce_lost_to_motion": at_mean - downforce,
    }
    for name, both in of_axles.items():
        for axle, place in (("front", 0), ("rear", 1)):
            values[f"{axle}_{name}"] = both[:, place]
    return values


def in_rows(samples: Array) -> Array:
    """Return series (cars, samples, n) as rows in memory, (cars, n, samples): sums then run along them."""
    return np.ascontiguousarray(np.moveaxis(samples, 1, -1))


def share_of_time(inside: NDArray[np.bool_]) -> Array:
    """Share of samples, the last axis, in a state."""
    return np.asarray(np.count_nonzero(inside, axis=-1) / inside.shape[-1])


def entries(inside: NDArray[np.bool_]) -> Array:
    """Count how often series enter a state, along their last axis; to begin in it counts as one."""
    begun = np.count_nonzero(inside[..., 1:] & ~inside[..., :-1], axis=-1)
    return np.asarray(begun + inside[..., 0], dtype=np.float64)


def _downforce_at_mean(parameters: Array, history: History, motion: RigMotion, first: int) -> Array:
    """Downforce of cars held at their mean positions over the mean road, (cars, 2). [N]

    Ride heights are sums of positions and road heights, so these are the mean ride heights.
    """
    instants = history.states.shape[1] - first
    inputs = motion.inputs[:: 2 * motion.store_every][first : first + instants]
    held = inputs.mean(axis=0)
    held[I.speed] = np.sqrt(np.mean(inputs[:, I.speed] ** 2))
    mean = np.einsum("cts->cs", history.states[:, first:]) / instants
    outputs = rig_instant(parameters, mean, held).outputs
    return np.asarray(outputs[:, 0, O.front_downforce : O.rear_downforce + 1])
