"""Laps as they stand on the screen: cells of tables, legends of the map, sentences."""

import math
from collections.abc import Callable, Iterable, Mapping, Sequence
from itertools import pairwise
from typing import Any

import numpy as np

from fourpatch.app.answers.lap import CornerPassed, CornerPhase, LapAnswer, LapOfOne, PhasesAnswer
from fourpatch.app.answers.tracks import CornerOnMap, TrackMap
from fourpatch.app.words import balance_text, capital, signed
from fourpatch.picture.shown import lap_time_text

Cell = dict[str, Any]

_TIME_SEEN = 0.005
"""Shorter times are not told apart: the limits are sought to about this of a lap. [s]"""

_SPEED_SEEN = 0.05  # [km/h]
_POINTS_SEEN = 0.05
_RESERVE_SEEN = 0.05  # [1/s]
_SIDEWAYS_SEEN = 0.005  # [m/s^2]

_BALANCE_SAID = "Front use less rear use of grip, mean of the phase, on the rig at 97 % of the grip"
_RESERVE_SAID = (
    "Below 0 a disturbance dies away by itself, above 0 the car swings round if nobody steers; "
    "at the middle of the phase"
)

BALANCE_BOUNDS = (-6.0, -1.5, 1.5, 6.0)
"""Points of grip between the steps of the map's colours."""


def _column(label: str, unit: str, say: str, *, word: bool = False) -> dict[str, Any]:
    return {"label": label, "unit": unit, "say": say, "word": word}


CORNER_COLUMNS = (
    _column("Corner", "", "Number, counted from the start line, and which way it turns"),
    _column("Radius", "m", "Smallest radius of the centre line"),
    _column("Length", "m", "Where the radius of the centre line is below 400 m"),
    _column(
        "Class", "", "Slow below 108 km/h at the apex, fast above 180; long from 120 m or deg", word=True
    ),
    _column("Entry", "km/h", "Speed where the corner begins; beside it B against A"),
    _column("Slowest", "km/h", "Lowest speed in the corner; beside it B against A"),
    _column("Time", "s", "From its beginning to its end; beside it B against A"),
    _column(
        "Runs out first",
        "points",
        "Which axle uses more of its grip where the car is slowest, by how many points; what B moves",
    ),
    _column(
        "Stability reserve",
        "1/s",
        "In the least stable phase: below 0 a disturbance dies away by itself, above 0 the car swings round "
        "if nobody steers; beside it B against A",
    ),
)
"""Columns of the list of corners."""


def gap_text(seconds: float) -> str:
    """Say by how much B's lap is longer or shorter than A's."""
    if abs(seconds) < _TIME_SEEN:
        return "as quick as A"
    return f"{abs(seconds):.2f} s {'slower' if seconds > 0.0 else 'quicker'} than A"


def lap_head(answer: LapAnswer) -> dict[str, str]:
    """Return the lap times and the gap."""
    return {
        "a": lap_time_text(answer.a.lap_time),
        "b": lap_time_text(answer.b.lap_time),
        "gap": gap_text(answer.b.lap_time - answer.a.lap_time),
        "sense": _sense(answer.b.lap_time - answer.a.lap_time, _TIME_SEEN),
        "sectors": ", ".join(
            f"{number}: {b:.2f} s {_change(b - a, 2, _TIME_SEEN)}".rstrip()
            for number, (a, b) in enumerate(
                zip(answer.a.sector_times, answer.b.sector_times, strict=True), start=1
            )
        ),
    }


def won_text(answer: LapAnswer) -> str:
    """Say where B gains and loses most."""
    gaps = {
        one.corner: other.time - one.time
        for one, other in zip(answer.a.corners, answer.b.corners, strict=True)
    }
    said = []
    if gaps:
        best, worst = min(gaps, key=lambda k: gaps[k]), max(gaps, key=lambda k: gaps[k])
        if gaps[best] < -_TIME_SEEN:
            said.append(f"B gains most in corner {best} ({-gaps[best]:.2f} s)")
        if gaps[worst] > _TIME_SEEN:
            said.append(f"B loses most in corner {worst} ({gaps[worst]:.2f} s)")
    return f"{'; '.join(said)}." if said else ""


def corner_rows(track: TrackMap, answer: LapAnswer, phases: PhasesAnswer | None) -> list[dict[str, Any]]:
    """Return the rows of the list of corners."""
    return [
        _corner_row(where, a, b, phases)
        for where, a, b in zip(track.corners, answer.a.corners, answer.b.corners, strict=True)
    ]


