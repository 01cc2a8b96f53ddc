"""Histories as labelled arrays with units, and as files."""

from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from fourpatch.errors import FileError
from fourpatch.events.braking_in_a_turn import TurnBraked
from fourpatch.events.drive import DriveRun
from fourpatch.events.drive_inputs import DriveRoad
from fourpatch.events.history_formats import refuse_other_formats
from fourpatch.events.lap import LapRun
from fourpatch.events.motion import Phase, RigMotion
from fourpatch.events.steady_circle import SteadyTurns
from fourpatch.physics.integrate import History
from fourpatch.physics.layout import (
    CORNER_BASE,
    FOUR_OUTPUTS,
    N_CORNER,
    N_POSITION,
    C,
    I,
    O,
    OutputSlots,
    X,
    Y,
)

if TYPE_CHECKING:
    import xarray as xr  # half a second to load, of which the app's first page needs nothing

Array = NDArray[np.float64]

CORNERS = ["FL", "FR", "RL", "RR"]

UNITS = {
    "tyre_load": ("N", "vertical load of the tyre on the road"),
    "elastic_force": ("N", "at the wheel: spring, stops, bar and heave spring"),
    "damper_force": ("N", "at the wheel, positive pushing body and wheel apart"),
    "jacking_force": ("N", "vertical force of the links on the body"),
    "travel": ("m", "wheel travel from static, bump positive"),
    "damper_speed": ("m/s", "at the damper, bump positive"),
    "inclination": ("rad", "of the wheel to the road, ISO 8855"),
    "lateral_force": ("N", "on the tyre, in the car's axes, left positive"),
    "longitudinal_force": ("N", "on the tyre, in the car's axes, forward positive"),
    "steer": ("rad", "of the wheel, toe and bump steer included, left positive"),
    "heave_acceleration": ("m/s**2", "of the sprung mass, up positive"),
    "roll_acceleration": ("rad/s**2", "left side up positive"),
    "pitch_acceleration": ("rad/s**2", "nose down positive"),
    "front_downforce": ("N", "at the front axle"),
    "rear_downforce": ("N", "at the rear axle"),
    "drag": ("N", "rearwards positive"),
    "front_ride_height": ("m", "underside over the road at the front axle"),
    "rear_ride_height": ("m", "underside over the road at the rear axle"),
    "longitudinal_acceleration": ("m/s**2", "of the whole car, forward positive"),
    "lateral_acceleration": ("m/s**2", "of the whole car, left positive"),
    "front_drive_force": ("N", "through the front half shafts, at the ground"),
    "rear_drive_force": ("N", "through the rear half shafts, at the ground"),
    "heave": ("m", "sprung centre of gravity above its static place"),
    "roll": ("rad", "left side up positive"),
    "pitch": ("rad", "nose down positive"),
    "wheel_height": ("m", "wheel above its static place"),
    "road_height": ("m", "of the road under the wheel, contact-length filtered"),
    "speed": ("m/s", "of the car along its path"),
    "path_curvature": ("1/m", "left positive"),
    "distance": (
        "m",
        "of the centre of gravity along the road; the front wheels start at 0, on a lap the start line is 0",
    ),
    "offset": ("m", "of the centre of gravity from the line it started on or follows, left positive"),
    "heading": ("rad", "from the direction it started in or of the line it follows, left positive"),
    "forward_velocity": ("m/s", "of the centre of gravity, in the car's axes"),
    "lateral_velocity": ("m/s", "of the centre of gravity, in the car's axes, left positive"),
    "yaw_rate": ("rad/s", "left positive"),
    "sideslip": ("rad", "of the centre of gravity, ISO 8855"),
    "wheel_speed": ("rad/s", "of the wheel about its axis, rolling forward positive"),
    "slip": ("1", "longitudinal, lagged by relaxation, positive in drive"),
    "slip_angle": ("rad", "lagged by relaxation, ISO 8855"),
    "road_wheel_angle": ("rad", "mean of the front wheels by the steering, left positive"),
    "throttle": ("1", "0 closed to 1 open"),
    "brake": ("1", "0 free to 1 full pedal"),
}
"""Unit and meaning of every variable of a history."""


def rig_dataset(history: History, motion: RigMotion, setups: Sequence[str]) -> "xr.Dataset":
    """Label a rig history.

    Returns
    -------
    Dataset
        Dimensions ``setup``, ``time`` [s] and, where four, ``corner`` (FL, FR, RL, RR); the prescribed
        motion has no ``setup``. Coordinate ``phase`` names the part of the event at each time. Units are
        in each variable's attributes.
    """
    samples = history.outputs.shape[1]
    time = np.arange(samples, dtype=np.float64) * (motion.step * motion.store_every)
    inputs = motion.inputs[:: 2 * motion.store_every][:samples]
    variables = _shared_variables(history)
    variables["road_height"] = (("time", "corner"), inputs[:, I.road : I.road + 4])
    variables["speed"] = (("time",), inputs[:, I.speed])
    variables["path_curvature"] = (("time",), inputs[:, I.path_curvature])
    return _labelled(variables, time, setups, motion.phases, event=motion.name, computed_on="rig")


