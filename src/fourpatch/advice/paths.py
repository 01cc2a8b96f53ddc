"""Through which path a change acts: load, lateral share, attitude, forces asked for, the tyres themselves."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from fourpatch.analysis.axle_use import AxleUse, axle_use
from fourpatch.analysis.phase_balance import phase_window
from fourpatch.car.car import Car
from fourpatch.car.pack import pack
from fourpatch.events.motion import RigMotion
from fourpatch.events.run import run_rig, stable_step, stacked
from fourpatch.events.trial import BumpTrial, CornerTrial, pressed_on, rig_motion
from fourpatch.physics.integrate import History
from fourpatch.physics.layout import CORNER_BASE, N_CORNER, N_PARAMETER, TYRE_BASE, C, O, P

Array = NDArray[np.float64]

PATHS = ("load", "lateral share", "attitude", "differential", "forces asked for", "tyre grip")
"""What is taken over from the changed car, one after the other; see `phase_paths` for what comes after."""

_TYRES = [
    *(
        CORNER_BASE + corner * N_CORNER + slot
        for corner in range(4)
        for slot in (C.tyre_rate, C.tyre_damping, C.tyre_static_deflection, C.tyre_radius)
    ),
    *range(TYRE_BASE, N_PARAMETER),
]
_LOCKS = list(range(P.front_lock_preload, P.rear_lock_viscous + 1))
"""Slots of a car's parameters."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Pair:
    """One number per axle, before and after a change."""

    before: tuple[float, float]
    after: tuple[float, float]

    @property
    def change(self) -> tuple[float, float]:
        """After minus before, front and rear."""
        return self.after[0] - self.before[0], self.after[1] - self.before[1]


@dataclass(frozen=True, slots=True, kw_only=True)
class PhasePath:
    """What a change does in one phase of one corner, and how."""

    event: str
    phase: str
    window: str
    """early, late, or empty for all of the phase."""
    change: float
    """Of the number, in points."""
    parts: dict[str, float]
    """Its parts by path, in points; they add up to it."""
    use: Pair
    """[1]"""
    axle_load: Pair
    """[N]"""
    downforce: Pair
    """[N]"""
    transfer: Pair
    """Lateral, half the outer minus inner load. [N]"""
    elastic: Pair
    """Its part through springs, bars and stops. [N]"""
    damper: Pair
    """[N]"""
    geometric: Pair
    """Through the links. [N]"""
    ride_height: Pair
    """[m]"""
    outer_camber: Pair
    """Inclination of the outer wheel to the road, negative leaning into the car. [rad]"""
    longitudinal_force: Pair
    """[N]"""
    lateral_force: Pair
    """Size of the force across the wheels. [N]"""
    lock_demand: Pair
    """The same, where the differentials alone change. [N]"""
    lock_traction: Pair
    """Largest force along the road that the axle can give the way it is asked to, likewise. [N]"""
    inner_load: Pair
    """[N]"""


@dataclass(frozen=True, slots=True, kw_only=True)
class BumpPath:
    """What a change does to the forces on a bumpy road or over a kerb."""

    event: str
    damper_rms: Pair
    """RMS of a wheel's damper force about its mean, mean of left and right. [N]"""
    elastic_rms: Pair
    """The same of springs, bars and stops. [N]"""
    damper_peak: Pair
    """Largest upward force of an axle's dampers on the body, one wheel. [N]"""
    elastic_peak: Pair
    """The same of springs, bars and stops. [N]"""
    ride_height: Pair
    """Mean. [m]"""


def phase_paths(
    cars: Sequence[Car],
    event: CornerTrial,
    *,
    name: str,
    phase: str,
    window: str,
    traction_of: int | None = None,
) -> list[PhasePath]:
    """Return how each car but the first differs from the first one in a phase.

    Parameters
    ----------
    name : of the event.
    window : early, late, or empty.
    traction_of : the axle (0 front, 1 rear) whose use of its traction is the number; else the balance is.

    Notes
    -----
    The first car's loads are exchanged for the changed car's in steps, and the number taken anew after each:
    axle loads with the lateral transfer kept; lateral transfer; inclination and steer of the wheels; what
    unequal forces along left and right wheels turn the car by; the other forces of the tyres; the changed
    car's tyres; its differentials, counted with what they turn it by; and the rest of it, its mass above
    all, which is counted among the forces. Each step's change is that path's part, so the parts add up. In
    another order they would differ by products of small changes.
    """
    vectors = pressed_on(event, stacked([pack(car) for car in cars]))
    motion = rig_motion(event, cars[0], stable_step(vectors))
    history = run_rig(vectors, motion)
    where = (name, phase, window)
    return [
        phase_path(vectors, history, motion, car=k, where=where, traction_of=traction_of)
        for k in range(1, len(cars))
    ]


