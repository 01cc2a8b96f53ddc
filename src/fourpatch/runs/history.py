"""Computed histories with names and units: as runs, as labelled arrays, and as files.

The only place above the physics where a slot of the engine gets its name.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from fourpatch.document.saving import whole_file
from fourpatch.errors import FileError
from fourpatch.events.braking_in_a_turn import TurnBraked
from fourpatch.events.drive import DriveRun
from fourpatch.events.drive_inputs import DriveRoad
from fourpatch.events.lap import LapRun
from fourpatch.events.motion import RigMotion
from fourpatch.events.phase import Phase
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
from fourpatch.runs.channels import CHANNELS, WHEELS
from fourpatch.runs.history_formats import refuse_other_formats
from fourpatch.runs.run import Channel, Run, Source
from fourpatch.track.line import Line

if TYPE_CHECKING:
    import xarray as xr  # half a second to load, of which the app's first page needs nothing

Array = NDArray[np.float64]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _Named:
    """A history with its names: of several cars that went through the same at the same times."""

    event: str
    computed_on: Source
    time: Array
    """(n,). [s]"""
    phases: Sequence[Phase]
    variables: "Variables"


def rig_runs(history: History, motion: RigMotion, setups: Sequence[str]) -> tuple[Run, ...]:
    """Return the run of each car of a rig history.

    Parameters
    ----------
    setups : name of each car's set-up.
    """
    return _runs(_rig_named(history, motion), setups)


def rig_dataset(history: History, motion: RigMotion, setups: Sequence[str]) -> "xr.Dataset":
    """Label a rig history.

    Returns
    -------
    Dataset
        Dimensions ``setup``, ``time`` [s] and, where four, ``corner`` (FL, FR, RL, RR); the prescribed
        motion has no ``setup``. Coordinate ``phase`` names the part of the event at each time. Units are
        in each variable's attributes.
    """
    return _labelled(_rig_named(history, motion), setups)


def _rig_named(history: History, motion: RigMotion) -> _Named:
    samples = history.outputs.shape[1]
    time = np.arange(samples, dtype=np.float64) * (motion.step * motion.store_every)
    inputs = motion.inputs[:: 2 * motion.store_every][:samples]
    variables = _shared_variables(history)
    variables["road_height"] = (("time", "corner"), inputs[:, I.road : I.road + 4])
    variables["speed"] = (("time",), inputs[:, I.speed])
    variables["path_curvature"] = (("time",), inputs[:, I.path_curvature])
    return _Named(event=motion.name, computed_on="rig", time=time, phases=motion.phases, variables=variables)


def drive_dataset(run: DriveRun, setups: Sequence[str]) -> "xr.Dataset":
    """Label a drive; dimensions and coordinates are those of `rig_dataset`."""
    return _labelled(_drive_named(run), setups)


def _drive_named(run: DriveRun) -> _Named:
    states = run.history.states
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
    return _Named(
        event=run.controls.name,
        computed_on="drive",
        time=run.time,
        phases=run.controls.phases,
        variables=variables,
    )


def lap_run(run: LapRun, car: int, road: DriveRoad, setup: str) -> Run:
    """Return the run of one car of a driven lap; parameters and clock as `lap_dataset`."""
    return _runs(_lap_named(run, car, road), [setup])[0]


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
    return _labelled(_lap_named(run, car, road), [setup])


def _lap_named(run: LapRun, car: int, road: DriveRoad) -> _Named:
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
    variables |= _placed(run.line, distance - before, history.states[:, :, X.offset])
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
    return _Named(
        event="lap", computed_on="drive", time=run.time[part] - begun, phases=phases, variables=variables
    )


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
            "corner": list(WHEELS),
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
            values = history.outputs[:, :, slot : slot + 4]
            variables[name] = (_CORNER, np.arctan(values) if name == "slip_angle" else values)
        else:
            variables[name] = (_CAR, history.outputs[:, :, slot])
    for name, slot in (("heave", Y.heave), ("roll", Y.roll), ("pitch", Y.pitch)):
        variables[name] = (_CAR, history.states[:, :, slot])
    variables["wheel_height"] = (_CORNER, history.states[:, :, Y.wheel : N_POSITION])
    return variables


def _driven_variables(history: History) -> Variables:
    """Return what the drive reports beside: planar motion and the wheels' spins."""
    states = history.states
    forward, lateral = states[:, :, X.forward_velocity], states[:, :, X.lateral_velocity]
    return {
        "forward_velocity": (_CAR, forward),
        "lateral_velocity": (_CAR, lateral),
        "yaw_rate": (_CAR, states[:, :, X.yaw_rate]),
        "speed": (_CAR, np.hypot(forward, lateral)),
        "sideslip": (_CAR, np.arctan2(lateral, forward)),
        "wheel_speed": (_CORNER, states[:, :, X.spin : X.spin + 4]),
    }


