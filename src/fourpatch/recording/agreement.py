"""Do channels agree with each other and with physics? Signs, units and places are told from that.

What moves one channel moves others: a car that slows down feels it, a car that turns at a speed is pressed
sideways, the outer springs are compressed, the outer wheels are faster. Each rule below is plain kinematics
or statics (derived here); thresholds of correlation are chosen here.
"""

from collections.abc import Mapping, Sequence
from typing import Final

import numpy as np

from fourpatch.recording.draft import SURE, Draft, plausible
from fourpatch.recording.mapping import MappedColumn
from fourpatch.recording.question import Question
from fourpatch.recording.raw import Array, RawColumn
from fourpatch.recording.signals import STEP, fit, from_positions, rate_of_change, smoothed, turning
from fourpatch.recording.vocabulary import SPECS
from fourpatch.recording.written_units import STANDARD_GRAVITY, scale_of
from fourpatch.runs.channels import CHANNELS, WHEELS

CLEAR: Final = 0.6
"""Correlation from which on a sign or unit is told by it."""

_OFF = 1.25  # times by which a slope is off before another unit explains it better
_ALIKE = 0.85  # correlation from which on a column without a telling name is asked about
_MOVING = 5.0  # m/s above which turning and slip say something


class Judge:
    """The drafts of a recording, while they are held against each other."""

    def __init__(
        self, found: list[Draft], rows: Mapping[str, Array], columns: Mapping[str, RawColumn]
    ) -> None:
        """Take the drafts."""
        self.found, self.rows, self.columns = found, rows, columns
        self.questions: list[Question] = []

    def get(self, channel: str, wheel: str = "") -> Draft | None:
        """Return the draft of a channel, if any."""
        return next((one for one in self.found if (one.channel, one.wheel) == (channel, wheel)), None)

    def four(self, channel: str) -> list[Draft] | None:
        """Return the drafts of all four wheels, if there are."""
        found = [self.get(channel, wheel) for wheel in WHEELS]
        return [one for one in found if one is not None] if all(found) else None


def judge(found: list[Draft], rows: Mapping[str, Array], columns: Mapping[str, RawColumn]) -> list[Question]:
    """Hold the drafts against each other: they are changed, added to, and what contradicts is asked.

    Parameters
    ----------
    found : drafts by names, units and ranges.
    rows : all columns, binned, as written.
    columns : all columns.
    """
    bench = Judge(found, rows, columns)
    speed, turn = _absolute(bench)
    _speed_unit(bench, speed)
    own = bench.get("speed")
    if own is not None and (own.confirmed or speed is None):
        speed = own.si
    _wheel_speeds(bench, speed)
    if speed is None:
        speed = _from_wheels(bench)
    if speed is None:
        return bench.questions
    _discover(bench, speed, turn)
    _along(bench, speed)
    _sideways(bench, speed, turn)
    _steering(bench, speed)
    _upright(bench)
    _travels(bench)
    return bench.questions


def _absolute(bench: Judge) -> tuple[Array | None, Array | None]:
    """Return speed and yaw rate from positions, which know no wrong sign."""
    latitude, longitude = bench.get("latitude"), bench.get("longitude")
    if latitude is None or longitude is None:
        return None, None
    speed, turn = from_positions(latitude.si, longitude.si)
    if not 1.0 < np.nanpercentile(speed, 95.0) < 130.0:
        return None, None
    for one in (latitude, longitude):
        one.confirmed = True
        one.reasons.append("moves like a car")
    return speed, turn


def _settle_unit(one: Draft, expected: Array, *, of: str, bench: Judge) -> None:
    """Choose the unit under which a channel is what others make of it [SI].

    Notes
    -----
    A written unit that others contradict is asked about; one that was guessed is replaced.
    """
    found = fit(expected, one.row)
    if abs(found.correlation) < CLEAR:
        return
    si = CHANNELS[one.channel].unit
    spec = SPECS.get(one.channel)
    usual = dict.fromkeys([*one.units, *(spec.units if spec else ()), si])
    off = {}
    for unit in usual:
        scale = scale_of(unit, si)
        if scale is not None:
            off[unit] = abs(np.log(abs(found.slope) * scale[0]))
    best = min(off, key=lambda unit: (round(off[unit], 3), list(usual).index(unit)))
    if off[best] > np.log(_OFF) or best == one.units[0]:
        one.confirmed |= off[one.units[0]] <= np.log(_OFF)
        if one.confirmed:
            one.units = one.units[:1]
            one.reasons.append(f"agrees with {of} to {100.0 * (np.exp(off[one.units[0]]) - 1.0):.0f} %")
        return
    if one.column.unit and off[one.units[0]] > np.log(_OFF):
        one.score = max(one.score, SURE)  # what it is, is told by how it moves
        mapped = one.mapped().model_copy(update={"unit": best})
        bench.questions.append(
            Question(
                key=f"unit of {one.column.name}",
                text=f'"{one.column.name}" says {one.column.unit}, but against {of} it is in {best}. '
                f"Take {best}?",
                agreed=(mapped,),
            )
        )
        return
    one.units = [best]
    one.confirmed = True
    one.reasons.append(f"in {best} it agrees with {of}")


