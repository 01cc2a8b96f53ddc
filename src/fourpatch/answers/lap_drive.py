"""A car driven round a track."""

import math
from collections.abc import Iterator
from typing import TYPE_CHECKING, Annotated, ClassVar

from pydantic import Field

from fourpatch.analysis.lap_drive import DRIVER_MARGIN, CornerDriven, LapDrive, LapDriveSummary, study_drive
from fourpatch.analysis.lap_heat import LapHeat
from fourpatch.analysis.quantity import SPEED, Corners
from fourpatch.answers.answer import Answer
from fourpatch.answers.question import About, Asked, Found, Question
from fourpatch.document.content import settings_content
from fourpatch.events.style_file import load_style
from fourpatch.picture.blocks import Block, Picture, Sentence, Table, drawing, means
from fourpatch.picture.head import Head
from fourpatch.picture.lap_meaning import lap_drive_meaning, lap_driven_how, percent
from fourpatch.picture.shown import lap_time_text
from fourpatch.recording.recorder import record, sensed, usual_sensors
from fourpatch.runs.history import lap_dataset, lap_run
from fourpatch.track.racing_line import FLAT_KERB
from fourpatch.units import Unit

if TYPE_CHECKING:
    import xarray as xr

    from fourpatch.recording.raw import RawRecording

PACE = Unit("1", "%", 0.3, 1.2)
"""Of a driver, on the quasi-steady speeds."""
MARGIN = Unit("m", "m", 0.0, 10.0)
"""Room between the side of a car and the edge of a road."""


class LapDriven(Question):
    """Drive CAR round a track with all degrees of freedom free, as fast as it can be held on the road.

    A driver with a style of his own follows the line of least curvature; the quasi-steady lap on the same
    line stands beside. Stopped by Ctrl-C, it shows the best lap known by then.
    """

    command: ClassVar[str] = "run lap"
    question: ClassVar[str] = "What does the driver do along the lap, and what does it do to the four tyres?"
    finds: ClassVar[dict[str, Found]] = {"lap": LapDriveSummary, "heat": LapHeat}
    of: ClassVar[About] = "car on a track"
    drawn: ClassVar[bool] = True
    takes_long: ClassVar[bool] = True
    files: ClassVar[frozenset[str]] = frozenset({"style"})
    writes: ClassVar[tuple[str, ...]] = ("history", "recording")
    page: ClassVar[str] = "/lap"

    pace: Annotated[float, PACE] | None = None
    """Of the quasi-steady speeds, such as 97%; if left out, the driver practises until he knows, corner by
    corner, how fast the car stays on the road and in hand."""
    style: str | None = None
    """Style file of the driver: fourpatch export style FILE."""
    margin: Annotated[float, MARGIN] = DRIVER_MARGIN
    """Between the side of the car on its line and the edge."""
    kerb_share: Annotated[float, Unit("1", "%", 0.0, 1.0)] = 0.0
    """How much of the width of flat kerbs the line may use."""
    flat_kerb: Annotated[float, Unit("m", "mm", 0.0, 0.3)] = FLAT_KERB
    """Highest kerb that counts as flat."""
    seed: Annotated[int, Field(ge=0)] = 1
    """The same seed lays the same bumps."""

    def answer(self, asked: Asked) -> Answer:
        """Compute it."""
        about = asked.car
        study = study_drive(
            about.standing,
            asked.on,
            style=load_style(self.style) if self.style else None,
            pace=self.pace,
            margin=self.margin,
            kerb_share=self.kerb_share,
            flat_kerb=self.flat_kerb,
            seed=self.seed,
            progress=asked.progress,
            cancelled=asked.cancelled,
        )
        pace = f"pace {100.0 * study.summary.pace:.1f} %"
        how = "after practice" if study.summary.practice_laps else pace
        title = f"{about.named}; {study.track.name}, {how}, computed by the drive"
        draw = drawing("lap_drive.lap_drive_figure", study, question=self.question, source=title)
        return Answer(
            title=title,
            about={**driven_content(asked, stopped=study.stopped), **settings_content(self)},
            found={"lap": study.summary, "heat": study.heat},
            blocks=[*lap_blocks(study), Picture(draw=draw, says=self.question)],
            source=study,
            stopped=study.stopped,
        )

    def history(self, asked: Asked, answer: Answer) -> "xr.Dataset":
        """Return the driven lap."""
        study: LapDrive = answer.source
        return lap_dataset(study.run, 0, study.road, asked.car.setup.name)

    def recording(self, asked: Asked, answer: Answer) -> "RawRecording":
        """Return what a club racer's sensors would record of it, run-up included, with invented noise."""
        study: LapDrive = answer.source
        driven = lap_run(study.run, 0, study.road, asked.car.setup.name)
        return record(sensed(driven, asked.car.standing), usual_sensors(), seed=self.seed)


