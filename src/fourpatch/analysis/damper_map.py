"""Grip over the plane of bump and rebound: where an axle's dampers work best on a road or a kerb."""

from typing import Literal

import numpy as np
import xarray as xr
from numpy.typing import NDArray

from fourpatch.analysis.contact_patch_load import contact_patch_load
from fourpatch.car.car import Car
from fourpatch.car.pack import pack
from fourpatch.events.bumps import BumpEvent
from fourpatch.events.run import run_rig, stable_step
from fourpatch.physics.layout import CORNER_BASE, KNOTS, N_CORNER, C

Array = NDArray[np.float64]

AXLES = {"front": (0, 1), "rear": (2, 3)}

WIDEST = 3.0
"""The map reaches from this fraction of the present damping to this multiple of it."""

_CHUNK = 64  # set-ups whose histories are held at once

_PER_AXLE = ("load_variation", "grip_lost", "time_off_ground", "stop_contact")
_PER_CAR = ("body_throw", "body_acceleration_peak", "body_acceleration_rms")

Part = Literal["all", "low", "high"]


def damped(vector: Array, *, axle: str, bump: float, rebound: float, part: Part = "all") -> Array:
    """Return a car's parameter vector with an axle's damping multiplied.

    Parameters
    ----------
    vector : (N_PARAMETER,)
    bump, rebound : factors on the damper's slopes. [1]
    part : "all" of each curve; "low": the slope below its first knee, what lies beyond keeping its slope;
        "high": the slopes beyond its first knee.
    """
    changed = vector.copy()
    for corner in AXLES[axle]:
        block = changed[CORNER_BASE + corner * N_CORNER : CORNER_BASE + (corner + 1) * N_CORNER]
        for factor, slope, knots in (
            (bump, C.bump_slope, C.bump_knots),
            (rebound, C.rebound_slope, C.rebound_knots),
        ):
            changes = block[knots + KNOTS : knots + 2 * KNOTS]
            low = block[slope]
            if part == "all":
                block[slope], changes[:] = factor * low, factor * changes
            elif part == "low":
                block[slope] = factor * low
                changes[0] += (1.0 - factor) * low
            else:
                changes[0] = factor * (low + changes[0]) - low
                changes[1:] *= factor
    return changed


def damper_map(
    car: Car,
    event: BumpEvent,
    *,
    axle: Literal["front", "rear"],
    part: Part = "all",
    size: int = 21,
) -> xr.Dataset:
    """Measure contact-patch load and grip over factors on an axle's bump and rebound damping.

    Parameters
    ----------
    part : which part of the damper curves is multiplied; see `damped`.
    size : factors in each direction, spaced evenly on a logarithmic scale; odd, so that the present
        damping is among them.

    Returns
    -------
    Dataset
        Dimensions ``bump`` and ``rebound`` (factors on the present damping); per axle measures of this axle,
        and body motion; units in the attributes. The present set-up stands at factors 1, 1.
    """
    factors = np.geomspace(1.0 / WIDEST, WIDEST, size)
    vector = pack(car)
    grid = [(bump, rebound) for bump in factors for rebound in factors]
    vectors = np.stack([damped(vector, axle=axle, bump=b, rebound=r, part=part) for b, r in grid])
    motion = event.motion(car, stable_step(vectors))
    found = []
    for first in range(0, len(grid), _CHUNK):
        chunk = vectors[first : first + _CHUNK]
        labels = [str(k) for k in range(first, first + chunk.shape[0])]
        history = run_rig(chunk, motion)
        found.append(contact_patch_load(chunk, history, motion, labels, since=motion.phases[1].start))
    whole = xr.concat(found, dim="setup")
    of_axle = whole[list(_PER_AXLE)].isel(corner=list(AXLES[axle])).mean("corner", keep_attrs=True)
    columns = {**of_axle.data_vars, **whole[list(_PER_CAR)].data_vars}
    return xr.Dataset(
        {
            name: (("bump", "rebound"), values.values.reshape(size, size), values.attrs)
            for name, values in columns.items()
        },
        coords={"bump": factors, "rebound": factors},
        attrs={"event": motion.name, "computed_on": "rig", "axle": axle, "part": part},
    )


def best_damping(damper_map: xr.Dataset, measure: str = "grip_lost") -> tuple[float, float]:
    """Return the factors on bump and rebound at which a measure is least on the map."""
    place = np.unravel_index(int(np.argmin(damper_map[measure].values)), damper_map[measure].shape)
    return float(damper_map.bump[place[0]]), float(damper_map.rebound[place[1]])


def valley(damper_map: xr.Dataset, measure: str = "grip_lost") -> Array:
    """Return for each bump factor the rebound factor at which a measure is least, (size,)."""
    return np.asarray(damper_map.rebound.values[np.argmin(damper_map[measure].values, axis=1)])


def good_ratios(damper_map: xr.Dataset, *, cost: float, measure: str = "grip_lost") -> tuple[float, float]:
    """Return the range of rebound over bump, as factors on the present ratio, that costs at most ``cost``.

    Parameters
    ----------
    cost : allowed above the least value on the map, in the measure's own unit.

    Notes
    -----
    For each ratio the best total damping on the map is taken, so that the range speaks of the ratio
    alone. On a smoother road the same absolute cost allows a wider range.
    """
    values = damper_map[measure].values
    size = values.shape[0]
    ratios, least = [], []
    for offset in range(-(size - 1), size):
        ratios.append((damper_map.rebound.values[1] / damper_map.rebound.values[0]) ** offset)
        least.append(np.diagonal(values, offset).min())
    allowed = np.flatnonzero(np.array(least) <= values.min() + cost)
    return float(ratios[allowed[0]]), float(ratios[allowed[-1]])