def _speed_unit(bench: Judge, positions: Array | None) -> None:
    own = bench.get("speed")
    if own is None:
        return
    if positions is not None:
        _settle_unit(own, positions, of="the positions", bench=bench)
        return
    along = bench.get("longitudinal_acceleration")
    if along is None or len(own.units) == len(along.units) == 1:
        return
    # Both may be open: the ratio of the two tells the pair of units.
    found = fit(rate_of_change(own.row), smoothed(along.row))
    if abs(found.correlation) < CLEAR:
        return
    pairs = {
        (a, b): abs(np.log(abs(found.slope) * _factor(along, b) / _factor(own, a)))
        for a in own.units
        for b in along.units
    }
    (own_unit, along_unit), off = min(pairs.items(), key=lambda pair: pair[1])
    if off < np.log(_OFF):
        own.units, along.units = [own_unit], [along_unit]
        for one in (own, along):
            one.confirmed = True
            one.reasons.append("speed and acceleration agree so")


def _factor(one: Draft, unit: str) -> float:
    scale = scale_of(unit, CHANNELS[one.channel].unit)
    return scale[0] if scale else 1.0


def _wheel_speeds(bench: Judge, speed: Array | None) -> None:
    """Settle the units of wheel speeds, and ask if left and right are exchanged."""
    for channel in ("rolling_speed", "wheel_speed"):
        for wheel in WHEELS:
            one = bench.get(channel, wheel)
            if one is not None and speed is not None and channel == "rolling_speed":
                _settle_unit(one, speed, of="the car's speed", bench=bench)


def _from_wheels(bench: Judge) -> Array | None:
    found = [bench.get("rolling_speed", wheel) for wheel in WHEELS]
    rows = [one.si for one in found if one is not None]
    return np.asarray(np.median(rows, axis=0)) if rows else None


def _along(bench: Judge, speed: Array) -> None:
    one = bench.get("longitudinal_acceleration")
    if one is not None:
        _settle_sign(one, rate_of_change(speed), of="the change of speed")
        _settle_unit(one, rate_of_change(speed), of="the change of speed", bench=bench)


def _settle_sign(one: Draft, expected: Array, *, of: str) -> bool:
    """Turn a channel round if it goes against what others say; return whether they say anything."""
    found = fit(expected, smoothed(one.row))
    if abs(found.correlation) < CLEAR:
        return False
    one.reversed = found.correlation < 0.0
    one.reasons.append(f"its sign is {'the other one' if one.reversed else 'ours'} by {of}")
    return True


def _sideways(bench: Judge, speed: Array, turn: Array | None) -> None:
    """Settle lateral acceleration and yaw rate: against positions if there are, else against each other."""
    yaw, sideways = bench.get("yaw_rate"), bench.get("lateral_acceleration")
    course = bench.get("course")
    if turn is None and course is not None:
        turn = turning(np.unwrap(course.si))
    fast = np.maximum(smoothed(speed), _MOVING)
    of = "the way the car turned"
    if turn is not None:
        if yaw is not None and _settle_sign(yaw, turn, of=of):
            _settle_unit(yaw, turn, of=of, bench=bench)
        if sideways is not None and _settle_sign(sideways, turn * fast, of=of):
            _settle_unit(sideways, turn * fast, of="speed and turning", bench=bench)
        return
    if (wheels := _turn_of_wheels(bench)) is not None:
        # The wheels' distance is not known, so their difference tells the side alone.
        for one, expected in ((yaw, wheels), (sideways, wheels * fast)):
            if one is not None:
                _settle_sign(one, expected, of="the faster wheels being the outer ones")
    if yaw is None or sideways is None:
        if wheels is None:
            _tell_left_from_right(bench, [one for one in (yaw, sideways) if one is not None], speed)
        return
    if wheels is None and not _settle_sign(sideways, yaw.si * fast, of="the yaw rate"):
        return
    pairs = {
        (a, b): abs(
            np.log(
                abs(fit(yaw.row * fast, smoothed(sideways.row)).slope)
                * _factor(sideways, b)
                / _factor(yaw, a)
            )
        )
        for a in yaw.units
        for b in sideways.units
    }
    (yaw_unit, own_unit), off = min(pairs.items(), key=lambda pair: pair[1])
    if off < np.log(_OFF):
        yaw.units, sideways.units = [yaw_unit], [own_unit]
        yaw.confirmed = sideways.confirmed = True
        for one in (yaw, sideways):
            one.reasons.append("yaw rate, speed and lateral acceleration agree")
    if wheels is None:
        _tell_left_from_right(bench, [yaw, sideways], speed)


