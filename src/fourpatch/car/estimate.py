"""A whole car from about ten numbers: what is not given is estimated, and says how and how surely.

Every parameter of the car gets a `Provenance`: given, or estimated with its method, the mark of its
source and one standard deviation. Marks: *open cars*, *sets A and B* and *common practice* as in
`classes`; *derived here* is mechanics, *from memory* was not looked up. All holds without fuel.
"""

import math
from collections.abc import Mapping, Sequence
from typing import Any

from pydantic import ValidationError

from fourpatch.car.car import Car
from fourpatch.car.checks import car_faults
from fourpatch.car.default_adjusters import default_adjusters
from fourpatch.car.estimation.aero import estimate_aero
from fourpatch.car.estimation.book import ENDS, Book, Known
from fourpatch.car.estimation.brief import CarBrief as CarBrief
from fourpatch.car.estimation.classes import BODY, DOWNFORCE, GRIP
from fourpatch.car.estimation.driveline import estimate_driveline, estimate_steering_and_brakes
from fourpatch.car.estimation.guesses import Guess, guesses, method_of
from fourpatch.car.estimation.masses import estimate_inertias, estimate_masses
from fourpatch.car.estimation.suspension import (
    estimate_bars,
    estimate_geometry,
    estimate_spring_and_damper,
    estimate_stops,
)
from fourpatch.car.estimation.wheels import estimate_tyre, estimate_wheel
from fourpatch.car.paths import parameters
from fourpatch.car.provenance import alike, of_other_axle, origin
from fourpatch.car.provenance import spread as spread_of
from fourpatch.car.tyre_size import tyre_size
from fourpatch.errors import FieldsError


def estimate_car(brief: CarBrief) -> Car:
    """Return a whole car made from a brief, with the provenance of every parameter.

    Parameters
    ----------
    brief : what is known; weight share, power and tyre sizes may be left out, are guessed then, and widen the
        spreads of all that follows from them.

    Returns
    -------
    Car
        With a default list of adjusters whose baseline is the estimate; it passes the checks of a car file.

    Raises
    ------
    FieldsError
        If no car can be made of these numbers together.

    Notes
    -----
    The spreads are those of the single values. Tyres of both axles are off alike, and so is the downforce of
    both; all else is kept as if independent, which overstates what depends on two estimates that make up for
    each other, such as spring rate and motion ratio.

    Examples
    --------
    >>> car = estimate_car(CarBrief(
    ...     name="Example", mass=1150.0, front_weight_share=0.62, wheelbase=2.55, driven="front", power=120e3,
    ...     front_tyre="205/50R16", rear_tyre="205/50R16", grip="semi-slick", body="hatchback"))
    >>> car.provenance["chassis.yaw_inertia"].spread
    '8 %'
    """
    try:
        car = _estimated(brief)
    except ValidationError as error:
        first = error.errors()[0]
        where = ".".join(map(str, first["loc"]))
        raise _no_car(f"{where} {first['msg'].removeprefix('Value error, ')}") from None
    except (ArithmeticError, ValueError):  # a root or a ratio of what is zero or below
        raise _no_car("the estimates find no value") from None
    faults = car_faults(car)
    if faults:
        raise _no_car(f"{'.'.join(map(str, faults[0].key))} {faults[0].text}")
    return car


def _no_car(why: str) -> FieldsError:
    return FieldsError(
        {
            "": f"No car can be made of these numbers together: {why} Look again at mass, weight share, "
            "wheelbase, power, tyre sizes, downforce and top speed."
        }
    )


def _estimated(brief: CarBrief) -> Car:
    unknown = guesses(brief)
    values = {one.field: one.value for one in unknown}
    book = _book(brief, values)
    for one in unknown:
        if one.field == "front_weight_share":
            off = 100.0 * (float(one.upper) / float(one.value) - 1.0)
            book.estimate("chassis.front_weight_share", one.value, f"{off:.2g} %", method_of(one))
    car = _car(brief, book, [one.words for one in unknown])
    for one in unknown:
        ends = [_car(brief, _book(brief, values | {one.field: end}), []) for end in (one.lower, one.upper)]
        car = _widened(car, one, *ends)
    return car.model_copy(update={"adjusters": default_adjusters(car)})


def _book(brief: CarBrief, guessed: Mapping[str, float | str]) -> Book:
    """Return the book of a car, a brief's gaps filled."""

    def of(field: str) -> Any:
        return guessed.get(field, getattr(brief, field))

    known = Known(
        brief=brief,
        front_weight_share=of("front_weight_share"),
        power=of("power"),
        grip=GRIP[brief.grip],
        body=BODY[brief.body],
        level=DOWNFORCE[brief.downforce],
        tyres={"front": tyre_size(of("front_tyre")), "rear": tyre_size(of("rear_tyre"))},
    )
    book = Book()
    estimate_aero(book, known)
    estimate_masses(book, known)
    for end in ENDS:
        estimate_tyre(book, known, end)
        estimate_wheel(book, known, end)
    estimate_inertias(book, known)
    estimate_steering_and_brakes(book, known)
    estimate_driveline(book, known)
    for end in ENDS:
        estimate_geometry(book, known, end)
        estimate_spring_and_damper(book, known, end)
        estimate_stops(book, known, end)
    estimate_bars(book, known)
    note_what_is_left_out(book)
    return book