def _corner_row(
    where: CornerOnMap, a: CornerPassed, b: CornerPassed, phases: PhasesAnswer | None
) -> dict[str, Any]:
    return {
        "key": where.corner,
        "cells": [
            {"text": f"{where.corner} {where.direction}"},
            {"text": f"{where.radius:.0f}"},
            {"text": f"{where.length:.0f}"},
            {"text": f"{b.speed_class}, {where.length_class}", "word": True},
            _speed(a.entry_speed, b.entry_speed),
            _speed(a.slowest_speed, b.slowest_speed),
            _time(a.time, b.time),
            _balance(a.balance, b.balance),
            _least_reserve(where.corner, phases),
        ],
    }


def corner_texts(lap: LapOfOne) -> dict[str, str]:
    """Return what stands beside the corners' numbers on the map: the slowest speed."""
    return {one.corner: f"{one.slowest_speed * 3.6:.0f}" for one in lap.corners}


DETAIL_COLUMNS = (
    _column("", "", ""),
    _column("A", "", "With the reference set-up"),
    _column("B", "", "With the set-up in hand"),
    _column("B − A", "", "What B changes"),
)
"""Columns of one corner's numbers."""


def corner_detail(corner: str, answer: LapAnswer) -> list[dict[str, Any]]:
    """Return the rows of one corner's numbers."""
    a, b = (next(one for one in lap.corners if one.corner == corner) for lap in (answer.a, answer.b))
    speeds = (
        ("Entry, km/h", "entry_speed", "Speed where it begins"),
        ("Slowest, km/h", "slowest_speed", "Lowest speed in it"),
        ("Exit, km/h", "exit_speed", "Speed where it ends"),
    )
    sideways = "Largest acceleration to the side"
    return [
        *(
            _detail(name, 3.6 * getattr(a, key), 3.6 * getattr(b, key), 1, _SPEED_SEEN, say)
            for name, key, say in speeds
        ),
        _detail("Time, s", a.time, b.time, 2, _TIME_SEEN, "From beginning to end", less=True),
        _detail(
            "Sideways, m/s²", a.lateral_acceleration, b.lateral_acceleration, 2, _SIDEWAYS_SEEN, sideways
        ),
        _words("Held back by", a.limit, b.limit, "What holds the car where it is slowest"),
    ]


PHASE_COLUMNS = (
    _column("Phase", "", "Part of the corner"),
    _column("Runs out first", "points", _BALANCE_SAID),
    _column("Stability reserve", "1/s", _RESERVE_SAID),
)
"""Columns of one corner's phases."""


def phase_rows(corner: str, phases: PhasesAnswer | None) -> list[dict[str, Any]]:
    """Return the rows of one corner's phases."""
    if phases is None:
        return [{"key": "waiting", "cells": [{"text": "Computing ..."}, {"text": "…"}, {"text": "…"}]}]
    return [
        {
            "key": b.phase,
            "cells": [
                {"text": capital(b.phase)},
                _balance(a.balance, b.balance),
                _reserve(a.stability_reserve, b.stability_reserve),
            ],
        }
        for a, b in _paired(corner, phases)
        if a.balance is not None and b.balance is not None
    ]


def _detail(
    name: str, a: float, b: float, digits: int, seen: float, say: str, *, less: bool = False
) -> dict[str, Any]:
    """Return a row of one number; ``less`` of it is better, or more."""
    sense = _sense(b - a if less else a - b, seen)
    return {
        "key": name,
        "cells": [
            {"text": name, "say": say},
            {"text": _number(a, digits)},
            {"text": _number(b, digits)},
            {"text": "", "change": _change(b - a, digits, seen) or "·", "sense": sense},
        ],
    }


def _words(name: str, a: str, b: str, say: str) -> dict[str, Any]:
    changed = "·" if a == b else "changed"
    return {"key": name, "cells": [{"text": name, "say": say}, {"text": a}, {"text": b}, {"text": changed}]}