def _turn_of_wheels(bench: Judge) -> Array | None:
    """Return a yaw rate up to its size from the faster wheels being the outer ones."""
    left = [bench.get("rolling_speed", wheel) for wheel in ("FL", "RL")]
    right = [bench.get("rolling_speed", wheel) for wheel in ("FR", "RR")]
    pairs = [(a.si, b.si) for a, b in zip(left, right, strict=True) if a is not None and b is not None]
    if not pairs:
        return None
    # Left and right are 1 to 2 m apart; 1.5 m is a third off at the most, and signs do not ask.
    return smoothed(np.asarray(np.mean([(b - a) / 1.5 for a, b in pairs], axis=0)))


def _tell_left_from_right(bench: Judge, of: Sequence[Draft], speed: Array) -> None:
    """Tell the side by the dampers, if there are four; else ask which way a bend went."""
    if not of:
        return
    for channel in _TRAVELS:
        against = _travels_against(bench, channel)
        if against in ("", "left and right"):
            for one in of:
                one.reversed ^= against != ""
                one.reasons.append("the outer dampers are the compressed ones")
            return
    tightest = int(np.argmax(np.where(speed > _MOVING, np.abs(smoothed(of[-1].si)), 0.0)))
    left = of[-1].si[tightest] > 0.0
    others = [one for one in (bench.get("steering_wheel_angle"),) if one is not None]
    turned = tuple(one.mapped().model_copy(update={"reversed": not one.reversed}) for one in (*of, *others))
    bench.questions.append(
        Question(
            key="left and right",
            text=f"Nothing in the recording tells left from right. As read, the hardest bend, "
            f"{STEP * tightest:.0f} s after the beginning, goes {'left' if left else 'right'}. Did it go "
            f"{'right' if left else 'left'}?",
            agreed=turned,
        )
    )


def _steering(bench: Judge, speed: Array) -> None:
    yaw, steer = bench.get("yaw_rate"), bench.get("steering_wheel_angle")
    turn = yaw.si if yaw is not None else None
    if turn is None and (sideways := bench.get("lateral_acceleration")) is not None:
        turn = sideways.si / np.maximum(speed, _MOVING)
    if turn is None or steer is None:
        return
    curvature = np.where(speed > _MOVING, turn / np.maximum(speed, _MOVING), 0.0)
    if _settle_sign(steer, curvature, of="the way the car turned"):
        steer.confirmed = len(steer.units) == 1
        _steer_unit(steer, curvature)


def _steer_unit(steer: Draft, curvature: Array) -> None:
    """Tell degrees from radians: a hand's wheel turns 10 to 20 times as far as wheelbase x curvature."""
    if len(steer.units) == 1:
        return
    slope = abs(fit(curvature, steer.row).slope)
    fitting = [unit for unit in steer.units if 8.0 < slope * _factor(steer, unit) < 120.0]
    if len(fitting) == 1:
        steer.units, steer.confirmed = fitting, True
        steer.reasons.append(f"in {fitting[0]} the steering is as direct as a car's")


def _upright(bench: Judge) -> None:
    """Find gravity: the upright axis feels it, up positive, the others do not."""
    one = bench.get("vertical_acceleration")
    if one is None:
        return
    mean = float(np.nanmedian(one.row))
    for unit in one.units:
        size = abs(mean) * _factor(one, unit) / STANDARD_GRAVITY
        if 0.8 < size < 1.25:
            one.units, one.confirmed, one.reversed = [unit], True, mean < 0.0
            one.reasons.append(f"gravity on it, {'down' if mean < 0.0 else 'up'} positive")
            return
    one.reasons.append("no gravity on it: the recorder took it out, or it is another axis")


_TRAVELS: Final = ("damper_travel", "travel")


def _travels(bench: Judge) -> None:
    """Hold travels against accelerations: who brakes dives, who turns leans to the outside."""
    for channel in _TRAVELS:
        against, four = _travels_against(bench, channel), bench.four(channel)
        if against is not None and four is not None:
            _say_travels(bench, four, against)


