"""A corner's phases: who runs out first, and where the load is meanwhile."""

from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from fourpatch.analysis.axle_use import axle_use, tyre_use
from fourpatch.events.motion import RigMotion
from fourpatch.events.phase import Phase
from fourpatch.physics.integrate import History
from fourpatch.physics.layout import O, Y

if TYPE_CHECKING:
    import xarray as xr  # half a second to load, of which a live answer needs nothing

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

_LATERAL = "lateral_acceleration"
"""Series that tells where there is a transfer to split."""

_CORNERING = (
    0.05  # share of the event's largest lateral acceleration below which there is no transfer to split
)

_CORNERING_NOW = 0.15
"""The same of a single instant: where little load moves, its share says nothing."""


def phase_window(motion: RigMotion, phase: Phase, samples: int) -> slice:
    """Return the stored samples inside a phase."""
    interval = motion.step * motion.store_every
    start = int(np.ceil(phase.start / interval - 1e-9))
    end = int(np.ceil(phase.end / interval - 1e-9))
    return slice(min(start, samples - 1), max(min(end, samples), start + 1))


def phase_balance(
    parameters: Array, history: History, motion: RigMotion, setups: Sequence[str]
) -> "xr.Dataset":
    """Average a rig run over its phases.

    Parameters
    ----------
    parameters : (cars, N_PARAMETER)

    Returns
    -------
    Dataset
        Dimensions ``setup``, ``phase`` and, where it applies, ``axle`` or ``corner``; variables and units as
        `UNITS`; what they are stands with `phase_numbers`.
    """
    series = phase_series(parameters, history, motion)
    series["tyre_use"] = tyre_use(parameters, history.outputs)
    return labelled(phase_numbers(series, motion), motion.phases, setups, event=motion.name)


def labelled(
    numbers: Mapping[str, Array], phases: Sequence[Phase], setups: Sequence[str], *, event: str
) -> "xr.Dataset":
    """Return `phase_numbers` with their names, units and dimensions."""
    import xarray as xr

    return xr.Dataset(
        {
            name: (
                ("setup", "phase", "corner" if name == "tyre_use" else "axle")[: values.ndim],
                values,
                {"units": UNITS[name][0], "long_name": UNITS[name][1]},
            )
            for name, values in numbers.items()
        },
        coords={
            "setup": list(setups),
            "phase": [phase.name for phase in phases],
            "axle": AXLES,
            "corner": CORNERS,
        },
        attrs={"event": event, "computed_on": "rig"},
    )


def phase_series(parameters: Array, history: History, motion: RigMotion) -> dict[str, Array]:
    """Return what `phase_numbers` averages, at every stored instant: (cars, samples) or with two axles.

    Parameters
    ----------
    parameters : (cars, N_PARAMETER)
    """
    outputs = history.outputs
    found = axle_use(parameters, outputs)
    lateral = outputs[:, :, O.lateral_acceleration]
    turn = _turn(lateral, motion)
    return {
        "balance": found.balance,
        "use": found.use,
        "longitudinal_use": found.longitudinal_use,
        "axle_load": _axle_sum(outputs, O.tyre_load),
        "lateral_transfer": _half_difference(outputs, O.tyre_load, turn),
        "elastic_transfer": _half_difference(outputs, O.elastic_force, turn),
        "damper_transfer": _half_difference(outputs, O.damper_force, turn),
        "geometric_transfer": _half_difference(outputs, O.jacking_force, turn),
        "ride_height": outputs[:, :, [O.front_ride_height, O.rear_ride_height]],
        "downforce": outputs[:, :, [O.front_downforce, O.rear_downforce]],
        "longitudinal_acceleration": outputs[:, :, O.longitudinal_acceleration],
        _LATERAL: lateral,
        "roll": history.states[:, :, Y.roll],
        "pitch": history.states[:, :, Y.pitch],
    }


PARTS = ("elastic", "geometric", "unsprung", "damper")
"""Paths of the lateral load transfer."""


def transfer_parts(series: Mapping[str, Array]) -> dict[str, Array]:
    """Return the parts of the lateral transfer, by `PARTS`, at every instant. [N]

    Parameters
    ----------
    series : of `phase_series`, or of one car of it.

    Notes
    -----
    What springs, dampers and links do not put on the tyres is the unsprung part: the wheels' own mass.
    """
    parts = {part: series[f"{part}_transfer"] for part in PARTS if part != "unsprung"}
    return {**parts, "unsprung": series["lateral_transfer"] - sum(parts.values())}


def front_share_in_time(series: Mapping[str, Array]) -> Array:
    """Return the front part of the lateral transfer at every instant; not a number where the car is straight.

    Parameters
    ----------
    series : of `phase_series`, or of one car of it.
    """
    size = np.abs(series[_LATERAL])
    transfer = series["lateral_transfer"]
    with np.errstate(invalid="ignore", divide="ignore"):
        share = transfer[..., 0] / transfer.sum(axis=-1)
    return np.where(size > _CORNERING_NOW * max(size.max(), 1e-9), share, np.nan)