def driven_content(asked: Asked, *, stopped: bool) -> dict[str, object]:
    """Return what was driven for JSON."""
    where = {"track": asked.on.name, "line": "least curvature"}
    return {**asked.car.content(), **where, "mode": "drive", "stopped": stopped}


_LONGEST_FLIGHTS = 5
"""As many are shown."""

_WHEELS = Corners._fields


def lap_blocks(study: LapDrive) -> Iterator[Block]:
    """Yield times, corners, kerbs, flights, wheels, heat, and what they mean."""
    found = study.summary
    if study.stopped:
        yield Sentence(
            f"Stopped after {len(found.tried)} paces and {found.practice_laps} laps of practice: the driver "
            "may be quicker."
        )
    yield Sentence(_times(found))
    if found.trouble:
        yield Sentence(f"{found.trouble}.", lead="In trouble")
    yield Sentence(_place(found))
    if found.corners:
        rows = [_corner(one) for one in found.corners]
        yield Table(heads=_CORNER_HEADS, rows=rows, title="Corners, driven / quasi-steady")
    yield _kerbs(found)
    if found.flights:
        yield _flights(found)
    yield Table(heads=_WHEEL_HEADS, rows=_wheels(found), title="Wheels")
    if study.heat:
        rows = list(_heat_rows(study.heat))
        yield Table(heads=_HEAT_HEADS, rows=rows, title="Heat, once the lap has been driven over and over")
        yield Sentence(_OF_HEAT)
    yield means(lap_drive_meaning(study))


def _times(found: LapDriveSummary) -> str:
    driven = "not finished" if math.isnan(found.lap_time) else lap_time_text(found.lap_time)
    sectors, steady = (
        ", ".join(_seconds(getattr(one, name)) for one in found.sectors)
        for name in ("time", "quasi_steady_time")
    )
    return (
        f"Lap time {driven} ({sectors}) {lap_driven_how(found)}; quasi-steady on the same line "
        f"{lap_time_text(found.quasi_steady_lap_time)} ({steady})."
    )


def _place(found: LapDriveSummary) -> str:
    edge = f"{found.least_room:.2f} m" if found.least_room >= 0.0 else f"{-found.least_room:.2f} m beyond it"
    return (
        f"Closest to the edge {edge} at {found.least_room_at:.0f} m along the line; largest sideslip angle "
        f"{math.degrees(found.largest_sideslip):.1f} deg at {found.largest_sideslip_at:.0f} m."
    )


_CORNER_HEADS = (
    Head(text="corner"),
    Head(text="way", right=False),
    Head(text="entry", unit="km/h"),
    Head(text="slowest", unit="km/h"),
    Head(text="exit", unit="km/h"),
    Head(text="time", unit="s"),
    Head(text="longer", unit="s"),
)


def _corner(one: CornerDriven) -> tuple[str, ...]:
    return (
        one.corner,
        one.direction,
        _pair(one.entry_speed, one.quasi_steady_entry_speed),
        _pair(one.slowest_speed, one.quasi_steady_slowest_speed),
        _pair(one.exit_speed, one.quasi_steady_exit_speed),
        f"{_seconds(one.time)} / {_seconds(one.quasi_steady_time)}",
        "-" if math.isnan(one.time) else f"{one.time - one.quasi_steady_time:+.2f}",
    )


