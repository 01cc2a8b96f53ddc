"""Laps: quasi-steady with A and B at once, driven as fast as the car bears, and driven again and again."""

from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import numpy as np
from numpy.typing import NDArray
from pydantic import BaseModel, Field

from fourpatch.analysis.driven_lap import LapRows
from fourpatch.analysis.lap_drive import LapDrive
from fourpatch.analysis.lap_profile import LIMITS, LapProfile
from fourpatch.analysis.lap_scatter import ScatterStudy
from fourpatch.analysis.lap_summary import LapCorner, LapStudy
from fourpatch.analysis.quantity import json_ready
from fourpatch.app.answers.tracks import Path
from fourpatch.events.driver_style import DriverStyle
from fourpatch.physics.layout import X
from fourpatch.picture.lap_meaning import lap_drive_meaning, lap_meaning, lap_scatter_meaning, laps_text

if TYPE_CHECKING:
    import xarray as xr  # half a second to load, of which the app's first page needs nothing

Array = NDArray[np.float64]


class CornerPassed(BaseModel):
    """How a quasi-steady lap passes a corner."""

    corner: str = Field(description="Its number, counted from the start line.")
    speed_class: str = Field(description="Slow, medium or fast, by the speed of this lap at its apex.")
    limit: str = Field(description="What holds the car where it is slowest: front axle, rear axle, or none.")
    slowest_at: float = Field(description="Along the centre line. [m]")
    entry_speed: float = Field(description="At the start of the corner. [m/s]")
    slowest_speed: float = Field(description="[m/s]")
    exit_speed: float = Field(description="At its end. [m/s]")
    time: float = Field(description="From start to end. [s]")
    lateral_acceleration: float = Field(description="Largest, whichever way. [m/s²]")
    balance: float = Field(
        description="Front use less rear use of grip at the limit where the car is slowest. [points]"
    )


class LapOfOne(BaseModel):
    """A quasi-steady lap with one set-up."""

    lap_time: float = Field(description="[s]")
    sector_times: list[float] = Field(description="Of equally long parts of the centre line. [s]")
    highest_speed: float = Field(description="[m/s]")
    lowest_speed: float = Field(description="[m/s]")
    corners: list[CornerPassed]
    speed: list[float] = Field(description="At each place of the line. [m/s]")
    time: list[float] = Field(description="Since the start line. [s]")
    balance: list[float | None] = Field(
        description="Front use less rear use of grip, above 0 the front axle is the limit; null where the "
        "engine or the brakes are. [points]"
    )
    meaning: str = Field(description="What limits the car, in words.")


class LapAnswer(BaseModel):
    """The quasi-steady lap of a car with A and with B, on the line of A."""

    station: list[float] = Field(description="Along the centre line, of each place of the line. [m]")
    line: Path
    a: LapOfOne
    b: LapOfOne
    computed_on: str = Field(default="quasi-steady", description="Quasi-steady or drive.")

    @property
    def gained(self) -> Array:
        """By how much B is behind A at each place. [s]"""
        return np.subtract(self.b.time, self.a.time)


class CornerPhase(BaseModel):
    """A phase of a corner, the car taken through it on the rig."""

    corner: str
    phase: str
    duration: float | None = Field(description="None if the corner has no such phase. [s]")
    balance: float | None = Field(description="Front use less rear use of grip, mean. [points]")
    stability_reserve: float | None = Field(
        description="Slowest real part of the lateral dynamics in its middle; above 0 it swings round. [1/s]"
    )


class PhasesAnswer(BaseModel):
    """The phases of every corner with A and with B."""

    a: list[CornerPhase]
    b: list[CornerPhase]
    use: float = Field(description="Of the worse axle's grip that the lap uses. [1]")
    computed_on: str = Field(default="quasi-steady, then rig", description="Quasi-steady, rig or drive.")


class DrivenAnswer(BaseModel):
    """A driven lap; `lap` and `heat` are those of ``fourpatch run lap --json``."""

    track: str
    setup: dict[str, float] = Field(description="Adjusters that did not stand at their baseline.")
    style: dict[str, Any] = Field(description="Of the driver; rates and times in SI.")
    stopped: bool = Field(description="Whether search or practice was stopped: the driver may be quicker.")
    meaning: str = Field(description="What limited the pace and which wheels carried it, in words.")
    lap: dict[str, Any] = Field(description="Numbers as {value, unit}; null where there is none.")
    heat: dict[str, Any] | None = Field(description="Of brakes and tyres; null if the lap was not finished.")
    line: Path
    speed: list[float | None] = Field(description="Driven, at each point of the line. [m/s]")
    computed_on: str = Field(default="drive", description="Quasi-steady or drive.")


class ScatterAnswer(BaseModel):
    """A driver's laps; `laps` is that of ``fourpatch run laps --json``."""

    track: str
    setup: dict[str, float] = Field(description="Adjusters that did not stand at their baseline.")
    style: dict[str, Any] = Field(description="Of the driver; rates and times in SI.")
    scatter: dict[str, Any] = Field(description="Of the driver: one standard deviation of each, SI.")
    stopped: bool = Field(description="Whether it was stopped before all laps were driven.")
    driven: str = Field(description="How many laps were driven, in words.")
    meaning: str = Field(description="How repeatable the car is and where it is least so, in words.")
    laps: dict[str, Any] = Field(description="Numbers as {value, unit}; null where there is none.")
    lap_times: list[float] = Field(description="Of the laps on the road and in hand. [s]")
    computed_on: str = Field(default="drive", description="Quasi-steady or drive.")


