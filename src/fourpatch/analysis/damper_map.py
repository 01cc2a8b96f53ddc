"""Grip over the plane of bump and rebound: where an axle's dampers work best on a road or a kerb."""

import os
from collections.abc import Callable, Iterator
from concurrent.futures import ThreadPoolExecutor
from queue import Empty, SimpleQueue
from typing import TYPE_CHECKING, Literal, NamedTuple

import numpy as np
from numpy.typing import NDArray

from fourpatch.analysis.contact_patch_load import contact_patch_load
from fourpatch.car.car import Car
from fourpatch.car.pack import pack
from fourpatch.events.bumps import BumpEvent
from fourpatch.events.motion import RigMotion
from fourpatch.events.rough_road import RoughRoad
from fourpatch.events.run import empty_history, run_rig, stable_step, stored_instants
from fourpatch.long_work import Cancelled, Progress, go_on, never, unwatched
from fourpatch.physics.integrate import LANES
from fourpatch.physics.layout import CORNER_BASE, KNOTS, N_CORNER, C

if TYPE_CHECKING:
    import xarray as xr

Array = NDArray[np.float64]
Places = NDArray[np.intp]

AXLES = {"front": (0, 1), "rear": (2, 3)}

WIDEST = 3.0
"""The map reaches from this fraction of the present damping to this multiple of it."""

_CHUNK = 2 * LANES  # set-ups that a core runs and measures at once