def _car(brief: CarBrief, book: Book, unknown: Sequence[str]) -> Car:
    note = f"{_NOTE} Not known and guessed, so that all that follows from it is less sure: "
    note = f"{note}{'; '.join(unknown)}." if unknown else _NOTE
    return Car.model_validate(
        {"name": brief.name, "note": note, **book.nested(), "provenance": book.provenance}
    )


def _widened(car: Car, guess: Guess, lower: Car, upper: Car) -> Car:
    """Return a car whose spreads hold what it does not know.

    Notes
    -----
    Half of what a parameter moves by between one standard deviation below and above adds to its own spread
    as independent errors do, in squares; in what is alike on both axles those halves add to what they share
    (derived here).
    """
    moved = {
        one.path: 0.5 * (above.value - below.value)
        for one, below, above in zip(parameters(car), parameters(lower), parameters(upper), strict=True)
    }
    wide = {path: math.hypot(spread_of(car, path), by) for path, by in moved.items()}
    provenance = dict(car.provenance)
    for one in parameters(car):
        other = of_other_axle(one.path)
        pair = (one.path, other if other in moved else one.path)
        if not any(moved[path] for path in pair) or one.path == f"chassis.{guess.field}":
            continue
        came, size = origin(car, one.path), wide[one.path]
        share = size / abs(one.value) if one.value else math.inf
        text = (
            f"{100.0 * share:.3g} %"
            if share < _MOST_SHARE
            else f"{size:.3g} {one.unit.si}".removesuffix(" 1")
        )
        method = f"{came.method}; less sure for a guessed {guess.field.replace('_', ' ')}"
        changed = {"source": "estimated", "method": method, "spread": text} if moved[one.path] else {}
        still = _still_alike(car, pair, moved, wide) if came.alike else ""
        provenance[one.path] = came.model_copy(update={**changed, "alike": still})
    return car.model_copy(update={"provenance": provenance})


def _still_alike(
    car: Car, pair: tuple[str, str], moved: Mapping[str, float], wide: Mapping[str, float]
) -> str:
    """Return the correlation of both axles with what a guess adds to each; none where they part."""
    own, other = pair
    shared = alike(car, own) * spread_of(car, own) * spread_of(car, other) + moved[own] * moved[other]
    size = wide[own] * wide[other]
    return f"{100.0 * min(max(shared / size, 0.0), 1.0):.3g} %" if size > 0.0 else ""


_MOST_SHARE = 3.0
"""Spread over value from which on it is written in the parameter's own unit."""

_NOTE = "Estimated from a brief: see the provenance of each parameter, and replace what you can measure."


_ABSENT = {
    "chassis.cross_weight_share": (0.5, "1 %", "cross weight set level"),
    "chassis.cg_lateral_offset": (0.0, "20 mm", "driver's side not known: centre of gravity in the middle"),
}


_ABSENT_PER_AXLE = {
    "spring.helper_rate": ("0 %", "no helper spring"),
    "spring.helper_block_force": ("0 %", "no helper spring"),
    "heave.rate": ("0 %", "no heave spring"),
    "heave.preload": ("0 %", "no heave spring"),
    "heave.gap": ("0 %", "no heave spring"),
    "heave.bump": ("0 %", "no heave damper"),
    "heave.rebound": ("0 %", "no heave damper"),
    "geometry.spring_motion_ratio.slope": ("0.5 1/m", "taken constant"),
    "geometry.spring_motion_ratio.curvature": ("0 %", "taken linear"),
    "geometry.damper_motion_ratio.slope": ("0.5 1/m", "taken constant"),
    "geometry.damper_motion_ratio.curvature": ("0 %", "taken linear"),
    "geometry.roll_centre_height.curvature": ("0 %", "taken linear"),
    "geometry.camber_change.curvature": ("1 rad/m**2", "taken linear"),
    "geometry.bump_steer.curvature": ("0.2 rad/m**2", "taken linear"),
    "geometry.braking_support.slope": ("0.5 1/m", "taken constant"),
    "geometry.braking_support.curvature": ("0 %", "taken linear"),
    "geometry.driving_support.slope": ("0.5 1/m", "taken constant"),
    "geometry.driving_support.curvature": ("0 %", "taken linear"),
}


def note_what_is_left_out(book: Book) -> None:
    """Write down what is left out."""
    for path, (value, spread, method) in _ABSENT.items():
        book.estimate(path, value, spread, method)
    for end in ENDS:
        for name, (spread, method) in _ABSENT_PER_AXLE.items():
            book.estimate(f"{end}.{name}", 0.0, spread, method)
        book.estimate(f"{end}.heave.motion_ratio", 1.0, "0 %", "no heave spring")
    for surface, names in (
        ("front_downforce", ("r", "ff", "fr", "rr")),
        ("rear_downforce", ("f", "ff", "fr", "rr")),
        ("drag", ("f", "r", "ff", "fr", "rr")),
    ):
        for name in names:
            book.estimate(f"aero.map.{surface}.{name}", 0.0, "0 %", "taken as without effect")