def speed_scale(lap: LapOfOne) -> dict[str, Any]:
    """Return the legend of the map by speed: five steps of the reference lap."""
    low, high = 3.6 * lap.lowest_speed, 3.6 * lap.highest_speed
    bounds = [10.0 * round((low + share * (high - low)) / 10.0) for share in (0.2, 0.4, 0.6, 0.8)]
    texts = [
        f"below {bounds[0]:.0f}",
        *(f"{first:.0f} to {last:.0f}" for first, last in pairwise(bounds)),
        f"{bounds[-1]:.0f} and more",
    ]
    return {
        "title": "Speed with B",
        "unit": "km/h, slow is wide",
        "kind": "speed",
        "bounds": bounds,
        "texts": texts,
    }


def balance_scale() -> dict[str, Any]:
    """Return the legend of the map by balance."""
    far, near = BALANCE_BOUNDS[3], BALANCE_BOUNDS[2]
    return {
        "title": "Which axle runs out first with B",
        "unit": "points of grip",
        "kind": "balance",
        "bounds": list(BALANCE_BOUNDS),
        "texts": [
            f"rear by {far:g} and more",
            f"rear by {near:g} to {far:g}",
            "even, or the engine is the limit",
            f"front by {near:g} to {far:g}",
            f"front by {far:g} and more",
        ],
    }


def _paired(corner: str, phases: PhasesAnswer | None) -> Iterable[tuple[CornerPhase, CornerPhase]]:
    if phases is None:
        return []
    both = zip(phases.a, phases.b, strict=True)
    return [(one, other) for one, other in both if one.corner == corner]


def _least_reserve(corner: str, phases: PhasesAnswer | None) -> Cell:
    pairs = [
        (one.stability_reserve, other.stability_reserve)
        for one, other in _paired(corner, phases)
        if one.stability_reserve is not None and other.stability_reserve is not None
    ]
    if not pairs:
        return {"text": "…" if phases is None else "–"}
    return _reserve(max(one for one, _ in pairs), max(other for _, other in pairs))


def _reserve(a: float | None, b: float | None) -> Cell:
    if a is None or b is None:
        return {"text": "–"}
    return {
        "text": signed(b, 1),
        "change": _change(b - a, 1, _RESERVE_SEEN),
        "sense": _sense(b - a, _RESERVE_SEEN),
    }


def _speed(a: float, b: float) -> Cell:
    a, b = 3.6 * a, 3.6 * b
    return {"text": f"{b:.1f}", "change": _change(b - a, 1, _SPEED_SEEN), "sense": _sense(a - b, _SPEED_SEEN)}


def _time(a: float, b: float) -> Cell:
    return {"text": f"{b:.2f}", "change": _change(b - a, 2, _TIME_SEEN), "sense": _sense(b - a, _TIME_SEEN)}


def _balance(a: float, b: float) -> Cell:
    moved = b - a
    seen = abs(moved) >= _POINTS_SEEN
    side = "front" if moved > 0.0 else "rear"
    return {
        "text": balance_text(b),
        "change": f"{abs(moved):.1f} → {side}" if seen else "",
        "sense": side if seen else "",
    }


def _change(difference: float, digits: int, seen: float) -> str:
    return signed(difference, digits) if abs(difference) >= seen else ""


def _sense(worse: float, seen: float) -> str:
    """Return better or worse for what is the worse the larger it is."""
    if abs(worse) < seen:
        return ""
    return "worse" if worse > 0.0 else "better"


def _number(value: float | None, digits: int) -> str:
    if value is None or not math.isfinite(value):
        return "–"
    return f"{value:.{digits}f}".replace("-", "−")


# Driven laps

WHEELS = ("FL", "FR", "RL", "RR")


def _value(numbers: Mapping[str, Any], name: str) -> Any:
    return numbers[name]["value"]


Numbers = Mapping[str, Any]
"""As ``--json`` writes them: {value, unit} by name."""

Fact = tuple[str, str, Callable[[Numbers], str]]
"""What it is called, what it says, and its text."""


def _scaled(name: str, scale: float, digits: int) -> Callable[[Numbers], str]:
    return lambda one: _number(None if (found := _value(one, name)) is None else scale * found, digits)


def _lap_time(name: str) -> Callable[[Numbers], str]:
    return lambda one: "not finished" if (found := _value(one, name)) is None else lap_time_text(found)


def _sector_text(lap: Numbers) -> str:
    return ", ".join(_number(_value(sector, "time"), 2) for sector in lap["sectors"])


