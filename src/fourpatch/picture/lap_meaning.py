"""What laps mean, in words: quasi-steady, driven, and driven again and again."""

import math

from fourpatch.analysis.lap_drive import LapDrive, LapDriveSummary
from fourpatch.analysis.lap_scatter import LapScatter
from fourpatch.analysis.lap_summary import LapSummary
from fourpatch.analysis.quantity import Corners
from fourpatch.picture.shown import lap_time_text

_NOTICED = 0.05  # shorter locking and spinning is not spoken of [s]
_WHEELS = Corners._fields


def percent(part: float, whole: float) -> str:
    """Write a part of a whole in per cent."""
    return f"{100.0 * part / whole:.0f}" if whole > 0.0 else "-"


def lap_meaning(found: LapSummary) -> str:
    """Say what limits the car for how much of the lap, and in which corners which axle does."""
    shares = {
        "the engine": found.engine_limited,
        "the front axle": found.front_limited,
        "the rear axle": found.rear_limited,
        "the brakes' torque": found.brakes_limited,
    }
    limits = [f"{what} {100.0 * share:.0f} %" for what, share in shares.items() if share >= 0.005]
    said = [f"of the lap time {', '.join(limits)} is what limits the car"]
    for axle in ("front axle", "rear axle"):
        numbers = [one.corner for one in found.corners if one.limit == axle]
        if numbers:
            said.append(f"where it is slowest the {axle} gives way first in {_named(numbers)}")
    free = [one.corner for one in found.corners if one.limit == "none"]
    if free:
        said.append(f"the car could corner faster where it is slowest in {_named(free)}")
    return (
        f"{'; '.join(said)}. Pedals and steering act at once here and nothing is left in hand: a driver is "
        "slower, by how much a driven lap tells."
    )


def _named(numbers: list[str]) -> str:
    return f"corner{'s' if len(numbers) > 1 else ''} {', '.join(numbers)}"


def lap_drive_meaning(study: LapDrive) -> str:
    """Say what the lap is short of, where it ends, and which wheels carry it."""
    found = study.summary
    said = [*_short_of(found), *_limit(found), *_work(found), *_slips(found)]
    return " ".join(f"{text[0].upper()}{text[1:]}." for text in said)


def lap_driven_how(found: LapDriveSummary) -> str:
    """Say what came before the lap: a pace asked for, or practice."""
    pace = f"at a pace of {100.0 * found.pace:.1f} %"
    if not found.practice_laps or found.lap_time_before_practice is None:
        return pace
    return (
        f"after {found.practice_laps} laps of practice, corner by corner "
        f"({lap_time_text(found.lap_time_before_practice)} before it, {pace} all round)"
    )


def scatter_driven_how(found: LapScatter) -> str:
    """Say how fast the laps were meant to be."""
    if found.pace is not None:
        return f"Driven at a pace of {100.0 * found.pace:.1f} %"
    best = f" (his best alone {lap_time_text(found.best_practice)})" if found.best_practice else ""
    return f"Driven after practice{best}, with as much kept back as his unevenness asks for, corner by corner"


def _short_of(found: LapDriveSummary) -> list[str]:
    if math.isnan(found.lap_time):
        return ["the lap was not finished: what follows is of the part that was driven"]
    longer = found.lap_time - found.quasi_steady_lap_time
    share = 100.0 * longer / found.quasi_steady_lap_time
    said = f"the driver takes {longer:.2f} s ({share:.1f} %) longer than the quasi-steady lap"
    corners = [one for one in found.corners if one.time > one.quasi_steady_time]
    if corners:
        most = max(corners, key=lambda one: one.time - one.quasi_steady_time)
        said += f", most in corner {most.corner} ({most.time - most.quasi_steady_time:.2f} s)"
    return [said]


def _limit(found: LapDriveSummary) -> list[str]:
    if found.first_bad_pace is not None:
        where = f": {found.first_trouble}" if found.first_trouble else ""
        return [
            f"driven all round alike it bears {100.0 * found.pace:.1f} % of the quasi-steady speeds, and "
            f"{100.0 * found.first_bad_pace:.1f} % no more{where}"
        ]
    if found.tried:
        return ["driven all round alike it bears every pace that was tried"]
    return [f"this pace is not borne: {found.trouble}" if found.trouble else "this pace is borne"]


def _work(found: LapDriveSummary) -> list[str]:
    said = []
    if sum(found.tyre_work) > 0.0:
        hardest = max(range(4), key=lambda k: found.tyre_work[k])
        said.append(
            f"{_WHEELS[hardest]} is the tyre that slides most: "
            f"{percent(found.tyre_work[hardest], sum(found.tyre_work))} % of the work; the front tyres do "
            f"{100.0 * found.tyre_work_front:.0f} %, the left ones {100.0 * found.tyre_work_left:.0f} %"
        )
    if sum(found.brake_work) > 0.0:
        said.append(f"the front brakes take {100.0 * found.brake_work_front:.0f} % of the heat of braking")
    return said


def _slips(found: LapDriveSummary) -> list[str]:
    said = []
    for name, times in (("locked", found.locked), ("spinning", found.spinning)):
        wheels = [
            f"{wheel} {time:.2f} s" for wheel, time in zip(_WHEELS, times, strict=True) if time >= _NOTICED
        ]
        if wheels:
            said.append(f"{name}: {', '.join(wheels)}")
    hard = [one for one in found.kerbs if one.off_ground > 0.0]
    if hard:
        worst = max(hard, key=lambda one: one.off_ground)
        said.append(
            f"kerb {worst.kerb} has a wheel off the ground for {1e3 * worst.off_ground:.0f} ms, in which "
            "that tyre neither steers nor brakes"
        )
    return said


def laps_text(found: LapScatter) -> str:
    """Say how many laps were driven."""
    if found.laps < found.asked:
        return f"{found.laps} of {found.asked} laps; stopped"
    return f"{found.laps} laps"


def lap_scatter_meaning(found: LapScatter) -> str:
    """Say how repeatable the car is and where it is least so."""
    lost = found.laps - found.good_laps
    ended = f"{lost} of {found.laps} laps end off the road or lost" if lost else "every lap ends in hand"
    apart = math.sqrt(2.0) * found.lap_time_spread
    parts = [f"two laps of this driver differ by {apart:.2f} s or less, two times in three, and {ended}"]
    if found.corners:
        worst = max(found.corners, key=lambda one: one.spread)
        parts.append(f"corner {worst.corner} repeats least, {worst.spread:.3f} s")
    return "; ".join(parts) + "."