def drive_dataset(run: DriveRun, setups: Sequence[str]) -> "xr.Dataset":
    """Label a drive; dimensions and coordinates are those of `rig_dataset`."""
    states, time = run.history.states, run.time
    variables = _shared_variables(run.history)
    for name, slot in (("distance", X.distance), ("offset", X.offset), ("heading", X.heading)):
        variables[name] = (_CAR, states[:, :, slot])
    variables |= _driven_variables(run.history)
    variables["road_height"] = (
        _CORNER,
        _road_under(states[:, :, X.distance], run.driven.parameters, run.road),
    )
    variables["road_wheel_angle"] = (_CAR, run.steer)
    variables["throttle"] = (_CAR, run.throttle)
    variables["brake"] = (("time",), run.control(run.controls.brake))
    return _labelled(
        variables, time, setups, run.controls.phases, event=run.controls.name, computed_on="drive"
    )


def lap_dataset(run: LapRun, car: int, road: DriveRoad, setup: str) -> "xr.Dataset":
    """Label a driven lap; dimensions and coordinates are those of `rig_dataset`.

    Parameters
    ----------
    car : which of the run.
    road : it was driven on.

    Notes
    -----
    Time and distance are 0 at the start line, and below 0 in the run-up to it.
    """
    rows = np.flatnonzero(np.isfinite(run.history.states[car, :, X.distance]))
    part = slice(0, int(rows[-1]) + 1)
    history = History(
        run.history.states[car : car + 1, part],
        run.history.rates[car : car + 1, part],
        run.history.outputs[car : car + 1, part],
        run.history.failed[car : car + 1],
    )
    distance = history.states[:, :, X.distance]
    before = run.line.length if run.line.closed else 0.0
    begun, ended = (
        float(np.interp(at, distance[0], run.time[part])) for at in (before, before + run.line.length)
    )
    variables = _shared_variables(history)
    variables["distance"] = (_CAR, distance - before)
    for name, slot in (("offset", X.offset), ("heading", X.heading)):
        variables[name] = (_CAR, history.states[:, :, slot])
    variables |= _driven_variables(history)
    variables["road_height"] = (_CORNER, _road_under(distance, run.driven.parameters[car : car + 1], road))
    for place, name in enumerate(("road_wheel_angle", "throttle", "brake")):
        variables[name] = (_CAR, run.hands[car : car + 1, part, place])
    end = run.time[part][-1] - begun + run.interval
    phases = [
        Phase("run-up", -begun, 0.0),
        Phase("lap", 0.0, ended - begun),
        Phase("run-out", ended - begun, end),
    ]
    return _labelled(variables, run.time[part] - begun, [setup], phases, event="lap", computed_on="drive")


def steady_dataset(turns: SteadyTurns, setup: str) -> "xr.Dataset":
    """Label steady turns.

    Returns
    -------
    Dataset
        Dimensions ``setup`` (one), ``lateral_acceleration`` [m/s^2] in the place of time, and, where four,
        ``corner``; variables of a drive but for those of place, and what the driver holds.
    """
    variables = _shared_variables(turns.history) | _driven_variables(turns.history)
    variables["road_wheel_angle"] = (_CAR, turns.start.steer[None])
    variables["throttle"] = (_CAR, turns.start.throttle[None])
    variables["path_curvature"] = (_CAR, turns.curvature[None])
    del variables["lateral_acceleration"]
    import xarray as xr

    return xr.Dataset(
        {
            name: (
                tuple("lateral_acceleration" if dim == "time" else dim for dim in dims),
                values,
                _attributes(name),
            )
            for name, (dims, values) in variables.items()
        },
        coords={
            "setup": [setup],
            "lateral_acceleration": (
                "lateral_acceleration",
                turns.lateral_acceleration,
                _attributes("lateral_acceleration"),
            ),
            "corner": CORNERS,
        },
        attrs={"event": turns.event.name, "computed_on": "drive", "axes": "ISO 8855"},
    )


def turn_braked_dataset(braked: TurnBraked, setup: str) -> "xr.Dataset":
    """Label the histories of a braking in a turn, one after another; the brake force follows the set-up."""
    found = [
        drive_dataset(run, [f"{setup}, brakes {force:.1f} m/s²"])
        for force, run in zip(braked.asked, braked.runs, strict=True)
    ]
    import xarray as xr

    return xr.concat(found, dim="setup", data_vars="all", coords="minimal", compat="equals", join="exact")


_CAR = ("setup", "time")
_CORNER = ("setup", "time", "corner")

Variables = dict[str, tuple[tuple[str, ...], Array]]


def _shared_variables(history: History) -> Variables:
    """Return what both ways of driving the car report."""
    variables: Variables = {}
    for name, slot in zip(OutputSlots._fields, O, strict=True):
        if name in FOUR_OUTPUTS:
            variables[name] = (_CORNER, history.outputs[:, :, slot : slot + 4])
        else:
            variables[name] = (_CAR, history.outputs[:, :, slot])
    for name, slot in (("heave", Y.heave), ("roll", Y.roll), ("pitch", Y.pitch)):
        variables[name] = (_CAR, history.states[:, :, slot])
    variables["wheel_height"] = (_CORNER, history.states[:, :, Y.wheel : N_POSITION])
    return variables


