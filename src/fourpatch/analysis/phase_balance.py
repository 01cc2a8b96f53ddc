"""A corner's phases: who runs out first, and where the load is meanwhile."""

from collections.abc import Sequence

import numpy as np
import xarray as xr
from numpy.typing import NDArray

from fourpatch.analysis.axle_use import axle_use, tyre_use
from fourpatch.events.motion import Phase, RigMotion
from fourpatch.physics.integrate import History
from fourpatch.physics.layout import O, Y

Array = NDArray[np.float64]

AXLES = ["front", "rear"]
CORNERS = ["FL", "FR", "RL", "RR"]

UNITS = {
    "balance": ("points", "100 (U_front - U_rear), mean; positive is understeer, negative oversteer"),
    "early_balance": ("points", "the same, mean of the first half of the phase"),
    "late_balance": ("points", "the same, mean of the second half of the phase"),
    "balance_swing": ("points", "largest momentary difference of the balance from the first set-up's"),
    "use": ("1", "force the axle must deliver over the most it can deliver, mean"),
    "peak_use": ("1", "the same, largest in the phase"),
    "longitudinal_use": ("1", "longitudinal force of the axle over the most it can deliver, mean"),
    "tyre_use": ("1", "force the rig asks of a tyre over the most it can deliver, mean"),
    "axle_load": ("N", "load of the axle's two tyres, mean"),
    "axle_load_swing": ("N", "largest momentary difference of the axle load from the first set-up's"),
    "axle_load_swing_time": ("s", "from the beginning of the phase to that instant"),
    "axle_load_delay": ("s", "by how much the load of that instant comes later than with the first set-up"),
    "axle_load_peak": ("N", "load of the axle's two tyres, largest in the phase"),
    "lateral_transfer": ("N", "half the outer minus inner tyre load, mean"),
    "elastic_transfer": ("N", "its part through springs, bars and stops"),
    "damper_transfer": ("N", "its part through dampers"),
    "geometric_transfer": ("N", "its part through the links"),
    "unsprung_transfer": ("N", "what is left: the wheels' own mass"),
    "front_transfer_share": ("1", "front part of the lateral transfer, mean"),
    "ride_height": ("m", "underside over the road at the axle, mean"),
    "downforce": ("N", "at the axle, mean"),
    "longitudinal_acceleration": ("m/s**2", "mean, forward positive"),
    "roll": ("rad", "mean, left side up positive"),
    "pitch": ("rad", "mean, nose down positive"),
}
"""Unit and meaning of each number of a phase."""

AGAINST_FIRST = (
    "balance_swing",
    "axle_load_swing",
    "axle_load_swing_time",
    "axle_load_delay",
)
"""Numbers that compare with the first set-up: nothing where there is one."""

_CORNERING = (
    0.05  # share of the event's largest lateral acceleration below which there is no transfer to split
)


def phase_window(motion: RigMotion, phase: Phase, samples: int) -> slice:
    """Return the stored samples inside a phase."""
    interval = motion.step * motion.store_every
    start = int(np.ceil(phase.start / interval - 1e-9))
    end = int(np.ceil(phase.end / interval - 1e-9))
    return slice(min(start, samples - 1), max(min(end, samples), start + 1))


