"""A driven lap, in tables and in words."""

import math

from fourpatch.analysis.lap_drive import CornerDriven, LapDrive, LapDriveSummary
from fourpatch.analysis.lap_heat import LapHeat
from fourpatch.analysis.quantity import SPEED, Corners
from fourpatch.cli.output import CAUTION, write_table, write_text
from fourpatch.picture.head import Head
from fourpatch.picture.lap_meaning import lap_drive_meaning, lap_driven_how, percent
from fourpatch.picture.shown import lap_time_text

LONGEST_FLIGHTS = 5
"""As many are shown."""

_WHEELS = Corners._fields


def write_lap_drive(study: LapDrive, *, title: str) -> None:
    """Write times, corners, kerbs, flights, wheels, heat, and what they mean."""
    found = study.summary
    write_text(title)
    if study.stopped:
        write_text(
            f"Stopped after {len(found.tried)} paces and {found.practice_laps} laps of practice: the driver "
            "may be quicker."
        )
    write_text(_times(found))
    if found.trouble:
        write_text(f"In trouble: {found.trouble}.")
    write_text(_place(found))
    if found.corners:
        write_table(
            _CORNER_HEADS, [_corner(one) for one in found.corners], title="Corners, driven / quasi-steady"
        )
    _write_kerbs(found)
    _write_flights(found)
    write_table(_WHEEL_HEADS, _wheels(found), title="Wheels")
    if study.heat:
        _write_heat(study.heat)
    write_text(f"What this means: {lap_drive_meaning(study)}")
    write_text(CAUTION)


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


def _write_kerbs(found: LapDriveSummary) -> None:
    if not found.kerbs:
        write_text("No wheel is on a kerb along this line.")
        return
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
    write_table(heads, rows, title="Kerbs, by the distance along the line")


def _write_flights(found: LapDriveSummary) -> None:
    if not found.flights:
        return
    longest = sorted(found.flights, key=lambda one: -one.duration)[:LONGEST_FLIGHTS]
    heads = (
        Head(text="wheel", right=False),
        Head(text="at", unit="m"),
        Head(text="off the ground", unit="ms"),
    )
    rows = [(one.wheel, f"{one.distance:.0f}", f"{1e3 * one.duration:.0f}") for one in longest]
    of = f" {len(longest)} longest of {len(found.flights)}" if len(found.flights) > len(longest) else ""
    write_table(heads, rows, title=f"Wheels off the ground,{of} by the distance along the line")


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


def _write_heat(heat: LapHeat) -> None:
    rows = [
        (
            wheel,
            f"{1e-3 * heat.brake_power[k]:.1f}",
            f"{heat.brake_rise[k]:.0f}",
            f"{heat.brake_peak_rise[k]:.0f}",
            f"{1e-3 * heat.hardest_stop[k]:.0f}",
            f"{heat.hardest_stop_rise[k]:.0f}",
            f"{1e-3 * heat.tyre_power[k]:.1f}",
            f"{heat.tread_rise[k]:.0f}",
        )
        for k, wheel in enumerate(_WHEELS)
    ]
    write_table(_HEAT_HEADS, rows, title="Heat, once the lap has been driven over and over")
    write_text(
        "A balance with assumed constants of disc, tread and cooling (from memory, common practice, no "
        "published source; docs/conventions.md): it compares laps and set-ups, it is no temperature to trust."
    )