def phase_path(
    vectors: Array,
    history: History,
    motion: RigMotion,
    *,
    car: int,
    where: tuple[str, str, str],
    traction_of: int | None = None,
) -> PhasePath:
    """Return how one car of a run differs from the first one in a phase; see `phase_paths`.

    Parameters
    ----------
    vectors : (cars, N_PARAMETER)
    car : its row.
    where : name of the event, phase, and early, late or empty.
    """
    part = window_of(motion, where[1], where[2], history.outputs.shape[1])
    turn = 1.0 if history.outputs[0, :, O.lateral_acceleration].sum() >= 0.0 else -1.0
    return _phase_path(vectors, history.outputs[:, part], car, turn, where, traction_of)


def bump_paths(cars: Sequence[Car], event: BumpTrial, *, name: str) -> list[BumpPath]:
    """Return how the forces over bumps of each car but the first differ from the first one's."""
    vectors = stacked([pack(car) for car in cars])
    motion = event.motion(cars[0], stable_step(vectors))
    history = run_rig(vectors, motion)
    return [bump_path(history, motion, car=k, name=name) for k in range(1, len(cars))]


def bump_path(history: History, motion: RigMotion, *, car: int, name: str, than: int = 0) -> BumpPath:
    """Return how the forces over bumps of one car of a run differ from another's.

    Parameters
    ----------
    car, than : rows of the run.
    name : of the event.
    """
    first = int(np.ceil(motion.phases[1].start / (motion.step * motion.store_every) - 1e-9))
    outputs = history.outputs[[than, car], first:]
    damper, elastic = (outputs[:, :, slot : slot + 4] for slot in (O.damper_force, O.elastic_force))
    heights = outputs[:, :, [O.front_ride_height, O.rear_ride_height]].mean(axis=1)
    rms = [_axle_mean(force.std(axis=1)) for force in (damper, elastic)]
    peaks = [_axle_max(force.max(axis=1)) for force in (damper, elastic)]
    return BumpPath(
        event=name,
        damper_rms=_pair(rms[0], 1),
        elastic_rms=_pair(rms[1], 1),
        damper_peak=_pair(peaks[0], 1),
        elastic_peak=_pair(peaks[1], 1),
        ride_height=_pair(heights, 1),
    )


def window_of(motion: RigMotion, phase: str, window: str, samples: int) -> slice:
    """Return the stored samples of a phase, or of its early or late half."""
    found = next(one for one in motion.phases if one.name == phase)
    whole = phase_window(motion, found, samples)
    half = (whole.start + whole.stop + 1) // 2
    match window:
        case "early":
            return slice(whole.start, half)
        case "late":
            return slice(half - 1, whole.stop)
    return whole


def _phase_path(
    vectors: Array,
    outputs: Array,
    car: int,
    turn: float,
    where: tuple[str, str, str],
    traction_of: int | None,
) -> PhasePath:
    """Return how one car differs from the first, its outputs cut to the phase."""
    stages = _stages(outputs[0], outputs[car], vectors[0])
    own = _own_stages(vectors[0], vectors[car])
    parameters = np.concatenate([np.repeat(vectors[:1], len(stages), axis=0), own])
    rows = np.ascontiguousarray(np.stack([*stages, *[outputs[car]] * len(own)]))
    found = axle_use(parameters, rows)
    number = _number(found, traction_of).mean(axis=1)
    steps = np.diff(number)
    parts = {path: float(step) for path, step in zip(PATHS, steps[: len(PATHS)], strict=True)}
    parts["differential"] += float(steps[-2])
    parts["forces asked for"] += float(steps[-1])
    if np.array_equal(vectors[0, _LOCKS], vectors[car, _LOCKS]):
        # The same differential answers other loads of its two tyres: no work of a changed differential.
        parts["lateral share"] += parts["differential"]
        parts["differential"] = 0.0
    demand = np.abs(found.lateral_force).mean(axis=1)
    turned, locks = [3, 4], [-3, -2]
    both = outputs[[0, car]]
    left, right = (both[:, :, [O.tyre_load + k, O.tyre_load + k + 2]] for k in (0, 1))
    inner = left if turn > 0.0 else right
    outer = 1 if turn > 0.0 else 0
    lean = both[:, :, [O.inclination + outer, O.inclination + outer + 2]] * turn
    return PhasePath(
        event=where[0],
        phase=where[1],
        window=where[2],
        change=float(number[-1] - number[0]),
        parts=parts,
        use=_mean_pair(found.use[[0, -1]]),
        axle_load=_mean_pair(left + right),
        downforce=_mean_pair(both[:, :, [O.front_downforce, O.rear_downforce]]),
        transfer=_mean_pair(lateral_transfer(both, O.tyre_load, turn)),
        elastic=_mean_pair(lateral_transfer(both, O.elastic_force, turn)),
        damper=_mean_pair(lateral_transfer(both, O.damper_force, turn)),
        geometric=_mean_pair(lateral_transfer(both, O.jacking_force, turn)),
        ride_height=_mean_pair(both[:, :, [O.front_ride_height, O.rear_ride_height]]),
        outer_camber=_mean_pair(lean),
        longitudinal_force=_mean_pair(axle_sum(both, O.longitudinal_force)),
        lateral_force=_pair(demand[[0, -1]], 1),
        lock_demand=_pair(demand[turned], 1),
        lock_traction=_pair(found.longitudinal_capacity.mean(axis=1)[locks], 1),
        inner_load=_mean_pair(inner),
    )