def _pair(driven: float, steady: float) -> str:
    return " / ".join(
        "-" if math.isnan(speed) else f"{speed / SPEED.scale:.0f}" for speed in (driven, steady)
    )


def _seconds(time: float) -> str:
    return "-" if math.isnan(time) else f"{time:.2f}"


def _kerbs(found: LapDriveSummary) -> Block:
    if not found.kerbs:
        return Sentence("No wheel is on a kerb along this line.")
    heads = (
        Head(text="kerb"),
        Head(text="wheels", right=False),
        Head(text="from", unit="m"),
        Head(text="to", unit="m"),
        Head(text="height", unit="mm"),
        Head(text="largest\nload", unit="N"),
        Head(text="off the\nground", unit="ms"),
    )
    rows = [
        (
            one.kerb,
            one.wheels,
            f"{one.start:.0f}",
            f"{one.end:.0f}",
            f"{1e3 * one.highest:.0f}",
            "-" if math.isnan(one.largest_load) else f"{one.largest_load:.0f}",
            f"{1e3 * one.off_ground:.0f}",
        )
        for one in found.kerbs
    ]
    return Table(heads=heads, rows=rows, title="Kerbs, by the distance along the line")


def _flights(found: LapDriveSummary) -> Table:
    longest = sorted(found.flights, key=lambda one: -one.duration)[:_LONGEST_FLIGHTS]
    heads = (
        Head(text="wheel", right=False),
        Head(text="at", unit="m"),
        Head(text="off the ground", unit="ms"),
    )
    rows = [(one.wheel, f"{one.distance:.0f}", f"{1e3 * one.duration:.0f}") for one in longest]
    of = f" {len(longest)} longest of {len(found.flights)}" if len(found.flights) > len(longest) else ""
    title = f"Wheels off the ground,{of} by the distance along the line"
    return Table(heads=heads, rows=rows, title=title)


_WHEEL_HEADS = (
    Head(text="wheel", right=False),
    Head(text="locked", unit="s"),
    Head(text="spinning", unit="s"),
    Head(text="off the\nground", unit="s"),
    Head(text="tyre work", unit="kJ"),
    Head(text="share", unit="%"),
    Head(text="brake work", unit="kJ"),
    Head(text="share", unit="%"),
)


def _wheels(found: LapDriveSummary) -> list[tuple[str, ...]]:
    tyres, brakes = sum(found.tyre_work), sum(found.brake_work)
    return [
        (
            wheel,
            f"{found.locked[k]:.2f}",
            f"{found.spinning[k]:.2f}",
            f"{found.off_ground[k]:.2f}",
            f"{1e-3 * found.tyre_work[k]:.0f}",
            percent(found.tyre_work[k], tyres),
            f"{1e-3 * found.brake_work[k]:.0f}",
            percent(found.brake_work[k], brakes),
        )
        for k, wheel in enumerate(_WHEELS)
    ]


_HEAT_HEADS = (
    Head(text="wheel", right=False),
    Head(text="brake\nmean", unit="kW"),
    Head(text="disc over air\nmean", unit="K"),
    Head(text="disc over air\nhottest", unit="K"),
    Head(text="hardest stop", unit="kJ"),
    Head(text="alone heats\nby", unit="K"),
    Head(text="tyre\nmean", unit="kW"),
    Head(text="tread over\nair", unit="K"),
)


_OF_HEAT = (
    "A balance with assumed constants of disc, tread and cooling (from memory, common practice, no "
    "published source; docs/conventions.md): it compares laps and set-ups, it is no temperature to trust."
)


def _heat_rows(heat: LapHeat) -> Iterator[tuple[str, ...]]:
    for k, wheel in enumerate(_WHEELS):
        yield (
            wheel,
            f"{1e-3 * heat.brake_power[k]:.1f}",
            f"{heat.brake_rise[k]:.0f}",
            f"{heat.brake_peak_rise[k]:.0f}",
            f"{1e-3 * heat.hardest_stop[k]:.0f}",
            f"{heat.hardest_stop_rise[k]:.0f}",
            f"{1e-3 * heat.tyre_power[k]:.1f}",
            f"{heat.tread_rise[k]:.0f}",
        )
