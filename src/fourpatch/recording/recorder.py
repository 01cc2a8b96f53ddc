"""A recorder of our own: what sensors of stated quality would have recorded of a computed run.

It proves the reader, for which the truth is then known, and makes the demo's invented recordings. A sensor
sits at the centre of gravity and moves with it; what a real one adds by sitting elsewhere is left out.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Final

import numpy as np

from fourpatch.car.car import Car
from fourpatch.document.saving import refuse_unwritable
from fourpatch.errors import RecordingError
from fourpatch.events.phase import Phase
from fourpatch.recording.raw import Array, RawColumn, RawRecording
from fourpatch.recording.signals import EARTH_RADIUS
from fourpatch.recording.written_units import STANDARD_GRAVITY, scale_of
from fourpatch.runs.channels import CHANNELS, OF_WHEELS, WHEELS
from fourpatch.runs.run import Channel, Run

INVENTED_PLACE: Final = (np.deg2rad(12.0), np.deg2rad(-34.0))
"""Latitude and longitude of the origin of an invented track: open sea. [rad]"""


@dataclass(frozen=True, slots=True, kw_only=True)
class Sensor:
    """One column of a recording, and how well it is measured."""

    channel: str
    """What it measures."""
    name: str
    """Of its column; of a channel of wheels the wheel is put behind it."""
    unit: str
    """Of its numbers."""
    rate: float = 100.0
    """Values per second. [1/s]"""
    noise: float = 0.0
    """One standard deviation, white. SI"""
    bias: float = 0.0
    """Added to all. SI"""
    delay: float = 0.0
    """By which it is late. [s]"""
    drop_out: float = 0.0
    """Share of values that are lost, in stretches of a tenth of a second."""
    full_scale: float = float("inf")
    """Beyond which it reads no more, either way. SI"""
    resolution: float = 0.0
    """Of the last digit; 0 for none. In the column's unit."""
    reversed: bool = False
    """Whether it counts the other way."""


def usual_sensors() -> tuple[Sensor, ...]:
    """Return what a club racer's car may carry; qualities are from memory, of no certain make."""
    acceleration = {"unit": "g", "noise": 0.3, "resolution": 1e-4}
    return (
        Sensor(channel="speed", name="Speed", unit="km/h", rate=20.0, noise=0.05, resolution=0.01),
        Sensor(channel="longitudinal_acceleration", name="Acc long", **acceleration),  # type: ignore[arg-type]
        Sensor(channel="lateral_acceleration", name="Acc lat", **acceleration),  # type: ignore[arg-type]
        Sensor(channel="vertical_acceleration", name="Acc vert", **acceleration),  # type: ignore[arg-type]
        Sensor(channel="yaw_rate", name="Yaw rate", unit="deg/s", noise=0.005, bias=0.003, resolution=0.01),
        Sensor(
            channel="steering_wheel_angle", name="Steering angle", unit="deg", noise=0.004, resolution=0.1
        ),
        Sensor(channel="throttle", name="Throttle", unit="%", rate=50.0, noise=0.002, resolution=0.1),
        Sensor(channel="brake", name="Brake", unit="%", rate=50.0, noise=0.002, resolution=0.1),
        Sensor(channel="rolling_speed", name="Wheel speed", unit="km/h", noise=0.05, resolution=0.01),
        Sensor(channel="damper_travel", name="Damper", unit="mm", rate=200.0, noise=1e-4, resolution=0.01),
        Sensor(channel="latitude", name="Latitude", unit="deg", rate=20.0, noise=3e-8, resolution=1e-8),
        Sensor(channel="longitude", name="Longitude", unit="deg", rate=20.0, noise=3e-8, resolution=1e-8),
    )