_DRIVEN_FACTS: tuple[Fact, ...] = (
    ("Lap time", "After practice, corner by corner", _lap_time("lap_time")),
    ("Before practice", "At the highest pace borne all round", _lap_time("lap_time_before_practice")),
    ("Sectors, s", "Of equally long parts of the line", _sector_text),
    ("Quasi-steady", "On the same line, pedals that act at once", _lap_time("quasi_steady_lap_time")),
    ("Pace all round, %", "Of the quasi-steady speeds, before practice", _scaled("pace", 100.0, 1)),
    ("Closest to the edge, m", "From the side of the car", _scaled("least_room", 1.0, 2)),
    ("Largest sideslip, deg", "Of the centre of gravity", _scaled("largest_sideslip", math.degrees(1.0), 1)),
    ("Wheel lifts", "Wheels off the ground for 20 ms or longer", lambda one: str(len(one["flights"]))),
    ("Kerbs struck", "Kerbs that wheels were on", lambda one: str(len(one["kerbs"]))),
)


def driven_facts(sides: Mapping[str, Numbers]) -> list[dict[str, Any]]:
    """Return the rows of driven laps side by side; ``sides`` are those of ``run lap`` by set-up."""
    return _fact_rows(_DRIVEN_FACTS, sides)


def _fact_rows(facts: Sequence[Fact], sides: Mapping[str, Numbers]) -> list[dict[str, Any]]:
    return [
        {
            "key": name,
            "cells": [{"text": name, "say": say}, *({"text": form(one)} for one in sides.values())],
        }
        for name, say, form in facts
    ]


_ASSUMED = "with assumed constants: it compares laps and set-ups, it is no temperature to trust"

WHEEL_COLUMNS = (
    _column("Wheel", "", "Front left to rear right"),
    _column("Locked", "s", "Time below a slip of −0.3"),
    _column("Spinning", "s", "Time beyond a slip of 0.3"),
    _column("Off the ground", "s", "Without load, 20 ms or longer at a time"),
    _column("Tyre work", "kJ", "Done by sliding in the contact patch"),
    _column("Brake work", "kJ", "Turned to heat by the brake"),
    _column("Tread over air", "K", f"Mean, lap after lap, {_ASSUMED}"),
    _column("Disc over air", "K", f"Hottest, lap after lap, {_ASSUMED}"),
)
"""Columns of what the wheels did."""


def wheel_rows(lap: Numbers, heat: Numbers | None) -> list[dict[str, Any]]:
    """Return what each wheel did on a driven lap."""
    of_lap = (
        ("locked", 1.0, 2),
        ("spinning", 1.0, 2),
        ("off_ground", 1.0, 2),
        ("tyre_work", 1e-3, 0),
        ("brake_work", 1e-3, 0),
    )
    return [
        {
            "key": wheel,
            "cells": [
                {"text": wheel},
                *(
                    {"text": _number(scale * _value(lap, name)[wheel], digits)}
                    for name, scale, digits in of_lap
                ),
                *(
                    {"text": _number(None if heat is None else _value(heat, name)[wheel], 0)}
                    for name in ("tread_rise", "brake_peak_rise")
                ),
            ],
        }
        for wheel in WHEELS
    ]


DRIVEN_CORNER_COLUMNS = (
    _column("Corner", "", "Number and which way it turns"),
    _column("Entry", "km/h", "Driven, and against the quasi-steady lap"),
    _column("Slowest", "km/h", "Driven, and against the quasi-steady lap"),
    _column("Exit", "km/h", "Driven, and against the quasi-steady lap"),
    _column("Time", "s", "Driven, and against the quasi-steady lap"),
)
"""Columns of driven corners."""


def driven_corner_rows(lap: Mapping[str, Any]) -> list[dict[str, Any]]:
    """Return how a driven lap passed each corner, beside the quasi-steady lap."""
    return [
        {
            "key": one["corner"],
            "cells": [
                {"text": f"{one['corner']} {one['direction']}"},
                *(_beside(one, name, 3.6, 1) for name in ("entry_speed", "slowest_speed", "exit_speed")),
                _beside(one, "time", 1.0, 2),
            ],
        }
        for one in lap["corners"]
    ]


def _beside(one: Mapping[str, Any], name: str, scale: float, digits: int) -> Cell:
    driven, steady = _value(one, name), _value(one, f"quasi_steady_{name}")
    if driven is None:
        return {"text": "–"}
    change = signed(scale * (driven - steady), digits)
    return {"text": _number(scale * driven, digits), "change": change}