def phase_numbers(
    series: Mapping[str, Array], motion: RigMotion, *, first: Mapping[str, Array] | None = None
) -> dict[str, Array]:
    """Return the numbers of a rig run's phases, as `UNITS`: (cars, phases) or with two axles or four tyres.

    Parameters
    ----------
    series : of `phase_series`; with ``tyre_use`` in it, its means are returned too.
    first : series of the car that swings and delays are counted from; of the first one if left out.

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
    from_ = series if first is None else first
    samples = series["balance"].shape[1]
    windows = [phase_window(motion, phase, samples) for phase in motion.phases]
    numbers = _means(series, windows)
    halves = [(w.start + w.stop + 1) // 2 for w in windows]
    balance = {"balance": series["balance"]}
    early = [slice(w.start, h) for w, h in zip(windows, halves, strict=True)]
    late = [slice(h - 1, w.stop) for w, h in zip(windows, halves, strict=True)]
    numbers["early_balance"] = _means(balance, early)["balance"]
    numbers["late_balance"] = _means(balance, late)["balance"]
    interval = motion.step * motion.store_every
    swings = [_swing(series["balance"][:, w, None], from_["balance"][:1, w, None]) for w in windows]
    numbers["balance_swing"] = np.stack([largest[..., 0] for largest, _ in swings], axis=1)
    load, first_load = series["axle_load"], from_["axle_load"][:1]
    swings = [_swing(load[:, w], first_load[:, w]) for w in windows]
    numbers["axle_load_swing"] = np.stack([largest for largest, _ in swings], axis=1)
    instants = np.stack([instant for _, instant in swings], axis=1)
    numbers["axle_load_swing_time"] = interval * instants
    delays = [
        _delay(load[:, w], first_load[0, w], instant) for w, (_, instant) in zip(windows, swings, strict=True)
    ]
    numbers["axle_load_delay"] = interval * np.stack(delays, axis=1)
    numbers["axle_load_peak"] = np.stack([load[:, w].max(axis=1) for w in windows], axis=1)
    numbers["peak_use"] = np.stack([series["use"][:, w].max(axis=1) for w in windows], axis=1)
    transfer = numbers["lateral_transfer"]
    numbers["unsprung_transfer"] = (
        transfer - numbers["elastic_transfer"] - numbers["damper_transfer"] - numbers["geometric_transfer"]
    )
    size = np.abs(series[_LATERAL])
    cornering = _means({"size": size}, windows)["size"] > _CORNERING * max(size.max(), 1e-9)
    with np.errstate(invalid="ignore", divide="ignore"):
        share = transfer[..., 0] / transfer.sum(axis=-1)
    numbers["front_transfer_share"] = np.where(cornering, share, np.nan)
    return {name: values for name, values in numbers.items() if name != _LATERAL}


def _means(series: Mapping[str, Array], windows: Sequence[slice]) -> dict[str, Array]:
    """Mean of each series over each window, (cars, windows) or with what else it has."""
    # Side by side, so that a window is one sum: a sum of a few hundred numbers is all overhead.
    columns = [values.reshape(*values.shape[:2], -1) for values in series.values()]
    together = np.concatenate(columns, axis=2)
    means = np.stack([together[:, window].mean(axis=1) for window in windows], axis=1)
    edges = np.cumsum([column.shape[2] for column in columns])[:-1]
    return {
        name: part.reshape(*part.shape[:2], *values.shape[2:])
        for (name, values), part in zip(series.items(), np.split(means, edges, axis=2), strict=True)
    }


def _turn(lateral: Array, motion: RigMotion) -> Array:
    """1 in a left turn, -1 in a right one, (samples,): by the middle of a corner, else phase by phase."""
    samples = lateral.shape[1]
    windows = {phase.name: phase_window(motion, phase, samples) for phase in motion.phases}
    turn = np.ones(samples)
    for name, window in windows.items():
        if "mid" not in windows or name == "mid":
            turned = slice(None) if name == "mid" else window
            turn[turned] = 1.0 if lateral[:, window].sum() >= 0.0 else -1.0
    return turn


def _swing(series: Array, first: Array) -> tuple[Array, Array]:
    """Largest difference from the first car's over time (axis 1), with its sign, and its instant.

    Parameters
    ----------
    series : (cars, samples, axles)
    first : (1, samples, axles)

    Returns
    -------
    tuple
        Each (cars, axles); the instant in samples.
    """
    difference = series - first
    instant = np.argmax(np.abs(difference), axis=1)
    return np.take_along_axis(difference, instant[:, None], axis=1)[:, 0], instant


def _delay(series: Array, first: Array, largest: Array) -> Array:
    """How far from where a series differs most from the first car's the first car's has that value.

    Parameters
    ----------
    series : (cars, samples, axles)
    first : (samples, axles)
    largest : instant of the largest difference, (cars, axles).

    Returns
    -------
    Array
        How much later than the first car's, the nearest if it has it more than once, the value comes, (cars,
        axles), in samples. Not a number where the first car's series does not have the value; 0 where nothing
        differs.
    """
    delay = np.full(largest.shape, np.nan)
    for axle in range(series.shape[2]):
        for car, instant in enumerate(largest[:, axle]):
            above = first[:, axle] - series[car, instant, axle]
            if above[instant] == 0.0:
                delay[car, axle] = 0.0
                continue
            crossed = np.flatnonzero(above[:-1] * above[1:] <= 0.0)
            step = above[crossed] - above[crossed + 1]
            at = crossed + np.divide(above[crossed], step, out=np.zeros(step.size), where=step != 0.0)
            if at.size:
                delay[car, axle] = instant - at[np.argmin(np.abs(at - instant))]
    return delay


def _half_difference(outputs: Array, slot: int, turn: Array) -> Array:
    """Half of right minus left per axle for a left turn, (cars, samples, 2); ``turn`` as `_turn`."""
    left, right = outputs[:, :, [slot, slot + 2]], outputs[:, :, [slot + 1, slot + 3]]
    return np.asarray(0.5 * turn[:, None] * (right - left))


def _axle_sum(outputs: Array, slot: int) -> Array:
    return np.asarray(outputs[:, :, [slot, slot + 2]] + outputs[:, :, [slot + 1, slot + 3]])
