"""The numbers behind complaints for many cars at once, and no more than that."""

import re
from collections.abc import Mapping, Sequence
from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from fourpatch.advice.sensitivity import measured
from fourpatch.advice.target import Target
from fourpatch.analysis.axle_use import axle_use
from fourpatch.analysis.event_measures import bump_measures
from fourpatch.analysis.phase_balance import phase_window
from fourpatch.car.car import Car
from fourpatch.car.pack import pack
from fourpatch.events.corner import Corner
from fourpatch.events.motion import RigMotion
from fourpatch.events.run import run_rig, stable_step, stacked
from fourpatch.events.step_steer import StepSteer
from fourpatch.events.track_corner import CornerOnLap
from fourpatch.events.trial import Trial, pressed_on, rig_motion

Array = NDArray[np.float64]

_BATCH = 128  # cars run together, so that their histories stay small
_QUICK = re.compile(r"(early_|late_)?balance|longitudinal_use")


def complaint_numbers(
    like: Car, cars: Sequence[Car], targets: Sequence[Target], events: Mapping[str, Trial]
) -> Array:
    """Return each target's number for each car, (cars, targets).

    Parameters
    ----------
    like : the car whose motion all of them meet.

    Notes
    -----
    The same numbers as from `measured`, but corners end with the last phase that is asked for, grip is taken
    in that phase alone, and over bumps not at all unless it is asked for.
    """
    wanted = {name for target in targets for name, _ in target.terms}
    names: list[str] = []
    columns: list[Array] = []
    level = stacked([pack(car) for car in cars])
    step = stable_step(np.concatenate([level, pack(like)[None]]))
    for event, test in events.items():
        asked = sorted(name for name in wanted if name.split(".")[0] == event)
        if not asked:
            continue
        corner = isinstance(test, Corner | CornerOnLap)
        quick = (
            all(_QUICK.fullmatch(name.split(".")[2]) for name in asked)
            if corner
            else not any("grip_lost" in name for name in asked)
        )
        if quick and not isinstance(test, StepSteer):
            of_event = _of_corner if corner else _of_bumps
            names += asked
            columns.append(of_event(pressed_on(test, level), rig_motion(test, like, step), asked))
        else:
            measures, values = measured([like, *cars], {event: test})
            names += [measure.name for measure in measures]
            columns.append(values[1:])
    table = np.concatenate(columns, axis=1)
    return np.stack([target.value(names, table) for target in targets], axis=-1)


def _of_corner(vectors: Array, motion: RigMotion, asked: Sequence[str]) -> Array:
    """Return phase means of a corner, (cars, asked)."""
    samples = motion.steps // motion.store_every + 1
    windows = {name: _window(motion, name, samples) for name in asked}
    first = min(window.start for window in windows.values())
    last = max(window.stop for window in windows.values())
    rows = 2 * motion.store_every
    short = replace(motion, inputs=motion.inputs[: rows * (last - 1) + 1])
    cut = replace(motion, inputs=motion.inputs[rows * first : rows * (last - 1) + 1])
    parts = []
    for start in range(0, vectors.shape[0], _BATCH):
        batch = vectors[start : start + _BATCH]
        outputs = np.ascontiguousarray(run_rig(batch, short).outputs[:, first:last])
        parts.append(
            _means(
                batch, outputs, cut, {n: slice(w.start - first, w.stop - first) for n, w in windows.items()}
            )
        )
    return np.concatenate(parts)


def _of_bumps(vectors: Array, motion: RigMotion, asked: Sequence[str]) -> Array:
    """Return measures of a road or kerb, (cars, asked)."""
    parts = []
    for start in range(0, vectors.shape[0], _BATCH):
        batch = vectors[start : start + _BATCH]
        found = bump_measures("", batch, run_rig(batch, motion), motion, grip_too=False)
        values = {measure.name: value for measure, value in found}
        parts.append(np.stack([values[name.split(".", 1)[1]] for name in asked], axis=1))
    return np.concatenate(parts)


def _means(vectors: Array, outputs: Array, motion: RigMotion, windows: Mapping[str, slice]) -> Array:
    found = axle_use(vectors, outputs)
    columns = []
    for name, window in windows.items():
        if name.split(".")[2] == "longitudinal_use":
            axle = ("front", "rear").index(name.split(".")[3])
            series = found.longitudinal_use[..., axle]
        else:
            series = found.balance
        columns.append(series[:, window].mean(axis=1))
    return np.stack(columns, axis=1)


def _window(motion: RigMotion, name: str, samples: int) -> slice:
    """Return the stored samples a dotted name is taken from, as `phase_balance` takes them."""
    _, phase, quantity, *_ = name.split(".")
    whole = phase_window(motion, next(one for one in motion.phases if one.name == phase), samples)
    half = (whole.start + whole.stop + 1) // 2
    if quantity.startswith("early"):
        return slice(whole.start, half)
    return slice(half - 1, whole.stop) if quantity.startswith("late") else whole