def _road_under(distance: Array, parameters: Array, road: DriveRoad) -> Array:
    """Return the road's height under each wheel, (cars, instants, 4). [m]"""
    heights = []
    for corner in range(4):
        ahead = parameters[:, CORNER_BASE + corner * N_CORNER + C.planar_x]
        heights.append(road.height_under(distance + ahead[:, None], corner))
    return np.stack(heights, axis=-1)


def _placed(line: Line, distance: Array, offset: Array) -> "Variables":
    """Return where a car is in the plane, from its place along a line and beside it."""
    along = np.mod(distance, line.length) if line.closed else np.clip(distance, 0.0, line.length)
    x, y, heading = (np.interp(along, line.distance, row) for row in (line.x, line.y, line.heading))
    return {
        "position_x": (_CAR, x - offset * np.sin(heading)),
        "position_y": (_CAR, y + offset * np.cos(heading)),
    }


def _runs(named: _Named, setups: Sequence[str]) -> tuple[Run, ...]:
    return tuple(
        Run(
            name=named.event,
            source=named.computed_on,
            setup=setup,
            channels={
                name: Channel(
                    name=name, time=named.time, values=values[place] if dims[0] == "setup" else values
                )
                for name, (dims, values) in named.variables.items()
            },
            phases=tuple(named.phases),
        )
        for place, setup in enumerate(setups)
    )


def _labelled(named: _Named, setups: Sequence[str]) -> "xr.Dataset":
    import xarray as xr

    time = named.time
    return xr.Dataset(
        {name: (dims, values, _attributes(name)) for name, (dims, values) in named.variables.items()},
        coords={
            "setup": list(setups),
            "time": ("time", time, {"units": "s"}),
            "corner": list(WHEELS),
            "phase": ("time", _phase_names(time, named.phases)),
        },
        # Not "mode": the NetCDF writer keeps attributes beside its own, and has one of that name.
        attrs={
            "event": named.event,
            "computed_on": named.computed_on,
            "axes": "ISO 8855",
            "interval": float(time[1] - time[0]),  # [s]
        },
    )


def _attributes(name: str) -> dict[str, str]:
    unit, meaning = CHANNELS[name]
    return {"units": unit, "long_name": meaning}


def _phase_names(time: Array, phases: Sequence[Phase]) -> NDArray[np.str_]:
    names = np.full(time.size, "", dtype="<U24")
    for phase in phases:
        names[(time >= phase.start - 1e-9) & (time < phase.end - 1e-9)] = phase.name
    return names


def write_history(dataset: "xr.Dataset", path: Path) -> None:
    """Write a history, whole or not at all: CSV by a name ending in .csv, NetCDF by one ending in .nc.

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
        with whole_file(path) as unfinished:
            if path.suffix == ".nc":
                unfinished.write_bytes(dataset.to_netcdf(engine="scipy"))
            else:
                _write_csv(dataset, unfinished)
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