def phase_balance(
    parameters: Array,
    history: History,
    motion: RigMotion,
    setups: Sequence[str],
    *,
    tyres_too: bool = True,
    compared: bool = True,
) -> xr.Dataset:
    """Average a rig run over its phases.

    Parameters
    ----------
    parameters : (cars, N_PARAMETER)
    tyres_too : also what each single tyre uses, which takes longer than all the rest.
    compared : also how each set-up differs from the first from instant to instant: `AGAINST_FIRST`.

    Returns
    -------
    Dataset
        Dimensions ``setup``, ``phase`` and, where it applies, ``axle`` or ``corner``; variables and units as
        `UNITS`.

    Notes
    -----
    Dampers move load in time and hold none: over a whole phase their effect on the balance almost
    averages out. So the two halves of each phase stand beside its mean, and so does the largest
    momentary difference from the first set-up, with its sign.

    The lateral transfer of an axle is T = (F_outer - F_inner) / 2, outer by the corner's direction; its
    parts are the same half difference of what springs, dampers and links put on the wheels. The front
    share is T_front / (T_front + T_rear), on forces, not on moments; where the car hardly corners it is
    not a number.
    """
    outputs, samples = history.outputs, history.outputs.shape[1]
    found = axle_use(parameters, history, motion)
    lateral = outputs[:, :, O.lateral_acceleration]
    turn = _turn(lateral, motion)
    parts = {
        "lateral_transfer": _half_difference(outputs, O.tyre_load, turn),
        "elastic_transfer": _half_difference(outputs, O.elastic_force, turn),
        "damper_transfer": _half_difference(outputs, O.damper_force, turn),
        "geometric_transfer": _half_difference(outputs, O.jacking_force, turn),
    }
    series: dict[str, Array] = {
        "balance": found.balance,
        "use": found.use,
        "longitudinal_use": np.abs(_axle_sum(outputs, O.longitudinal_force)) / found.longitudinal_capacity,
        **({"tyre_use": tyre_use(parameters, history, motion)} if tyres_too else {}),
        "axle_load": _axle_sum(outputs, O.tyre_load),
        **parts,
        "ride_height": outputs[:, :, [O.front_ride_height, O.rear_ride_height]],
        "downforce": outputs[:, :, [O.front_downforce, O.rear_downforce]],
        "longitudinal_acceleration": outputs[:, :, O.longitudinal_acceleration],
        "roll": history.states[:, :, Y.roll],
        "pitch": history.states[:, :, Y.pitch],
    }
    windows = [phase_window(motion, phase, samples) for phase in motion.phases]
    means = {name: np.stack([v[:, w].mean(axis=1) for w in windows], axis=1) for name, v in series.items()}
    halves = [(w.start + w.stop + 1) // 2 for w in windows]
    for name, parts_of in (
        ("early_balance", [slice(w.start, h) for w, h in zip(windows, halves, strict=True)]),
        ("late_balance", [slice(h - 1, w.stop) for w, h in zip(windows, halves, strict=True)]),
    ):
        means[name] = np.stack([found.balance[:, w].mean(axis=1) for w in parts_of], axis=1)
    if compared:
        means |= _against_first(series, windows, motion.step * motion.store_every)
    means["axle_load_peak"] = np.stack([series["axle_load"][:, w].max(axis=1) for w in windows], axis=1)
    means["peak_use"] = np.stack([found.use[:, w].max(axis=1) for w in windows], axis=1)
    means["unsprung_transfer"] = (
        means["lateral_transfer"]
        - means["elastic_transfer"]
        - means["damper_transfer"]
        - means["geometric_transfer"]
    )
    cornering = np.stack([np.abs(lateral[:, w]).mean(axis=1) for w in windows], axis=1)
    transfer = means["lateral_transfer"]
    with np.errstate(invalid="ignore", divide="ignore"):
        share = transfer[..., 0] / transfer.sum(axis=-1)
    means["front_transfer_share"] = np.where(
        cornering > _CORNERING * max(np.abs(lateral).max(), 1e-9), share, np.nan
    )
    return xr.Dataset(
        {
            name: (
                ("setup", "phase", "corner" if name == "tyre_use" else "axle")[: values.ndim],
                values,
                {"units": UNITS[name][0], "long_name": UNITS[name][1]},
            )
            for name, values in means.items()
        },
        coords={
            "setup": list(setups),
            "phase": [phase.name for phase in motion.phases],
            "axle": AXLES,
            "corner": CORNERS,
        },
        attrs={"event": motion.name, "computed_on": "rig"},
    )


def _against_first(
    series: dict[str, Array], windows: Sequence[slice], interval: float
) -> dict[str, Array]:
    """Return the numbers of `AGAINST_FIRST`, (cars, phases) and per axle."""
    found = {
        f"{name}_swing": np.stack([_swing(series[name][:, w]) for w in windows], axis=1)
        for name in ("balance", "axle_load")
    }
    delays = [_delay(series["axle_load"][:, w]) for w in windows]
    for place, name in enumerate(("axle_load_swing_time", "axle_load_delay")):
        found[name] = interval * np.stack([found_in[place] for found_in in delays], axis=1)
    return found


def _turn(lateral: Array, motion: RigMotion) -> float:
    """1 in a left turn, -1 in a right one: by the middle of the corner, if the motion has one."""
    samples = lateral.shape[1]
    mid = [phase_window(motion, phase, samples) for phase in motion.phases if phase.name == "mid"]
    return 1.0 if lateral[:, mid[0] if mid else slice(None)].sum() >= 0.0 else -1.0


def _swing(series: Array) -> Array:
    """Largest difference from the first car's over time (axis 1), with its sign."""
    difference = series - series[:1]
    largest = np.argmax(np.abs(difference), axis=1, keepdims=True)
    return np.asarray(np.take_along_axis(difference, largest, axis=1)[:, 0])


def _delay(series: Array) -> tuple[Array, Array]:
    """When a series differs most from the first car's, and how far from there the first car's has that value.

    Parameters
    ----------
    series : (cars, samples, axles)

    Returns
    -------
    tuple
        Instant of the largest difference, and how much later than the first car's, the nearest if it has it
        more than once, the value comes; each (cars, axles), in samples. Not a number where the first car's
        series does not have the value; 0 for the first car.
    """
    largest = np.argmax(np.abs(series - series[:1]), axis=1)
    delay = np.full(largest.shape, np.nan)
    for axle in range(series.shape[2]):
        first = series[0, :, axle]
        for car, instant in enumerate(largest[:, axle]):
            above = first - series[car, instant, axle]
            crossed = np.flatnonzero(above[:-1] * above[1:] <= 0.0)
            step = above[crossed] - above[crossed + 1]
            at = crossed + np.divide(above[crossed], step, out=np.zeros(step.size), where=step != 0.0)
            if at.size:
                delay[car, axle] = instant - at[np.argmin(np.abs(at - instant))]
    delay[0] = 0.0
    return largest.astype(np.float64), delay


def _half_difference(outputs: Array, slot: int, turn: float) -> Array:
    """Half of right minus left per axle for a left turn, (cars, samples, 2)."""
    left, right = outputs[:, :, [slot, slot + 2]], outputs[:, :, [slot + 1, slot + 3]]
    return np.asarray(0.5 * turn * (right - left))


def _axle_sum(outputs: Array, slot: int) -> Array:
    return np.asarray(outputs[:, :, [slot, slot + 2]] + outputs[:, :, [slot + 1, slot + 3]])
