"""Histories as labelled arrays with units, and as files."""

from collections.abc import Sequence
from pathlib import Path

import numpy as np
import xarray as xr
from numpy.typing import NDArray

from fourpatch.errors import FileError
from fourpatch.events.drive import DriveRun
from fourpatch.events.motion import Phase, RigMotion
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
    "heave_acceleration": ("m/s^2", "of the sprung mass, up positive"),
    "roll_acceleration": ("rad/s^2", "left side up positive"),
    "pitch_acceleration": ("rad/s^2", "nose down positive"),
    "front_downforce": ("N", "at the front axle"),
    "rear_downforce": ("N", "at the rear axle"),
    "drag": ("N", "rearwards positive"),
    "front_ride_height": ("m", "underside over the road at the front axle"),
    "rear_ride_height": ("m", "underside over the road at the rear axle"),
    "longitudinal_acceleration": ("m/s^2", "of the whole car, forward positive"),
    "lateral_acceleration": ("m/s^2", "of the whole car, left positive"),
    "front_drive_force": ("N", "through the front half shafts, at the ground"),
    "rear_drive_force": ("N", "through the rear half shafts, at the ground"),
    "heave": ("m", "sprung centre of gravity above its static place"),
    "roll": ("rad", "left side up positive"),
    "pitch": ("rad", "nose down positive"),
    "wheel_height": ("m", "wheel above its static place"),
    "road_height": ("m", "of the road under the wheel, contact-length filtered"),
    "speed": ("m/s", "of the car along its path"),
    "path_curvature": ("1/m", "left positive"),
    "distance": ("m", "of the centre of gravity along the road; the front wheels start at 0"),
    "offset": ("m", "of the centre of gravity from the line it started on, left positive"),
    "heading": ("rad", "from the direction it started in, left positive"),
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


def rig_dataset(history: History, motion: RigMotion, setups: Sequence[str]) -> xr.Dataset:
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


def drive_dataset(run: DriveRun, setups: Sequence[str]) -> xr.Dataset:
    """Label a drive; dimensions and coordinates are those of `rig_dataset`."""
    states, time = run.history.states, run.time
    variables = _shared_variables(run.history)
    for name, slot in zip(
        ("distance", "offset", "heading", "forward_velocity", "lateral_velocity", "yaw_rate"), X, strict=False
    ):
        variables[name] = (_CAR, states[:, :, slot])
    forward, lateral = states[:, :, X.forward_velocity], states[:, :, X.lateral_velocity]
    variables["speed"] = (_CAR, np.hypot(forward, lateral))
    variables["sideslip"] = (_CAR, np.arctan2(lateral, forward))
    variables["wheel_speed"] = (_CORNER, states[:, :, X.spin : X.spin + 4])
    variables["slip"] = (_CORNER, states[:, :, X.slip : X.slip + 4])
    variables["slip_angle"] = (_CORNER, np.arctan(states[:, :, X.slip_angle : X.slip_angle + 4]))
    variables["road_height"] = (_CORNER, _road_under(run))
    variables["road_wheel_angle"] = (_CAR, run.steer)
    variables["throttle"] = (_CAR, run.throttle)
    variables["brake"] = (("time",), run.control(run.controls.brake))
    return _labelled(
        variables, time, setups, run.controls.phases, event=run.controls.name, computed_on="drive"
    )


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


def _road_under(run: DriveRun) -> Array:
    """Return the road's height under each wheel, (cars, instants, 4). [m]"""
    distance = run.history.states[:, :, X.distance]
    heights = []
    for corner in range(4):
        ahead = run.driven.parameters[:, CORNER_BASE + corner * N_CORNER + C.planar_x]
        heights.append(run.road.height_under(distance + ahead[:, None], corner))
    return np.stack(heights, axis=-1)


def _labelled(
    variables: Variables,
    time: Array,
    setups: Sequence[str],
    phases: Sequence[Phase],
    *,
    event: str,
    computed_on: str,
) -> xr.Dataset:
    return xr.Dataset(
        {name: (dims, values, _attributes(name)) for name, (dims, values) in variables.items()},
        coords={
            "setup": list(setups),
            "time": ("time", time, {"units": "s"}),
            "corner": CORNERS,
            "phase": ("time", _phase_names(time, phases)),
        },
        # Not "mode": the NetCDF writer keeps attributes beside its own, and has one of that name.
        attrs={"event": event, "computed_on": computed_on, "axes": "ISO 8855"},
    )


def _attributes(name: str) -> dict[str, str]:
    unit, meaning = UNITS[name]
    return {"units": unit, "long_name": meaning}


def _phase_names(time: Array, phases: Sequence[Phase]) -> NDArray[np.str_]:
    names = np.full(time.size, "", dtype="<U24")
    for phase in phases:
        names[(time >= phase.start - 1e-9) & (time < phase.end - 1e-9)] = phase.name
    return names


def write_history(dataset: xr.Dataset, path: Path) -> None:
    """Write a history: CSV by a name ending in .csv, NetCDF by one ending in .nc.

    Raises
    ------
    FileError
        If the ending is another one or the file cannot be written.

    Notes
    -----
    CSV: one row per set-up and time; the unit stands in each column's name, corners in its end.
    """
    try:
        if path.suffix == ".nc":
            dataset.to_netcdf(path, engine="scipy")
        elif path.suffix == ".csv":
            _write_csv(dataset, path)
        else:
            raise FileError(
                f'{path}: a history is written as .csv or .nc, not "{path.suffix}"; '
                "change the ending of the name."
            )
    except OSError as error:
        raise FileError(f"{path}: cannot be written ({error.strerror}); choose another place.") from None


def _write_csv(dataset: xr.Dataset, path: Path) -> None:
    columns: dict[str, Array] = {}
    setups, times = dataset.sizes["setup"], dataset.sizes["time"]
    for name in map(str, dataset.data_vars):
        variable = dataset[name]
        full = variable.expand_dims(setup=dataset.setup) if "setup" not in variable.dims else variable
        unit = f" [{variable.attrs['units']}]"
        if "corner" in variable.dims:
            values = full.transpose("setup", "time", "corner").values.reshape(setups * times, 4)
            columns |= {f"{name} {corner}{unit}": values[:, k] for k, corner in enumerate(CORNERS)}
        else:
            columns[name + unit] = full.transpose("setup", "time").values.reshape(-1)
    labels = np.repeat(dataset.setup.values.astype(str), times)
    phases = np.tile(dataset.phase.values.astype(str), setups)
    time = np.tile(dataset.time.values, setups)
    with path.open("w", encoding="utf-8", newline="\n") as file:
        file.write(",".join(['"setup"', '"phase"', '"time [s]"', *(f'"{name}"' for name in columns)]) + "\n")
        table = np.column_stack([time, *columns.values()])
        for label, phase, row in zip(labels, phases, table, strict=True):
            escaped = label.replace('"', '""')
            file.write(f'"{escaped}","{phase}",' + ",".join(f"{value:.9g}" for value in row) + "\n")