def _driven_variables(history: History) -> Variables:
    """Return what the drive reports beside: planar motion and the wheels' spins and slips."""
    states = history.states
    forward, lateral = states[:, :, X.forward_velocity], states[:, :, X.lateral_velocity]
    return {
        "forward_velocity": (_CAR, forward),
        "lateral_velocity": (_CAR, lateral),
        "yaw_rate": (_CAR, states[:, :, X.yaw_rate]),
        "speed": (_CAR, np.hypot(forward, lateral)),
        "sideslip": (_CAR, np.arctan2(lateral, forward)),
        "wheel_speed": (_CORNER, states[:, :, X.spin : X.spin + 4]),
        "slip": (_CORNER, states[:, :, X.slip : X.slip + 4]),
        "slip_angle": (_CORNER, np.arctan(states[:, :, X.slip_angle : X.slip_angle + 4])),
    }


def _road_under(distance: Array, parameters: Array, road: DriveRoad) -> Array:
    """Return the road's height under each wheel, (cars, instants, 4). [m]"""
    heights = []
    for corner in range(4):
        ahead = parameters[:, CORNER_BASE + corner * N_CORNER + C.planar_x]
        heights.append(road.height_under(distance + ahead[:, None], corner))
    return np.stack(heights, axis=-1)


def _labelled(
    variables: Variables,
    time: Array,
    setups: Sequence[str],
    phases: Sequence[Phase],
    *,
    event: str,
    computed_on: str,
) -> "xr.Dataset":
    import xarray as xr

    return xr.Dataset(
        {name: (dims, values, _attributes(name)) for name, (dims, values) in variables.items()},
        coords={
            "setup": list(setups),
            "time": ("time", time, {"units": "s"}),
            "corner": CORNERS,
            "phase": ("time", _phase_names(time, phases)),
        },
        # Not "mode": the NetCDF writer keeps attributes beside its own, and has one of that name.
        attrs={
            "event": event,
            "computed_on": computed_on,
            "axes": "ISO 8855",
            "interval": float(time[1] - time[0]),  # [s]
        },
    )


def _attributes(name: str) -> dict[str, str]:
    unit, meaning = UNITS[name]
    return {"units": unit, "long_name": meaning}


def _phase_names(time: Array, phases: Sequence[Phase]) -> NDArray[np.str_]:
    names = np.full(time.size, "", dtype="<U24")
    for phase in phases:
        names[(time >= phase.start - 1e-9) & (time < phase.end - 1e-9)] = phase.name
    return names


def write_history(dataset: "xr.Dataset", path: Path) -> None:
    """Write a history: CSV by a name ending in .csv, NetCDF by one ending in .nc.

    Raises
    ------
    FileError
        If the ending is another one or the file cannot be written.

    Notes
    -----
    CSV: one row per set-up and time; the unit stands in each column's name, corners in its end.
    """
    refuse_other_formats(path)
    try:
        if path.suffix == ".nc":
            dataset.to_netcdf(path, engine="scipy")
        else:
            _write_csv(dataset, path)
    except OSError as error:
        raise FileError(f"{path}: cannot be written ({error.strerror}); choose another place.") from None


def _write_csv(dataset: "xr.Dataset", path: Path) -> None:
    along = "time" if "time" in dataset.dims else "lateral_acceleration"
    columns: dict[str, Array] = {}
    setups, rows = dataset.sizes["setup"], dataset.sizes[along]
    for name in map(str, dataset.data_vars):
        variable = dataset[name]
        full = variable.expand_dims(setup=dataset.setup) if "setup" not in variable.dims else variable
        unit = f" [{variable.attrs['units']}]"
        several = [str(dim) for dim in variable.dims if dim not in ("setup", along)]
        values = full.transpose("setup", along, *several).values.reshape(setups * rows, -1)
        labels = dataset[several[0]].values if several else [""]
        for k, label in enumerate(labels):
            columns[f"{name} {label}".rstrip() + unit] = values[:, k]
    heads = {"setup": _quoted(np.repeat(dataset.setup.values.astype(str), rows))}
    if "phase" in dataset.coords:
        heads["phase"] = _quoted(np.tile(dataset.phase.values.astype(str), setups))
    table = np.column_stack([np.tile(dataset[along].values, setups), *columns.values()])
    first = f"{along} [{dataset[along].attrs['units']}]"
    with path.open("w", encoding="utf-8", newline="\n") as file:
        file.write(",".join(f'"{name}"' for name in (*heads, first, *columns)) + "\n")
        for *words, row in zip(*heads.values(), table, strict=True):
            file.write(",".join([*words, *(f"{value:.9g}" for value in row)]) + "\n")


def _quoted(words: NDArray[np.str_]) -> list[str]:
    return [f'"{word.replace(chr(34), chr(34) * 2)}"' for word in words]