KERB_COLUMNS = (
    _column("Kerb", "", "Number, in the order of the track's file"),
    _column("Wheels", "", "Which were on it", word=True),
    _column("At", "m", "Along the line"),
    _column("Height", "mm", "Of what they met"),
    _column("Largest load", "N", "Of the tyres on it"),
    _column("Off the ground", "ms", "Longest that one of them was without load"),
)
"""Columns of struck kerbs."""


def kerb_rows(lap: Mapping[str, Any]) -> list[dict[str, Any]]:
    """Return the kerbs that wheels were on."""
    return [
        {
            "key": f"{one['kerb']} {one['wheels']} {_value(one, 'start'):.0f}",
            "cells": [
                {"text": one["kerb"]},
                {"text": one["wheels"], "word": True},
                {"text": f"{_value(one, 'start'):.0f} to {_value(one, 'end'):.0f}"},
                {"text": _number(1e3 * _value(one, "highest"), 0)},
                {"text": _number(_value(one, "largest_load"), 0)},
                {"text": _number(1e3 * _value(one, "off_ground"), 0)},
            ],
        }
        for one in lap["kerbs"]
    ]


def lap_marks(lap: Mapping[str, Any], x: Sequence[float], y: Sequence[float]) -> list[dict[str, Any]]:
    """Return the marks of a driven lap on the map: kerbs struck and wheels off the ground.

    Parameters
    ----------
    x, y : of the line driven, evenly along it. [m]
    """
    length = _value(lap, "line_length")

    def at(distance: float) -> dict[str, float]:
        share = np.linspace(0.0, 1.0, len(x))
        place = distance % length / length
        return {"x": float(np.interp(place, share, x)), "y": float(np.interp(place, share, y))}

    kerbs = [
        {
            **at(_value(one, "start")),
            "sign": "square",
            "kind": "kerb struck",
            "text": f"Kerb {one['kerb']}, {one['wheels']} wheels",
        }
        for one in lap["kerbs"]
    ]
    flights = [
        {
            **at(_value(one, "distance")),
            "sign": "triangle",
            "kind": "wheel off the ground",
            "text": f"{one['wheel']} off the ground for {1e3 * _value(one, 'duration'):.0f} ms",
        }
        for one in lap["flights"]
    ]
    return kerbs + flights


_SWINGS = "above 0 the car swings round if the driver holds still"

SCATTER_COLUMNS = (
    _column("Corner", "", "Number, counted from the start line"),
    _column("Time", "s", "Mean of the good laps"),
    _column("Spread", "s", "One standard deviation of the good laps"),
    _column("Stability reserve", "1/s", f"Least in the corner, mean of the good laps: {_SWINGS}"),
    _column("Its spread", "1/s", "One standard deviation of the good laps"),
)
"""Columns of laps with scatter, by corner."""


def scatter_rows(laps: Mapping[str, Any]) -> list[dict[str, Any]]:
    """Return how far apart a driver's laps are in each corner."""
    return [
        {
            "key": one["corner"],
            "cells": [
                {"text": one["corner"]},
                {"text": _number(_value(one, "time"), 2)},
                {"text": _number(_value(one, "spread"), 3)},
                {"text": _number(_value(one, "least_reserve"), 1)},
                {"text": _number(_value(one, "least_reserve_spread"), 2)},
            ],
        }
        for one in laps["corners"]
    ]  # fmt: skip


_SCATTER_FACTS: tuple[Fact, ...] = (
    ("Mean lap", "Of the good laps", _lap_time("lap_time")),
    ("Spread, s", "One standard deviation of the good laps", _scaled("lap_time_spread", 1.0, 3)),
    ("Fastest", "Of the good laps", _lap_time("fastest")),
    ("Slowest", "Of the good laps", _lap_time("slowest")),
    (
        "Good laps",
        "On the road and in hand from start to end",
        lambda one: f"{_value(one, 'good_laps')} of {_value(one, 'laps')}",
    ),
    ("Best alone", "After practice, without scatter", _lap_time("best_practice")),
    ("Stability reserve, 1/s", f"Least on a lap, mean: {_SWINGS}", _scaled("least_reserve", 1.0, 1)),
)


def scatter_facts(sides: Mapping[str, Numbers]) -> list[dict[str, Any]]:
    """Return the rows of laps with scatter side by side; ``sides`` are those of ``run laps`` by set-up."""
    return _fact_rows(_SCATTER_FACTS, sides)