def sensed(run: Run, car: Car) -> Run:
    """Add to a driven run what sensors measure and the engine does not name.

    Parameters
    ----------
    car : as it stands, that was driven.

    Notes
    -----
    Steering and dampers by the ratios at the static position, tread speeds by the radius of the tyre.
    """
    axles = (car.front, car.front, car.rear, car.rear)
    ratios = np.array([one.geometry.damper_motion_ratio.value for one in axles])
    radii = np.array([one.tyre.radius for one in axles])
    time = run["speed"].time
    x, y = (run[name].values if name in run else np.zeros(time.size) for name in ("position_x", "position_y"))
    latitude = INVENTED_PLACE[0] + y / EARTH_RADIUS
    rows: dict[str, Array] = {
        "steering_wheel_angle": run["road_wheel_angle"].values * car.steering.ratio,
        "vertical_acceleration": run["heave_acceleration"].values + STANDARD_GRAVITY,
        "rolling_speed": run["wheel_speed"].values * radii,
        "damper_travel": run["travel"].values * ratios,
        "latitude": latitude,
        "longitude": INVENTED_PLACE[1] + x / (EARTH_RADIUS * np.cos(INVENTED_PLACE[0])),
    }
    return run.with_channels(*(Channel(name=name, time=time, values=row) for name, row in rows.items()))


def joined(laps: Sequence[Run]) -> Run:
    """Return laps driven one by one as if one had followed the other.

    Parameters
    ----------
    laps : runs with a phase "lap" from start line to start line.

    Notes
    -----
    Each lap begins as its own run-up left it, so speed and place may jump at the line by what laps differ.
    """
    parts, begin, phases = [], 0.0, []
    for number, lap in enumerate(laps, start=1):
        phase = next((one for one in lap.phases if one.name == "lap"), None)
        if phase is None:
            raise RecordingError(f"{lap.name}: has no lap. Give runs round a track.")
        part = lap.between(phase.start, phase.end - 1e-6)
        parts.append((part, begin - phase.start))
        phases.append(Phase(f"lap {number}", begin, begin + phase.end - phase.start))
        begin = phases[-1].end
    channels = {}
    for name in parts[0][0].channels:
        if all(name in part for part, _ in parts):
            time = np.concatenate([part[name].time + shift for part, shift in parts])
            values = np.concatenate([part[name].values for part, _ in parts])
            channels[name] = Channel(name=name, time=time, values=values)
    first = laps[0]
    return Run(
        name=first.name, source=first.source, setup=first.setup, channels=channels, phases=tuple(phases)
    )


def record(run: Run, sensors: Sequence[Sensor], *, seed: int) -> RawRecording:
    """Record a run.

    Parameters
    ----------
    sensors : columns; those whose channel the run has not are left out.
    seed : the same one draws the same noise, whatever other sensors there are.

    Returns
    -------
    RawRecording
        One clock for each rate, beginning at 0.
    """
    rates = sorted({one.rate for one in sensors if one.channel in run}, reverse=True)
    if not rates:
        raise RecordingError("recorder: none of the sensors' channels is in the run. Choose others.")
    some = run.channels[next(one.channel for one in sensors if one.channel in run)].time
    clocks = [np.arange(some[0], some[-1], 1.0 / rate) for rate in rates]
    columns = []
    for place, one in enumerate(sensors):
        if one.channel not in run:
            continue
        clock = clocks[rates.index(one.rate)]
        rows = run[one.channel].at(np.maximum(clock - one.delay, some[0])).reshape(clock.size, -1).T
        for wheel, row in enumerate(rows):
            draw = np.random.default_rng([seed, place, wheel])
            name = f"{one.name} {WHEELS[wheel]}" if one.channel in OF_WHEELS else one.name
            columns.append(
                RawColumn(
                    name=name, unit=one.unit, values=_measured(one, row, draw), clock=rates.index(one.rate)
                )
            )
    return RawRecording(
        name=run.name,
        format="MDF 4",
        columns=tuple(columns),
        clocks=tuple(clock - some[0] for clock in clocks),
    )


