"""The phases of every corner of a track, the car taken through each as its lap goes."""

from collections.abc import Sequence
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from fourpatch.analysis.lap_profile import LapProfile
from fourpatch.analysis.lap_summary import LapCorner
from fourpatch.analysis.phase_balance import AGAINST_FIRST, phase_balance, phase_window
from fourpatch.analysis.stability_reserve import stability_reserve
from fourpatch.car.car import Car
from fourpatch.car.pack import pack
from fourpatch.errors import EventError
from fourpatch.events.phase import PHASES
from fourpatch.events.run import run_rig, stable_step
from fourpatch.events.steady_states import all_under_gravity
from fourpatch.events.track_corner import CornerOnLap, Pace
from fourpatch.physics.integrate import History
from fourpatch.physics.layout import I

if TYPE_CHECKING:
    import xarray as xr  # half a second to load, of which the app's first page needs nothing

Array = NDArray[np.float64]

CORNERS_USE = 0.97
"""Of the worse axle's grip when corners are looked at: what a good driver can repeat."""

_LEAD, _TAIL = 8.0, 6.0  # most that is driven before and after the slowest place of a corner [s]

UNITS = {
    "duration": ("s", "time the phase takes"),
    "speed": ("m/s", "mean"),
    "stability_reserve": (
        "1/s",
        "slowest real part of the lateral dynamics at the middle of the phase; above zero it diverges",
    ),
    "time_to_double": ("s", "in which a disturbance doubles there; not a number where it dies away"),
}
"""Unit and meaning of what a track's corners have beside `phase_balance.UNITS`."""


def track_corners(
    car: Car, profile: LapProfile, corners: Sequence[LapCorner], *, pace: Pace | None = None
) -> "xr.Dataset":
    """Take a car through every corner of its lap on the rig and average over the phases of each.

    Parameters
    ----------
    profile : the lap.
    corners : how it passes them.
    pace : how long the driver takes to press, release and steer.

    Returns
    -------
    Dataset
        Dimensions ``track_corner``, ``phase`` and, where it applies, ``axle`` or ``corner``; a phase that a
        corner has not is not a number. Variables as `UNITS` and `phase_balance.UNITS`, without swings.

    Raises
    ------
    EventError
        If the track has no corner.
    SolveError
        If the car has no steady place at the start of a corner, or does not stay in the range of numbers.

    Notes
    -----
    Each corner is run by itself, from the slowest place of the one before, 8 s at most, with the normal force
    of the road in its middle: the mean from turning in to straightening up.
    """
    if not corners:
        raise EventError(
            "corners: nothing on this track counts as a corner (a radius below 400 m that turns by 10 deg); "
            "take another track, or look at its lap."
        )
    vector = pack(car)
    step = stable_step(vector[None])
    found = []
    for number, corner in enumerate(corners):
        event = corner_on_lap(profile, corners, number, pace=pace)
        parameters = all_under_gravity(vector[None], event.gravity)
        motion = event.motion(car, step)
        history = run_rig(parameters, motion)
        phases = phase_balance(parameters, history, motion, [car.name]).isel(setup=0, drop=True)
        phases = phases.drop_vars(AGAINST_FIRST)
        windows = [phase_window(motion, phase, history.outputs.shape[1]) for phase in motion.phases]
        inputs = motion.inputs[:: 2 * motion.store_every]
        reserve = _reserves(parameters, history, inputs, windows)
        extra = {
            "duration": [phase.end - phase.start for phase in motion.phases],
            "speed": [float(inputs[window, I.speed].mean()) for window in windows],
            "stability_reserve": reserve,
            "time_to_double": np.where(reserve > 0.0, np.log(2.0) / np.abs(reserve), np.nan),
        }
        phases = phases.assign(
            {
                name: ("phase", np.asarray(values), {"units": UNITS[name][0], "long_name": UNITS[name][1]})
                for name, values in extra.items()
            }
        )
        found.append(phases.reindex(phase=list(PHASES)).expand_dims(track_corner=[corner.corner]))
    import xarray as xr

    return xr.concat(found, dim="track_corner", combine_attrs="drop_conflicts")


def _reserves(parameters: Array, history: History, inputs: Array, windows: Sequence[slice]) -> Array:
    middles = np.array([(window.start + window.stop) // 2 for window in windows])
    return stability_reserve(
        np.repeat(parameters, middles.size, axis=0),
        history.states[0, middles],
        history.outputs[0, middles],
        inputs[middles],
    )


def corner_on_lap(
    profile: LapProfile, corners: Sequence[LapCorner], number: int, *, pace: Pace | None = None
) -> CornerOnLap:
    """Return what a lap does about a corner, from the slowest place of the one before to that of the next.

    Parameters
    ----------
    number : of the corner among `corners`, from 0.
    pace : how long the driver takes to press, release and steer.
    """
    closed, laps = profile.line.closed, profile.lap_time
    rounds = (-1, 0, 1) if closed else (0,)
    last = -1 if closed else None
    time = np.concatenate([profile.time[:last] + k * laps for k in rounds])

    def row(values: Array) -> Array:
        return np.tile(values[:last], len(rounds))

    def when(station: float) -> float:
        return float(np.interp(station, profile.line.station, profile.time))

    slowest = [when(one.slowest_at) for one in corners]
    here = slowest[number]
    others = [one + k * laps for k in rounds for one in slowest if one + k * laps != here]
    start = max([one for one in others if one < here] + [here - _LEAD])
    end = min([one for one in others if one > here] + [here + _TAIL])
    inside = np.flatnonzero((time >= start) & (time <= end))
    corner = corners[number]
    sideways, normal = row(profile.tyre_lateral)[inside], row(profile.tyre_normal)[inside]
    turning = np.abs(sideways) > 0.5 * np.abs(np.interp(here, time[inside], sideways))
    return CornerOnLap(
        name=f"corner {corner.corner}",
        time=time[inside],
        speed=row(profile.speed)[inside],
        curvature=row(profile.line.curvature)[inside],
        tyre_longitudinal=row(profile.tyre_longitudinal)[inside],
        tyre_lateral=sideways,
        start=here - (here - when(corner.start)) % laps,
        slowest=here,
        end=here + (when(corner.end) - here) % laps,
        pace=pace or Pace(),
        gravity=float(normal[turning].mean()) if turning.any() else float(normal.mean()),
    )