_PER_AXLE = ("load_variation", "grip_lost", "time_off_ground", "stop_contact")
_PER_CAR = (
    "body_throw",
    "body_acceleration_peak",
    "body_acceleration_rms",
    "body_acceleration_felt",
)
MEASURES = (*_PER_AXLE, *_PER_CAR)
"""What the map holds."""

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
    progress: Progress = unwatched,
    cancelled: Cancelled = never,
) -> "xr.Dataset":
    """Measure contact-patch load and grip over factors on an axle's bump and rebound damping.

    Parameters
    ----------
    part : which part of the damper curves is multiplied; see `damped`.
    size : factors in each direction, spaced evenly on a logarithmic scale; odd, so that the present
        damping is among them.
    progress : told the share that is done and what is computed.
    cancelled : asked between chunks of set-ups whether to stop.

    Raises
    ------
    SolveError
        If a set-up of the map finds no place to rest, or its run does not end in numbers.
    Stopped
        If ``cancelled`` said so.

    Returns
    -------
    Dataset
        Dimensions ``bump`` and ``rebound`` (factors on the present damping); per axle measures of this axle,
        and body motion; units in the attributes. The present set-up stands at factors 1, 1.

    Notes
    -----
    All set-ups meet the same motion. An axle's measures are the means of its two wheels. Friction, heave
    dampers and the other axle stay as they are.
    """
    factors = np.geomspace(1.0 / WIDEST, WIDEST, size)
    factors[size // 2] = 1.0
    vector = pack(car)
    grid = [(bump, rebound) for bump in factors for rebound in factors]
    vectors = np.stack([damped(vector, axle=axle, bump=b, rebound=r, part=part) for b, r in grid])
    columns = {name: np.empty(len(grid)) for name in MEASURES}
    attributes: dict[str, dict[str, str]] = {}
    done: list[int] = []

    def told(places: int) -> None:
        go_on(cancelled, "the damper map was not complete")
        done.append(places)
        progress(sum(done) / len(grid), f"{axle} dampers, {size} by {size} pairs of bump and rebound")

    for chosen, motion in _motions(car, event, vectors):
        for places, found in _measured(vectors, chosen, motion, told):
            of_axle = found[list(_PER_AXLE)].isel(corner=list(AXLES[axle])).mean("corner", keep_attrs=True)
            for name, values in {**of_axle.data_vars, **found[list(_PER_CAR)].data_vars}.items():
                columns[str(name)][places] = values.values
                attributes[str(name)] = values.attrs
    import xarray as xr

    return xr.Dataset(
        {
            name: (("bump", "rebound"), values.reshape(size, size), attributes[name])
            for name, values in columns.items()
        },
        coords={
            "bump": ("bump", factors, {"units": "1"}),
            "rebound": ("rebound", factors, {"units": "1"}),
        },
        attrs={
            "event": motion.name,
            "computed_on": "rig",
            "axle": axle,
            "part": part,
            **({"road_class": event.road_class} if isinstance(event, RoughRoad) else {}),
        },
    )


def _motions(car: Car, event: BumpEvent, vectors: Array) -> Iterator[tuple[Places, RigMotion]]:
    """Yield the set-ups that can be run at one step, and the motion at that step.

    The stiffest corner of the plane must not slow the rest of it.
    """
    steps = np.array([stable_step(vector[None]) for vector in vectors])
    for step in np.unique(steps)[::-1]:
        yield np.flatnonzero(steps == step), event.motion(car, float(step))


def _measured(
    vectors: Array, chosen: Places, motion: RigMotion, told: Callable[[int], None]
) -> "list[tuple[Places, xr.Dataset]]":
    """Run and measure some set-ups in chunks, a core each; every core writes over its own history.

    Parameters
    ----------
    told : hears how many set-ups were measured, after each chunk; may raise to stop.
    """
    chunks: SimpleQueue[Places] = SimpleQueue()
    for first in range(0, chosen.size, _CHUNK):
        chunks.put(chosen[first : first + _CHUNK])
    found: list[tuple[Places, xr.Dataset]] = []

    def work(_: int) -> None:
        memory = empty_history(min(_CHUNK, chosen.size), stored_instants(motion))
        while True:
            try:
                places = chunks.get_nowait()
            except Empty:
                return
            chunk = vectors[places]
            history = run_rig(chunk, motion, threads=1, into=memory)
            labels = [str(place) for place in places]
            since = motion.phases[1].start
            found.append((places, contact_patch_load(chunk, history, motion, labels, since=since)))
            told(places.size)

    workers = min(os.cpu_count() or 1, chunks.qsize())
    with ThreadPoolExecutor(workers) as pool:
        list(pool.map(work, range(workers)))
    return found


def present_ratio(vector: Array, *, axle: str, part: Part = "all") -> float:
    """Return rebound over bump of an axle's dampers as they stand, left and right together.

    Notes
    -----
    The ratio of the slopes at rest; of the "high" part, of the slopes beyond the first knee.
    """
    bump = rebound = 0.0
    for corner in AXLES[axle]:
        block = vector[CORNER_BASE + corner * N_CORNER : CORNER_BASE + (corner + 1) * N_CORNER]
        knee = 1.0 if part == "high" else 0.0
        bump += block[C.bump_slope] + knee * block[C.bump_knots + KNOTS]
        rebound += block[C.rebound_slope] + knee * block[C.rebound_knots + KNOTS]
    return float(rebound / bump)


class Best(NamedTuple):
    """Where a measure is least on a map."""

    bump: float
    """Factor on the present damping."""
    rebound: float
    value: float
    """The measure there, SI."""
    at_edge: bool
    """Whether it lies on the edge of the map, so that beyond it may be better still."""


def best_damping(damper_map: "xr.Dataset", measure: str = "grip_lost") -> Best:
    """Return the factors on bump and rebound at which a measure is least on the map.

    Notes
    -----
    One of the points of the map, which lie 12 % apart if it has 21 in each direction.
    """
    values = damper_map[measure].values
    place = np.unravel_index(int(np.argmin(values)), values.shape)
    last = values.shape[0] - 1
    return Best(
        bump=float(damper_map.bump[place[0]]),
        rebound=float(damper_map.rebound[place[1]]),
        value=float(values[place]),
        at_edge=any(int(one) in (0, last) for one in place),
    )


def present_value(damper_map: "xr.Dataset", measure: str = "grip_lost") -> float:
    """Return a measure of the set-up as it stands: the middle of the map."""
    middle = damper_map.sizes["bump"] // 2
    return float(damper_map[measure][middle, middle])


def valley(damper_map: "xr.Dataset", measure: str = "grip_lost") -> Array:
    """Return for each bump factor the rebound factor at which a measure is least, (size,)."""
    return np.asarray(damper_map.rebound.values[np.argmin(damper_map[measure].values, axis=1)])


class Ratios(NamedTuple):
    """A range of rebound over bump, as factors on the present ratio."""

    low: float
    high: float
    low_open: bool
    """Whether the map ends before the range may."""
    high_open: bool

    @property
    def width(self) -> float:
        """Highest over lowest."""
        return self.high / self.low


def good_ratios(damper_map: "xr.Dataset", *, cost: float, measure: str = "grip_lost") -> Ratios:
    """Return the range of rebound over bump, as factors on the present ratio, that costs at most ``cost``.

    Parameters
    ----------
    cost : allowed above the least value on the map, in the measure's own unit.

    Notes
    -----
    For each ratio the best total damping on the map is taken, so that the range speaks of the ratio
    alone. An end is open where the next ratio's best lies on the edge of the map: with less or more
    damping than the map has it might do as well.
    """
    values = damper_map[measure].values
    size = values.shape[0]
    step = float(damper_map.rebound[1] / damper_map.rebound[0])
    diagonals = [np.diagonal(values, offset) for offset in range(-(size - 1), size)]
    ratios = step ** np.arange(-(size - 1), size, dtype=np.float64)
    good = np.array([line.min() <= values.min() + cost for line in diagonals])
    best = int(np.argmin([line.min() for line in diagonals]))
    first = best - int(np.argmin(np.append(good[best::-1], False))) + 1
    last = best + int(np.argmin(np.append(good[best:], False))) - 1

    def is_open(beyond: int) -> bool:
        if not 0 <= beyond < len(diagonals):
            return True
        return int(np.argmin(diagonals[beyond])) in (0, diagonals[beyond].size - 1)

    return Ratios(float(ratios[first]), float(ratios[last]), is_open(first - 1), is_open(last + 1))