def _measured(one: Sensor, row: Array, draw: np.random.Generator) -> Array:
    """Return what a sensor makes of a row [SI], in its own unit."""
    read = row + one.bias + one.noise * draw.standard_normal(row.size)
    read = np.clip(read, -one.full_scale, one.full_scale)
    scale = scale_of(one.unit, CHANNELS[one.channel].unit)
    if scale is None:
        raise RecordingError(f'recorder: "{one.unit}" does not measure {one.channel}. Give another unit.')
    read = ((-read if one.reversed else read) - scale[1]) / scale[0]
    if one.resolution > 0.0:
        read = np.round(read / one.resolution) * one.resolution
    stretch = max(round(0.1 * one.rate), 1)
    lost = np.repeat(draw.random(row.size // stretch + 1) < one.drop_out, stretch)[: row.size]
    return np.where(lost, np.nan, read)


ENDINGS: Final = (".csv", ".parquet", ".mf4")


def refuse_other_endings(path: Path) -> None:
    """Refuse a file that no recording is written as, or that cannot be written.

    Raises
    ------
    RecordingError, FileError
    """
    if path.suffix not in ENDINGS:
        raise RecordingError(
            f'{path}: a recording is written as .csv, .parquet or .mf4, not "{path.suffix}"; change the '
            "ending of the name."
        )
    refuse_unwritable(path)


def write_recording(raw: RawRecording, path: Path) -> None:
    """Write a recording as CSV (.csv), Parquet (.parquet) or MDF 4 (.mf4), by the ending of its name.

    Raises
    ------
    RecordingError, FileError
        If the ending is another one, or it cannot be written.

    Notes
    -----
    CSV and Parquet have one clock, the fastest: what comes more slowly stands in every so many rows, between
    which cells are empty. MDF keeps each clock.
    """
    refuse_other_endings(path)
    writers = {".csv": _write_csv, ".parquet": _write_parquet, ".mf4": _write_mdf}
    try:
        writers[path.suffix](raw, path)
    except OSError as error:
        raise RecordingError(f"{path}: cannot be written ({error.strerror}); choose another place.") from None


def _on_one_clock(raw: RawRecording) -> tuple[Array, dict[str, Array]]:
    clocks = [clock for clock in raw.clocks if clock is not None]
    fastest = max(clocks, key=lambda clock: clock.size)
    rows = {}
    for one in raw.columns:
        clock = clocks[one.clock]
        if clock is fastest:
            rows[f"{one.name} [{one.unit}]"] = one.values
            continue
        place = np.searchsorted(fastest, clock - 1e-9)
        inside = place < fastest.size
        row = np.full(fastest.size, np.nan)
        row[place[inside]] = one.values[inside]
        rows[f"{one.name} [{one.unit}]"] = row
    return fastest, rows


def _write_csv(raw: RawRecording, path: Path) -> None:
    time, rows = _on_one_clock(raw)
    with path.open("w", encoding="utf-8", newline="\n") as file:
        file.write(",".join(["Time [s]", *rows]) + "\n")
        for at, row in zip(time.tolist(), np.column_stack(list(rows.values())).tolist(), strict=True):
            file.write(f"{at:.4f}," + ",".join("" if one != one else f"{one:.10g}" for one in row) + "\n")


def _write_parquet(raw: RawRecording, path: Path) -> None:
    import pyarrow as pa
    import pyarrow.parquet as pq

    time, rows = _on_one_clock(raw)
    pq.write_table(pa.table({"Time [s]": time, **rows}), path, compression="zstd")


def _write_mdf(raw: RawRecording, path: Path) -> None:
    try:
        from asammdf import MDF, Signal
    except ImportError:
        raise RecordingError(
            f"{path}: to write ASAM MDF, the library asammdf is needed: pip install fourpatch[mdf]. Or "
            "choose another ending."
        ) from None
    file = MDF(version="4.10")
    for number, clock in enumerate(raw.clocks):
        signals = [
            Signal(samples=one.values, timestamps=np.asarray(clock), name=one.name, unit=one.unit)
            for one in raw.columns
            if one.clock == number
        ]
        if signals:
            file.append(signals, comment="invented")
    file.save(path, overwrite=True)
    file.close()
