"""How fast the dampers move: share of time per damper speed at each corner, and what sums it up."""

from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from fourpatch.events.motion import RigMotion
from fourpatch.physics.integrate import History
from fourpatch.physics.layout import O

if TYPE_CHECKING:
    import xarray as xr

Array = NDArray[np.float64]

CORNERS = ["FL", "FR", "RL", "RR"]

SPLIT = 0.025
"""Damper speed that parts low from high if none is stated: one of several in use. [m/s]"""

BIN_WIDTH = 0.02
"""Of the histogram. [m/s]"""

REACH = 0.5
"""Damper speed up to which the histogram has bins, either way; its two outermost hold all beyond. [m/s]"""

UNITS = {
    "share": ("1", "share of the time in each bin of damper speed, bump positive"),
    "low_bump": ("1", "share of the time in bump below the split"),
    "high_bump": ("1", "share of the time in bump at the split and above"),
    "low_rebound": ("1", "share of the time in rebound below the split"),
    "high_rebound": ("1", "share of the time in rebound at the split and above"),
    "mean_speed": ("m/s", "mean damper speed, bump positive"),
    "median_speed": ("m/s", "median damper speed, bump positive"),
    "rms_speed": ("m/s", "RMS damper speed"),
    "mean_bump_speed": ("m/s", "mean damper speed while in bump"),
    "mean_rebound_speed": ("m/s", "mean damper speed while in rebound, as a positive number"),
    "skew": (
        "1",
        "third central moment over the cubed standard deviation; positive: bump is the faster",
    ),
}
"""Unit and meaning of each number."""


def damper_speed(
    history: History, motion: RigMotion, setups: Sequence[str], *, since: float, split: float = SPLIT
) -> "xr.Dataset":
    """Count how long each damper moves at which speed.

    Parameters
    ----------
    since : start of what is measured, past any lead-in. [s]
    split : damper speed that parts low from high, > 0. [m/s]

    Returns
    -------
    Dataset
        Dimensions ``setup``, ``corner`` and, for the histogram, ``damper_speed``, the middles of bins that
        are the same for all corners; variables and units as `UNITS`.

    Notes
    -----
    Speeds are those at the damper, through its motion ratio, not at the wheel. Every stored instant counts
    alike. An instant of no speed counts as bump: at rest, all time is low-speed bump. Over a long run mean
    speed comes to nothing, since the damper ends where it began.

    Source: shares below and above a split, one bin width and one axis for all corners: common practice; 25
    mm/s is the split of a widely copied article on the shock-speed histogram (author not shown in the copies
    seen).
    """
    interval = motion.step * motion.store_every
    first = int(np.ceil(since / interval - 1e-9))
    speed = np.ascontiguousarray(history.outputs[:, first:, O.damper_speed : O.damper_speed + 4])
    return labelled(damper_speed_numbers(speed, split=split), setups, event=motion.name, split=split)


def labelled(
    numbers: Mapping[str, Array], setups: Sequence[str], *, event: str, split: float
) -> "xr.Dataset":
    """Return `damper_speed_numbers` with their names, units and dimensions."""
    import xarray as xr

    return xr.Dataset(
        {
            name: (("setup", "corner", "damper_speed")[: value.ndim], value, _attributes(name))
            for name, value in numbers.items()
        },
        coords={
            "setup": list(setups),
            "corner": CORNERS,
            "damper_speed": ("damper_speed", middles(), {"units": "m/s"}),
        },
        attrs={"event": event, "computed_on": "rig", "split": split, "bin_width": BIN_WIDTH},
    )


def middles() -> Array:
    """Return the middles of the histogram's bins, (bins,). [m/s]"""
    bins = 2 * round(REACH / BIN_WIDTH)
    return np.asarray((np.arange(bins, dtype=np.float64) - bins // 2 + 0.5) * BIN_WIDTH)


def damper_speed_numbers(speed: Array, *, split: float = SPLIT) -> dict[str, Array]:
    """Count how long each damper moves at which speed; notes and source stand with `damper_speed`.

    Parameters
    ----------
    speed : (cars, samples, 4) at the dampers, bump positive. [m/s]
    split : damper speed that parts low from high, > 0. [m/s]

    Returns
    -------
    dict
        As `UNITS`: (cars, 4), the share (cars, 4, bins).
    """
    bump = speed >= 0.0
    fast = np.abs(speed) >= split
    in_bump, samples = bump.sum(axis=1), speed.shape[1]
    return {
        "share": _histogram(speed),
        "low_bump": (bump & ~fast).mean(axis=1),
        "high_bump": (bump & fast).mean(axis=1),
        "low_rebound": (~bump & ~fast).mean(axis=1),
        "high_rebound": (~bump & fast).mean(axis=1),
        "mean_speed": speed.mean(axis=1),
        "median_speed": np.median(speed, axis=1),
        "rms_speed": np.sqrt(np.mean(speed**2, axis=1)),
        "mean_bump_speed": np.where(bump, speed, 0.0).sum(axis=1) / np.maximum(in_bump, 1),
        "mean_rebound_speed": -np.where(bump, 0.0, speed).sum(axis=1) / np.maximum(samples - in_bump, 1),
        "skew": _skew(speed),
    }


def _histogram(speed: Array) -> Array:
    """Share of time in each bin, (cars, 4, bins)."""
    bins = 2 * round(REACH / BIN_WIDTH)
    place = np.clip(np.floor(speed / BIN_WIDTH).astype(np.int64) + bins // 2, 0, bins - 1)
    cars, samples = speed.shape[:2]
    series = np.arange(cars * 4).reshape(cars, 1, 4)
    counts = np.bincount((series * bins + place).ravel(), minlength=cars * 4 * bins)
    return np.asarray(counts.reshape(cars, 4, bins) / samples, dtype=np.float64)


def _skew(speed: Array) -> Array:
    """Skew of each series, (cars, 4); none of one that does not move."""
    about = speed - speed.mean(axis=1, keepdims=True)
    spread = np.sqrt(np.mean(about**2, axis=1))
    return np.asarray(np.mean(about**3, axis=1) / np.where(spread > 0.0, spread, 1.0) ** 3)


def _attributes(name: str) -> dict[str, str]:
    unit, meaning = UNITS[name]
    return {"units": unit, "long_name": meaning}