def _stages(before: Array, after: Array, vector: Array) -> list[Array]:
    """Outputs of the first car, with more and more of them exchanged for the changed car's.

    Parameters
    ----------
    before, after : (samples, N_OUTPUT)
    vector : of the first car, (N_PARAMETER,).
    """
    stages = [before]
    loads = before.copy()
    for axle in range(2):
        left, right = O.tyre_load + 2 * axle, O.tyre_load + 2 * axle + 1
        total = after[:, left] + after[:, right]
        transfer = 0.5 * (before[:, right] - before[:, left])
        loads[:, left] = np.clip(0.5 * total - transfer, 0.0, total)
        loads[:, right] = total - loads[:, left]
    stages.append(loads)
    for slots in ((O.tyre_load,), (O.inclination, O.steer)):
        exchanged = stages[-1].copy()
        for slot in slots:
            exchanged[:, slot : slot + 4] = after[:, slot : slot + 4]
        stages.append(exchanged)
    stages.append(_turned_by_differentials(stages[-1], after, vector))
    stages.append(after)
    return stages


def _turned_by_differentials(rows: Array, after: Array, vector: Array) -> Array:
    """Outputs with the changed car's unequal forces along left and right wheels, and what balances them."""
    turned = rows.copy()
    wheelbase = vector[P.cg_to_front] + vector[P.cg_to_rear]
    for axle in range(2):
        left = O.longitudinal_force + 2 * axle
        c = CORNER_BASE + 2 * axle * N_CORNER
        more = 0.5 * (_apart(after, axle) - _apart(rows, axle))
        turned[:, left] += more
        turned[:, left + 1] -= more
        shift = more * (vector[c + C.planar_y] - vector[c + N_CORNER + C.planar_y]) / wheelbase
        for slot in (O.lateral_force, O.lateral_force + 1):
            turned[:, slot] += 0.5 * shift
            turned[:, slot + 2] -= 0.5 * shift
    return turned


def _apart(rows: Array, axle: int) -> Array:
    """Force along an axle's left wheel less that along its right one, (samples,). [N]"""
    left, right = (
        rows[:, O.longitudinal_force + k] * np.cos(rows[:, O.steer + k])
        + rows[:, O.lateral_force + k] * np.sin(rows[:, O.steer + k])
        for k in (2 * axle, 2 * axle + 1)
    )
    return np.asarray(left - right)


def _own_stages(before: Array, after: Array) -> Array:
    """Parameters of the first car with the changed car's tyres, then differentials too, then all of it."""
    tyres = before.copy()
    tyres[_TYRES] = after[_TYRES]
    locks = tyres.copy()
    locks[_LOCKS] = after[_LOCKS]
    return np.stack([tyres, locks, after])


def _number(found: AxleUse, traction_of: int | None) -> Array:
    if traction_of is None:
        return found.balance
    return np.asarray(100.0 * found.longitudinal_use[..., traction_of])


def lateral_transfer(outputs: Array, slot: int, turn: float) -> Array:
    """Return half the right minus left of a force per axle for a left turn, (cars, samples, 2).

    Parameters
    ----------
    slot : of the force's four outputs.
    turn : 1 in a left turn, -1 in a right one.
    """
    left, right = outputs[:, :, [slot, slot + 2]], outputs[:, :, [slot + 1, slot + 3]]
    return np.asarray(0.5 * turn * (right - left))


def axle_sum(outputs: Array, slot: int) -> Array:
    """Return the sum of left and right per axle, (cars, samples, 2)."""
    return np.asarray(outputs[:, :, [slot, slot + 2]] + outputs[:, :, [slot + 1, slot + 3]])


def _mean_pair(series: Array) -> Pair:
    """Of two cars' series, (2, samples, 2)."""
    return _pair(series.mean(axis=1), 1)


def _pair(values: Array, after: int) -> Pair:
    return Pair(
        before=(float(values[0, 0]), float(values[0, 1])),
        after=(float(values[after, 0]), float(values[after, 1])),
    )


def _axle_mean(values: Array) -> Array:
    return np.asarray(0.5 * (values[:, [0, 2]] + values[:, [1, 3]]))


def _axle_max(values: Array) -> Array:
    return np.asarray(np.maximum(values[:, [0, 2]], values[:, [1, 3]]))