def lap_answer(a: LapStudy, b: LapStudy) -> LapAnswer:
    """Return two quasi-steady laps side by side; B's is read at the places of A's."""
    station = np.maximum.accumulate(a.line.station)
    return LapAnswer(
        station=station.round(2).tolist(),
        line=Path(x=a.line.x.round(2).tolist(), y=a.line.y.round(2).tolist()),
        a=_lap_of(a, station),
        b=_lap_of(b, station),
    )


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class HastyLap:
    """What a hand that moves a slider sees: B's lap to about a fifth of what it changes; at A's places."""

    time_a: float
    """Lap time with A. [s]"""
    gained: Array
    """By how much B is behind A. [s]"""
    speed_a: Array
    """[m/s]"""
    speed_b: Array
    """[m/s]"""
    station: Array
    """Along the centre line. [m]"""


def hasty_lap(a: LapStudy, thin_a: LapProfile, thin_b: LapProfile) -> HastyLap:
    """Return B's lap as A's and what differs between two laps with few places."""
    places = a.line.distance

    def differing(name: str) -> Array:
        rows = (getattr(one, name) for one in (thin_b, thin_a))
        b, first = (np.interp(places, thin_a.line.distance, row) for row in rows)
        return np.asarray(b - first)

    return HastyLap(
        time_a=a.profile.lap_time,
        gained=differing("time"),
        speed_a=a.profile.speed,
        speed_b=a.profile.speed + differing("speed"),
        station=np.maximum.accumulate(a.line.station),
    )


_TYRES = LIMITS.index("engine")  # limits before it are those of the two axles


def _lap_of(study: LapStudy, station: Array) -> LapOfOne:
    profile, summary = study.profile, study.summary
    own = np.maximum.accumulate(study.line.station)

    def at(row: Array, digits: int) -> list[float]:
        return list(np.interp(station, own, row).round(digits).tolist())

    return LapOfOne(
        lap_time=summary.lap_time,
        sector_times=[one.time for one in summary.sectors],
        highest_speed=summary.highest_speed,
        lowest_speed=summary.lowest_speed,
        corners=[
            _passed(one, float(np.interp(one.slowest_at, own, profile.balance))) for one in summary.corners
        ],
        speed=at(profile.speed, 3),
        time=at(profile.time, 4),
        balance=[
            round(points, 2) if by_tyres else None
            for points, by_tyres in zip(
                at(100.0 * profile.balance, 2),
                at((profile.limit < _TYRES).astype(np.float64), 0),
                strict=True,
            )
        ],
        meaning=lap_meaning(summary),
    )


def _passed(corner: LapCorner, balance: float) -> CornerPassed:
    names = ("corner", "speed_class", "limit", "slowest_at", "entry_speed", "slowest_speed", "exit_speed")
    return CornerPassed(
        **{name: getattr(corner, name) for name in (*names, "time", "lateral_acceleration")},
        balance=100.0 * balance,
    )


def corner_phases(found: "xr.Dataset") -> list[CornerPhase]:
    """Return the phases of a track's corners."""
    return [
        CornerPhase(
            corner=str(corner),
            phase=str(phase),
            **{
                name: _finite(float(found[name].sel(track_corner=corner, phase=phase)))
                for name in ("duration", "balance", "stability_reserve")
            },
        )
        for corner in found.track_corner.values
        for phase in found.phase.values
    ]


def _finite(value: float) -> float | None:
    return value if np.isfinite(value) else None


_EVERY = 4  # metres of the line between two points of a driven lap that are sent


def driven_answer(study: LapDrive, *, setup: dict[str, float], style: DriverStyle) -> DrivenAnswer:
    """Return a driven lap."""
    line, rows = study.line, LapRows(study.run, 0)
    places, far = line.distance[::_EVERY], float(rows.distance[-1])
    speed = np.interp(places, rows.distance, rows.states[:, X.forward_velocity])
    return DrivenAnswer(
        track=study.track.name,
        setup=setup,
        style=style.model_dump(),
        stopped=study.stopped,
        meaning=lap_drive_meaning(study),
        lap=json_ready(study.summary),
        heat=None if study.heat is None else json_ready(study.heat),
        line=Path(x=line.x[::_EVERY].round(2).tolist(), y=line.y[::_EVERY].round(2).tolist()),
        speed=[round(float(one), 2) if at <= far else None for at, one in zip(places, speed, strict=True)],
    )


def scatter_answer(study: ScatterStudy, *, setup: dict[str, float], style: DriverStyle) -> ScatterAnswer:
    """Return a driver's laps."""
    return ScatterAnswer(
        track=study.track.name,
        setup=setup,
        style=style.model_dump(),
        scatter=study.scatter.model_dump(),
        stopped=study.stopped,
        driven=laps_text(study.summary),
        meaning=lap_scatter_meaning(study.summary),
        laps=json_ready(study.summary),
        lap_times=study.laps.lap_time[study.laps.good].tolist(),
    )