def _travels_against(bench: Judge, channel: str) -> str | None:
    """Return what is wrong with the places or signs of four travels, empty if nothing; None if untold."""
    along, sideways = bench.get("longitudinal_acceleration"), bench.get("lateral_acceleration")
    four = bench.four(channel)
    if four is None or along is None or sideways is None:
        return None
    rows = [smoothed(one.row) for one in four]
    mean = np.mean(rows, axis=0)
    found = [
        (fit(along.si, row - mean).correlation, fit(sideways.si, row - mean).correlation) for row in rows
    ]
    if min(max(abs(x), abs(y)) for x, y in found) < 0.3:
        return None
    # Signs that bump positive gives: front or rear by braking, left or right by turning.
    return _against(found, [(-1.0, -1.0), (-1.0, 1.0), (1.0, -1.0), (1.0, 1.0)])


def _against(found: Sequence[tuple[float, float]], due: Sequence[tuple[float, float]]) -> str:
    """Return what explains the signs best: nothing, all reversed, or two places exchanged."""

    def score(order: Sequence[int], sign: float) -> float:
        return sum(
            sign * (found[place][0] * due[to][0] + found[place][1] * due[to][1])
            for place, to in enumerate(order)
        )

    ways: dict[str, tuple[tuple[int, ...], float]] = {
        "": ((0, 1, 2, 3), 1.0),
        "reversed": ((0, 1, 2, 3), -1.0),
        "left and right": ((1, 0, 3, 2), 1.0),
        "front and rear": ((2, 3, 0, 1), 1.0),
        "FL and FR": ((1, 0, 2, 3), 1.0),
        "RL and RR": ((0, 1, 3, 2), 1.0),
        "FL and RL": ((2, 1, 0, 3), 1.0),
        "FR and RR": ((0, 3, 2, 1), 1.0),
    }
    scores = {name: score(*way) for name, way in ways.items()}
    best = max(scores, key=lambda name: (round(scores[name], 6), name == ""))
    return best if best and scores[best] > scores[""] + 0.8 else ""


def _say_travels(bench: Judge, four: Sequence[Draft], against: str) -> None:
    name = four[0].channel.replace("_", " ")
    if not against:
        for one in four:
            one.confirmed = True
            one.reasons.append("moves as the car brakes and leans")
        return
    if against == "reversed":
        for one in four:
            one.reversed, one.confirmed = True, True
            one.reasons.append("counts rebound positive: it falls where the car dives and leans")
        return
    exchanged = _exchanged(four, against)
    places = against.split(" and ")
    bench.questions.append(
        Question(
            key=f"swapped {name}",
            text=f"As the car brakes and leans, the {name} of {places[0]} and {places[1]} are exchanged. "
            "Change them back?",
            agreed=exchanged,
        )
    )


def _exchanged(four: Sequence[Draft], against: str) -> tuple[MappedColumn, ...]:
    swaps = {
        "left and right": {"FL": "FR", "FR": "FL", "RL": "RR", "RR": "RL"},
        "front and rear": {"FL": "RL", "RL": "FL", "FR": "RR", "RR": "FR"},
    }
    first, _, second = against.partition(" and ")
    to = swaps.get(against, {first: second, second: first})
    return tuple(one.mapped().model_copy(update={"wheel": to[one.wheel]}) for one in four if one.wheel in to)


def _discover(bench: Judge, speed: Array, turn: Array | None) -> None:
    """Find channels that no name told, among the columns left over; they are asked about."""
    used = {one.column.name for one in bench.found}
    left = {name: row for name, row in bench.rows.items() if name not in used and np.ptp(row) > 0.0}
    yaw, sideways = bench.get("yaw_rate"), bench.get("lateral_acceleration")
    if turn is None and yaw is not None:
        turn = yaw.si
    if turn is None and sideways is not None:
        turn = sideways.si / np.maximum(speed, _MOVING)
    expected = {"longitudinal_acceleration": rate_of_change(speed)}
    if turn is not None:
        expected |= {"lateral_acceleration": turn * speed, "yaw_rate": turn}
    for channel, row in expected.items():
        if bench.get(channel) is not None or not left:
            continue
        fits = {name: fit(row, smoothed(values)).correlation for name, values in left.items()}
        best = max(fits, key=lambda name: abs(fits[name]))
        if abs(fits[best]) < _ALIKE:
            continue
        units = [unit for unit in SPECS[channel].units if plausible(channel, left[best], unit)]
        bench.found.append(
            Draft(
                column=bench.columns[best],
                channel=channel,
                wheel="",
                score=0.5,
                units=units or [CHANNELS[channel].unit],
                row=left.pop(best),
                by_name=False,
                reasons=["moves as that does, whatever its name"],
            )
        )
